// viewer.html in a real browser: by key, by pointer, by touch, small and large, read aloud, and against resvg's pixels.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import { build, dialwright, launch, root, watched, accessible, difference } from "./browser.mjs";

const CREW = "examples/saltmarsh/crew.dial";
const TOLL = "examples/saltmarsh/toll.dial";
const folder = mkdtempSync(join(tmpdir(), "dialwright-viewer-"));
const page_of = (name) => pathToFileURL(join(folder, name, "viewer.html")).href;
let browser;

before(async () => {
  build(join(root, CREW), join(folder, "crew"));
  build(join(root, TOLL), join(folder, "toll"));
  browser = await launch();
});
after(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

/** Opens a page, runs `use`, and holds it to be quiet: no error, and nothing asked for. */
async function on(name, use) {
  const { page, errors, requests } = await watched(browser.context, page_of(name));
  await use(page);
  assert.deepEqual(errors, []);
  assert.deepEqual(requests, []);
  await page.close();
}

const told = (page) => page.locator("[data-told]").textContent();
const value = (page, turn = 0) => page.locator(`[data-slider="${turn}"]`).getAttribute("aria-valuetext");
const settled = (page, stop) =>
  page.waitForFunction((now) => document.querySelector("[data-slider]").getAttribute("aria-valuenow") === now &&
    document.querySelector("[data-told]").textContent.startsWith(`stop ${now} of `), String(stop));
const side = (page) => page.locator("[data-layer]").first().getAttribute("data-side");

test("keys turn it through every stop, and each is announced with its margin", () => on("crew", async (page) => {
  const slider = page.locator('[role="slider"]');
  assert.equal(await slider.getAttribute("aria-valuemax"), "10");
  for (let stop = 1; stop <= 10; stop += 1) {
    await settled(page, stop);
    assert.match(await value(page), new RegExp(`^stop ${stop} of 10; crew reads ${stop - 1} through peep, margin \\d\\.\\d\\dmm$`));
    assert.equal(await told(page), await value(page));
    await slider.press("ArrowRight");
  }
  await settled(page, 1);
  await slider.press("End");
  await settled(page, 10);
  await slider.press("Home");
  await settled(page, 1);
  await page.getByRole("button", { name: "Next stop" }).click();
  await settled(page, 2);
}));

test("dragging turns it through every stop, and it comes to rest at one", () => on("crew", async (page) => {
  const box = await page.locator("[data-stage]").boundingBox();
  const at = (degrees) => {
    const by = (degrees * Math.PI) / 180;
    return [box.x + box.width / 2 + 0.35 * box.width * Math.sin(by), box.y + box.height / 2 - 0.35 * box.height * Math.cos(by)];
  };
  for (let stop = 0; stop < 10; stop += 1) {
    await page.mouse.move(...at(90 + 36 * stop));
    await page.mouse.down();
    // A few degrees off the next stop: it must go there by itself. The cover is held up, and what lies below follows the hand.
    for (const by of [12, 24, 36 + 9]) await page.mouse.move(...at(90 + 36 * stop + by));
    await page.mouse.up();
    await settled(page, 10 - stop);
  }
}));

test("a finger turns it, and two magnify", async () => {
  const touch = await launch({ hasTouch: true, viewport: { width: 360, height: 740 } });
  const { page, errors } = await watched(touch.context, page_of("crew"));
  const box = await page.locator("[data-stage]").boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  const session = await touch.context.newCDPSession(page);
  const send = (type, ...points) => session.send("Input.dispatchTouchEvent", { type, touchPoints: points.map(([x, y], id) => ({ x, y, id })) });
  await send("touchStart", [x + 100, y]);
  for (const by of [10, 20, 30, 36]) {
    await send("touchMove", [x + 100 * Math.cos((by * Math.PI) / 180), y + 100 * Math.sin((by * Math.PI) / 180)]);
  }
  await send("touchEnd");
  await settled(page, 10);
  await send("touchStart", [x - 40, y], [x + 40, y]);
  await send("touchMove", [x - 80, y], [x + 80, y]);
  await send("touchEnd");
  assert.equal(await page.locator("[data-stage]").evaluate((stage) => stage.style.width), "200%");
  assert.deepEqual(errors, []);
  await touch.close();
});

test("it is laid apart, seen through, turned over, magnified and freed of a layer", () => on("crew", async (page) => {
  const place = () => page.locator('[data-layer="1"]').evaluate((layer) => layer.getBoundingClientRect().top);
  const together = await place();
  await page.locator('[data-view="apart"]').fill("1");
  const gap = await page.locator(".stage").evaluate((stage) => {
    const [base, cover] = [...stage.querySelectorAll(".layer")].map((layer) => layer.getBoundingClientRect());
    return [cover.bottom - base.top, base.height / cover.width];
  });
  assert.ok(Math.abs(gap[0]) < 2 && Math.abs(gap[1] - 0.5) < 0.01, `clear of each other, at 60 degrees: ${gap}`);
  await page.locator('[data-view="apart"]').fill("0");
  assert.equal(await place(), together);
  await page.locator('[data-view="through"]').fill("0.5");
  assert.deepEqual(await page.locator(".layer").evaluateAll((all) => all.map((layer) => layer.style.opacity)), ["1", "0.5"]);
  await page.getByRole("button", { name: "Seen from the back" }).click();
  await page.waitForFunction(() => document.querySelector("[data-layer]").dataset.side === "back");
  await page.locator('[data-view="zoom"]').fill("3");
  const grown = await page.locator("[data-frame]").evaluate((frame) => frame.scrollWidth / frame.clientWidth);
  assert.ok(Math.abs(grown - 3) < 0.01, `${grown}`);
  await page.getByRole("checkbox", { name: "cover" }).uncheck();
  assert.equal(await page.locator('[data-layer="1"]').isVisible(), false);
}));

test("with reduced motion it is there at once", () => on("crew", async (page) => {
  await page.emulateMedia({ reducedMotion: "reduce" });
  const at_once = await page.evaluate(() => {
    document.querySelector('[data-step="1"]').click();
    return document.querySelector("[data-told]").textContent;
  });
  assert.match(at_once, /^stop 2 of 10;/);
}));

test("a link leads to a stop, between stops nothing is said to read, and it plays by itself", () => on("crew", async (page) => {
  await page.evaluate(() => { location.hash = "#stop-4"; });
  await settled(page, 4);
  const box = await page.locator("[data-stage]").boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x + 100, y);
  await page.mouse.down();
  await page.mouse.move(x + 100 * Math.cos(0.3), y + 100 * Math.sin(0.3));
  await page.waitForFunction(() => document.querySelector("[data-stands]").textContent === "between stops 3 and 4 of 10");
  assert.equal(await value(page), "between stops 3 and 4 of 10");
  await page.mouse.up();
  await settled(page, 4);
  await page.getByRole("button", { name: "Play" }).click();
  await settled(page, 5);
  await page.getByRole("button", { name: "Play" }).click();
  await page.waitForFunction(() => location.hash === "#stop-5");
}));

