#!/usr/bin/env python3
"""Whole seasons of measured weather through `thawbell replay --plan --json`.

    python3 replay_plan.py THAWBELL DATA [FORECASTS]

Each operation through each spring of the open data (MacLeish Field Station,
Whately MA, CC0), as an operator would run it: planned on forecasts that are
wrong as forecasts are, it keeps 97 % of what foresight does where there is
room, 92 % where the tanks hold one good day (4 L a tap of buckets or gravity
tubing, 7 on vacuum: a gallon, common practice, no source), lights its fire on
no more days than who boils every evening, and never burns unattended. Nothing
is made or lost on the way. The operations are invented.
"""

import json
import os
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)),
                                "..", "support"))

from checks import check, finish, needs  # noqa: E402

SPRINGS = (2012, 2013, 2015)
ROOMY, CRAMPED = 97, 92
# What is written down is rounded to a tenth of a litre, and so are its parts.
ROUNDING_L = 0.3

OPERATION = """
[operation]
name = {name}
time zone = America/New_York

[bush hill]
latitude = 42.4485
longitude = -72.6806
elevation = 251 m
species = sugar maple
{bush}

[sugarhouse]
storage site = shade
attended from = 06:30
attended to = 22:30
{house}

[sources]
use = nws
contact = ann@example.org
"""

BUCKETS = "taps = {}\ngathering = buckets\nbucket = {}"
TUBING = "taps = {}\ngathering = {}"
HOUSE = "storage = {}\nevaporation = {}\nsmallest boil = {}"

# Name, bush, sugarhouse, least share of what foresight keeps.
OPERATIONS = (
    ("140 buckets, 500 gal", BUCKETS.format(140, "4 gal"),
     HOUSE.format("500 gal", "28 gal/h", "60 gal"), ROOMY),
    ("140 buckets, 150 gal", BUCKETS.format(140, "3 gal"),
     HOUSE.format("150 gal", "28 gal/h", "60 gal"), CRAMPED),
    ("30 buckets, 120 gal", BUCKETS.format(30, "4 gal"),
     HOUSE.format("120 gal", "8 gal/h", "16 gal"), ROOMY),
    ("30 buckets, 32 gal", BUCKETS.format(30, "3 gal"),
     HOUSE.format("32 gal", "7 gal/h", "12 gal"), CRAMPED),
    ("500 on tubing, 1500 gal", TUBING.format(500, "gravity tubing"),
     HOUSE.format("1500 gal", "80 gal/h", "150 gal"), ROOMY),
    ("500 on tubing, 530 gal", TUBING.format(500, "gravity tubing"),
     HOUSE.format("530 gal", "80 gal/h", "150 gal"), CRAMPED),
    ("5000 on vacuum, 27000 gal", TUBING.format(5000, "vacuum 22 inHg"),
     HOUSE.format("27000 gal", "1200 gal/h", "2000 gal"), ROOMY),
    ("5000 on vacuum, 9200 gal", TUBING.format(5000, "vacuum 22 inHg"),
     HOUSE.format("9200 gal", "1200 gal/h", "2000 gal"), CRAMPED),
)


def words_of(thawbell, weather, operation, *options):
    run = subprocess.run(
        [thawbell, "replay", "--weather", weather, "--operation", operation,
         "--plan", *options],
        capture_output=True, text=True, check=False, timeout=300)
    assert run.returncode == 0, run.stderr
    return run.stdout


def replay(thawbell, weather, operation, forecasts):
    return json.loads(words_of(thawbell, weather, operation, "--json",
                               *forecasts))["plan"]


def judge(name, plan, least):
    accounted_l = (plan["kept_l"] + plan["overflow_l"] + plan["spoiled_l"] +
                   plan["held_l"])

    check(f"{name}: share of each course",
          100 * plan["kept_least_l"] >= least * plan["perfect_l"],
          f"under {least} %")
    check(f"{name}: fires", plan["lit_days_most"] <= plan["habit_lit_days"])
    check(f"{name}: attended", plan["unattended_hours"] == 0)
    check(f"{name}: balance", abs(plan["ran_l"] - accounted_l) <= ROUNDING_L,
          f"{accounted_l:.1f} L")
    check(f"{name}: mean", plan["kept_least_l"] <= plan["kept_l"] <=
          plan["kept_most_l"])


def told(name, plan):
    by = plan["perfect_l"] / 100
    return (f"{name}: {plan['kept_l'] / by:.1f} % "
            f"({plan['kept_least_l'] / by:.1f} to "
            f"{plan['kept_most_l'] / by:.1f}) of {plan['perfect_l']:.0f} L, "
            f"habit {plan['habit_l'] / by:.1f} %; fires {plan['lit_days']}, "
            f"at most {plan['lit_days_most']}, habit {plan['habit_lit_days']}")


def run_seasons(thawbell, data, path, name, least, forecasts):
    for spring in SPRINGS:
        weather = os.path.join(data, f"whately-weather-{spring}.csv")
        plan = replay(thawbell, weather, path, forecasts)
        print(told(f"{spring} {name}", plan), flush=True)
        judge(f"{spring} {name}", plan, least)


# Four days in summer time, and three hours of another day that count as
# known: by the clock of the file, which stays at standard time.
CUT = ("2013-03-18", "2013-03-19", "2013-03-20", "2013-03-22",
       "2013-03-25T10", "2013-03-25T11", "2013-03-25T12")


def run_cut(thawbell, data, folder):
    whole = os.path.join(data, "whately-weather-2013.csv")
    cut = os.path.join(folder, "cut.csv")
    operation = os.path.join(folder, "0.conf")
    once = ["--forecasts", "1"]

    with open(whole, encoding="utf-8") as source, \
            open(cut, "w", encoding="utf-8") as file:
        file.writelines(row for row in source if not row.startswith(CUT))
    plans = [replay(thawbell, weather, operation, once)
             for weather in (whole, cut)]
    words = words_of(thawbell, cut, operation, *once)
    check("whole weather", plans[0]["days_unknown"] == 0)
    check("four days cut", plans[1]["days_unknown"] == 4,
          str(plans[1]["days_unknown"]))
    check("four days cut, in words",
          "On 4 of its days the weather is not wholly known" in words, words)
    check("what the habit boils, in words", "be it an hour's sap" in words,
          words)


def main():
    thawbell, data = sys.argv[1:3]
    forecasts = ["--forecasts", sys.argv[3]] if len(sys.argv) > 3 else []

    needs(os.path.isdir(data), "the open data named in docs")
    with tempfile.TemporaryDirectory() as folder:
        for number, (name, bush, house, least) in enumerate(OPERATIONS):
            path = os.path.join(folder, f"{number}.conf")
            with open(path, "w", encoding="utf-8") as file:
                file.write(OPERATION.format(name=name, bush=bush, house=house))
            run_seasons(thawbell, data, path, name, least, forecasts)
        run_cut(thawbell, data, folder)
    finish(5 * len(OPERATIONS) * len(SPRINGS) + 4)


if __name__ == "__main__":
    main()
