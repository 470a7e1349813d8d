"""What the feed and page server answers, to friends and to others.

usage: check_serve.py SERVE_FOLDER
"""
import concurrent.futures
import email.utils
import gzip
import json
import os
import re
import socket
import subprocess
import sys
import tempfile
import threading
import time

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "support"))

from checks import check, finish  # noqa: E402
from server import Server, many_files, read_all, tag_of  # noqa: E402

CROWD = 10000
CONNECTIONS = 512  # SERVE_CONNECTIONS


def files(server):
    for name, kind in (("calendar.ics", "text/calendar; charset=utf-8"),
                       ("index.html", "text/html; charset=utf-8"),
                       ("bulletin.json", "application/json")):
        with open(os.path.join(server.folder, name), "rb") as file:
            bytes_ = file.read()
        answer = server.known(name)
        check(f"{name} is served", answer.status == 200, answer.status)
        check(f"{name} whole", answer.body == bytes_)
        check(f"{name} type", answer.get("content-type") == kind,
              answer.get("content-type"))
        check(f"{name} tag", answer.get("etag") == f'"{tag_of(bytes_)}"',
              answer.get("etag"))
        for header, value in (("x-content-type-options", "nosniff"),
                              ("x-robots-tag", "noindex"),
                              ("referrer-policy", "no-referrer"),
                              ("cache-control",
                               "max-age=300, must-revalidate"),
                              ("vary", "Accept-Encoding")):
            check(f"{name} {header}", answer.get(header) == value,
                  answer.get(header))
        policy = answer.get("content-security-policy") or ""
        check(f"{name} policy", policy.startswith("default-src 'none'") and
              "frame-ancestors 'none'" in policy, policy)
        head = server.known(name, method="HEAD")
        check(f"{name} HEAD", head.status == 200 and head.body == b"" and
              head.get("content-length") == str(len(bytes_)) and
              head.get("etag") == answer.get("etag"), head.headers)
        old = server.known(name, version="1.0")
        check(f"{name} HTTP/1.0", old.body == bytes_)
    check("the page by its folder",
          server.known("").body == server.known("index.html").body)
    page = server.known("index.html")
    inside = re.search(rb'Content-Security-Policy" content="([^"]*)',
                       page.body).group(1).decode()
    check("the page's policy is the header's",
          page.get("content-security-policy") ==
          inside + "; frame-ancestors 'none'")


def last_modified(server):
    answer = server.known("calendar.ics")
    stamps = re.findall(rb"\nLAST-MODIFIED:(\d{8}T\d{6}Z)", answer.body)
    newest = max(stamps).decode()
    told = email.utils.parsedate_to_datetime(answer.get("last-modified"))
    check("Last-Modified is the newest LAST-MODIFIED",
          told.strftime("%Y%m%dT%H%M%SZ") == newest, (told, newest))
    return answer


def conditional(server):
    answer = last_modified(server)
    tag, date = answer.get("etag"), answer.get("last-modified")
    length = answer.get("content-length")
    earlier = "Thu, 05 Mar 2026 00:00:00 GMT"
    later = "Thu, 05 Mar 2037 00:00:00 GMT"
    for headers, status in (
            ([f"If-None-Match: {tag}"], 304),
            ([f"If-None-Match: W/{tag}"], 304),
            ([f'If-None-Match: "a", W/"b,c" , {tag}'], 304),
            (['If-None-Match: "a"', f"If-None-Match: {tag}"], 304),
            (["If-None-Match: *"], 304),
            (['If-None-Match: "other"'], 200),
            ([f"If-None-Match: {tag[:-1]}x\""], 200),
            ([f"If-None-Match: {tag.strip(chr(34))}"], 200),
            ([f"If-Modified-Since: {date}"], 304),
            ([f"If-Modified-Since: {later}"], 304),
            ([f"If-Modified-Since: {earlier}"], 200),
            (["If-Modified-Since: yesterday"], 200),
            (['If-None-Match: "other"', f"If-Modified-Since: {date}"], 200),
            ([f"If-None-Match: {tag}", f"If-Modified-Since: {earlier}"], 304)):
        got = server.known("calendar.ics", headers=headers)
        check(f"{headers} is {status}", got.status == status, got.status)
        if status == 304:
            check(f"{headers}: no body, the tag, the length of the 200",
                  got.body == b"" and got.get("etag") == tag and
                  got.get("content-length") in (None, length), got.headers)


