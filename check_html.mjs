// Is the page valid HTML? By html-validate, with its standard rules.
import { readdirSync, readFileSync } from "node:fs";
import { FileSystemConfigLoader, HtmlValidate } from "html-validate";

const folder = process.argv[2];
const validate = new HtmlValidate(
  new FileSystemConfigLoader({
    root: true,
    extends: ["html-validate:recommended", "html-validate:document"],
    rules: {
      // Our own way of writing, not validity.
      "void-style": "off",
      "long-title": "off", // an operation's name may be as long as it likes
      // Script and style stand in the page so that it needs nothing else.
      "require-sri": "off",
    },
  }),
);
let bad = 0;
const pages = readdirSync(folder).filter((name) => name.endsWith(".html"));
const check = async (name, bytes) => {
  const report = await validate.validateString(bytes, name);
  return report.results.flatMap((result) => result.messages);
};
for (const page of pages)
  for (const m of await check(page, readFileSync(`${folder}/${page}`, "utf8"))) {
    console.log(`${page}:${m.line}: ${m.message} (${m.ruleId})`);
    bad++;
  }
// The checker itself: each of these must be refused.
const plain = readFileSync(`${folder}/plain.html`, "utf8");
const broken = [
  [/<\/main>/, ""],
  [/<h3>/, "<h5>"],
  [/id="h-days"/g, 'id="h-chart"'],
  [/<ol class="days">/, '<ol class="days"><p>loose</p>'],
  [/ lang="en"/, ""],
];
for (const [what, instead] of broken)
  if ((await check("broken", plain.replace(what, instead))).length === 0) {
    console.log(`not refused: ${what}`);
    bad++;
  }
console.log(`${pages.length} pages looked at`);
process.exit(bad > 0 || pages.length < 6 ? 1 : 0);
