#!/usr/bin/env python3
"""The mail of the real thawbelld against a real mail server (aiosmtpd), with
encryption and login: what goes when, what waits, what is given up, and what
`thawbell check` says of it.

    python3 mail_once.py THAWBELLD THAWBELL

Needs the system's Python with python3-aiosmtpd, and openssl."""

import email
import email.policy
import json
import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "peers"))

import mail_peer  # noqa: E402
import once_bench  # noqa: E402
from mail_peer import PASSWORD, USER, MailServer  # noqa: E402
from once_bench import HOUR, START, want  # noqa: E402

DAY = 24 * HOUR
MORNING = START - HOUR  # 5 March 2026, 05:30
TO = ["ann@bush.test", "bob@farm.test"]


def configure(bench, port, certificate, **changes):
    lines = {"server": f"smtps://localhost:{port}/bend.bush.test",
             "user": USER, "password file": "password",
             "ca file": certificate[0], "from": "bend@bush.test",
             "to": ", ".join(TO), "alerts": "none", **changes}
    with open(bench.path("bend.conf"), "a", encoding="utf-8") as file:
        file.write("[mail]\n")
        for key, value in lines.items():
            if value is not None:
                file.write(f"{key} = {value}\n")
    with open(bench.path("password"), "w", encoding="utf-8") as file:
        file.write(PASSWORD + "\n")
    os.chmod(bench.path("password"), 0o600)


def read(mail):
    return email.message_from_bytes(mail.bytes, policy=email.policy.default)


def status(bench):
    return json.loads(bench.published("mail.json"))


class Case:
    """A server that behaves as the script says, and an operation. Plain: a
    relay on this machine, without encryption and login."""

    def __init__(self, bench, name, plain=False, **changes):
        self.bench, self.script, self.plain = bench, {}, plain
        self.changes = changes
        bench.begin(name)
        self.certificate = mail_peer.make_certificate(bench.folder)
        self.server = MailServer(
            lambda step, *_: self.script.get(step),
            tls="" if plain else "smtps", auth=not plain,
            certificate=self.certificate)

    def __enter__(self):
        self.server.__enter__()
        port = self.server.port
        plain = {"server": f"smtp://127.0.0.1:{port}/bend.bush.test",
                 "user": None, "password file": None, "ca file": None}
        configure(self.bench, port, self.certificate,
                  **(plain if self.plain else {}), **self.changes)
        return self

    def __exit__(self, *_):
        self.server.__exit__()

    def taken(self):
        return self.server.handler.taken


def each_morning_once(bench):
    """Over the change to summer time on 8 March: at 05:30 of the wall clock,
    to each once."""
    with Case(bench, "mornings") as case:
        bench.once(MORNING + 2 * DAY - 600)
        want(not case.taken(), "before its hour")
        days = [MORNING + 2 * DAY, MORNING + 3 * DAY - HOUR,
                MORNING + 4 * DAY - HOUR]
        for number, at in enumerate(days):
            for later in (0, 3 * HOUR, 15 * HOUR):
                bench.once(at + later)
            mails = case.taken()
            want(len(mails) == 2 * (number + 1),
                 "%d mails after %d days" % (len(mails), number + 1))
            dates = {read(mail)["Date"] for mail in mails[-2:]}
            want(len(dates) == 1, dates)
            moment = read(mails[-1])["Date"].datetime
            want((moment.hour, moment.minute, moment.day) ==
                 (5, 30, 7 + number), moment)
            want({mail.recipients[0] for mail in mails[-2:]} == set(TO),
                 "to whom")
        for mail in case.taken():
            message = read(mail)
            want(mail.encrypted and mail.login and mail.ehlo, vars(mail))
            want(mail.sender == "bend@bush.test", mail.sender)
            want(message.get_body(("plain",)) and message["Subject"], "empty")
        want(status(bench)["waiting"] == 0, status(bench))
        run = bench.run("thawbell", days[-1] + 16 * HOUR, "check")
        run.want("all is sent" in run.out, "check says nothing of it")


def through_an_outage(bench):
    """A server that is not there, then busy, then there: the mail goes on, as
    it was written first."""
    with Case(bench, "outage") as case:
        case.script["mail"] = "451 4.3.0 come back later"
        run = bench.once(MORNING)
        run.ends(75)
        run.want("takes no mail for now (451 4.3.0" in run.err, "silent")
        want(status(bench)["waiting"] == 2, status(bench))
        want("451 4.3.0 come back later" in status(bench)["trouble"],
             status(bench))
        run = bench.run("thawbell", MORNING + 60, "check")
        run.want("2 mails wait to be sent" in run.out, "check is silent")
        bench.once(MORNING + 299)
        want(case.server.handler.commands.count("mail") == 2, "too early")
        del case.script["mail"]
        case.script["taken"] = "drop"
        bench.once(MORNING + 300).ends(75)
        want(len(case.taken()) == 2, "not tried")
        del case.script["taken"]
        bench.once(MORNING + HOUR)
        mails = case.taken()
        want(len(mails) == 4, "%d copies" % len(mails))
        for one in mails[:2]:
            again = [mail for mail in mails[2:]
                     if mail.recipients == one.recipients]
            want(len(again) == 1 and again[0].bytes == one.bytes,
                 "a repeat is another mail")
        want(status(bench)["waiting"] == 0, status(bench))


