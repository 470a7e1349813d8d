#!/usr/bin/env python3
"""A newcomer's path, as README.md tells it: a clone, one command that
installs, five lines, one command that fetches; then a calendar of one's own
place. The commands and the five lines are read out of README.md.

Two more lines send the requests to this machine: the test has no network. The
clock is the demo's, by --at.

    python3 newcomer.py PROJECT_DIR
"""

import os
import re
import shutil
import subprocess
import sys
import time

import once_bench
from once_bench import START, want

MOST_LINES = 5


def section(words, heading):
    """The indented blocks of a section, each as a list of lines."""
    body = words.split("\n## " + heading + "\n")[1].split("\n## ")[0]
    blocks = re.findall(r"(?:^    .*\n)+", body, re.MULTILINE)
    return [[line[4:] for line in block.splitlines()] for block in blocks]


class Newcomer:
    def __init__(self, bench, project):
        bench.begin("newcomer")
        self.bench = bench
        self.home = bench.path("home")
        self.clone = bench.path("thawbell")
        self.project = project
        self.times = []

    def run(self, words, ends=0, at=True):
        """A command as typed, its comment left out."""
        words = words.split("#")[0].strip()
        if at and re.match("thawbelld? ?", words):
            words += " --at " + once_bench.iso(START)
        started = time.monotonic()
        done = subprocess.run(
            ["sh", "-c", words], cwd=self.clone, capture_output=True,
            text=True, timeout=1500, check=False,
            env={"HOME": self.home, "LC_ALL": "C.UTF-8", "PREFIX":
                 self.home + "/.local",
                 "PATH": self.home + "/.local/bin:" + os.environ["PATH"]})
        self.times.append((words, time.monotonic() - started))
        want(done.returncode == ends, "%s ends with %d:\n%s%s"
             % (words, done.returncode, done.stdout, done.stderr))
        return done.stdout + done.stderr

    def fetch_project(self):
        if os.path.exists(os.path.join(self.project, ".git")):
            subprocess.run(["git", "clone", "-q", self.project, self.clone],
                           check=True, timeout=120)
        else:
            shutil.copytree(self.project, self.clone,
                            ignore=shutil.ignore_patterns("build*", ".git"))

    def configure(self, lines):
        """Where README.md says; the test's two lines come after."""
        folder = os.path.join(self.home, ".config", "thawbell")
        os.makedirs(folder)
        with open(os.path.join(folder, "tamarack-bend.conf"), "w",
                  encoding="utf-8") as file:
            file.write("\n".join(lines) + "\n")
            for name, host in (("open-meteo", once_bench.OPEN_METEO),
                               ("metno", once_bench.METNO)):
                file.write("%s url = http://%s:%d\n"
                           % (name, host, self.bench.port))

    def published(self, name):
        path = os.path.join(self.home, ".local/state/thawbell/public",
                            "tamarack-bend", name)
        with open(path, encoding="utf-8") as file:
            return file.read()


def path(bench):
    newcomer = Newcomer(bench, sys.argv[1])
    newcomer.fetch_project()
    with open(os.path.join(newcomer.clone, "README.md"),
              encoding="utf-8") as file:
        install, lines, commands = section(file.read(), "Your own bush")
    want(len(install) == 1 and len(lines) <= MOST_LINES, "few lines")
    newcomer.run(install[0])
    said = newcomer.run("thawbell check", ends=2, at=False)
    want("no configuration" in said and "check --example" in said,
         "check guides: " + said)
    newcomer.configure(lines)
    want(commands[0].startswith("thawbelld --once"), "the second command")
    newcomer.run(commands[0])
    calendar = newcomer.published("calendar.ics")
    want(calendar.count("BEGIN:VEVENT") >= 5, "a calendar with run days")
    want("X-WR-CALNAME:Sap: tamarack-bend" in calendar, "of that name")
    told = sum(seconds for _, seconds in newcomer.times)
    for command in commands[1:]:
        want(newcomer.run(command).strip(), command + " says something")
    said = newcomer.run("thawbell check")
    want("configuration OK" in said and "at 45.0600, -71.9000 and 1480 ft"
         in said, "of one's own place: " + said)
    for words, seconds in newcomer.times:
        print("%6.1f s  %s" % (seconds, words))
    print("%6.1f s from the clone to the calendar" % told)


if __name__ == "__main__":
    # The programs are those that it installs.
    once_bench.main([("a newcomer's path", path)], once_bench.Bench({}))