def compressed(server):
    plain = server.known("calendar.ics")
    packed = server.known("calendar.ics", headers=["Accept-Encoding: gzip"])
    check("gzip", packed.get("content-encoding") == "gzip" and
          gzip.decompress(packed.body) == plain.body)
    check("gzip pays", len(packed.body) < 0.9 * len(plain.body),
          (len(packed.body), len(plain.body)))
    check("gzip has its own tag", packed.get("etag") != plain.get("etag"))
    for codings, taken in (("br, gzip", True), ("GZIP;q=0.5", True),
                           ("*", True), ("gzip;q=0", False),
                           ("gzip; q=0.000, *", False), ("br", False),
                           ("*;q=0", False), ("identity", False), ("", False)):
        got = server.known("calendar.ics",
                           headers=[f"Accept-Encoding: {codings}"])
        check(f"Accept-Encoding: {codings}",
              (got.get("content-encoding") == "gzip") == taken)
    for tag, status in ((packed.get("etag"), 304), (plain.get("etag"), 200)):
        got = server.known("calendar.ics",
                           headers=["Accept-Encoding: gzip",
                                    f"If-None-Match: {tag}"])
        check(f"gzip and {tag}", got.status == status, got.status)


def strangers(server):
    token = server.token
    other = token[:-1] + ("a" if token[-1] != "a" else "b")
    paths = ["/", "/index.html", "/calendar.ics", "/metrics", "/health",
             "/favicon.ico", f"/{token}", f"/{token[:-1]}/", f"/{other}/",
             f"/{token.upper()}/", f"/{token}//", f"/{token}/token",
             f"/{token}/errors", f"/{token}/../", f"/{token}/./index.html",
             f"/x/../{token}/", "/../../../../etc/passwd",
             f"/{token}/..%2f..%2fetc/passwd", f"/{token}/%2e%2e/",
             f"/{token}/calendar.ics%00", f"/{token}/calendar.ics%00.html",
             f"/{token}%00/calendar.ics", f"/%2f{token}/",
             f"/{token}/calendar%2eics", f"/{token}/CALENDAR.ICS",
             f"/{token}/calendar.ics/", "/" + "a" * 5000, "/" + "a/" * 2000,
             f"//{token}/", "/%", "/%zz", "/\\..\\..", "*"]
    bodies = set()
    for path in paths:
        for method in ("GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS",
                       "PROPFIND"):
            got = server.ask(path, method=method)
            check(f"{method} {path[:60]} is 404", got.status == 404,
                  got.status)
            if method == "GET":
                bodies.add((got.body, tuple(sorted(
                    (k, v) for k, v in got.headers.items() if k != "date"))))
    check("all 404 are alike", len(bodies) == 1, bodies)
    for method in ("POST", "PUT", "DELETE", "OPTIONS", "PATCH"):
        for body in (b"", b"x" * 300000):
            got = server.known("calendar.ics", method=method, body=body)
            check(f"{method} is 405", got.status == 405 and
                  got.get("allow") == "GET, HEAD", (got.status, got.headers))
    check("GET with a body is served",
          server.known("calendar.ics", body=b"x" * 5000).status == 200)
    robots = server.ask("/robots.txt")
    check("robots.txt allows all", robots.status == 200 and
          robots.body == b"User-agent: *\nDisallow:\n")


