#!/usr/bin/env python3
"""thawbelld as a daemon: start, turns, reload, signals, outages, damage.

    python3 daemon_life.py THAWBELLD THAWBELL [CASE...]

Private memory is that of the build named in THAWBELL_OTHER_BUILD where these
programs are sanitized, as in daemon_season.py.
"""

import http.client
import json
import os
import resource
import shutil
import signal
import sqlite3
import time

import once_bench
from checks import free_port
from daemon_bench import (Daemon, clock_programs, sanitized, seconds,
                          unsanitized)
from once_bench import (COMPLETE, ENSEMBLE, FORECAST, GRID, HOUR, POINTS,
                        START, want)

OVERLOADED = {"fault": "overloaded"}
MORNING = START - HOUR  # 05:30 at the bush, when the mail is due
ALL = (POINTS, GRID, COMPLETE, FORECAST, ENSEMBLE)


def all_down(fault):
    return {path: {"fault": fault} for path in ALL}


def ready(daemon):
    daemon.wait_for("^READY=1$")


def start(bench, name, **options):
    bench.begin(name)
    daemon = Daemon(bench, at=START, **options)
    ready(daemon)
    return daemon


def get(port, path):
    reader = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    try:
        reader.request("GET", path)
        answer = reader.getresponse()
        answer.read()
        return answer
    finally:
        reader.close()


def first_start(bench):
    """Ready after the first bulletin is published; a clean end."""
    daemon = start(bench, "first-start")
    bulletin, calendar = bench.both()
    want(json.loads(bulletin)["days"], "days")
    want(calendar.startswith("BEGIN:VCALENDAR"), "a calendar")
    daemon.wait_for(r"^STATUS=1 operation; oldest weather of .*; next turn")
    print("        %d descriptors" % daemon.descriptors())
    began = time.monotonic()
    daemon.end()
    want(time.monotonic() - began < 3, "a quick end")
    want("STOPPING=1" in daemon.said, "says that it stops")
    daemon.logged("thawbelld ends", 1)
    daemon.logged("warning: .*is an example, not an address", 1)
    daemon.logged("(?i)warning|error", 1)


def after_turns_kb(bench):
    """After the first turn, and in six more."""
    daemon = start(bench, "private-memory")
    at, all_kb = daemon.next_turn(START), [daemon.private_kb()]
    for _ in range(6):
        daemon.set_clock(at)
        at = daemon.next_turn(at)
        all_kb.append(daemon.private_kb())
    daemon.end()
    return all_kb


def with_all_parts_kb(bench):
    """At every moment of a morning with a plan, a reader of the page, and a
    mail with its chart, which nobody takes."""
    bench.begin("all-parts")
    page, mail = free_port(), free_port()
    with open(bench.path("bend.conf"), encoding="utf-8") as file:
        words = file.read()
    with open(bench.path("bend.conf"), "w", encoding="utf-8") as file:
        file.write(words.replace(
            "publish = public",
            "publish = public\nlisten = 127.0.0.1:%d\n" % page +
            "[sugarhouse]\nstorage = 300 gal\nevaporation = 28 gal/h\n"
            "[mail]\nserver = smtp://127.0.0.1:%d\n" % mail +
            "from = a@bush.test\nto = b@bush.test"))
    daemon = Daemon(bench, at=MORNING - 8, turned=False)
    all_kb, answer = [], None
    end = time.monotonic() + 60
    while "mail (morning) to" not in daemon.log() or not answer:
        all_kb.append(daemon.private_kb())
        want(time.monotonic() < end, "no mail\n" + daemon.log())
        if not answer and "READY=1" in daemon.said:
            with open(bench.path("state", "thawbell", "tamarack-bend.token"),
                      encoding="ascii") as file:
                answer = get(page, "/%s/" % file.read().strip())
        daemon.hear(0.002)
    want(answer.status == 200, answer.status)
    daemon.end()
    return all_kb


