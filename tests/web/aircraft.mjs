// The aircraft in views side by side: what is touched in one is lit in all; why; fail it; the ways
// light may be; and large tables.
//     node aircraft.mjs MARLING EXAMPLES CHROMIUM [FOLDER_FOR_PICTURES]
import assert from "node:assert/strict";
import {
  accessible,
  fail,
  new_page,
  no_overhang,
  picture,
  serve,
  so,
  take_jobs,
  until,
  with_browser,
} from "./setup.mjs";

const JOB = "osier_mended";

async function find(page, words) {
  await page.keyboard.press("/");
  await page.fill('input[aria-label="What to find"]', words);
  await page.waitForSelector(`li[role="option"]:has-text("${words}")`);
  await page.keyboard.press("Enter");
}

// How many pixels of a canvas are of the colour of what is touched.
const blue = (page, look) =>
  page.evaluate((look) => {
    const canvas = document.querySelector(`canvas[data-turn="${look}"]`);
    const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
    let count = 0;
    for (let i = 0; i < data.length; i += 4) {
      count += data[i] < 30 && data[i + 1] > 60 && data[i + 1] < 120 && data[i + 2] > 150 ? 1 : 0;
    }
    return count;
  }, look);

// What a canvas shows, as one number, once two frames have gone by.
const seen = (page, look) =>
  page.evaluate(async (look) => {
    await new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve)));
    const canvas = document.querySelector(`canvas[data-turn="${look}"]`);
    const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
    return new Uint32Array(data.buffer).reduce((sum, one) => (Math.imul(sum, 31) + one) >>> 0, 7);
  }, look);

// --- tasks ------------------------------------------------------------------------------------

async function a_wire_is_lit_in_every_view(page, url) {
  await page.goto(`${url}#/${JOB}/aircraft/turn,wiring-engine-1,plan`);
  await page.waitForSelector(".paper svg");
  await until(page, () => document.querySelectorAll(".airframe").length === 2);
  await page.waitForTimeout(500);
  assert.equal(await blue(page, "plan"), 0, "nothing is lit before anything is touched");
  await accessible(page, "views of the aircraft");
  await find(page, "W0115");
  await page.waitForSelector(".why .reasons:has-text('the shortest of all that are open')");
  await page.waitForTimeout(300);
  assert.ok((await blue(page, "plan")) > 20, "its way is lit from above");
  assert.ok((await blue(page, "turn")) > 20, "its way is lit in the turnable view");
  const lit = await page.$$eval(".paper .lit", (list) => list.map((one) => one.dataset.key));
  assert.ok(lit.some((key) => key.includes("W0115")), `the wire is lit on its sheet: ${lit}`);
  const kin = await page.$$eval(".paper .kin", (list) => list.map((one) => one.dataset.key));
  assert.ok(kin.includes("EMS"), `and the box it ends at: ${kin}`);
  await picture(page, "aircraft-wire");
  await accessible(page, "a wire and its reasons");
  // From a reason to the thing it names.
  await page.click(".why .word:has-text('S03-P08')");
  await page.waitForSelector(".why strong:has-text('S03-P08')");
  await page.waitForSelector(".why .reasons:has-text('bundle_cables')");
  const wires = await page.$$eval(".paper .kin", (list) => list.map((one) => one.dataset.key));
  assert.ok(wires.some((key) => key.includes("W0115")), "a segment lights its wires");
}

async function says_where_a_thing_is_drawn(page) {
  await page.click(".why >> text=where drawn");
  await page.waitForSelector(".drawn li");
  await find(page, "W0115");
  await page.click(".why >> text=where drawn");
  await page.waitForSelector(".drawn button:has-text('Connectors: EMS.J1')");
  await page.click(".drawn button:has-text('Connectors: EMS.J1')");
  await until(page, () => location.hash.includes("connectors-"));
  await page.waitForSelector(".paper svg");
  await page.waitForTimeout(400);
  assert.ok((await page.locator(".paper .lit").count()) > 0, "its contact is lit on the face");
  await picture(page, "aircraft-face");
}

