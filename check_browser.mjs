// The page as a browser shows it: nothing overflows or overlaps, contrast and
// structure hold, nothing is fetched, it reads the same without script, and
// it prints on one sheet.
//   node check_browser.mjs PAGES SHOTS
//   node check_browser.mjs --self-test
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { chromium } from "playwright-core";
import { contrastOfDrawing, layout } from "./in_page.mjs";

const executablePath = "/usr/bin/chromium";
if (!existsSync(executablePath)) {
  console.log("skipped: needs chromium of the system's packages");
  process.exit(process.env.CI === "true" ? 1 : 77);
}
const axe = readFileSync("node_modules/axe-core/axe.min.js", "utf8");
const screens = {
  phone: { width: 390, height: 844 },
  small: { width: 320, height: 568 },
  tablet: { width: 768, height: 1024 },
  desktop: { width: 1280, height: 900 },
};
const browser = await chromium.launch({
  executablePath,
  args: ["--no-sandbox", "--disable-dev-shm-usage"],
});
const faults = [];
let looks = 0;

// All that is wrong with one page on one screen.
async function look(url, viewport, colorScheme, shot, rules = 0) {
  const found = [];
  const context = await browser.newContext({
    viewport,
    colorScheme,
    bypassCSP: false,
  });
  const page = await context.newPage();
  page.on("console", (m) => found.push(`console: ${m.text()}`));
  page.on("pageerror", (e) => found.push(`script: ${e.message}`));
  page.on("request", (r) => {
    if (r.url() !== url && !r.url().startsWith("data:"))
      found.push(`fetches ${r.url()}`);
  });
  await page.goto(url);
  found.push(...(await page.evaluate(layout)));
  found.push(...(await page.evaluate(contrastOfDrawing)));
  if (shot) await page.screenshot({ path: shot, fullPage: true });
  await context.close();
  if (viewport !== screens.small)
    found.push(...(await audit(url, viewport, colorScheme, rules)));
  looks++;
  return found;
}

// axe-core: WCAG 2.1 A and AA, and its best practices.
async function audit(url, viewport, colorScheme, rules) {
  const context = await browser.newContext({
    viewport,
    colorScheme,
    bypassCSP: true, // axe is put into the page
  });
  const page = await context.newPage();
  await page.goto(url);
  await page.addScriptTag({ content: axe });
  const result = await page.evaluate(() => globalThis.axe.run());
  await context.close();
  if (result.passes.length < rules)
    return [`axe looked at ${result.passes.length} rules only`];
  return result.violations.flatMap((v) =>
    v.nodes.map((n) => `axe ${v.id}: ${n.target} ${n.failureSummary}`),
  );
}

async function words(url, javaScriptEnabled) {
  const context = await browser.newContext({ javaScriptEnabled });
  const page = await context.newPage();
  await page.goto(url);
  const first = await page.locator("header p").first().innerText();
  const rest = await page.locator("main").innerText();
  await context.close();
  return { first, rest };
}

async function readable(url, line) {
  const found = [];
  const plain = await words(url, false);
  const scripted = await words(url, true);
  const flat = (words) => words.replace(/\s+/g, " ");
  if (flat(plain.first) !== flat(line))
    found.push(`begins with "${plain.first}", not "${line}"`);
  if (plain.rest !== scripted.rest) found.push("reads otherwise without script");
  return found;
}

// Every link and every folded reason can be reached by the keyboard, in the
// order of the page, and shows that it is.
async function keys(url) {
  const page = await browser.newPage();
  await page.goto(url);
  const links = await page.locator("a,summary").count();
  const found = [];
  for (let i = 0; i < links; i++) {
    await page.keyboard.press("Tab");
    const state = await page.evaluate((number) => {
      const at = document.activeElement;
      const same = at === document.querySelectorAll("a,summary")[number];
      return { same, outline: getComputedStyle(at).outlineStyle };
    }, i);
    if (!state.same) found.push(`Tab ${i + 1} is not link or fold ${i + 1}`);
    if (state.outline === "none") found.push(`link or fold ${i + 1} shows no focus`);
  }
  await page.close();
  return found;
}

async function sheets(url, shots, name) {
  const page = await browser.newPage();
  const found = [];
  await page.goto(url);
  for (const format of ["Letter", "A4"]) {
    const path = shots ? `${shots}/${name}-${format}.pdf` : undefined;
    const pdf = (await page.pdf({ format, path })).toString("latin1");
    const count = (pdf.match(/\/Type \/Page\b(?!s)/g) || []).length;
    if (count !== 1) found.push(`${count} sheets of ${format}`);
  }
  await page.close();
  return found;
}

