#!/usr/bin/env python3
"""Every option, command, key and number of a model is in the manual, and each
one in the manual exists.

usage: manual.py THAWBELL PROJECT_DIR THAWBELLD
"""
import json
import pathlib
import re
import subprocess
import sys


def output(*words):
    return subprocess.run(words, check=True, capture_output=True,
                          text=True).stdout


def program_options(thawbell):
    """{(command or '', '--option')} and {command} from the tables."""
    options, commands = set(), set()
    for line in output(thawbell, "--completion", "fish").splitlines():
        command = re.search(r"__fish_use_subcommand -a (\S+)", line)
        option = re.search(r" -l (\S+)", line)
        seen = re.search(r"__fish_seen_subcommand_from (\w+)", line)
        if command:
            commands.add(command.group(1))
        elif option:
            options.add((seen.group(1) if seen else "",
                         "--" + option.group(1)))
    return options, commands


def manual_options(path):
    options, commands, section, command = set(), set(), "", ""
    for line in open(path, encoding="utf-8"):
        if line.startswith(".Sh "):
            section, command = line[4:].strip(), ""
        elif line.startswith(".It Cm ") and section == "COMMANDS":
            command = line.split()[2]
            commands.add(command)
        elif line.startswith(".It Fl "):
            for name in re.findall(r"Fl -(\S+)", line):
                options.add((command, "--" + name))
    return options, commands


def program_keys(thawbell):
    """{(section, key, needed)} from the table."""
    keys, section = set(), ""
    for line in output(thawbell, "check", "--keys").splitlines():
        heading = re.fullmatch(r"\[(.*)\]", line)
        if heading:
            section = heading.group(1)
        elif line and not line.startswith(" "):
            key = line.removesuffix(" (needed)")
            keys.add((section, key, key != line))
    return keys


def manual_keys(path):
    keys, section = set(), ""
    for line in open(path, encoding="utf-8"):
        if line.startswith(".Ss Section "):
            section = line[len(".Ss Section "):].strip()
        elif line.startswith(".Sh "):
            section = ""
        elif line.startswith(".It Cm ") and section:
            key = line[len(".It Cm "):].strip()
            plain = key.removesuffix(" Pq needed")
            keys.add((section, plain, plain != key))
    return keys


def in_range(number):
    least, most = (f"{number[key]:g}" if abs(number[key]) < 1e5
                   else f"{number[key]:d}" for key in ("min", "max"))
    return f"{number['unit']}, {least} to {most}"


def model_numbers(folder):
    """{("buds-SPECIES.json", key, "unit, min to max")} of all files."""
    kinds = {"buds": "SPECIES", "sap": "SPECIES", "gathering": "METHOD"}
    numbers, files = set(), {}
    for path in sorted(pathlib.Path(folder).glob("*.json")):
        kind = path.stem.partition("-")[0]
        name = (f"{kind}-{kinds[kind]}.json" if kind in kinds else path.name)
        rows = {(name, key, in_range(number)) for key, number in
                json.loads(path.read_text())["numbers"].items()}
        # The files of a kind differ in their values alone.
        if files.setdefault(name, rows) != rows:
            print(f"{path.name}: other keys, units or ranges than its kind")
            numbers.add((path.name, "", ""))
        numbers |= rows
    return numbers


def manual_numbers(path):
    numbers, name = set(), ""
    for line in open(path, encoding="utf-8"):
        if line.startswith((".Ss ", ".Sh ")):
            name = line.removeprefix(".Ss File ").strip()
        found = re.fullmatch(r"\.It Cm (\S+) Pq (.*)\n", line)
        if found:
            numbers.add((name, *found.groups()))
    return numbers


def daemon_options(thawbelld, common):
    """The daemon's own options, from its help."""
    words = re.findall(r"^ +(?:-\w, )?--(\S+)", output(thawbelld, "--help"),
                       re.M)
    return {("", "--" + word) for word in words} - common


def compare(what, program, manual):
    for item in sorted(program - manual):
        print(f"{what} {item}: in the program, not in the manual")
    for item in sorted(manual - program):
        print(f"{what} {item}: in the manual, not in the program")
    return program != manual


def main():
    thawbell, project, thawbelld = sys.argv[1:]
    options, commands = program_options(thawbell)
    keys = program_keys(thawbell)
    # A table that reads as empty would make the comparison idle.
    numbers = model_numbers(project + "/models")
    if len(options) < 10 or len(commands) < 5 or len(keys) < 30 or \
            len(numbers) < 80:
        print("the tables of the program cannot be read")
        return 1
    told_options, told_commands = manual_options(
        project + "/docs/thawbell.1")
    bad = compare("command", commands, told_commands)
    bad = compare("option", options, told_options) or bad
    common = {option for option in options if option[0] == ""}
    own = daemon_options(thawbelld, common)
    if not own:
        print("the help of thawbelld cannot be read")
        return 1
    bad = compare("option of thawbelld", own, manual_options(
        project + "/docs/thawbelld.8")[0]) or bad
    bad = compare("key", keys,
                  manual_keys(project + "/docs/thawbell.conf.5")) or bad
    bad = compare("number", numbers,
                  manual_numbers(project + "/docs/thawbell-models.5")) or bad
    return 1 if bad else 0


sys.exit(main())
