// Reads every calendar of a folder with ical.js and compares it with what was
// meant. Usage: node read_ical_js.mjs FOLDER
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import ICAL from "ical.js";
import { each } from "./feeds.mjs";

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

each((path, expected) => {
  const calendar = new ICAL.Component(ICAL.parse(readFileSync(path, "utf8")));
  const events = calendar.getAllSubcomponents("vevent");
  assert.equal(events.length, expected.length);
  events.forEach((part, index) => compare(part, expected[index]));
});
