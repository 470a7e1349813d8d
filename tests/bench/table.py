#!/usr/bin/env python3
"""The benchmark table: each of our figures beside a peer's, both measured in
the same run on the same machine.

    python3 table.py BUILD [--many COUNT] [--seconds N] [--out FILE]

BUILD is a Release build's folder, wholly built. --many: the most operations
in one daemon (10000). --seconds: how long the server is asked (10). --out:
where the table goes besides the terminal (docs/benchmarks.md by
contrib/bench.sh). What exceeds its bound is in the table all the same, is told
at the end, and the status is 1. A peer that is not installed is an error: a
table with gaps says nothing. All weather here is invented.
"""

import argparse
import datetime
import glob
import json
import math
import os
import platform
import re
import subprocess
import sys
import tempfile
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
sys.path.insert(0, os.path.join(HERE, "..", "faults"))

import moving  # noqa: E402

HOUR = 3600
# Of ten thousand operations: 400 MB, and a minute of processor a cycle.
MANY, MANY_MB, MANY_MS = 10000, 400, 6
NOW = 1772838600


def fixture(name):
    path = os.path.join(ROOT, "fixtures", "answers", name)
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def hours(past_days, days):
    first = NOW // (24 * HOUR) * (24 * HOUR) - past_days * 24 * HOUR
    return [first + i * HOUR for i in range((past_days + days) * 24)]


def open_meteo():
    """The fixture's kinds of values over a season's past and 16 days."""
    answer = fixture("open-meteo.json")
    times = hours(92, 16)
    values = answer["hourly"]
    known = len(values["time"])
    answer["hourly"] = {key: [row[i % known] for i in range(len(times))]
                        for key, row in values.items()}
    answer["hourly"]["time"] = times
    return answer


def ensemble(members=50):
    answer = fixture("open-meteo-ensemble.json")
    times = hours(0, 10)
    answer["hourly"] = {"time": times}
    units = answer["hourly_units"]
    for member in range(members + 1):
        name = "temperature_2m" + ("_member%02d" % member if member else "")
        units[name] = "\u00b0C"
        answer["hourly"][name] = [
            round(moving.air_temp_c(at, NOW) + 0.1 * member % 3, 1)
            for at in times]
    return answer


def nws_hourly():
    answer = fixture("nws-hourly.json")
    zone = datetime.timezone(datetime.timedelta(hours=-5))
    periods = []
    for number in range(156):
        at = NOW // HOUR * HOUR + number * HOUR
        start, end = (datetime.datetime.fromtimestamp(t, zone).isoformat()
                      for t in (at, at + HOUR))
        periods.append({
            "number": number + 1, "startTime": start, "endTime": end,
            "temperature": round(32 + 1.8 * moving.air_temp_c(at, NOW)),
            "temperatureUnit": "F",
            "dewpoint": {"unitCode": "wmoUnit:degC", "value": -8.3},
            "relativeHumidity": {"unitCode": "wmoUnit:percent", "value": 78},
            "windSpeed": "10 mph", "shortForecast": "Partly Sunny"})
    answer["properties"]["periods"] = periods
    return answer


def figures(command):
    """{name: value} of a program's lines "NAME VALUE UNIT"."""
    said = subprocess.run(command, capture_output=True, text=True, check=True)
    rows = re.findall(r"(?m)^(\S+) ([-+0-9.e]+) (\S+)$", said.stdout)
    return {name: float(value) for name, value, _ in rows}


def least_us(work, round_s=0.05, rounds=7):
    best = math.inf
    for _ in range(rounds):
        begun = now = time.process_time()
        times = 0
        while now - begun < round_s:
            work()
            times += 1
            now = time.process_time()
        best = min(best, (now - begun) / times * 1e6)
    return best


class Table:
    def __init__(self):
        self.lines = []
        self.missed = []

    def head(self, title, ours, peer):
        self.say("")
        self.say("## %s" % title)
        self.say("")
        self.say("| what | %s | %s | ratio |" % (ours, peer))
        self.say("| --- | ---: | ---: | ---: |")

    def row(self, what, ours, peer, unit):
        self.say("| %s | %s | %s | %.3g |" % (
            what, amount(ours, unit), amount(peer, unit), ours / peer))

    def say(self, words):
        self.lines.append(words)
        print(words, flush=True)


def amount(value, unit):
    return "%s %s" % (("%.4g" if value < 1e4 else "%.0f") % value, unit)


