"""A subscriber's season: forecasts that change with each look, turned into
feeds by the real program, fetched by vdirsyncer as a phone would.

What vdirsyncer creates, updates and deletes is held against what a reader may
expect: no UID twice, an update only with a higher SEQUENCE, a newer
LAST-MODIFIED and something to see, nothing deleted but what was cancelled for
two days, the past left alone. All weather is invented.

The feed goes through vdirsyncer's storage for single files: its storage for
HTTP makes a new item of every change, whatever the UID.

    python3 subscriber.py THAWBELLD THAWBELL
"""

import datetime
import importlib.util
import json
import math
import os
import random
import re
import subprocess
import sys

import icalendar

ROOT = os.path.realpath(os.path.join(os.path.dirname(__file__), "..", ".."))
sys.path.insert(0, os.path.join(ROOT, "tests", "faults"))
import once_bench  # noqa: E402
from once_bench import (ENSEMBLE, FORECAST, HOUR,  # noqa: E402
                        want)

UTC = datetime.timezone.utc
FIRST = datetime.datetime(2026, 2, 27, 11, tzinfo=UTC)
LAST = datetime.datetime(2026, 4, 19, 11, tzinfo=UTC)
STEP_H = 24
LOOK_AGAIN = 5  # each so many turns: half an hour later, nothing new
MEMBERS = 31
TITLE_COLUMNS = 30  # what a phone shows of a title
CANCELLED_DAYS = 2

spec = importlib.util.spec_from_file_location(
    "course", os.path.join(ROOT, "fixtures", "make_tamarack_bend.py"))
course = importlib.util.module_from_spec(spec)
spec.loader.exec_module(course)


def extremes(day):
    """Minimum and maximum of an invented spring."""
    n = (day - datetime.date(2026, 3, 1)).days
    mean = (-3.5 + 0.2 * n + 4.5 * math.sin(n / 2.9)
            + 2.5 * math.sin(n / 6.7 + 1))
    return mean - 6, mean + 6


course.extremes = extremes


def walk(seed, hours):
    """A slow random walk with a standard deviation of one."""
    chance, state, steady, out = random.Random(seed), 0.0, 0.98, []
    for _ in hours:
        state = steady * state + (math.sqrt(1 - steady ** 2)
                                  * chance.gauss(0, 1))
        out.append(state)
    return out


WHOLE = list(course.hours(FIRST - datetime.timedelta(days=50),
                          LAST + datetime.timedelta(days=20)))
LASTING = dict(zip(WHOLE, walk(1, WHOLE)))


def error_c(now, seed, hours):
    """Error of a forecast made at `now`: it grows with the lead time, and
    most of it stays from one forecast to the next."""
    for hour, own in zip(hours, walk(seed, hours)):
        lead_h = (hour - now).total_seconds() / HOUR
        sd = min(3.5, 0.3 + 0.012 * lead_h) if lead_h > 0 else 0.0
        yield sd * (0.9 * LASTING[hour] + 0.44 * own)


def answer(name, columns, hours):
    body = once_bench.answer(name)
    body["hourly"] = {"time": [int(h.timestamp()) for h in hours]}
    for key, values in columns.items():
        body["hourly"][key] = [round(value, 1) for value in values]
    body["hourly_units"] = {key: body["hourly_units"][key]
                            for key in body["hourly"]}
    return {"body": json.dumps(body)}


def serve(bench, now):
    midnight = now.replace(hour=0, minute=0)
    end = midnight + datetime.timedelta(days=11)
    hours = list(course.hours(midnight - datetime.timedelta(days=40), end))
    ahead = list(course.hours(midnight, end))
    issue = int(now.timestamp())
    told = {h: course.air_temp_c(h) + off
            for h, off in zip(hours, error_c(now, issue, hours))}
    members = {"temperature_2m": [told[h] for h in ahead]}
    for member in range(1, MEMBERS):
        members[f"temperature_2m_member{member:02d}"] = [
            told[h] + 3 * off
            for h, off in zip(ahead, error_c(now, issue + member, ahead))]
    bench.serve_paths({
        FORECAST: answer("open-meteo.json", {
            "temperature_2m": [told[h] for h in hours],
            "wind_speed_10m": [course.wind_m_s(h) for h in hours],
            "shortwave_radiation": [course.shortwave_w_m2(h) for h in hours],
        }, hours),
        ENSEMBLE: answer("open-meteo-ensemble.json", members, ahead)})


def events_of(words):
    calendar = icalendar.Calendar.from_ical(words)
    want(all(part.errors == [] for part in calendar.walk()), "no errors")
    found = {}
    for event in calendar.walk("VEVENT"):
        uid = str(event["UID"])
        want(uid not in found, "%s is in the feed twice" % uid)
        found[uid] = event
    return found


def seen(event):
    """What a reader sees, but for the time of the last change."""
    told = re.sub("\nLast changed [^\n]*$", "", str(event["DESCRIPTION"]))
    return (str(event["SUMMARY"]), told, event["DTSTART"].to_ical(),
            event["DTEND"].to_ical(), event.get("STATUS"))


