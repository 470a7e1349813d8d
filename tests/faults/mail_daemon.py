#!/usr/bin/env python3
"""The mail of the running thawbelld under a turned clock, against a real mail
server (aiosmtpd): in time without a new forecast, once through sudden ends,
by the fresh bulletin after a sleep, and no wait of anybody for a server that
hangs.

    python3 mail_daemon.py THAWBELLD THAWBELL

Needs the system's Python with python3-aiosmtpd, openssl and faketime."""

import json
import os
import re
import sys
import time
import urllib.request

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "peers"))

import once_bench  # noqa: E402
from checks import free_port, needs  # noqa: E402
from daemon_bench import (Daemon, clock_programs, sanitized,  # noqa: E402
                          unsanitized)
from mail_once import Case, DAY, MORNING, TO, read  # noqa: E402
from moving import MovingBench  # noqa: E402
from once_bench import HOUR, want  # noqa: E402

RUN = MORNING + 2 * DAY + 8 * HOUR  # 7 March, 13:30: the big thaw


def wait_for(daemon, what, good, seconds=60):
    end = time.monotonic() + seconds
    while not good():
        want(time.monotonic() < end, "never: %s\n%s" % (what, daemon.log()))
        daemon.hear(0.05)


def status(bench):
    return json.loads(bench.published("mail.json"))


def listen(bench):
    """Has the operation served; returns the port."""
    port = free_port()
    with open(bench.path("bend.conf"), encoding="utf-8") as file:
        words = file.read()
    with open(bench.path("bend.conf"), "w", encoding="utf-8") as file:
        file.write(words.replace(
            "publish = public",
            "publish = public\nlisten = 127.0.0.1:%d" % port))
    return port


def waiting_by_metrics(bench, port):
    with open(bench.path("state", "thawbell", "tamarack-bend.token"),
              encoding="ascii") as file:
        token = file.read().strip()
    with urllib.request.urlopen("http://127.0.0.1:%d/%s/metrics" % (
            port, token), timeout=5) as answer:
        return int(re.search(r'thawbell_mail\{state="waiting"\} (\d+)',
                             answer.read().decode()).group(1))


def in_time(bench):
    """At its hour, though no turn is due then; once, though it is killed and
    begins anew."""
    with Case(bench, "in-time", plain=True) as case:
        port = listen(bench)
        daemon = Daemon(bench, at=MORNING - 180, steady=True)
        daemon.next_turn(MORNING - 180)
        want(not case.taken(), "before its hour")
        # The figures follow the mail at once, not with the next turn.
        case.script["mail"] = "451 4.3.0 come back later"
        daemon.set_clock(MORNING + 1)
        wait_for(daemon, "two that wait",
                 lambda: waiting_by_metrics(bench, port) == 2, seconds=20)
        wait_for(daemon, "both refused",
                 lambda: daemon.log().count("takes no mail for now") == 2)
        case.script.clear()
        daemon.set_clock(MORNING + 320)
        wait_for(daemon, "the morning mail", lambda: len(case.taken()) == 2)
        want({mail.recipients[0] for mail in case.taken()} == set(TO),
             "to whom")
        moment = read(case.taken()[0])["Date"].datetime
        want((moment.hour, moment.minute) == (5, 30), moment)
        wait_for(daemon, "the status", lambda: status(bench)["waiting"] == 0)
        wait_for(daemon, "none that waits",
                 lambda: waiting_by_metrics(bench, port) == 0, seconds=20)
        daemon.logged("turn done", 1)
        daemon.kill()
        daemon = Daemon(bench, at=MORNING + 600, steady=True)
        daemon.next_turn(MORNING + 600)
        daemon.set_clock(MORNING + 2 * HOUR)
        daemon.next_turn(MORNING + 2 * HOUR)
        want(len(case.taken()) == 2, "%d mails" % len(case.taken()))
        daemon.end()


def words_of(mail):
    message = read(mail)
    return message["Subject"] + "\n" + \
        message.get_body(("plain",)).get_content()


def turned_once(case, at, **how):
    """The bench of moving weather begins a case with one turn; returns its
    daemon."""
    daemon = Daemon(case.bench, at=at, **how)
    daemon.wait_for("^READY=1$")
    daemon.next_turn(at)
    daemon.logged("turn done", 1)
    want(not case.taken(), "before its hour")
    return daemon


def morning_mail(daemon, case, at):
    """The morning mail of this hour, and nothing besides; its words."""
    wait_for(daemon, "the morning mail", lambda: len(case.taken()) == 2)
    want({mail.recipients[0] for mail in case.taken()} == set(TO), "to whom")
    for mail in case.taken():
        made = read(mail)["Date"].datetime.timestamp()
        want(at - 1 < made < at + 120, once_bench.iso(made))
    wait_for(daemon, "the status",
             lambda: status(case.bench)["waiting"] == 0)
    return words_of(case.taken()[0])


def fresh_after_a_sleep(bench):
    """Turn and mail are due together: the mail is made of what the turn
    brings, not of what was published days ago."""
    for name, steady in (("slept", False), ("clock-set", True)):
        with Case(bench, name, plain=True) as case:
            daemon = turned_once(case, MORNING - 5 * HOUR, steady=steady)
            at = MORNING + 2 * DAY + 1200
            daemon.set_clock(at)
            words = morning_mail(daemon, case, at)
            want(" h old" not in words, words)
            daemon.logged("turn done", 2)
            daemon.end()


