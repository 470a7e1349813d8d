#!/usr/bin/env python3
"""`thawbelld --once` on a machine in trouble: folders that cannot be written,
another one at work, a damaged database, a full disk.

    python3 once_machine.py THAWBELLD THAWBELL [CASE...]
"""

import json
import os
import re
import resource
import shutil
import signal
import subprocess
import time

import once_bench
from once_bench import (COMPLETE, ENSEMBLE, FORECAST, GRID, HOUR, METNO,
                        POINTS, START, iso, want)

LATER = START + 2 * HOUR


def put(path, words):
    with open(path, "w", encoding="utf-8") as file:
        file.write(words)


def no_publish_folder(bench):
    """A file stands where the folder should be."""
    bench.begin("no-folder")
    put(bench.path("public"), "in the way\n")
    run = bench.once(START)
    run.ends(1)
    run.says("Tamarack Bend: .*/public.*: Not a directory")
    want(run.out == "", "no line: nothing is published")
    os.remove(bench.path("public"))
    bench.once(START + HOUR).says()


def folder_not_writable(bench):
    """Nobody's rights on a folder of another's; only root can try it."""
    bench.begin_good("not-writable")
    os.chmod(bench.root, 0o755)
    before = bench.both()
    if os.geteuid() != 0:
        os.chmod(bench.path("public", "tamarack-bend"), 0o555)
        run = bench.once(LATER)
    else:
        for folder, _, names in os.walk(bench.path("state")):
            for name in [folder] + [os.path.join(folder, n) for n in names]:
                os.chown(name, 65534, 65534)
        run = bench.once(LATER, user=65534, group=65534, extra_groups=[])
    run.ends(1)
    run.says("Tamarack Bend: .*/public/tamarack-bend: cannot be written: "
             "Permission denied$")
    want(bench.both() == before, "what was published stays")


def bulletin_in_the_way(bench):
    """One publisher fails: the other goes on."""
    bench.begin("in-the-way")
    os.makedirs(bench.path("public", "tamarack-bend", "calendar.ics", "x"))
    run = bench.once(START)
    run.ends(1)
    run.says("the calendar was not published: .*/calendar.ics: cannot be "
             "written: Is a directory")
    want(run.out.count("\n") == 2, "the bulletin is there")
    bench.line(START)
    shutil.rmtree(bench.path("public", "tamarack-bend", "calendar.ics"))
    bench.once(START + HOUR).says()
    bench.both()


def another_at_work(bench):
    bench.begin("lock")
    bench.serve_paths({COMPLETE: {"file": "metno.json", "delay_s": 4}})
    bench.site.fixed_now = START
    with subprocess.Popen(bench.command("thawbelld", START, "--once"),
                          env=bench.environment(), stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE) as first:
        while not bench.requests(METNO):
            time.sleep(0.05)
        run = bench.once(START)
        run.ends(75)
        run.says("/state/thawbell: another thawbelld is at work with this "
                 "folder$")
        want(first.poll() is None, "the first one is still at work")
        _, err = first.communicate(timeout=100)
        want(first.returncode == 0 and err == b"", "the first one goes on")
    bench.once(START).says()


def killed(bench):
    """Killed while it waits: the lock is free, nothing is lost."""
    bench.begin_good("killed")
    before = bench.both()
    bench.serve_paths({COMPLETE: {"fault": "silent"}})
    bench.site.fixed_now = LATER
    with subprocess.Popen(bench.command("thawbelld", LATER, "--once"),
                          env=bench.environment(), stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE) as first:
        while not bench.requests(METNO):
            time.sleep(0.05)
        first.kill()
    want(bench.both() == before, "what was published stays whole")
    bench.serve()
    bench.once(LATER + HOUR).says()


