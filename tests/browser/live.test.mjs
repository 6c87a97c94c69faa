// The live page in a real browser: it follows the file, shows what is wrong, tries values and writes them back, and
// answers nobody else.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, renameSync, rmSync, unlinkSync, writeFileSync } from "node:fs";
import { connect } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { setTimeout as pause } from "node:timers/promises";
import { accessible, dialwright, launch, root, watched } from "./browser.mjs";

const folder = mkdtempSync(join(tmpdir(), "dialwright-live-"));
const crew = join(folder, "crew.dial");
const original = readFileSync(join(root, "examples/saltmarsh/crew.dial"), "utf8");
let browser;
let served;

/** Starts `dialwright view` and waits for the address that it tells. */
async function serve(...more) {
  const child = spawn(dialwright, ["view", "--stay", ...more], { stdio: ["ignore", "pipe", "pipe"] });
  let [out, err] = ["", ""];
  child.stderr.on("data", (text) => { err += text; });
  const ended = new Promise((done) => child.on("exit", (code) => done({ code, out, err })));
  const address = new Promise((found) => child.stdout.on("data", (text) => {
    out += text;
    const [told] = out.match(/http:\/\/127\.0\.0\.1:\d+\/\?key=\w+/) ?? [];
    if (told) found(told);
  }));
  const first = await Promise.race([address, ended]);
  return { child, ended, address: first, port: typeof first === "string" ? Number(new URL(first).port) : undefined };
}

before(async () => {
  cpSync(join(root, "examples/saltmarsh/shop.dial"), join(folder, "shop.dial"));
  writeFileSync(crew, original);
  [browser, served] = await Promise.all([launch(), serve(crew)]);
});
after(async () => {
  await browser?.close();
  served?.child.kill("SIGKILL");
  rmSync(folder, { recursive: true, force: true });
});

/** Opens the page; `use` gets it once the picture is there. Nothing may be asked for but from the page's own address. */
async function on(use) {
  const { page, errors, requests } = await watched(browser.context, served.address);
  await page.waitForSelector("[data-viewer]");
  await use(page);
  assert.deepEqual(errors, []);
  assert.deepEqual(requests.filter((url) => new URL(url).origin !== new URL(served.address).origin), []);
  await page.close();
}
const title = (page, words) => page.waitForFunction((words) => document.querySelector("h1")?.textContent.includes(words), words);
const write = (change) => writeFileSync(crew, change(original));

test("a save changes the picture, in every tab, and leaves the dial where it was turned", () => on((page) => on(async (other) => {
  await page.locator("[data-slider]").press("ArrowRight");
  await page.waitForFunction(() => document.querySelector("[data-told]").textContent.startsWith("stop 2 of 10;"));
  write((text) => text.replace("crew aboard", "hands aboard"));
  await Promise.all([title(page, "hands aboard"), title(other, "hands aboard")]);
  assert.equal(await page.locator("[data-slider]").getAttribute("aria-valuenow"), "2");
  assert.equal(await page.title(), "Saltmarsh Ferry: hands aboard");
  write((text) => text);
  await Promise.all([title(page, "crew aboard"), title(other, "crew aboard")]);
})));

test("errors come beside the last good picture, with their lines, and go", () => on(async (page) => {
  write((text) => text.replace("height: 5mm", "height: 5"));
  await page.waitForSelector("#errors:not([hidden])");
  assert.match(await page.locator("#errors").textContent(), /crew\.dial:\d+:\d+[\s\S]*height: 5/);
  assert.equal(await page.locator("#state").textContent(), "cannot be built: 1 error");
  assert.ok(await page.locator("[data-viewer] h1").isVisible());
  assert.deepEqual(await accessible(page), []);
  const fresh = await browser.context.newPage();
  await fresh.goto(served.address);
  await fresh.waitForSelector("[data-viewer] h1");
  assert.ok(await fresh.locator("#errors").isVisible());
  await fresh.close();
  write((text) => text);
  await page.waitForSelector("#errors", { state: "hidden" });
  assert.match(await page.locator("#state").textContent(), /^8 dials: .* read right at .*; hold; fit;/);
}));

