#!/usr/bin/env python3
"""A season of the real thawbelld under a turned clock: February to May, four
looks at the clock a day, hourly around the change to summer time.

    python3 daemon_season.py THAWBELLD THAWBELL

Every turn comes when it is due, each civil day begins with one, no calendar
event is doubled or lost, memory and descriptors at the end are those of the
first day. A sanitized program is slow and keeps what it frees: it gets three
weeks around the change to summer time, and no look at its memory.
THAWBELL_OTHER_BUILD names a build folder without sanitizers to be used
instead.
"""

import datetime
import json
import os
import sys
import zoneinfo

from daemon_bench import Daemon, faketime_library, sanitized, seconds
from moving import HOUR, MovingBench, events
from once_bench import Wrong, want

ZONE = zoneinfo.ZoneInfo("America/New_York")
CHANGE = datetime.date(2026, 3, 8)  # 15 U.S.C. 260a: its second Sunday
LOOKS = ((0, 0), (5, 30), (12, 0), (18, 0))


def looks(first, last):
    """The instants at which the clock is looked at, in order."""
    day = first
    while day <= last:
        midnight = datetime.datetime.combine(day, datetime.time(), ZONE)
        begin = midnight.timestamp()
        if abs((day - CHANGE).days) <= 1:
            tomorrow = datetime.datetime.combine(
                day + datetime.timedelta(1), datetime.time(), ZONE)
            for at in range(int(begin), int(tomorrow.timestamp()), HOUR):
                yield day, at
        else:
            for hour, minute in LOOKS:
                yield day, int(midnight.replace(
                    hour=hour, minute=minute).timestamp())
        day += datetime.timedelta(1)


class Season:
    def __init__(self):
        self.created = {}
        self.turns = 0

    def calendar(self, ics):
        seen = set()
        for event in events(ics):
            uid = event["UID"]
            want(uid not in seen, "doubled: " + uid)
            seen.add(uid)
            want(self.created.setdefault(uid, event["CREATED"]) ==
                 event["CREATED"], "lost and made anew: " + uid)

    def look(self, bench, day, at):
        bulletin, calendar = bench.both()
        bulletin = json.loads(bulletin)
        made = seconds(bulletin["made"])
        want(at <= made <= at + 30, "%s: a turn %d s late" % (day, made - at))
        days = [row["date"] for row in bulletin["days"]]
        want(days[2] == day.isoformat(), "today is %s: %s" % (day, days))
        length = bulletin["bushes"][0]["days"][2]["day_hours"]
        want(length == (23 if day == CHANGE else 24),
             "%s has %d hours" % (day, length))
        self.calendar(calendar)
        self.turns += 1


def run(bench, first, last, measured):
    bench.begin("season")
    season = Season()
    moments = list(looks(first, last))
    daemon = Daemon(bench, at=moments[0][1])
    daemon.wait_for("^READY=1$")
    season.look(bench, *moments[0])
    kb = descriptors = None
    for day, at in moments[1:]:
        if kb is None and day > first:
            kb, descriptors = daemon.private_kb(), daemon.descriptors()
        del daemon.said[:-4]
        daemon.set_clock(at)
        daemon.next_turn(at)
        season.look(bench, day, at)
    end_kb, end_descriptors = daemon.private_kb(), daemon.descriptors()
    print("%d turns, %d events; RssAnon %d kB after the first day, %d at the "
          "end; descriptors %d, %d" % (
              season.turns, len(season.created), kb, end_kb, descriptors,
              end_descriptors))
    want(end_descriptors <= descriptors, "descriptors leak")
    want(not measured or end_kb <= kb + 1024, "memory grows")
    want(len(season.created) > 10, "a season has events")
    daemon.logged("turn done", season.turns)
    daemon.logged("(?m)^.* error: ", 0)
    daemon.end()


def main():
    if faketime_library() is None:
        print("skipped: needs the package faketime")
        return 1 if os.environ.get("CI") == "true" else 77
    programs = {"thawbelld": sys.argv[1], "thawbell": sys.argv[2]}
    other = os.environ.get("THAWBELL_OTHER_BUILD")
    if sanitized(programs["thawbelld"]) and other:
        programs = {name: os.path.join(other, "src", name)
                    for name in programs}
    slow = sanitized(programs["thawbelld"])
    bench = MovingBench(programs)
    try:
        run(bench,
            datetime.date(2026, 2, 26) if slow else datetime.date(2026, 2, 1),
            datetime.date(2026, 3, 14) if slow else datetime.date(2026, 5, 31),
            not slow)
    except Wrong as why:
        print("FAILED: %s" % str(why)[-3000:])
        return 1
    finally:
        bench.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
