#!/usr/bin/env python3
"""What a transfer comes to, against a real server that takes, refuses, hangs,
drops, and offers too little.
  mail_verdicts.py SEND_MAIL FOLDER"""

import os
import pathlib
import subprocess
import sys
import time

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "support"))

import mail_peer  # noqa: E402
from checks import check, finish, free_port  # noqa: E402
from mail_peer import PASSWORD, USER, MailServer  # noqa: E402

PROGRAM, FOLDER = sys.argv[1], pathlib.Path(sys.argv[2])
MESSAGE = ("From: <ann@bush.test>\r\nTo: <bob@farm.test>\r\n"
           "Subject: dots and blanks\r\n\r\n"
           ".\r\n..\r\n.begins with a dot\r\nends with blanks  \r\n"
           + "x" * 998 + "\r\n\r\nend.\r\n")
LOGIN = {"user": USER, "password": PASSWORD}


def send(url, **given):
    words = {"url": url, "from": "ann@bush.test", "to": "bob@farm.test",
             "file": FOLDER / "message", "reply": "30", **given}
    environment = {"all_proxy": "http://127.0.0.1:9", "PATH": "/usr/bin:/bin",
                   "http_proxy": "http://127.0.0.1:9"}
    done = subprocess.run(
        [PROGRAM, *(f"{key}={value}" for key, value in words.items())],
        capture_output=True, text=True, timeout=60, env=environment)
    check(f"{url} {given} runs", done.returncode == 0, done.stderr)
    head, _, told = done.stdout.strip().partition("|")
    verdict, reply, status = (head.split(" ") + ["", ""])[:3]
    return verdict, int(reply or 0), status, told


def expect(name, got, verdict, reply=None, words=None):
    check(name, got[0] == verdict, got)
    check(f"{name}: reply", reply is None or got[1] == reply, got)
    check(f"{name}: words", words is None or words in got[3], got)


def plain(server):
    return f"smtp://127.0.0.1:{server.port}/sugarhouse.bush.test"


def named(scheme, server, certificate):
    """By the name mail.test, which is not this machine as far as the sender
    knows."""
    return (f"{scheme}://mail.test:{server.port}",
            {"resolve": f"mail.test:{server.port}:127.0.0.1",
             "ca": certificate[0], "ehlo": "sugarhouse.bush.test"})


def taken():
    with MailServer() as server:
        expect("taken", send(plain(server)), "sent", 250)
        got = server.handler.mails[0]
        check("bytes", got.bytes == MESSAGE.encode(), got.bytes)
        check("greets", got.ehlo == "sugarhouse.bush.test", got.ehlo)
        check("envelope", (got.sender, got.recipients) ==
              ("ann@bush.test", ["bob@farm.test"]), vars(got))
        expect("address with a line end",
               send(plain(server), to="bob@farm.test>\r\nRCPT TO:<eve@x.test"),
               "configuration", 0, "is no mail address")
        expect("sender with a line end",
               send(plain(server), **{"from": "ann@bush.test>\r\nDATA"}),
               "configuration", 0, "is no mail address")
        (FOLDER / "bare").write_bytes(
            b"Subject: x\nBcc: eve@x.test\r\n\r\nx\r\n")
        expect("bare line feed in a header",
               send(plain(server), file=FOLDER / "bare"), "configuration", 0,
               "line 1 of the mail")
        check("nothing more came", len(server.handler.mails) == 1)


def refusals():
    """A server that answers a step with what the script says."""
    script = {}

    def behave(step, session, envelope):
        return script.get(step)

    cases = [
        ("rcpt", "550 5.1.1 no such mailbox", "refused", 550,
         "refuses the recipient (550 5.1.1 no such mailbox)"),
        ("rcpt", "450 4.2.0 greylisted, come back", "later", 450,
         "takes no mail for now"),
        ("rcpt", "530 5.7.0 log in first", "configuration", 530, "530"),
        ("mail", "553 5.7.1 not your address", "configuration", 553,
         "takes no mail from this sender"),
        ("mail", "451 4.3.0 try again", "later", 451, "451"),
        ("mail", "552 5.3.4 too large", "refused", 552, "552"),
        ("body", "452 4.3.1 disk full", "later", 452, "452"),
        ("body", "554 5.6.0 looks like junk", "refused", 554,
         "refuses the mail"),
        ("body", "drop", "unknown", 354, "did not say whether it took"),
        ("rcpt", "drop", "later", None, "127.0.0.1"),
        ("mail", "drop", "later", None, "127.0.0.1"),
        ("taken", "drop", "unknown", 354, "did not say whether it took"),
        ("quit", "drop", "sent", 250, ""),
    ]
    with MailServer(behave) as server:
        for step, answer, verdict, reply, words in cases:
            script.clear()
            script[step] = answer
            expect(f"{step}: {answer}", send(plain(server)), verdict, reply,
                   words)
        script.clear()
        script["rcpt"] = "550 5.1.1 gone"
        check("enhanced status", send(plain(server))[2] == "5.1.1")


