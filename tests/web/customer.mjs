// What a customer, and whoever asks one, does at the desk: options that move the design, approval on
// a phone, a file that answers with a code, the book.
//     node customer.mjs MARLING EXAMPLES CHROMIUM [FOLDER_FOR_PICTURES]
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { copyFileSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import {
  accessible,
  examples,
  fail,
  folder,
  new_page,
  no_overhang,
  picture,
  pictures,
  run,
  serve,
  serve_file,
  shop,
  stop,
  take_jobs,
  with_browser,
} from "./setup.mjs";

const JOB = "osier_mended";

// Everything that is touched is 44 px high at least, links in running text aside.
async function large_enough(page, where) {
  const small = await page.evaluate(() =>
    [...document.querySelectorAll("button, .choices label, nav a, .field, .books a")]
      .filter((thing) => thing.offsetParent !== null && thing.getBoundingClientRect().height < 43.5)
      .map((thing) => `${thing.textContent.trim().slice(0, 30)} ${thing.getBoundingClientRect().height}`),
  );
  assert.deepEqual(small, [], `large enough for a thumb: ${where}`);
}

async function post(url, path, body, headers = {}) {
  return fetch(`${url}${path}`, {
    method: "POST",
    headers: { "Content-Type": "application/json", ...headers },
    body: JSON.stringify(body),
  });
}

async function edit(url, table, key, change, what) {
  const rows = await (await fetch(`${url}api/table?job=${JOB}&table=${table}`)).json();
  const row = rows.rows.find((one) => Object.entries(key).every(([k, v]) => one[k] === v));
  assert.ok(row, `${table} has ${JSON.stringify(key)}`);
  const answer = await post(url, "api/edit", {
    job: JOB,
    what,
    edits: [{ table, before: key, after: { ...row, ...change } }],
  });
  assert.equal(answer.status, 200, await answer.text());
}

const offer = async (url) => (await fetch(`${url}api/offer?job=${JOB}`)).json();

// --- tasks ------------------------------------------------------------------------------------

async function sees_where_jobs_stand(page) {
  await page.waitForSelector(".standing");
  await page.waitForSelector(".standing .severity.error"); // of the first issue
  const text = await page.textContent(`.standing:has-text("${JOB}")`);
  assert.match(text, /next gateA: long-lead boxes ordered; no date is planned/);
  assert.match(text, /3 options for a yes or no/);
  await accessible(page, "today");
  await picture(page, "customer-today");
}

async function wire_lengths(page) {
  return page.evaluate(async (job) => {
    const answer = await fetch(`/api/table?job=${job}&table=conductor`);
    return (await answer.json()).rows.map((row) => row.length_mm);
  }, JOB);
}

// From the first page to a changed wire and a printed sheet, following what the page says.
async function takes_first_steps(page) {
  await page.click(".first-steps a:has-text('the boxes of')");
  await page.waitForSelector(".grid .row");
  const heads = await page.$$eval('[role="columnheader"]', (list) =>
    list.map((head) => head.textContent.replace(/[ *↓↑]/g, "")),
  );
  const before = await wire_lengths(page);
  const row = page.locator(".body .row").nth(2);
  await row.locator(".cell").nth(heads.indexOf("stub_mm")).dblclick();
  await page.fill(".editor input", "777");
  await page.keyboard.press("Enter");
  await page.locator('.cell:text-is("777")').waitFor();
  assert.notDeepEqual(await wire_lengths(page), before, "its wires are of another length");
  await page.click(".strip a:has-text('shop file')");
  await page.click(".first-steps a:has-text('its sheets')");
  await page.click(".sheets a:has-text('Power: sources and buses')");
  await page.waitForSelector(".paper svg");
  let printed = 0;
  await page.exposeFunction("told_print", () => printed++);
  await page.evaluate(() => {
    globalThis.print = () => globalThis.told_print();
  });
  await page.click(".strip >> text=print");
  await page.waitForTimeout(100);
  assert.equal(printed, 1, "one touch prints the sheet");
  await page.locator(".paper").press("+"); // enlarged on the screen, whole on paper
  const paper = join(folder, "sheet.pdf");
  await page.pdf({ path: paper, format: "A4", preferCSSPageSize: true });
  const info = execFileSync("pdfinfo", [paper], { encoding: "utf8" });
  assert.match(info, /Pages: +1\n/, "a sheet prints on one page");
  const words = execFileSync("pdftotext", [paper, "-"], { encoding: "utf8" });
  assert.match(words, /amateur-built/, "with the caution");
  if (pictures) {
    execFileSync("pdftoppm", ["-png", "-r", "80", "-singlefile", paper, join(pictures, "customer-printed")]);
  }
  await page.click(".strip >> text=undo");
}

async function weighs_and_chooses(page, url) {
  await page.goto(`${url}#/${JOB}/brief`);
  await page.waitForSelector(".option");
  await accessible(page, "brief");
  await large_enough(page, "brief");
  await picture(page, "customer-brief");
  const card = page.locator('.option:has(small:text-is("O1"))');
  await card.locator("text=would move").click();
  await card.locator(".moved").waitFor();
  assert.match(await card.locator(".moved").textContent(), /Nothing is changed/);
  const before = await (await fetch(`${url}api/table?job=${JOB}&table=option`)).json();
  assert.equal(before.rows.find((row) => row.option === "O1").chosen, true, "only looked");
  await card.locator('label:text-is("no")').click();
  await card.locator('.moved:has-text("What that moved")').waitFor();
  const moved = await card.locator(".moved").textContent();
  assert.match(moved, /2 went: SCM, SGL/);
  assert.match(moved, /\d+ went: W\d+/);
  assert.match(moved, /total: \d+\.\d\d → \d+\.\d\d kg \(−\d/);
  assert.match(moved, /survey_day: \d+\.\d\d → \d+\.\d\d A \(−\d/);
  await picture(page, "customer-moved");
  await accessible(page, "what moved");
  const wires = await (await fetch(`${url}api/table?job=${JOB}&table=conductor`)).json();
  assert.ok(!wires.rows.some((row) => row.from_pin.startsWith("SCM.")), "its wires are gone");
  await card.locator("text=undo this choice").click();
  for (let i = 0; i < 100; i++) {
    const after = await (await fetch(`${url}api/table?job=${JOB}&table=option`)).json();
    if (after.rows.find((row) => row.option === "O1").chosen === true) {
      return;
    }
    await page.waitForTimeout(50);
  }
  assert.fail("the choice was not undone");
}

async function customer_approves(browser, page, url) {
  await page.fill('.line-form input[maxlength="100"]', "C-0583");
  await page.click("text=a link (14 days)");
  const link = await page.locator('.moved a[href*="customer.html"]').getAttribute("href");
  const context = await browser.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true });
  const phone = await new_page(context, link);
  await phone.waitForSelector(".picture img");
  await phone.waitForSelector(".option");
  await no_overhang(phone, 360, "a phone");
  await accessible(phone, "the customer's phone");
  await large_enough(phone, "the customer's phone");
  assert.match(await phone.textContent(".caution"), /amateur-built aircraft/);
  await picture(phone, "customer-phone");
  await phone.locator('.option:has(small:text-is("O9")) label:text-is("yes")').tap();
  await phone.waitForSelector('.option:has(small:text-is("O9")) label.taken:text-is("yes")');
  await phone.fill("#name", "Brigid Ó Nualláin");
  await phone.tap("text=I approve what is shown here");
  await phone.waitForSelector(".state.good");
  assert.equal(await phone.locator(".sign").count(), 0, "nothing more to sign");
  await picture(phone, "customer-phone-whole", { fullPage: true });
  assert.equal((await offer(url)).approval.holds, true);
  await page.waitForSelector("text=approved exactly what is shown now");
  const tells = await (await fetch(`${url}api/log?job=${JOB}`)).json();
  assert.match(tells.acts[0].what, /the customer says to option O9: yes/);
  return { phone, context, token: link.split("#")[1] };
}

async function link_opens_nothing_else(url, token) {
  const with_link = { "Marling-Link": token };
  const get = async (path) => (await fetch(`${url}${path}`, { headers: with_link })).status;
  assert.equal(await get("api/offer"), 200);
  for (const path of [`api/table?job=${JOB}&table=unit`, "api/shop", "api/today", `api/log?job=${JOB}`,
    `api/brief?job=${JOB}`, `api/books?job=${JOB}`, `api/links?job=${JOB}`, `api/book/file?job=${JOB}&book=1`]) {
    assert.equal(await get(path), 403, path);
  }
  assert.equal((await post(url, "api/edit", { job: JOB, edits: [] }, with_link)).status, 403);
  assert.equal((await post(url, "api/choose", { job: JOB, option: "O1", chosen: "no" }, with_link)).status, 403);
  const stolen = { "Marling-Link": token.replace(/^./, (c) => (c === "A" ? "B" : "A")) };
  assert.equal((await fetch(`${url}api/offer`, { headers: stolen })).status, 401);
  const late = await post(url, "api/offer/approve", { hash: "0".repeat(64), name: "X" }, with_link);
  assert.equal(late.status, 409, "an approval of something else is refused");
  const nameless = await post(url, "api/offer/approve", { hash: (await offer(url)).hash, name: " " }, with_link);
  assert.equal(nameless.status, 400);
}

// The same page goes on being looked at; it is told by itself what changed.
async function later_changes(phone, page, url) {
  await edit(url, "unit", { tag: "NVC" }, { stub_mm: "612" }, "nobody sees a stub");
  assert.equal((await offer(url)).approval.holds, true, "what nobody sees voids nothing");
  await edit(url, "mount", { item: "USB" }, { u_mm: "452" }, "USB a little to the left");
  const now = await offer(url);
  assert.equal(now.approval.holds, false, "what is seen voids the approval");
  assert.ok(now.approval.changes.some((c) => c.key === "USB" && c.what === "moved"), "and is told");
  await phone.waitForSelector(".state.void:has-text('USB')", { timeout: 20000 });
  await phone.waitForSelector("#name");
  await picture(phone, "customer-phone-void");
  await accessible(phone, "a void approval");
  await page.waitForSelector("text=no longer counts");
  await picture(page, "customer-brief-void");
  await phone.fill("#name", "Brigid Ó Nualláin");
  await phone.tap("text=I approve what is shown here");
  await phone.waitForSelector(".state.good");
}

async function link_is_taken_back(page, phone) {
  await page.click("text=take back");
  await page.waitForSelector("text=taken back");
  await phone.reload();
  await phone.waitForSelector(".told:has-text('taken back')");
  await picture(phone, "customer-phone-over");
  assert.equal(await phone.locator(".option").count(), 0, "nothing is shown any more");
}

async function open_file(browser, path) {
  const context = await browser.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true });
  const asked = [];
  context.on("request", (request) => {
    if (!/^(file|data):/.test(request.url())) {
      asked.push(request.url());
    }
  });
  const phone = await new_page(context, `file://${path}`);
  phone.asked = asked;
  await phone.waitForSelector(".option");
  return phone;
}

