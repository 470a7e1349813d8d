#!/usr/bin/env python3
"""thawbelld killed (signal 9) at random moments around its own mail, against a
real mail server (aiosmtpd).

    python3 mail_daemon_kills.py THAWBELLD THAWBELL [DAYS [SEED]]

On each of thirty days the daemon is killed twice at the hour of the morning
mail and mostly once in the afternoon, when alerts start: at any moment from
its start on, just after its turn, where it decides, or while it sends. Then it
begins anew and has the time it wants.

- What was decided is in the store whole or not at all: what the memory says
  was told is there, a row for each recipient.
- Each morning's mail and each alert arrives at each recipient; none is given
  up, none is made twice under another Message-ID.
- A second copy is the same to the byte, and comes only where the server took
  the first from a life that was killed before its store said so.

Needs the system's Python with python3-aiosmtpd, openssl and faketime;
THAWBELL_OTHER_BUILD as in daemon_season.py."""

import collections
import datetime
import json
import os
import random
import shutil
import smtplib
import sqlite3
import sys
import time

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "peers"))

import once_bench  # noqa: E402
from checks import needs  # noqa: E402
from daemon_bench import (Daemon, clock_programs, sanitized,  # noqa: E402
                          seconds, unsanitized)
from mail_daemon import status, wait_for  # noqa: E402
from mail_once import Case, DAY, MORNING, TO, read  # noqa: E402
from moving import MovingBench  # noqa: E402
from once_bench import HOUR, want  # noqa: E402

FIRST = MORNING - 10 * DAY + 60
AFTERNOON = 8 * HOUR
LATER = 20 * 60  # the next start after a kill
AT_ONCE = 4      # mails under way, src/daemon/post_send.h
SLOW_S = 0.15    # a server thinks a mail over, twice
KEPT = 13 * DAY  # and a day more: what is settled, src/daemon/post_send.h


class Copy:
    """A mail that the server has taken, and from which life."""

    def __init__(self, life, envelope):
        self.life = life
        self.bytes = envelope.original_content
        self.recipient = envelope.rcpt_tos[0]
        message = read(self)
        self.id = str(message["Message-ID"])
        self.subject = str(message["Subject"])
        self.made = message["Date"].datetime


class Look:
    """What the store holds. Of a copy of it: the next start is to find it as
    the kill has left it."""

    def __init__(self, bench):
        folder = bench.path("look")
        shutil.rmtree(folder, ignore_errors=True)
        os.makedirs(folder)
        for end in ("", "-wal"):
            path = bench.path("state", "thawbell", "thawbell.db" + end)
            if os.path.exists(path):
                shutil.copy(path, folder)
        base = sqlite3.connect(os.path.join(folder, "thawbell.db"))
        want(base.execute("PRAGMA integrity_check").fetchone() == ("ok",),
             "a sound store")
        self.mails = {}  # (kind, made): recipients
        self.states = {}
        for kind, made, recipient, name, state in base.execute(
                "SELECT kind, made, recipient, message_id, state"
                " FROM mail JOIN outbox ON mail.id = outbox.mail"):
            self.mails.setdefault((kind, made), set()).add(recipient)
            self.states[name] = state
        want(base.execute("SELECT count(*) FROM mail").fetchone()[0] ==
             len(self.mails), "a mail without rows")
        row = base.execute("SELECT value FROM note"
                           " WHERE name = 'mail-memory'").fetchone()
        self.memory = json.loads(row[0]) if row else {}
        base.close()

    def sent(self):
        return {name for name, state in self.states.items()
                if state == "sent"}

    def unsettled(self):
        return [name for name, state in self.states.items()
                if state in ("waiting", "sending")]

    def whole(self, at):
        """Decision, memory and rows are one."""
        for what, recipients in self.mails.items():
            want(recipients == set(TO), "%s to %s" % (what, recipients))
        mornings = [made for kind, made in self.mails if kind == "morning"]
        last = max(mornings, default=None)
        want((self.memory.get("morning") is None) == (last is None),
             "morning %s, %s" % (self.memory.get("morning"), last))
        if last is not None:
            want(self.memory["morning"] == civil(last),
                 "the memory has %s, the rows %s" % (self.memory["morning"],
                                                     once_bench.iso(last)))
        for condition in self.memory.get("conditions", []):
            told = seconds(condition.get("told", "1970-01-01T00:00:00Z"))
            want(told < at - KEPT or told in mornings or
                 (condition["kind"], told) in self.mails,
                 "told, and not written: %s" % condition)


