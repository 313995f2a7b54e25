// A builder's tablet at a desk where people sign in, by TLS: the desk goes away, work goes on, the
// session ends meanwhile, the page is opened again; when the desk is back it asks who is there, and
// what waited is sent once, under the name of who did it and of nobody else.
//     node tablet.mjs MARLING EXAMPLES CHROMIUM [FOLDER_FOR_PICTURES]
import assert from "node:assert/strict";
import {
  accessible,
  new_page,
  no_overhang,
  picture,
  run,
  run_with,
  serve,
  shop,
  so,
  stop,
  take_jobs,
  with_browser,
} from "./setup.mjs";

const JOB = "osier_mended";
const MODULE = "AFT";
const PASSWORDS = { Ada: "four words of nonsense", Bo: "other words of nonsense" };

const text_of = async (page, where) => (await page.textContent(where)).replace(/\s+/g, " ");
const waiting = (page, words) =>
  so(async () => words.test(await text_of(page, ".waiting")), `${words}: ${page.url()}`);
const signed_out = (page) => page.waitForSelector('input[name="password"]', { timeout: 30000 });

async function sign_in(page, name) {
  await signed_out(page);
  await page.fill('input[name="name"]', name);
  await page.fill('input[name="password"]', PASSWORDS[name]);
  await page.click("button:has-text('sign in')");
}

// Rows of the bench as the file has them.
const ticks = () => JSON.parse(run("show", "bench_tick", `${shop}:${JOB}`, "--format", "json"));

async function tick(page, times) {
  for (let i = 0; i < times; i++) {
    const before = await text_of(page, ".huge");
    await page.click(".acts .tick");
    await so(async () => (await text_of(page, ".huge")) !== before, "the next end");
  }
}

async function begins_at_the_board(page, url) {
  await page.goto(`${url}#/${JOB}/bench/${MODULE}`);
  await sign_in(page, "Bo");
  await page.waitForSelector(".acts .tick");
  assert.equal((await text_of(page, "span.hand")).trim(), "Bo", "nobody is asked twice who he is");
  await page.click("summary:has-text('all steps')");
  await page.locator('.groups button:has-text("crimp BK6.P")').first().click();
  await page.waitForSelector(".face .here");
  await tick(page, 1);
  await waiting(page, /all is kept/);
  assert.equal(await page.locator("text=No secure connection").count(), 0);
}

// The tablet is told nothing of it: its desk does not answer.
function the_session_ends() {
  run("dismiss", shop, "Bo");
  run_with(`${PASSWORDS.Bo}\n`, "admit", shop, "Bo", "bench");
}

async function works_on_alone(page, context, url) {
  await tick(page, 3);
  await waiting(page, /3 entries wait/);
  await page.close();
  const again = await new_page(context, `${url}#/${JOB}/bench/${MODULE}`);
  await again.waitForSelector(".acts .tick");
  await waiting(again, /3 entries wait/);
  assert.equal((await text_of(again, "span.hand")).trim(), "Bo", "who sat here is known");
  await tick(again, 2);
  await waiting(again, /5 entries wait.*the desk is out of reach/);
  await picture(again, "tablet-alone");
  await accessible(again, "alone");
  return again;
}

async function is_asked_again(page) {
  await signed_out(page);
  await page.waitForSelector("text=5 entries by Bo wait on this tablet");
  await picture(page, "tablet-asked");
  await accessible(page, "asked again");
  assert.equal(ticks().length, 1, "nothing was sent for somebody unknown");
  assert.equal(await page.locator(".acts").count(), 0, "nothing of the job is on the screen");
  await page.reload();
  await page.waitForSelector("text=5 entries by Bo wait on this tablet");
}