class Phone:
    """A folder of events, filled by vdirsyncer."""

    def __init__(self, root):
        self.root = root
        self.now = None
        self.past = {}
        self.counts = {"created": 0, "updated": 0, "deleted": 0}
        self.new_titles = 0
        for name in ("status", "box"):
            os.mkdir(os.path.join(root, name))
        with open(self.path("conf"), "w", encoding="utf-8") as file:
            file.write("""[general]
status_path = "{0}/status/"
[pair sap]
a = "phone"
b = "feed"
collections = null
[storage phone]
type = "filesystem"
path = "{0}/box/"
fileext = ".ics"
[storage feed]
type = "singlefile"
path = "{0}/feed.ics"
read_only = true
""".format(root))
        with open(self.path("feed.ics"), "w", encoding="utf-8"):
            pass
        self.vdirsyncer("discover")

    def path(self, name):
        return os.path.join(self.root, name)

    def vdirsyncer(self, word):
        done = subprocess.run(
            ["vdirsyncer", "-c", self.path("conf"), word],
            env=dict(os.environ, LC_ALL="C.UTF-8", HOME=self.root),
            stdin=subprocess.DEVNULL, capture_output=True, text=True,
            timeout=60, check=False)
        want(done.returncode == 0, "vdirsyncer: %s%s" % (done.stdout,
                                                         done.stderr))
        return done.stdout + done.stderr

    def fetch(self, feed):
        with open(self.path("feed.ics"), "w", encoding="utf-8",
                  newline="") as file:
            file.write(feed)
        said = self.vdirsyncer("sync")
        return {what: set(re.findall(r"%s item (\S+)" % words, said))
                for what, words in (("created", r"Copying \(uploading\)"),
                                    ("updated", r"Copying \(updating\)"),
                                    ("deleted", "Deleting"))}

    def box(self):
        found = {}
        for name in os.listdir(self.path("box")):
            with open(os.path.join(self.path("box"), name), "rb") as file:
                one = events_of(file.read())
            want(len(one) == 1, "one event a file")
            want(not set(one) & set(found), "an event is there twice")
            found.update(one)
        return found

    def check_days(self):
        """One event a day, but for those of the plan."""
        days = [event["DTSTART"].dt for uid, event in self.now.items()
                if not re.search("-(collect|boil|tap|pull|begin)-", uid)]
        want(len(days) == len(set(days)), "a day is there twice")

    def check_update(self, old, new):
        want(int(new["SEQUENCE"]) > int(old["SEQUENCE"]), "SEQUENCE grows")
        want(new["LAST-MODIFIED"].dt > old["LAST-MODIFIED"].dt,
             "LAST-MODIFIED grows")
        want(seen(new) != seen(old), "there is something to see")

    def check_past(self, event, today):
        """A run day that is over stays as it was told."""
        uid = str(event["UID"])
        if "-run-" in uid and event["DTSTART"].dt < today:
            want(self.past.setdefault(uid, event.to_ical())
                 == event.to_ical(), "the past of %s changes" % uid)

    def turn(self, feed, now):
        before = self.now or {}
        changes = self.fetch(feed)
        self.now = self.box()
        want(set(self.now) == set(events_of(feed)), "it has what is told")
        self.check_days()
        want(changes["created"] == set(self.now) - set(before), "created")
        want(changes["deleted"] == set(before) - set(self.now), "deleted")
        # It may also write again, once, what has just come unchanged.
        updated = {uid for uid in set(before) & set(self.now)
                   if before[uid].to_ical() != self.now[uid].to_ical()}
        want(updated <= changes["updated"], "updated")
        changes["updated"] = updated
        for uid in updated:
            self.check_update(before[uid], self.now[uid])
            self.new_titles += (before[uid]["SUMMARY"]
                                != self.now[uid]["SUMMARY"])
        for uid in changes["deleted"]:
            want(before[uid].get("STATUS") == "CANCELLED",
                 "%s vanished" % uid)
            want(now - before[uid]["LAST-MODIFIED"].dt
                 >= datetime.timedelta(days=CANCELLED_DAYS), "too early")
        for event in self.now.values():
            want(len(str(event["SUMMARY"])) <= TITLE_COLUMNS, "a short title")
            # 05:00 UTC is midnight at the bush, or 01:00.
            self.check_past(event, (now - datetime.timedelta(hours=5)).date())
        for what, uids in changes.items():
            self.counts[what] += len(uids)


def season(bench, planned):
    bench.begin("planned" if planned else "season")
    if planned:
        with open(bench.path("bend.conf"), "a", encoding="utf-8") as file:
            file.write(SUGARHOUSE)
    root = bench.path("phone")
    os.mkdir(root)
    phone, now, turns, trembled = Phone(root), FIRST, 0, 0
    while now <= LAST:
        serve(bench, now)
        bench.once(int(now.timestamp())).ends(0)
        feed = bench.published("calendar.ics")
        phone.turn(feed, now)
        turns += 1
        if turns % LOOK_AGAIN == 0:
            later = now + datetime.timedelta(minutes=30)
            bench.once(int(later.timestamp())).ends(0)
            again = bench.published("calendar.ics")
            trembled += again != feed
            want(planned or not trembled, "nothing new: the same bytes")
            phone.turn(again, later)
        now += datetime.timedelta(hours=STEP_H)
    print("%d turns: %d events created, %d updates (%d of the title), "
          "%d deleted; of %d looks with nothing new %d found a change"
          % (turns, phone.counts["created"], phone.counts["updated"],
             phone.new_titles, phone.counts["deleted"], turns // LOOK_AGAIN,
             trembled))
    want(phone.counts["created"] >= 20, "a season has run days")
    want(phone.counts["updated"] >= 20, "forecasts change")
    want(phone.new_titles <= 8 * phone.counts["created"],
         "titles do not tremble")
    want(len(phone.past) >= 15, "the season stays to be read")


once_bench.Bench.configuration = once_bench.CONFIGURATION.replace(
    "use = open-meteo, nws, metno", "use = open-meteo")
SUGARHOUSE = """\
[sugarhouse]
storage = 300 gal
evaporation = 28 gal/h
smallest boil = 60 gal
"""
if __name__ == "__main__":
    once_bench.main([
        ("a subscriber's season", lambda bench: season(bench, False)),
        ("with a plan", lambda bench: season(bench, True))])
