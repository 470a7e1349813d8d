#!/usr/bin/env python3
"""A season of the real thawbelld under a turned clock: February to May, four
looks at the clock a day, hourly around the change to summer time; then the
days around the change in Europe.

    python3 daemon_season.py THAWBELLD THAWBELL

Every turn comes when it is due, each civil day begins with one, no calendar
event is doubled or lost (moving.py: past days stay, cancelled ones for two
days, and these go then), memory and descriptors at the end are those of the
first day. Each morning mail comes to each recipient exactly once, at the
configured hour of the wall clock, and no mail of any kind comes twice.

A sanitized program is slow, keeps what it frees, and stands still when its
threads meet a turned clock: it gets three weeks around the change to summer
time, without mail and without a look at its memory. THAWBELL_OTHER_BUILD names
a build folder without sanitizers to be used instead.

Needs the system's Python with python3-aiosmtpd, and faketime.
"""

import collections
import datetime
import email
import email.policy
import json
import os
import re
import sys
import time
import zoneinfo

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "peers"))

import once_bench  # noqa: E402
from daemon_bench import (Daemon, clock_programs, sanitized,  # noqa: E402
                          seconds, unsanitized)
from mail_peer import MailServer  # noqa: E402
from moving import (HOUR, MovingBench, events, is_kept,  # noqa: E402
                    none_lost)
from once_bench import iso, want  # noqa: E402

TO = ["ann@bush.test", "bob@farm.test"]
TURN, MAIL = "turn", "mail"
MOST_KB = 8192


class Place:
    """Where a season is lived: its zone, and when the clocks change there.
    The morning's hour is that of the wall clock; on the day of the change it
    may not exist, and then it is the first instant after the gap."""

    def __init__(self, zone, change, morning, morning_of_change):
        self.name = zone
        self.zone = zoneinfo.ZoneInfo(zone)
        self.change = change
        self.morning, self.morning_of_change = morning, morning_of_change

    def instant(self, day, hour, minute=0):
        return int(datetime.datetime.combine(
            day, datetime.time(hour, minute), self.zone).timestamp())

    def morning_at(self, day):
        """Hour and minute that the wall clock shows."""
        return self.morning_of_change if day == self.change else self.morning

    def changing(self, day):
        return abs((day - self.change).days) <= 1


# 15 U.S.C. 260a: the second Sunday of March, at 2 o'clock.
AMERICA = Place("America/New_York", datetime.date(2026, 3, 8), (5, 30), (5, 30))
# Directive 2000/84/EC: the last Sunday of March, at 1 o'clock UTC, which is 2
# o'clock there. Half past two does not come on that day.
EUROPE = Place("Europe/Berlin", datetime.date(2026, 3, 29), (2, 30), (3, 0))


def looks(place, first, last):
    """The instants at which the clock is looked at, in order, and whether a
    turn is due then or the morning mail. A minute before the mail there is a
    turn, which must not bring it."""
    day = first
    while day <= last:
        tomorrow = day + datetime.timedelta(1)
        mail = place.instant(day, *place.morning_at(day))
        if place.changing(day):
            moments = set(range(place.instant(day, 0),
                                place.instant(tomorrow, 0), HOUR)) - {mail}
        else:
            moments = {place.instant(day, hour) for hour in (0, 12, 18)}
            moments.add(mail - 60)
        for at in sorted(moments | {mail}):
            yield day, at, MAIL if at == mail else TURN
        day = tomorrow


