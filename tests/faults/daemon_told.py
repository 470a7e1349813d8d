#!/usr/bin/env python3
"""What the service manager and those who ask the server are told while not all
is well: an address that others listen on, a new token, an upload that fails,
mail that waits, a configuration that was refused.

    python3 daemon_told.py THAWBELLD THAWBELL [CASE...]
"""

import json
import os
import re
import signal
import socket
import time
import urllib.error
import urllib.request

import once_bench
from checks import free_port, needs
from daemon_bench import (Daemon, clock_programs, sanitized,
                          unsanitized)
from once_bench import (COMPLETE, ENSEMBLE, FORECAST, GRID, HOUR, POINTS,
                        START, want)

ALL = (POINTS, GRID, COMPLETE, FORECAST, ENSEMBLE)


def read(bench):
    with open(bench.path("bend.conf"), encoding="utf-8") as file:
        return file.read()


def write(bench, words):
    with open(bench.path("bend.conf"), "w", encoding="utf-8") as file:
        file.write(words)


def listen(bench, port, more=""):
    write(bench, read(bench).replace(
        "publish = public",
        "publish = public\nlisten = 127.0.0.1:%d%s" % (port, more)))


def token(bench, slug="tamarack-bend"):
    with open(bench.path("state", "thawbell", slug + ".token"),
              encoding="ascii") as file:
        return file.read().strip()


def get(port, path):
    try:
        with urllib.request.urlopen("http://127.0.0.1:%d/%s" % (port, path),
                                    timeout=5) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as error:
        return error.code, error.read().decode()
    except OSError:
        return 0, ""


def until(daemon, what, good, wait_s=30):
    end = time.monotonic() + wait_s
    while not good():
        want(daemon.process.poll() is None, "it ended\n" + daemon.log())
        want(time.monotonic() < end, "never: %s: %s\n%s" % (
            what, daemon.said[-3:], daemon.log()))
        daemon.hear(0.1)


def start(bench, at=START, **options):
    daemon = Daemon(bench, at=at, **options)
    daemon.wait_for("^READY=1$")
    daemon.next_turn(at)
    return daemon


def healthy(port, secret):
    """200, with the age of the weather that is published."""
    code, words = get(port, secret + "/health")
    return code == 200 and 0 <= json.loads(words)["weather_age_s"] < HOUR


def turns(port, secret):
    """Turns made, and the services whose turns are counted."""
    words = get(port, secret + "/metrics")[1]
    return (int(re.search(r'turns_total\{result="made"\} (\d+)',
                          words).group(1)),
            set(re.findall(r'source_turns_total\{source="([^"]+)",'
                           r'result="good"\} 1\n', words)))


def sources(bench):
    return {row["name"] for row in
            json.loads(bench.both()[0])["sources"] if not row["trouble"]}


def served_later(bench):
    """Somebody else listens there at first: that is told, and once it is
    served, health and figures are those of the turn that was meanwhile."""
    bench.begin("served-later")
    port = free_port()
    listen(bench, port)
    with socket.create_server(("127.0.0.1", port)):
        daemon = start(bench)
        daemon.wait_for(r"STATUS=1 operation; .*; 1 not served, Tamarack Bend "
                        r"since 2026-03-05T11:3\d:\d\dZ: .*127\.0\.0\.1:%d"
                        % port)
        daemon.logged("Tamarack Bend is not served", 1)
    since = len(daemon.said)
    daemon.set_clock(START + 90)
    until(daemon, "health", lambda: healthy(port, token(bench)))
    want(turns(port, token(bench)) == (1, sources(bench)),
         "the figures of the turn: %s" % (turns(port, token(bench)),))
    want(len(sources(bench)) > 1, "services in the bulletin")
    daemon.wait_for(r"^STATUS=1 operation; oldest weather of [^;]*; "
                    r"next turn [^;]*$", since=since)
    daemon.logged("turn done", 1)
    daemon.logged("Tamarack Bend is not served", 1)
    daemon.end()


def new_token(bench):
    """Its file is removed and the configuration read anew: the new address
    tells what the old one did."""
    bench.begin("new-token")
    port = free_port()
    listen(bench, port)
    daemon = start(bench)
    before = token(bench)
    until(daemon, "health", lambda: healthy(port, before))
    figures = turns(port, before)
    want(figures[0] == 1, figures)
    os.remove(bench.path("state", "thawbell", "tamarack-bend.token"))
    daemon.process.send_signal(signal.SIGHUP)
    daemon.wait_log("configuration read anew")
    until(daemon, "the old one is gone",
          lambda: get(port, before + "/health")[0] == 404)
    want(token(bench) != before, "a new token")
    want(healthy(port, token(bench)), get(port, token(bench) + "/health"))
    want(turns(port, token(bench)) == figures, "the figures are kept")
    daemon.logged("turn done", 1)
    daemon.end()