test("true size is true to the ruler, the wheel magnifies where one works, and the picture is saved", () => on("crew", async (page) => {
  await page.getByRole("button", { name: "True size" }).click();
  const [across, bar] = await page.evaluate(() => {
    const { reach } = JSON.parse(document.querySelector("[data-facts]").textContent);
    const ruler = document.querySelector("[data-ruler]");
    return [document.querySelector("[data-stage]").clientWidth / (2 * reach), ruler.getBoundingClientRect().width / parseFloat(ruler.textContent)];
  });
  // A millimetre is 96 / 25.4 px (CSS Values and Units 4).
  for (const found of [across, bar]) assert.ok(Math.abs(found - 96 / 25.4) < 0.03, `${found}`);
  await page.getByRole("button", { name: "Whole dial" }).click();
  await page.locator("[data-frame]").focus();
  await page.locator("[data-frame]").hover();
  await page.mouse.wheel(0, -400);
  await page.waitForFunction(() => Number(document.querySelector('[data-view="zoom"]').value) > 1.5);
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save picture" }).click()]);
  assert.equal(download.suggestedFilename(), "Saltmarsh-Ferry-crew-aboard-stop-1.png");
  const bytes = readFileSync(await download.path());
  assert.equal(bytes.subarray(1, 4).toString(), "PNG");
  assert.deepEqual([bytes.readUInt32BE(16), bytes.readUInt32BE(20)], [1600, 1600]);
}));

