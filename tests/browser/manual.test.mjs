// The illustrated reference in a real browser: it asks for nothing, is found by axe-core to be accessible, and is as wide as
// its window, on a phone and on a large screen, light and dark.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import test from "node:test";
import { pathToFileURL } from "node:url";
import { accessible, dialwright, launch, watched } from "./browser.mjs";

const folder = mkdtempSync(join(tmpdir(), "dialwright-manual-"));
const file = join(folder, "reference.html");
execFileSync(dialwright, ["manual", "--page", file], { stdio: "pipe" });
test.after(() => rmSync(folder, { recursive: true, force: true }));

for (const [width, colorScheme] of [[360, "light"], [1400, "dark"]]) {
  test(`the manual at ${width} px, ${colorScheme}`, async () => {
    const { context, close } = await launch({ viewport: { width, height: 900 }, colorScheme });
    try {
      const { page, errors, requests } = await watched(context, pathToFileURL(file).href);
      assert.deepEqual([errors, requests], [[], []]);
      assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), width, "nothing stands out sideways");
      assert.deepEqual(await accessible(page), []);
      const counted = await page.evaluate(() => ({
        landmarks: ["header", "nav", "main", "footer"].filter((name) => document.querySelectorAll(`body > ${name}`).length === 1),
        titles: document.querySelectorAll("h1").length,
        // Every entry of the contents leads to its place.
        led: [...document.querySelectorAll("nav a")].every((link) => document.querySelector(link.hash)),
        pictures: document.querySelectorAll("article svg").length,
      }));
      assert.deepEqual(counted.landmarks, ["header", "nav", "main", "footer"]);
      assert.deepEqual([counted.titles, counted.led, counted.pictures > 90], [1, true, true]);
    } finally {
      await close();
    }
  });
}
