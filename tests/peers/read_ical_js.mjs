// Reads every calendar of a folder with ical.js and compares it with what was
// meant. Usage: node read_ical_js.mjs FOLDER
import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import ICAL from "ical.js";

const moment = (time) => {
  assert.equal(time.zone.tzid, "UTC");
  return time.toJSDate().getTime() / 1000;
};

function compare(part, expected) {
  const event = new ICAL.Event(part);
  assert.equal(event.uid, expected.uid);
  assert.equal(event.summary, expected.summary);
  assert.ok(event.description.startsWith(expected.description));
  assert.equal(event.sequence, expected.sequence);
  assert.equal(
    moment(part.getFirstPropertyValue("last-modified")),
    expected.modified_s
  );
  assert.equal(
    part.getFirstPropertyValue("status") === "CANCELLED",
    expected.cancelled
  );
  if ("date" in expected) {
    assert.ok(event.startDate.isDate);
    assert.equal(event.startDate.toString(), expected.date);
    assert.equal(event.endDate.toString(), expected.day_after);
  } else {
    assert.equal(moment(event.startDate), expected.start_s);
    assert.equal(moment(event.endDate), expected.end_s);
  }
}

const folder = process.argv[2];
const names = readdirSync(folder).filter((name) => name.endsWith(".ics"));
assert.ok(names.length >= 14, `only ${names.length} calendars`);
let total = 0;
for (const name of names.sort()) {
  const text = readFileSync(join(folder, name), "utf8");
  const expected = JSON.parse(
    readFileSync(join(folder, name.replace(/ics$/, "expected.json")), "utf8")
  );
  const calendar = new ICAL.Component(ICAL.parse(text));
  const events = calendar.getAllSubcomponents("vevent");
  try {
    assert.equal(events.length, expected.length);
    events.forEach((part, index) => compare(part, expected[index]));
  } catch (error) {
    console.error(`${name}: ${error.message}`);
    process.exit(1);
  }
  total += events.length;
}
console.log(`${names.length} calendars, ${total} events`);