test("two turns have a slider each, and a stop's picture takes both there", () => on("toll", async (page) => {
  await page.locator('[data-slider="1"]').press("ArrowRight");
  await page.waitForFunction(() => document.querySelector("[data-told]").textContent.startsWith("stop 1 of 10 and stop 2 of 10; tens reads 1"));
  assert.match(await value(page, 0), /^stop 1 of 10; tens reads 1/);
  await page.locator('[data-goes="0:4 1:7"]').click();
  await page.waitForFunction(() => document.querySelector("[data-told]").textContent.startsWith("stop 5 of 10 and stop 8 of 10;"));
  assert.equal(await page.locator("[aria-current]").getAttribute("data-goes"), "0:4 1:7");
}));

test("a chosen finding shows its line and marks its place", () => {
  const file = join(folder, "thin.dial");
  writeFileSync(file, readFileSync(join(root, "examples/first.dial"), "utf8").replace("polar(20mm", "polar(23.8mm"));
  build(file, join(folder, "thin"));
  return on("thin", async (page) => {
    const finding = page.locator("[data-finding][data-spot]").first();
    await finding.click();
    assert.equal(await finding.getAttribute("aria-expanded"), "true");
    assert.match(await page.locator(".source:not([hidden])").textContent(), /thin\.dial:\d+:\d+/);
    const [layer, x, y] = (await finding.getAttribute("data-spot")).split(" ").map(Number);
    const pin = await page.locator("[data-pin]").boundingBox();
    const stage = await page.locator("[data-stage]").boundingBox();
    const reach = await page.evaluate(() => JSON.parse(document.querySelector("[data-facts]").textContent).reach);
    assert.ok(Math.abs(pin.x + pin.width / 2 - (stage.x + stage.width / 2 * (1 + x / reach))) < 1, `layer ${layer}`);
    assert.ok(Math.abs(pin.y + pin.height / 2 - (stage.y + stage.height / 2 * (1 - y / reach))) < 1);
  });
});

test("axe-core finds nothing amiss, light and dark, wide and at 360 px, where nothing is cut off", () => on("toll", async (page) => {
  for (const [width, colorScheme] of [[1200, "light"], [1200, "dark"], [360, "light"]]) {
    await page.setViewportSize({ width, height: 800 });
    await page.emulateMedia({ colorScheme });
    assert.deepEqual(await accessible(page), []);
    const [inner, outer] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    assert.ok(inner <= outer, `${inner} px on ${outer}`);
  }
}));

test("hostile names are text, whatever they hold", () => {
  const file = join(folder, "hostile.dial");
  const names = [`<script>document.title="x"</script>`, "</script><img src=x onerror=alert(1)>", "שלום עולם", "'&amp;`$" + "{1}", "long ".repeat(60)];
  // A brace of a text begins a value, unless a backslash stands before it.
  const labels = names.map((name) => JSON.stringify(name).replaceAll("{", "\\{")).join(", ");
  const text = readFileSync(join(root, "examples/first.dial"), "utf8")
    .replace('"Points, 0 to 9"', JSON.stringify(`<b>"Points"</b> ${"very ".repeat(80)}`))
    .replace("labels 0 to 9", `labels [${labels}]; height 0.05mm`);
  writeFileSync(file, text);
  build(file, join(folder, "hostile"));
  return on("hostile", async (page) => {
    assert.equal(await page.locator("b, img, main script:not([type])").count(), 0);
    assert.match(await page.locator("h1").textContent(), /^<b>"Points"<\/b> very/);
    assert.ok((await value(page)).includes(names[0].trim()), await value(page));
    await page.setViewportSize({ width: 360, height: 800 });
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
  });
});

