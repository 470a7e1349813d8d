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
const shots = [
  ["page-phone", "page.html", 390, "light"],
  ["page-desktop", "page.html", 1100, "light"],
  ["mail-light", "mail.html", 600, "light"],
  ["mail-dark", "mail.html", 600, "dark"],
];
const browser = await chromium.launch({
  executablePath,
  args: ["--no-sandbox", "--disable-dev-shm-usage"],
});
for (const [name, file, width, colorScheme] of shots) {
  const page = await browser.newPage({
    viewport: { width, height: 600 },
    colorScheme,
    javaScriptEnabled: false, // its age would be that of today
  });
  await page.goto(`file://${folder}/${file}`);
  await page.screenshot({ path: `${out}/${name}.png`, fullPage: true });
  await page.close();
}
await browser.close();
