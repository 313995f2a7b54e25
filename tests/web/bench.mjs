// A builder's tasks with a tablet at the board, in a real browser: work wire by wire, the desk out of
// reach, the page opened again meanwhile, everything kept once when it is back; readings and what
// they mean; a problem, a photo.
//     node bench.mjs MARLING EXAMPLES CHROMIUM [FOLDER_FOR_PICTURES]
import assert from "node:assert/strict";
import {
  accessible,
  new_page,
  no_overhang,
  picture,
  run,
  serve,
  shop,
  so,
  stop,
  take_jobs,
  with_browser,
} from "./setup.mjs";

const JOB = "osier_mended";
const MODULE = "AFT";

const text_of = async (page, where) => (await page.textContent(where)).replace(/\s+/g, " ");
const all_kept = (page) =>
  so(async () => /all is kept/.test(await text_of(page, ".waiting")), "all is kept");
const kept = async (url) => (await fetch(`${url}api/bench/kept?job=${JOB}`)).json();
const progress = async (url) =>
  (await (await fetch(`${url}api/bench/progress?job=${JOB}`)).json()).modules.find(
    (one) => one.module === MODULE,
  ).progress;

const ring = async (url, module) =>
  (await fetch(`${url}api/bench/ring?job=${JOB}&module=${module}`)).json();

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
  await picture(page, "bench-modules");
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
  await picture(page, "bench-cut");
  await accessible(page, "a wire to cut");
  await page.click(".tick");
  await so(async () => (await text_of(page, ".huge")) !== wire, "the next wire comes by itself");
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
  await picture(page, "bench-crimp");
  await accessible(page, "an end to crimp");
}

// Which tool, of which lot: said once, written with each tick until something else is said.
async function says_tool_and_lot(page) {
  for (const target of await page.locator(".with").all()) {
    assert.ok((await target.boundingBox()).height >= 64, "for gloves");
  }
  assert.match(await text_of(page, ".with"), /tool not said.*lot of .* not said/);
  await page.click(".with");
  await page.fill('.saying input[name^="tool "]', "CT-3");
  await page.fill('.saying input[name^="lot "]', "2291");
  for (const target of await page.locator(".saying input, .saying button").all()) {
    assert.ok((await target.boundingBox()).height >= 64, "for gloves");
  }
  await picture(page, "bench-tool");
  await accessible(page, "tool and lot");
  await page.click("text=so it is");
  await so(async () => /tool CT-3.*2291/.test(await text_of(page, ".with")), "it is said");
  await picture(page, "bench-tool-said");
  // Another operation is done with another tool.
  await go_to(page, "cut and label");
  assert.match(await text_of(page, ".with"), /tool not said/);
  await go_to(page, "crimp BK6.P");
  await so(async () => /tool CT-3.*2291/.test(await text_of(page, ".with")), "remembered");
}

// Crimps that are pulled apart: what they held is written down, too little is not ticked.
async function pulls_samples(page, url) {
  await go_to(page, "crimp and pull samples");
  const name = (await text_of(page, ".huge")).trim();
  assert.ok(await page.locator(".tick").isDisabled(), "no force is said");
  const least = Number(/(\d+(?:\.\d+)?) N at least/.exec(await text_of(page, ".item"))[1]);
  await page.fill("input[name=force]", `${least - 1}`);
  await page.waitForSelector(".verdict.bad");
  assert.ok(await page.locator(".tick").isDisabled(), "too little");
  await picture(page, "bench-pull");
  await accessible(page, "samples to pull");
  await page.click(".with");
  await page.fill('.saying input[name^="tool "]', "CT-3");
  await page.fill('.saying input[name^="lot "]', "2291");
  await page.click("text=so it is");
  await page.fill("input[name=force]", `${least + 4}`);
  await page.click(".tick");
  await so(async () => (await text_of(page, ".huge")).trim() !== name, "the next kind");
  assert.equal(await page.inputValue("input[name=force]"), "", "another kind has another force");
  await all_kept(page);
  const row = (await kept(url)).bench_tick.find((one) => one.operation === "pull");
  assert.equal(`contact ${row.item}`.replace(" AWG", ", AWG"), name);
  assert.deepEqual([row.tool, row.lot, row.pull_n], ["CT-3", "2291", least + 4]);
}

