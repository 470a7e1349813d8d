#!/usr/bin/env python3
"""Compares src/words/fr.po with the sentences marked in src.

Usage: catalogue.py PROJECT
       catalogue.py PROJECT --self-test

Prints one line for each message that is missing, stale, fuzzy, empty, or
whose French does not fit its English; exits 1 if there is any. The typography
is that of docs/decisions.md, "Languages"."""

import ast
import pathlib
import re
import subprocess
import sys
import tempfile

NARROW = "\u202f"
NO_BREAK = "\u00a0"
DIRECTIVE = re.compile(
    r"%(?:(\d+)\$)?[-+ #0]*(?:\*|\d+)?(?:\.(?:\*|\d+))?"
    r"(hh|h|ll|l|z|j|t|L)?([a-zA-Z%])")


def read(text):
    """Messages as {(context, english): entry}, the header left out."""
    found = {}
    for block in re.split(r"\n\s*\n", text):
        entry, last = {"flags": ""}, None
        for line in block.split("\n"):
            if line.startswith("#~"):
                entry["stale"] = True
                line = line[2:].strip()
            if line.startswith("#,"):
                entry["flags"] += line
            match = re.match(
                r'(msgctxt|msgid|msgid_plural|msgstr|msgstr\[\d\]) (".*")$',
                line)
            if match:
                last = match[1]
                entry[last] = ast.literal_eval(match[2])
            elif line.startswith('"') and last:
                entry[last] += ast.literal_eval(line)
        if entry.get("msgid"):
            found[(entry.get("msgctxt"), entry["msgid"])] = entry
    return found


def directives(words):
    """What a format takes, in the order in which it takes it."""
    taken = []
    for number, (place, size, kind) in enumerate(
            match for match in DIRECTIVE.findall(words) if match[2] != "%"):
        taken.append((int(place) if place else number + 1, size, kind))
    return [kind for _, *kind in sorted(taken)]


def typography(french):
    """What is wrong with the marks of one French text."""
    prose = re.sub(r"^%s:(%d|1):", "", french)  # file and line, as compilers
    prose = re.sub(r"^(thawbelld?|%s): ", "", prose)
    if "'" in prose:
        yield "a straight apostrophe"
    if '"' in prose:
        yield "a straight quote"
    if re.search(r"(?<![%\d])[^\s" + NARROW + r"/:?\d][;!?](?=\s|$)", prose):
        yield "no narrow no-break space before ; ! ?"
    if re.search(r"[^\s" + NARROW + r"]:(?=\s|$)", prose):
        yield "no narrow no-break space before :"
    if re.search(r" (?::(?!:)|[;!?»])|« |[%s]{2}|«[^%s]|[^%s]»" % (
            NARROW + NO_BREAK, NARROW, NARROW), prose):
        yield "another space where the narrow no-break one belongs"
    if re.search(r"(?<!^)(?<![\n ]) {2}(?! )\S", prose.rstrip("\n")):
        yield "two spaces"


def faults_of(entry):
    """What is wrong with one translated message."""
    english = [entry["msgid"]]
    if "msgid_plural" in entry:
        english.append(entry["msgid_plural"])
    forms = [entry[key] for key in sorted(entry) if key.startswith("msgstr")]
    if "fuzzy" in entry["flags"]:
        yield "is fuzzy"
    if len(forms) != len(english) or not all(forms):
        yield "is not translated"
        return
    for form, source in zip(forms, english):
        if directives(form) != directives(source):
            yield "takes other values than its English"
        for end in (str.startswith, str.endswith):
            if end(form, "\n") != end(source, "\n"):
                yield "begins or ends its line otherwise than its English"
        if source.endswith(" ") != form.endswith(" "):
            yield "ends with a blank otherwise than its English"
        # Fixed columns and lists of words to type are left alone.
        if "%-27s" not in source:
            yield from typography(form)


def compare(marked, translated):
    for key in marked.keys() - translated.keys():
        yield key, "is missing from fr.po"
    for key, entry in translated.items():
        if entry.get("stale") or key not in marked:
            yield key, "is stale: no source says it any more"
        elif (marked[key].get("msgid_plural") != entry.get("msgid_plural")):
            yield key, "has another plural in the source"
        else:
            for fault in faults_of(entry):
                yield key, fault


def collect(project):
    with tempfile.TemporaryDirectory() as folder:
        pot = pathlib.Path(folder) / "thawbell.pot"
        subprocess.run(["sh", "src/words/collect.sh", str(pot)], cwd=project,
                       check=True)
        return pot.read_text(encoding="utf-8")


