#!/usr/bin/env python3
"""Answers that are no good, or not all good, to `thawbelld --once`. Each is a
thing that services have sent.

    python3 once_answers.py THAWBELLD THAWBELL [CASE...]
"""

import json

import once_bench
from once_bench import (COMPLETE, ENSEMBLE, FORECAST, GEO, GRID, HOUR, METNO,
                        NWS, OPEN_METEO, START, want)

LATER = START + 2 * HOUR
AGAIN = r"; asking again at \d\d:\d\d UTC$"


def grid(change):
    body = once_bench.answer("nws-grid.json")
    change(body["properties"])
    return {"body": json.dumps(body), "type": GEO}


def meteo(change, name="open-meteo.json"):
    body = once_bench.answer(name)
    change(body)
    return {"body": json.dumps(body)}


def complete(change):
    body = once_bench.answer("metno.json")
    change(body["properties"])
    return {"body": json.dumps(body)}


def text(name):
    return json.dumps(once_bench.answer(name))


def values(layer):
    return lambda properties: properties["temperature"].update(values=layer)


def first_temperature(**changes):
    return lambda properties: \
        properties["temperature"]["values"][30].update(**changes)


def older(properties):
    properties["meta"]["updated_at"] = "2026-03-04T21:12:44Z"


def overlaps(properties):
    layer = properties["temperature"]["values"]
    layer[20]["validTime"] = layer[19]["validTime"]
    layer.reverse()


def doubled(name):
    """The same key twice in one object (RFC 8259 leaves open what counts)."""
    words = text(name)
    at = words.index('"properties": ')
    return {"body": words[:at] + '"properties": {}, ' + words[at:]}


SOURCE_OF = {COMPLETE: "metno", GRID: "nws", FORECAST: "open-meteo",
             ENSEMBLE: "open-meteo-ensemble"}
HOST_OF = {COMPLETE: METNO, GRID: NWS, FORECAST: OPEN_METEO,
           ENSEMBLE: OPEN_METEO}
METNO_TEXT = text("metno.json")
METEO_TEXT = text("open-meteo.json")