async function code_of(phone, name) {
  await phone.fill("#name", name);
  await phone.tap(".sign .main");
  return phone.textContent(".code b");
}

async function file_answers(browser, page, url) {
  const file = join(folder, "for-customer.html");
  await page.fill('.line-form input[maxlength="100"]', "C-0583 by mail");
  const coming = page.waitForEvent("download");
  await page.click("text=a file to send");
  copyFileSync(await (await coming).path(), file);
  assert.match(run("check-pack", shop, file), /as this shop wrote it/);
  const phone = await open_file(browser, file);
  await no_overhang(phone, 360, "a phone with the file");
  await accessible(phone, "the file");
  await large_enough(phone, "the file");
  await picture(phone, "customer-file");
  const code = await code_of(phone, "Brigid  Ó Nualláin");
  assert.match(code, /^([0-9A-Z]{4}-){3,}[0-9A-Z]{1,4}$/);
  await phone.locator(".code").scrollIntoViewIfNeeded();
  await picture(phone, "customer-file-code");
  assert.deepEqual(phone.asked, [], "the file asks nothing of any network");
  assert.deepEqual(phone.errors, [], "no error in the file");

  // A slip of the pen, another name, and then the code itself.
  const slip = code.replace(/^./, (c) => (c === "7" ? "8" : "7"));
  const refused = await post(url, "api/code", { job: JOB, code: slip, name: "Brigid Ó Nualláin" });
  assert.equal(refused.status, 422);
  assert.match((await refused.json()).error, /a letter of the code is mistaken/);
  const other = await post(url, "api/code", { job: JOB, code, name: "Somebody Else" });
  assert.equal(other.status, 422);
  await page.fill('label:has-text("code") input', code.toLowerCase().replaceAll("-", " "));
  await page.fill('label:has-text("name that was typed") input', "brigid ó Nualláin".replace("ó", "Ó"));
  await page.click("text=take it");
  await page.waitForSelector("text=Approval recorded. It is of what the job shows now.");
  await picture(page, "customer-code-taken");
  const again = await (await post(url, "api/code", { job: JOB, code, name: "Brigid Ó Nualláin" })).json();
  assert.equal(again.again, true, "a code counts once");
  assert.match((await offer(url)).approval.what, /by the code of file 1/);

  await choices_come_by_code(phone, url);
  await tampered_file_is_refused(browser, file, url);
}

