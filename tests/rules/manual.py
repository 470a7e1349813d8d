#!/usr/bin/env python3
"""Every option, command and key is in the manual, and each one in the manual
exists.

usage: manual.py THAWBELL PROJECT_DIR
"""
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


def compare(what, program, manual):
    for item in sorted(program - manual):
        print(f"{what} {item}: in the program, not in the manual")
    for item in sorted(manual - program):
        print(f"{what} {item}: in the manual, not in the program")
    return program != manual


def main():
    thawbell, project = sys.argv[1:]
    options, commands = program_options(thawbell)
    keys = program_keys(thawbell)
    # A table that reads as empty would make the comparison idle.
    if len(options) < 10 or len(commands) < 5 or len(keys) < 30:
        print("the tables of the program cannot be read")
        return 1
    told_options, told_commands = manual_options(
        project + "/docs/thawbell.1")
    bad = compare("command", commands, told_commands)
    bad = compare("option", options, told_options) or bad
    bad = compare("key", keys,
                  manual_keys(project + "/docs/thawbell.conf.5")) or bad
    return 1 if bad else 0


sys.exit(main())