def format_check(path):
    """msgfmt knows the formats of C better than we do."""
    done = subprocess.run(["msgfmt", "--check", "-o", "/dev/null", str(path)],
                          capture_output=True, text=True)
    return done.stderr.strip() if done.returncode != 0 else ""


def check(marked_text, translated_text):
    return sorted(
        f"\"{english}\"{f' ({context})' if context else ''} {fault}"
        for (context, english), fault in compare(read(marked_text),
                                                 read(translated_text)))


def report(project):
    path = project / "src/words/fr.po"
    found = check(collect(project), path.read_text(encoding="utf-8"))
    complaint = format_check(path)
    for line in found + ([complaint] if complaint else []):
        print(line)
    if found:
        print("`ninja words_update` takes new messages into src/words/fr.po; "
              "DEVELOPERS.md says how to go on.")
    return 1 if found or complaint else 0


BROKEN = [
    # source, catalogue, what must be said
    ("", 'msgid "gone"\nmsgstr "parti"', "stale"),
    ('msgid "new"\nmsgstr ""', "", "missing"),
    ('msgid "new"\nmsgstr ""', 'msgid "new"\nmsgstr ""', "not translated"),
    ('msgid "a"\nmsgstr ""', '#, fuzzy\nmsgid "a"\nmsgstr "b"', "fuzzy"),
    ('msgid "a"\nmsgstr ""', '#~ msgid "a"\n#~ msgstr "b"', "stale"),
    ('msgid "%s: %d"\nmsgstr ""', 'msgid "%s: %d"\nmsgstr "%d\u202f: %s"',
     "other values"),
    ('msgid "%ld"\nmsgstr ""', 'msgid "%ld"\nmsgstr "%d"', "other values"),
    ('msgid "%s"\nmsgstr ""', 'msgid "%s"\nmsgstr "rien"', "other values"),
    ('msgid "a\\n"\nmsgstr ""', 'msgid "a\\n"\nmsgstr "b"', "its line"),
    ('msgid "a: "\nmsgstr ""', 'msgid "a: "\nmsgstr "b\u202f:"', "blank"),
    ('msgid "a"\nmsgstr ""', 'msgid "a"\nmsgstr "l\'eau"', "apostrophe"),
    ('msgid "a"\nmsgstr ""', 'msgid "a"\nmsgstr "\\"b\\""', "quote"),
    ('msgid "a"\nmsgstr ""', 'msgid "a"\nmsgstr "b : c"', "another space"),
    ('msgid "a"\nmsgstr ""', 'msgid "a"\nmsgstr "b: c"', "before :"),
    ('msgid "a"\nmsgstr ""', 'msgid "a"\nmsgstr "b ?"', "another space"),
    ('msgid "a"\nmsgstr ""', 'msgid "a"\nmsgstr "b; c"', "before ; ! ?"),
    ('msgid "a"\nmsgstr ""', 'msgid "a"\nmsgstr "« b »"', "another space"),
    ('msgid "a"\nmsgstr ""', 'msgid "a"\nmsgstr "b  c"', "two spaces"),
    ('msgid "a"\nmsgid_plural "b"\nmsgstr[0] ""\nmsgstr[1] ""',
     'msgid "a"\nmsgid_plural "b"\nmsgstr[0] "c"\nmsgstr[1] ""',
     "not translated"),
    ('msgid "a"\nmsgid_plural "b"\nmsgstr[0] ""\nmsgstr[1] ""',
     'msgid "a"\nmsgstr "c"', "another plural"),
    ('msgctxt "x"\nmsgid "a"\nmsgstr ""', 'msgid "a"\nmsgstr "b"', "missing"),
]
SOUND = [
    ('msgid "%s, %d"\nmsgstr ""', 'msgid "%s, %d"\nmsgstr "%2$d, %1$s"'),
    ('msgid "%02d:00"\nmsgstr ""', 'msgid "%02d:00"\nmsgstr "%d\u00a0h"'),
    ('msgid "%s:%d: a"\nmsgstr ""', 'msgid "%s:%d: a"\nmsgstr "%s:%d: b"'),
    ('msgid "  a"\nmsgstr ""', 'msgid "  a"\nmsgstr "  b"'),
]


def self_test():
    for source, catalogue, expected in BROKEN:
        found = check(source, catalogue)
        if not any(expected in line for line in found):
            sys.exit(f"{catalogue!r}: \"{expected}\" was not seen: {found}")
    for source, catalogue in SOUND:
        found = check(source, catalogue)
        if found:
            sys.exit(f"{catalogue!r}: {found}")
    print(f"{len(BROKEN)} faults seen, {len(SOUND)} sound messages passed")
    return 0


if __name__ == "__main__":
    root = pathlib.Path(sys.argv[1])
    sys.exit(self_test() if "--self-test" in sys.argv else report(root))
