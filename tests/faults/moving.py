"""Invented weather that moves on with the clock: one service (metno) whose
answers hold the ten days after the moment they are asked for.

All of it is invented: a spring from February to May with frosty nights, thaws
that come and go with a wave of nine days, and a forecast that errs a little
and differently every six hours.
"""

import datetime
import json
import math

import once_bench
import server

HOUR, DAY = 3600, 86400
CANCELLED_DAYS, KEEP_DAYS = 2, 400  # src/publish/calendar.h, calendar.c
SPRING = datetime.datetime(2026, 2, 1,
                           tzinfo=datetime.timezone.utc).timestamp()

CONFIGURATION = """\
[operation]
name = Tamarack Bend
time zone = America/New_York
units = us
[bush north]
latitude = 45.06
longitude = -71.90
elevation = 450 m
taps = 140
bucket = 4 gal
tapped = 2026-02-20
[sugarhouse]
storage = 300 gal
storage site = shade
evaporation = 28 gal/h
[sources]
use = metno
contact = someone@tamarack-bend.example
metno url = http://127.0.0.2:{port}
[calendar]
publish = public
"""


def air_temp_c(at, asked):
    """The weather at `at`, as told at `asked`."""
    season = -7 + 19 * (at - SPRING) / (120 * DAY)
    wave = 5 * math.sin(2 * math.pi * at / (9 * DAY))
    day = 6 * math.cos(2 * math.pi * (at - 20 * HOUR) / DAY)
    issue = asked // (6 * HOUR)
    error = 0.15 * ((at - asked) / DAY) * math.sin(issue * 1.7 + at / DAY)
    return season + wave + day + error


def row(at, asked, hours):
    temps = [air_temp_c(at + h * HOUR, asked) for h in range(7)]
    data = {"instant": {"details": {
        "air_temperature": round(temps[0], 1),
        "air_pressure_at_sea_level": 1015.0, "relative_humidity": 70.0,
        "wind_speed": 2.0, "cloud_area_fraction": 40.0}},
        "next_6_hours": {"details": {
            "air_temperature_max": round(max(temps), 1),
            "air_temperature_min": round(min(temps), 1),
            "precipitation_amount": 0.0}}}
    if hours == 1:
        data["next_1_hours"] = {"details": {"precipitation_amount": 0.0}}
    when = datetime.datetime.fromtimestamp(at, datetime.timezone.utc)
    return {"time": when.strftime("%Y-%m-%dT%H:%M:%SZ"), "data": data}


def answer(now):
    first = int(now // HOUR) * HOUR
    six = first + (60 * HOUR - first % (6 * HOUR))
    rows = [row(at, now, 1) for at in range(first, six, HOUR)]
    rows += [row(at, now, 6) for at in range(six, first + 10 * DAY, 6 * HOUR)]
    units = {"air_pressure_at_sea_level": "hPa", "air_temperature": "celsius",
             "air_temperature_max": "celsius",
             "air_temperature_min": "celsius", "cloud_area_fraction": "%",
             "precipitation_amount": "mm", "relative_humidity": "%",
             "wind_speed": "m/s"}
    issued = datetime.datetime.fromtimestamp(now - now % (6 * HOUR),
                                             datetime.timezone.utc)
    return {"type": "Feature",
            "geometry": {"type": "Point", "coordinates": [-71.9, 45.06, 450]},
            "properties": {"meta": {
                "updated_at": issued.strftime("%Y-%m-%dT%H:%M:%SZ"),
                "units": units}, "timeseries": rows}}


class MovingSite(server.Site):
    def reply(self, path):
        if path != once_bench.COMPLETE:
            return super().reply(path)
        return {"body": json.dumps(answer(self.now())),
                "headers": {"Expires": "{now+1800}"}}


class MovingBench(once_bench.Bench):
    """A bench whose one service answers for the clock's moment."""

    configuration = CONFIGURATION

    def __init__(self, programs):
        super().__init__(programs)
        self.site.__class__ = MovingSite


def events(ics):
    """The feed's events as {property: value}, unfolded (RFC 5545, 3.1); a
    feed that is not whole is an error."""
    once_bench.want(ics.startswith("BEGIN:VCALENDAR") and
                    ics.rstrip().endswith("END:VCALENDAR"), "a whole feed")
    found, event = [], None
    for line in ics.replace("\r\n", "\n").replace("\n ", "").split("\n"):
        if line == "BEGIN:VEVENT":
            event = {}
        elif line == "END:VEVENT":
            found.append(event)
            event = None
        elif event is not None and ":" in line:
            name, _, value = line.partition(":")
            event[name.partition(";")[0]] = value
    return found


def instant(words):
    """A date, or a time in UTC, of a feed as seconds."""
    form = "%Y%m%dT%H%M%SZ" if "T" in words else "%Y%m%d"
    return datetime.datetime.strptime(words, form).replace(
        tzinfo=datetime.timezone.utc).timestamp()


def is_kept(event, now):
    """Whether a feed made at `now` still holds what it told like this: a
    cancelled event changes no more, and stays for two days; all others until
    the season after (docs/calendar.md)."""
    if event.get("STATUS") == "CANCELLED":
        return now < instant(event["LAST-MODIFIED"]) + CANCELLED_DAYS * DAY
    return now < instant(event["DTSTART"]) + KEEP_DAYS * DAY


def none_lost(told, seen, now):
    """Of the events told, by UID, all that are of a time that the calendar
    keeps are among those seen. Returns how many have been looked for."""
    kept = [uid for uid, event in told.items() if is_kept(event, now)]
    lost = [uid for uid in kept if uid not in seen]
    once_bench.want(not lost, "lost: %s" % lost)
    return len(kept)
