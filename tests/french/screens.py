#!/usr/bin/env python3
"""What the programs show in French: no English left over, and within the
columns. The demo (invented data) is made in French and everything about it is
looked at; then the same in environments that have no French locale.

Usage: screens.py PROJECT THAWBELL THAWBELLD
       screens.py PROJECT THAWBELL THAWBELLD --self-test"""

import html
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import catalogue  # noqa: E402

AT = "2026-03-05T06:30:00-05:00"


def columns(line):
    """As base/text.h counts them: combining marks take none."""
    return sum(not 0x300 <= ord(c) <= 0x36F for c in line)


class LeftOvers:
    """Looks for pieces of English sentences: what stands between the values
    of a message, if it is two words or more and no French says it too."""

    def __init__(self, project):
        text = (project / "src/words/fr.po").read_text(encoding="utf-8")
        messages = catalogue.read(text)
        french = "\n".join(
            value for entry in messages.values()
            for key, value in entry.items() if key.startswith("msgstr"))
        # Keys of the configuration are written as they are in any language.
        keys = set(re.findall(r'\{"[a-z]+", "([a-z -]+)"', (
            project / "src/config/keys.c").read_text(encoding="utf-8")))
        self.pieces = set()
        for entry in messages.values():
            for key in ("msgid", "msgid_plural"):
                for piece in self.split(entry.get(key, "")):
                    if piece not in self.squeeze(french) and not any(
                            piece in key for key in keys):
                        self.pieces.add(piece)

    @staticmethod
    def squeeze(words):
        return re.sub(r"\s+", " ", words)

    @classmethod
    def split(cls, message):
        for piece in re.split(r"\n|\\n", catalogue.DIRECTIVE.sub("\n",
                                                                 message)):
            piece = cls.squeeze(piece).strip(" .,;:()\"")
            if len(re.findall(r"[A-Za-z]{2,}", piece)) >= 2:
                yield piece

    def find(self, words):
        words = self.squeeze(words)
        return sorted(piece for piece in self.pieces
                      if re.search(r"(?<!\w)%s(?!\w)" % re.escape(piece),
                                   words))


