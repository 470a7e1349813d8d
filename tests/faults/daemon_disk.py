#!/usr/bin/env python3
"""The running thawbelld on a disk that is full, and on one that is read-only.

    python3 daemon_disk.py THAWBELLD THAWBELL [CASE...]

The disk is a tmpfs of some MB that holds state and publish folder, in a mount
namespace of this test's own: it goes with the test, however that ends. Each
case with one operation, which flushes its files one by one, and with forty,
which flush the file system (src/daemon/turns.c).

A file system cannot be made read-only while the daemon has its store open for
writing: so a mount over each folder is, which keeps from being opened for
writing all but what is open already. The whole of it is read-only only for a
daemon that starts on it.
"""

import os
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time

import once_bench
from checks import needs
from daemon_bench import Daemon, clock_programs
from daemon_kills import Memory
from moving import HOUR, MovingBench, events
from once_bench import want

BEGIN = 1772366400  # 1 March 2026, noon UTC, 7:00 at the bush
SINCE, SINCE_UTC = "2026-03-01T08:0", "2026-03-01T13:0"
# Hours after BEGIN, the last one after midnight.
TROUBLE, MENDED = (1, 2, 8, 18), (19, 20)
FULL, READ_ONLY = "No space left on device", "Read-only file system"
FILES = ("bulletin.json", "calendar.ics", "index.html")
OWN = "THAWBELL_OWN_NAMESPACE"


def may_mount(way):
    with tempfile.TemporaryDirectory() as folder:
        try:
            return subprocess.run(
                ["unshare", way, "mount", "-t", "tmpfs", "tmpfs", folder],
                capture_output=True, check=False).returncode == 0
        except FileNotFoundError:
            return False


def own_namespace():
    """This script again where it may mount: as root, or as one who is root
    within a namespace alone."""
    if OWN in os.environ:
        return
    ways = [way for way in ("-m", "-rm") if may_mount(way)]
    needs(ways, "root, or a kernel that lets others mount in a namespace of "
          "their own (unshare -rm)")
    os.environ[OWN] = "yes"
    os.execvp("unshare", ["unshare", ways[0], sys.executable, "-B"] + sys.argv)


def mount(*words):
    subprocess.run(["mount", *words], check=True)


