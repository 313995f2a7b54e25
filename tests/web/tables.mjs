// Tables as people use them: a hundred thousand rows, keys, spreadsheets, references completed, a box
// added and linked until its wires are there; and search by the clock.
//     node tables.mjs MARLING EXAMPLES CHROMIUM [FOLDER_FOR_PICTURES]
import assert from "node:assert/strict";
import {
  accessible,
  new_page,
  picture,
  serve,
  so,
  take_jobs,
  until,
  with_browser,
} from "./setup.mjs";

const JOB = "osier_mended";
const MANY = 100_000;

const at = (page) => page.evaluate(() => document.querySelector(".cell.at")?.textContent ?? null);
const of = (list, share) => list[Math.min(list.length - 1, Math.floor(list.length * share))];

async function paste(page, text) {
  await page.evaluate((text) => {
    const data = new DataTransfer();
    data.setData("text/plain", text);
    document
      .querySelector(".frame")
      .dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
  }, text);
}

const copied = (page) =>
  page.evaluate(() => {
    const data = new DataTransfer();
    const event = new ClipboardEvent("copy", { clipboardData: data, bubbles: true, cancelable: true });
    document.querySelector(".frame").dispatchEvent(event);
    return data.getData("text/plain");
  });

// --- tasks ------------------------------------------------------------------------------------

async function a_hundred_thousand_rows(page, url) {
  const small = await (await fetch(`${url}api/table?job=${JOB}&table=conductor`)).json();
  const rows = Array.from({ length: MANY }, (_, i) => ({
    ...small.rows[i % small.rows.length],
    wire: `W${String(i).padStart(6, "0")}`,
    length_mm: ((i * 7919) % 100_003) / 7,
  }));
  const body = JSON.stringify({ act: small.act, rows });
  await page.route("**/api/table?*table=conductor*", (route) =>
    route.fulfill({ contentType: "application/json", body }),
  );
  await page.goto(`${url}#/${JOB}/table/conductor`);
  await page.waitForSelector(".grid .row");
  await until(page, (many) => document.querySelector(".grid header .quiet").textContent.startsWith(String(many)), MANY);
  // Time of the page's own thread, so that what else the machine does counts for little.
  const clock = await page.context().newCDPSession(page);
  await clock.send("Performance.enable", { timeDomain: "threadTicks" });
  const busy = async () => {
    const { metrics } = await clock.send("Performance.getMetrics");
    return ["TaskDuration", "ScriptDuration", "LayoutDuration", "RecalcStyleDuration"].map(
      (name) => metrics.find((one) => one.name === name).value * 1000,
    );
  };
  const began = await busy();
  const scrolled = await page.evaluate(async () => {
    const frame = document.querySelector(".frame");
    const gaps = [];
    let last = await new Promise(requestAnimationFrame);
    for (let i = 0; i < 240; i++) {
      frame.scrollTop += i % 60 === 59 ? 500_000 : 130;
      const now = await new Promise(requestAnimationFrame);
      gaps.push(now - last);
      last = now;
    }
    const rows = document.querySelectorAll(".body .row").length;
    return { gaps: gaps.sort((a, b) => a - b), rows };
  });
  const [each, script, layout, style] = (await busy()).map((ms, i) => ((ms - began[i]) / 240).toFixed(1));
  console.log(
    `${MANY} rows: ${each} ms of work a frame while three rows a frame come into sight (script ${script}, ` +
      `layout ${layout}, style ${style}); ` +
      `a frame every ${of(scrolled.gaps, 0.5).toFixed(1)} ms, 95th ${of(scrolled.gaps, 0.95).toFixed(1)} ms`,
  );
  assert.ok(scrolled.rows < 60, `only rows in sight are there (${scrolled.rows})`);
  const timed = await page.evaluate(async () => {
    const told = {};
    const frame = () => new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
    const time = async (name, work) => {
      const begin = performance.now();
      work();
      await frame();
      told[name] = Math.round(performance.now() - begin);
    };
    const input = document.querySelector('input[aria-label="Only rows with"]');
    const type = (text) => {
      input.value = text;
      input.dispatchEvent(new Event("input", { bubbles: true }));
    };
    await time("first letter of a filter", () => type("W0999"));
    await time("next letter", () => type("W09991"));
    type("");
    await frame();
    const heads = [...document.querySelectorAll('[role="columnheader"]')];
    await time("sort by number", () => heads.find((head) => head.textContent.startsWith("length_mm")).click());
    await time("sort by text", () => heads.find((head) => head.textContent.startsWith("from_pin")).click());
    return told;
  });
  console.log(`with ${MANY} rows, ms: ${JSON.stringify(timed)}`);
  await page.focus(".frame");
  await page.keyboard.press("Control+End");
  await until(page, () => document.querySelector(".cell.at") !== null);
  await picture(page, "table-many");
  await page.unroute("**/api/table?*table=conductor*");
}

