"""Reads every calendar of a folder with python3-icalendar and compares it
with what was meant. Usage: read_icalendar.py FOLDER"""

import datetime

import feeds
import icalendar

UTC = datetime.timezone.utc


def moment(value):
    assert value.tzinfo is not None, f"{value} has no zone"
    return value.astimezone(UTC).timestamp()


def compare(event, expected):
    assert str(event["SUMMARY"]) == expected["summary"], event["SUMMARY"]
    assert str(event["DESCRIPTION"]).startswith(expected["description"])
    assert int(event["SEQUENCE"]) == expected["sequence"]
    assert moment(event["LAST-MODIFIED"].dt) == expected["modified_s"]
    assert moment(event["DTSTAMP"].dt) == expected["modified_s"]
    assert (event.get("STATUS") == "CANCELLED") == expected["cancelled"]
    start, end = event["DTSTART"].dt, event["DTEND"].dt
    if "date" in expected:
        assert type(start) is datetime.date, start
        assert start.isoformat() == expected["date"], start
        assert end.isoformat() == expected["day_after"], end
    else:
        assert moment(start) == expected["start_s"], start
        assert moment(end) == expected["end_s"], end


def check(path, expected):
    calendar = icalendar.Calendar.from_ical(path.read_bytes())
    for part in calendar.walk():
        assert part.errors == [], part.errors
    events = calendar.walk("VEVENT")
    assert [str(e["UID"]) for e in events] == [e["uid"] for e in expected]
    for event, meant in zip(events, expected):
        compare(event, meant)
    return len(events)


feeds.each(check)
