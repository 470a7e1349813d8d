#!/usr/bin/env python3
"""A weather service that misbehaves on purpose, for tests.

    python3 server.py [--scenario FILE] [--folder FOLDER] [--log FILE]
                      [--now SECONDS] [--port N] [--watch-stdin]

It listens on 127.0.0.1, 127.0.0.2, 127.0.0.3 and 127.0.0.4, all on one port
(a free one unless --port says which), so that a test can give each service a
host of its own. When it is ready it prints one line, "port N". With
--watch-stdin it ends when its standard input is closed: a test that dies
takes its server along. Nothing is read from outside of --folder.

Which answer
    A scenario is a JSON object: "path": [reply, reply, ...]. The n-th request
    for a path (its query does not count) gets the n-th reply; the last reply
    repeats. A path that ends in "*" stands for all that start so; the longest
    fitting one counts. Without a fitting entry /fault/NAME gives the fault
    NAME, anything else 404 as problem+json (RFC 9457).

        {"/v1/forecast": [{"file": "open-meteo.json"},
                          {"status": 503, "headers": {"Retry-After": "120"}}],
         "/points/*":    [{"file": "points.json", "type": "application/geo+json"}],
         "/weatherapi/locationforecast/2.0/complete":
             [{"file": "metno.json", "conditional": true,
               "headers": {"Expires": "{now+1800}",
                           "Last-Modified": "{now-600}"}}]}

    Members of a reply, all optional:
    status       200
    type         Content-Type; by the file's end, else application/json
    headers      object; "{now+N}" and "{now-N}" in a value become HTTP dates,
                 "{host}" the address and port asked,
                 a value null takes a header away that would be sent ("Date")
    body         text of the body ("{host}" becomes the address and port asked)
    file         body from a file of --folder
    pad          so many bytes of JSON white space after the body
    gzip         true: packed if the client takes gzip
    conditional  true: 304 without a body to a request whose If-None-Match or
                 If-Modified-Since equals, byte for byte, what this reply sends
                 as ETag or Last-Modified
    delay_s      seconds before the answer
    times        the reply stands for so many requests before the next's turn
    fault        one of the faults below; status, headers, body and file count
                 where they make sense

Faults
    html              200 with a proxy's web page
    text              200 with one sentence typed as JSON
    half-error        half of a JSON array, then the sentence
    nan               JSON with bare nan
    cut               half the body that was declared, then the end; cut-packed:
                      the same within gzip, in chunks that end properly
    gzip-bomb         128 MiB of blanks in some 600 kB; bad-gzip: no gzip at all
    endless           a body of no declared length that does not end
    drip              a byte every 0.2 s; trickle: 1 kB every 0.1 s without
                      end; silent: nothing at all
    reset             the connection is reset; reset-body: after half the body
    big               3 MiB of good JSON
    deep              lists 200 levels deep; million: 10^6 numbers
    same              304 whatever was asked
    deprecated        203
    moved             301 to a relative address (/moved); moved-away: to another
                      host; moved-plain: to plain http elsewhere; moved-round:
                      to itself, for ever
    forbidden         403 with a page of HTML
    missing           404 with problem+json
    limit             429; limit-seconds, limit-date, limit-nonsense,
                      limit-far: with a Retry-After of 300 s, of a date 300 s
                      ahead, of "soon", of the year 2096
    broken            500 with a page of HTML
    overloaded        503 with {"error", "reason"}
    future            Last-Modified in a day; stale: Expires a day ago
    empty             204
    trailer           an answer in chunks with ETag and Expires as trailers
    noise             header lines of 200 kB

Log (--log): one JSON object a line and request, written before the answer:
    {"n", "at" (s), "address", "connection" (a number each), "in_flight"
     (requests under way at this address, this one counted), "method", "path",
     "query", "headers" (names in lower case)}
"""

import argparse
import email.utils
import functools
import gzip
import http.server
import json
import os
import re
import socket
import struct
import sys
import threading
import time
import zlib

ADDRESSES = ("127.0.0.1", "127.0.0.2", "127.0.0.3", "127.0.0.4")
SENTENCE = "Unexpected error while streaming data: timeoutReached"
PAGE = ("<!DOCTYPE html><html><head><title>Sign in</title></head>"
        "<body><h1>Sign in to this network</h1></body></html>")
DENIED = ("<HTML><HEAD><TITLE>Access Denied</TITLE></HEAD><BODY>"
          "<H1>Access Denied</H1></BODY></HTML>")
