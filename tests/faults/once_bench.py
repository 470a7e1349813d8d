"""A bench for `thawbelld --once`: the real program, its own folders, and the
faulty services of server.py within this process.

The operation is invented (Tamarack Bend), the answers are those of
fixtures/tamarack-bend, the clock is told with --at. Each service has an
address of its own: nws 127.0.0.1, metno 127.0.0.2, open-meteo 127.0.0.3.
"""

import copy
import datetime
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import traceback
import types

# checks.py there is for who imports this too.
sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "support"))

import server  # noqa: E402

ROOT = os.path.realpath(os.path.join(os.path.dirname(__file__), "..", ".."))
ANSWERS = os.path.join(ROOT, "fixtures", "tamarack-bend")
HOUR = 3600
START = 1772710200  # 5 March 2026, 06:30 at the bush: the demo's clock
NWS, METNO, OPEN_METEO = "127.0.0.1", "127.0.0.2", "127.0.0.3"
GRID, POINTS = "/gridpoints/GYX/12,118", "/points/45.06,-71.9"
COMPLETE, FORECAST, ENSEMBLE = "/complete", "/v1/forecast", "/v1/ensemble"
LAST_MODIFIED = "Thu, 05 Mar 2026 09:42:18 GMT"
GEO = "application/geo+json"