async function goes_on_without_the_desk(page, context, served) {
  const { port } = served;
  await go_to(page, "crimp BK6.P");
  await page.waitForTimeout(500);
  await stop(served);
  for (let i = 0; i < 5; i++) {
    await page.click(".tick");
    await page.waitForTimeout(120);
  }
  await so(async () => /5 entries wait/.test(await text_of(page, ".waiting")), "five wait");
  await page.click(".acts >> text=problem");
  await page.fill("textarea[name=words]", "insulation nicked <script>alert(1)</script>");
  await page.click("text=note it");
  await page.setInputFiles(".acts input[type=file]", {
    name: "crimp.png",
    mimeType: "image/png",
    buffer: await page.screenshot(),
  });
  await so(async () => /7 entries wait/.test(await text_of(page, ".waiting")), "seven wait");
  await picture(page, "bench-offline");
  await accessible(page, "without the desk");
  // Closed and opened again while the desk is away: the page and what waits are on the tablet.
  await page.close();
  const again = await new_page(context);
  await again.goto(`${served.url}#/${JOB}/bench/${MODULE}`);
  await again.waitForSelector(".acts");
  await so(async () => /7 entries wait/.test(await text_of(again, ".waiting")), "they wait still");
  await again.waitForSelector(".face .here");
  assert.match(await text_of(again, ".with"), /tool CT-3.*2291/, "the tablet remembers");
  await again.click(".tick");
  await so(async () => /8 entries wait/.test(await text_of(again, ".waiting")), "one more");
  await picture(again, "bench-reopened");
  const sent = [];
  again.on("request", (request) => {
    if (request.url().endsWith("/api/bench/add")) {
      sent.push(...request.postDataJSON().rows.map(({ row }) => row.time));
    }
  });
  const back = await serve("--port", port, "--by", "Ada");
  await all_kept(again);
  const all = await kept(back.url);
  const ticks = all.bench_tick.filter((row) => row.operation === "crimp");
  assert.equal(ticks.length, 6, "each once");
  assert.equal(new Set(ticks.map((row) => row.item)).size, 6, "six ends");
  assert.deepEqual([...new Set(ticks.map((row) => row.tool))], ["CT-3"], "with this tool");
  assert.deepEqual([...new Set(ticks.map((row) => row.lot))], ["2291"], "of this lot");
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
  assert.equal(done.ticked, 7, "six ends and a kind of crimp");
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
  await so(async () => lost > 1, "it is sent again");
  await all_kept(page);
  assert.equal((await kept(url)).bench_tick.length, before + 1, "it stands once");
  await page.unroute("**/api/bench/add");
}

async function has_a_record(page, url) {
  await page.goto(`${url}#/${JOB}/bench/${MODULE}/record`);
  await page.waitForSelector(".record");
  const lines = (await page.locator(".record tbody tr").allTextContents()).filter((line) =>
    /CT-3.*2291/.test(line),
  );
  assert.equal(lines.length, 8, "each with tool and lot");
  assert.ok(lines.some((line) => /crimp and pull samples.* AWG /.test(line)), "samples too");
  await picture(page, "bench-record");
  await accessible(page, "record");
  // The same on the command line.
  const table = run("show", "bench_record", `${shop}:${JOB}`, "--format", "csv").trim().split("\n");
  assert.equal(table.length, 9);
  assert.ok(table.slice(1).every((line) => /,CT-3,2291,/.test(line)), table[1]);
  await page.goto(`${url}#/${JOB}/bench/${MODULE}`);
  await page.waitForSelector(".acts");
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

// Its first line stands whole above the bar at the foot, without moving the page.
async function in_sight(page, what, why) {
  const [box, foot] = await page.evaluate((what) => {
    const range = document.createRange();
    range.selectNodeContents(document.querySelector(what));
    const first = range.getClientRects()[0];
    return [first.bottom, document.querySelector(".acts").getBoundingClientRect().top];
  }, what);
  assert.ok(box + 60 <= foot, `${why} is in sight: ${box} above ${foot}`);
}

async function rings_out(page, url) {
  await page.goto(`${url}#/${JOB}/bench/${MODULE}/ring`);
  await page.waitForSelector(".entry input");
  await picture(page, "bench-ring");
  await accessible(page, "ring-out");
  const { steps } = await ring(url, MODULE);
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
    await so(async () => {
      const now = await page.locator(".points .huge").allTextContents();
      return now[0] !== a || now[1] !== b;
    }, `goes on from ${a} ${b}: ${await text_of(page, ".item")}`);
  }
  await type("W0111");
  await page.waitForSelector(".verdict.bad");
  assert.match(await text_of(page, ".verdict"), /out of its limits: open/);
  await all_kept(page);
  await page.waitForSelector(".diagnosis li:has-text('W0111')");
  await in_sight(page, ".diagnosis li", "what the readings mean");
  assert.match(await text_of(page, ".diagnosis"), /ext reading/);
  await picture(page, "bench-diagnosis");
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
  const { steps } = await ring(url, MODULE);
  const readings = steps.map((step) => ({
    table: "bench_reading",
    row: {
      reading: `good-${step.step}`,
      module: MODULE,
      step: step.step,
      point_a: step.a,
      point_b: step.b,
      time: "2099-01-01T00:00:00Z",
      measured: step.measured,
      ...(step.high === null ? { open: true } : { ohm: step.expected ?? step.high }),
    },
  }));
  assert.equal((await add(url, readings)).refused.length, 0);
  now = await progress(url);
  assert.equal(now.bad, 0);
  assert.equal(now.good, now.steps);
  assert.ok(now.shippable_min > 0.9 * now.made_min, "it may leave the shop");
}

