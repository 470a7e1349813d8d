// Reads every calendar of a folder with node-ical and compares it with what
// was meant. Usage: node read_node_ical.mjs FOLDER
import assert from "node:assert/strict";
import ical from "node-ical";
import { each } from "./feeds.mjs";

const two = (number) => String(number).padStart(2, "0");

// It gives a whole day as midnight of this machine's clock.
const day = (date) => {
  assert.equal(date.dateOnly, true);
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(
    date.getDate()
  )}`;
};

const seconds = (date) => date.getTime() / 1000;

function compare(event, expected) {
  assert.ok(event, `no event ${expected.uid}`);
  assert.equal(event.uid, expected.uid);
  assert.equal(event.summary, expected.summary);
  assert.ok(event.description.startsWith(expected.description));
  assert.equal(Number(event.sequence), expected.sequence);
  assert.equal(seconds(event.lastmodified), expected.modified_s);
  assert.equal(event.status === "CANCELLED", expected.cancelled);
  assert.equal(event.datetype, "date" in expected ? "date" : "date-time");
  if ("date" in expected) {
    assert.equal(day(event.start), expected.date);
    assert.equal(day(event.end), expected.day_after);
  } else {
    assert.equal(seconds(event.start), expected.start_s);
    assert.equal(seconds(event.end), expected.end_s);
  }
}

each((path, expected) => {
  const read = ical.sync.parseFile(path);
  const events = Object.values(read).filter((part) => part.type === "VEVENT");
  assert.equal(events.length, expected.length);
  for (const meant of expected) compare(read[meant.uid], meant);
});
