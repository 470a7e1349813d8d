#!/usr/bin/env python3
"""`thawbelld --once` through time: expiry, 304, outages, blocks, limits.

    python3 once_turns.py THAWBELLD THAWBELL [CASE...]
"""

import json

import once_bench
from once_bench import (COMPLETE, ENSEMBLE, FORECAST, GRID, HOUR,
                        LAST_MODIFIED, METNO, NWS, OPEN_METEO, POINTS, START,
                        want)

OVERLOADED = {"fault": "overloaded"}
ALL_DOWN = {path: OVERLOADED for path in
            (POINTS, GRID, COMPLETE, FORECAST, ENSEMBLE)}


def first_turn(bench):
    bench.begin("first")
    run = bench.once(START)
    run.ends(0)
    run.says()
    run.want(run.out.count("\n") == 2, "two lines on a screen")
    bulletin, calendar = bench.both()
    want(json.loads(bulletin)["days"], "days in the bulletin")
    want(calendar.startswith("BEGIN:VCALENDAR\n"), "a calendar")
    want(bench.line(START) == run.out.splitlines()[0] + "\n", "the same line")
    want(len(bench.requests()) == 6, "six addresses")
    for request in bench.requests():
        want(request["headers"]["user-agent"].endswith(
            "(operator@example.org)"), "the contact is told")
        want(request["in_flight"] == 1, "one connection a host")


def quiet(bench):
    bench.begin("quiet")
    run = bench.once(START, "-q")
    run.ends(0)
    want(run.out + run.err == "", "nothing to say")
    bench.serve_paths({COMPLETE: OVERLOADED})
    run = bench.once(START + 2 * HOUR, "-q")
    run.ends(0)
    want(run.out + run.err == "", "others make up for it")
    bench.serve_paths(ALL_DOWN)
    run = bench.once(START + 26 * HOUR, "-q")
    run.ends(75)
    want(run.out == "" and len(run.lines) <= 3, "a line a service")


def check_option(bench):
    """--check says what `thawbell check` says, and asks nobody."""
    bench.begin("check")
    run = bench.run("thawbelld", START, "--check")
    run.ends(0)
    run.want("bend.conf: configuration OK" in run.out and run.err == "",
             "it is right")
    client = bench.run("thawbell", START, "check")
    run.want(run.out == client.out, "other words than the client's")
    want(not bench.requests(), "nobody is asked")
    with open(bench.path("bend.conf"), "a", encoding="utf-8") as file:
        file.write("[calender]\n")
    run = bench.run("thawbelld", START, "--check")
    run.ends(2)
    run.want("calender" in run.out + run.err, "names what is wrong")


def within_expiry(bench):
    bench.begin_good("within")
    before = bench.both()
    for minutes in (0, 5, 15):
        bench.once(START + 60 * minutes).ends(0)
        want(not bench.requests(), "nothing is asked")
    want(bench.published("calendar.ics") == before[1], "the same calendar")


def after_expiry(bench):
    """What carries a Last-Modified is asked with it, and the 304 is taken
    with its new expiry; an ETag likewise."""
    bench.begin_good("after")
    bench.serve_paths({COMPLETE: {"status": 304, "headers":
                                  {"Expires": "{now+7200}",
                                   "ETag": '"m2"'}}})
    bench.once(START + 2 * HOUR).says()
    for path in (COMPLETE, GRID):
        request, = bench.requests(path)
        want(request["headers"]["if-modified-since"] == LAST_MODIFIED,
             "the very words of Last-Modified")
    want(bench.fetched("metno") == START, "the answer's own time stays")
    want(not bench.requests(POINTS), "the look-up is still fresh")
    bench.serve()
    bench.once(START + int(3.5 * HOUR)).ends(0)
    want(not bench.requests(COMPLETE), "the new expiry holds")
    bench.once(START + 5 * HOUR).ends(0)
    want(bench.requests(COMPLETE)[0]["headers"]["if-none-match"] == '"m2"',
         "the ETag goes back")