// A page grown old says so; a new one does not.
async function age(url) {
  const found = [];
  const made = Number(readFileSync(new URL(url), "utf8").match(/data-made="(\d+)"/)[1]);
  for (const [hours, expected] of [[1, ""], [5, "5 hours old"], [96, "4 days old"]]) {
    const page = await browser.newPage();
    await page.clock.setFixedTime((made + hours * 3600 + 60) * 1000);
    await page.goto(url);
    const told = await page.locator("#grown").innerText();
    if (expected === "" ? told !== "" : !told.includes(expected))
      found.push(`after ${hours} h it says "${told}"`);
    await page.close();
  }
  return found;
}

// A mail in a mail program's window, with and without its picture. It is no
// page: it needs no landmarks.
async function letter(url, viewport, colorScheme, pictures) {
  const context = await browser.newContext({ viewport, colorScheme });
  const page = await context.newPage();
  if (!pictures) await page.route("**/*.png", (route) => route.abort());
  await page.goto(url);
  await page.addScriptTag({ content: axe });
  const found = await page.evaluate(layout);
  const { violations } = await page.evaluate(() => globalThis.axe.run(document, {
    rules: { "landmark-one-main": { enabled: false }, region: { enabled: false } },
  }));
  found.push(...violations.map((v) => `axe ${v.id}: ${v.nodes[0].target}`));
  await context.close();
  looks++;
  return found;
}

async function letters(folder) {
  for (const language of ["en", "fr"])
    for (const [screen, viewport] of Object.entries(screens))
      for (const scheme of ["light", "dark"])
        for (const pictures of [true, false])
          tell(`mail ${language} ${screen} ${scheme}`,
            await letter(`file://${folder}/${language}/mail.html`, viewport, scheme, pictures));
}

function tell(name, found) {
  for (const fault of found) faults.push(`${name}: ${fault}`);
}

async function all(folder, shots) {
  const names = readdirSync(folder)
    .filter((name) => name.endsWith(".html"))
    .map((name) => name.slice(0, -5));
  for (const name of names) {
    const url = `file://${folder}/${name}.html`;
    for (const [screen, viewport] of Object.entries(screens))
      for (const scheme of ["light", "dark"]) {
        const shot = `${shots}/${name}-${screen}-${scheme}.png`;
        tell(`${name} ${screen} ${scheme}`, await look(url, viewport, scheme, shot, 15));
      }
    tell(name, await readable(url, readFileSync(`${folder}/${name}.line`, "utf8")));
    tell(name, await keys(url));
    if (name !== "hostile") tell(name, await sheets(url, shots, name));
  }
  tell("full", await age(`file://${folder}/full.html`));
  await letters(`${folder}/mails`);
  if (names.length < 8) faults.push(`only ${names.length} pages`);
}

// Broken pages must be seen as such.
async function selfTest() {
  const page = (body, css = "") =>
    "data:text/html," +
    encodeURIComponent(
      `<!DOCTYPE html><html lang="en"><title>t</title><style>${css}</style>` +
        `<main><h1>t</h1>${body}</main>`,
    );
  const cases = [
    ["overflows", page('<p style="width:900px">wide</p>')],
    ["overlaps", page('<p>first words</p><p style="margin-top:-30px">second words</p>')],
    ["cut", page('<p style="width:40px;overflow:hidden;white-space:nowrap">a long line of words</p>')],
    ["axe color-contrast", page('<p style="color:#999;background:#fff">pale words</p>')],
    ["contrast", page('<svg role="img" aria-label="x"><text fill="#aaa" y="20">pale</text></svg>', "body{background:#fff}")],
    ["small", page('<svg width="100" viewBox="0 0 500 100"><text y="50">tiny</text></svg>')],
    ["console", page("<script>console.log(1)</script>")],
    ["fetches", page('<img alt="x" src="file:///none.png">')],
    ["axe heading-order", page("<h2>a</h2><h5>b</h5>")],
  ];
  for (const [word, url] of cases) {
    const found = await look(url, screens.phone, "light");
    if (!found.some((fault) => fault.startsWith(word)))
      faults.push(`not seen: ${word}; found: ${found}`);
  }
  if ((await sheets(page('<p style="height:3000px">tall</p>'))).length !== 2)
    faults.push("not seen: two sheets");
}

if (process.argv[2] === "--self-test") await selfTest();
else await all(process.argv[2], process.argv[3]);
await browser.close();
for (const fault of faults) console.log(fault);
console.log(`${looks} looks, ${faults.length} faults`);
process.exit(faults.length > 0 ? 1 : 0);
