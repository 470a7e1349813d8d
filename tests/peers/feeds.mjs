// The calendars of write_feeds, each beside what was meant by it, for those that
// read them in node.
import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";

const LEAST = 14; // calendars; fewer were not written as they should be

// check(path, expected) compares the events, and throws where they are not as
// meant.
export function each(check) {
  const folder = process.argv[2];
  const names = readdirSync(folder).filter((name) => name.endsWith(".ics"));
  assert.ok(names.length >= LEAST, `only ${names.length} calendars`);
  let total = 0;
  for (const name of names.sort()) {
    const path = join(folder, name);
    const meant = readFileSync(path.replace(/ics$/, "expected.json"), "utf8");
    const expected = JSON.parse(meant);
    try {
      check(path, expected);
    } catch (error) {
      console.error(`${name}: ${error.message}`);
      process.exit(1);
    }
    total += expected.length;
  }
  console.log(`${names.length} calendars, ${total} events`);
}
