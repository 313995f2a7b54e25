// A builder's tasks with a tablet at the board, in a real browser: work wire by wire, the desk out of
// reach, the page opened again meanwhile, everything kept once when it is back; readings and what
// they mean; a problem, a photo.
//     node bench.mjs MARLING EXAMPLES CHROMIUM [FOLDER_FOR_PICTURES]
import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const [marling, examples, browser_path, pictures] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const folder = mkdtempSync(join(tmpdir(), "marling-bench-"));
const shop = join(folder, "shop.db");
const JOB = "osier_mended";
const MODULE = "AFT";

function run(...words) {
  return execFileSync(marling, words, { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] });
}

async function serve(port) {
  const desk = spawn(marling, ["serve", shop, "--port", `${port}`, "--by", "Ada"], {
    stdio: ["ignore", "pipe", "inherit"],
  });
  const first = await new Promise((resolve) => desk.stdout.once("data", (d) => resolve(`${d}`)));
  return { desk, url: /http:\/\/[^ ]+/.exec(first)[0] };
}

async function stop(served) {
  const gone = new Promise((resolve) => served.desk.once("exit", resolve));
  served.desk.kill("SIGKILL");
  await gone;
}

async function picture(page, name) {
  if (pictures) {
    await page.screenshot({ path: join(pictures, `bench-${name}.png`) });
  }
}

async function accessible(page, where) {
  await page.evaluate(`(() => { ${axe} })()`);
  const { violations } = await page.evaluate(() =>
    globalThis.axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    }),
  );
  const told = violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html).slice(0, 3).join(" | ")}`);
  assert.deepEqual(told, [], `accessible: ${where}`);
}

async function until(what, why) {
  for (let i = 0; i < 600; i++) {
    if (await what()) {
      return;
    }
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  assert.fail(`never so: ${why}`);
}

const text_of = async (page, where) => (await page.textContent(where)).replace(/\s+/g, " ");
const all_kept = (page) =>
  until(async () => /all is kept/.test(await text_of(page, ".waiting")), "all is kept");
const kept = async (url) => (await fetch(`${url}api/bench/kept?job=${JOB}`)).json();
const progress = async (url) =>
  (await (await fetch(`${url}api/bench/progress?job=${JOB}`)).json()).modules.find(
    (one) => one.module === MODULE,
  ).progress;

function add(url, rows) {
  return fetch(`${url}api/bench/add`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ job: JOB, rows }),
  }).then((answer) => answer.json());
}

async function go_to(page, group) {
  await page.click("summary:has-text('all steps')");
  await page.locator(`.groups button:has-text("${group}")`).first().click();
}

// --- tasks ------------------------------------------------------------------------------------

async function sees_what_is_to_be_built(page, url) {
  await page.goto(`${url}#/${JOB}/bench`);
  await page.waitForSelector(".modules li");
  await picture(page, "modules");
  await accessible(page, "modules");
  await page.click(".modules .hand");
  await page.fill('input[aria-label="Your name"]', "Bo");
  await page.click("text=that's me");
  await page.locator(`.modules li:has-text("${MODULE}")`).locator("text=build").click();
  await page.waitForSelector(".acts .tick");
}

async function ticks_with_the_desk(page, url) {
  await go_to(page, "cut and label");
  const wire = await text_of(page, ".huge");
  await picture(page, "cut");
  await accessible(page, "a wire to cut");
  await page.click(".tick");
  await until(async () => (await text_of(page, ".huge")) !== wire, "the next wire comes by itself");
  await all_kept(page);
  const rows = (await kept(url)).bench_tick;
  assert.equal(rows.length, 1);
  assert.equal(rows[0].person, "Bo", "who ticked, not who started the desk");
  assert.equal(rows[0].item, `${wire.trim()}.1`.replace(/(\.\d)\.1$/, "$1"), "the wire that was shown");
  await page.click(".acts >> text=back");
  await page.waitForSelector(".acts .undo");
  await page.click(".undo");
  await page.waitForSelector(".acts .tick");
  await all_kept(page);
  assert.equal((await progress(url)).ticked, 0, "taken back");
  await go_to(page, "crimp BK6.P");
  await page.waitForSelector(".face .here");
  assert.ok((await page.locator(".way polyline.lit").count()) > 0, "the way is lit");
  for (const button of await page.locator(".acts button, .acts .button").all()) {
    const box = await button.boundingBox();
    assert.ok(box.height >= 88 && box.width >= 88, "for gloves");
  }
  await picture(page, "crimp");
  await accessible(page, "an end to crimp");
}

