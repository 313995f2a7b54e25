// People's tasks at the desk, in a real browser, each from its first click to what it leads to.
//     node desk.mjs MARLING EXAMPLES CHROMIUM [FOLDER_FOR_PICTURES]
import assert from "node:assert/strict";
import {
  accessible,
  fail,
  new_page,
  no_overhang,
  picture,
  run,
  serve,
  shop,
  so,
  stop,
  take_jobs,
  until,
  with_browser,
} from "./setup.mjs";

const cell = (page, row, column) =>
  page.evaluate(
    ([row, column]) => {
      const heads = [...document.querySelectorAll('[role="columnheader"]')].map((head) =>
        head.textContent.replace(/[ *↓↑]/g, ""),
      );
      const line = [...document.querySelectorAll(".body .row")].find(
        (line) => line.querySelector(".cell")?.textContent === row,
      );
      return line?.querySelectorAll(".cell")[heads.indexOf(column)]?.textContent ?? null;
    },
    [row, column],
  );

async function edit_cell(page, row, column, text) {
  await page.fill('input[aria-label="Only rows with"]', row);
  await until(page, 
    (row) => document.querySelector(".body .row .cell")?.textContent === row,
    row,
  );
  const heads = await page.$$eval('[role="columnheader"]', (list) =>
    list.map((head) => head.textContent.replace(/[ *↓↑]/g, "")),
  );
  await page.locator(".body .row").first().locator(".cell").nth(heads.indexOf(column)).dblclick();
  await page.fill(".editor input", text);
  await page.keyboard.press("Enter");
}

// --- tasks ------------------------------------------------------------------------------------

async function finds_a_job_and_a_sheet(page) {
  await page.waitForSelector("text=osier_mended");
  await picture(page, "today");
  await accessible(page, "jobs");
  await page.click("text=osier_mended");
  await page.waitForSelector(".sheets a");
  await picture(page, "sheets");
  await accessible(page, "sheets");
  await page.keyboard.press("/");
  await page.fill('input[aria-label="What to find"]', "power-1");
  await page.waitForSelector('li[role="option"]:has-text("Power: sources and buses")');
  await accessible(page, "find");
  await picture(page, "find");
  await page.keyboard.press("Enter");
  await page.waitForSelector(".paper svg");
  await page.waitForTimeout(300);
  await picture(page, "sheet");
  await accessible(page, "a sheet");
}

async function asks_why_and_fails_it(page) {
  await page.locator(".paper text", { hasText: /^KM$/ }).first().click({ force: true });
  await page.waitForSelector(".why .reasons:has-text('KM')");
  assert.ok((await page.locator(".paper .lit").count()) > 0, "what is touched is lit");
  await picture(page, "why");
  await page.click("text=fail it");
  await page.waitForSelector(".why .reasons:has-text('open')");
  await picture(page, "fail");
  await page.click(".why >> text=close");
}

async function finds_a_wire_fast(page) {
  await page.keyboard.press("/");
  const begin = Date.now();
  await page.fill('input[aria-label="What to find"]', "W0115");
  await page.waitForSelector('li[role="option"]:has-text("W0115")');
  console.log(`a wire is found in ${Date.now() - begin} ms, browser and all`);
  await page.keyboard.press("Enter");
  await page.waitForSelector(".why .reasons:has-text('W0115')");
}

async function changes_a_row_and_sees_the_wires(page, url) {
  await page.goto(`${url}#/osier_mended/table/unit`);
  await page.waitForSelector(".grid .row");
  await accessible(page, "a table");
  await edit_cell(page, "NVC", "stub_mm", "about that");
  await page.waitForSelector('.editor [role="alert"]');
  await picture(page, "refused");
  await page.fill(".editor input", "2 ft");
  await page.keyboard.press("Enter");
  await until(page, () => !document.querySelector(".editor"));
  for (let i = 0; i < 400 && (await cell(page, "NVC", "stub_mm")) !== "609.6"; i++) {
    await page.waitForTimeout(50);
  }
  assert.equal(await cell(page, "NVC", "stub_mm"), "609.6", "feet are taken in a column of mm");
  await picture(page, "table");
  const log = run("log", `${shop}:osier_mended`);
  assert.match(log, /Ada +edit +done/, "the log says who");
  await page.click(".strip >> text=undo");
  await until(page, 
    () => ![...document.querySelectorAll(".cell")].some((cell) => cell.textContent === "609.6"),
  );
  await page.click(".strip >> text=redo");
  await until(page, () =>
    [...document.querySelectorAll(".cell")].some((cell) => cell.textContent === "609.6"),
  );
}

