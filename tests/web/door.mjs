// The door in a real browser, by TLS: signing in and out, people, sessions that end elsewhere, roles;
// and script in every text that can be stored: it stays text on every page.
//     node door.mjs MARLING EXAMPLES CHROMIUM [FOLDER_FOR_PICTURES]
import assert from "node:assert/strict";
import {
  accessible,
  picture,
  run,
  run_with,
  serve,
  shop,
  take_jobs,
  with_browser,
} from "./setup.mjs";

const PASSWORDS = { Ada: "four words of nonsense", Bo: "other words of nonsense" };
const EVIL =
  `"><script>window.pwned=1</script><img src=x onerror="window.pwned=2">` +
  `<svg onload="window.pwned=3"></svg>javascript:window.pwned=4`;

async function sign_in(page, name, password) {
  await page.fill('input[name="name"]', name);
  await page.fill('input[name="password"]', password);
  await page.click("text=sign in");
}

async function signs_in(page, url) {
  await page.goto(url);
  await page.waitForSelector('input[name="name"]');
  await picture(page, "door");
  await accessible(page, "the door");
  await sign_in(page, "Ada", "not the password");
  await page.waitForSelector("text=name and password do not fit");
  await picture(page, "door-refused");
  await sign_in(page, "ada", PASSWORDS.Ada);
  await page.waitForSelector("text=osier_mended");
  const cookies = await page.context().cookies();
  assert.equal(cookies.length, 1);
  assert.ok(cookies[0].httpOnly && cookies[0].secure && cookies[0].sameSite === "Strict", "cookie");
  assert.ok(cookies[0].name.startsWith("__Host-"), "the cookie is for this host alone");
  assert.equal(await page.evaluate(() => document.cookie), "", "scripts don't see the session");
}

async function lets_people_in(page, url) {
  await page.goto(`${url}#//people`);
  await page.waitForSelector("text=Who works here");
  await page.fill("form:has-text('let in') input >> nth=0", EVIL.slice(0, 60));
  await page.fill("form:has-text('let in') input[type=password]", "some words of nonsense");
  await page.click("text=let in");
  await page.waitForSelector("td:has-text('<script>')");
  await picture(page, "people");
  await accessible(page, "people");
  await page.locator("tr", { hasText: "<script>" }).locator("text=dismiss").click();
  await page.locator("tr", { hasText: "<script>" }).locator("text=leaves").click();
  await page.waitForSelector("tr.undone:has-text('<script>')");
  await page.reload();
  await page.waitForSelector("text=Who came to the door");
  await page.waitForSelector("td:has-text('refused')");
  assert.equal(await page.evaluate(() => window.pwned), undefined, "names are text");
}

async function bench_sees_no_people(browser, url) {
  const context = await browser.newContext({
    ignoreHTTPSErrors: true,
    viewport: { width: 390, height: 800 },
    hasTouch: true,
  });
  const page = await context.newPage();
  await page.goto(`${url}#//people`);
  await page.waitForSelector('input[name="name"]');
  await picture(page, "door-phone");
  await sign_in(page, "Bo", PASSWORDS.Bo);
  await page.waitForSelector("h1:has-text('Bo')");
  await page.waitForTimeout(300);
  assert.equal(await page.locator("text=Who works here").count(), 0);
  await accessible(page, "oneself");
  await picture(page, "oneself-phone");
  // Dismissed on the command line, the page goes back to the door by itself: the stream ends.
  run("dismiss", shop, "Bo");
  await page.waitForSelector('input[name="name"]', { timeout: 30000 });
  assert.equal(await page.locator("text=osier_mended").count(), 0, "nothing stays on the screen");
  await context.close();
}

async function shows_how_to_trust(page, url) {
  await page.goto(`${url}trust`);
  await page.waitForSelector("text=Take the certificate");
  await picture(page, "trust");
  await accessible(page, "how to trust");
}

async function signs_out(page, url) {
  await page.goto(`${url}#//people`);
  await page.click("text=sign out");
  await page.waitForSelector('input[name="name"]');
  assert.equal((await page.context().cookies()).length, 0, "the cookie is gone");
}