def decoding(table, build, folder):
    answers = {"open-meteo": open_meteo(), "open-meteo-ensemble": ensemble(),
               "metno": moving.answer(NOW), "nws": nws_hourly()}
    command = [os.path.join(build, "tests/bench/work_cpu"),
               os.path.join(folder, "ours.ics")]
    texts = {}
    for service, answer in answers.items():
        path = os.path.join(folder, service + ".json")
        texts[service] = json.dumps(answer)
        with open(path, "w", encoding="utf-8") as file:
            file.write(texts[service])
        command += [service, path]
    ours = figures(command)
    table.head("Decoding an answer, checked and laid on the hours",
               "thawbell", "python3-json, parsing alone")
    for service, text in texts.items():
        table.row("%s, %d kB" % (service, len(text) // 1000),
                  ours["decode/" + service],
                  least_us(lambda text=text: json.loads(text)), "µs")
    table.head("The same beside a copy of the bytes", "thawbell", "memcpy")
    for service in texts:
        table.row(service, ours["decode/" + service],
                  ours["copy/" + service], "µs")
    return ours


def calendar(table, ours, folder):
    import icalendar
    with open(os.path.join(folder, "ours.ics"), "rb") as file:
        events = icalendar.Calendar.from_ical(file.read()).walk("VEVENT")
    rows = [[(key, value) for key, value in event.property_items()
             if key not in ("BEGIN", "END")] for event in events]

    def make():
        whole = icalendar.Calendar()
        whole.add("version", "2.0")
        for row in rows:
            event = icalendar.Event()
            for key, value in row:
                event.add(key, value)
            whole.add_component(event)
        return whole.to_ical()

    table.head("Publishing", "thawbell", "peer")
    table.row("calendar of %d events, beside python3-icalendar" % len(rows),
              ours["calendar"], least_us(make), "µs")
    table.row("calendar from the bulletin, written and checked, beside the "
              "writing alone", ours["calendar_turn"], ours["calendar"], "µs")
    table.row("page, beside the JSON of the bulletin", ours["page"],
              ours["json"], "µs")
    table.row("morning mail with its chart, beside the page",
              ours["mail_with_chart"], ours["page"], "µs")


def child_ms(arguments, runs=41):
    """Median CPU and wall milliseconds from start to end."""
    cpus, walls = [], []
    for _ in range(runs):
        begun = time.perf_counter()
        child = os.posix_spawn(arguments[0], arguments, {"PATH": "/usr/bin"},
                               file_actions=[(os.POSIX_SPAWN_OPEN, 1,
                                              "/dev/null", os.O_WRONLY, 0)])
        _, status, usage = os.wait4(child, 0)
        walls.append((time.perf_counter() - begun) * 1e3)
        cpus.append((usage.ru_utime + usage.ru_stime) * 1e3)
        if status != 0:
            raise SystemExit("%s failed" % " ".join(arguments))
    return sorted(cpus)[runs // 2], sorted(walls)[runs // 2]


def line(table, build, folder):
    program = os.path.join(build, "src/thawbell")
    subprocess.run([program, "try"], check=True, stdout=subprocess.DEVNULL,
                   env=dict(os.environ, TMPDIR=folder))
    conf = glob.glob(os.path.join(folder, "thawbell-*", "*.conf"))[0]
    ours = [program, "-c", conf, "--at", "2026-03-06T18:10:00-05:00"]
    cpu, wall = child_ms(ours)
    true_cpu, true_wall = child_ms(["/bin/true"])
    table.head("The line in the shell, from start to end", "thawbell",
               "/bin/true")
    table.row("processor", cpu, true_cpu, "ms")
    table.row("clock", wall, true_wall, "ms")


def server(table, build, seconds):
    said = subprocess.run(
        ["sh", os.path.join(ROOT, "tests/serve/load.sh"),
         os.path.join(build, "tests/serve/serve_folder"), str(seconds), "0"],
        capture_output=True, text=True, check=False)
    if said.returncode != 0:
        raise SystemExit(said.stdout + said.stderr)
    speed = dict(re.findall(r"(?m)^(.*?) +(\d+) requests/s$", said.stdout))
    table.head("The server, 100 connections, requests a second",
               "thawbell, one thread", "nginx, two workers, the same file")
    for name, value in speed.items():
        if name.startswith("thawbell "):
            what = name[len("thawbell "):]
            table.row(what, float(value), float(speed["nginx " + what]), "/s")


def tree(table, build):
    ours = figures([os.path.join(build, "tests/bench/tree_cpu")])
    table.head("The tree: arithmetic of a step of ten minutes, members side by "
               "side", "thawbell", "most that this machine does so")
    table.row("%d operations in %.3g ns a member" % (
        ours["tree_step_flop"], ours["tree_step_side_by_side"]),
        ours["tree_rate"], ours["machine_rate"], "Gflop/s")
    table.say("")
    table.say("The rest is waiting for divisions and for the row before: a "
              "tridiagonal system is solved along the radius, and a row needs "
              "its neighbour's result.")
    table.head("A stem by itself beside one of a row of members", "alone",
               "side by side")
    table.row("step", ours["tree_step_alone"],
              ours["tree_step_side_by_side"], "ns")
    table.head("Outlook of a bush, 92 days back and ten ahead", "processor",
               "of one member")
    one = ours["outlook_members_1"]
    for name, value in ours.items():
        if name.startswith("outlook_members_"):
            table.row(name[len("outlook_members_"):] + " members", value, one,
                      "ms")
    return ours


def plan(table, build, outlook_ms):
    said = subprocess.run([os.path.join(build, "tests/bench/plan_cpu"), "100"],
                          capture_output=True, text=True, check=False)
    found = re.search(r": ([\d.]+) ms", said.stdout)
    if said.returncode != 0 or not found:
        raise SystemExit(said.stdout + said.stderr)
    table.head("A plan for ten days, 50 members, three tanks", "thawbell",
               "the outlook of 50 members")
    table.row("with its reasons", float(found.group(1)), outlook_ms, "ms")


def many(table, build, most):
    table.head("Operations in one daemon, a whole turn each "
               "(third cycle, per operation)", "processor", "of one alone")
    alone = None
    count = 1
    while count <= most:
        said = subprocess.run(
            [sys.executable, "-B", os.path.join(HERE, "many.py"),
             os.path.join(build, "src/thawbelld"), str(count), str(MANY_MB),
             *([str(MANY_MS)] if count == MANY else [])],
            capture_output=True, text=True, check=False)
        found = re.search(r"third ([\d.]+) s for \d+ turns \(([\d.]+) ms a "
                          r"turn\); private memory at most ([\d.]+) MB",
                          said.stdout)
        if not found:
            raise SystemExit(said.stdout + said.stderr)
        if said.returncode != 0:  # measured, and more than the bound
            table.missed += re.findall(r"(?m)^FAILED +(.*)$", said.stdout) or [
                "%d operations ended with %d" % (count, said.returncode)]
        turn_ms = float(found.group(2))
        alone = alone or turn_ms
        table.row("%d (%s s a cycle, %s MB)" % (
            count, found.group(1), found.group(3)), turn_ms, alone, "ms")
        count *= 10


def machine():
    with open("/proc/cpuinfo", encoding="utf-8") as file:
        found = re.search(r"model name\s*: (.*)", file.read())
    return "%s, %d cores, Linux %s, Python %s" % (
        found.group(1) if found else platform.machine(), os.cpu_count(),
        platform.release().split("-")[0], platform.python_version())


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("build")
    parser.add_argument("--many", type=int, default=10000)
    parser.add_argument("--seconds", type=int, default=10)
    parser.add_argument("--out")
    asked = parser.parse_args()
    table = Table()
    table.say("# Benchmarks")
    table.say("")
    table.say("Made by `sh contrib/bench.sh` on %s: %s." % (
        datetime.date.today().isoformat(), machine()))
    table.say("Each figure of ours stands beside a peer's of the same run. "
              "Times are of the processor unless another clock is named, the "
              "least of several rounds, of the line the median; they move by a "
              "fifth from run to run, the ratios less.")
    with tempfile.TemporaryDirectory() as folder:
        ours = decoding(table, asked.build, folder)
        calendar(table, ours, folder)
        line(table, asked.build, folder)
    outlook_ms = tree(table, asked.build)["outlook_members_50"]
    plan(table, asked.build, outlook_ms)
    server(table, asked.build, asked.seconds)
    if asked.many > 0:
        many(table, asked.build, asked.many)
    table.say("")
    table.say("To repeat: `sh contrib/bench.sh --many %d` on an idle machine. "
              "With 10000, as without that option, it takes a quarter of an "
              "hour more. Where the time goes: docs/decisions.md." % asked.many)
    if asked.out:
        with open(asked.out, "w", encoding="utf-8") as file:
            file.write("\n".join(table.lines) + "\n")
    for words in table.missed:
        print("FAILED: %s" % words, file=sys.stderr)
    return 1 if table.missed else 0


if __name__ == "__main__":
    sys.exit(main())