# Name, address, reply, what is said after the host: the whole answer is
# refused and the last good one stays.
REFUSED = [
    ("a web page", COMPLETE, {"fault": "html"},
     r" answered with a web page in place of data \(perhaps this network "
     r"wants a sign-in\)" + AGAIN),
    ("one sentence", FORECAST, {"fault": "text"}, " of no use "),
    ("cut JSON", COMPLETE, {"body": METNO_TEXT[:len(METNO_TEXT) // 2]},
     " of no use "),
    ("cut at its last byte", COMPLETE, {"body": METNO_TEXT[:-1]},
     " of no use "),
    ("broken off", COMPLETE, {"fault": "cut", "file": "metno.json"},
     " broke off in its answer" + AGAIN),
    ("broken off, packed", COMPLETE, {"fault": "cut-packed"},
     " (broke off|cannot be unpacked|of no use)"),
    ("reset", COMPLETE, {"fault": "reset"}, " broke off in its answer"),
    ("reset within", COMPLETE, {"fault": "reset-body"}, " broke off"),
    ("words glued after half", FORECAST,
     {"body": METEO_TEXT[:len(METEO_TEXT) // 2] +
      "Unexpected error while streaming data: timeoutReached"},
     " of no use "),
    ("words glued after all", FORECAST,
     {"body": METEO_TEXT + "Unexpected error while streaming data: "
      "timeoutReached"}, " of no use "),
    ("bare nan", FORECAST, {"fault": "nan"}, " of no use "),
    ("nan for a temperature", FORECAST,
     {"body": METEO_TEXT.replace("-6.3", "nan", 1)}, " of no use "),
    ("unequal arrays", FORECAST,
     meteo(lambda body: body["hourly"]["temperature_2m"].pop()),
     " of no use .*1319 values for 1320 times"),
    ("an array in place of an object", FORECAST,
     {"body": "[" + METEO_TEXT + "]"}, " of no use "),
    ("null features", COMPLETE, {"body": '{"type":"Feature","geometry":null,'
                                 '"properties":null}'}, " of no use "),
    ("an old run", COMPLETE, complete(older),
     r" of no use \(its forecast is older than the one it sent before\)"
     + AGAIN),
    ("nothing", COMPLETE, {"body": ""}, " of no use "),
    ("no content", COMPLETE, {"fault": "empty"},
     " has no data at present" + AGAIN),
    ("no gzip in gzip", COMPLETE, {"fault": "bad-gzip"},
     " cannot be unpacked" + AGAIN),
    ("a bomb", COMPLETE, {"fault": "gzip-bomb"},
     " sent more than an answer may hold" + AGAIN),
    ("no end", COMPLETE, {"fault": "endless"},
     " sent more than an answer may hold" + AGAIN),
    ("3 MiB", COMPLETE, {"fault": "big"},
     " sent more than an answer may hold" + AGAIN),
    ("200 levels", COMPLETE, {"fault": "deep"}, " of no use .*nested deeper than 32 levels"),
    ("a million numbers", FORECAST, {"fault": "million"}, " of no use "),
    ("silence", COMPLETE, {"fault": "silent"}, " did not answer in time"),
    ("keys twice", COMPLETE, doubled("metno.json"),
     r" of no use \(the answer has no properties\.timeseries"),
    ("an unknown unit", GRID,
     grid(lambda p: p["temperature"].update(uom="wmoUnit:furlong")),
     r" of no use \(the answer holds no usable air temperature: .*furlong"),
    ("no unit", GRID, grid(lambda p: p["temperature"].pop("uom")),
     r" of no use \(the answer holds no usable air temperature: .*\"\""),
    ("the layer absent", GRID, grid(lambda p: p.pop("temperature")),
     r" of no use \(neither a grid cell, an hourly forecast nor"),
    ("the layer empty", GRID, grid(values([])),
     r" of no use \(the answer holds no air temperature"),
    ("the layer of objects", GRID,
     grid(values([{"validTime": "2026-03-05T12:00:00+00:00/PT1H",
                   "value": {"value": 1}}])),
     r" of no use \(the answer holds no usable air temperature: .*it is not "
     r"a number\)"),
    ("an ensemble of nulls", ENSEMBLE,
     meteo(lambda body: body["hourly"].update(
         {key: [None] * len(row) for key, row in body["hourly"].items()
          if "member" in key}), "open-meteo-ensemble.json"), " of no use "),
]

# Name, address, reply: used as far as it goes, in silence.
USED = [
    ("another prefix of the unit", GRID,
     grid(lambda p: p["temperature"].update(uom="unit:degC"))),
    ("a bare unit", GRID, grid(lambda p: p["temperature"].update(uom="degC"))),
    ("148.89 C", GRID, grid(first_temperature(value=148.89))),
    ("null within", GRID, grid(first_temperature(value=None))),
    ("a number as text", GRID, grid(first_temperature(value="4"))),
    ("no time at all", GRID, grid(first_temperature(
        validTime="2026-03-06T10:00:00+00:00/PT0S"))),
    ("a negative time", GRID, grid(first_temperature(
        validTime="2026-03-06T10:00:00+00:00/-PT1H"))),
    ("a minute", GRID, grid(first_temperature(
        validTime="2026-03-06T10:00:00+00:00/PT1M"))),
    ("72 hours", GRID, grid(lambda p: p["temperature"]["values"].append(
        {"validTime": "2026-03-12T16:00:00+00:00/PT72H", "value": 1.1}))),
    ("a week and 13 hours", GRID, grid(lambda p: p.update(
        skyCover={"uom": "wmoUnit:percent", "values": [
            {"validTime": "2026-03-05T04:00:00+00:00/P7DT13H",
             "value": 40}]}))),
    ("overlaps, out of order", GRID, grid(overlaps)),
    ("a gap", GRID, grid(lambda p: p["temperature"]["values"].__delitem__(
        slice(40, 60)))),
    ("start after now", GRID, grid(lambda p: p["temperature"]["values"]
                                   .__delitem__(slice(0, 20)))),
    ("a side layer absent", GRID, grid(lambda p: p.pop("skyCover"))),
    ("a side layer of objects", GRID,
     grid(lambda p: p.update(skyCover={"values": [{"value": [{}]}]}))),
    ("an unknown suffix", FORECAST, meteo(lambda body: body["hourly"].update(
        temperature_2m_new_model=body["hourly"]["temperature_2m"]))),
    ("a member missing", ENSEMBLE,
     meteo(lambda body: body["hourly"].pop("temperature_2m_member07"),
           "open-meteo-ensemble.json")),
    ("a member of nulls", ENSEMBLE,
     meteo(lambda body: body["hourly"].update(temperature_2m_member07=[None]
           * len(body["hourly"]["time"])), "open-meteo-ensemble.json")),
    ("whole numbers", FORECAST, meteo(lambda body: body["hourly"].update(
        temperature_2m=[int(t) for t in body["hourly"]["temperature_2m"]]))),
    ("Expires long ago", COMPLETE, {"file": "metno.json", "headers":
                                    {"Expires": "{now-86400}"}}),
    ("no Expires, no Date", COMPLETE, {"file": "metno.json",
                                       "headers": {"Date": None}}),
    ("trailers", COMPLETE, {"fault": "trailer", "file": "metno.json"}),
    ("packed", COMPLETE, {"file": "metno.json", "gzip": True}),
]


def refused(number):
    name, path, reply, words = REFUSED[number]
    source = SOURCE_OF[path]

    def case(bench):
        bench.begin_good("refused-%d" % number)
        # The ensemble is due some hours later than the others.
        at = START + 7 * HOUR if path == ENSEMBLE else LATER
        calendar = bench.published("calendar.ics")
        bench.serve_paths({path: reply})
        run = bench.once(at)
        run.ends(0)
        run.says("^thawbelld: " + HOST_OF[path] + ".*" + words)
        row = bench.source(source)
        want(row["in_use"] and bench.fetched(source) == START,
             "the last good answer stays in use, with its time")
        want(HOST_OF[path] in row["trouble"] and row["trouble_since"],
             "the bulletin tells it too")
        if at == LATER:
            want(calendar == bench.published("calendar.ics"),
                 "the calendar stays")
        bench.line(at)
        bench.serve()
        bench.once(at + 26 * HOUR).says()
        want(bench.fetched(source) == at + 26 * HOUR or
             bench.requests(path), "well again by itself")
        want(not bench.source(source)["trouble"], "and told so")
    return name, case


def used(number):
    name, path, reply = USED[number]

    def case(bench):
        bench.begin_good("used-%d" % number)
        at = START + 7 * HOUR if path == ENSEMBLE else LATER
        bench.serve_paths({path: reply})
        run = bench.once(at)
        run.ends(0)
        run.says()
        want(bench.fetched(SOURCE_OF[path]) == at, "it is used")
        bench.line(at)
    return name, case


if __name__ == "__main__":
    once_bench.main([refused(i) for i in range(len(REFUSED))] +
                    [used(i) for i in range(len(USED))])