def private_memory(bench):
    own, bench.programs = bench.programs, unsanitized(bench.programs)
    try:
        if sanitized(bench.programs["thawbelld"]):
            print("        NOT LOOKED AT: needs a build without sanitizers, "
                  "named in THAWBELL_OTHER_BUILD")
            want(os.environ.get("CI") != "true", "private memory not looked at")
            return
        for look in (after_turns_kb, with_all_parts_kb):
            all_kb = look(bench)
            print("        RssAnon at most %d kB" % max(all_kb))
            want(max(all_kb) < 8192, "private memory of %d kB" % max(all_kb))
    finally:
        bench.programs = own


def turns_follow_the_clock(bench):
    daemon = start(bench, "clock")
    at = daemon.next_turn(START)
    want(START + 60 <= at <= START + HOUR, "a turn within the hour")
    for _ in range(6):
        daemon.set_clock(at)
        after = daemon.next_turn(at)
        want(at < after <= at + HOUR + 5, "the next one within the hour")
        at = after
    made = seconds(json.loads(bench.both()[0])["made"])
    want(START + 1200 < made <= at, "it went on: %d" % made)
    daemon.end()


def sleep_and_wrong_clocks(bench):
    """A machine that slept turns late; a clock that was a year ahead and is
    set right again does not stop the turns."""
    daemon = start(bench, "sleep")
    daemon.next_turn(START)
    daemon.set_clock(START + 20 * HOUR)
    daemon.next_turn(START + 20 * HOUR)
    daemon.logged("turn done", 2)
    daemon.logged("clock was set", 0)
    daemon.end()
    daemon = start(bench, "wrong", steady=True)
    daemon.next_turn(START)
    daemon.set_clock(START + 24 * 365 * HOUR)
    daemon.next_turn(START + 24 * 365 * HOUR)
    daemon.set_clock(START + 21 * HOUR)
    daemon.wait_log("(?s)turn done.*turn done.*turn done")
    daemon.logged(r"clock was set by \+315\d\d\d\d\d s", 1)
    daemon.logged(r"clock was set by -314\d\d\d\d\d s", 1)
    daemon.end()


def reload_good_and_bad(bench):
    daemon = start(bench, "reload")
    daemon.next_turn(START)
    with open(bench.path("bend.conf"), encoding="utf-8") as file:
        good = file.read()
    with open(bench.path("bend.conf"), "w", encoding="utf-8") as file:
        file.write(good.replace("taps = 140", "taps = many\ntabs = 3"))
    daemon.process.send_signal(signal.SIGHUP)
    daemon.wait_for("RELOADING=1\nMONOTONIC_USEC=\\d+$")
    daemon.wait_for("STATUS=new configuration refused, the old one stays")
    daemon.logged(r"bend\.conf:\d+: .*many")
    daemon.logged(r"bend\.conf:\d+: .*tabs")
    want(daemon.said[-1] != "", "alive")
    with open(bench.path("bend.conf"), "w", encoding="utf-8") as file:
        file.write(good.replace("taps = 140", "taps = 150"))
    since = len(daemon.said)
    daemon.process.send_signal(signal.SIGHUP)
    daemon.wait_for("^READY=1$", since=since)
    daemon.wait_log("configuration read anew: 1 operation$")
    daemon.wait_log("(?s)turn done.*turn done")
    want(json.loads(bench.both()[0])["bushes"][0]["taps"] == 150, "in force")
    daemon.end()


def bad_from_the_start(bench):
    bench.begin("bad-start")
    with open(bench.path("bend.conf"), "a", encoding="utf-8") as file:
        file.write("[calender]\n")
    daemon = Daemon(bench)
    daemon.process.wait(10)
    want(daemon.process.returncode == 2, "2 for a wrong configuration")
    daemon.logged("calender")
    daemon.manager.close()


def two_at_once(bench):
    daemon = start(bench, "two")
    other = bench.once(START)
    other.ends(75)
    other.says("another thawbelld is at work with this folder")
    daemon.end()