async function goes_on_without_the_desk(page, context, served) {
  const port = new URL(served.url).port;
  await page.waitForTimeout(500);
  await stop(served);
  for (let i = 0; i < 5; i++) {
    await page.click(".tick");
    await page.waitForTimeout(120);
  }
  await until(async () => /5 entries wait/.test(await text_of(page, ".waiting")), "five wait");
  await page.click(".acts >> text=problem");
  await page.fill("textarea[name=words]", "insulation nicked <script>alert(1)</script>");
  await page.click("text=note it");
  await page.setInputFiles(".acts input[type=file]", {
    name: "crimp.png",
    mimeType: "image/png",
    buffer: await page.screenshot(),
  });
  await until(async () => /7 entries wait/.test(await text_of(page, ".waiting")), "seven wait");
  await picture(page, "offline");
  await accessible(page, "without the desk");
  // Closed and opened again while the desk is away: the page and what waits are on the tablet.
  await page.close();
  const again = await context.newPage();
  watch(again);
  await again.goto(`${served.url}#/${JOB}/bench/${MODULE}`);
  await again.waitForSelector(".acts");
  await until(async () => /7 entries wait/.test(await text_of(again, ".waiting")), "they wait still");
  await again.waitForSelector(".face .here");
  await again.click(".tick");
  await until(async () => /8 entries wait/.test(await text_of(again, ".waiting")), "one more");
  await picture(again, "reopened");
  const sent = [];
  again.on("request", (request) => {
    if (request.url().endsWith("/api/bench/add")) {
      sent.push(...request.postDataJSON().rows.map(({ row }) => row.time));
    }
  });
  const back = await serve(port);
  await all_kept(again);
  const all = await kept(back.url);
  const ticks = all.bench_tick.filter((row) => row.operation === "crimp");
  assert.equal(ticks.length, 6, "each once");
  assert.equal(new Set(ticks.map((row) => row.item)).size, 6, "six ends");
  const first_sent = [...new Set(sent)];
  assert.ok(first_sent.length >= 8, "all were sent");
  assert.deepEqual(first_sent, [...first_sent].sort(), "in their order");
  assert.equal(all.bench_note.length, 1);
  assert.match(all.bench_note[0].words, /nicked <script>/);
  assert.equal(all.bench_photo.length, 1);
  const photo = await fetch(
    `${back.url}api/bench/photo?job=${JOB}&hash=${all.bench_photo[0].hash}`,
  );
  assert.equal(photo.headers.get("content-type"), "image/jpeg");
  assert.equal(photo.headers.get("x-content-type-options"), "nosniff");
  const done = await progress(back.url);
  assert.equal(done.ticked, 6);
  assert.equal(done.problems, 1);
  return { page: again, back };
}

async function sends_again_without_doubling(page, url) {
  // The answer is lost on its way: the tablet can't know, and sends again.
  let lost = 0;
  await page.route("**/api/bench/add", async (route) => {
    if (lost++ === 0) {
      await route.fetch();
      await route.abort();
    } else {
      await route.continue();
    }
  });
  const before = (await kept(url)).bench_tick.length;
  await page.click(".tick");
  await until(async () => lost > 1, "it is sent again");
  await all_kept(page);
  assert.equal((await kept(url)).bench_tick.length, before + 1, "it stands once");
  await page.unroute("**/api/bench/add");
}

async function refuses_what_is_no_picture(url) {
  const row = { photo: "evil-1", module: MODULE };
  for (const data of ["<svg onload=alert(1)>", "<html>", "GIF89a", ""]) {
    const answer = await add(url, [
      { table: "bench_photo", row, data: Buffer.from(data).toString("base64") },
    ]);
    assert.equal(answer.kept.length, 0, data);
    assert.equal(answer.refused.length, 1, data);
  }
  const answer = await fetch(`${url}api/edit`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ job: JOB, edits: [{ table: "bench_tick", before: { tick: "x" } }] }),
  });
  assert.equal(answer.status, 400, "what was done is not edited");
}

