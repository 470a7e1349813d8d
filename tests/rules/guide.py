#!/usr/bin/env python3
"""What docs/guide.md and README.md tell people to write and to type works:
each configuration passes `thawbell check`, each command of thawbell is run in
the demo, each option of thawbelld and each file that is named exists.

usage: guide.py THAWBELL THAWBELLD PROJECT_DIR
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile

AT = "2026-03-05T06:30:00-05:00"
PAGES = ["docs/guide.md", "README.md"]
SECRETS = re.compile(r"(?:password|token) file = (\S+)")
BASE = """[bush north]
place = 45.06, -71.90, 1480 ft
taps = 140
[sources]
contact = ann@bush.test
"""


def blocks(words):
    """The indented blocks, outside of paragraphs of a list."""
    found = re.findall(r"(?:^ {4,}\S.*\n)+", words, re.MULTILINE)
    return [[line.strip() for line in block.splitlines()] for block in found]


class Guide:
    def __init__(self, thawbell, thawbelld, project, home):
        self.thawbell, self.thawbelld = thawbell, thawbelld
        self.project, self.home = project, home
        self.tried, self.bad = {"configurations": 0, "commands": 0,
                                "names": 0}, []
        self.run(thawbell, "try")
        folder, = [name for name in os.listdir(home)
                   if name.startswith("thawbell-")]
        os.makedirs(self.path(".config"))
        shutil.move(self.path(folder), self.path(".config", "thawbell"))
        self.help = self.run(thawbell, "--help").stdout
        self.daemon_help = self.run(thawbelld, "--help").stdout

    def path(self, *names):
        return os.path.join(self.home, *names)

    def run(self, *words):
        return subprocess.run(
            words, capture_output=True, text=True, check=False, cwd=self.home,
            stdin=subprocess.DEVNULL,
            env={"HOME": self.home, "TMPDIR": self.home, "LC_ALL": "C.UTF-8",
                 "THAWBELL_DATA": self.project, "PATH": os.environ["PATH"]})

    def want(self, good, what):
        if not good:
            self.bad.append(what)

    def configuration(self, lines):
        whole = any(line.startswith("[bush") for line in lines)
        words = "\n".join(lines) + "\n"
        for name in SECRETS.findall(words):
            with open(self.path(name), "w", encoding="utf-8") as file:
                file.write("0123456789abcdefghijklmnop\n")
            os.chmod(self.path(name), 0o600)
        with open(self.path("guide.conf"), "w", encoding="utf-8") as file:
            file.write(words if whole else BASE + words)
        done = self.run(self.thawbell, "check", "guide.conf")
        self.want(done.returncode == 0 and "cannot be" not in done.stdout,
                  "\n".join(lines) + "\n" + done.stdout + done.stderr)
        self.tried["configurations"] += 1

    def command(self, line):
        words = line.split("#")[0].split()
        if words[0] == "thawbell":
            done = self.run(self.thawbell, *words[1:], "--at", AT)
            self.want(done.returncode == 0 and done.stdout.strip(),
                      "%s\n%s%s" % (line, done.stdout, done.stderr))
        elif words[0] == "thawbelld":
            for word in words[1:]:
                self.want(word in self.daemon_help, line + ": no such option")
        elif words[0] == "sh":
            self.want(os.path.exists(os.path.join(self.project, words[1])),
                      line)
        elif words[0] != "chmod":
            self.bad.append("not tried: " + line)
        self.tried["commands"] += 1

    def name(self, words):
        """What stands between backquotes."""
        self.tried["names"] += 1
        if re.match(r"(docs|contrib|tests|models)/", words):
            self.want(os.path.exists(os.path.join(self.project, words)),
                      words + " is not there")
        found = re.match(r"thawbell (\w+)", words)
        if found:
            self.want(re.search("^  %s\\b" % found.group(1), self.help,
                                re.MULTILINE), "no command " + words)
        for option in re.findall(r"^thawbelld (--\S+)", words):
            self.want(option in self.daemon_help, "no option of " + words)

    def page(self, path):
        with open(os.path.join(self.project, path), encoding="utf-8") as file:
            words = file.read()
        for lines in blocks(words):
            if lines[0].startswith("["):
                self.configuration(lines)
            else:
                for line in lines:
                    self.command(line)
        for inline in re.findall(r"`([^`\n]+)`", words):
            self.name(inline)


def main():
    with tempfile.TemporaryDirectory() as home:
        guide = Guide(*map(os.path.abspath, sys.argv[1:4]), home)
        for page in PAGES:
            guide.page(page)
    print(", ".join("%d %s" % (count, what)
                    for what, count in guide.tried.items()))
    for what in guide.bad:
        print("---\n" + what)
    few = (guide.tried["configurations"] < 5 or guide.tried["commands"] < 15)
    return 1 if guide.bad or few else 0


sys.exit(main())
