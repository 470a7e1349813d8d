#!/usr/bin/env python3
"""Checks the house rules of src: calls that are banned, lengths of functions,
files and lines, includes, and that every header compiles alone.

Usage: check_sources.py [--compiler CC] PROJECT
       check_sources.py [--compiler CC] --self-test

Prints one line for each rule broken and exits 1 if there is any."""

import argparse
import pathlib
import re
import shlex
import statistics
import subprocess
import sys
import tempfile

LONGEST_FUNCTION = 60
LONGEST_FILE = 500
LONGEST_LINE = 80

# Call, files that may make it all the same, and what to use instead.
BANNED = [
    (r"strcpy|strcat|sprintf|vsprintf|gets|strncpy|strncat", [],
     "snprintf, base/text.h"),
    (r"atoi|atol|atoll|atof", [], "number_parse, integer_parse"),
    (r"strtok|strtok_r", [], "strcspn and strspn"),
    (r"localtime|localtime_r|gmtime|gmtime_r|mktime|ctime|asctime", [],
     "base/civil_time.h"),
    (r"strtod|strtof|strtold", ["src/base/number.c"], "number_parse"),
    (r"malloc|calloc|realloc|strdup|strndup|asprintf",
     ["src/base/memory.c"], "base/memory.h"),
    (r"system|popen", [], "no shell"),
    (r"rand|srand|random", [], "a seeded generator of one's own"),
]
NUMERIC_LOCALE = re.compile(r"\bsetlocale\s*\(\s*LC_(NUMERIC|ALL)\b")
# Folders that are functions of their inputs alone.
PURE = ["weather", "tree", "sugarhouse", "outlook", "plan"]
CLOCK = re.compile(r"\b(time|clock_gettime|gettimeofday)\s*\(")
# Libraries that only some places may see.
LIBRARIES = [
    (r"curl/", ["src/net/"]),
    (r"libical/", ["src/base/zone.c", "src/publish/"]),
    (r"sqlite3\.h", ["src/store/"]),
    (r"cairo\.h", ["src/publish/chart_png.c"]),
    (r"microhttpd\.h", ["src/daemon/"]),
    (r"zlib\.h", ["src/daemon/", "src/publish/png_write.c"]),
    (r"ini\.h", ["src/base/ini.c"]),
    (r"sha2\.h", ["src/base/digest.c"]),
]
PACKAGES = ["libcjson", "libical", "inih", "libmd", "libcurl", "sqlite3"]


def blank_strings_and_comments(text):
    """The code alone, line for line."""
    pattern = re.compile(
        r'/\*.*?\*/|//[^\n]*|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])*\'',
        re.DOTALL)

    def blank(match):
        found = match.group(0)
        if found[0] in "\"'":
            return found[0] + found[0]
        return re.sub(r"[^\n]", " ", found)

    return pattern.sub(blank, text)


def functions(code):
    """Name, first line and length of each body, from { to } in column 0."""
    lines = code.split("\n")
    opened = None
    for number, line in enumerate(lines):
        if line == "{" and opened is None:
            before = " ".join(lines[max(0, number - 12):number])
            head = re.split(r"[;}]", before)[-1]
            names = re.findall(r"(\w+)\s*\(", head)
            names = [n for n in names if n not in ("__attribute__", "format",
                                                   "printf")]
            opened = (names[0] if names else "?", number)
        elif line.startswith("}") and opened is not None:
            yield opened[0], opened[1] + 1, number - opened[1] + 1
            opened = None


