"""thawbelld serves and sends what is published: before its first turn, through
a reload, to its end.

usage: check_daemon.py SERVE_FOLDER THAWBELLD
"""
import http.server
import os
import re
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "support"))

from checks import check, finish, free_port  # noqa: E402

CONFIG = """[operation]
name = Tamarack Bend
time zone = America/New_York
[bush north]
latitude = 45.06
longitude = -71.90
elevation = 450 m
taps = 140
[sources]
use = open-meteo
open-meteo url = http://127.0.0.1:1
contact = operator@example.org
[calendar]
publish = {folder}/public
listen = 127.0.0.1:{port}
address = https://sap.example.org/x
upload = http://127.0.0.1:{host}/dav/
upload user = ann
upload password file = {folder}/password
"""


def told_secrets_that_are_none(daemon, folder, environment):
    """By check, before the daemon refuses them."""
    os.makedirs(f"{folder}/state", exist_ok=True)
    for name, bytes_ in (("state/tamarack-bend.token", "too-short\n"),
                         ("empty", "\n")):
        with open(f"{folder}/{name}", "w") as file:
            file.write(bytes_)
        os.chmod(f"{folder}/{name}", 0o600)
    with open(f"{folder}/bend.conf") as file:
        before = file.read()
    with open(f"{folder}/bend.conf", "w") as file:
        file.write(before.replace("/password", "/empty"))
    words = told(daemon, folder, environment)
    check("a token that is none is told, not shown",
          "/too-short/" not in words and "a secret path is 22 to 128 letters"
          in words, words)
    check("an empty password is told",
          f"{folder}/empty holds no secret: one line is expected" in words,
          words)
    with open(f"{folder}/bend.conf", "w") as file:
        file.write(before)
    os.remove(f"{folder}/state/tamarack-bend.token")


class Host(http.server.BaseHTTPRequestHandler):
    files, refusals = {}, 1

    def do_PUT(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        if Host.refusals > 0:
            Host.refusals -= 1
            self.send_response(503)
        else:
            Host.files[self.path.removesuffix(".part")] = body
            self.send_response(201)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def do_MOVE(self):
        self.send_response(204)
        self.end_headers()

    def log_message(self, *_):
        pass


def get(port, path):
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/{path}",
                                    timeout=5) as answer:
            return answer.status, answer.read()
    except urllib.error.HTTPError as error:
        return error.code, b""
    except OSError:
        return 0, b""


def until(what, seconds=20):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if what():
            return True
        time.sleep(0.1)
    return False


def write_config(folder, port, host):
    with open(f"{folder}/bend.conf", "w") as file:
        file.write(CONFIG.format(folder=folder, port=port, host=host))


def told(daemon, folder, environment):
    """What --check says, as `thawbell check` does."""
    done = subprocess.run([daemon, "--check", "-c", f"{folder}/bend.conf"],
                          env=environment, capture_output=True, text=True)
    return done.stdout


def live(folder, maker, daemon):
    public = f"{folder}/public/tamarack-bend"
    os.makedirs(public)
    subprocess.run([maker, "--make", public, "0"], check=True)
    with open(f"{folder}/password", "w") as file:
        file.write("s3cret-word\n")
    os.chmod(f"{folder}/password", 0o600)
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Host)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    host, port, other = server.server_address[1], free_port(), free_port()
    write_config(folder, port, host)
    environment = dict(os.environ, STATE_DIRECTORY=f"{folder}/state")
    words = told(daemon, folder, environment)
    check("the secret is still to come",
          f"served at     http://127.0.0.1:{port}/SECRET/, its secret is made "
          "when thawbelld first starts\n" in words, words)
    told_secrets_that_are_none(daemon, folder, environment)
    log = open(f"{folder}/log", "w+")
    process = subprocess.Popen([daemon, "-v", "-c", f"{folder}/bend.conf"],
                               stderr=log, env=environment)
    check("a token file is made", until(lambda: os.path.exists(
        f"{folder}/state/tamarack-bend.token")))
    with open(f"{folder}/state/tamarack-bend.token") as file:
        token = file.read().strip()
    check("served before the first turn", until(
        lambda: get(port, f"{token}/calendar.ics")[0] == 200))
    with open(f"{public}/calendar.ics", "rb") as file:
        check("the bytes published", get(port, f"{token}/calendar.ics")[1] ==
              file.read())
    words = told(daemon, folder, environment)
    check("the address of the feed is told",
          f"subscribe to  http://127.0.0.1:{port}/{token}/calendar.ics\n"
          in words, words)
    check("and that of the page",
          f"served at     http://127.0.0.1:{port}/{token}/\n" in words and
          "page          https://sap.example.org/x/\n" in words, words)
    for name in ("mail.json", "logbook.json"):
        with open(f"{public}/{name}", "w") as file:
            file.write("{}")
        check(f"{name} is not served", get(port, f"{token}/{name}")[0] == 404)
    check("a refusal is told", until(lambda: "answers 503" in open(
        f"{folder}/log").read()))
    write_config(folder, other, host)
    process.send_signal(signal.SIGHUP)
    check("a reload moves the server", until(
        lambda: get(other, f"{token}/calendar.ics")[0] == 200))
    check("and leaves the old address", until(
        lambda: get(port, f"{token}/calendar.ics")[0] == 0))
    check("what was refused is sent", until(
        lambda: set(Host.files) == {"/dav/calendar.ics", "/dav/bulletin.json",
                                    "/dav/index.html"}), Host.files.keys())
    process.send_signal(signal.SIGTERM)
    check("ends well", process.wait(20) == 0)
    log.seek(0)
    said = log.read()
    log.close()
    check("no secret in the log", token not in said and "s3cret" not in said,
          said)
    check("the log says where", re.search(
        rf"served on 127.0.0.1:{port} under /{token[:4]}\.\.\./", said), said)


def early_reader(folder, daemon):
    """Who connects to the service manager's socket before the daemon runs is
    answered with what is published, not with 404."""
    with open(f"{folder}/state/tamarack-bend.token") as file:
        token = file.read().strip()
    listening = socket.create_server(("127.0.0.1", 0))
    os.set_inheritable(listening.fileno(), True)
    reader = socket.create_connection(listening.getsockname(), 20)
    reader.sendall(f"GET /{token}/calendar.ics HTTP/1.0\r\n\r\n".encode())
    words = (f'exec 3<&{listening.fileno()}; LISTEN_PID=$$ LISTEN_FDS=1 '
             'exec "$@"')
    process = subprocess.Popen(
        ["sh", "-c", words, "sh", daemon, "-c", f"{folder}/bend.conf"],
        pass_fds=[listening.fileno()], stderr=subprocess.PIPE, text=True,
        env=dict(os.environ, STATE_DIRECTORY=f"{folder}/state"))
    answer = reader.recv(20)
    check("an early reader", b" 200 " in answer, answer)
    reader.close()
    listening.close()
    process.send_signal(signal.SIGTERM)
    said = process.communicate(timeout=20)[1]
    check("ends well again", process.returncode == 0)
    check("the log names the socket", "the service manager's socket under "
          f"/{token[:4]}.../" in said, said)


def main():
    with tempfile.TemporaryDirectory() as folder:
        live(folder, os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2]))
        early_reader(folder, os.path.abspath(sys.argv[2]))
    finish(18)


main()