class Screens:
    def __init__(self, project, thawbell, thawbelld):
        self.project = project
        self.programs = {"thawbell": thawbell, "thawbelld": thawbelld}
        self.left_overs = LeftOvers(project)
        self.faults = []
        self.seen = 0

    def fault(self, name, words):
        self.faults.append(f"{name}: {words}")

    def run(self, words, **environment):
        program, *rest = words
        plain = {"PATH": os.environ["PATH"], "TERM": "dumb", "COLUMNS": "80",
                 "LANG": "C", "HOME": self.folder, **environment}
        done = subprocess.run([self.programs[program], *rest], env=plain,
                              capture_output=True, text=True, timeout=60)
        return done.stdout + done.stderr

    def look(self, name, words, widest=None, must=None):
        self.seen += 1
        if not words.strip():
            self.fault(name, "shows nothing")
        for piece in self.left_overs.find(words):
            self.fault(name, f"English is left over: \"{piece}\"")
        for line in words.split("\n"):
            # A command is told as it is typed, in one line.
            if line.startswith("Usage"):
                continue
            if widest and columns(line) > widest:
                self.fault(name, f"{columns(line)} columns: {line}")
        if must and not re.search(must, words):
            self.fault(name, f"does not say \"{must}\": {words[:300]}")

    def make_demo(self):
        shown = self.run(["thawbell", "--lang", "fr", "try"],
                         TMPDIR=self.folder)
        place = re.search(r"dans (/\S+)\n", shown)
        if not place:
            sys.exit(f"no demo:\n{shown}")
        self.look("try", shown, must="coulée")
        self.demo = pathlib.Path(place[1])
        self.conf = str(self.demo / "tamarack-bend.conf")

    def tell(self, *words):
        return ["thawbell", "--lang", "fr", "-c", self.conf, "--at", AT,
                *words]

    def show_screens(self):
        line = self.run(self.tell())
        self.look("line", line, 80, "aujourd’hui")
        for units in ("us", "metric"):
            self.look(f"week {units}",
                      self.run(self.tell("--units", units, "week")), 80,
                      r"Jour +Coulée +Heures +Sève")
            self.look(f"syrup {units}",
                      self.run(self.tell("--units", units, "syrup")), 80,
                      r"\d,\d °Brix")
        self.look("week, 120 columns",
                  self.run(self.tell("week"), COLUMNS="120"), 120, "Gel avant")
        for day in ("2026-03-05", "2026-03-07", "2026-03-09"):
            self.look(f"why {day}", self.run(self.tell("why", day)), 80,
                      "bourgeon")
        self.look("bar", self.run(self.tell("bar")), 80)
        self.look("check", self.run(self.tell("check")), must="entailles")
        self.look("check --keys", self.run(self.tell("check", "--keys")))

    def show_notes(self):
        self.run(self.tell("note", "tapped", "all", "2026-03-01"))
        self.run(self.tell("note", "collected", "140", "gal", "2.1", "Brix",
                           "north", "2026-03-04"))
        self.run(self.tell("note", "drew", "3", "gal", "62", "%", "light",
                           "2026-03-04"))
        self.look("note list", self.run(self.tell("note", "list")),
                  must=r"ramassé 140\sgal, 2,1\s°Brix")
        self.look("note season", self.run(self.tell("note", "season")), 80,
                  "Sirop")
        self.look("note, wrong", self.run(self.tell("note", "colected")),
                  must="vouliez-vous dire")

    def show_help(self):
        names = re.findall(r"^  ([a-z]+)\b",
                           self.run(["thawbell", "--lang=fr", "--help"]), re.M)
        if len(names) < 8:
            sys.exit(f"the help names {len(names)} commands")
        for words in ([], *([name] for name in names)):
            self.look(f"help {words}",
                      self.run(["thawbell", *words, "--lang", "fr", "--help"]),
                      80, "Options communes")
        self.look("thawbelld --help",
                  self.run(["thawbelld", "--lang", "fr", "--help"]), 80,
                  "Options communes")

    def show_errors(self):
        for words, must in (
                (["--lang", "fr", "wek"], "n’est pas connue"),
                (["--lang", "fr", "week", "more"], "mot de trop"),
                (["--lang", "fr", "--unit", "us"], "vouliez-vous dire"),
                (["--lang", "fr", "--at", "noon"], "n’est pas une heure"),
                (["--lang", "fr", "-c", "/no/such.conf"],
                 "aucun fichier ou dossier")):
            self.look(f"error {words}", self.run(["thawbell", *words]),
                      must=must)
        broken = pathlib.Path(self.folder) / "broken.conf"
        broken.write_text("[operation]\nlanguage = de\n[bush x]\ntaps = no\n"
                          "[calendr]\n", encoding="utf-8")
        self.look("check, broken",
                  self.run(["thawbell", "--lang", "fr", "check", str(broken)]),
                  must="erreurs")

    def read_published(self):
        folder = self.demo / "public/tamarack-bend"
        feed = (folder / "calendar.ics").read_text(encoding="utf-8")
        feed = feed.replace("\n ", "").replace("\\n", "\n").replace("\\,", ",")
        self.look("calendar", feed, must="8 fois sur 10")
        titles = re.findall(r"^SUMMARY:(.*)$", feed, re.M)
        for title in titles:
            if columns(title) > 30:
                self.fault("calendar", f"{columns(title)} columns: {title}")
        if not any("%" in title for title in titles):
            self.fault("calendar", f"no title tells a chance: {titles}")
        page = (folder / "index.html").read_text(encoding="utf-8")
        if '<html lang="fr">' not in page:
            self.fault("page", "does not say that it is French")
        page = re.sub(r"<(style|script)>.*?</\1>", "", page, flags=re.S)
        attributes = " ".join(re.findall(
            r'(?:title|alt|aria-label|data-hours|data-days)="([^"]*)"', page))
        page = html.unescape(re.sub(r"<[^>]*>", " ", page) + attributes)
        self.look("page", page, must="Jour par jour")
        self.look_at_data(folder / "bulletin.json")

    def look_at_data(self, path):
        """Sentences are French, figures and words of the format are not."""
        text = path.read_text(encoding="utf-8")
        data = json.loads(text)
        sentences = list(data.get("notes", []))
        for action in data.get("actions", []):
            sentences += [action.get(key, "")
                          for key in ("reason", "unless", "detail")]
        self.look("bulletin", "\n".join(sentences) + " .")
        if not re.search(r'"sap_l_p50":\s*\d+\.\d', text):
            self.fault("bulletin", "holds no figure with a decimal point")
        if re.search(r":\s*-?\d+,\d+[,}\s]*\n", text):
            self.fault("bulletin", "holds a decimal comma")

    def try_environments(self):
        """The words need no locale of the system and disturb none."""
        french = self.run(self.tell())
        for environment in ({"LANG": "C"}, {"LC_ALL": "C"}, {"LC_ALL": "POSIX"},
                            {"LC_ALL": "C.UTF-8", "LANGUAGE": "de"},
                            {"LC_ALL": "xx_YY.UTF-8"}, {"LANGUAGE": "en"}):
            if self.run(self.tell(), **environment) != french:
                self.fault("environment", f"{environment} changes the line")
        asked = self.run(["thawbell", "--help"], LANG="fr_CA.UTF-8")
        self.look("LANG=fr_CA.UTF-8", asked, 80, "Options communes")
        english = self.run(["thawbell", "--lang", "en", "--help"],
                           LANG="fr_CA.UTF-8")
        if "Common options" not in english:
            self.fault("environment", "--lang en does not win")
        conf = pathlib.Path(self.conf)
        text = conf.read_text(encoding="utf-8")
        conf.write_text(re.sub(r"(?m)^language = \w+$", "language = fr", text),
                        encoding="utf-8")
        by_key = self.run(["thawbell", "-c", self.conf, "--at", AT])
        if by_key != french:
            self.fault("language = fr", f"is not followed: {by_key}")

    def run_all(self):
        with tempfile.TemporaryDirectory() as folder:
            self.folder = folder
            self.make_demo()
            self.show_screens()
            self.show_notes()
            self.show_help()
            self.show_errors()
            self.read_published()
            self.try_environments()