async function turns_by_keys_and_by_hand(page, url) {
  await page.goto(`${url}#/${JOB}/aircraft/turn`);
  await page.waitForSelector(".airframe");
  await page.waitForTimeout(600);
  const first = await seen(page, "turn");
  await page.waitForTimeout(400);
  assert.equal(await seen(page, "turn"), first, "nothing moves by itself");
  await page.focus(".airframe");
  await page.keyboard.press("ArrowRight");
  await page.waitForTimeout(100);
  const turned = await seen(page, "turn");
  assert.notEqual(turned, first, "an arrow turns");
  await page.keyboard.press("Home");
  await page.waitForTimeout(100);
  assert.equal(await seen(page, "turn"), first, "Home turns back");
  await page.keyboard.press("+");
  await page.waitForTimeout(100);
  assert.notEqual(await seen(page, "turn"), first, "plus enlarges");
  await page.keyboard.press("Home");
  const box = await page.locator(".airframe").boundingBox();
  await page.mouse.move(box.x + 200, box.y + 200);
  await page.mouse.down();
  await page.mouse.move(box.x + 320, box.y + 260, { steps: 6 });
  await page.mouse.up();
  await page.waitForTimeout(100);
  assert.notEqual(await seen(page, "turn"), first, "a drag turns");
  await page.focus(".airframe");
  await page.keyboard.press("n");
  await page.waitForSelector(".why strong");
  await page.keyboard.press("c");
  await page.waitForTimeout(200);
  await picture(page, "aircraft-near");
  const frames = await page.evaluate(async () => {
    const canvas = document.querySelector(".airframe");
    const times = [];
    for (let i = 0; i < 60; i++) {
      const begin = performance.now();
      canvas.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight", bubbles: true }));
      await new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
      times.push(performance.now() - begin);
    }
    return times.sort((a, b) => a - b);
  });
  console.log(`a turn is drawn in ${frames[30].toFixed(1)} ms (median), ${frames[58].toFixed(1)} ms (worst but one)`);
}

async function fails_it(page, url) {
  await page.goto(`${url}#/${JOB}/fail/power-1,turn`);
  await page.waitForSelector(".paper svg");
  await page.waitForSelector(".controls .result");
  await accessible(page, "fail it, before");
  await page.locator(".paper text", { hasText: /^ALM$/ }).first().click({ force: true });
  await page.waitForSelector(".fails li:has-text('it gives nothing')");
  await page.waitForSelector(".minutes b");
  const shown = Number.parseInt(await page.locator(".minutes:has-text('BTM') b").textContent(), 10);
  const answer = await (await fetch(`${url}api/trial?job=${JOB}&keys=ALM&phase=cruise_night`)).json();
  const battery = answer.phases[0].batteries.find((one) => one.unit === "BTM");
  assert.equal(shown, Math.floor(battery.aged_min), "minutes left are those of the aged battery, rounded down");
  assert.ok(Math.abs(battery.aged_min - (battery.capacity_ah * battery.usable_aged * 60) / battery.amps_a) < 1e-6);
  assert.ok((await page.locator(".paper .failed").count()) > 0, "what fails is crossed out");
  assert.ok((await page.locator(".paper .cross").count()) > 0);
  // A second thing at once: the fuse of the essential bus takes boxes with it.
  await page.fill('input[aria-label="What else fails"]', "F_ESSM");
  await page.keyboard.press("Enter");
  await page.waitForSelector(".result dt:has-text('boxes dark')");
  await until(page, () => document.querySelectorAll(".paper .dark").length > 0);
  await picture(page, "fail-it");
  await accessible(page, "fail it");
  const dark = await page.$$eval(".paper .dark", (list) => new Set(list.map((one) => one.dataset.key)).size);
  assert.ok(dark > 0, "what goes dark is dimmed in the diagram");
  assert.ok((await page.locator('.paper .dark[data-table="bus"][data-key="ESS"]').count()) > 0, "so is the bus itself");
  // Another switch position: the alternate feed brings them back.
  await page.click("summary:has-text('Switches')");
  await page.locator("fieldset", { hasText: "SW_ESS" }).getByLabel("on", { exact: true }).check();
  await until(page, () => !document.querySelector(".result")?.textContent.includes("PD1.PWR"));
  await until(page, () => !document.querySelector('.paper .dark[data-table="bus"]'));
  await picture(page, "fail-switch");
  await page.selectOption("label:has-text('phase') select", "landing_night");
  await page.waitForSelector(".minutes b");
  // A plot beside it.
  await page.click("summary:has-text('Plots')");
  await page.click("button:has-text('Time and current of devices and wires, sheet 1')");
  await until(page, () => location.hash.includes("protection-1"));
  await page.waitForTimeout(600);
  await picture(page, "fail-plot");
  await page.fill('input[aria-label="What else fails"]', "F_ESSN");
  await page.keyboard.press("Enter");
  await page.waitForSelector(".tell[role=alert]:has-text('did you mean')");
  await page.click(".tell button");
  await page.click("text=all work again");
  await until(page, () => document.querySelectorAll(".paper .dark, .paper .failed").length === 0);
}

