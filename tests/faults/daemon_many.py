#!/usr/bin/env python3
"""A hundred operations of twenty places in one thawbelld, at three services:
no service is asked more often than its row in src/source allows, none has two
questions under way, and what one operation has learnt no other asks again.

    python3 daemon_many.py THAWBELLD THAWBELL
"""

import collections
import os
import re
import time

import once_bench
from daemon_bench import Daemon, clock_programs
from once_bench import (COMPLETE, ENSEMBLE, FORECAST, GRID, METNO, NWS,
                        OPEN_METEO, POINTS, ROOT, START, want)

OPERATIONS, PLACES = 100, 20
ROWS = {NWS: "nws", METNO: "metno", OPEN_METEO: "open_meteo"}


def per_minute(name):
    """What src/source tells of a service."""
    with open(os.path.join(ROOT, "src", "source", name + ".c"),
              encoding="utf-8") as file:
        return int(re.search(r"\.per_minute =\s*(\d+)", file.read()).group(1))


def all_turned(daemon):
    return daemon.log().count("turn done") >= OPERATIONS


def asked_once(bench):
    """Each address once; those that the services' answers lead to as well."""
    asked = collections.Counter((line["address"], line["path"], line["query"])
                                for line in bench.requests())
    twice = [(what, times) for what, times in asked.items() if times > 1]
    want(not twice, "asked again: %s" % twice[:3])
    paths = collections.Counter(line["path"] for line in bench.requests())
    want(paths[COMPLETE] == PLACES and paths[ENSEMBLE] == PLACES, paths)
    want(paths[FORECAST] == 2 * PLACES, paths)  # the past is asked for apart
    want(sum(times for path, times in paths.items()
             if path.startswith("/points/")) == PLACES, paths)
    want(paths[GRID] == 1, "one grid cell for all: %s" % paths)


def within_limits(bench):
    """Any few questions in a row take as long as the limit wants; they are
    noted where they arrive, so a little late or early."""
    for address, name in ROWS.items():
        lines = bench.requests(address)
        want(all(line["in_flight"] == 1 for line in lines),
             "%s: two at a time" % name)
        most = per_minute(name)
        times = [line["at"] for line in lines]
        for row in (10, len(times) - 1):
            took = min(last - first for first, last in
                       zip(times, times[row:]))
            want(took >= row * 60 / most - 0.5,
                 "%s: %d questions in %.2f s, %d a minute allowed" % (
                     name, row, took, most))
        print("%s: %d questions in %.1f s" % (name, len(times),
                                              times[-1] - times[0]))


def run(bench):
    bench.begin("many")
    # Each place has its look-up; all lie in one cell.
    good = bench.site.scenario[POINTS]
    bench.serve_paths({"/points/*": good})
    daemon = Daemon(bench, at=START, turned=False,
                    folder=bench.write_many(OPERATIONS, PLACES))
    end = time.monotonic() + 300
    while not all_turned(daemon):
        want(daemon.process.poll() is None, "it ended\n" + daemon.log()[-2000:])
        want(time.monotonic() < end, "too slow\n" + daemon.log()[-2000:])
        daemon.hear(0.2)
    daemon.logged("turn done.*fresh=yes", OPERATIONS)
    daemon.end(wait_s=30)
    asked_once(bench)
    within_limits(bench)


if __name__ == "__main__":
    once_bench.main([("a hundred operations", run)],
                    once_bench.Bench(clock_programs()))
