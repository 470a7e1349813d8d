#!/usr/bin/env python3
"""Runs the tests of a Coverage build and prints the share of lines of src
that they ran, by folder and in all. Uses gcov of the compiler alone.

    python3 coverage.py BUILD_FOLDER [CTEST OPTION...]
"""

import collections
import json
import os
import subprocess
import sys


def data_files(build):
    for folder, _, names in os.walk(build):
        for name in names:
            if name.endswith(".gcda"):
                yield os.path.join(folder, name)


def lines_of(path):
    """(file, line, times run) for all that one object's notes tell."""
    done = subprocess.run(["gcov", "--json-format", "--stdout", path],
                          capture_output=True, check=False,
                          cwd=os.path.dirname(path))
    for text in done.stdout.decode().splitlines():
        for file in json.loads(text)["files"]:
            for line in file["lines"]:
                yield file["file"], line["line_number"], line["count"]


def gather(build):
    runs = collections.defaultdict(int)
    for path in data_files(build):
        for name, line, count in lines_of(path):
            if name.startswith("src/"):
                runs[name, line] += count
    return runs


def show(runs, key):
    total = collections.Counter(key(name) for name, _ in runs)
    ran = collections.Counter(key(name) for (name, _), count in runs.items()
                              if count > 0)
    for part in sorted(total):
        print("%-26s %6d of %6d lines  %5.1f %%" %
              (part, ran[part], total[part], 100 * ran[part] / total[part]))


def main():
    build = os.path.abspath(sys.argv[1])
    for path in data_files(build):
        os.remove(path)
    tests = subprocess.run(["ctest", "--test-dir", build,
                            "--output-on-failure"] + sys.argv[2:],
                           check=False)
    runs = gather(build)
    if not runs:
        sys.exit("no line was run: is this a Coverage build?")
    if os.environ.get("COVERAGE_FILES"):
        show(runs, lambda name: name)
    show(runs, os.path.dirname)
    show(runs, lambda name: "all")
    sys.exit(tests.returncode != 0)


if __name__ == "__main__":
    main()
