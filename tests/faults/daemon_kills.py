#!/usr/bin/env python3
"""thawbelld killed (signal 9) at random moments of its turns.

    python3 daemon_kills.py THAWBELLD THAWBELL [KILLS [SEED]]

After every kill the store is sound and opens, what is published is whole, no
calendar event is doubled, and none that was told is lost: one made anew would
tell another time of creation, or count its changes from the start again. What
was half written goes with the next start. The clock goes on by twenty minutes
each time. 500 kills, 60 of a sanitized program; THAWBELL_OTHER_BUILD as in
daemon_season.py.
"""

import json
import os
import random
import sqlite3
import sys
import time

import once_bench
from daemon_bench import Daemon, clock_programs, sanitized, unsanitized
from moving import MovingBench, events
from once_bench import want

BEGIN = 1772366400  # 1 March 2026, noon UTC
STEP = 20 * 60


class Memory:
    def __init__(self):
        self.events = {}
        self.whole = 0

    def store(self, path):
        if not os.path.exists(path):
            return
        base = sqlite3.connect(path, timeout=10)
        want(base.execute("PRAGMA quick_check").fetchone()[0] == "ok",
             "a sound store")
        base.close()

    def published(self, bench):
        try:
            bulletin, calendar = bench.both()
        except FileNotFoundError:
            return
        want(json.loads(bulletin)["days"], "a whole bulletin")
        seen = {}
        for event in events(calendar):
            uid = event["UID"]
            want(uid not in seen, "doubled: " + uid)
            seen[uid] = event
            before = self.events.get(uid, event)
            want(before["CREATED"] == event["CREATED"], "made anew: " + uid)
            want(int(before.get("SEQUENCE", 0)) <=
                 int(event.get("SEQUENCE", 0)), "counts back: " + uid)
        self.whole += 1
        self.events.update(seen)


def turn_length(bench):
    """Seconds from a start to the end of its first turn, undisturbed."""
    began = time.monotonic()
    daemon = Daemon(bench, at=BEGIN)
    daemon.wait_for("^READY=1$")
    length = time.monotonic() - began
    daemon.end()
    return length


def half_written(bench):
    """How many files a killed process has left that way."""
    return sum(".new-" in name for _, _, names in os.walk(bench.folder)
               for name in names)


def run(bench, kills, seed):
    rng = random.Random(seed)
    print("seed %d" % seed)
    bench.begin("kills")
    memory = Memory()
    length = turn_length(bench)
    memory.published(bench)
    first = set(memory.events)
    want(first, "events to lose")
    path = bench.path("state", "thawbell", "thawbell.db")
    for number in range(1, kills + 1):
        daemon = Daemon(bench, at=BEGIN + number * STEP)
        time.sleep(rng.uniform(0, 1.2 * length))
        daemon.kill()
        memory.store(path)
        memory.published(bench)
    # The last kill may have left none.
    for folder in (("public", "tamarack-bend"), ("state", "thawbell"),
                   ("state", "thawbell", "answers")):
        with open(bench.path(*folder, "half.new-a1B2c3"), "wb") as file:
            file.write(b"half")
    left = half_written(bench)
    daemon = Daemon(bench, at=BEGIN + (kills + 1) * STEP)
    daemon.wait_for("^READY=1$")
    memory.published(bench)
    daemon.end()
    want(not half_written(bench), "half written files stay")
    print("%d files half written by the last, gone with the next" % left)
    daemon.logged("damaged", 0)
    done = daemon.log().count("turn done")
    print("%d kills in turns of %.2f s: %d turns came to their end, %d events "
          "were told" % (kills, length, done, len(memory.events)))
    want(kills * 0.05 < done, "some turns must come to their end")
    want(done < kills * 0.95, "kills must fall into turns")


def main():
    programs = unsanitized(clock_programs())
    kills = 60 if sanitized(programs["thawbelld"]) else 500
    if len(sys.argv) > 3:
        kills = int(sys.argv[3])
    seed = int(sys.argv[4]) if len(sys.argv) > 4 else int(time.time())
    once_bench.main([("kills", lambda bench: run(bench, kills, seed))],
                    MovingBench(programs), [])


if __name__ == "__main__":
    main()