class Check:
    def __init__(self, root, compiler):
        self.root = pathlib.Path(root)
        self.compiler = compiler
        self.broken = []
        self.lengths = []
        self.allowed = self.read_allowed()
        self.used = set()

    def read_allowed(self):
        path = self.root / "tests/rules/allowed.txt"
        allowed = {}
        if not path.exists():
            return allowed
        for number, line in enumerate(path.read_text().splitlines(), 1):
            if not line.strip() or line.startswith("#"):
                continue
            words = line.split(None, 2)
            if len(words) < 3:
                self.say("tests/rules/allowed.txt", number, "has no reason")
            else:
                allowed[(words[0], words[1])] = number
        return allowed

    def say(self, name, line, words):
        self.broken.append(f"{name}:{line}: {words}")

    def is_allowed(self, name, what):
        if (name, what) not in self.allowed:
            return False
        self.used.add((name, what))
        return True

    def check_calls(self, name, code):
        folder = name.split("/")[1] if name.count("/") > 1 else ""
        for number, line in enumerate(code.split("\n"), 1):
            for calls, exempt, instead in BANNED:
                found = re.search(rf"(?<![\w.>])({calls})\s*\(", line)
                if found and name not in exempt:
                    self.say(name, number,
                             f"{found.group(1)} is banned; use {instead}")
            if NUMERIC_LOCALE.search(line):
                self.say(name, number, "LC_NUMERIC must stay as it is")
            if folder in PURE and CLOCK.search(line):
                self.say(name, number, "a pure folder asks no clock")

    def check_includes(self, name, text):
        for number, line in enumerate(text.split("\n"), 1):
            found = re.match(r'\s*#\s*include\s*([<"])([^>"]+)', line)
            if not found:
                continue
            if found.group(2).startswith("../"):
                self.say(name, number, "include as \"folder/header.h\"")
            elif found.group(1) == '"' and "/" not in found.group(2):
                self.say(name, number, "include as \"folder/header.h\"")
            for library, places in LIBRARIES:
                if re.match(library, found.group(2)) and not any(
                        name.startswith(place) for place in places):
                    self.say(name, number,
                             f"{found.group(2)} belongs to {places[0]}")

    def check_lengths(self, name, text, code):
        lines = text.split("\n")
        if lines[-1] == "":
            lines.pop()
        else:
            self.say(name, len(lines), "the last line has no end")
        for number, line in enumerate(lines, 1):
            if len(line) > LONGEST_LINE:
                self.say(name, number, f"{len(line)} columns")
        if len(lines) > LONGEST_FILE and not self.is_allowed(name, "*"):
            self.say(name, len(lines), f"a file of {len(lines)} lines")
        for function, line, length in functions(code):
            self.lengths.append(length)
            if length > LONGEST_FUNCTION and not self.is_allowed(
                    name, function):
                self.say(name, line, f"{function} has {length} lines")

    def check_headers(self, names):
        flags = []
        for package in PACKAGES:
            asked = subprocess.run(["pkg-config", "--cflags", package],
                                   capture_output=True, text=True)
            flags += shlex.split(asked.stdout)
        for name in names:
            source = f'#include "{name[len("src/"):]}"\n'
            done = subprocess.run(
                [self.compiler, "-std=c11", "-D_POSIX_C_SOURCE=200809L",
                 "-Wall", "-Wextra", "-Wpedantic", "-Werror",
                 "-fsyntax-only", f"-I{self.root}/src", *flags,
                 "-x", "c", "-"],
                input=source, capture_output=True, text=True)
            if done.returncode != 0:
                first = (done.stderr.splitlines() or ["?"])[0]
                self.say(name, 1, f"does not compile alone: {first}")

    def run(self):
        paths = sorted(p for p in (self.root / "src").rglob("*")
                       if p.suffix in (".c", ".h"))
        if not paths:
            self.say("src", 0, "holds no source")
        headers = []
        for path in paths:
            name = path.relative_to(self.root).as_posix()
            text = path.read_text(encoding="utf-8")
            code = blank_strings_and_comments(text)
            self.check_calls(name, code)
            self.check_includes(name, text)
            self.check_lengths(name, text, code)
            if path.suffix == ".h":
                headers.append(name)
        self.check_headers(headers)
        for entry in sorted(set(self.allowed) - self.used):
            self.say("tests/rules/allowed.txt", self.allowed[entry],
                     f"{entry[0]} {entry[1]} needs no exception")
        return self.broken


BODY = "".join(f"    x += {i};\n" for i in range(60))
GOOD = "#include <stdio.h>\n\nint f(void);\n\nint f(void)\n{\n" \
       "    /* strcpy( is only named here */\n" \
       "    return puts(\"atoi(1)\");\n}\n"
# File, its text, and what must be said of it.
SAMPLES = [
    ("src/base/a.c", "int f(const char *w)\n{\n    return atoi(w);\n}\n",
     "a.c:3: atoi is banned"),
    ("src/base/a.c", "void f(char *w)\n{\n    strcpy (w, \"\");\n}\n",
     "a.c:3: strcpy is banned"),
    ("src/base/a.c", "void *f(void)\n{\n    return malloc(1);\n}\n",
     "a.c:3: malloc is banned"),
    ("src/base/a.c", "void f(void)\n{\n    setlocale(LC_ALL, \"\");\n}\n",
     "a.c:3: LC_NUMERIC"),
    ("src/tree/a.c", "long f(void)\n{\n    return time(NULL);\n}\n",
     "a.c:3: a pure folder"),
    ("src/base/a.c", '#include "../base/error.h"\n', "a.c:1: include as"),
    ("src/base/a.c", '#include "error.h"\n', "a.c:1: include as"),
    ("src/plan/a.c", "#include <curl/curl.h>\n", "belongs to src/net/"),
    ("src/base/a.c", "int f(int x)\n{\n" + BODY + "    return x;\n}\n",
     "a.c:2: f has 63 lines"),
    ("src/base/a.c", "int x;\n" * 501, "a file of 501 lines"),
    ("src/base/a.c", "/* " + "x" * 75 + " */\n", "a.c:1: 81 columns"),
    ("src/base/a.c", "int x;", "the last line has no end"),
    ("src/base/a.h", "size_t f(void);\n", "a.h:1: does not compile alone"),
    ("tests/rules/allowed.txt", "src/base/good.c f long ago it was long\n",
     "needs no exception"),
    ("tests/rules/allowed.txt", "src/base/good.c f\n", "has no reason"),
]


def self_test(compiler):
    missed = []
    for number, (name, text, expected) in enumerate([("", "", "")] + SAMPLES):
        with tempfile.TemporaryDirectory() as folder:
            root = pathlib.Path(folder)
            for at, words in (("src/base/good.c", GOOD), (name, text)):
                if at:
                    (root / at).parent.mkdir(parents=True, exist_ok=True)
                    (root / at).write_text(words)
            broken = Check(root, compiler).run()
        if not expected and broken:
            missed.append(f"good source: {broken}")
        if expected and (len(broken) != 1 or expected not in broken[0]):
            missed.append(f"sample {number}: not \"{expected}\": {broken}")
    return missed


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--compiler", default="cc")
    options.add_argument("--self-test", action="store_true")
    options.add_argument("project", nargs="?", default=".")
    given = options.parse_args()
    if given.self_test:
        broken = self_test(given.compiler)
    else:
        check = Check(given.project, given.compiler)
        broken = check.run()
        if check.lengths:
            print(f"{len(check.lengths)} functions, median "
                  f"{statistics.median(check.lengths):.0f} lines, longest "
                  f"{max(check.lengths)}")
    for line in broken:
        print(line)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