BROKEN = ("<html><head><title>500</title></head>"
          "<body><h1>Internal Server Error</h1></body></html>")
SMALL = '{"answer": [%s]}' % ", ".join(str(n) for n in range(200))


def http_date(seconds):
    return email.utils.formatdate(seconds, usegmt=True)


def problem(status, title):
    return {"status": status, "type": "application/problem+json",
            "body": json.dumps({"status": status, "title": title,
                                "detail": "The requested thing is not here."})}


def reason(status, words, headers=None):
    return {"status": status, "headers": headers or {},
            "body": json.dumps({"error": True, "reason": words})}


LIMIT = "Minutely API request limit exceeded. Please try again in one minute."

# Faults that are a reply like any other.
PLAIN = {
    "html": {"type": "text/html; charset=utf-8", "body": PAGE},
    "text": {"body": SENTENCE},
    "half-error": {"body": SMALL[:len(SMALL) // 2] + SENTENCE},
    "nan": {"body": '{"latitude":nan,"longitude":nan,"elevation":nan}'},
    "deep": {"body": "[" * 200 + "]" * 200},
    "million": {"body": "[" + ",".join(["0"] * 1000000) + "]"},
    "big": {"body": SMALL, "pad": 3 * 1024 * 1024 - len(SMALL)},
    "deprecated": {"status": 203, "body": SMALL,
                   "headers": {"Last-Modified": "{now-600}",
                               "Expires": "{now+1800}"}},
    "moved": {"status": 301, "headers": {"Location": "/moved"},
              "type": "application/problem+json", "body": "{}"},
    "moved-away": {"status": 301,
                   "headers": {"Location": "https://other.invalid/"}},
    "moved-plain": {"status": 302,
                    "headers": {"Location": "http://other.invalid/"}},
    "moved-round": {"status": 302,
                    "headers": {"Location": "/fault/moved-round"}},
    "same": {"status": 304, "headers": {"Cache-Control": "max-age=600"}},
    "forbidden": {"status": 403, "type": "text/html", "body": DENIED},
    "missing": problem(404, "Not Found"),
    "limit": reason(429, LIMIT),
    "limit-seconds": reason(429, LIMIT, {"Retry-After": "300"}),
    "limit-date": reason(429, LIMIT, {"Retry-After": "{now+300}"}),
    "limit-nonsense": reason(429, LIMIT, {"Retry-After": "soon"}),
    "limit-far": reason(429, LIMIT,
                        {"Retry-After": "Wed, 01 Feb 2096 00:00:00 GMT"}),
    "broken": {"status": 500, "type": "text/html", "body": BROKEN},
    "overloaded": reason(503, "The service is overloaded"),
    "future": {"body": SMALL, "conditional": True,
               "headers": {"Last-Modified": "{now+86400}"}},
    "stale": {"body": SMALL, "headers": {"Expires": "{now-86400}"}},
    "empty": {"status": 204},
    "noise": {"body": SMALL, "headers": {"X-Noise": "n" * 60000,
                                         "X-Noise-2": "n" * 60000,
                                         "X-Noise-3": "n" * 60000,
                                         "X-Noise-4": "n" * 20000}},
}


@functools.lru_cache(maxsize=1)
def bomb():
    packer = zlib.compressobj(1, zlib.DEFLATED, 31)
    block = b" " * (1 << 20)
    return b"".join([packer.compress(block) for _ in range(128)] +
                    [packer.flush()])


class Site:
    """What all connections share."""

    def __init__(self, options):
        self.lock = threading.Lock()
        self.scenario = {}
        if options.scenario:
            with open(options.scenario, encoding="utf-8") as file:
                self.scenario = json.load(file)
        self.folder = options.folder
        self.fixed_now = options.now
        self.log = open(options.log, "a", encoding="utf-8") \
            if options.log else None
        self.requests = 0
        self.connections = 0
        self.in_flight = {}
        self.served = {}

    def now(self):
        return self.fixed_now if self.fixed_now is not None else time.time()

    def entry(self, path):
        """The name of the scenario's entry for a path, or None."""
        fitting = [name for name in self.scenario
                   if name == path or
                   (name.endswith("*") and path.startswith(name[:-1]))]
        return max(fitting, key=len) if fitting else None

    def reply(self, path):
        name = self.entry(path)
        if name is None:
            match = re.fullmatch(r"/fault/([a-z-]+)", path)
            return {"fault": match.group(1)} if match \
                else problem(404, "Not Found")
        with self.lock:
            turn = self.served.get(name, 0)
            self.served[name] = turn + 1
        for reply in self.scenario[name]:
            turn -= reply.get("times", 1)
            if turn < 0:
                return reply
        return self.scenario[name][-1]

    def note(self, handler):
        with self.lock:
            self.requests += 1
            path, _, query = handler.path.partition("?")
            line = {"n": self.requests, "at": round(time.monotonic(), 3),
                    "address": handler.address,
                    "connection": handler.connection_number,
                    "in_flight": self.in_flight[handler.address],
                    "method": handler.command, "path": path, "query": query,
                    "headers": {name.lower(): value for name, value
                                in handler.headers.items()}}
            if self.log:
                self.log.write(json.dumps(line) + "\n")
                self.log.flush()

    def under_way(self, address, change):
        with self.lock:
            self.in_flight[address] = self.in_flight.get(address, 0) + change

    def file(self, name):
        root = os.path.realpath(self.folder or ".")
        path = os.path.realpath(os.path.join(root, name))
        if os.path.commonpath([root, path]) != root:
            raise OSError("outside of the folder: " + name)
        with open(path, "rb") as file:
            return file.read()


class Handler(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server_version = "faults"
    sys_version = ""

    def setup(self):
        super().setup()
        self.site = self.server.site
        self.address = self.server.server_address[0]
        with self.site.lock:
            self.site.connections += 1
            self.connection_number = self.site.connections

    def log_message(self, *_):
        pass

    def do_GET(self):
        self.site.under_way(self.address, 1)
        try:
            self.site.note(self)
            self.serve(self.site.reply(self.path.partition("?")[0]))
        except (BrokenPipeError, ConnectionResetError):
            self.close_connection = True
        finally:
            self.site.under_way(self.address, -1)

    def serve(self, reply):
        time.sleep(reply.get("delay_s", 0))
        fault = reply.get("fault")
        if fault in PLAIN:
            merged = dict(PLAIN[fault], **reply)
            merged["headers"] = dict(PLAIN[fault].get("headers", {}),
                                     **reply.get("headers", {}))
            self.plain(merged)
        elif fault:
            getattr(self, "fault_" + fault.replace("-", "_"),
                    self.fault_unknown)(reply)
        else:
            self.plain(reply)

    # -- parts of an answer

    def body(self, reply):
        if "file" in reply:
            body = self.site.file(reply["file"])
        else:
            host = "%s:%d" % self.server.server_address[:2]
            body = reply.get("body", SMALL).replace("{host}", host)
            body = body.encode("utf-8")
        return body + b" " * reply.get("pad", 0)

    def header_values(self, reply):
        def date(match):
            return http_date(self.site.now() + int(match.group(1)))

        kind = "application/geo+json" \
            if reply.get("file", "").endswith(".geojson") \
            else "application/json"
        values = {"Date": "{now+0}", "Content-Type": reply.get("type", kind)}
        values.update(reply.get("headers", {}))
        host = "%s:%d" % self.server.server_address[:2]
        return {name: re.sub(r"\{now([+-]\d+)\}", date,
                             value.replace("{host}", host))
                for name, value in values.items() if value is not None}

    def head(self, status, values):
        self.send_response_only(status)
        for name, value in values.items():
            self.send_header(name, value)
        if values.get("Connection") == "close":
            self.close_connection = True
        self.end_headers()

    def unchanged(self, values):
        return any(values.get(ours) is not None and
                   self.headers.get(theirs) == values[ours]
                   for ours, theirs in (("ETag", "If-None-Match"),
                                        ("Last-Modified",
                                         "If-Modified-Since")))

    def plain(self, reply):
        status, values = reply.get("status", 200), self.header_values(reply)
        if reply.get("conditional") and self.unchanged(values):
            status = 304
        if status in (204, 304):
            values.pop("Content-Type", None)
            self.head(status, values)
            return
        body = self.body(reply)
        if reply.get("gzip") and \
                "gzip" in self.headers.get("Accept-Encoding", ""):
            body = gzip.compress(body)
            values["Content-Encoding"] = "gzip"
        values["Content-Length"] = str(len(body))
        self.head(status, values)
        self.wfile.write(body)

    def chunk(self, data):
        self.wfile.write(b"%x\r\n%s\r\n" % (len(data), data))

    # -- faults below the level of a reply

    def fault_unknown(self, reply):
        self.plain({"status": 501, "body": "no such fault: %s"
                    % reply.get("fault")})

    def fault_cut(self, reply):
        body = self.body(reply)
        self.head(200, dict(self.header_values(reply), Connection="close",
                            **{"Content-Length": str(len(body))}))
        self.wfile.write(body[:len(body) // 2])

    def fault_cut_packed(self, reply):
        body = gzip.compress(os.urandom(4096).hex().encode())
        self.head(200, dict(self.header_values(reply),
                            **{"Transfer-Encoding": "chunked",
                               "Content-Encoding": "gzip"}))
        self.chunk(body[:len(body) // 2])
        self.chunk(b"")

    def fault_bad_gzip(self, reply):
        body = self.body(reply)
        self.head(200, dict(self.header_values(reply),
                            **{"Content-Length": str(len(body)),
                               "Content-Encoding": "gzip"}))
        self.wfile.write(body)

    def fault_gzip_bomb(self, reply):
        body = bomb()
        self.head(200, dict(self.header_values(reply),
                            **{"Content-Length": str(len(body)),
                               "Content-Encoding": "gzip"}))
        self.wfile.write(body)

    def fault_endless(self, reply):
        self.head(reply.get("status", 200),
                  dict(self.header_values(reply), Connection="close"))
        while True:
            self.wfile.write(b"[0,0,0,0,0,0,0,0,0,0,0,0,0,0,0],\n" * 2048)

    def fault_drip(self, reply):
        body = self.body(reply)
        self.head(200, dict(self.header_values(reply),
                            **{"Content-Length": str(len(body))}))
        for byte in body:
            self.wfile.write(bytes((byte,)))
            self.wfile.flush()
            time.sleep(0.2)

    def fault_trickle(self, reply):
        self.head(200, dict(self.header_values(reply), Connection="close"))
        while True:
            self.wfile.write(b" " * 1024)
            self.wfile.flush()
            time.sleep(0.1)

    def fault_silent(self, _reply):
        self.close_connection = True
        while self.connection.recv(4096):
            pass

    def abort(self):
        """Closes with a reset: nothing lingers (SO_LINGER of 0 s)."""
        self.close_connection = True
        self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER,
                                   struct.pack("ii", 1, 0))
        self.connection.shutdown(socket.SHUT_RD)
        self.connection.close()

    def fault_reset(self, _reply):
        self.abort()

    def fault_reset_body(self, reply):
        body = self.body(reply)
        self.head(200, dict(self.header_values(reply),
                            **{"Content-Length": str(len(body))}))
        self.wfile.write(body[:len(body) // 2])
        time.sleep(0.1)
        self.abort()

    def fault_trailer(self, reply):
        self.head(200, dict(self.header_values(reply),
                            **{"Transfer-Encoding": "chunked",
                               "Trailer": "ETag, Expires"}))
        self.chunk(self.body(reply))
        self.wfile.write(b'0\r\nETag: "late"\r\nExpires: %s\r\n\r\n'
                         % http_date(self.site.now() + 86400).encode())


class Server(http.server.ThreadingHTTPServer):
    daemon_threads = True
    request_queue_size = 64

    def handle_error(self, *_):
        pass  # a client that goes away is what the tests are about


def listen(site, port):
    """One server an address, all on one port."""
    for _ in range(50):
        servers = []
        try:
            for address in ADDRESSES:
                use = servers[0].server_address[1] if servers else port
                servers.append(Server((address, use), Handler))
                servers[-1].site = site
            return servers
        except OSError:
            for server in servers:
                server.server_close()
            if port:
                raise
    raise OSError("no port is free on all of " + ", ".join(ADDRESSES))


def main():
    parser = argparse.ArgumentParser(description="faulty weather services")
    parser.add_argument("--scenario")
    parser.add_argument("--folder")
    parser.add_argument("--log")
    parser.add_argument("--now", type=int, help="a fixed clock, UTC seconds")
    parser.add_argument("--port", type=int, default=0)
    parser.add_argument("--watch-stdin", action="store_true")
    options = parser.parse_args()
    servers = listen(Site(options), options.port)
    threads = [threading.Thread(target=server.serve_forever, daemon=True)
               for server in servers]
    for thread in threads:
        thread.start()
    print("port %d" % servers[0].server_address[1], flush=True)
    if options.watch_stdin:
        while sys.stdin.buffer.read(1):
            pass
    else:
        threads[0].join()


if __name__ == "__main__":
    main()
