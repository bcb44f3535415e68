// Opens the history of each athlete named in `histories.json` as the athletic trainer does, with a token, and looks at it: nothing may
// lie outside the window, axe-core may find nothing, and it prints on one sheet of A4 and of Letter.

import { readFileSync } from "node:fs";

import axe from "axe-core";
import puppeteer from "puppeteer-core";

const { browser: program, folder, token, histories } = JSON.parse(readFileSync("histories.json", "utf8"));
const WIDTHS = [360, 1280];

function assert(holds, what) {
  if (!holds) throw new Error(what);
}

async function judge(page, what) {
  const wide = await page.evaluate(() => [...document.querySelectorAll("body *")]
    .filter((element) => element.getBoundingClientRect().right > innerWidth + 1)
    .map((element) => element.outerHTML.slice(0, 80)));
  assert(wide.length === 0, `${what}: outside the window: ${wide.join("\n")}`);
  await page.evaluate(axe.source);
  const { violations, passes } = await page.evaluate(() => globalThis.axe.run());
  const told = violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).join("\n  ")}`);
  assert(violations.length === 0, `${what}: ${told.join("\n")}`);
  return passes.length;
}

/** How many pages a PDF has: each has an object of its own. */
function sheets(pdf) {
  return Buffer.from(pdf).toString("latin1").match(/\/Type\s*\/Page\b/g).length;
}

const browser = await puppeteer.launch({ executablePath: program, args: ["--no-sandbox", "--disable-gpu"] });
try {
  let rules = 0;
  for (const { name, url } of histories) {
    for (const width of WIDTHS) {
      const page = await browser.newPage();
      await page.setExtraHTTPHeaders({ Authorization: `Bearer ${token}` });
      await page.setViewport({ width, height: 800, isMobile: width < 700, hasTouch: width < 700 });
      await page.goto(url);
      assert((await page.title()).startsWith("History: "), `the page is "${await page.title()}"`);
      await page.screenshot({ path: `${folder}/${name}-${width}.png`, fullPage: true });
      rules += await judge(page, `${name}, ${width} px`);
      await page.evaluate(() => document.querySelectorAll("details").forEach((one) => { one.open = true; }));
      rules += await judge(page, `${name}, ${width} px, unfolded`);
      await page.reload();
      for (const format of ["A4", "Letter"]) {
        if (width < 700) continue;
        const pdf = await page.pdf({ path: `${folder}/${name}-${format}.pdf`, format, preferCSSPageSize: false });
        assert(sheets(pdf) === 1, `${name} prints on ${sheets(pdf)} sheets of ${format}`);
      }
      await page.close();
    }
  }
  console.log(`${histories.length} histories opened at ${WIDTHS.join(" and ")} px: ${rules} checks of axe-core passed, 0 violations, one sheet each`);
} finally {
  await browser.close();
}