test("a file that is removed is said to be gone, and followed again once it is back", () => on(async (page) => {
  unlinkSync(crew);
  await page.waitForFunction(() => document.querySelector("#state").textContent.includes("there is no file"));
  assert.ok(await page.locator("[data-viewer] h1").isVisible());
  writeFileSync(join(folder, "new"), original.replace("crew aboard", "back aboard"));
  renameSync(join(folder, "new"), crew);
  await title(page, "back aboard");
  write((text) => text);
  await title(page, "crew aboard");
}));

test("what the file uses is followed as well", () => on(async (page) => {
  const shop = readFileSync(join(folder, "shop.dial"), "utf8");
  const before = await page.locator("#picture").innerHTML();
  writeFileSync(join(folder, "shop.dial"), shop.replace(/colour #[0-9a-f]{6}/, "colour #123456"));
  const changed = () => page.waitForFunction((before) => document.querySelector("#picture").innerHTML !== before, before, { timeout: 5000 });
  if (!shop.includes("colour #")) writeFileSync(join(folder, "shop.dial"), shop.replace(/stock birch \{/, "stock birch {\n  colour #123456"));
  await changed();
  writeFileSync(join(folder, "shop.dial"), shop);
}));

test("a slider tries a value at once, and writes it back with the rest left as it was", () => on(async (page) => {
  const knob = page.locator('[data-knob="across"]');
  const writes = knob.locator("[data-writes]");
  assert.ok(await writes.isDisabled());
  const wide = () => page.locator('[data-stage]').evaluate((stage) => stage.clientWidth);
  const before = await wide();
  await knob.locator("input").fill("56");
  await page.waitForFunction(() => JSON.parse(document.querySelector("[data-facts]").textContent).reach === 29.68);
  // What is smaller is seen to be smaller, and what is not written is said to be.
  assert.ok(Math.abs((await wide()) / before - 56 / 60) < 0.01);
  assert.equal(await page.locator("#tried span").textContent(), "Shown but not written: across = 56mm.");
  await knob.getByRole("button", { name: "Reset" }).click();
  await page.waitForFunction(() => JSON.parse(document.querySelector("[data-facts]").textContent).reach === 31.8);
  assert.equal(await knob.locator("input").inputValue(), "60");
  assert.ok(await page.locator("#tried").isHidden());
  await knob.locator("input").fill("64");
  await page.waitForFunction(() => JSON.parse(document.querySelector("[data-facts]").textContent).reach === 33.92);
  assert.equal(readFileSync(crew, "utf8"), original);
  await writes.click();
  await page.waitForFunction(() => document.querySelector("#params > p").textContent === "across = 64mm was written into crew.dial");
  assert.equal(readFileSync(crew, "utf8"), original.replace("length = 60mm", "length = 64mm"));
  await page.waitForFunction(() => document.querySelector('[data-knob="across"]').dataset.value === "64mm");
  write((text) => text);
  await page.waitForFunction(() => document.querySelector('[data-knob="across"]').dataset.value === "60mm");
}));

test("nothing is written over a change that the page has not shown, nor without the token", () => on(async (page) => {
  const seen = await page.locator('[data-knob="across"]').getAttribute("data-digest");
  const post = (token, wish) => page.evaluate(async ([token, wish]) => {
    const headers = { "x-dialwright-token": token ?? document.querySelector('meta[name="token"]').content };
    const reply = await fetch("/write", { method: "POST", headers, body: JSON.stringify(wish) });
    return [reply.status, await reply.text()];
  }, [token, wish]).catch((error) => [String(error)]);
  const other = original.replace("how many", "How many").replace("How many are aboard", "So many are aboard");
  writeFileSync(crew, other);
  const clash = await post(null, { param: "across", value: "64mm", seen });
  assert.equal(clash[0], 409);
  assert.match(clash[1], /^nothing was written: the file has changed meanwhile/);
  assert.equal((await post("guessed", { param: "across", value: "64mm", seen }))[0], 403);
  write((text) => text);
  assert.equal((await post(null, { param: "across", value: "64mm } layer x", seen }))[0], 409);
  assert.equal((await post(null, { param: "across", value: "640mm", seen }))[0], 409);
  assert.equal(readFileSync(crew, "utf8"), original);
  // The browser itself notes refused requests as errors.
}).catch((error) => { if (!/Failed to load resource/.test(error.message)) throw error; }));

test("boards and setups are leafed through", () => on(async (page) => {
  await page.locator("#boards summary").click();
  await page.waitForSelector(".setup img");
  const shown = () => page.locator(".setup:not([hidden])");
  assert.match(await shown().locator("figcaption").textContent(), /^Board 1 of 1, birch, setup 1 of 2/);
  await page.getByRole("button", { name: "Next setup" }).click();
  assert.match(await shown().locator("figcaption").textContent(), /setup 2 of 2/);
  await page.waitForFunction(() => document.querySelector(".setup:not([hidden]) img").naturalWidth > 0);
  assert.deepEqual(await accessible(page), []);
  await page.setViewportSize({ width: 360, height: 740 });
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
}));

/** The status line of an answer to a request that no browser would send. */
const raw = (lines) => new Promise((done, failed) => {
  const socket = connect(served.port, "127.0.0.1", () => socket.write(`${lines.join("\r\n")}\r\n\r\n`));
  let answer = "";
  socket.on("data", (text) => { answer += text; socket.end(); });
  socket.on("close", () => done(answer.split("\r\n")[0]));
  socket.on("error", () => (answer ? done(answer.split("\r\n")[0]) : failed(new Error("no answer"))));
});

test("foreign hosts, ways out of the folder and huge headers are refused", async () => {
  const own = `Host: 127.0.0.1:${served.port}`;
  assert.match(await raw(["GET / HTTP/1.1", own]), /403/);
  const host = `${own}\r\nCookie: dialwright-${served.port}=${new URL(served.address).searchParams.get("key")}`;
  assert.match(await raw(["GET / HTTP/1.1", host]), /200/);
  assert.match(await raw(["GET / HTTP/1.1", "Host: dial.example"]), /421/);
  assert.match(await raw(["GET / HTTP/1.1", `Host: localhost:${served.port + 1}`]), /421/);
  assert.match(await raw(["GET / HTTP/1.0"]), /421/);
  assert.match(await raw(["GET /state HTTP/1.1", host, "Origin: http://dial.example"]), /403/);
  for (const path of ["/../crew.dial", "/crew.dial", "/%2e%2e/shop.dial", "//etc/passwd", "/viewer.css/../shop.dial"]) {
    assert.match(await raw([`GET ${path} HTTP/1.1`, host]), /404|400/, path);
  }
  assert.match(await raw(["GET / HTTP/1.1", host, `X-Big: ${"x".repeat(20_000)}`]), /431/);
  assert.match(await raw(["GET / HTTP/1.1", host, `X-Big: ${"x".repeat(2_000_000)}`]), /431/);
  assert.match(await raw(["PUT / HTTP/1.1", host, "Content-Length: 0"]), /405/);
});

test("a port that is taken is said to be, and Ctrl-C ends it with tabs open", async () => {
  const second = await serve(crew, "--port", String(served.port));
  const { code, err } = await second.ended;
  assert.equal(code, 2);
  assert.match(err, new RegExp(`port ${served.port} is taken by another program`));
  const third = await serve(crew);
  const page = await browser.context.newPage();
  await page.goto(third.address);
  await page.waitForSelector("[data-viewer]");
  const since = performance.now();
  third.child.kill("SIGINT");
  const end = await third.ended;
  assert.equal(end.code, 0, end.err);
  assert.match(end.out, /stopped/);
  assert.ok(performance.now() - since < 3000);
  await page.waitForFunction(() => document.querySelector("#state").textContent.includes("stopped"));
  await page.close();
});

test("from a save to the new picture", () => on(async (page) => {
  const times = [];
  for (let turn = 0; turn < 21; turn += 1) {
    const words = `turn ${turn}`;
    const shown = title(page, words);
    await pause(30);
    const since = performance.now();
    write((text) => text.replace("crew aboard", words));
    await shown;
    times.push(performance.now() - since);
  }
  times.sort((a, b) => a - b);
  console.log(`from save to new picture: median ${times[10].toFixed(0)} ms, slowest ${times[20].toFixed(0)} ms`);
  write((text) => text);
  await title(page, "crew aboard");
}));