def malformed(server):
    path = f"/{server.token}/calendar.ics".encode()
    get = b"GET " + path + b" HTTP/1.1\r\n"
    two = (get + b"Host: a\r\nContent-Length: 4\r\n"
           b"Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n")
    for name, request in (
            ("two lengths", two),
            ("no Host", get + b"\r\n"),
            ("two Hosts", get + b"Host: a\r\nHost: b\r\n\r\n"),
            ("a long path", b"GET /" + b"a" * 40000 +
             b" HTTP/1.1\r\nHost: a\r\n\r\n"),
            ("a long header", get + b"Host: a\r\nX: " + b"a" * 200000 +
             b"\r\n\r\n"),
            ("many headers", get + b"Host: a\r\n" + b"X: y\r\n" * 50000 +
             b"\r\n"),
            ("no words", b"\x00\xff\r\n\r\n"),
            ("TLS", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" * 20)):
        raw = server.raw(request, timeout=5)
        words = raw.split(b" ")
        status = int(words[1]) if len(words) > 1 else 0
        check(f"{name} is refused", status == 0 or 400 <= status < 500, status)
        check(f"{name} shows nothing", b"VCALENDAR" not in raw)
        check(f"served after {name}",
              server.known("calendar.ics").status == 200)


def smuggled(server):
    """What follows a refused request must not be taken for another one."""
    raw = server.raw(
        b"POST /x HTTP/1.1\r\nHost: a\r\nContent-Length: 4\r\n"
        b"Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n"
        b"GET /" + server.token.encode() +
        b"/calendar.ics HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n")
    check("nothing is smuggled", b"VCALENDAR" not in raw)


def swaps(server):
    """Readers see old bytes or new ones, each with the right tag."""
    ending = threading.Event()
    seen, wrong = set(), []

    def read():
        while not ending.is_set():
            got = server.known("index.html")
            seen.add(got.get("etag"))
            if got.get("etag") != f'"{tag_of(got.body)}"':
                wrong.append(got.get("etag"))

    with concurrent.futures.ThreadPoolExecutor(8) as pool:
        readers = [pool.submit(read) for _ in range(8)]
        for hour in range(1, 13):
            server.make(60 * hour)
            check("swap", server.say("swap") == "done")
            time.sleep(0.05)
        ending.set()
        for reader in readers:
            reader.result()
    check("no answer is mixed", not wrong, wrong)
    check("the swaps are seen", len(seen) > 5, len(seen))
    before = server.known("calendar.ics")
    path = os.path.join(server.folder, "calendar.ics")
    with open(path, "r+b") as file:
        file.seek(200)
        file.write(b"\x07broken\n")
    check("broken bytes are refused", "calendar.ics" in server.say("swap"))
    check("what was served stays", server.known("calendar.ics").body ==
          before.body and server.known("index.html").status == 200)
    server.make(0)
    check("swap after the refusal", server.say("swap") == "done")


def figures(server):
    from prometheus_client.openmetrics import parser as openmetrics
    from prometheus_client import parser as prometheus
    health = server.known("health")
    check("health before the first turn", health.status == 503 and
          json.loads(health.body)["ok"] is False, health.body)
    server.say("tell")
    health = json.loads(server.known("health").body)
    check("health", health["ok"] and 1500 <= health["weather_age_s"] < 1520,
          health)
    got = server.known("metrics",
                       headers=["Accept: application/openmetrics-text"])
    families = {f.name: f for f in openmetrics.text_string_to_metric_families(
        got.body.decode())}
    check("OpenMetrics type", got.get("content-type").startswith(
        "application/openmetrics-text; version=1.0.0"))
    age = families["thawbell_weather_age_seconds"]
    check("age of the weather", age.unit == "seconds" and
          1500 <= age.samples[0].value < 1520, age)
    turns = families["thawbell_turns"]
    check("turns", turns.type == "counter" and {
        s.labels["result"]: s.value for s in turns.samples} ==
        {"made": 12, "failed": 1}, turns)
    check("mail", {s.labels["state"]: s.value for s in
                   families["thawbell_mail"].samples} ==
          {"waiting": 2, "dead": 0})
    check("trouble", {s.labels["source"]: s.value for s in
                      families["thawbell_source_trouble"].samples} ==
          {"metno": 0, "nws": 1})
    got = server.known("metrics")
    check("Prometheus type", got.get("content-type") ==
          "text/plain; version=0.0.4; charset=utf-8")
    names = {f.name for f in prometheus.text_string_to_metric_families(
        got.body.decode())}
    check("Prometheus reads it", "thawbell_turns" in names and
          "thawbell_weather_age_seconds" in names, names)
    check("the token stands nowhere", server.token not in got.body.decode())


def dropped(server):
    check("drop", server.say("drop") == "done")
    for name in ("", "calendar.ics", "metrics", "health"):
        check(f"dropped {name} is 404", server.known(name).status == 404)


def closed_by_now(connection):
    connection.settimeout(1)
    try:
        while connection.recv(65536):
            pass
        return True
    except ConnectionResetError:
        return True
    except TimeoutError:
        return False


def slow_ones(program, folder):
    """Each byte in time, the request never: closed all the same."""
    server = Server(program, folder, request_ms=2000)
    start = time.monotonic()
    trickling = [server.connect() for _ in range(20)]
    silent = [server.connect() for _ in range(20)]
    kept = server.connect()
    kept.sendall(f"GET /{server.token}/health HTTP/1.1\r\nHost: a\r\n\r\n"
                 .encode())
    alive = list(trickling)
    while alive and time.monotonic() - start < 6:
        for connection in list(alive):
            try:
                connection.sendall(b"G")
                connection.setblocking(False)
                if connection.recv(10) == b"":
                    alive.remove(connection)
            except BlockingIOError:
                pass
            except OSError:
                alive.remove(connection)
            finally:
                if connection.fileno() >= 0:
                    connection.setblocking(True)
        time.sleep(0.2)
    took = time.monotonic() - start
    check("those that trickle are closed in time", not alive and took < 4.5,
          (len(alive), took))
    for connection in silent + [kept]:
        check("silence is closed", closed_by_now(connection))
    check("served meanwhile", server.known("calendar.ics").status == 200)
    for connection in trickling + silent + [kept]:
        connection.close()
    check("slow ones: ends well", server.stop()[0] == 0)


def crowd(program, folder, most):
    """Thousands that never finish their request: those who do are served, and
    the server's descriptors stay within its limit."""
    server = Server(program, folder)  # the daemon's limits
    crowd_, slowest = [], 0
    for i in range(most):
        connection = socket.socket()
        connection.setblocking(False)
        connection.connect_ex(("127.0.0.1", server.port))
        crowd_.append(connection)
        if i % 20 == 19:
            for late in crowd_[-20:]:
                try:
                    late.send(b"GET / HTTP/1.1\r\nHost: a\r\nX: ")
                except OSError:
                    pass
        if i % 500 == 499:
            start = time.monotonic()
            status = server.known("calendar.ics").status
            slowest = max(slowest, time.monotonic() - start)
            check(f"served beside {i + 1} others", status == 200, status)
    open_files = len(os.listdir(f"/proc/{server.process.pid}/fd"))
    check("descriptors are bounded", open_files < CONNECTIONS + 64 + 40,
          open_files)
    check("served without delay", slowest < 2, slowest)
    print(f"{most} half-open connections: slowest answer "
          f"{1000 * slowest:.0f} ms, {open_files} descriptors")
    for connection in crowd_:
        connection.close()
    check("served after them", server.known("calendar.ics").status == 200)
    check("crowd: ends well", server.stop()[0] == 0)


def handed_over(program, folder):
    """A socket of the service manager's."""
    listening = socket.create_server(("127.0.0.1", 0))
    port = listening.getsockname()[1]
    os.set_inheritable(listening.fileno(), True)
    words = (f'exec 3<&{listening.fileno()}; LISTEN_PID=$$ LISTEN_FDS=1 '
             f'exec "$@"')
    process = subprocess.Popen(
        ["sh", "-c", words, "sh", program, folder, "127.0.0.1:1", "0", "0",
         "0"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        pass_fds=[listening.fileno()])
    listening.close()
    check("the port handed over", int(process.stdout.readline()) == port)
    with open(os.path.join(folder, "token")) as file:
        token = file.read().strip()
    with socket.create_connection(("127.0.0.1", port), 5) as connection:
        connection.sendall(f"GET /{token}/calendar.ics HTTP/1.0\r\n\r\n"
                           .encode())
        check("served on it", b" 200 " in read_all(connection)[:20])
    process.stdin.close()
    check("handed over: ends well", process.wait(20) == 0)


def other_family(program, folder):
    try:
        socket.create_server(("::1", 0), family=socket.AF_INET6).close()
    except OSError:
        print("no IPv6 on this machine")
        return
    server = Server(program, folder, listen="[::1]:0")
    check("served on ::1", server.known("calendar.ics").status == 200)
    again = subprocess.run(
        [program, folder, f"[::1]:{server.port}", "0", "0", "0"],
        stdin=subprocess.DEVNULL, capture_output=True, text=True)
    check("a port in use is told", again.returncode == 1 and
          f"[::1]:{server.port} cannot be listened on" in again.stderr,
          again.stderr)
    server.stop()


def main():
    program = os.path.abspath(sys.argv[1])
    room = many_files() - 200
    check(f"{CROWD} connections can be had: see ulimit -Hn", room >= CROWD,
          room)
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([program, "--make", folder, "0"], check=True)
        server = Server(program, folder, threads=2)
        check("the token file is its owner's alone", os.stat(
            os.path.join(folder, "token")).st_mode & 0o777 == 0o600)
        check("the token holds 128 bits and more",
              re.fullmatch(r"[a-z2-7]{26}", server.token), server.token)
        for part in (files, conditional, compressed, strangers, malformed,
                     smuggled, swaps, figures, dropped):
            part(server)
        status, said = server.stop()
        check("ends well", status == 0, status)
        check("the token is in no log", server.token not in said)
        slow_ones(program, folder)
        crowd(program, folder, min(CROWD, room))
        handed_over(program, folder)
        other_family(program, folder)
    finish(350)


main()
