#!/usr/bin/env python3
"""Many operations in one thawbelld: what they cost, with invented answers.

    python3 many.py THAWBELLD COUNT [MB [MS]]

Writes COUNT configurations: each with its bush in another place (all of them
further apart than a cell of a weather service's grid, up to 10 000) and at
another elevation, of six species, in buckets, on gravity tubing or on vacuum,
tapped on 30 different days, with storage and attended hours of its own. Serves
each its own ten days of weather (one service, tests/faults/moving.py; warmer
and colder by place) and lets the real program turn them all once, three times
over: the first two cycles fill store, cache and publish folder (which keeps
what was published before), the third is the one that counts, every forecast in
it new. Members are made around the forecast. What is not in it: 92 days of past
weather, since the service has none; bench_tree tells what they add.

Prints a sentence, and for contrib/bench.sh lines of "NAME VALUE UNIT":
operations, cycle_cpu (of the third), turn_cpu, cycle_wall (with the service's
own time, which shares the machine), private_most. Fails above MB megabytes or
MS milliseconds a turn.
"""

import datetime
import json
import os
import re
import signal
import sys
import threading
import time
import zlib

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "faults"))

import once_bench  # noqa: E402
from checks import needs  # noqa: E402
import server  # noqa: E402
from daemon_bench import Daemon, faketime_library, seconds  # noqa: E402
from moving import (CONFIGURATION, MovingBench,  # noqa: E402
                    MovingSite, answer)
from once_bench import want  # noqa: E402

BEGIN = 1772710200
SPEED = 20
TICK = os.sysconf("SC_CLK_TCK")
TURNED = re.compile(r"turn done, (\d+) files? changed, next turn (\S+) "
                    r"operation=(\S+) fresh=(\S+)")

SPECIES = ("sugar maple", "red maple", "black maple", "silver maple",
           "norway maple", "box elder")
WAYS = ("gathering = buckets\nbucket = %d gal", "gathering = gravity tubing",
        "gathering = vacuum %d inHg")


