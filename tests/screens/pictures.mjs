// The page and the mail as a browser shows them.
//   node pictures.mjs FOLDER OUT     FOLDER holds page.html and mail.html
import { existsSync } from "node:fs";
import { chromium } from "playwright-core";

const [folder, out] = process.argv.slice(2);
const executablePath = "/usr/bin/chromium";
if (!existsSync(executablePath)) {
  console.log("skipped: needs chromium of the system's packages");
  process.exit(process.env.CI === "true" ? 1 : 77);
}
// Name, file, width, greatest height (what is further down is cut off), scheme.
const shots = [
  ["page-phone", "page.html", 390, 5400, "light"],
  ["page-desktop", "page.html", 1100, 3400, "light"],
  ["mail-light", "mail.html", 600, 3600, "light"],
  ["mail-dark", "mail.html", 600, 3600, "dark"],
];
const browser = await chromium.launch({
  executablePath,
  args: ["--no-sandbox", "--disable-dev-shm-usage"],
});
for (const [name, file, width, most, colorScheme] of shots) {
  const page = await browser.newPage({
    viewport: { width, height: 600 },
    colorScheme,
  });
  // A clock of the demo's: the page's script tells its age.
  await page.clock.setFixedTime(new Date("2026-03-05T11:30:00Z"));
  await page.goto(`file://${folder}/${file}`);
  const whole = await page.evaluate(() => document.body.scrollHeight);
  await page.screenshot({
    path: `${out}/${name}.png`,
    fullPage: true,
    clip: { x: 0, y: 0, width, height: Math.min(whole, most) },
  });
  await page.close();
}
await browser.close();