async function choices_come_by_code(phone, url) {
  await phone.locator('.option:has(small:text-is("O8")) label:text-is("no")').first().tap();
  const code = await code_of(phone, "Brigid Ó Nualláin");
  const said = run("take-code", `${shop}:${JOB}`, code, "Brigid Ó Nualláin");
  assert.match(said, /1 answers of Brigid Ó Nualláin taken/);
  const now = await offer(url);
  assert.equal(now.options.find((one) => one.option === "O8").chosen, "no");
  assert.equal(now.approval.holds, false, "what was approved was another choice");
}

async function tampered_file_is_refused(browser, file, url) {
  const text = readFileSync(file, "utf8");
  const changed = text.replace("panel colour", "panel odours");
  assert.notEqual(changed, text);
  const path = join(folder, "changed.html");
  writeFileSync(path, changed);
  const checked = fail("check-pack", shop, path);
  assert.equal(checked.code, 1);
  assert.match(checked.said, /not as the shop wrote it/);
  const phone = await open_file(browser, path);
  const code = await code_of(phone, "Brigid Ó Nualláin");
  const refused = await post(url, "api/code", { job: JOB, code, name: "Brigid Ó Nualláin" });
  assert.equal(refused.status, 422);
  assert.match((await refused.json()).error, /the file was changed on its way/);
  writeFileSync(path, `${text}<script>alert(1)</script>`);
  assert.match(fail("check-pack", shop, path).said, /something was added/);
  // A script of somebody else's does not run: the file's own policy names the one that may.
  writeFileSync(path, text.replace("<main", "<script>document.title='mine'</script><main"));
  const guarded = await open_file(browser, path);
  assert.notEqual(await guarded.title(), "mine");
}