// --- script in every text ---------------------------------------------------------------------

function post(url, what, body) {
  return fetch(`${url}api/${what}`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  });
}

// Every text column of every row of a job, but for those that name another row.
async function poison(url, job) {
  const { tables } = await (await fetch(`${url}api/schema`)).json();
  let cells = 0;
  for (const table of tables.filter((one) => one.group === "job")) {
    const { rows } = await (await fetch(`${url}api/table?job=${job}&table=${table.name}`)).json();
    let texts = table.columns.filter((one) => one.kind === "text" && !one.key).map((one) => one.name);
    const keys = table.columns.filter((one) => one.key).map((one) => one.name);
    const edits_of = () =>
      rows.slice(0, 20).map((row) => ({
        table: table.name,
        before: Object.fromEntries(keys.map((name) => [name, row[name]])),
        after: { ...row, ...Object.fromEntries(texts.map((name) => [name, EVIL])) },
      }));
    const edits = edits_of();
    if (edits.length === 0 || texts.length === 0) {
      continue;
    }
    let answer = await post(url, "edit", { job, what: EVIL, edits });
    if (answer.status === 422) {
      // Dates, hashes and their like are no free text: the rest is.
      const { cells: refused } = await answer.json();
      texts = texts.filter((name) => !refused.some((cell) => cell.column === name));
      answer = await post(url, "edit", { job, what: EVIL, edits: edits_of() });
    }
    assert.equal(answer.status, 200, `${table.name}: ${await answer.text()}`);
    cells += edits.length * texts.length;
  }
  const kept = await post(url, "keep", { job, what: EVIL, name: EVIL });
  assert.equal(kept.status, 200, await kept.text());
  return { cells, tables };
}

async function script_stays_text(page, url, job) {
  const violations = [];
  page.on("console", (line) => {
    if (/Content Security Policy|Refused to/.test(line.text())) {
      violations.push(line.text());
    }
  });
  page.on("dialog", (dialog) => violations.push(dialog.message()));
  const { cells, tables } = await poison(url, job);
  const { sheets } = await (await fetch(`${url}api/sheets?job=${job}`)).json();
  const places = ["log", "proof", "sheet", ...tables.map((one) => `table/${one.name}`)];
  places.push(...sheets.map((one) => `sheet/${encodeURIComponent(one.name)}`));
  let seen = 0;
  for (const place of places) {
    await page.goto(`${url}#/${job}/${place}`);
    await page.waitForTimeout(120);
    seen += (await page.locator("text=window.pwned").count()) > 0 ? 1 : 0;
    const harm = await page.evaluate(() => [
      window.pwned ?? 0,
      document.querySelectorAll("img[src=x], body script, svg script, [onload], [onerror]").length,
    ]);
    assert.deepEqual(harm, [0, 0], place);
  }
  assert.deepEqual(violations, []);
  assert.ok(seen >= 5, `the texts are really shown (${seen} pages)`);
  console.log(`script in ${cells} cells stays text on ${places.length} pages, ${seen} show it`);
}

// --- all of them ------------------------------------------------------------------------------

await with_browser(async (browser) => {
  take_jobs("first", "osier_mended");
  run_with(`${PASSWORDS.Ada}\n`, "admit", shop, "Ada", "designer");
  run_with(`${PASSWORDS.Bo}\n`, "admit", shop, "Bo", "bench");
  const others = await serve("--listen", "0.0.0.0:0");
  const url = `https://localhost:${others.port}/`;
  const context = await browser.newContext({
    ignoreHTTPSErrors: true,
    viewport: { width: 1400, height: 900 },
  });
  const page = await context.newPage();
  await signs_in(page, url);
  await lets_people_in(page, url);
  await bench_sees_no_people(browser, url);
  await shows_how_to_trust(page, url);
  await signs_out(page, url);
  const here = await serve();
  await script_stays_text(page, here.url, "first");
});