def self_test(screens):
    """Each look sees what it is for."""
    for words, expected in (
            ("Pas de gel. Freezes tonight, to 20 F.", "left over"),
            ("north: the season has\n  not begun. The season has not begun.",
             "left over"),
            ("x" * 81, "81 columns"), ("", "shows nothing"),
            ("Bonne coulée.", "does not say")):
        screens.faults = []
        screens.look("test", words, 80, "coulée" if words[:1] != "B" else "n")
        screens.look("test", words, 80, "zz" if words[:1] == "B" else None)
        if not any(expected in fault for fault in screens.faults):
            sys.exit(f"{words!r}: \"{expected}\" was not seen")
    screens.faults = []
    screens.look("test", "Gel cette nuit, jusqu’à -6 °C.\né" + "e\u0301" * 79,
                 80, "Gel")
    if screens.faults:
        sys.exit(f"a sound screen is refused: {screens.faults}")
    print("every kind of fault was seen")
    return 0


def main():
    screens = Screens(pathlib.Path(sys.argv[1]), sys.argv[2], sys.argv[3])
    if "--self-test" in sys.argv:
        return self_test(screens)
    screens.run_all()
    for fault in screens.faults:
        print(fault)
    print(f"{screens.seen} screens looked at, {len(screens.faults)} faults")
    return 1 if screens.faults else 0


if __name__ == "__main__":
    sys.exit(main())
