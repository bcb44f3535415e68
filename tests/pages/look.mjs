// Opens each list as a coach does, by the link in a mail that is read in a browser, and looks at it: nothing may lie outside
// the window, and axe-core may find nothing. Then one flag is acknowledged with the form. The pages that only a token opens are
// looked at likewise.
//
// Reads `lists.json` (mail, browser and folder, the squads with their links, the pages with their tokens), writes pictures and
// printed pages.

import { readFileSync } from "node:fs";

import axe from "axe-core";
import puppeteer from "puppeteer-core";

const { browser: program, folder, mail, squads, pages } = JSON.parse(readFileSync("lists.json", "utf8"));
const WIDTHS = [360, 1280];

function assert(holds, what) {
  if (!holds) throw new Error(what);
}

/** Follows a link from a page of another site. */
async function open(page, squad) {
  await page.goto(`${mail}/${squad.name}`);
  await Promise.all([page.waitForNavigation(), page.click("a")]);
  assert(page.url().endsWith(squad.list), `the link leads to ${page.url()}`);
  assert((await page.title()).startsWith("Weekly list: "), `the page is "${await page.title()}"`);
}

async function judge(page, what) {
  const wide = await page.evaluate(() => [...document.querySelectorAll("body *")]
    .filter((element) => element.getBoundingClientRect().right > innerWidth + 1)
    // A table of many columns is scrolled within its own region (WCAG 2.2, 1.4.10), which lies in the window itself.
    .filter((element) => !element.parentElement.closest(".wide"))
    .map((element) => element.outerHTML.slice(0, 80)));
  assert(wide.length === 0, `${what}: outside the window: ${wide.join("\n")}`);
  await page.evaluate(axe.source);
  const { violations, passes } = await page.evaluate(() => globalThis.axe.run());
  const told = violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).join("\n  ")}`);
  assert(violations.length === 0, `${what}: ${told.join("\n")}`);
  return passes.length;
}

/** Says what was done about the first decision; the next page must say it. */
async function acknowledge(page, what) {
  await page.click("details.form summary");
  await page.click("details.form input[value=talked]");
  await page.type("details.form input[name=note]", "Free day moved to Thursday");
  await page.screenshot({ path: `${folder}/${what}-form.png`, fullPage: true });
  const rules = await judge(page, `${what}, the form`);
  await Promise.all([page.waitForNavigation(), page.click("details.form button")]);
  const text = await page.evaluate(() => document.body.innerText);
  assert(/Done: talked\.\s+Free day moved to Thursday/.test(text), `${what}: what was done is not told: ${text}`);
  return rules;
}

/** Asks by POST, where a page answers a question. */
async function asPost(page, body) {
  await page.setRequestInterception(true);
  page.on("request", (request) => {
    const headers = { ...request.headers(), "content-type": "application/json", accept: "text/html" };
    if (request.isNavigationRequest()) request.continue({ method: "POST", postData: JSON.stringify(body), headers });
    else request.continue();
  });
}

/** Opens a page with a token, as a program that shows pages does. */
async function look(browser, { name, url, token, title, body }, width) {
  const page = await browser.newPage();
  await page.setViewport({ width, height: 800, isMobile: width < 700, hasTouch: width < 700 });
  await page.setExtraHTTPHeaders({ Authorization: `Bearer ${token}` });
  if (body) await asPost(page, body);
  await page.goto(url);
  assert((await page.title()).startsWith(title), `${name}: the page is "${await page.title()}"`);
  await page.screenshot({ path: `${folder}/${name}-${width}.png`, fullPage: true });
  const rules = await judge(page, `${name}, ${width} px`);
  for (const format of ["A4", "Letter"]) {
    if (width > 700) await page.pdf({ path: `${folder}/${name}-${format}.pdf`, format, preferCSSPageSize: false });
  }
  await page.close();
  return rules;
}

const browser = await puppeteer.launch({ executablePath: program, args: ["--no-sandbox", "--disable-gpu"] });
try {
  let rules = 0;
  for (const squad of squads) {
    for (const width of WIDTHS) {
      const context = await browser.createBrowserContext();
      const page = await context.newPage();
      await page.setViewport({ width, height: 800, isMobile: width < 700, hasTouch: width < 700 });
      await open(page, squad);
      await page.screenshot({ path: `${folder}/${squad.name}-${width}.png`, fullPage: true });
      rules += await judge(page, `${squad.name}, ${width} px`);
      await page.evaluate(() => document.querySelectorAll("details").forEach((one) => { one.open = true; }));
      rules += await judge(page, `${squad.name}, ${width} px, unfolded`);
      await page.reload();
      for (const format of ["A4", "Letter"]) {
        if (width > 700) await page.pdf({ path: `${folder}/${squad.name}-${format}.pdf`, format, preferCSSPageSize: false });
      }
      if (width < 700 && (await page.$("details.form"))) rules += await acknowledge(page, squad.name);
      await context.close();
    }
  }
  for (const page of pages) {
    for (const width of WIDTHS) rules += await look(browser, page, width);
  }
  const page = await browser.newPage();
  await page.setViewport({ width: 360, height: 800, isMobile: true });
  await page.goto(`${new URL(squads[0].link).origin}/pages/none`);
  await page.screenshot({ path: `${folder}/refused-360.png` });
  rules += await judge(page, "a link that opens nothing");
  console.log(`${squads.length} lists opened from another site and ${pages.length} pages with a token at ${WIDTHS.join(" and ")} px: ${rules} checks of axe-core passed, 0 violations`);
} finally {
  await browser.close();
}