def store_checked(bench, path, good):
    """What `thawbell store check --json` says of it."""
    run = bench.run("thawbell", LATER, "store", "check", "--json")
    run.ends(0 if good else 1)
    run.says()
    told = json.loads(run.out)
    run.want(sorted(told) == ["facts", "found", "ok", "path", "set_aside",
                              "version"], "the keys of docs/store.md")
    run.want(told["version"] == 1 and told["path"] == path, "which store")
    run.want(told["ok"] == good and (told["found"] == []) == good, "its state")
    run.want(not good or "table log_record: 0 rows" in told["facts"], "rows")
    return told["set_aside"]


def set_aside_told(bench, path):
    """Both checks warn of it until it is gone; what is in it can be read."""
    aside = path + ".damaged-%d" % LATER
    told = re.escape(aside) + (": this store was damaged and set aside at %s; "
                               "the logbook of before may be in it" %
                               iso(LATER))
    client = bench.run("thawbell", LATER, "check")
    client.ends(0)
    client.says()
    client.want(re.search("(?m)^  " + told, client.out), "check warns")
    want(re.match(told, *store_checked(bench, path, True)), "as JSON")
    run = bench.run("thawbell", LATER, "store", "check")
    run.ends(0)
    run.want(len(run.lines) == 1 and re.match("thawbell: " + told, run.err),
             "a warning")
    run.want("nothing is wrong with it" in run.out, "and the new one is sound")
    run = bench.run("thawbell", LATER, "store", "export", "--from", aside)
    run.ends(1)
    rows = [json.loads(line) for line in run.out.splitlines()]
    want({"score", "weather_place"} <= {row["table"] for row in rows},
         "the tables that are not damaged")
    want(run.err.startswith("thawbell: " + aside + ": table event cannot be "
                            "read whole: "), "the one that is")
    for name in os.listdir(os.path.dirname(aside)):
        if ".damaged-" in name:
            bench.remove("state", "thawbell", name)
    want(store_checked(bench, path, True) == [], "no more of it")
    run = bench.run("thawbell", LATER, "check")
    run.want(".damaged-" not in run.out + run.err, "nor here")


def damaged_database(bench):
    bench.begin_good("damaged")
    path = bench.path("state", "thawbell", "thawbell.db")
    store_checked(bench, path, True)
    with open(path, "r+b") as file:
        file.seek(4096)
        file.write(b"\xa5" * 8192)
    store_checked(bench, path, False)
    run = bench.once(LATER)
    run.ends(0)
    run.says(r"/thawbell\.db: the database was damaged; it is kept as "
             r".*/thawbell\.db\.damaged-%d and a new one was begun$" % LATER)
    want(os.path.exists(path + ".damaged-%d" % LATER), "kept for a look")
    set_aside_told(bench, path)
    bench.once(LATER + HOUR).says()


def no_database(bench):
    bench.begin_good("no-database")
    path = bench.path("state", "thawbell", "thawbell.db")
    put(path, "This is no database, and never was one.\n" * 40)
    bench.once(LATER).says("the database was damaged; it is kept as")
    os.remove(path)
    os.mkdir(path)
    run = bench.once(LATER + HOUR)
    run.ends(1)
    words = path + ": the database cannot be used: Is a directory\n"
    want(run.err == "thawbelld: " + words, "what and why")
    run = bench.run("thawbell", LATER + HOUR, "check")
    run.ends(1)
    want(run.err == words, "the same of check")
    run = bench.run("thawbell", LATER + HOUR, "check", "--json")
    run.ends(1)
    want(json.loads(run.out)["files"][0]["store_error"] + "\n" == words,
         "as JSON")
    run = bench.run("thawbell", LATER + HOUR, "store", "check")
    run.ends(1)
    want(words in run.err, "the same of store check")
    os.rmdir(path)
    run = bench.run("thawbell", LATER + HOUR, "check")
    run.ends(0)
    run.want("store_error" not in run.out and run.err == "", "none yet")