class DiskBench(MovingBench):
    """State and publish folder lie on the disk."""

    running = None

    def path(self, *names):
        if names and names[0] in ("state", "public"):
            names = ("disk",) + names
        return super().path(*names)

    def begin_on_disk(self, name, operations):
        """A disk for so many operations, and a daemon that has published."""
        self.begin("%s %d" % (name, operations))
        self.disk = self.path("disk")
        self.operations = operations
        os.mkdir(self.disk)
        mount("-t", "tmpfs", "-o", "size=%dm" % (4 + operations // 2),
              "tmpfs", self.disk)
        self.many = self.write_many(operations)
        shutil.copy(os.path.join(self.many, "000.conf"),
                    self.path("bend.conf"))
        self.memories = [Memory(self.path("public", "sugarhouse-%d" % number))
                         for number in range(operations)]
        daemon = self.first_turns(BEGIN)
        self.look()
        want(all(memory.events for memory in self.memories), "no events")
        return daemon

    def daemon(self, at):
        self.running = Daemon(self, at=at, folder=self.many)
        return self.running

    def first_turns(self, at):
        """Of a daemon that starts: many are spread over some seconds, and
        after the first one the clock goes on so long."""
        path = self.path("log")
        since = os.path.getsize(path) if os.path.exists(path) else 0
        daemon = self.daemon(at)
        self.turned(daemon, since, 1)
        daemon.set_clock(at + 30)
        self.turned(daemon, since)
        daemon.wait_for("^READY=1$")
        return daemon

    def turned(self, daemon, since, count=None):
        """Until so many operations or all have turned, after so many bytes of
        the log; returns these words."""
        count = count or self.operations
        end = time.monotonic() + 120
        while True:
            words = daemon.log()[since:]
            if len(set(re.findall("turn done.* operation=(\\S+)",
                                  words))) >= count:
                return words
            want(daemon.process.poll() is None, "it ended\n" + words)
            want(time.monotonic() < end, "not all have turned\n" + words)
            daemon.hear(0.05)

    # -- what is published

    def look(self):
        for memory in self.memories:
            memory.published(self.site.fixed_now)

    def files(self):
        return {(memory.folder, name): memory.read(name)
                for memory in self.memories for name in FILES}

    def uids(self):
        return [{event["UID"] for event in events(memory.read("calendar.ics"))}
                for memory in self.memories]

    # -- the disk

    def fill(self):
        """To the last byte."""
        with open(os.path.join(self.disk, "fill"), "wb", buffering=0) as file:
            for size in (4096, 1):
                try:
                    while True:
                        file.write(b"\0" * size)
                except OSError:
                    pass

    def empty(self):
        os.remove(os.path.join(self.disk, "fill"))

    def lock(self, *folders):
        """These folders of the disk become read-only."""
        for folder in folders:
            path = self.path(folder)
            mount("--bind", path, path)
            mount("-o", "remount,ro,bind", path)

    def unlock(self, *folders):
        for folder in folders:
            subprocess.run(["umount", self.path(folder)], check=True)

    def unmount(self):
        """All that is mounted in the case's folder, the last first."""
        with open("/proc/self/mounts", encoding="utf-8") as file:
            places = [line.split()[1].replace("\\040", " ") for line in file]
        for place in reversed(places):
            if place.startswith(self.folder + "/"):
                if subprocess.run(["umount", place], check=False).returncode:
                    subprocess.run(["umount", "-l", place], check=True)


def turn_at(bench, daemon, hour):
    """The log's words of an hour's turns."""
    while daemon.hear(0):
        pass
    since = len(daemon.log())
    daemon.set_clock(BEGIN + hour * HOUR)
    return bench.turned(daemon, since)


def told(words):
    """What is not plain information, without its time."""
    return [line[21:] for line in words.splitlines()
            if not re.match(r"\S+ info: ", line)]


def trouble(bench, daemon, sentences, others=()):
    """In each of the turns all stays as it was, and in the first one alone
    each operation tells each of these sentences, once."""
    before = bench.files()
    for hour in TROUBLE:
        said = len(daemon.said)
        lines = told(turn_at(bench, daemon, hour))
        if hour == TROUBLE[0]:
            wanted = ["warning: Sugarhouse %d: %s operation=sugarhouse-%d$" % (
                number, sentence, number) for sentence in sentences
                for number in range(bench.operations)] + list(others)
            for one in wanted:
                want(sum(bool(re.match(one, line)) for line in lines) == 1,
                     "not told once: %s\n%s" % (one, "\n".join(lines)))
            want(len(lines) == len(wanted), "more is told\n" + "\n".join(lines))
        else:
            want(not lines, "told again\n" + "\n".join(lines))
        want(bench.files() == before, "what was published has changed")
        daemon.wait_for("^STATUS=%d operations?; oldest weather of "
                        "2026-03-01T12:00:0.*; %d in trouble, Sugarhouse .* "
                        "since %s.*: %s" % (
                            bench.operations, bench.operations, SINCE_UTC,
                            sentences[0]), since=said)
    line = bench.line(BEGIN + TROUBLE[-1] * HOUR)
    want("Forecast %d h old." % TROUBLE[-1] in line, "no age in: " + line)


def mended(bench, daemon):
    """By itself, with the next turn; no event is lost."""
    before, uids = bench.files(), bench.uids()
    lines = told(turn_at(bench, daemon, MENDED[0]))
    for number in range(bench.operations):
        well = [line for line in lines if re.match(
            "warning: Sugarhouse %d: all is well again; something was wrong "
            "since %s" % (number, SINCE), line)]
        want(len(well) == 1, "not well again: %d" % number)
    want(len(lines) == bench.operations, "more is told\n" + "\n".join(lines))
    want(not told(turn_at(bench, daemon, MENDED[1])), "not well")
    daemon.wait_for("^STATUS=%d operations?; oldest weather of 2026-03-02T08:"
                    "[^;]*; next turn [^;]*$" % bench.operations)
    after_all(bench, daemon, before, uids)


def after_all(bench, daemon, before, uids):
    """New files, all the events, a sound store."""
    after = bench.files()
    want(all(after[key] != words for key, words in before.items()
             if key[1] != "calendar.ics"), "not published anew")
    bench.look()
    for old, new in zip(uids, bench.uids()):
        want(old <= new, "events lost: %s" % (old - new))
    want("old." not in bench.line(BEGIN + MENDED[1] * HOUR), "still old")
    daemon.end()
    base = sqlite3.connect(bench.path("state", "thawbell", "thawbell.db"))
    want(base.execute("PRAGMA integrity_check").fetchone()[0] == "ok",
         "no sound store")
    base.close()


def full(bench, operations):
    daemon = bench.begin_on_disk("full", operations)
    bench.fill()
    trouble(bench, daemon, [
        "the calendar was not published: %s: the database cannot be used: %s"
        % (bench.path("state", "thawbell", "thawbell.db"), FULL),
        "%s/\\S+: cannot be written: %s" % (bench.path("public"), FULL)])
    bench.empty()
    mended(bench, daemon)


def filled_later(bench, operations):
    """What was published the time before is written into, and where that holds
    it the bulletin goes on: each file is the old one or a new one, whole. An
    operation may find room that another has left."""
    daemon = bench.begin_on_disk("filled later", operations)
    for hour in TROUBLE[:2]:
        want(not told(turn_at(bench, daemon, hour)), "not well")
    bench.fill()
    uids = bench.uids()
    for hour in TROUBLE[2:]:
        lines = told(turn_at(bench, daemon, hour))
        bench.look()
        wrong = [line for line in lines if "all is well again" not in line]
        want(all(re.search(FULL + " operation=", line) for line in wrong),
             "\n".join(wrong))
        slugs = [line.split()[-1] for line in wrong]
        want(all(slugs.count(slug) <= 2 for slug in slugs),
             "more than two of one\n" + "\n".join(wrong))
    daemon.wait_for("^STATUS=.* in trouble, Sugarhouse .* since 2026-03-0.*: "
                    + FULL)
    before = bench.files()
    bench.empty()
    lines = told(turn_at(bench, daemon, MENDED[0]))
    want(lines and all("all is well again" in line for line in lines),
         "\n".join(lines))
    want(not told(turn_at(bench, daemon, MENDED[1])), "not well")
    after_all(bench, daemon, before, uids)


def read_only(bench, operations, *folders):
    """Held answers are the one thing of the state folder that is opened anew;
    the one place of all the operations has one."""
    daemon = bench.begin_on_disk("read-only " + folders[-1], operations)
    bench.lock(*folders)
    trouble(bench, daemon, [
        "%s/\\S+: cannot be written: %s" % (bench.path("public"), READ_ONLY)],
        ["error: %s/\\S+: cannot be written: %s; answers are kept in memory "
         "alone until they can be written$" % (bench.path("state"), READ_ONLY)]
        if "state" in folders else [])
    bench.unlock(*folders)
    mended(bench, daemon)


def start_full(bench, operations):
    """A daemon that starts on a full disk waits for its store."""
    bench.begin_on_disk("start full", operations).end()
    bench.fill()
    before, uids = bench.files(), bench.uids()
    daemon = bench.daemon(BEGIN + HOUR)
    why = "%s: the database cannot be used: %s" % (
        bench.path("state", "thawbell", "thawbell.db"), FULL)
    daemon.wait_for("^STATUS=the store cannot be opened; trying again since "
                    "2026-03-01T13:0.*Z: %s$" % why)
    for hour in TROUBLE[1:]:
        daemon.set_clock(BEGIN + hour * HOUR)
        daemon.hear(1)
    want(bench.files() == before, "what was published has changed")
    daemon.logged("error: %s; trying again every minute" % why, 1)
    line = bench.line(BEGIN + TROUBLE[-1] * HOUR)
    want("Forecast %d h old." % TROUBLE[-1] in line, "no age in: " + line)
    bench.empty()
    words = turn_at(bench, daemon, MENDED[0])
    want("the store can be opened again" in words, words)
    turn_at(bench, daemon, MENDED[1])
    after_all(bench, daemon, before, uids)


def start_read_only(bench, operations):
    """One that starts on a read-only disk says so and ends: the service
    manager starts it again. What is published can be read meanwhile."""
    bench.begin_on_disk("start read-only", operations).end()
    mount("-o", "remount,ro", bench.disk)
    before, uids = bench.files(), bench.uids()
    daemon = bench.daemon(BEGIN + HOUR)
    want(daemon.process.wait(10) == 1, "it should end with 1")
    daemon.logged("error: %s: cannot be opened: %s" % (
        bench.path("state", "thawbell", "lock"), READ_ONLY), 1)
    daemon.manager.close()
    want(bench.files() == before, "what was published has changed")
    line = bench.line(BEGIN + TROUBLE[-1] * HOUR)
    want("Forecast %d h old." % TROUBLE[-1] in line, "no age in: " + line)
    mount("-o", "remount,rw", bench.disk)
    daemon = bench.first_turns(BEGIN + MENDED[0] * HOUR)
    turn_at(bench, daemon, MENDED[1])
    after_all(bench, daemon, before, uids)


def unmounted(case, *words):
    def run(bench):
        try:
            case(bench, *words)
        finally:
            if bench.running and bench.running.process.poll() is None:
                bench.running.kill()
            bench.unmount()
    return run


CASES = [(name + many, unmounted(case, operations, *words))
         for name, case, *words in (
             ("full", full),
             ("filled later", filled_later),
             ("publish folder read-only", read_only, "public"),
             ("both folders read-only", read_only, "public", "state"),
             ("start on a full disk", start_full),
             ("start on a read-only disk", start_read_only))
         for many, operations in (("", 1), (", forty operations", 40))]

if __name__ == "__main__":
    own_namespace()
    once_bench.main(CASES, DiskBench(clock_programs()))