async function fixes_a_finding(page, url) {
  await page.goto(`${url}#/osier/proof`);
  await page.waitForSelector(".findings li");
  const before = await page.locator(".findings .severity.error").count();
  assert.ok(before > 5, "the first issue has findings");
  await picture(page, "findings");
  await accessible(page, "findings");
  await page.locator(".findings button:has-text('why')").first().click();
  await page.waitForSelector(".why .reasons");
}

async function two_edit_one_row(first, context, url) {
  const second = await new_page(context, `${url}#/osier_mended/table/node`);
  await first.goto(`${url}#/osier_mended/table/node`);
  await first.waitForSelector(".grid .row");
  await second.waitForSelector(".grid .row");
  const name = await first.locator(".body .row .cell").first().textContent();
  // The second begins to type before the first is done, and so has seen an older row.
  await edit_cell(first, name, "x_mm", "1111");
  await until(second, () =>
    [...document.querySelectorAll(".cell")].some((cell) => cell.textContent === "1111"),
  );
  console.log("another page shows the change by itself");
  const rows = await (await fetch(`${url}api/table?job=osier_mended&table=node`)).json();
  const at = rows.rows.findIndex((row) => row.node === name);
  const stale = await fetch(`${url}api/edit`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({
      job: "osier_mended",
      what: "late",
      edits: [
        { table: "node", before: { node: name }, after: { ...rows.rows[at], x_mm: 5 }, seen: 1 },
      ],
    }),
  });
  assert.equal(stale.status, 409);
  const refusal = await stale.json();
  assert.equal(refusal.person, "Ada");
  assert.deepEqual(second.errors, [], "no error in the second page");
  await second.close();
}

async function pastes_from_a_spreadsheet(page, url) {
  await page.goto(`${url}#/osier_mended/table/node`);
  await page.waitForSelector(".grid .row");
  await page.evaluate(() => {
    const data = new DataTransfer();
    data.setData("text/plain", "node\tmodule\tzone\tx_mm\ty_mm\tz_mm\nP_NEW1\tFUS\tCAB\t10\t20\t30\nP_NEW2\tFUS\tCAB\t1 ft\t20\t30\n");
    document.querySelector(".grid").dispatchEvent(
      new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }),
    );
  });
  await page.waitForSelector(".tell:has-text('2 rows taken'), .tell[role=alert]");
  const told = await page.textContent(".tell");
  assert.match(told, /2 rows taken/, told);
  await page.fill('input[aria-label="Only rows with"]', "P_NEW2");
  await until(page, () => document.querySelector(".body .cell")?.textContent === "P_NEW2");
  assert.equal(await cell(page, "P_NEW2", "x_mm"), "304.8");
}

async function survives_a_restart(page, served) {
  await stop(served);
  await page.waitForSelector("text=The desk does not answer", { timeout: 20000 });
  await picture(page, "offline");
  run("check-shop", shop);
}

async function shows_on_a_phone(browser, url) {
  const context = await browser.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true });
  const page = await new_page(context, `${url}#/osier_mended/sheet/power-1`);
  await page.waitForSelector(".paper svg");
  await page.waitForTimeout(300);
  await picture(page, "phone-sheet");
  await page.goto(`${url}#/osier_mended/proof`);
  await page.waitForSelector(".findings li");
  await picture(page, "phone-findings");
  await accessible(page, "findings on a phone");
  await no_overhang(page, "a phone");
  await context.close();
}

async function large_table_scrolls(page, url) {
  await page.goto(`${url}#/osier_mended/table/port_pin`);
  await page.waitForSelector(".grid .row");
  const rows = await page.locator(".body .row").count();
  assert.ok(rows < 60, `only rows in sight are there (${rows})`);
  await page.evaluate(() => document.querySelector(".frame").scrollTo(0, 1e6));
  await page.waitForTimeout(200);
  assert.ok((await page.locator(".body .row").count()) > 3, "the end of the table is shown");
}

// --- all of them ------------------------------------------------------------------------------

await with_browser(async (browser) => {
  take_jobs("osier", "osier_mended", "first");
  const served = await serve();
  const { url } = served;
  const context = await browser.newContext({ viewport: { width: 1400, height: 900 } });
  const page = await new_page(context, url);
  await finds_a_job_and_a_sheet(page);
  await asks_why_and_fails_it(page);
  await finds_a_wire_fast(page);
  await changes_a_row_and_sees_the_wires(page, url);
  await fixes_a_finding(page, url);
  await two_edit_one_row(page, context, url);
  await pastes_from_a_spreadsheet(page, url);
  await large_table_scrolls(page, url);
  await shows_on_a_phone(browser, url);
  assert.deepEqual(page.errors, [], "no error in the page's console");
  await survives_a_restart(page, served);
});