async function builds_the_book(page, url) {
  await page.goto(`${url}#/${JOB}/book`);
  await page.waitForSelector("text=None was built yet.");
  await accessible(page, "no book yet");
  await page.click("text=build the book");
  await page.waitForSelector("progress");
  await picture(page, "customer-book-building");
  await page.click("text=stop");
  await page.waitForSelector("text=stopped: no book was written", { timeout: 60000 });
  await page.click("text=build the book");
  const begin = Date.now();
  await page.waitForSelector(".books a", { timeout: 120000 });
  console.log(`a book is built in ${((Date.now() - begin) / 1000).toFixed(1)} s`);
  await accessible(page, "book");
  await large_enough(page, "book");
  await picture(page, "customer-book");
  const coming = page.waitForEvent("download");
  await page.click(".books a");
  const path = await (await coming).path();
  const info = execFileSync("pdfinfo", [path], { encoding: "utf8" });
  assert.match(info, /Pages: +\d\d/, "the book is a PDF of many pages");
  const none = await fetch(`${url}api/book/file?job=${JOB}&book=../../etc/passwd`);
  assert.equal(none.status, 404);
}

async function other_sizes(browser, url) {
  for (const [name, width, height] of [["tablet", 820, 1180], ["phone", 360, 740]]) {
    const context = await browser.newContext({ viewport: { width, height }, hasTouch: true });
    const page = await new_page(context, url);
    await page.waitForSelector(".standing");
    await no_overhang(page, `today on a ${name}`);
    await picture(page, `customer-today-${name}`);
    await page.goto(`${url}#/${JOB}/brief`);
    await page.waitForSelector(".option");
    await no_overhang(page, `brief on a ${name}`);
    await accessible(page, `brief on a ${name}`);
    await picture(page, `customer-brief-${name}`);
    await page.goto(`${url}#/${JOB}/book`);
    await page.waitForSelector(".books a");
    await no_overhang(page, `book on a ${name}`);
    await picture(page, `customer-book-${name}`);
    await context.close();
  }
}

async function empty_shop(browser) {
  const served = await serve_file(join(folder, "empty.db"));
  const context = await browser.newContext({ viewport: { width: 1400, height: 900 } });
  const page = await new_page(context, served.url);
  await page.waitForSelector("text=No job yet");
  await picture(page, "customer-empty");
  await accessible(page, "an empty shop");
  run("import", join(examples, "first"), join(folder, "empty.db"));
  await page.waitForSelector(".standing:has-text('first')", { timeout: 10000 });
  await context.close();
  await stop(served);
}

// --- all of them ------------------------------------------------------------------------------

await with_browser(async (browser) => {
  take_jobs("osier", JOB);
  const { url } = await serve();
  const context = await browser.newContext({ viewport: { width: 1400, height: 900 } });
  const page = await new_page(context, url);
  await sees_where_jobs_stand(page);
  await takes_first_steps(page);
  await weighs_and_chooses(page, url);
  const customer = await customer_approves(browser, page, url);
  await link_opens_nothing_else(url, customer.token);
  await later_changes(customer.phone, page, url);
  await link_is_taken_back(page, customer.phone);
  assert.deepEqual(customer.phone.errors, [], "no error on the customer's phone");
  await file_answers(browser, page, url);
  await builds_the_book(page, url);
  await other_sizes(browser, url);
  await empty_shop(browser);
  assert.deepEqual(page.errors, [], "no error in the page's console");
  run("check-shop", shop);
});
