#!/usr/bin/env python3
"""thawbelld killed (signal 9) at random moments of its turns.

    python3 daemon_kills.py THAWBELLD THAWBELL [KILLS [SEED]]

After every kill the store is sound and opens, what is published is there and
whole, no calendar event is doubled, and none that was told is lost: each is
there, or was cancelled two days ago (moving.py); one made anew would tell
another time of creation, or count its changes from the start again. What was
half written goes with the next start. The clock goes on by twenty minutes each
time. 500 kills, 60 of a sanitized program; THAWBELL_OTHER_BUILD as in
daemon_season.py. A fifth as many more of a daemon with forty operations, which
flushes what it publishes in another way (src/daemon/turns.c).
"""

import json
import os
import random
import re
import sqlite3
import sys
import time

import once_bench
from daemon_bench import Daemon, clock_programs, sanitized, unsanitized
from moving import MovingBench, events, none_lost
from once_bench import want

BEGIN = 1772366400  # 1 March 2026, noon UTC
STEP = 20 * 60
OPERATIONS = 40


def sound(path):
    if not os.path.exists(path):
        return
    base = sqlite3.connect(path, timeout=10)
    want(base.execute("PRAGMA quick_check").fetchone()[0] == "ok",
         "a sound store")
    base.close()


class Memory:
    def __init__(self, folder):
        self.folder = folder
        self.events = {}
        self.whole = self.looked_for = 0

    def read(self, name):
        with open(os.path.join(self.folder, name), encoding="utf-8") as file:
            return file.read()

    def published(self, now):
        """From the first turn on none of the files is ever missing, and no
        event that was told. `now` is when the daemon was started or its clock
        was set: it has gone on less than a step since."""
        want(json.loads(self.read("bulletin.json"))["days"],
             "a whole bulletin")
        seen = {}
        for event in events(self.read("calendar.ics")):
            uid = event["UID"]
            want(uid not in seen, "doubled: " + uid)
            seen[uid] = event
            before = self.events.get(uid, event)
            want(before["CREATED"] == event["CREATED"], "made anew: " + uid)
            want(int(before.get("SEQUENCE", 0)) <=
                 int(event.get("SEQUENCE", 0)), "counts back: " + uid)
        self.looked_for += none_lost(self.events, seen, now + STEP)
        want(self.read("index.html").rstrip().endswith("</html>"),
             "a whole page")
        self.whole += 1
        self.events.update(seen)


class QuickDaemon(Daemon):
    """Its clock goes eight times as fast as the day: the services' limits do
    not part the turns."""

    def clock_environment(self, turned):
        return {"FAKETIME": "%+.3f x8" % self.offset}


def undisturbed(bench, at, kind=Daemon, folder=None, operations=1, files=1):
    """Seconds from a start until each operation has turned and changed as many
    files: without an answer (a slow machine, a quick clock) a first turn has
    nothing to publish, and a later one does."""
    began = time.monotonic()
    daemon = kind(bench, at=at, folder=folder)
    said = len(daemon.log())
    daemon.wait_for("^READY=1$")
    while len({slug for changed, slug in re.findall(
            r"turn done, (\d+) files? .* operation=(\S+)",
            daemon.log()[said:]) if int(changed) >= files}) < operations:
        want(time.monotonic() - began < 120, "not all have turned")
        time.sleep(0.02)
    length = time.monotonic() - began
    daemon.end()
    return length


def fall_into_turns(bench, turns, what):
    with open(bench.path("log"), encoding="utf-8", errors="replace") as file:
        log = file.read()
    want("damaged" not in log, "damaged\n" + log[-3000:])
    done = log.count("turn done")
    print("%s: %d turns came to their end" % (what, done))
    want(turns * 0.05 < done, "some turns must come to their end")
    want(done < turns * 0.95, "kills must fall into turns")


def half_written(bench):
    """How many files a killed process has left that way."""
    return sum(".new-" in name for _, _, names in os.walk(bench.folder)
               for name in names)


def last_start(bench, number, folders, **how):
    """Once more, undisturbed: what was half written goes."""
    for folder in folders:  # the last kill may have left none
        with open(os.path.join(folder, "half.new-a1B2c3"), "wb") as file:
            file.write(b"half")
    left = half_written(bench)
    undisturbed(bench, BEGIN + number * STEP, files=0, **how)
    want(not half_written(bench), "half written files stay")
    print("%d files half written by the last, gone with the next" % left)


def looked(memories, kills):
    """Every operation's files were read after every kill, and in them the
    events that had been told."""
    count = sum(memory.whole for memory in memories)
    print("%d operations found whole after %d kills: %d times, with %d events "
          "told before" % (len(memories), kills, count,
                           sum(memory.looked_for for memory in memories)))
    want(count == kills * len(memories), "not all were looked at")
    want(all(memory.looked_for >= kills for memory in memories),
         "no events were looked for")


def run(bench, kills, seed):
    rng = random.Random(seed)
    print("seed %d" % seed)
    bench.begin("kills")
    public = bench.path("public", "tamarack-bend")
    memory = Memory(public)
    length = undisturbed(bench, BEGIN)
    memory.published(bench.site.fixed_now)
    want(memory.events, "events to lose")
    memory.whole = 0
    path = bench.path("state", "thawbell", "thawbell.db")
    for number in range(1, kills + 1):
        daemon = Daemon(bench, at=BEGIN + number * STEP)
        time.sleep(rng.uniform(0, 1.2 * length))
        daemon.kill()
        sound(path)
        memory.published(bench.site.fixed_now)
    looked([memory], kills)
    state = bench.path("state", "thawbell")
    last_start(bench, kills + 1,
               (public, state, os.path.join(state, "answers")))
    memory.published(bench.site.fixed_now)
    fall_into_turns(bench, kills, "%d kills in turns of %.2f s, %d events "
                    "told" % (kills, length, len(memory.events)))


def run_many(bench, kills, seed):
    rng = random.Random(seed)
    bench.begin("many kills")
    folder = bench.write_many(OPERATIONS)
    memories = [Memory(bench.path("public", "sugarhouse-%d" % number))
                for number in range(OPERATIONS)]
    how = {"kind": QuickDaemon, "folder": folder, "operations": OPERATIONS}
    length = undisturbed(bench, BEGIN, **how)
    for memory in memories:
        memory.published(bench.site.fixed_now)
        want(memory.events, "events to lose")
        memory.whole = 0
    for number in range(1, kills + 1):
        daemon = QuickDaemon(bench, at=BEGIN + number * STEP, folder=folder)
        time.sleep(rng.uniform(0, 1.2 * length))
        daemon.kill()
        sound(bench.path("state", "thawbell", "thawbell.db"))
        for memory in memories:
            memory.published(bench.site.fixed_now)
    looked(memories, kills)
    last_start(bench, kills + 1, [memory.folder for memory in memories], **how)
    for memory in memories:
        memory.published(bench.site.fixed_now)
    fall_into_turns(bench, kills * OPERATIONS,
                    "%d kills in %d turns of %.2f s" % (kills, OPERATIONS,
                                                        length))


def main():
    programs = unsanitized(clock_programs())
    kills = 60 if sanitized(programs["thawbelld"]) else 500
    if len(sys.argv) > 3:
        kills = int(sys.argv[3])
    seed = int(sys.argv[4]) if len(sys.argv) > 4 else int(time.time())
    once_bench.main([("kills", lambda bench: run(bench, kills, seed)),
                     ("many kills",
                      lambda bench: run_many(bench, kills // 5, seed))],
                    MovingBench(programs), [])


if __name__ == "__main__":
    main()