GOOD = {
    POINTS: [{"file": "nws-points.json", "type": GEO,
              "headers": {"Cache-Control": "max-age=80000"}}],
    GRID: [{"file": "nws-grid.json", "type": GEO, "conditional": True,
            "headers": {"Cache-Control": "max-age=1200",
                        "Last-Modified": LAST_MODIFIED}}],
    COMPLETE: [{"file": "metno.json", "conditional": True,
                "headers": {"Expires": "{now+1800}",
                            "Last-Modified": LAST_MODIFIED}}],
    FORECAST: [{"file": "open-meteo.json"}],
    ENSEMBLE: [{"file": "open-meteo-ensemble.json"}],
}

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
tapped = 2026-03-01
[sources]
use = open-meteo, nws, metno
contact = operator@example.org
nws url = http://127.0.0.1:{port}
metno url = http://127.0.0.2:{port}
open-meteo url = http://127.0.0.3:{port}
[calendar]
publish = public
"""


def answer(name):
    """One of the good answers, as JSON to be spoilt."""
    with open(os.path.join(ANSWERS, name), encoding="utf-8") as file:
        return json.load(file)


def iso(seconds):
    moment = datetime.datetime.fromtimestamp(seconds, datetime.timezone.utc)
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


class Wrong(Exception):
    pass


class Run:
    """What one call of a program said and how it ended."""

    def __init__(self, done):
        self.code = done.returncode
        self.out = done.stdout.decode("utf-8", "replace")
        self.err = done.stderr.decode("utf-8", "replace")
        self.lines = self.err.splitlines()

    def want(self, good, what):
        if not good:
            raise Wrong("%s\n--- status %d\n--- out\n%s--- err\n%s"
                        % (what, self.code, self.out, self.err))

    def ends(self, code):
        self.want(self.code == code, "it should end with %d" % code)

    def says(self, *patterns):
        """Standard error is these sentences and nothing else: one line each,
        calm and short enough to be read."""
        self.want(len(self.lines) == len(patterns),
                  "it should say %d lines" % len(patterns))
        for line, pattern in zip(self.lines, patterns):
            self.want(re.search(pattern, line), "no /%s/" % pattern)
            self.want(line.startswith("thawbelld: "), "no sentence of ours")
            self.want(len(line) <= 240, "too long: %d" % len(line))
            self.want(line.isprintable(), "not printable")
            self.want(not re.search(r"(?i)sanitizer|fatal|!|\bnull\b|\(\)",
                                    line), "not calm")


class Bench:
    configuration = CONFIGURATION

    def __init__(self, programs):
        self.programs = programs
        self.root = tempfile.mkdtemp(prefix="once-")
        self.site = server.Site(types.SimpleNamespace(
            scenario=None, folder=ANSWERS, now=START,
            log=os.path.join(self.root, "requests")))
        self.servers = server.listen(self.site, 0)
        for one in self.servers:
            threading.Thread(target=one.serve_forever, daemon=True).start()
        self.port = self.servers[0].server_address[1]
        self.template = None
        self.folder = None

    def close(self):
        for one in self.servers:
            one.shutdown()
        shutil.rmtree(self.root)

    # -- an operation's folder

    def path(self, *names):
        return os.path.join(self.folder, *names)

    def begin(self, name):
        """An operation that has never been asked for anything."""
        self.folder = os.path.join(self.root, name)
        os.makedirs(self.path("home"))
        with open(self.path("bend.conf"), "w", encoding="utf-8") as file:
            file.write(self.configuration.replace("{port}", str(self.port)))
        self.serve()

    def write_many(self, count, places=1):
        """So many operations in one folder, each at the next of so many
        places: what one has asked serves all of its place."""
        folder = self.path("many")
        os.makedirs(folder)
        for number in range(count):
            words = self.configuration.replace("{port}", str(self.port))
            for old, new in (
                    ("Tamarack Bend", "Sugarhouse %d" % number),
                    ("45.06", "%.2f" % (45.06 + number % places * 0.05)),
                    ("publish = public", "publish = " + self.path("public"))):
                want(words.count(old) == 1, "not once in it: " + old)
                words = words.replace(old, new)
            with open(os.path.join(folder, "%03d.conf" % number), "w",
                      encoding="utf-8") as file:
                file.write(words)
        return folder

    def begin_good(self, name):
        """An operation after a good turn at START."""
        if self.template is None:
            self.begin("template")
            self.once(START).ends(0)
            self.template = self.folder
        self.folder = os.path.join(self.root, name)
        shutil.copytree(self.template, self.folder)
        self.serve()

    def serve(self, **replies):
        self.serve_paths({getattr(sys.modules[__name__], name): reply
                          for name, reply in replies.items()})

    def serve_paths(self, replies):
        """All is well but for these: path to a reply or a list of them."""
        scenario = copy.deepcopy(GOOD)
        for path, reply in replies.items():
            scenario[path] = reply if isinstance(reply, list) else [reply]
        with self.site.lock:
            self.site.scenario = scenario
            self.site.served = {}
            self.site.requests = 0
            self.site.log.truncate(0)

    def requests(self, address=None):
        with open(os.path.join(self.root, "requests"),
                  encoding="utf-8") as file:
            lines = [json.loads(line) for line in file.read().split("\n")
                     if line.strip("\0")]
        return [line for line in lines
                if address in (None, line["address"], line["path"])]

    def answers(self):
        return [name for name in
                os.listdir(self.path("state", "thawbell", "answers"))
                if name.endswith(".answer")]

    def remove(self, *names):
        os.remove(self.path(*names))

    # -- programs

    def environment(self):
        return {"HOME": self.path("home"), "LC_ALL": "C", "TMPDIR": self.root,
                "XDG_STATE_HOME": self.path("state"),
                "XDG_CONFIG_HOME": self.path("config"),
                "PATH": os.environ["PATH"]}

    def command(self, program, at, *words):
        return [self.programs[program], "-c", self.path("bend.conf"), "--at",
                iso(at), *words]

    def run(self, program, at, *words, **options):
        self.site.fixed_now = at
        run = Run(subprocess.run(
            self.command(program, at, *words), env=self.environment(),
            capture_output=True, timeout=200, check=False, **options))
        run.want(run.code in (0, 1, 2, 75), "it did not live")
        return run

    def once(self, at, *words, **options):
        return self.run("thawbelld", at, "--once", *words, **options)

    def line(self, at):
        run = self.run("thawbell", at)
        run.ends(0)
        run.want(run.err == "" and run.out.count("\n") == 1, "not one line")
        return run.out

    # -- what is published

    def published(self, name):
        with open(self.path("public", "tamarack-bend", name),
                  encoding="utf-8") as file:
            return file.read()

    def both(self):
        return self.published("bulletin.json"), self.published("calendar.ics")

    def source(self, name):
        bulletin = json.loads(self.published("bulletin.json"))
        for row in bulletin["sources"]:
            if row["name"] == name:
                return row
        raise Wrong("no source %s in the bulletin" % name)

    def fetched(self, name):
        words = self.source(name)["fetched"]
        return words and datetime.datetime.fromisoformat(words).timestamp()


def want(good, what):
    if not good:
        raise Wrong(what)


def named_programs():
    return {"thawbelld": sys.argv[1], "thawbell": sys.argv[2]}


def main(cases, bench=None, chosen=None):
    """Runs each case on the bench; names chosen on the command line, after the
    two programs, or all. Ends the test."""
    bench = bench or Bench(named_programs())
    chosen = sys.argv[3:] if chosen is None else chosen
    ran = failed = 0
    try:
        for name, case in cases:
            if chosen and name not in chosen:
                continue
            ran += 1
            try:
                case(bench)
                print("ok      %s" % name, flush=True)
            except (Wrong, OSError, subprocess.SubprocessError) as why:
                failed += 1
                print("FAILED  %s: %s" % (name, str(why)[-3000:]), flush=True)
                traceback.print_exc(limit=-3)
    finally:
        bench.close()
    print("%d of %d failed" % (failed, ran))
    sys.exit(failed > 0 or ran == 0)