async function lengthen(url) {
  const table = await (await fetch(`${url}api/table?job=${JOB}&table=unit`)).json();
  const row = table.rows.find((one) => one.tag === "PSV");
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
}

async function counts_no_more_when_the_design_changes(url) {
  const before = await progress(url);
  await lengthen(url);
  const after = await progress(url);
  assert.ok(after.rebuilt > 0 && after.made_min < before.made_min, "longer wires are to be cut");
  assert.ok(after.earlier > 0 && after.good < before.good, "and measured");
  run("undo", `${shop}:${JOB}`);
  const undone = await progress(url);
  assert.deepEqual(undone, before, "a designer's undo takes no tick");
}

// What was read of another design is shown, and counts for nothing.
async function shows_an_earlier_design(page, url) {
  const before = await ring(url, MODULE);
  assert.ok(before.steps.every((step) => step.got), "all is read");
  await lengthen(url);
  const after = await ring(url, MODULE);
  const lost = after.steps.filter((step) => !step.got);
  assert.ok(lost.length > 0 && lost.length < after.steps.length, "those of the longer wires");
  const words = (step) => `${step.step} ${step.a} ${step.b}`;
  assert.deepEqual(after.steps.map(words), before.steps.map(words), "all words are as before");
  assert.equal((await progress(url)).earlier, lost.length);
  await page.goto(`${url}#/${JOB}/bench`);
  await page.waitForSelector(`.modules li:has-text("${MODULE}"):has-text("of an earlier design")`);
  await page.goto(`${url}#/${JOB}/bench/${MODULE}/ring`);
  await page.waitForSelector(".earlier");
  assert.match(await text_of(page, ".earlier"), /of an earlier design: .* does not count/);
  assert.equal((await text_of(page, ".points .huge >> nth=0")).trim(), lost[0].a, "it is to be read");
  await picture(page, "bench-earlier");
  await accessible(page, "a reading of an earlier design");
  run("undo", `${shop}:${JOB}`);
  const undone = await ring(url, MODULE);
  assert.ok(undone.steps.every((step) => step.got), "the design is as it was: they count again");
}