def one_service_down(bench):
    bench.begin_good("one-down")
    bench.serve_paths({COMPLETE: OVERLOADED})
    run = bench.once(START + 2 * HOUR)
    run.ends(0)
    run.says(METNO + r" answered 503; asking "
             r"again at 1\d:\d\d UTC$")
    want(bench.source("metno")["in_use"], "the held answer is used")
    want(bench.fetched("metno") == START, "and told with its age")
    want(bench.fetched("open-meteo") == START + 2 * HOUR, "others go on")
    bench.serve_paths({COMPLETE: OVERLOADED})
    run = bench.once(START + 2 * HOUR + 30)
    run.says(METNO + " answered 503")
    want(not bench.requests(METNO), "not asked before its time")


def all_down_for_30_hours(bench):
    bench.begin_good("all-down")
    bench.serve_paths(ALL_DOWN)
    for hours in range(2, 31, 4):
        run = bench.once(START + hours * HOUR)
        run.ends(75)
        run.says(OPEN_METEO + " answered 503", NWS + " answered 503",
                 METNO + " answered 503")
        want(bench.fetched("open-meteo") == START, "the last answer is kept")
        line = bench.line(START + hours * HOUR)
        if hours >= 6:
            want("Forecast %d h old." % hours in line or
                 "Forecast 1 day old." in line, "no age: " + line)
    asked = len(bench.requests(COMPLETE))
    want(4 <= asked <= 8, "asked %d times in 30 h" % asked)
    want(bench.source("metno")["trouble_since"] ==
         "2026-03-05T08:30:00-05:00", "since when")
    bench.serve()
    run = bench.once(START + 32 * HOUR)
    run.ends(0)
    run.says()
    want(bench.source("metno")["trouble_since"] is None, "well again")
    want("Forecast" not in bench.line(START + 32 * HOUR), "no age to tell")


def lost_everything(bench):
    """No answers held, no service up: what was published stays."""
    bench.begin("lost")
    bench.serve_paths(ALL_DOWN)
    run = bench.once(START)
    run.ends(75)
    run.says(OPEN_METEO, NWS, METNO, "Tamarack Bend: no weather service has a "
             "forecast to give; nothing is published yet$")
    want(run.out == "", "no line without a forecast")
    bench.serve()
    bench.once(START + 2 * HOUR).ends(0)
    before = bench.both()
    for name in bench.answers():
        bench.remove("state", "thawbell", "answers", name)
    bench.serve_paths(ALL_DOWN)
    run = bench.once(START + 12 * HOUR)
    run.ends(75)
    run.says(OPEN_METEO, NWS, METNO, "what was published before stays$")
    want(bench.both() == before, "nothing is touched")
    want("Forecast 10 h old." in bench.line(START + 12 * HOUR), "its age")


def blocked(bench):
    """403 with a page of HTML: hours of rest, the page is not shown."""
    bench.begin_good("blocked")
    bench.serve_paths({COMPLETE: {"fault": "forbidden"}})
    run = bench.once(START + 2 * HOUR)
    run.ends(0)
    run.says(METNO + " refuses us with status 403: the contact or the address "
             "may be wrong, or we are blocked; asking again at ")
    want("<" not in run.err, "no HTML")
    bench.serve()
    bench.once(START + 7 * HOUR).says(METNO + " refuses us")
    want(not bench.requests(METNO), "left alone for six hours")
    bench.once(START + 9 * HOUR).says()


def limits(bench):
    """429 in all its forms: when is it asked again?"""
    for fault, rest in (("limit", 120), ("limit-seconds", 300),
                        ("limit-date", 300), ("limit-nonsense", 120),
                        ("limit-far", 86400)):
        bench.begin_good("limits-" + fault)
        bench.serve_paths({FORECAST: {"fault": fault}})
        at = START + 2 * HOUR
        run = bench.once(at)
        run.ends(0)
        run.says(OPEN_METEO + r" answered 429 \(Minutely API request limit "
                 r"exceeded\. Please try again in one minute\.\); asking "
                 r"again at ")
        want(len(bench.requests(OPEN_METEO)) == 1,
             "the ensemble of the same host is left alone")
        bench.serve()
        bench.once(at + rest - 30)
        want(not [request for request in bench.requests(FORECAST)
                  if "past_days=2&" in request["query"]],
             fault + " is not obeyed")
        bench.once(at + rest + 600).says()
        want(bench.requests(OPEN_METEO), fault + " ends")


