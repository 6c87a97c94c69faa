// One browser for all tests, kept off the network.
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import axe from "axe-core";
import { chromium } from "playwright-core";

export const root = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
export const dialwright = process.env.DIALWRIGHT ?? join(root, "target", "release", "dialwright");

const FLAGS = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync",
];

/** Runs `use` with a context of a browser that has a profile of its own. */
export async function launch(options = {}) {
  const profile = mkdtempSync(join(tmpdir(), "dialwright-browser-"));
  const context = await chromium.launchPersistentContext(profile, {
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    headless: true,
    args: FLAGS,
    viewport: { width: 1200, height: 900 },
    ...options,
  });
  return { context, close: async () => { await context.close(); rmSync(profile, { recursive: true, force: true, maxRetries: 5 }); } };
}

/** A page that notes what it asks for and what goes wrong on it. */
export async function watched(context, url) {
  const page = await context.newPage();
  const errors = [];
  const requests = [];
  page.on("console", (message) => { if (["error", "warning"].includes(message.type())) errors.push(message.text()); });
  page.on("pageerror", (error) => errors.push(String(error)));
  page.on("request", (request) => { if (request.url() !== url) requests.push(request.url()); });
  await page.goto(url);
  return { page, errors, requests };
}

/** Builds a design into `folder`; findings are no failure. */
export function build(file, folder) {
  try {
    execFileSync(dialwright, ["build", file, "--out", folder], { stdio: "pipe" });
  } catch (error) {
    if (error.status !== 1) throw error;
  }
}

/** What axe-core's rules find amiss on a page, in words; evaluated from outside, so that the page's policy holds. */
export async function accessible(page) {
  await page.evaluate(axe.source);
  const found = await page.evaluate(() => globalThis.axe.run(document));
  return found.violations.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html).join(" ").slice(0, 400)}`);
}

/**
 * How far two PNGs differ, each given as base64, the rectangle to look at (or null for all of it), and how many times
 * the dial's width it shows: the mean difference of the channels, and the share of pixels more than 64 of 255 off.
 */
export const difference = (page, one, other) => page.evaluate(async ([one, other]) => {
  const pixels = async ([png, rectangle, room]) => {
    const bytes = Uint8Array.from(atob(png), (letter) => letter.charCodeAt(0));
    const picture = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
    const [x, y, wide, high] = rectangle ?? [0, 0, picture.width, picture.height];
    const cut = [x + wide * (1 - 1 / room) / 2, y + high * (1 - 1 / room) / 2, wide / room, high / room];
    const context = new OffscreenCanvas(240, 240).getContext("2d");
    context.imageSmoothingQuality = "high";
    context.drawImage(picture, ...cut, 0, 0, 240, 240);
    return context.getImageData(0, 0, 240, 240).data;
  };
  const [left, right] = [await pixels(one), await pixels(other)];
  let [sum, far] = [0, 0];
  for (let at = 0; at < left.length; at += 4) {
    const off = [0, 1, 2].map((channel) => Math.abs(left[at + channel] - right[at + channel]));
    sum += off[0] + off[1] + off[2];
    if (Math.max(...off) > 64) far += 1;
  }
  return { mean: sum / (left.length * 0.75), far: far / (left.length / 4) };
}, [one, other]);