def civil(at):
    """The day on the bush's clock; all moments here are by day there."""
    moment = datetime.datetime.fromtimestamp(at - 5 * HOUR,
                                             datetime.timezone.utc)
    return moment.strftime("%Y-%m-%d")


class Ledger:
    """Lives one after the other, and what became of their mail."""

    def __init__(self, case, rng):
        self.case, self.bench, self.rng = case, case.bench, rng
        self.life = 0
        self.copies = []
        self.greeted = set()  # lives that have begun to send
        self.killed = {}      # life: what the store had as sent
        self.written = set()  # Message-IDs that any store had
        self.mails = set()    # (kind, made)
        self.amid = 0
        case.server.handler.behave = self.behave

    def behave(self, step, session, envelope):
        if step == "ehlo":
            session.life = self.life
            self.greeted.add(self.life)
        if step == "taken":
            self.copies.append(Copy(session.life, envelope))
        slow = step in ("body", "taken")
        return self.rng.uniform(0, SLOW_S) if slow else None

    def all_heard(self):
        """What a killed life sent has come to the server's ears: it greets
        one after the other. The mails that it holds are taken by now."""
        with smtplib.SMTP("127.0.0.1", self.case.server.port) as probe:
            probe.ehlo("probe.test")
        end = time.monotonic() + 10
        steps = self.case.server.handler.commands
        while time.monotonic() < end:
            count = len(steps)
            time.sleep(SLOW_S + 0.05)
            if len(steps) == count:
                return

    def begin(self, at):
        self.life += 1
        self.log_from = os.path.getsize(self.bench.path("log")) \
            if os.path.exists(self.bench.path("log")) else 0
        self.bench.site.fixed_now = at
        return Daemon(self.bench, at=at, turned=False)

    def turned(self):
        with open(self.bench.path("log"), "rb") as log:
            log.seek(self.log_from)
            return b"turn done" in log.read()

    def until(self, good, wait_s):
        end = time.monotonic() + wait_s
        while not good() and time.monotonic() < end:
            time.sleep(0.002)

    def look(self, at):
        look = Look(self.bench)
        look.whole(at)
        for life, known in self.killed.items():
            want(all(look.states.get(name, "sent") == "sent"
                     for name in known), "known as sent in life %d, and not "
                 "any more: %s" % (life, look.states))
        self.written |= set(look.states)
        self.mails |= set(look.mails)
        return look

    def kill(self, at):
        daemon = self.begin(at)
        how = self.rng.choice(("start", "turn", "sending", "sending"))
        if how == "start":
            time.sleep(self.rng.uniform(0, 0.6))
        else:
            self.until(self.turned, 10)
        if how == "turn":
            time.sleep(self.rng.uniform(0, 0.02))
        if how == "sending":
            self.until(lambda: self.life in self.greeted, 0.3)
            time.sleep(self.rng.uniform(0, 1.5 * SLOW_S))
        daemon.kill()
        self.all_heard()
        look = self.look(at)
        self.amid += bool(look.unsettled())
        self.killed[self.life] = look.sent()

    def recover(self, at):
        """A life that may end what it begins: nothing is left to be sent."""
        daemon = self.begin(at)
        daemon.next_turn(at)
        wait_for(daemon, "all is sent",
                 lambda: status(self.bench)["waiting"] == 0)
        daemon.end(wait_s=14)
        look = self.look(at)
        want(not look.unsettled(), "unsettled: %s" % look.states)
        taken = {copy.id for copy in self.copies}
        want(set(look.states) == look.sent() and look.sent() <= taken,
             "lost: %s" % look.states)

    def morning(self, at):
        """The server's own view: each got one, by its number, that day."""
        day = civil(at)
        for recipient in TO:
            ids = {copy.id for copy in self.copies
                   if copy.recipient == recipient and
                   ".morning." in copy.id and
                   copy.made.strftime("%Y-%m-%d") == day}
            want(len(ids) == 1, "the morning of %s to %s: %s" % (
                day, recipient, ids))

    def repeats(self):
        """How many copies more than mails; each of them accounted for."""
        by_id, lost = collections.defaultdict(list), collections.Counter()
        for copy in self.copies:
            by_id[copy.id].append(copy)
        for name, copies in by_id.items():
            copies.sort(key=lambda copy: copy.life)
            for first, again in zip(copies, copies[1:]):
                what = "%s (%s), taken in life %d, again in %d: " % (
                    name, first.subject, first.life, again.life)
                want(first.bytes == again.bytes, what + "it differs")
                want(first.recipient == again.recipient, what + "to whom")
                want(first.life < again.life, what + "no start between")
                want(first.life in self.killed, what + "it was not killed")
                want(name not in self.killed[first.life],
                     what + "its store knew")
                lost[first.life] += 1
        want(max(lost.values(), default=0) <= AT_ONCE, lost)
        return sum(lost.values()), len(by_id)