def lost_grid(bench):
    """404 for a grid that worked: /points is asked anew and leads on."""
    points = once_bench.answer("nws-points.json")
    points["properties"]["forecastGridData"] = \
        "https://api.weather.gov/gridpoints/GYX/13,118"
    points["properties"]["gridX"] = 13
    moved = {GRID: {"fault": "missing"},
             POINTS: {"body": json.dumps(points), "type": once_bench.GEO},
             "/gridpoints/GYX/13,118": once_bench.GOOD[GRID]}
    bench.begin_good("grid")
    bench.serve_paths(moved)
    run = bench.once(START + 2 * HOUR)
    run.ends(0)
    run.says()
    want([request["path"] for request in bench.requests(NWS)] ==
         [GRID, POINTS, "/gridpoints/GYX/13,118"], "looked up anew")
    want(bench.fetched("nws") == START + 2 * HOUR, "and used")
    bench.serve_paths({GRID: {"fault": "missing"}})
    bench.begin_good("grid-gone")
    bench.serve_paths({GRID: {"fault": "missing"}})
    run = bench.once(START + 2 * HOUR)
    run.ends(0)
    run.says(NWS + " answered 404 .*; asking again at")
    want(bench.source("nws")["in_use"], "the old grid is kept")


def same_without_held(bench):
    """304 although nothing was sent to compare: asked once more, plainly."""
    bench.begin("same")
    bench.serve_paths({COMPLETE: [{"fault": "same"}, *once_bench.GOOD[COMPLETE]]})
    bench.once(START).says()
    want(len(bench.requests(COMPLETE)) == 2, "asked once more")
    bench.begin("same-always")
    bench.serve_paths({COMPLETE: {"fault": "same"}})
    run = bench.once(START)
    run.ends(0)
    run.says(METNO + " says that nothing has changed, but nothing is held; "
             "asking again at")


def deprecated(bench):
    bench.begin("deprecated")
    bench.serve_paths({COMPLETE: {"status": 203, "file": "metno.json",
                                  "headers": {"Last-Modified": LAST_MODIFIED,
                                              "Expires": "{now+1800}"}}})
    for hours in (0, 2):
        run = bench.once(START + hours * HOUR)
        run.ends(0)
        run.says("metno says that this version of its service will go")
        want(bench.fetched("metno") == START + hours * HOUR, "it is used")
    want("if-modified-since" not in bench.requests(COMPLETE)[1]["headers"],
         "never asked conditionally")


def future(bench):
    """A Last-Modified of tomorrow is echoed, never reckoned with."""
    ahead = "Fri, 06 Mar 2026 11:30:00 GMT"
    reply = {"file": "metno.json", "conditional": True,
             "headers": {"Last-Modified": ahead, "Expires": "{now+1800}"}}
    bench.begin("future")
    bench.serve_paths({COMPLETE: reply})
    bench.once(START).says()
    bench.once(START + 2 * HOUR).says()
    want(bench.requests(COMPLETE)[1]["headers"]["if-modified-since"] == ahead,
         "echoed")


def moved(bench):
    bench.begin_good("moved")
    bench.serve_paths({COMPLETE: {"status": 301,
                                  "headers": {"Location": "/elsewhere"}},
                       "/elsewhere": {"file": "metno.json"}})
    bench.once(START + 2 * HOUR).says()
    want(bench.fetched("metno") == START + 2 * HOUR, "followed")
    for fault, words in (("moved-away", "other.invalid"),
                         ("moved-plain", "other.invalid"),
                         ("moved-round", "sends us on more than 3 times")):
        bench.begin_good(fault)
        bench.serve_paths({COMPLETE: {"fault": fault},
                           "/fault/moved-round": {"fault": "moved-round"}})
        run = bench.once(START + 2 * HOUR)
        run.ends(0)
        run.says(METNO + ".*" + words)
        want(bench.fetched("metno") == START, "the held one is kept")
        bench.serve()
        bench.once(START + 26 * HOUR).says()


if __name__ == "__main__":
    once_bench.main([
        ("first turn", first_turn),
        ("quiet", quiet),
        ("--check", check_option),
        ("within expiry", within_expiry),
        ("after expiry", after_expiry),
        ("one service down", one_service_down),
        ("all down for 30 hours", all_down_for_30_hours),
        ("lost everything", lost_everything),
        ("blocked", blocked),
        ("limits", limits),
        ("lost grid", lost_grid),
        ("304 without a held answer", same_without_held),
        ("deprecated", deprecated),
        ("Last-Modified in the future", future),
        ("moved", moved),
    ])