def signals(bench):
    """SIGTERM in the middle of a turn that hangs; SIGINT twice."""
    bench.begin("signals")
    bench.serve_paths(all_down("silent"))
    daemon = Daemon(bench, at=START)
    time.sleep(1)
    began = time.monotonic()
    daemon.end()
    want(time.monotonic() - began < 9, "within ten seconds")
    daemon = Daemon(bench, at=START)
    time.sleep(1)
    daemon.process.send_signal(signal.SIGINT)
    daemon.end(number=signal.SIGINT)


def outage(bench, name, begins, ends, why):
    """The last bulletin stays, its age is told, what is wrong is said, of each
    service once, and all is well again when the services are. The machine
    sleeps between the looks: four turns in eight hours are enough."""
    daemon = start(bench, "outage-" + name)
    daemon.next_turn(START)
    before = json.loads(bench.both()[0])["weather_fetched"]
    begins()
    for hours in (1, 2, 5, 8):
        daemon.set_clock(START + hours * HOUR)
        daemon.next_turn(START + hours * HOUR, wait_s=200)
    at = START + 8 * HOUR
    want(json.loads(bench.both()[0])["weather_fetched"] == before, "it is kept")
    line = bench.line(at + HOUR // 6)  # the first turn took its time
    want("Forecast 8 h old." in line, "no age in: " + line)
    daemon.wait_for("STATUS=.*1 in trouble, Tamarack Bend since "
                    r"2026-03-05T12:3\S+: " + why)
    daemon.logged("warning: Tamarack Bend: %s.*; asking again at" % why, 3)
    ends()
    for _ in range(5):
        at += 2 * HOUR
        daemon.set_clock(at)
        daemon.next_turn(at)
        if "all is well again" in daemon.log():
            break
    daemon.logged("all is well again; something was wrong since "
                  "2026-03-05T07:3", 1)
    want(json.loads(bench.both()[0])["weather_fetched"] > before, "fresh again")
    daemon.end()


def outages(bench):
    for fault, why in (("broken", "answered 500"),
                       ("overloaded", "answered 503"),
                       ("forbidden", "refuses us with status 403"),
                       ("limit-seconds", "answered 429"),
                       ("html", "answered with a web page in place of data"),
                       ("reset", "broke off in its answer")):
        outage(bench, fault, lambda: bench.serve_paths(all_down(fault)),
               bench.serve, r"127\S+ " + why)


def only_one_left(bench):
    """All have been asked, and all but metno have answered."""
    return (bench.requests(FORECAST) and bench.requests(COMPLETE) and
            not bench.site.in_flight.get(once_bench.NWS) and
            not bench.site.in_flight.get(once_bench.OPEN_METEO))


def slow_services(bench):
    """A drip, an endless body and silence hold up neither the turn for more
    than a minute nor a signal."""
    for fault in ("drip", "endless", "silent"):
        daemon = start(bench, "slow-" + fault)
        daemon.next_turn(START)
        bench.serve_paths({COMPLETE: {"fault": fault}})
        at = START + 2 * HOUR
        daemon.set_clock(at)
        end = time.monotonic() + 60
        while not only_one_left(bench):
            want(time.monotonic() < end, "never asked")
            daemon.hear(0.05)
        time.sleep(1)  # the others' last bytes
        daemon.set_clock(at + 50)  # the forty seconds of one address are over
        daemon.next_turn(at, wait_s=30)
        daemon.logged("127.0.0.2")
        want(bench.fetched("open-meteo") > START, "the others go on")
        daemon.end()


def no_names(bench):
    bench.begin("no-names")
    with open(bench.path("bend.conf"), encoding="utf-8") as file:
        words = file.read()
    with open(bench.path("bend.conf"), "w", encoding="utf-8") as file:
        file.write(words.replace("http://127.0.0.2:%d" % bench.port,
                                 "https://no-such-host.invalid"))
    daemon = Daemon(bench, at=START, turned=False)
    ready(daemon)
    daemon.logged("no-such-host.invalid")
    want(json.loads(bench.both()[0])["days"], "others make up for it")
    daemon.end()


def damaged_store(bench):
    """Damaged while it stands, and while the daemon runs."""
    daemon = start(bench, "damage")
    at = daemon.next_turn(START)
    daemon.end()
    path = bench.path("state", "thawbell", "thawbell.db")
    with open(path, "r+b") as file:
        file.seek(4096)
        file.write(b"\xff" * 65536)
    daemon = Daemon(bench, at=at)
    ready(daemon)
    daemon.logged("the database was damaged; it is kept as .*damaged-")
    want(json.loads(bench.both()[0])["days"], "it goes on")
    at = daemon.next_turn(at)
    os.rename(path, path + ".away")
    daemon.set_clock(at)
    at = daemon.next_turn(at)
    daemon.wait_log("the store is damaged or was taken away")
    daemon.set_clock(at)
    at = daemon.next_turn(at)
    want(os.path.exists(path), "a new one")
    daemon.end()
    base = sqlite3.connect(path)
    want(base.execute("PRAGMA integrity_check").fetchone()[0] == "ok", "sound")
    want(base.execute("SELECT count(*) FROM event").fetchone()[0] > 0,
         "with events")


def full_disk(bench):
    """No file may grow: the last good ones stay whole, it says so, and goes
    on when there is room again."""
    daemon = start(bench, "full")
    at = daemon.next_turn(START)
    before = bench.both()
    daemon.set_clock(at)
    limit = resource.prlimit(daemon.process.pid, resource.RLIMIT_FSIZE)
    resource.prlimit(daemon.process.pid, resource.RLIMIT_FSIZE,
                     (2048, limit[1]))
    at = daemon.next_turn(at)
    for _ in range(3):
        daemon.set_clock(at)
        at = daemon.next_turn(at)
    want(bench.both() == before, "what was published stays, whole")
    want(daemon.process.poll() is None, "it lives")
    daemon.wait_for("STATUS=.*in trouble, Tamarack Bend since")
    resource.prlimit(daemon.process.pid, resource.RLIMIT_FSIZE, limit)
    for _ in range(15):
        daemon.set_clock(at)
        at = daemon.next_turn(at)
        if "all is well again" in daemon.log():
            break
    daemon.logged("all is well again", 1)
    want(bench.both()[0] != before[0], "published again")
    daemon.end()


def read_only_folder(bench):
    """The publish folder is a file: nothing can be written there."""
    daemon = start(bench, "folder")
    at = daemon.next_turn(START)
    public = bench.path("public")
    os.rename(public, public + ".kept")
    with open(public, "w", encoding="ascii"):
        pass
    for _ in range(3):
        daemon.set_clock(at)
        soon = daemon.next_turn(at)
        want(soon <= at + 310, "it tries again in five minutes")
        at = soon
    daemon.logged("public")
    daemon.logged("turn done")
    os.remove(public)
    shutil.move(public + ".kept", public)
    for _ in range(3):
        daemon.set_clock(at)
        at = daemon.next_turn(at)
    daemon.logged("all is well again", 1)
    daemon.end()


def watchdog(bench):
    """Signs of life come from the loop."""
    bench.begin("watchdog")
    daemon = Daemon(bench, environment={"WATCHDOG_USEC": "1000000"})
    end = time.monotonic() + 4
    while time.monotonic() < end:
        daemon.hear(0.2)
    signs = daemon.said.count("WATCHDOG=1")
    want(5 <= signs <= 12, "%d signs of life in 4 s" % signs)
    daemon.end()


CASES = [
    ("first start", first_start),
    ("private memory", private_memory),
    ("turns follow the clock", turns_follow_the_clock),
    ("sleep and wrong clocks", sleep_and_wrong_clocks),
    ("reload", reload_good_and_bad),
    ("bad from the start", bad_from_the_start),
    ("two at once", two_at_once),
    ("signals", signals),
    ("outages", outages),
    ("slow services", slow_services),
    ("no names", no_names),
    ("damaged store", damaged_store),
    ("full disk", full_disk),
    ("read-only folder", read_only_folder),
    ("watchdog", watchdog),
]

if __name__ == "__main__":
    once_bench.main(CASES, once_bench.Bench(clock_programs()))
