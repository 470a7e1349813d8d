#!/usr/bin/env python3
"""220 alerts over TLS and with a login to a server that in turn takes, is busy,
drops before and after the body, hangs, refuses one recipient for good, and a
sender that is killed (-9) 50 times at random moments: every alert arrives, and
those that are refused are told as given up; a second copy comes only where the
server had taken the first and the sender could not know, and it is the same to
the byte.
  mail_kills.py POST_ALERTS FOLDER [SEED]"""

import collections
import email
import email.policy
import pathlib
import random
import shutil
import sqlite3
import subprocess
import sys
import time

from mail_peer import PASSWORD, USER, MailServer, make_certificate

PROGRAM, FOLDER = sys.argv[1], pathlib.Path(sys.argv[2])
SEED = int(sys.argv[3]) if len(sys.argv) > 3 else random.randrange(10**6)
ALERTS, KILLS, AT_ONCE = 220, 50, 4
TO = ["ann@bush.test", "bob@farm.test"]
GONE = "gone@farm.test"
NOW = 1772900000
chance = random.Random(SEED)
# Which copies the server took and could not say so: the sender may repeat.
unsaid = []


def behave(step, session, envelope):
    """Of a hundred steps a few go wrong; of some the sender never hears."""
    roll = chance.random()
    if step == "rcpt" and envelope.rcpt_tos[-1] == GONE:
        return "550 5.1.1 nobody of that name"
    if step in ("mail", "rcpt") and roll < 0.02:
        return chance.choice(["451 4.3.0 busy", "450 4.2.0 greylisted",
                              "drop"])
    if step == "body" and roll < 0.04:
        return chance.choice(["452 4.3.1 disk full", "drop"])
    if step == "taken" and roll < 0.03:
        unsaid.append(envelope.original_content)
        return "drop"
    return chance.uniform(0, 0.12) if step in ("body", "taken") else None


def run(server, now, wait):
    """One life of the sender; None if it was killed."""
    program = subprocess.Popen(
        [PROGRAM, FOLDER, f"smtps://localhost:{server.port}/bend.bush.test",
         str(now), str(ALERTS), USER, FOLDER / "password", FOLDER / "ca.pem",
         *TO, GONE], stderr=subprocess.PIPE, text=True)
    try:
        program.wait(wait)
    except subprocess.TimeoutExpired:
        program.kill()
        program.communicate()
        return None
    words = program.communicate()[1]
    if program.returncode != 0:
        raise SystemExit(f"the sender ends with {program.returncode}: {words}")
    return words


def copies(server):
    """The mails that the server has taken, by whose they are."""
    taken = collections.defaultdict(list)
    for mail in server.handler.mails:
        if mail.taken:
            message = email.message_from_bytes(mail.bytes,
                                               policy=email.policy.default)
            taken[str(message["Subject"]), mail.recipients[0]].append(
                mail.bytes)
    return taken


def check(server, kills):
    failed = []
    taken = copies(server)
    for mail in server.handler.mails:
        if not (mail.encrypted and mail.login):
            failed.append("a mail in clear text or without login")
    for number in range(ALERTS):
        for recipient in TO:
            if not taken.get((f"alert {number}", recipient)):
                failed.append(f"alert {number} to {recipient} is lost")
    if len(taken) != ALERTS * len(TO):
        failed.append(f"{len(taken)} different mails, not "
                      f"{ALERTS * len(TO)}")
    ids = collections.defaultdict(set)
    repeats = 0
    for key, mails in taken.items():
        repeats += len(mails) - 1
        for one in mails:
            message = email.message_from_bytes(one)
            ids[message["Message-ID"]].add(key)
            if one != mails[0]:
                failed.append(f"{key}: a repeat differs from the first copy")
    if any(len(keys) > 1 for keys in ids.values()):
        failed.append("two mails share a Message-ID")
    most = len(unsaid) + kills * AT_ONCE
    if repeats > most:
        failed.append(f"{repeats} repeats, more than the {most} that a kill "
                      "or a lost answer may make")
    print(f"seed {SEED}: {kills} kills, {sum(map(len, taken.values()))} "
          f"copies of {len(taken)} mails, {repeats} repeats, {len(unsaid)} "
          "answers lost")
    return failed


def check_store():
    failed = []
    store = sqlite3.connect(FOLDER / "thawbell.db")
    states = dict(store.execute(
        "SELECT state, count(*) FROM outbox GROUP BY state"))
    if states != {"sent": ALERTS * len(TO), "dead": ALERTS}:
        failed.append(f"the store says {states}")
    if store.execute("PRAGMA integrity_check").fetchone() != ("ok",):
        failed.append("the store is damaged")
    return failed


def main():
    shutil.rmtree(FOLDER, ignore_errors=True)
    FOLDER.mkdir(parents=True)
    certificate = make_certificate(FOLDER)
    (FOLDER / "password").write_text(PASSWORD + "\n")
    (FOLDER / "password").chmod(0o600)
    begun = time.monotonic()
    kills = lives = 0
    with MailServer(behave, tls="smtps", auth=True,
                    certificate=certificate) as server:
        while kills < KILLS:
            # Each life begins hours later: what was put off is due.
            lives += 1
            done = run(server, NOW + lives * 86400, chance.uniform(0.02, 0.3))
            if done is not None:
                break
            kills += 1
        done = run(server, NOW + (lives + 1) * 86400, 120)
        failed = check(server, kills) if done is not None else ["it hangs"]
    failed += check_store()
    if kills < KILLS:
        failed.append(f"all was sent after {kills} kills: too quick a test")
    for line in failed:
        print(f"FAILED: {line}")
    print(f"{time.monotonic() - begun:.1f} s")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