def before_the_first_turn(bench):
    """What an earlier process published is served with its figures, though
    this one has made no turn and no service answers."""
    bench.begin_good("before-the-first")
    port = free_port()
    listen(bench, port)
    bench.serve_paths({path: {"fault": "silent"} for path in ALL})
    daemon = Daemon(bench, at=START + HOUR // 2)
    until(daemon, "health", lambda: os.path.exists(bench.path(
        "state", "thawbell", "tamarack-bend.token")) and
        healthy(port, token(bench)))
    words = get(port, token(bench) + "/metrics")[1]
    for name in sources(bench):
        want('source_age_seconds{source="%s"} ' % name in words, words)
    age = re.search(r"bulletin_age_seconds (\d+)", words)
    want(age and HOUR // 2 - 60 <= int(age.group(1)) < HOUR, words)
    daemon.logged("turn done", 0)
    daemon.end()


def second_failure(bench):
    """One that cannot be served does not hide another that cannot later."""
    bench.begin("second-failure")
    folder = bench.write_many(2)
    ports = [free_port() for _ in range(3)]

    def conf(number, port):
        path = os.path.join(folder, "%03d.conf" % number)
        with open(path, encoding="utf-8") as file:
            words = re.sub(r"(?m)^listen = .*\n", "", file.read())
        with open(path, "w", encoding="utf-8") as file:
            file.write(words + "listen = 127.0.0.1:%d\n" % port)

    conf(0, ports[0])
    conf(1, ports[1])
    with socket.create_server(("127.0.0.1", ports[0])), \
            socket.create_server(("127.0.0.1", ports[2])):
        daemon = start(bench, folder=folder)
        daemon.wait_for("STATUS=2 operations; .*; 1 not served, Sugarhouse 0 ")
        until(daemon, "the other is served", lambda: get(
            ports[1], token(bench, "sugarhouse-1") + "/health")[0] == 200)
        # Its token is readable by all, and then that is all that has changed.
        os.chmod(bench.path("state", "thawbell", "sugarhouse-1.token"), 0o644)
        conf(1, ports[2])
        daemon.process.send_signal(signal.SIGHUP)
        daemon.wait_log("error: Sugarhouse 1 is not served: .*token")
        daemon.wait_for("STATUS=.*; 2 not served, Sugarhouse 0 since")
        os.chmod(bench.path("state", "thawbell", "sugarhouse-1.token"), 0o600)
        before = daemon.log().count("Sugarhouse 0 is not served")
        daemon.set_clock(START + 90)
        daemon.wait_log("Sugarhouse 1 is not served: .*:%d" % ports[2])
        want(daemon.log().count("Sugarhouse 0 is not served") == before,
             "told again though nothing has changed\n" + daemon.log())
    daemon.set_clock(START + 180)
    until(daemon, "both are served", lambda: all(
        get(port, token(bench, slug) + "/health")[0] == 200 for port, slug in
        ((ports[0], "sugarhouse-0"), (ports[2], "sugarhouse-1"))))
    until(daemon, "no word of it", lambda: daemon.said and
          "not served" not in daemon.said[-1])
    daemon.end()


def not_uploaded(bench):
    bench.begin("not-uploaded")
    port = free_port()
    write(bench, read(bench) + "upload = http://127.0.0.1:%d/dav/\n"
          "upload user = ann\nupload password file = secret\n" % port)
    with open(bench.path("secret"), "w", encoding="ascii") as file:
        file.write("a-word-of-ours\n")
    os.chmod(bench.path("secret"), 0o600)
    daemon = start(bench)
    pattern = (r"STATUS=1 operation; .*; 1 not uploaded, Tamarack Bend since "
               r"2026-03-05T11:3\d:\d\dZ: ")
    daemon.wait_for(pattern)
    since = len(daemon.said)
    daemon.set_clock(START + 3 * HOUR)
    daemon.next_turn(START + 3 * HOUR)
    daemon.wait_for(pattern, since=since)
    daemon.logged(r"warning: Tamarack Bend: .*; it is tried again", 1)
    want("a-word-of-ours" not in daemon.log() + "".join(daemon.said),
         "the password is told")
    daemon.end()


def mail_waits(bench):
    """There is no mail server: how many wait, and since when; nothing while
    all is well, and the addresses shortened."""
    bench.begin("mail-waits")
    port = free_port()
    write(bench, read(bench) + "[mail]\n"
          "server = smtp://127.0.0.1:%d/bend.bush.test\n"
          "from = bend@bush.test\nto = ann@bush.test, bob@farm.test\n"
          "alerts = none\n" % port)
    morning = START - HOUR
    daemon = start(bench, at=morning - 180, steady=True)
    want(" wait" not in "".join(daemon.said), daemon.said)
    daemon.set_clock(morning + 1)
    daemon.wait_for(r"STATUS=1 operation; .*; 2 mails wait, Tamarack Bend since "
                    r"2026-03-05T10:30:0\dZ: .*127\.0\.0\.1")
    want("ann@" not in "".join(daemon.said), daemon.said)
    daemon.process.send_signal(signal.SIGHUP)
    daemon.wait_log("configuration read anew")
    while daemon.hear(1):
        pass
    last = [words for words in daemon.said if words.startswith("STATUS=")][-1]
    want("; 2 mails wait, " in last, "not after a reload: " + last)
    daemon.end()


def refused(bench):
    """A refused configuration is told first, since when, and hides nothing of
    what goes on under the old one."""
    bench.begin("refused")
    daemon = start(bench)
    good = read(bench)
    for words in ("many", "lots"):
        write(bench, good.replace("taps = 140", "taps = " + words))
        daemon.process.send_signal(signal.SIGHUP)
        match = daemon.wait_for(
            "STATUS=new configuration refused, the old one stays in force, "
            r"since (2026-03-05T11:\d\d:\d\dZ): \S*bend\.conf:\d+: .*" + words +
            ".*; 1 operation; oldest weather of .*; next turn [^;]*$")
        first = match.group(1) if words == "many" else first
        daemon.set_clock(START + 300)
    want(match.group(1) == first, "since the first one: " + match.group(1))
    bench.serve_paths({path: {"fault": "overloaded"} for path in ALL})
    daemon.set_clock(START + 8 * HOUR)
    daemon.wait_for("STATUS=new configuration refused, the old one stays in "
                    "force, since " + first + ": .*; 1 operation; oldest "
                    "weather of 2026-03-05T11:.*; next turn .*; 1 in trouble, "
                    "Tamarack Bend since 2026-03-05T19:3")
    bench.serve()
    write(bench, good)
    since = len(daemon.said)
    daemon.process.send_signal(signal.SIGHUP)
    daemon.wait_for("^STATUS=1 operation; ", since=since)
    daemon.end()


def all_at_once(bench):
    """Each has its clause, and the line stays within a datagram."""
    bench.begin("all-at-once")
    port = free_port()
    listen(bench, port, "\nupload = http://127.0.0.1:%d/dav/\n"
           "upload user = ann\nupload password file = missing" % free_port())
    with open(bench.path("missing"), "w", encoding="ascii") as file:
        file.write("word\n")
    os.chmod(bench.path("missing"), 0o600)
    with socket.create_server(("127.0.0.1", port)):
        daemon = start(bench)
        write(bench, read(bench).replace("taps = 140", "taps = many"))
        daemon.process.send_signal(signal.SIGHUP)
        daemon.wait_for("STATUS=new configuration refused")
        bench.serve_paths({path: {"fault": "overloaded"} for path in ALL})
        daemon.set_clock(START + 8 * HOUR)
        match = daemon.wait_for(
            "STATUS=new configuration refused, .*; 1 operation; .*; 1 in "
            "trouble, .*; 1 not served, .*; 1 not uploaded, .*")
        want(len(match.group(0).encode()) < 1500, match.group(0))
    daemon.end()


CASES = [(case.__name__, case) for case in (
    served_later, new_token, before_the_first_turn, second_failure,
    not_uploaded, mail_waits, refused, all_at_once)]

if __name__ == "__main__":
    # Turned clocks, threads and a sanitizer stand in each other's way.
    PROGRAMS = unsanitized(clock_programs())
    needs(not sanitized(PROGRAMS["thawbelld"]),
          "a build without sanitizers, named in THAWBELL_OTHER_BUILD")
    once_bench.main(CASES, once_bench.Bench(PROGRAMS))
