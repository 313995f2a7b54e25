// What every test in a browser begins with: a folder of its own with a shop file, the program, desks,
// pages that note what goes wrong in them, pictures, the check of accessibility.
//     node TEST.mjs MARLING EXAMPLES CHROMIUM [FOLDER_FOR_PICTURES]
import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { chromium } from "playwright-core";

const [marling, examples, browser_path, pictures] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const test = basename(process.argv[1], ".mjs");
export { examples, pictures };
export const folder = mkdtempSync(join(tmpdir(), `marling-${test}-`));
export const shop = join(folder, "shop.db");
const env = { ...process.env, XDG_DATA_HOME: join(folder, "data") };

// --- the program ------------------------------------------------------------------------------

export function run_with(input, ...words) {
  return execFileSync(marling, words, { encoding: "utf8", input, stdio: "pipe", env });
}

export const run = (...words) => run_with("", ...words);

// Exit code and everything that was said, where failing is what is wanted.
export function fail(...words) {
  try {
    return { code: 0, said: run(...words) };
  } catch (error) {
    return { code: error.status, said: `${error.stdout}${error.stderr}` };
  }
}

export function take_jobs(...names) {
  names.forEach((name) => run("import", join(examples, name), shop));
}

const desks = new Set();

// With no words: by Ada, on this machine alone. `url` is the first that it names.
export async function serve_file(file, ...words) {
  const how = words.length > 0 ? words : ["--port", "0", "--by", "Ada"];
  const desk = spawn(marling, ["serve", file, ...how], { stdio: ["ignore", "pipe", "inherit"], env });
  desks.add(desk);
  const first = await new Promise((resolve) => desk.stdout.once("data", (data) => resolve(`${data}`)));
  const url = /https?:\/\/[^ \n]+/.exec(first)[0];
  return { desk, url, port: new URL(url).port };
}

export const serve = (...words) => serve_file(shop, ...words);

// As a power cut does.
export async function stop({ desk }) {
  const gone = new Promise((resolve) => desk.once("exit", resolve));
  desk.kill("SIGKILL");
  await gone;
  desks.delete(desk);
}

// --- pages ------------------------------------------------------------------------------------

// What a page complains of goes to page.errors. Answers that refuse, and a desk that was stopped on
// purpose, are no fault of the page.
export function watch(page) {
  page.errors = [];
  page.on("pageerror", (error) => page.errors.push(`${error}`));
  page.on("console", (line) => {
    if (line.type() === "error" && !/ERR_|40[0-9]|422/.test(line.text())) {
      page.errors.push(line.text());
    }
  });
  return page;
}

export async function new_page(context, url) {
  const page = watch(await context.newPage());
  if (url) {
    await page.goto(url);
  }
  return page;
}

export async function picture(page, name, options = {}) {
  if (pictures) {
    await page.screenshot({ path: join(pictures, `${name}.png`), ...options });
  }
}

// WCAG 2.2 A and AA, by axe-core.
export async function accessible(page, where) {
  await page.evaluate(`(() => { ${axe} })()`);
  const { violations } = await page.evaluate(() =>
    globalThis.axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    }),
  );
  const told = violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html).slice(0, 3).join(" | ")}`);
  assert.deepEqual(told, [], `accessible: ${where}`);
}

export async function no_overhang(page, where) {
  const [wide, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
  assert.ok(wide <= room, `nothing hangs over the edge of ${where}: ${wide} px of ${room}`);
}

// Asks again and again, here ...
export async function so(what, why) {
  for (let i = 0; i < 600; i++) {
    if (await what()) {
      return;
    }
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  assert.fail(`never so: ${why}`);
}

// ... or in the page, whose policy forbids the browser driver's own way of waiting.
export const until = (page, what, argument) => so(() => page.evaluate(what, argument), what);

// --- all of it --------------------------------------------------------------------------------

// Whatever happens, the browser, all desks and the folder are gone afterwards.
export async function with_browser(tasks, ...switches) {
  const browser = await chromium.launch({
    executablePath: browser_path,
    args: ["--no-sandbox", "--disable-gpu", ...switches],
  });
  try {
    await tasks(browser);
    console.log("all tasks done");
  } finally {
    await browser.close();
    desks.forEach((desk) => desk.kill("SIGKILL"));
    rmSync(folder, { recursive: true });
  }
}
