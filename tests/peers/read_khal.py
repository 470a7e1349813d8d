"""Imports every calendar of a folder into khal, a terminal calendar, and
compares what it lists on a clock in New York with what was meant.
Usage: read_khal.py FOLDER"""

import datetime
import os
import subprocess
import tempfile
import zoneinfo

import feeds

ZONE = zoneinfo.ZoneInfo("America/New_York")
CONFIGURATION = """\
[calendars]
[[sap]]
path = {folder}/sap
[locale]
local_timezone = America/New_York
default_timezone = America/New_York
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%d %H:%M
longdatetimeformat = %Y-%m-%d %H:%M
[default]
default_calendar = sap
[sqlite]
path = {folder}/khal.db
"""
FIELDS = "\t".join(["{uid}", "{start-long}", "{end-long}", "{all-day}",
                    "{cancelled}", "{title}"])


def khal(folder, *words):
    done = subprocess.run(
        ["khal", "--no-color", "-c", f"{folder}/conf", *words],
        env=dict(os.environ, LC_ALL="C.UTF-8", HOME=folder),
        capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"khal {words[0]}: {done.stderr}"
    return done.stdout


def listed(path):
    """{uid: (start, end, all day, cancelled, title)}"""
    with tempfile.TemporaryDirectory() as folder:
        os.mkdir(f"{folder}/sap")
        with open(f"{folder}/conf", "w", encoding="utf-8") as file:
            file.write(CONFIGURATION.format(folder=folder))
        khal(folder, "import", "--batch", "-a", "sap", str(path))
        rows = khal(folder, "list", "--once", "--format", FIELDS + "\x1e",
                    "--day-format", "", "2026-01-01", "2026-12-31")
        files = len(os.listdir(f"{folder}/sap"))
    found = {}
    for row in rows.split("\x1e"):
        fields = row.lstrip("\n").split("\t")
        if len(fields) == 6:
            assert fields[0] not in found, f"{fields[0]} is listed twice"
            found[fields[0]] = fields[1:]
    assert files == len(found), f"{files} files, {len(found)} events"
    return found


def local(seconds):
    moment = datetime.datetime.fromtimestamp(seconds, ZONE)
    return moment.strftime("%Y-%m-%d %H:%M")


def compare(row, meant):
    start, end, all_day, cancelled, title = row
    assert " ".join(title.split()) == " ".join(meant["summary"].split()), title
    assert (all_day == "True") == ("date" in meant)
    assert (cancelled.strip() == "CANCELLED") == meant["cancelled"]
    if "date" in meant:
        assert (start, end) == (meant["date"], meant["date"]), (start, end)
    else:
        assert start == local(meant["start_s"]), (start, end)
        assert end == local(meant["end_s"]), (start, end)


def check(path, expected):
    rows = listed(path)
    assert set(rows) == {meant["uid"] for meant in expected}
    for meant in expected:
        compare(rows[meant["uid"]], meant)
    return len(expected)


feeds.each(check)