async function rings_out(page, url) {
  await page.goto(`${url}#/${JOB}/bench/${MODULE}/ring`);
  await page.waitForSelector(".entry input");
  await picture(page, "ring");
  await accessible(page, "ring-out");
  const { steps } = await (
    await fetch(`${url}api/bench/ring?job=${JOB}&module=${MODULE}`)
  ).json();
  // As a scanner does: a point's name and Enter goes there; then the reading.
  const type = async (text) => {
    await page.keyboard.type(text);
    await page.keyboard.press("Enter");
    await page.waitForTimeout(60);
  };
  await type("no such thing");
  assert.match(await text_of(page, ".tell[role=alert]"), /neither a reading/);
  const bad = steps.findIndex((step) => step.kind === "continuity" && step.wires === "W0111");
  assert.ok(bad >= 0);
  const count = steps.filter((step) => step.kind === "continuity").length;
  for (let i = 0; i < count; i++) {
    // The page goes on by itself to what was not read; now and then a scanner names the point.
    const [a, b] = await page.locator(".points .huge").allTextContents();
    const at = steps.findIndex((step) => step.a === a && step.b === b);
    assert.equal(steps[at].kind, "continuity");
    if (i % 5 === 0) {
      await type(a.toLowerCase());
      assert.equal((await page.locator(".points .huge").allTextContents())[0], a);
    }
    await type(at === bad ? "open" : `${Math.round(1000 * steps[at].expected)}m`);
    if (at === bad) {
      await page.waitForSelector(".verdict.bad");
      await page.click(".acts >> text=skip");
    }
    // On a busy machine the page goes on later than this asks again.
    await page.waitForFunction(
      ([one, two]) => {
        const [now, other] = [...document.querySelectorAll(".points .huge")].map((at) => at.textContent);
        return now !== one || other !== two;
      },
      [a, b],
    );
  }
  await type("W0111");
  await page.waitForSelector(".verdict.bad");
  assert.match(await text_of(page, ".verdict"), /out of its limits: open/);
  await all_kept(page);
  await page.waitForSelector(".diagnosis li:has-text('W0111')");
  assert.match(await text_of(page, ".diagnosis"), /ext reading/);
  await picture(page, "diagnosis");
  await accessible(page, "diagnosis");
  const done = await progress(url);
  assert.equal(done.bad, 1);
  assert.equal(done.good, steps.filter((step) => step.kind === "continuity").length - 1);
  // Mended and read again: the later reading counts.
  await type("90m");
  await page.waitForSelector(".verdict.good, .points:not(:has(.verdict))");
  await all_kept(page);
  assert.equal((await progress(url)).bad, 0);
}

// Made, proven, shippable: what somebody else inspected.
async function is_proven_by_another(url) {
  const work = await (await fetch(`${url}api/bench/work?job=${JOB}&module=${MODULE}`)).json();
  const rows = work.items
    .filter((item) => work.ops[item.op].who === "builder" && item.op !== "record")
    .map((item, i) => ({
      table: "bench_tick",
      row: {
        tick: `all-${i}`,
        module: MODULE,
        operation: item.op,
        item: item.key,
        built: item.built,
        person: i % 2 ? "Bo" : "Cy",
        time: "2026-05-12T08:00:00Z",
      },
    }));
  const told = await add(url, rows);
  assert.equal(told.added, rows.length);
  const inspect = (tick, person) => ({
    table: "bench_tick",
    row: { tick, module: MODULE, operation: "inspect", person, time: "2099-01-01T00:00:00Z" },
  });
  const minutes = (person) => {
    const inspected = work.items.find((item) => item.op === "inspect").min;
    return rows
      .filter((row) => row.row.person !== person)
      .reduce((sum, { row }) => {
        const item = work.items.find((one) => one.op === row.operation && one.key === row.item);
        return sum + item.min;
      }, inspected);
  };
  await add(url, [inspect("by-bo", "Bo")]);
  let now = await progress(url);
  assert.ok(Math.abs(now.made_min - now.proven_min) > 1, "own work counts for nothing");
  // The builder's six or seven own ticks came before; those of the list count where they are last.
  assert.ok(now.proven_min <= minutes("Bo") + 1e-6 && now.own === 1, JSON.stringify(now));
  await add(url, [{ table: "bench_tick", row: { tick: "un", module: MODULE, operation: "inspect", undoes: "by-bo" } }]);
  await add(url, [inspect("by-di", "Di")]);
  now = await progress(url);
  assert.ok(Math.abs(now.made_min - now.proven_min) < 1e-6 && now.own === 0, JSON.stringify(now));
  assert.equal(now.shippable_min, 0, "readings are missing and a problem is open");
  const note = (await kept(url)).bench_note[0].note;
  await add(url, [{ table: "bench_note", row: { note: "mended", module: MODULE, words: "new wire", settles: note } }]);
  const { steps } = await (
    await fetch(`${url}api/bench/ring?job=${JOB}&module=${MODULE}`)
  ).json();
  const readings = steps.map((step) => ({
    table: "bench_reading",
    row: {
      reading: `good-${step.step}`,
      module: MODULE,
      step: step.step,
      point_a: step.a,
      point_b: step.b,
      time: "2099-01-01T00:00:00Z",
      ...(step.high === null ? { open: true } : { ohm: step.expected ?? step.high }),
    },
  }));
  assert.equal((await add(url, readings)).refused.length, 0);
  now = await progress(url);
  assert.equal(now.bad, 0);
  assert.equal(now.good, now.steps);
  assert.ok(now.shippable_min > 0.9 * now.made_min, "it may leave the shop");
}