def no_false_alert(bench):
    """In the afternoon after thirty hours asleep the weather is a day old, for
    a second: nobody is told, unless it stays so."""
    with Case(bench, "alerts", plain=True, alerts=None) as case:
        daemon = turned_once(case, MORNING + 8 * HOUR)
        for at in (MORNING + 38 * HOUR, MORNING + 39 * HOUR):
            daemon.set_clock(at)
            daemon.next_turn(at)
        daemon.logged("turn done", 3)
        wait_for(daemon, "the status", lambda: status(bench)["waiting"] == 0)
        want(not any(" h old" in words_of(mail) for mail in case.taken()),
             [words_of(mail) for mail in case.taken()])
        bench.site.reply = lambda path: {"fault": "overloaded"}
        try:
            daemon.set_clock(MORNING + 69 * HOUR)
            wait_for(daemon, "the alert", lambda: len(
                [mail for mail in case.taken()
                 if " 30 h old" in words_of(mail)]) == 2)
        finally:
            del bench.site.reply
        daemon.end()


def fresh_after_a_start(bench):
    """The machine is switched on at the mail's hour, what is published is of
    two days ago."""
    with Case(bench, "started", plain=True) as case:
        turned_once(case, MORNING - 5 * HOUR).end()
        at = MORNING + 2 * DAY + 1
        daemon = Daemon(bench, at=at)
        words = morning_mail(daemon, case, at)
        want(" h old" not in words, words)
        daemon.logged("turn done", 2)
        daemon.end()


def late_not_lost(bench):
    """The turn that the mail waits for brings nothing: services that are
    silent until they are given up. The mail tells the age of the weather."""
    with Case(bench, "silent", plain=True) as case:
        daemon = turned_once(case, MORNING - 5 * HOUR)
        at = MORNING + 2 * DAY + 1200
        bench.site.reply = lambda path: {"fault": "silent"}
        try:
            daemon.set_clock(at)
            words = morning_mail(daemon, case, at)
        finally:
            del bench.site.reply
        want("53 h old" in words, words)
        daemon.logged("turn done", 2)
        daemon.end()


def with_moving_weather(case):
    """The case on a bench whose service answers for the clock's moment."""
    def run(bench):
        moving = MovingBench(bench.programs)
        try:
            case(moving)
        finally:
            moving.close()
    return run


def a_server_that_hangs(bench):
    """The loop goes on, and the end comes within ten seconds; what was under
    way then goes after the next start, the same to the byte."""
    with Case(bench, "hangs", plain=True) as case:
        case.script["taken"] = "hang"
        daemon = Daemon(bench, at=MORNING - 1100, steady=True)
        turn = daemon.next_turn(MORNING - 1100)
        # Within the ten minutes that a server is given to think it over.
        want(MORNING < turn < MORNING + 500, once_bench.iso(turn))
        daemon.set_clock(MORNING + 1)
        wait_for(daemon, "the body", lambda: len(case.taken()) == 2)
        daemon.set_clock(turn + 1)
        daemon.next_turn(turn + 1)  # turns go on
        begun = time.monotonic()
        daemon.end(wait_s=14)
        want(time.monotonic() - begun < 13, "a long end")
        case.script.clear()
        daemon = Daemon(bench, at=MORNING + HOUR, steady=True)
        wait_for(daemon, "the repeat", lambda: len(case.taken()) == 4)
        for one in case.taken()[:2]:
            want(any(one.bytes == other.bytes
                     for other in case.taken()[2:]), "another mail")
        daemon.wait_log("may come twice")
        daemon.end()


def nowhere_to_publish(bench):
    """What is due goes by mail while nothing can be written for the page: by
    the bulletin that was made, once, and not again when there is room."""
    with Case(bench, "nowhere", plain=True, alerts="run starting") as case:
        public = bench.path("public")
        with open(public, "w", encoding="ascii"):
            pass
        daemon = Daemon(bench, at=MORNING - 180, steady=True)
        daemon.next_turn(MORNING - 180)
        daemon.wait_for("STATUS=1 operation; nothing published yet; next turn"
                        r" .*; 1 in trouble, Tamarack Bend since .*public")
        # By the clock, there is nothing to go by: the turn that tries anew
        # tells it.
        daemon.set_clock(MORNING + 1)
        at = daemon.next_turn(MORNING + 1)
        daemon.set_clock(at)
        at = daemon.next_turn(at)
        wait_for(daemon, "the morning mail", lambda: len(case.taken()) == 2)
        moment = read(case.taken()[0])["Date"].datetime
        want((5, 30) <= (moment.hour, moment.minute) <= (5, 40), moment)
        for turn in (RUN, RUN + HOUR):
            daemon.set_clock(turn)
            at = daemon.next_turn(turn)
            wait_for(daemon, "the alert", lambda: len(case.taken()) == 4)
        want(all(" run, " in read(mail)["Subject"]
                 for mail in case.taken()[2:]),
             [read(mail)["Subject"] for mail in case.taken()])
        os.remove(public)
        for _ in range(2):
            daemon.set_clock(at)
            at = daemon.next_turn(at)
        daemon.logged("all is well again", 1)
        want(json.loads(bench.both()[0])["days"], "published")
        want(len(case.taken()) == 4, "%d mails" % len(case.taken()))
        daemon.end()


def main():
    # Turned clocks, threads and a sanitizer stand in each other's way.
    programs = unsanitized(clock_programs())
    needs(not sanitized(programs["thawbelld"]),
          "a build without sanitizers, named in THAWBELL_OTHER_BUILD")
    # The relay is a plain one: a certificate made today is not valid yet
    # when the clock says March 2026.
    once_bench.main(
        [(case.__name__, case) for case in (
            in_time, a_server_that_hangs, nowhere_to_publish)] +
        [(case.__name__, with_moving_weather(case)) for case in (
            fresh_after_a_sleep, no_false_alert, fresh_after_a_start,
            late_not_lost)],
        once_bench.Bench(programs))


if __name__ == "__main__":
    main()