async function keys_alone(page, url) {
  await page.goto(`${url}#/${JOB}/table/node`);
  await until(page, () => document.querySelector(".grid h1")?.textContent === "node" && document.querySelector(".row"));
  await page.focus(".frame");
  await page.keyboard.press("ArrowDown");
  assert.equal(await at(page), "A01", "the first arrow goes to the first cell");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("ArrowRight");
  assert.equal(await at(page), "2800");
  await page.keyboard.type("2801");
  await page.keyboard.press("Enter");
  await until(page, () => [...document.querySelectorAll(".cell")].some((cell) => cell.textContent === "2801"));
  assert.equal(await at(page), "3400", "Enter keeps and goes down");
  await page.keyboard.press("Shift+ArrowDown");
  await page.keyboard.press("Shift+ArrowRight");
  assert.equal(await copied(page), "3400\t0\n4200\t0", "what is marked is copied as a spreadsheet takes it");
  await picture(page, "table-marked");
  await accessible(page, "a marked table");
  await paste(page, "3401\t1\n4201\t2");
  await page.waitForSelector(".tell:has-text('2 rows taken')");
  await until(page, () => [...document.querySelectorAll(".cell")].some((cell) => cell.textContent === "4201"));
  await page.click(".tell button");
  await page.click(".strip >> text=undo");
  await until(page, () => ![...document.querySelectorAll(".cell")].some((cell) => cell.textContent === "4201"));
  await page.focus(".frame");
  await page.keyboard.press("?");
  await page.waitForSelector(".why .asked dt:has-text('y_mm')");
  await page.click(".why >> text=close");
}

async function references_are_completed(page, url) {
  await page.goto(`${url}#/${JOB}/table/segment`);
  await until(page, () => document.querySelector(".grid h1")?.textContent === "segment" && document.querySelector(".row"));
  await page.focus(".frame");
  await page.keyboard.press("Home");
  await page.keyboard.press("ArrowRight");
  await page.keyboard.type("S0");
  await until(page, () => document.querySelectorAll("#names option").length > 0);
  const names = await page.$$eval("#names option", (list) => list.map((one) => one.value));
  assert.ok(names.length > 1 && names.every((name) => name.includes("S0")), `what begins so: ${names}`);
  await page.keyboard.press("Escape");
  await until(page, () => !document.querySelector(".editor"));
}

async function adds_a_box_links_it_and_sees_its_wires(page, url) {
  const add = async (table, values) => {
    await page.goto(`${url}#/${JOB}/table/${table}`);
    await until(page, (table) => document.querySelector(".grid h1")?.textContent === table, table);
    if ((await page.locator(".newrow").count()) === 0) {
      await page.click("text=new row");
    }
    for (const [column, text] of Object.entries(values)) {
      await page.fill(`.newrow input[aria-label^="${column}:"]`, text);
    }
    await page.click(".newrow >> text=add");
  };
  await add("unit", { tag: "DSW2", part: "door-switch", role: "second door switch", node: "C10", stub_mm: "not far", module: "FUS" });
  await page.waitForSelector(".newrow [role=alert]");
  await picture(page, "newrow-refused");
  await accessible(page, "a new row, refused");
  await page.fill('.newrow input[aria-label^="stub_mm:"]', "20 cm");
  await page.click(".newrow >> text=add");
  await page.waitForSelector(".tell:has-text('DSW2 is there')");
  await page.click(".tell button");
  await add("link", { link: "DOOR2", ends: "DSW2.SW HYP.PS1" });
  await page.waitForSelector(".tell:has-text('DOOR2 is there')");
  await page.click(".tell button");
  await page.keyboard.press("Escape");
  await page.goto(`${url}#/${JOB}/table/conductor`);
  await until(page, () => document.querySelector(".grid h1")?.textContent === "conductor");
  await page.fill('input[aria-label="Only rows with"]', "DSW2");
  await page.waitForSelector(".row:has-text('DSW2')");
  const key = await page.locator(".body .row .cell").first().textContent();
  await page.locator(".body .row .cell").first().click();
  await page.waitForSelector(`.why .reasons:has-text('wire ${key}')`);
  await picture(page, "table-wire");
  await page.goto(`${url}#/${JOB}/aircraft/turn`);
  await page.waitForSelector(".airframe");
  await page.keyboard.press("/");
  await page.fill('input[aria-label="What to find"]', key);
  await page.waitForSelector(`li[role="option"]:has-text("${key}")`);
  await page.keyboard.press("Enter");
  await page.waitForSelector(".why .word:has-text('C10')");
}

async function search_by_the_clock(url) {
  const words = ["W0115", "EMS", "GPS", "radio", "CB_", "J1-14", "etfe", "DSW", "F_ESSM", "12"];
  const times = [];
  for (let i = 0; i < 400; i++) {
    const begin = performance.now();
    const answer = await fetch(`${url}api/search?job=${JOB}&words=${encodeURIComponent(words[i % words.length])}`);
    await answer.json();
    times.push(performance.now() - begin);
  }
  times.sort((a, b) => a - b);
  console.log(`search over the network: ${of(times, 0.5).toFixed(1)} ms, 99th ${of(times, 0.99).toFixed(1)} ms`);
}

// --- all of them ------------------------------------------------------------------------------

await with_browser(async (browser) => {
  take_jobs(JOB);
  const { url } = await serve();
  const context = await browser.newContext({ viewport: { width: 1400, height: 900 } });
  const page = await new_page(context, url);
  await a_hundred_thousand_rows(page, url);
  await keys_alone(page, url);
  await references_are_completed(page, url);
  await adds_a_box_links_it_and_sees_its_wires(page, url);
  await search_by_the_clock(url);
  assert.deepEqual(page.errors, [], "no error in the page's console");
});
