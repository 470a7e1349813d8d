"""The calendars of write_feeds, each beside what was meant by it, for those
that read them in Python."""

import json
import pathlib
import sys

LEAST = 14  # calendars; fewer were not written as they should be


def each(check):
    """check(path, expected) returns how many events it has compared, and
    raises where they are not as meant."""
    paths = sorted(pathlib.Path(sys.argv[1]).glob("*.ics"))
    assert len(paths) >= LEAST, f"only {len(paths)} calendars"
    total = 0
    for path in paths:
        expected = json.loads(path.with_suffix(".expected.json").read_text())
        try:
            total += check(path, expected)
        except (AssertionError, ValueError, KeyError) as error:
            sys.exit(f"{path.name}: {type(error).__name__}: {error}")
    print(f"{len(paths)} calendars, {total} events")