async function light_may_be_bright(page, url) {
  await page.goto(`${url}#/${JOB}/aircraft/turn,power-1`);
  await page.waitForSelector(".paper svg");
  for (const light of ["light", "dark", "bright"]) {
    await page.click(".strip button:has-text('light')");
    await until(page, (light) => document.documentElement.dataset.light === light, light);
    await page.waitForTimeout(200);
    await picture(page, `light-${light}`);
    await accessible(page, `${light} light`);
  }
  await page.click(".strip button:has-text('light')");
}

async function fits_phones_tablets_and_walls(browser, url) {
  for (const [name, width, height, touch] of [
    ["phone", 360, 740, true],
    ["tablet", 1024, 768, true],
    ["wall", 3840, 2160, false],
  ]) {
    const context = await browser.newContext({ viewport: { width, height }, hasTouch: touch });
    const page = await new_page(context, `${url}#/${JOB}/aircraft`);
    await page.waitForSelector(".airframe");
    await page.waitForTimeout(800);
    await picture(page, `${name}-aircraft`);
    await accessible(page, `aircraft on a ${name}`);
    const panes = await page.locator(".pane").count();
    assert.equal(panes, { phone: 1, tablet: 1, wall: 3 }[name], `views side by side on a ${name}`);
    await page.goto(`${url}#/${JOB}/fail`);
    await page.waitForSelector(".controls .result");
    await page.waitForTimeout(500);
    await picture(page, `${name}-fail`);
    await accessible(page, `fail it on a ${name}`);
    await no_overhang(page, `a ${name}`);
    if (touch) {
      const small = await page.$$eval(".strip button, .strip a, .controls button:not(.word), .pane > header button, select", (list) =>
        list.filter((one) => one.checkVisibility() && one.getBoundingClientRect().height < 44).map((one) => one.outerHTML),
      );
      assert.deepEqual(small, [], "what is touched is at least 44 px high");
    }
    assert.deepEqual(page.errors, [], `no error on a ${name}`);
    await context.close();
  }
}

// --- all of them ------------------------------------------------------------------------------

await with_browser(async (browser) => {
  take_jobs(JOB);
  const { url } = await serve();
  const context = await browser.newContext({ viewport: { width: 1800, height: 1000 } });
  const page = await new_page(context, url);
  await a_wire_is_lit_in_every_view(page, url);
  await says_where_a_thing_is_drawn(page);
  await turns_by_keys_and_by_hand(page, url);
  await fails_it(page, url);
  await light_may_be_bright(page, url);
  await fits_phones_tablets_and_walls(browser, url);
  assert.deepEqual(page.errors, [], "no error in the page's console");
});
