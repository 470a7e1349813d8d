#!/usr/bin/env python3
"""220 alerts over TLS and with a login to a server that in turn takes, is busy,
drops before and after the body, hangs, refuses one recipient for good, and a
sender that is killed (-9) 50 times at random moments: every alert arrives, and
those that are refused are told as given up. A second copy, the same to the
byte, comes only where the server had taken the first and the sender could not
know: the answer was dropped, hung, or given to a sender that was killed before
its store said so. The server sees whether an answer was heard (the sender goes
on with QUIT), and which life of the sender logs in (each under a user of its
own); what the store knew is read after every kill.
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
import threading
import time

from aiosmtpd.smtp import AuthResult

from mail_peer import PASSWORD, MailServer, make_certificate

PROGRAM, FOLDER = sys.argv[1], pathlib.Path(sys.argv[2])
SEED = int(sys.argv[3]) if len(sys.argv) > 3 else random.randrange(10**6)
ALERTS, KILLS, AT_ONCE = 220, 50, 4
TO = ["ann@bush.test", "bob@farm.test"]
GONE = "gone@farm.test"
NOW = 1772900000
chance = random.Random(SEED)
# What the server has taken, in that order; steps at which it hung.
copies = []
hung = []
logged_in = threading.Event()


class Copy:
    """A mail that the server has taken, and what it knows of the sender."""

    def __init__(self, session, envelope):
        self.bytes = envelope.original_content
        self.recipient = envelope.rcpt_tos[0]
        self.life = session.life
        self.answered, self.heard = True, False
        message = email.message_from_bytes(self.bytes,
                                           policy=email.policy.default)
        self.subject = str(message["Subject"])
        self.id = str(message["Message-ID"])


def login(server, session, envelope, mechanism, data):
    user, _, life = data.login.decode().partition("+")
    session.life, session.copy = int(life), None
    logged_in.set()
    good = user == "ann" and data.password.decode() == PASSWORD
    return AuthResult(success=good, handled=good)


def misbehave(step):
    """Of a hundred steps a few go wrong; of some the sender never hears."""
    roll = chance.random()
    if step in ("mail", "rcpt", "body", "taken") and roll > 0.99:
        hung.append(step)
        return "hang"
    if step in ("mail", "rcpt") and roll < 0.02:
        return chance.choice(["451 4.3.0 busy", "450 4.2.0 greylisted",
                              "drop"])
    if step == "body" and roll < 0.04:
        return chance.choice(["452 4.3.1 disk full", "drop"])
    if step == "taken" and roll < 0.03:
        return "drop"
    return chance.uniform(0, 0.12) if step in ("body", "taken") else None


def behave(step, session, envelope):
    if step in ("mail", "quit") and session.copy is not None:
        session.copy.heard = session.copy.answered
        session.copy = None
    if step == "rcpt" and envelope.rcpt_tos[-1] == GONE:
        return "550 5.1.1 nobody of that name"
    answer = misbehave(step) if step != "ehlo" else None
    if step == "taken":
        session.copy = Copy(session, envelope)
        session.copy.answered = answer not in ("drop", "hang")
        copies.append(session.copy)
    return answer


def run(server, life, wait, sending=False):
    """One life of the sender, which begins hours after the last: what was put
    off is due. Killed after `wait` seconds, of sending if told so, however
    slow the machine is: None."""
    logged_in.clear()
    program = subprocess.Popen(
        [PROGRAM, FOLDER, f"smtps://localhost:{server.port}/bend.bush.test",
         str(NOW + life * 86400), str(ALERTS), f"ann+{life}",
         FOLDER / "password", FOLDER / "ca.pem", *TO, GONE],
        stderr=subprocess.PIPE, text=True)
    if sending:
        logged_in.wait(20)
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


def sent():
    """The Message-IDs that the store has as sent. Of a copy of it: the next
    start is to find it as the kill has left it."""
    folder = FOLDER / "look"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for path in FOLDER.glob("thawbell.db*"):
        if not path.name.endswith("-shm"):
            shutil.copy(path, folder)
    store = sqlite3.connect(folder / "thawbell.db")
    has = store.execute("SELECT 1 FROM sqlite_master WHERE name = 'outbox'")
    rows = [] if not has.fetchone() else store.execute(
        "SELECT message_id FROM outbox WHERE state = 'sent'").fetchall()
    store.close()
    return {id_ for id_, in rows}


def check(server):
    failed = []
    for mail in server.handler.mails:
        if not (mail.encrypted and mail.login):
            failed.append("a mail in clear text or without login")
    arrived = {(copy.subject, copy.recipient) for copy in copies}
    wanted = {(f"alert {number}", recipient) for number in range(ALERTS)
              for recipient in TO}
    failed += [f"{subject} to {recipient} is lost"
               for subject, recipient in wanted - arrived]
    failed += [f"{subject} to {recipient} was never written"
               for subject, recipient in arrived - wanted]
    ids = {copy.id: (copy.subject, copy.recipient) for copy in copies}
    if len(ids) != len(arrived):
        failed.append("Message-ID and mail do not go together")
    return failed


def check_repeats(killed, known):
    """`known`: what the store had as sent after each life that was killed."""
    failed, by_id, excused = [], collections.defaultdict(list), []
    for copy in copies:
        by_id[copy.id].append(copy)
    for mails in by_id.values():
        mails.sort(key=lambda copy: copy.life)
        if any(copy.bytes != mails[0].bytes for copy in mails):
            failed.append(f"{mails[0].subject}: a repeat differs")
        for first, again in zip(mails, mails[1:]):
            what = (f"{first.subject} to {first.recipient}, taken in life "
                    f"{first.life}, again in {again.life}: ")
            if first.heard and first.life not in killed:
                failed.append(what + "it was heard")
            if first.heard and first.life == again.life:
                failed.append(what + "it was heard, and no kill between")
            if first.answered:
                excused.append(first.life)
    for life, count in collections.Counter(excused).items():
        if life in killed and count > AT_ONCE:
            failed.append(f"{count} answers lost with the kill of life {life}")
    before = set()
    for life, ids in known.items():
        if before - ids:
            failed.append(f"what was sent is not, after {life}")
        ids, before = ids - before, ids
        failed += [f"{copy.subject} to {copy.recipient}: sent in life "
                   f"{copy.life}, and the store knew after {life}"
                   for copy in copies if copy.life > life and copy.id in ids]
        failed += [f"{id_} is sent after {life}, and nobody took it"
                   for id_ in ids - {copy.id for copy in copies
                                     if copy.life <= life}]
    amid = len({copy.life for copy in copies} & killed)
    if amid < KILLS // 5:
        failed.append(f"but {amid} kills fell into the sending")
    print(f"seed {SEED}: {len(killed)} kills, {amid} amid the sending, "
          f"{len(before)} mails known as sent by the last; {len(copies)} "
          f"copies of {len(by_id)} mails, {len(excused)} repeats for a kill, "
          f"{len(copies) - len(by_id) - len(excused)} for "
          f"{sum(not copy.answered for copy in copies)} lost answers; "
          f"{len(hung)} times hung")
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
    life, known = 0, {}
    server = MailServer(behave, tls="smtps", auth=True,
                        certificate=certificate)
    server.settings["authenticator"] = login
    with server:
        while len(known) < KILLS:
            life += 1
            if run(server, life, chance.uniform(0.02, 0.3),
                   life % 2 == 0) is not None:
                break
            known[life] = sent()
        done = run(server, life + 1, 100)
        failed = check(server) if done is not None else ["it hangs"]
        failed += check_repeats(set(known), known)
    failed += check_store()
    if len(known) < KILLS:
        failed.append(f"all was sent after {len(known)} kills: too quick a "
                      "test")
    if len(set(hung)) < 4:
        failed.append(f"hung in {sorted(set(hung))} alone: too tame a test")
    for line in failed:
        print(f"FAILED: {line}")
    print(f"{time.monotonic() - begun:.1f} s")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
