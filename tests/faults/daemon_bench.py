"""A bench for the running thawbelld: the real program with its own folders,
the faulty services of server.py within this process, a service manager's
socket, and a clock that the test turns.

The clock is libfaketime's, told by a file with an offset; it moves all clocks
of the daemon alike, as a machine does that sleeps. SIGCONT then has the loop
look at it. Without libfaketime the clock cannot be turned, and what needs
that says so.
"""

import ctypes
import datetime
import glob
import os
import re
import resource
import select
import signal
import socket
import subprocess
import time

import once_bench
from checks import needs
from once_bench import Wrong, want

LIBRARIES = ("/usr/lib/*/faketime/libfaketimeMT.so.1",
             "/usr/lib/*/faketime/libfaketime.so.1")


def faketime_library():
    found = [path for pattern in LIBRARIES for path in glob.glob(pattern)]
    return found[0] if found else None


def preload(program):
    """libfaketime, after the sanitizer's own library where one is linked."""
    names = subprocess.run(["ldd", program], capture_output=True, text=True,
                           check=False).stdout
    asan = re.search(r"=> (\S*libasan\S*)", names)
    return " ".join(([asan.group(1)] if asan else []) + [faketime_library()])


def sanitized(program):
    names = subprocess.run(["ldd", program], capture_output=True, text=True,
                           check=False).stdout
    return "libasan" in names


def clock_programs():
    """The programs named on the command line, for a test that turns the
    clock."""
    needs(faketime_library() is not None, "the package faketime")
    return once_bench.named_programs()


def unsanitized(programs):
    """The same programs of the build folder THAWBELL_OTHER_BUILD, where these
    are sanitized and one is named."""
    other = os.environ.get("THAWBELL_OTHER_BUILD")
    if not other or not sanitized(programs["thawbelld"]):
        return programs
    return {name: os.path.join(other, "src", name) for name in programs}


def seconds(words):
    """An ISO time as UTC seconds."""
    return datetime.datetime.fromisoformat(
        words.replace("Z", "+00:00")).timestamp()


def before_start(limits):
    """A daemon does not outlive its test: PR_SET_PDEATHSIG of prctl(2)."""
    ctypes.CDLL(None).prctl(1, signal.SIGKILL)
    for which, value in limits:
        resource.setrlimit(which, value)


class Daemon:
    """One process, from start to end."""

    def __init__(self, bench, *words, at=None, limits=None, environment=None,
                 folder=None, steady=False, turned=True):
        self.bench = bench
        self.said = []
        self.offset = 0
        self.log_path = bench.path("log")
        name = bench.path("notify")
        if os.path.exists(name):
            os.remove(name)
        self.manager = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.manager.bind(name)
        self.clock_path = bench.path("clock")
        env = dict(bench.environment(), NOTIFY_SOCKET=name)
        env.update(environment or {})
        program = bench.programs["thawbelld"]
        if at is not None:
            self.set_clock(at, wake=False)
            env.update(LD_PRELOAD=preload(program),
                       ASAN_OPTIONS="verify_asan_link_order=0:"
                       "allocator_release_to_os_interval_ms=-1")
            env.update(self.clock_environment(turned))
            if steady:  # the machine's clock is set, it does not sleep
                env["FAKETIME_DONT_FAKE_MONOTONIC"] = "1"
        with open(self.log_path, "a", encoding="utf-8") as log:
            self.process = subprocess.Popen(
                [program, "-c", folder or bench.path("bend.conf"), *words],
                env=env, stderr=log, stdout=log, stdin=subprocess.DEVNULL,
                preexec_fn=lambda: before_start(limits or ()))

    # -- the clock

    def clock_environment(self, turned):
        """Reading a file for each look at the clock takes memory, and that in
        the sanitizer's own allocator, where it blocks a program with threads:
        one whose clock is not turned gets it told at once. Nor may that
        allocator look at the clock itself, to give memory back."""
        if turned:
            return {"FAKETIME_NO_CACHE": "1",
                    "FAKETIME_TIMESTAMP_FILE": self.clock_path}
        return {"FAKETIME": "%+.3f" % self.offset}

    def set_clock(self, at, wake=True):
        """The daemon's clock shows `at` now, and goes on from there."""
        self.offset = at + 0.01 - time.time()
        with open(self.clock_path + ".new", "w", encoding="ascii") as file:
            file.write("%+.3f\n" % self.offset)
        os.replace(self.clock_path + ".new", self.clock_path)
        self.bench.site.fixed_now = at
        if wake:
            self.process.send_signal(signal.SIGCONT)

    # -- what it says

    def hear(self, wait_s):
        """Takes datagrams of the service manager's socket."""
        ready, _, _ = select.select([self.manager], [], [], wait_s)
        if ready:
            self.said.append(self.manager.recv(4096).decode("utf-8"))
        return bool(ready)

    def wait_for(self, pattern, wait_s=60, since=0):
        """Until a datagram from the since-th on fits; returns the match."""
        seen, end = since, time.monotonic() + wait_s
        while True:
            for words in self.said[seen:]:
                match = re.search(pattern, words, re.S)
                if match:
                    return match
            seen = len(self.said)
            if self.process.poll() is not None:
                raise Wrong("it ended with %s\n%s" % (self.process.returncode,
                                                     self.log()))
            if time.monotonic() > end:
                raise Wrong("it never said /%s/, but %s\n%s" % (
                    pattern, self.said[since:], self.log()))
            self.hear(0.2)

    def log(self):
        with open(self.log_path, encoding="utf-8", errors="replace") as file:
            return file.read()

    def logged(self, pattern, times=None):
        found = re.findall(pattern, self.log())
        want(len(found) == times if times is not None else found,
             "/%s/ is %d times in the log\n%s" % (pattern, len(found),
                                                  self.log()))

    def wait_log(self, pattern, wait_s=60):
        end = time.monotonic() + wait_s
        while not re.search(pattern, self.log()):
            want(self.process.poll() is None, "it ended\n" + self.log())
            want(time.monotonic() < end,
                 "/%s/ never came into the log\n%s" % (pattern, self.log()))
            self.hear(0.05)

    # -- how it fares

    def next_turn(self, after, wait_s=60):
        """Waits until a turn is over and the next one is set for later than
        `after`; returns that."""
        end = time.monotonic() + wait_s
        while True:
            for words in reversed(self.said):
                match = re.search(r"next turn (\S+?Z)", words)
                if match:
                    at = seconds(match.group(1))
                    if at > after:
                        return at
                    break
            want(self.process.poll() is None, "it ended\n" + self.log())
            want(time.monotonic() < end, "no turn after %s: %s\n%s" % (
                once_bench.iso(after), self.said[-3:], self.log()))
            self.hear(0.2)

    def private_kb(self):
        with open("/proc/%d/status" % self.process.pid,
                  encoding="ascii") as file:
            return int(re.search(r"RssAnon:\s+(\d+)", file.read()).group(1))

    def descriptors(self):
        return len(os.listdir("/proc/%d/fd" % self.process.pid))

    # -- its end

    def end(self, code=0, number=signal.SIGTERM, wait_s=10):
        self.process.send_signal(number)
        end = time.monotonic() + wait_s
        while self.process.poll() is None and time.monotonic() < end:
            self.hear(0.05)
        if self.process.poll() is None:
            self.kill()
            raise Wrong("no end within %d s\n%s" % (wait_s, self.log()))
        while self.hear(0):
            pass
        self.manager.close()
        want(self.process.returncode == code, "it ended with %d\n%s" % (
            self.process.returncode, self.log()))

    def kill(self):
        self.process.kill()
        self.process.wait()
        self.manager.close()