def hanging():
    script = {}
    with MailServer(lambda step, *_: script.get(step)) as server:
        for step, verdict in (("ehlo", "later"), ("mail", "later"),
                              ("body", "unknown"), ("quit", "sent")):
            script.clear()
            script[step] = "hang"
            begun = time.monotonic()
            expect(f"hangs at {step}", send(plain(server), reply="1"), verdict)
            took = time.monotonic() - begun
            check(f"hangs at {step}: time", took < 6, took)
        # The patience of a server that is about to say goodbye is ours.
        script.clear()
        script["quit"] = "hang"
        begun = time.monotonic()
        expect("hangs at quit", send(plain(server), reply="60"), "sent")
        check("hangs at quit: time", time.monotonic() - begun < 6)


def absent():
    port = free_port()
    expect("nobody there", send(f"smtp://127.0.0.1:{port}"), "later", 0)
    expect("no such host", send("smtp://nowhere.invalid"), "later", 0)


def elsewhere():
    """"localhost", though somebody says that it is another address: clear
    text does not go there."""
    address = mail_peer.outer_address()
    if address is None:
        print("not tested: this machine is on no network")
        return
    with MailServer(address=address) as server:
        expect("clear text by a name that leads elsewhere",
               send(f"smtp://localhost:{server.port}",
                    resolve=f"localhost:{server.port}:{address}"), "later", 0)
        check("nothing came", not server.handler.commands,
              server.handler.commands)


def logins(certificate):
    with MailServer(tls="smtps", auth=True, certificate=certificate) as server:
        url, given = named("smtps", server, certificate)
        expect("smtps with login", send(url, **given, **LOGIN), "sent", 250)
        got = server.handler.mails[-1]
        check("logged in", got.login and got.encrypted, vars(got))
        bad = send(url, **given, user=USER, password="wrong word")
        expect("wrong password", bad, "configuration", 535,
               "refuses the login")
        wrong = dict(given, ca="/etc/ssl/certs/ca-certificates.crt")
        expect("unknown authority", send(url, **wrong, **LOGIN),
               "configuration", None, "certificate that is not trusted")
        missing = dict(given, ca="/nowhere/ca.pem")
        expect("no such authorities", send(url, **missing, **LOGIN),
               "configuration", None, "certificates to trust cannot be read")
        other = {"resolve": f"other.test:{server.port}:127.0.0.1",
                 "ca": certificate[0]}
        expect("certificate of another host",
               send(f"smtps://other.test:{server.port}", **other, **LOGIN),
               "configuration", None, "certificate that is not trusted")
        check("smtps: one mail", len(server.handler.mails) == 1)
    with MailServer(tls="starttls", auth=True,
                    certificate=certificate) as server:
        url, given = named("smtp", server, certificate)
        expect("STARTTLS with login", send(url, **given, **LOGIN), "sent", 250)
        got = server.handler.mails[-1]
        check("STARTTLS: logged in, encrypted",
              got.login and got.encrypted, vars(got))
        expect("STARTTLS without login", send(url, **given), "sent", 250)


def too_little(certificate):
    """Servers that offer no encryption, or no login: nothing may go."""
    with MailServer() as server:
        url, given = named("smtp", server, certificate)
        expect("no STARTTLS", send(url, **given), "configuration", 250,
               "grants no encryption")
        expect("no STARTTLS, with login", send(url, **given, **LOGIN),
               "configuration", 250)
        expect("no AUTH on this machine", send(plain(server), **LOGIN),
               "configuration", 250, "offers no login that")
        check("plain: nothing came", not server.handler.mails and
              "mail" not in server.handler.commands, server.handler.commands)
    for tls in ("starttls", "smtps"):
        with MailServer(tls=tls, certificate=certificate) as server:
            url, given = named("smtps" if tls == "smtps" else "smtp", server,
                               certificate)
            expect(f"no AUTH, {tls}", send(url, **given, **LOGIN),
                   "configuration", 250, "offers no login that")
            check(f"{tls}: nothing came", not server.handler.mails and
                  "mail" not in server.handler.commands,
                  server.handler.commands)


def secrets():
    """A server that says the password back."""
    import base64
    plain_login = base64.b64encode(
        b"\0" + USER.encode() + b"\0" + PASSWORD.encode()).decode()
    echoes = [PASSWORD, base64.b64encode(PASSWORD.encode()).decode(),
              plain_login]
    script = {}
    with MailServer(lambda step, *_: script.get(step), auth=True) as server:
        for echo in echoes:
            script["mail"] = f"451 4.3.0 seen {echo}"
            got = send(plain(server), **LOGIN)
            expect("echoed secret", got, "later", 451, "***")
            check("secret masked", echo not in got[3], got)


def main():
    (FOLDER / "message").write_bytes(MESSAGE.encode())
    certificate = mail_peer.make_certificate(FOLDER)
    taken()
    refusals()
    hanging()
    absent()
    elsewhere()
    logins(certificate)
    too_little(certificate)
    secrets()
    finish(150)


if __name__ == "__main__":
    main()