class Season:
    def __init__(self, bench, place, server):
        self.bench, self.place, self.server = bench, place, server
        self.told, self.looked_for = {}, 0
        self.turns = self.mornings = 0

    def calendar(self, ics, made):
        """The feed of a turn."""
        seen = {}
        for event in events(ics):
            uid = event["UID"]
            want(uid not in seen, "doubled: " + uid)
            seen[uid] = event
            want(self.told.get(uid, event)["CREATED"] == event["CREATED"],
                 "lost and made anew: " + uid)
            want(is_kept(event, made), "kept for ever: " + uid)
        self.looked_for += none_lost(self.told, seen, made)
        self.told.update(seen)

    @staticmethod
    def next_turn(daemon):
        return seconds(re.findall(r"next turn (\S+)", daemon.log())[-1])

    def turn(self, daemon, at):
        """Turns the clock to `at` and waits for a turn of that moment: one
        may still have been under way."""
        done = daemon.log().count("turn done")
        daemon.set_clock(at)
        end = time.monotonic() + 120
        while (daemon.log().count("turn done") == done or seconds(json.loads(
                self.bench.published("bulletin.json"))["made"]) < at):
            want(daemon.process.poll() is None, "it ended\n" + daemon.log())
            want(time.monotonic() < end,
                 "no turn at %d\n%s" % (at, daemon.log()[-2000:]))
            daemon.hear(0.05)
        # Its mail is written by the time that the next turn is told.
        daemon.wait_for("next turn " + iso(self.next_turn(daemon)))

    def turned(self, day, at):
        bulletin, calendar = self.bench.both()
        bulletin = json.loads(bulletin)
        made = seconds(bulletin["made"])
        want(at <= made <= at + 30, "%s: a turn %d s late" % (day, made - at))
        days = [row["date"] for row in bulletin["days"]]
        want(days[2] == day.isoformat(), "today is %s: %s" % (day, days))
        length = bulletin["bushes"][0]["days"][2]["day_hours"]
        want(length == (23 if day == self.place.change else 24),
             "%s has %d hours" % (day, length))
        self.calendar(calendar, made)
        self.turns += 1

    def morning_mails(self):
        return [mail for mail in self.server.handler.taken
                if b".morning." in mail.bytes]

    def settle(self, daemon):
        """Until the outbox is empty: the clock must not be turned under a
        mail that is on its way."""
        end = time.monotonic() + 60
        while json.loads(self.bench.published("mail.json"))["waiting"]:
            want(time.monotonic() < end, "mail waits\n" + daemon.log()[-2000:])
            daemon.hear(0.02)

    @staticmethod
    def small(daemon, day):
        """Writing and sending mail takes memory, and gives it back."""
        end = time.monotonic() + 20
        while daemon.private_kb() > MOST_KB:
            want(time.monotonic() < end, "%s: %d kB after the mail" % (
                day, daemon.private_kb()))
            daemon.hear(0.02)

    def count(self, day):
        got = len(self.morning_mails())
        want(got == self.mornings * len(TO),
             "%s: %d morning mails after %d mornings" % (
                 day, got, self.mornings))

    def morning(self, daemon, day):
        """The mail of this day, to each once, dated at its hour."""
        self.mornings += 1
        end = time.monotonic() + 60
        while len(self.morning_mails()) < self.mornings * len(TO):
            want(time.monotonic() < end,
                 "no mail of %s\n%s" % (day, daemon.log()[-2000:]))
            daemon.hear(0.02)
        mails = self.morning_mails()[-len(TO):]
        want({mail.recipients[0] for mail in mails} == set(TO), "to whom")
        for mail in mails:
            date = email.message_from_bytes(
                mail.bytes, policy=email.policy.default)["Date"].datetime
            want(date.date() == day and (date.hour, date.minute) ==
                 self.place.morning_at(day), "%s: dated %s" % (day, date))
            local = date.replace(tzinfo=None)
            want(date.utcoffset() ==
                 local.replace(tzinfo=self.place.zone).utcoffset(),
                 "an hour of another season: %s" % date)

    def all_once(self):
        """No mail of any kind came twice to anybody."""
        seen = collections.Counter(
            (mail.recipients[0], email.message_from_bytes(
                mail.bytes)["Message-ID"])
            for mail in self.server.handler.taken)
        want(max(seen.values()) == 1, "twice: %s" % seen.most_common(1))
        return len(seen)


def configure(bench, place, server):
    path = bench.path("bend.conf")
    with open(path, encoding="utf-8") as file:
        words = file.read().replace("America/New_York", place.name)
    if server is not None:
        words += ("[mail]\nserver = smtp://127.0.0.1:%d/bend.bush.test\n"
                  "from = bend@bush.test\nto = %s\nmorning = %02d:%02d\n" % (
                      (server.port, ", ".join(TO)) + place.morning))
    with open(path, "w", encoding="utf-8") as file:
        file.write(words)


def run(bench, place, first, last, server=None, measured=False):
    bench.begin("season " + place.name.replace("/", " "))
    configure(bench, place, server)
    season = Season(bench, place, server)
    moments = list(looks(place, first, last))
    daemon = Daemon(bench, at=moments[0][1])
    daemon.wait_for("^READY=1$")
    daemon.wait_for("next turn ")
    season.turned(*moments[0][:2])
    if server is not None:
        season.settle(daemon)
    kb = descriptors = None
    for day, at, what in moments[1:]:
        if kb is None and day > first:
            kb, descriptors = daemon.private_kb(), daemon.descriptors()
        if what == MAIL and server is None:
            continue
        del daemon.said[:-4]
        if what == TURN:
            season.turn(daemon, at)
            season.turned(day, at)
        elif season.next_turn(daemon) <= at:
            season.turn(daemon, at)  # with the mail, not under its way
            season.morning(daemon, day)
        else:
            daemon.set_clock(at)
            season.morning(daemon, day)
        if server is not None:
            season.settle(daemon)
            season.count(day)
            season.small(daemon, day)
    end_kb, end_descriptors = daemon.private_kb(), daemon.descriptors()
    mails = season.all_once() if server is not None else 0
    print("%s: %d turns, %d events, %d mails of %d mornings; RssAnon %d kB "
          "after the first day, %d at the end; descriptors %d, %d" % (
              place.name, season.turns, len(season.told), mails,
              season.mornings, kb, end_kb, descriptors, end_descriptors),
          flush=True)
    want(end_descriptors <= descriptors, "descriptors leak")
    want(not measured or end_kb <= kb + 1024, "memory grows")
    want(len(season.told) > 10 or not measured, "a season has events")
    want(season.looked_for > season.turns, "no events were looked for")
    want(not measured or mails > season.mornings * len(TO), "no alert at all")
    daemon.logged("(?m)^.* error: ", 0)
    daemon.end()


def short(bench):
    run(bench, AMERICA, datetime.date(2026, 2, 26), datetime.date(2026, 3, 14))


def whole(bench):
    with MailServer() as server:
        run(bench, AMERICA, datetime.date(2026, 2, 1),
            datetime.date(2026, 5, 31), server, measured=True)


def europe(bench):
    with MailServer() as server:
        run(bench, EUROPE, datetime.date(2026, 3, 26),
            datetime.date(2026, 4, 1), server)


def main():
    programs = unsanitized(clock_programs())
    cases = [("a season", whole), ("the change in Europe", europe)]
    if sanitized(programs["thawbelld"]):
        cases = [("three weeks", short)]
    once_bench.main(cases, MovingBench(programs))


if __name__ == "__main__":
    main()