def account(ledger, days):
    """At the end of all days."""
    repeats, mails = ledger.repeats()
    kinds = collections.Counter(kind for kind, _ in ledger.mails)
    kills = len(ledger.killed)
    print("%d kills, %d of them with mail unsent; %d mails (%s), %d copies, "
          "%d repeats for a kill" % (
              kills, ledger.amid, mails,
              ", ".join("%s %d" % one for one in sorted(kinds.items())),
              len(ledger.copies), repeats), flush=True)
    want({copy.id for copy in ledger.copies} == ledger.written,
         "the server and the store have other mails")
    want(mails == len(TO) * len(ledger.mails), "mails to each")
    for life, known in ledger.killed.items():
        taken = {copy.id for copy in ledger.copies if copy.life <= life}
        want(known <= taken, "sent after %d, and nobody took it" % life)
    want(ledger.amid >= kills // 5, "kills must fall into the sending")
    want(repeats > 0 or kills < 30, "answers must be lost with a kill")
    want(kinds["morning"] == days and sum(kinds.values()) > days,
         "mornings and alerts: %s" % kinds)


def run(bench, days, seed):
    print("seed %d" % seed)
    rng = random.Random(seed)
    with Case(bench, "mail kills", plain=True, alerts=None) as case:
        ledger = Ledger(case, rng)
        # The first ends well: there is a bulletin, and a store.
        ledger.recover(FIRST - DAY)
        for day in range(days):
            at = FIRST + day * DAY
            ledger.kill(at)
            ledger.kill(at + LATER)
            ledger.recover(at + 2 * LATER)
            ledger.morning(at)
            if day % 3 != 0:
                ledger.kill(at + AFTERNOON)
                ledger.recover(at + AFTERNOON + LATER)
        account(ledger, days + 1)


def main():
    # Turned clocks, threads and a sanitizer stand in each other's way.
    programs = unsanitized(clock_programs())
    needs(not sanitized(programs["thawbelld"]),
          "a build without sanitizers, named in THAWBELL_OTHER_BUILD")
    days = int(sys.argv[3]) if len(sys.argv) > 3 else 30
    seed = int(sys.argv[4]) if len(sys.argv) > 4 else int(time.time())
    once_bench.main([("mail kills", lambda bench: run(bench, days, seed))],
                    MovingBench(programs), [])


if __name__ == "__main__":
    main()