def configuration(number, port):
    """One operation; no two are alike."""
    tapped = datetime.date(2026, 2, 1) + datetime.timedelta(number % 30)
    way = WAYS[number % 3]
    if "%d" in way:
        way = way % (3 + number % 4 if number % 3 == 0 else 15 + number % 9)
    words = CONFIGURATION.replace("{port}", str(port))
    for old, new in (
            ("Tamarack Bend", "Sugarhouse %d" % number),
            ("45.06", "%.4f" % (42 + number % 100 * 0.05)),
            ("-71.90", "%.4f" % (-80 + number // 100 * 0.1)),
            ("450 m", "%d m" % (60 + number * 7 % 700)),
            ("taps = 140", "taps = %d" % (40 + number * 13 % 400)),
            ("bucket = 4 gal", "species = %s\n%s" % (
                SPECIES[number % len(SPECIES)], way)),
            ("2026-02-20", tapped.isoformat()),
            ("storage = 300 gal", "storage = %d gal" % (
                100 + number * 11 % 900)),
            ("evaporation = 28 gal/h",
             "evaporation = %d gal/h\nattended from = %02d:30\n"
             "attended to = %02d:00" % (15 + number % 40, 6 + number % 3,
                                        20 + number % 4))):
        assert old in words
        words = words.replace(old, new)
    return words


def write_configurations(bench, count):
    folder = bench.path("many")
    os.makedirs(folder)
    for number in range(count):
        with open(os.path.join(folder, "%05d.conf" % number), "w",
                  encoding="utf-8") as file:
            file.write(configuration(number, bench.port))
    return folder


class ManySite(MovingSite):
    """Each place has its own air: warmer or colder by up to 4 K. An answer is
    made once for five minutes and a tenth of a kelvin: the service shares the
    machine with what is measured."""

    def now(self):
        return self.clock() if self.clock else super().now()

    def reply(self, path):
        if path != once_bench.COMPLETE:
            return super().reply(path)
        asked = int(self.now() // 300) * 300
        warmer = zlib.crc32(self.thread.path.encode("utf-8")) % 81
        with self.lock:
            if self.made_at != asked:
                self.made_at, self.made = asked, {}
            if warmer not in self.made:
                whole = answer(asked)
                for row in whole["properties"]["timeseries"]:
                    warm(row["data"], (warmer - 40) / 10)
                self.made[warmer] = json.dumps(whole)
            body = self.made[warmer]
        return {"body": body, "headers": {"Expires": "{now+1800}"}}

    def note(self, handler):
        """No log of twenty thousand requests, but their number, and which
        place asks."""
        with self.lock:
            self.requests += 1
        self.thread.path = handler.path


def warm(data, more_k):
    for part in ("instant", "next_6_hours"):
        details = data.get(part, {}).get("details", {})
        for name in details:
            if name.startswith("air_temperature"):
                details[name] = round(details[name] + more_k, 1)


class ManyBench(MovingBench):
    """Its answers do not wait for the acknowledgement of their heads (40 ms
    each): no service's do."""

    def __init__(self, programs):
        server.Handler.disable_nagle_algorithm = True
        super().__init__(programs)
        self.site.__class__ = ManySite
        self.site.clock = None
        self.site.made_at, self.site.made = None, {}
        self.site.thread = threading.local()


class ManyDaemon(Daemon):
    """Its clock goes SPEED times as fast as the day, so that the services'
    limits do not make the cycles long. It is read from its file once a second
    and not at each look, which would be a part of what is measured."""

    def __init__(self, bench, at, folder):
        self.began = time.time()
        self.told = 0
        self.counts, self.nexts = {}, {}
        super().__init__(bench, at=at, folder=folder)
        self.began = time.time()
        bench.site.clock = self.now

    def clock_environment(self, turned):
        return {"FAKETIME_CACHE_DURATION": "1",
                "FAKETIME_TIMESTAMP_FILE": self.clock_path}

    def now(self):
        return (self.began + SPEED * (time.time() - self.began) + self.offset)

    def set_clock(self, at, wake=True):
        self.offset = at - self.began - SPEED * (time.time() - self.began)
        with open(self.clock_path + ".new", "w", encoding="ascii") as file:
            file.write("%+.3f x%d\n" % (self.offset, SPEED))
        os.replace(self.clock_path + ".new", self.clock_path)
        if wake:
            time.sleep(1.5)
            self.process.send_signal(signal.SIGCONT)

    def turns(self):
        """How many turns have ended since it was asked last."""
        with open(self.log_path, "rb") as file:
            file.seek(self.told)
            new = file.read()
        new = new[:new.rfind(b"\n") + 1]
        self.told += len(new)
        found = TURNED.findall(new.decode("utf-8"))
        for files, at, slug, fresh in found:
            if fresh != "yes" or int(files) == 0:
                want(False, "%s: no new forecast\n%s" % (
                    slug, self.about(slug)))
            self.counts[slug] = self.counts.get(slug, 0) + 1
            self.nexts[slug] = seconds(at)
        return len(found)


    def about(self, slug):
        """What the log says of one operation, and its last lines."""
        lines = self.log().splitlines()
        return "\n".join([line for line in lines
                          if "operation=" + slug in line][-5:] + lines[-20:])


def cpu_s(process):
    with open("/proc/%d/stat" % process.pid, encoding="ascii") as file:
        fields = file.read().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICK


def cycle(daemon, count):
    """Until each operation has turned once more; where nothing is under way
    the clock moves on to the next turn. The turns, what they took and the most
    memory in between."""
    began_s, before = cpu_s(daemon.process), dict(daemon.counts)
    highest_kb, turns, quiet = 0, 0, 0
    while len(daemon.counts) < count or any(
            daemon.counts[slug] == times for slug, times in before.items()):
        want(daemon.process.poll() is None, "it ended\n" + daemon.log()[-2000:])
        highest_kb = max(highest_kb, daemon.private_kb())
        new = daemon.turns()
        turns += new
        quiet = 0 if new else quiet + 1
        if quiet > 5 and len(daemon.nexts) == count:
            daemon.set_clock(max(min(daemon.nexts.values()), daemon.now()))
            quiet = 0
        time.sleep(0.1)
        while daemon.hear(0):
            pass
        del daemon.said[:]
    return turns, cpu_s(daemon.process) - began_s, highest_kb


def run(bench, count, most_mb, most_ms):
    bench.begin("bench")
    daemon = ManyDaemon(bench, BEGIN, write_configurations(bench, count))
    _, first_s, first_kb = cycle(daemon, count)
    _, again_s, again_kb = cycle(daemon, count)
    began = time.monotonic()
    turns, last_s, last_kb = cycle(daemon, count)
    most_kb = max(first_kb, again_kb, last_kb)
    wall_s = time.monotonic() - began
    errors = re.findall("(?m)^.* error: .*$", daemon.log())
    rest_kb = daemon.private_kb()
    daemon.end(wait_s=30)
    want(bench.site.requests >= sum(daemon.counts.values()),
         "fewer answers than turns")
    turn_ms = 1000 * last_s / turns
    print("%d operations: first cycle %.1f s CPU, second %.1f s, third %.1f s "
          "for %d turns (%.2f ms a turn); private memory at most %.1f MB, at "
          "the end %.1f MB" % (count, first_s, again_s, last_s, turns, turn_ms,
                               most_kb / 1024, rest_kb / 1024))
    print("operations %d 1\ncycle_cpu %.2f s\nturn_cpu %.3f ms\n"
          "cycle_wall %.1f s\nprivate_most %.2f MB" % (
              count, turn_ms * count / 1000, turn_ms, wall_s,
              most_kb / 1024))
    want(not errors, "\n".join(errors[:5]))
    want(most_kb / 1024 <= most_mb, "too much memory: %.1f MB of %g" % (
        most_kb / 1024, most_mb))
    want(turn_ms <= most_ms, "too much CPU time: %.2f ms a turn of %g" % (
        turn_ms, most_ms))


def main():
    programs = {"thawbelld": sys.argv[1]}
    count = int(sys.argv[2])
    most_mb = float(sys.argv[3]) if len(sys.argv) > 3 else 400
    most_ms = float(sys.argv[4]) if len(sys.argv) > 4 else 1e9
    needs(faketime_library() is not None, "the package faketime")
    once_bench.main([("%d operations" % count,
                      lambda bench: run(bench, count, most_mb, most_ms))],
                    ManyBench(programs), [])


if __name__ == "__main__":
    main()
