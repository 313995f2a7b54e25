// Writes the files of a folder as one C source with what pages.h declares: each file as it is and
// compressed, whichever is asked for.
//     node embed.mjs FOLDER OUT.c
import { createHash } from "node:crypto";
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { extname, join } from "node:path";
import { gzipSync } from "node:zlib";

const TYPES = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".otf": "font/otf",
};
const [folder, out] = process.argv.slice(2);
const names = readdirSync(folder).sort();

function array(name, bytes) {
  const rows = [];
  for (let at = 0; at < bytes.length; at += 32) {
    rows.push([...bytes.subarray(at, at + 32)].join(","));
  }
  return `static const unsigned char ${name}[] = {\n${rows.join(",\n")}};\n`;
}

let text = '/* Made by web/embed.mjs. */\n#include "server/pages.h"\n\n#include <string.h>\n\n';
const rows = [];
names.forEach((name, i) => {
  const bytes = readFileSync(join(folder, name));
  const small = gzipSync(bytes, { level: 9 });
  const tag = createHash("sha256").update(bytes).digest("hex").slice(0, 16);
  text += array(`whole_${i}`, bytes) + array(`small_${i}`, small);
  const path = name === "index.html" ? "/" : `/${name}`;
  rows.push(
    `    {"${path}", "${TYPES[extname(name)]}", whole_${i}, sizeof whole_${i}, small_${i},` +
      ` sizeof small_${i}, "\\"${tag}\\""},`,
  );
});
text += `
static const Page PAGES[] = {
${rows.join("\n")}
};

const Page *page_find(const char *path) {
    for (size_t i = 0; i < sizeof PAGES / sizeof *PAGES; i++) {
        if (strcmp(PAGES[i].path, path) == 0) {
            return &PAGES[i];
        }
    }
    return NULL;
}
`;
writeFileSync(out, text);
