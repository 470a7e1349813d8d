#!/usr/bin/env python3
"""Many operations in one thawbelld: what they cost, with invented answers.

    python3 many.py THAWBELLD COUNT [MB [MS]]

Writes COUNT configurations, each with a bush in another place, serves each its
own ten days of weather (one service, tests/faults/moving.py) and lets the real
program turn them all once, twice over: the first cycle fills store and cache,
the second is the one that counts. Tells the CPU time of a turn and the private
memory at its highest; fails above MB megabytes or MS milliseconds a turn.
"""

import os
import re
import sys
import time

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "faults"))

from daemon_bench import Daemon, faketime_library  # noqa: E402
from moving import CONFIGURATION, MovingBench  # noqa: E402
from once_bench import Wrong, want  # noqa: E402

BEGIN = 1772710200
TICK = os.sysconf("SC_CLK_TCK")


def write_configurations(bench, count):
    folder = bench.path("many")
    os.makedirs(folder)
    for number in range(count):
        words = CONFIGURATION.replace("{port}", str(bench.port))
        words = words.replace("Tamarack Bend", "Sugarhouse %d" % number)
        words = words.replace("45.06", "%.4f" % (43 + number % 100 * 0.04))
        words = words.replace("-71.90", "%.4f" % (-80 + number // 100 * 0.08))
        with open(os.path.join(folder, "%05d.conf" % number), "w",
                  encoding="utf-8") as file:
            file.write(words)
    return folder


def cpu_s(process):
    with open("/proc/%d/stat" % process.pid, encoding="ascii") as file:
        fields = file.read().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICK


def turned(daemon):
    return daemon.log().count("turn done")


def cycle(daemon, at, goal, began_s):
    """Moves the clock on until so many turns are over."""
    highest_kb, last = 0, -1
    while turned(daemon) < goal:
        want(daemon.process.poll() is None, "it ended\n" + daemon.log()[-2000:])
        highest_kb = max(highest_kb, daemon.private_kb())
        now = turned(daemon)
        if now == last:
            at += 60
            daemon.set_clock(at)
        last = now
        time.sleep(0.5)
        while daemon.hear(0):
            pass
        del daemon.said[:]
    return at, cpu_s(daemon.process) - began_s, highest_kb


def run(bench, count, most_mb, most_ms):
    bench.begin("bench")
    daemon = Daemon(bench, at=BEGIN, folder=write_configurations(bench, count))
    at, first_s, first_kb = cycle(daemon, BEGIN, count, 0)
    at, second_s, second_kb = cycle(daemon, at, 2 * count, first_s)
    errors = re.findall("(?m)^.* error: .*$", daemon.log())
    rest_kb = daemon.private_kb()
    daemon.end(wait_s=30)
    turn_ms = 1000 * second_s / count
    print("%d operations: first cycle %.1f s CPU, second %.1f s (%.1f ms a "
          "turn); private memory at most %.1f MB, at the end %.1f MB" % (
              count, first_s, second_s, turn_ms,
              max(first_kb, second_kb) / 1024, rest_kb / 1024))
    want(not errors, "\n".join(errors[:5]))
    want(max(first_kb, second_kb) / 1024 <= most_mb, "too much memory")
    want(turn_ms <= most_ms, "too much CPU time")


def main():
    if faketime_library() is None:
        print("skipped: needs the package faketime")
        return 1 if os.environ.get("CI") == "true" else 77
    count = int(sys.argv[2])
    most_mb = float(sys.argv[3]) if len(sys.argv) > 3 else 400
    most_ms = float(sys.argv[4]) if len(sys.argv) > 4 else 1e9
    bench = MovingBench({"thawbelld": sys.argv[1], "thawbell": sys.argv[1]})
    try:
        run(bench, count, most_mb, most_ms)
    except Wrong as why:
        print("FAILED: %s" % str(why)[-3000:])
        return 1
    finally:
        bench.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
