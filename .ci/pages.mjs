// Looks at pages as their readers' tools do: axe-core (WCAG 2 A and AA, and its good
// practice) in Chromium, and a validator of HTML.
//
//	node pages.mjs FOLDER-OF-NODE-MODULES PAGE…
//
// Writes a line for each thing that is wrong, and ends with 1 where there is any.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [modules, ...pages] = process.argv.slice(2);
const from = createRequire(resolve(modules, "package.json"));
const puppeteer = from("puppeteer-core");
const axe = readFileSync(from.resolve("axe-core/axe.min.js"), "utf8");
const { HtmlValidate, FileSystemConfigLoader } = from("html-validate");

const validator = new HtmlValidate(
  new FileSystemConfigLoader({
    root: true,
    extends: ["html-validate:standard", "html-validate:a11y"],
    rules: {
      // Of style alone, or of pages that are written by hand.
      "long-title": "off",
      "no-inline-style": "off",
      "no-trailing-whitespace": "off",
      "void-style": "off",
      "doctype-style": "off",
      "tel-non-breaking": "off",
    },
  }),
);
const browser = await puppeteer.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-dev-shm-usage"],
});
let wrong = 0;
const tell = (page, words) => {
  wrong++;
  console.log(`${page}: ${words}`);
};
for (const page of pages) {
  const tab = await browser.newPage();
  await tab.setViewport({ width: 1200, height: 1600 });
  await tab.goto(pathToFileURL(resolve(page)).href, { timeout: 120000 });
  await tab.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = true)));
  await tab.evaluate(axe);
  const found = await tab.evaluate(async () => {
    const result = await axe.run(document, { resultTypes: ["violations"] });
    return result.violations.map((v) => ({ id: v.id, help: v.help, nodes: v.nodes.length, first: v.nodes[0].html.slice(0, 160) }));
  });
  for (const v of found) tell(page, `${v.id}: ${v.help} (${v.nodes} times): ${v.first}`);
  await tab.close();
  const report = await validator.validateFile(page);
  const rules = new Map();
  for (const result of report.results) {
    for (const m of result.messages) {
      const seen = rules.get(m.ruleId) || { n: 0, m };
      seen.n++;
      rules.set(m.ruleId, seen);
    }
  }
  for (const [id, { n, m }] of rules) tell(page, `${id}: ${m.message} (${n} times), first in line ${m.line}, column ${m.column}`);
}
await browser.close();
process.exit(wrong ? 1 : 0);