// All modules mated: measured as a module is.
async function rings_out_the_aircraft(page, url) {
  await page.goto(`${url}#/${JOB}/bench`);
  await page.locator(".modules li:has-text('all modules mated') >> text=ring out").click();
  await page.waitForSelector(".entry input");
  await picture(page, "bench-installed");
  await accessible(page, "ring-out of the aircraft");
  const { steps } = await ring(url, "installed");
  assert.ok(steps.length > 400);
  await page.click(".with");
  await page.fill('.saying input[name^="tool "]', "M-7");
  await page.click("text=so it is");
  const enter = async (text) => {
    await page.fill(".entry input", text);
    await page.keyboard.press("Enter");
  };
  const shows = (step) =>
    so(async () => {
      const now = await page.locator(".points .huge").allTextContents();
      return now[0] === step.a && now[1] === step.b;
    }, `${step.a} to ${step.b} is shown`);
  const first = steps.findIndex((step) => /^W\d+$/.test(step.wires));
  await enter(steps[first].wires);
  await shows(steps[first]);
  await enter(`${Math.round(1000 * steps[first].expected)}m`);
  await shows(steps[first + 1]);
  const bad = steps.findLast((step) => /^W\d+$/.test(step.wires));
  await enter(bad.wires);
  await shows(bad);
  await enter("open");
  await page.waitForSelector(".verdict.bad");
  await all_kept(page);
  await page.waitForSelector(`.diagnosis li:has-text("${bad.wires}")`, { timeout: 60000 });
  await in_sight(page, ".diagnosis li", "what the readings mean");
  await picture(page, "bench-installed-diagnosis");
  const rows = (await kept(url)).bench_reading.filter((row) => !row.module);
  assert.equal(rows.length, 2);
  assert.ok(rows.every((row) => row.tool === "M-7" && row.measured), "with the meter");
  const all = await (await fetch(`${url}api/bench/progress?job=${JOB}`)).json();
  assert.deepEqual(
    [all.installed.steps, all.installed.good, all.installed.bad, all.installed.earlier],
    [steps.length, 1, 1, 0],
  );
}

async function shows_on_other_screens(browser, url) {
  for (const [name, width, height] of [
    ["phone", 360, 740],
    ["upright", 820, 1180],
    ["desktop", 1600, 900],
  ]) {
    const context = await browser.newContext({ viewport: { width, height }, hasTouch: true });
    const page = await new_page(context);
    for (const [place, what] of [
      ["", ".modules li"],
      [`/${MODULE}`, ".acts"],
      [`/${MODULE}/ring`, ".entry input"],
      [`/${MODULE}/record`, ".record"],
      ["/installed", ".diagnosis li"],
    ]) {
      await page.goto(`${url}#/${JOB}/bench${place}`);
      await page.waitForSelector(what, { timeout: 60000 });
      await page.waitForTimeout(300);
      if (place === "/installed") {
        await page.click("summary:has-text('all steps')");
        await page.locator(".groups button:has-text('✗')").click();
        await page.evaluate(() => document.querySelector(".item").scrollTo(0, 0));
        await page.click("summary:has-text('all steps')");
        await page.evaluate(() => document.querySelector(".item").scrollTo(0, 0));
        await in_sight(page, ".diagnosis li", `what the readings mean (${name})`);
      }
      await picture(page, `bench-${name}${place.replace(/\//g, "-")}`);
      await accessible(page, `bench${place} on a ${name}`);
      await no_overhang(page, `bench${place} on a ${name}`);
    }
    if (name === "phone") {
      await page.goto(`${url}#/${JOB}/bench/${MODULE}`);
      await page.waitForSelector(".acts .undo, .with");
      if ((await page.locator(".acts .undo").count()) > 0) {
        await page.click(".acts .undo");
      }
      await page.click(".with");
      await picture(page, "bench-phone-tool");
      await no_overhang(page, "tool and lot on a phone");
    }
    assert.deepEqual(page.errors, [], `no error on a ${name}`);
    await context.close();
  }
}

// --- all of them ------------------------------------------------------------------------------

await with_browser(async (browser) => {
  take_jobs(JOB);
  const served = await serve();
  const context = await browser.newContext({ viewport: { width: 1180, height: 820 }, hasTouch: true });
  const first = await new_page(context);
  await sees_what_is_to_be_built(first, served.url);
  await ticks_with_the_desk(first, served.url);
  await says_tool_and_lot(first);
  await pulls_samples(first, served.url);
  const { page, back } = await goes_on_without_the_desk(first, context, served);
  const { url } = back;
  await sends_again_without_doubling(page, url);
  await has_a_record(page, url);
  await refuses_what_is_no_picture(url);
  await rings_out(page, url);
  await is_proven_by_another(url);
  await counts_no_more_when_the_design_changes(url);
  await shows_an_earlier_design(page, url);
  await rings_out_the_aircraft(page, url);
  await shows_on_other_screens(browser, url);
  run("check-shop", shop);
  assert.deepEqual([...first.errors, ...page.errors], [], "no error in a page's console");
});