def state_closed(bench):
    """One that is there, in a folder that this user may not enter."""
    bench.begin_good("state-closed")
    os.chmod(bench.root, 0o755)
    folder = bench.path("state")
    os.chmod(folder, 0o700 if os.geteuid() == 0 else 0)
    other = ({"user": 65534, "group": 65534, "extra_groups": []}
             if os.geteuid() == 0 else {})
    run = bench.once(LATER, **other)
    told = bench.run("thawbell", LATER, "check", **other)
    os.chmod(folder, 0o700)
    run.ends(1)
    run.says("/state/thawbell: cannot be used: this user may not enter "
             ".*/state$")
    told.ends(0)
    told.want(told.err == "", "another user's store is not this one's trouble")
    bench.once(LATER).says()


def state_in_the_way(bench):
    bench.begin("state-file")
    put(bench.path("state"), "in the way\n")
    run = bench.once(START)
    run.ends(1)
    run.says("/state/thawbell: .*: Not a directory")


def small_files():
    """No file over 33 kB, which is room for SQLite's index of its log."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (33 << 10, 33 << 10))


def files_limited(bench):
    """What cannot be written stays as it was; later all is well."""
    bench.begin_good("limited")
    run = bench.once(LATER, preexec_fn=small_files)
    run.ends(1)
    run.want(2 <= len(run.lines) <= 3, "short")
    run.want("cannot be written: File too large; answers are kept in memory "
             "alone until they can be written" in run.lines[0],
             "what is not kept")
    # The database's log of a turn may or may not fit.
    run.want(len(run.lines) == 2 or
             "thawbell.db: the database cannot be used: " in run.lines[1],
             "nor this")
    run.want("the page was not published: " in run.lines[-1], "nor that")
    want(bench.fetched("open-meteo") == LATER, "the bulletin goes on")
    run = bench.once(LATER + HOUR)
    run.ends(0)
    run.says()


def copies_on_a_full_disk(bench):
    """The file that was asked for is named, with the reason; none is left."""
    copy = bench.path("state", "copy")
    store = bench.path("kept", "thawbell", "thawbell.db")
    for word in ("backup", "export"):
        run = bench.run("thawbell", LATER, "store", word, copy,
                        "--from", store)
        run.ends(1)
        want(run.err == "thawbell: %s: cannot be written: No space left on "
             "device\n" % copy, word + ": " + run.err)
    want(not [name for name in os.listdir(bench.path("state"))
              if name.startswith("copy")], "nothing is left of it")


def disk_full(bench):
    """The same on a file system without room, where one may be mounted."""
    bench.begin_good("full")
    before = bench.both()
    kept = bench.path("kept")
    disk = bench.path("state")
    shutil.move(disk, kept)
    os.mkdir(disk)
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs",
                           disk], capture_output=True, check=False)
    if done.returncode != 0:
        print("        not tried: a tmpfs needs root")
        return
    try:
        shutil.copytree(kept, disk, dirs_exist_ok=True)
        fill = os.path.join(disk, "fill")
        with open(fill, "wb", buffering=0) as file:
            try:
                while True:
                    file.write(b"\0" * 4096)
            except OSError:
                pass
        held = len(bench.answers())
        for at in (LATER, LATER + 4 * HOUR):
            run = bench.once(at)
            run.ends(1)
            run.says(r"/thawbell\.db: the database cannot be used: No space "
                     r"left on device$")
            want(bench.both() == before, "what was published stays")
        want(len(bench.answers()) == held, "the held answers are all there")
        copies_on_a_full_disk(bench)
        os.remove(fill)
        run = bench.once(LATER + 8 * HOUR)
        run.ends(0)
        run.says()
    finally:
        subprocess.run(["umount", disk], check=False)


def clock_set_back(bench):
    """A clock that was a year ahead when it asked: what it noted is void."""
    bench.begin("clock")
    bench.once(START + 365 * 24 * HOUR)
    run = bench.once(START)
    run.ends(0)
    run.says()
    want(bench.fetched("metno") == START, "asked anew")


def wrong_words(bench):
    bench.begin("words")
    run = bench.once(START, "-o", "brook")
    run.ends(2)
    run.says("no operation is called \"brook\"")
    run = bench.once(START, "-o", "tamarack bend")
    run.ends(0)
    with open(bench.path("bend.conf"), "a", encoding="utf-8") as file:
        file.write("[bush]\ntaps = many\n")
    run = bench.once(START)
    run.ends(2)
    run.want("bend.conf:" in run.err and run.out == "", "names the line")


def two_of_one_name(bench):
    """Neither turns, for which is meant no one can tell; nor is anybody asked
    for them. A third one, and a file that is wrong, change nothing in it."""
    bench.begin("twins")
    folder = bench.path("many")
    os.mkdir(folder)
    with open(bench.path("bend.conf"), encoding="utf-8") as file:
        words = file.read().replace("= public", "= " + bench.path("public"))
    put(os.path.join(folder, "a.conf"), words)
    put(os.path.join(folder, "b.conf"),
        words.replace("Tamarack Bend", "tamarack bend"))
    refused = (r'/b\.conf:1: the name "tamarack bend" is too like that of '
               r".*/a\.conf; two operations need two names$")
    run = bench.once(START, "-c", folder)
    run.ends(2)
    run.want(len(run.lines) == 1 and re.search(refused, run.err), "refused")
    want(run.out == "" and not bench.requests(), "neither turns")
    want(not os.path.exists(bench.path("public")), "nothing is published")
    put(os.path.join(folder, "c.conf"), words.replace("Tamarack Bend", "Brook"))
    put(os.path.join(folder, "d.conf"), words + "[bush]\ntaps = many\n")
    run = bench.once(START, "-c", folder)
    run.ends(2)
    run.want(re.search("(?m)" + refused, run.err), "refused again")
    run.want("/d.conf:" in run.err, "the wrong file is told")
    run.want("published in " + bench.path("public", "brook") in run.out,
             "the third one turns")
    want(os.listdir(bench.path("public")) == ["brook"], "and it alone")
    want(len(bench.requests()) == 6, "asked for one")
    os.remove(os.path.join(folder, "b.conf"))
    os.remove(os.path.join(folder, "d.conf"))
    run = bench.once(START + HOUR, "-c", folder)
    run.ends(0)
    run.says()
    want(sorted(os.listdir(bench.path("public"))) ==
         ["brook", "tamarack-bend"], "both, once the names are two")


def stop(bench):
    """Ctrl-C while a service is silent ends it at once."""
    bench.begin("stop")
    bench.serve_paths({path: {"fault": "silent"} for path in
                       (POINTS, GRID, COMPLETE, FORECAST, ENSEMBLE)})
    bench.site.fixed_now = START
    with subprocess.Popen(bench.command("thawbelld", START, "--once"),
                          env=bench.environment(), stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE) as first:
        while not bench.requests():
            time.sleep(0.05)
        begun = time.monotonic()
        first.send_signal(signal.SIGINT)
        first.wait(timeout=20)
        want(time.monotonic() - begun < 2, "at once")
    want(first.returncode == -signal.SIGINT, iso(START))


if __name__ == "__main__":
    once_bench.main([
        ("no publish folder", no_publish_folder),
        ("publish folder not writable", folder_not_writable),
        ("a folder in the calendar's place", bulletin_in_the_way),
        ("another at work", another_at_work),
        ("killed", killed),
        ("damaged database", damaged_database),
        ("no database", no_database),
        ("state folder in a closed one", state_closed),
        ("state folder in the way", state_in_the_way),
        ("files limited", files_limited),
        ("disk full", disk_full),
        ("clock set back", clock_set_back),
        ("wrong words", wrong_words),
        ("two of one name", two_of_one_name),
        ("stopped", stop),
    ])