test("the viewer at each stop is the picture that resvg draws of that stop", () => on("crew", async (page) => {
  for (const ending of ["svg", "png"]) {
    execFileSync(dialwright, ["turn", join(root, CREW), "--picture", join(folder, `stops.${ending}`)], { stdio: "pipe" });
  }
  const sheet = await watched(browser.context, pathToFileURL(join(folder, "stops.svg")).href);
  // The middle of each dial, in px of the sheet at 96 to the inch; its PNG has 8 to the millimetre.
  const middles = await sheet.page.evaluate(() => [...document.querySelectorAll('g[transform*="scale"]')].map((dial) => {
    const place = dial.getScreenCTM();
    const page = document.documentElement.getScreenCTM();
    return [(place.e - page.e) / page.a, (place.f - page.f) / page.d];
  }));
  assert.equal(middles.length, 10);
  await page.emulateMedia({ colorScheme: "light" });
  await page.evaluate(() => {
    document.documentElement.style.setProperty("--bed", "#fff");
    // The sheet has neither figure nor shadow, and one width of edge.
    document.querySelectorAll("image, [stroke-opacity]").forEach((drawn) => { drawn.style.display = "none"; });
  });
  const stops = readFileSync(join(folder, "stops.png")).toString("base64");
  const placed = page.locator("[data-stage]");
  await placed.scrollIntoViewIfNeeded();
  const box = await placed.boundingBox();
  const worst = { mean: 0, far: 0 };
  for (let stop = 0; stop < 10; stop += 1) {
    await settled(page, stop + 1);
    await page.waitForFunction(() => !document.querySelector("[data-stage]").hasAttribute("data-moving"));
    const stage = (await page.screenshot({ clip: box })).toString("base64");
    const [x, y] = middles[stop];
    const found = await difference(sheet.page, [stage, null, 1.06], [stops, [8 * (x - 20), 8 * (y - 20), 320, 320], 1]);
    worst.mean = Math.max(worst.mean, found.mean);
    worst.far = Math.max(worst.far, found.far);
    await page.locator('[role="slider"]').press("ArrowRight");
  }
  console.log(`viewer against resvg: mean difference ${worst.mean.toFixed(2)} of 255, ${(100 * worst.far).toFixed(2)} % of pixels far off`);
  assert.ok(worst.mean < 3 && worst.far < 0.01, JSON.stringify(worst));
  await sheet.page.close();
}));

test("the page is small, and turning is smooth", () => on("toll", async (page) => {
  const bytes = statSync(join(folder, "toll", "viewer.html")).size;
  const { spent, steps, stop } = await page.evaluate(async () => {
    const [times, turns] = [[], []];
    const slider = document.querySelector("[data-slider]");
    const key = () => slider.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight" }));
    const [low] = document.querySelectorAll("[data-layer]");
    const turned = () => Number(/rotate\((-?[\d.e-]+)deg\)/.exec(low.style.transform)[1]);
    for (let until = performance.now() + 1500; performance.now() < until;) {
      if (times.length % 10 === 0) key();
      times.push(await new Promise(requestAnimationFrame));
      turns.push(turned());
    }
    const between = (values) => values.slice(1).map((value, at) => value - values[at]);
    return {
      spent: between(times).sort((a, b) => a - b),
      steps: between(turns).map(Math.abs).filter((step) => step > 0).sort((a, b) => a - b),
      stop: 360 / Number(slider.getAttribute("aria-valuemax")),
    };
  });
  const middle = (values) => values[Math.floor(values.length / 2)];
  console.log(`viewer.html of toll.dial: ${bytes} bytes; ${(1000 / middle(spent)).toFixed(0)} frames a second while it turns, one in twenty slower than ${(1000 / spent[Math.floor(spent.length * 0.95)]).toFixed(0)}`);
  assert.ok(bytes < 1_500_000);
  // A screen shows sixty pictures a second; a busy machine still draws fifteen, and each turns the dial by a part of a stop.
  assert.ok(middle(spent) < 1000 / 15, `${middle(spent)} ms from picture to picture`);
  assert.ok(steps.length > 10 && middle(steps) < stop / 2, `${steps.length} steps of ${middle(steps)} degrees, stops are ${stop} apart`);
}));

test("on paper stand the dial, every stop and the findings with their lines", () => on("crew", async (page) => {
  await page.emulateMedia({ media: "print" });
  const seen = (what) => page.locator(what).first().isVisible();
  assert.deepEqual(await Promise.all(["[data-stage]", ".stops svg", ".source", ".source pre"].map(seen)), [true, true, true, true]);
  assert.deepEqual(await Promise.all([".turn", ".views"].map(seen)), [false, false]);
  assert.equal(await side(page), "front");
}));
