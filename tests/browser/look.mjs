// Runs in Node: opens a page in Chromium, at some widths, light and dark, and says how wide it is and what axe finds.
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";

const [modules, chromium, page, answers, pictures, ...widths] = process.argv.slice(2);
const require = createRequire(`${modules}/`);
const browser = await require("playwright-core").chromium.launch({ executablePath: chromium, args: ["--no-sandbox"] });
const context = await browser.newContext({ offline: true });
const tab = await context.newPage();
const asked = [];
tab.on("request", (request) => asked.push(request.url()));
await tab.goto(`file://${page}`);
const scripts = await tab.locator("script").count();
await tab.evaluate(readFileSync(require.resolve("axe-core/axe.min.js"), "utf8"));
const found = [];
for (const width of widths.map(Number))
  for (const colorScheme of ["light", "dark"]) {
    await tab.setViewportSize({ width, height: 800 });
    await tab.emulateMedia({ colorScheme });
    await tab.screenshot({ path: `${pictures}/${width}-${colorScheme}.png` });
    const sizes = await tab.evaluate(() => ({
      wide: document.scrollingElement.scrollWidth,
      over: [...document.querySelectorAll("body *")]
        .filter((element) => element.getBoundingClientRect().right > innerWidth + 1)
        .filter((element) => !element.closest("thead, .unseen, .skip"))
        .map((element) => element.outerHTML.slice(0, 120)),
      smallest: Math.min(
        ...[...document.querySelectorAll("main *")]
          .filter((element) => element.childNodes.length && element.checkVisibility())
          .map((element) => parseFloat(getComputedStyle(element).fontSize)),
      ),
    }));
    // Every rule runs; describing what passed would take most of its time.
    const { violations } = await tab.evaluate(() => globalThis.axe.run({ resultTypes: ["violations"] }));
    const told = violations.map((one) => `${one.id}: ${one.nodes.length} × ${one.nodes[0].html.slice(0, 120)}`);
    found.push({ width, colorScheme, ...sizes, asked: asked.length, scripts, told });
  }
await tab.emulateMedia({ colorScheme: "light" });
await tab.pdf({ path: `${pictures}/printed.pdf`, preferCSSPageSize: true });
await browser.close();
writeFileSync(answers, JSON.stringify(found));