def given_up(bench):
    """One recipient is refused for good, the other not; a mail that is worth
    nothing any more is given up loudly."""
    with Case(bench, "given-up") as case:
        def behave(step, session, envelope):
            if step == "rcpt" and envelope.rcpt_tos[-1] == TO[1]:
                return "550 5.1.1 no such mailbox bob@farm.test here"
            return case.script.get(step)

        case.server.handler.behave = behave
        run = bench.once(MORNING)
        run.ends(1)
        run.want("given up" in run.err and "550 5.1.1" in run.err, "silent")
        want([mail.recipients for mail in case.taken()] == [[TO[0]]], "to whom")
        bench.once(MORNING + HOUR).ends(0)
        letters = status(bench)["given_up"]
        want(len(letters) == 1 and letters[0]["kind"] == "morning", letters)
        want("bob" not in json.dumps(letters), "an address is shown")
        run = bench.run("thawbell", MORNING + HOUR, "check")
        run.ends(1)
        run.want("to b**@farm.test" in run.out and "550 5.1.1" in run.out,
                 "check does not name it")
        run.want("1 mail of the last three days was given up" in run.err,
                 "check is content")
        run = bench.run("thawbell", MORNING + HOUR, "check", "--json")
        mail = json.loads(run.out)["files"][0]["mail"]
        want(mail["given_up"] == letters, mail)
        case.script["mail"] = "421 4.3.2 closing"
        bench.once(MORNING + DAY).ends(75)
        run = bench.once(MORNING + DAY + 7 * HOUR)
        run.want("would be worthless by now" in run.err, "silent at noon")
        want(status(bench)["waiting"] == 0 and
             len(status(bench)["given_up"]) == 3, status(bench))
        run = bench.once(MORNING + 2 * DAY + 8 * HOUR)
        want(status(bench)["waiting"] == 0, "sent after noon")


def put_right(bench):
    """What somebody must change: a password that others may read, one that is
    refused. All waits, and goes when it is put right."""
    with Case(bench, "put-right") as case:
        os.chmod(bench.path("password"), 0o640)
        run = bench.once(MORNING)
        run.ends(1)
        run.want("others may read it" in run.err, "silent")
        want(not case.server.handler.commands, "it was tried all the same")
        want("others may read it" in status(bench)["trouble"], status(bench))
        run = bench.run("thawbell", MORNING + 60, "check")
        run.want("not tried yet: " in run.out and
                 run.out.count("others may read it") == 1, "check is silent")
        run = bench.run("thawbelld", MORNING + 60, "--mail-test")
        run.ends(1)
        run.want("thawbelld: Tamarack Bend: " in run.err, "whose mail?")
        os.chmod(bench.path("password"), 0o600)
        with open(bench.path("password"), "w", encoding="utf-8") as file:
            file.write("another word")
        run = bench.once(MORNING + 31 * 60)
        run.ends(1)
        run.want("refuses the login (535" in run.err, "silent")
        run.want("another word" not in run.err, "the secret is told")
        want(PASSWORD not in bench.published("mail.json"), "told")
        with open(bench.path("password"), "w", encoding="utf-8") as file:
            file.write(PASSWORD)
        bench.once(MORNING + 45 * 60)
        want(not case.taken(), "before the hold is over")
        bench.once(MORNING + 62 * 60)
        want(len(case.taken()) == 2, "%d" % len(case.taken()))


def a_test_mail(bench):
    with Case(bench, "test-mail") as case:
        run = bench.run("thawbelld", MORNING, "--mail-test")
        run.ends(0)
        run.want(run.out.splitlines()[1:] ==
                 [f"{to}: sent" for to in TO], "not told")
        want(len(case.taken()) == 2, "not sent")
        want("2026-03-05 05:30" in case.taken()[0].bytes.decode(), "no date")
        case.script["rcpt"] = "450 4.2.0 greylisted"
        bench.run("thawbelld", MORNING, "--mail-test").ends(75)
        case.script["rcpt"] = "550 5.1.1 nobody"
        run = bench.run("thawbelld", MORNING, "--mail-test")
        run.ends(1)
        run.want("not sent: localhost refuses the recipient (550 5.1.1 nobody)"
                 in run.out, "no reason")


def in_clear_or_not_at_all(bench):
    """A server without encryption under another name than this machine's, and
    one on this machine that offers no login."""
    bench.begin("clear")
    certificate = mail_peer.make_certificate(bench.folder)
    with MailServer() as server:
        configure(bench, server.port, certificate,
                  server=f"smtp://127.0.0.1:{server.port}")
        run = bench.run("thawbelld", MORNING, "--mail-test")
        run.ends(1)
        run.want("offers no login" in run.out, "no reason")
        want("mail" not in server.handler.commands, "an address was told")


if __name__ == "__main__":
    once_bench.main([(case.__name__, case) for case in (
        each_morning_once, through_an_outage, given_up, put_right,
        a_test_mail, in_clear_or_not_at_all)])
