#!/usr/bin/env python3
"""Forty operations of one thawbelld on a slow disk.

    python3 daemon_slow.py THAWBELLD THAWBELL SLOW_FLUSH

Each turn's flush takes a second (slow_flush.c). The service manager gets its
signs of life all the same, two turns apart at most and not eight, which is as
many as may have their answers at once; and who ends the daemon waits no longer
than for the turn under way. THAWBELL_OTHER_BUILD as in daemon_season.py.
"""

import re
import subprocess
import sys
import time

import once_bench
from daemon_bench import Daemon, unsanitized
from moving import MovingBench
from once_bench import want

OPERATIONS, TURNS = 40, 16
MOST_S = 5  # a look round after a second and the turn that is under way: 2


def asan(program):
    names = subprocess.run(["ldd", program], capture_output=True, text=True,
                           check=False).stdout
    return re.findall(r"=> (\S*libasan\S*)", names)


def signs(daemon, turns):
    """When the signs of life come, until so many turns have ended."""
    times, end = [], time.monotonic() + 120
    while daemon.log().count("turn done") < turns:
        want(daemon.process.poll() is None and time.monotonic() < end,
             "too few turns\n" + daemon.log())
        heard = len(daemon.said)
        daemon.hear(0.05)
        if any("WATCHDOG=1" in words for words in daemon.said[heard:]):
            times.append(time.monotonic())
    return times


def run(bench, slow):
    bench.begin("slow")
    bench.site.fixed_now = None
    program = bench.programs["thawbelld"]
    folder = bench.write_many(OPERATIONS)
    daemon = Daemon(bench, folder=folder, environment={
        "WATCHDOG_USEC": "2000000",
        "LD_PRELOAD": " ".join(asan(program) + [slow])})
    began = time.monotonic()
    times = [began] + signs(daemon, TURNS)
    want(time.monotonic() - began > TURNS, "the disk is not slow")
    most = max(after - before for before, after in zip(times, times[1:]))
    print("%d signs of life in %d turns, at most %.1f s apart" % (
        len(times) - 1, TURNS, most))
    want(most < MOST_S, "no sign of life for %.1f s" % most)
    began = time.monotonic()
    daemon.end(wait_s=MOST_S)
    print("ended in %.1f s" % (time.monotonic() - began))


def main():
    programs = unsanitized(once_bench.named_programs())
    slow = sys.argv[3]
    once_bench.main([("a slow disk", lambda bench: run(bench, slow))],
                    MovingBench(programs), [])


if __name__ == "__main__":
    main()