async function another_sends_nothing_of_it(page) {
  await sign_in(page, "Ada");
  await page.waitForSelector(".acts .tick");
  await waiting(page, /5 entries wait.*5 by Bo, who has to sign in/);
  await tick(page, 1);
  await so(() => ticks().some((row) => row.person === "Ada"), "her own is sent");
  await waiting(page, /5 entries wait.*5 by Bo, who has to sign in/);
  await picture(page, "tablet-another");
  assert.deepEqual(ticks().map((row) => row.person).sort(), ["Ada", "Bo"]);
  await page.goto(`${page.url().split("#")[0]}#//people`);
  await page.click("text=sign out");
  await signed_out(page);
}

async function sends_all_of_it_once(page, url) {
  await page.goto(`${url}#/${JOB}/bench/${MODULE}`);
  await sign_in(page, "Bo");
  await waiting(page, /all is kept/);
  const rows = ticks();
  assert.equal(rows.filter((row) => row.person === "Bo").length, 6);
  assert.equal(rows.filter((row) => row.person === "Ada").length, 1);
  assert.equal(new Set(rows.map((row) => row.item)).size, 7, "each end once");
  await picture(page, "tablet-sent");
}

// The session ends while the page is open and the desk answers: the next tick is refused, and waits.
async function ends_under_the_hand(page) {
  await page.click("summary:has-text('all steps')");
  await page.locator('.groups button:has-text("crimp BK6.P")').first().click();
  await page.route("**/api/events", (route) => route.abort()); // told by the tick, not by the stream
  the_session_ends();
  await page.click(".acts .tick");
  await signed_out(page);
  await page.waitForSelector("text=1 entry by Bo waits on this tablet");
  await page.unroute("**/api/events");
  await sign_in(page, "Bo");
  await page.waitForSelector(".acts");
  await waiting(page, /all is kept/);
  assert.equal(ticks().length, 8);
}

// Where the browser keeps nothing the page itself is the only copy: it is not thrown away.
async function keeps_the_only_copy(browser, url) {
  const context = await browser.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true });
  await context.addInitScript(() => {
    IDBFactory.prototype.open = () => {
      throw new Error("not allowed");
    };
  });
  const page = await new_page(context, `${url}#/${JOB}/bench/${MODULE}`);
  await sign_in(page, "Bo");
  await page.waitForSelector(".acts .tick");
  await page.waitForSelector("text=This browser keeps nothing");
  const before = ticks().length;
  await page.click("summary:has-text('all steps')");
  await page.locator('.groups button:has-text("crimp BK6.P")').first().click();
  await page.waitForSelector(".face .here");
  the_session_ends();
  await page.click(".acts .tick");
  await signed_out(page);
  await page.waitForSelector("text=1 entry by Bo waits on this tablet");
  await page.waitForTimeout(1500);
  await picture(page, "tablet-phone-asked");
  await accessible(page, "asked again on a phone");
  await no_overhang(page, "the door on a phone");
  await sign_in(page, "Bo");
  await so(() => ticks().length === before + 1, "the tick is sent");
  await page.waitForSelector(".acts");
  await waiting(page, /all is kept/);
  assert.deepEqual(page.errors, []);
  await context.close();
}

await with_browser(async (browser) => {
  take_jobs(JOB);
  run_with(`${PASSWORDS.Ada}\n`, "admit", shop, "Ada", "designer");
  run_with(`${PASSWORDS.Bo}\n`, "admit", shop, "Bo", "bench");
  const served = await serve("--listen", "0.0.0.0:0");
  const url = `https://localhost:${served.port}/`;
  const context = await browser.newContext({ viewport: { width: 1180, height: 820 }, hasTouch: true });
  const first = await new_page(context);
  await begins_at_the_board(first, url);
  await stop(served);
  the_session_ends();
  const page = await works_on_alone(first, context, url);
  await serve("--listen", `0.0.0.0:${served.port}`);
  await is_asked_again(page);
  await another_sends_nothing_of_it(page);
  await sends_all_of_it_once(page, url);
  await ends_under_the_hand(page);
  await keeps_the_only_copy(browser, url);
  run("check-shop", shop);
  assert.deepEqual([...first.errors, ...page.errors], [], "no error in a page's console");
}, "--ignore-certificate-errors");
