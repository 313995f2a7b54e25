// Bundles the pages into the folder named on the command line: what the program carries inside.
//     node build.mjs FOLDER FONT_FILE
import { build } from "esbuild";
import { copyFileSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const [out, font] = process.argv.slice(2);
if (!out || !font) {
  console.error("node build.mjs FOLDER FONT_FILE");
  process.exit(2);
}
mkdirSync(out, { recursive: true });
await build({
  entryPoints: [join(here, "src/main.tsx")],
  bundle: true,
  minify: true,
  format: "esm",
  target: "es2022",
  outfile: join(out, "app.js"),
  legalComments: "eof",
});
await build({
  entryPoints: [join(here, "src/app.css")],
  bundle: true,
  minify: true,
  external: ["/font.otf"],
  outfile: join(out, "app.css"),
});
// The customer's page, and what stands inside the file that is sent in its place.
await build({
  entryPoints: [join(here, "src/customer.tsx"), join(here, "src/pack.tsx")],
  bundle: true,
  minify: true,
  format: "iife",
  charset: "ascii",
  target: "es2022",
  outdir: out,
  legalComments: "none",
});
await build({
  entryPoints: { customer: join(here, "src/customer.css"), pack: join(here, "src/customer.css") },
  bundle: true,
  minify: true,
  outdir: out,
});
writeFileSync(join(out, "customer.html"), readFileSync(join(here, "src/customer.html")));
copyFileSync(join(here, "src/sw.js"), join(out, "sw.js"));
writeFileSync(join(out, "index.html"), readFileSync(join(here, "src/index.html")));
copyFileSync(font, join(out, "font.otf"));