async function counts_no_more_when_the_design_changes(url) {
  const before = await progress(url);
  const table = await (await fetch(`${url}api/table?job=${JOB}&table=unit`)).json();
  const at = table.rows.findIndex((row) => row.tag === "PSV");
  const row = table.rows[at];
  const answer = await fetch(`${url}api/edit`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({
      job: JOB,
      what: "longer",
      edits: [
        { table: "unit", before: { tag: "PSV" }, after: { ...row, stub_mm: row.stub_mm + 200 } },
      ],
    }),
  });
  assert.equal(answer.status, 200);
  const after = await progress(url);
  assert.ok(after.rebuilt > 0 && after.made_min < before.made_min, "longer wires are to be cut");
  run("undo", `${shop}:${JOB}`);
  const undone = await progress(url);
  assert.deepEqual(undone, before, "a designer's undo takes no tick");
}

async function shows_on_a_phone(browser, url) {
  const context = await browser.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true });
  const page = await context.newPage();
  watch(page);
  for (const [place, what] of [
    ["", ".modules li"],
    [`/${MODULE}`, ".acts"],
    [`/${MODULE}/ring`, ".entry input"],
  ]) {
    await page.goto(`${url}#/${JOB}/bench${place}`);
    await page.waitForSelector(what);
    await page.waitForTimeout(300);
    await picture(page, `phone${place.replace(/\//g, "-")}`);
    await accessible(page, `bench${place} on a phone`);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= 360, `nothing hangs over a phone's edge (${wide} px)`);
  }
  await context.close();
}

// --- all of them ------------------------------------------------------------------------------

const errors = [];
function watch(page) {
  page.on("pageerror", (error) => errors.push(`${error}`));
  page.on("console", (line) => {
    if (line.type() === "error" && !/ERR_|40[0-9]|422/.test(line.text())) {
      errors.push(line.text());
    }
  });
}

let served;
const browser = await chromium.launch({
  executablePath: browser_path,
  args: ["--no-sandbox", "--disable-gpu"],
});
try {
  cpSync(join(examples, JOB), join(folder, JOB), { recursive: true });
  run("import", join(folder, JOB), shop);
  served = await serve(0);
  const context = await browser.newContext({ viewport: { width: 1180, height: 820 }, hasTouch: true });
  const first = await context.newPage();
  watch(first);
  await sees_what_is_to_be_built(first, served.url);
  await ticks_with_the_desk(first, served.url);
  const { page, back } = await goes_on_without_the_desk(first, context, served);
  served = back;
  const { url } = served;
  await sends_again_without_doubling(page, url);
  await refuses_what_is_no_picture(url);
  await rings_out(page, url);
  await is_proven_by_another(url);
  await counts_no_more_when_the_design_changes(url);
  await shows_on_a_phone(browser, url);
  run("check-shop", shop);
  assert.deepEqual(errors, [], "no error in a page's console");
  console.log("all tasks at the bench done");
} finally {
  served?.desk.kill("SIGKILL");
  await browser.close();
  rmSync(folder, { recursive: true });
}
