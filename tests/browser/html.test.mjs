// Every page that is written, by html-validate against the HTML standard (its preset of that name): viewers, run sheets, a
// coupon's sheet, the illustrated reference, and the live page as it is served and once its script has filled it. Those that no
// other test opens are asked by axe-core too whether all can read them.
import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import { HtmlValidate, StaticConfigLoader } from "html-validate";
import { accessible, build, dialwright, launch, root, watched } from "./browser.mjs";

const folder = mkdtempSync(join(tmpdir(), "dialwright-html-"));
const standard = new HtmlValidate(new StaticConfigLoader({ root: true, extends: ["html-validate:standard"] }));
const EXAMPLES = ["first", "saltmarsh/crew", "saltmarsh/toll", "saltmarsh/lantern", "saltmarsh/weather"];
let browser;

before(async () => {
  for (const example of EXAMPLES) build(join(root, "examples", `${example}.dial`), join(folder, example));
  const shop = join(root, "examples/saltmarsh/shop.dial");
  execFileSync(dialwright, ["coupon", shop, "--stock", "birch", "--out", join(folder, "coupon")], { stdio: "pipe" });
  execFileSync(dialwright, ["manual", "--page", join(folder, "reference.html")], { stdio: "pipe" });
  browser = await launch();
});
after(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

/** What is not as the standard has it, in words. */
async function faults(text) {
  const { results } = await standard.validateString(text);
  return results.flatMap(({ messages }) => messages.map(({ line, ruleId, message }) => `${line}: ${ruleId}: ${message}`));
}

test("the validator finds what is wrong", async () => {
  const text = '<!DOCTYPE html><html lang="en"><head><title>a</title></head><body><ul><div>b</div></ul></body></html>';
  assert.equal((await faults(text)).length, 1);
});

test("written pages are as the standard has them", async () => {
  const written = readdirSync(folder, { recursive: true }).filter((name) => name.endsWith(".html"));
  assert.ok(written.length > 2 * EXAMPLES.length, written.join(", "));
  for (const page of written) {
    assert.deepEqual(await faults(readFileSync(join(folder, page), "utf8")), [], page);
  }
});

test("the live page is as the standard has it, as served and as shown", async () => {
  const child = spawn(dialwright, ["view", "--stay", join(root, "examples/first.dial")], { stdio: ["ignore", "pipe", "ignore"] });
  try {
    let out = "";
    const address = await new Promise((found, failed) => {
      child.on("exit", () => failed(new Error(`it ended: ${out}`)));
      child.stdout.on("data", (text) => {
        out += text;
        const [told] = out.match(/http:\/\/127\.0\.0\.1:\d+\/\?key=\w+/) ?? [];
        if (told) found(told);
      });
    });
    const { origin, port, searchParams } = new URL(address);
    const served = await fetch(origin, { headers: { Cookie: `dialwright-${port}=${searchParams.get("key")}` } });
    assert.equal(served.status, 200);
    assert.deepEqual(await faults(await served.text()), []);
    const page = await browser.context.newPage();
    await page.goto(address);
    await page.waitForSelector("[data-viewer]");
    // A browser writes a document without the line that says what it is.
    assert.deepEqual(await faults(`<!DOCTYPE html>${await page.evaluate(() => document.documentElement.outerHTML)}`), []);
    await page.close();
  } finally {
    child.kill("SIGKILL");
  }
});

for (const page of ["saltmarsh/crew/run-sheet.html", "saltmarsh/lantern/family.html", "coupon/coupon.html"]) {
  test(`${page} can be read by all`, async () => {
    const shown = await watched(browser.context, pathToFileURL(join(folder, page)).href);
    assert.deepEqual(shown.errors, []);
    assert.deepEqual(await accessible(shown.page), []);
    await shown.page.close();
  });
}
