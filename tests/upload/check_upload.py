"""Uploads to hosts of other makes: nginx's WebDAV, OpenSSH's SFTP server, and
a server of our own that knows PUT alone or is in trouble.

usage: check_upload.py UPLOAD_ONCE
"""
import asyncio
import base64
import hashlib
import http.server
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time

import asyncssh

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "support"))

from checks import check, finish, free_port  # noqa: E402

USER, PASSWORD = "ann", "s3cret-word: with colon"
NAMES = ["calendar.ics", "bulletin.json", "index.html"]


class Bench:
    """What is published, the password and the memory of one case."""

    def __init__(self, program, folder):
        self.program, self.folder = program, folder
        self.public = os.path.join(folder, "public")
        self.memory = os.path.join(folder, "memory.json")
        self.password = os.path.join(folder, "password")
        shutil.rmtree(folder, ignore_errors=True)
        os.makedirs(self.public)
        for name in NAMES:
            self.write(name, f"{name}, first\n" * 3000)
        with open(self.password, "w") as file:
            file.write(PASSWORD + "\n")
        os.chmod(self.password, 0o600)

    def write(self, name, words):
        with open(os.path.join(self.public, name), "w") as file:
            file.write(words)

    def read(self, name):
        with open(os.path.join(self.public, name), "rb") as file:
            return file.read()

    def send(self, url, user=USER, key="-", password=None):
        done = subprocess.run(
            [self.program, url, user, password or
             (self.password if user != "-" else "-"), key, self.public,
             self.memory], capture_output=True, text=True, timeout=120)
        said = done.stdout + done.stderr
        check("no secret is told", PASSWORD not in said and
              "s3cret" not in said, said)
        check("no path is told", "/dav" not in said or "-w" in said, said)
        return done.returncode, done.stdout


class Dav(http.server.BaseHTTPRequestHandler):
    """A host that knows PUT (and MOVE, if told so), with troubles."""
    protocol_version = "HTTP/1.1"

    def answer(self, status, headers=()):
        self.send_response(status)
        for name, value in headers:
            self.send_header(name, value)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def handle_any(self):
        server = self.server
        length = int(self.headers.get("Content-Length") or 0)
        if server.drops > 0 and self.command == "PUT":
            server.drops -= 1
            self.rfile.read(min(length, 1000))
            self.connection.shutdown(socket.SHUT_RDWR)
            self.close_connection = True
            return
        body = self.rfile.read(length)
        server.log.append((self.command, self.path))
        expected = "Basic " + base64.b64encode(
            f"{USER}:{PASSWORD}".encode()).decode()
        if self.headers.get("Authorization") != expected:
            self.answer(401, [("WWW-Authenticate", 'Basic realm="x"')])
        elif server.status:
            self.answer(server.status, [("Location", "http://127.0.0.1:1/")])
        elif self.command == "PUT":
            server.files[self.path] = body
            self.answer(201)
        elif self.command == "MOVE" and server.moves:
            target = self.headers["Destination"].split("/", 3)[3]
            server.files["/" + target] = server.files.pop(self.path)
            self.answer(204)
        elif self.command == "DELETE":
            server.files.pop(self.path, None)
            self.answer(204)
        else:
            self.answer(405)

    do_PUT = do_MOVE = do_DELETE = do_POST = do_GET = handle_any

    def log_message(self, *_):
        pass


def dav_server(moves):
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Dav)
    server.log, server.files, server.status = [], {}, 0
    server.drops, server.moves = 0, moves
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server, f"http://127.0.0.1:{server.server_address[1]}/dav/"


def plain_put(bench):
    """PUT alone: each file in its place, no leavings, the index last."""
    server, url = dav_server(False)
    code, said = bench.send(url)
    check("PUT alone", code == 0 and said == "sent 3, unchanged 0\n", said)
    check("PUT alone: the files", server.files == {
        f"/dav/{name}": bench.read(name) for name in NAMES},
        sorted(server.files))
    server.shutdown()


def with_moves(bench):
    server, url = dav_server(True)
    code, said = bench.send(url)
    check("MOVE", code == 0 and said == "sent 3, unchanged 0\n", said)
    done = [path for command, path in server.log if command == "MOVE"]
    check("each file whole, the index last", done == [
        f"/dav/{name}.part" for name in NAMES], done)
    check("nothing is written in place", not any(
        command == "PUT" and not path.endswith(".part")
        for command, path in server.log), server.log)
    before = len(server.log)
    code, said = bench.send(url)
    check("nothing changed, nothing sent", code == 0 and
          said == "sent 0, unchanged 3\n" and len(server.log) == before, said)
    bench.write("bulletin.json", "changed\n")
    code, said = bench.send(url)
    check("what changed is sent", said == "sent 1, unchanged 2\n" and
          server.files["/dav/bulletin.json"] == b"changed\n", said)
    code, said = bench.send(url + "other/")
    check("another folder gets all", said == "sent 3, unchanged 0\n", said)
    os.remove(bench.memory)
    with open(bench.memory, "w") as file:
        file.write("{broken")
    code, said = bench.send(url)
    check("a broken memory sends all", said == "sent 3, unchanged 0\n", said)
    os.remove(os.path.join(bench.public, "bulletin.json"))
    bench.write("index.html", "new")
    code, said = bench.send(url)
    check("a missing file is passed over", code == 0 and
          said == "sent 1, unchanged 1\n", said)
    server.shutdown()


def in_trouble(bench):
    server, url = dav_server(True)
    host = url.split("/")[2]
    for status, words in ((503, "it is in trouble itself"),
                          (507, "its disk is full"),
                          (403, "it does not let the login write there"),
                          (409, "there is no such folder"),
                          (302, "the folder has moved; write its new address"),
                          (418, "it refuses")):
        server.status = status
        code, said = bench.send(url)
        check(f"{status} is told", code == 1 and
              f"calendar.ics was not sent: {host} answers {status}: {words}"
              in said, said)
    server.status = 0
    server.drops = 1
    code, said = bench.send(url)
    check("a broken connection is told", code == 1 and host in said, said)
    check("nothing half is there", server.files == {}, server.files.keys())
    code, said = bench.send(url)
    check("the next try sends all", code == 0 and
          said == "sent 3, unchanged 0\n", said)
    server.log.clear()
    bench.write("bulletin.json", "again")
    bench.write("index.html", "again")
    server.drops = 1
    code, said = bench.send(url)
    check("a stop on the way keeps the index back", code == 1 and
          server.files["/dav/index.html"] != b"again", said)
    code, said = bench.send(url)
    check("and the rest follows", said == "sent 2, unchanged 1\n", said)
    with open(bench.password, "w") as file:
        file.write("wrong\n")
    bench.write("index.html", "third")
    code, said = bench.send(url)
    check("a wrong password is told", code == 1 and
          "answers 401: the login is refused" in said, said)
    os.chmod(bench.password, 0o644)
    code, said = bench.send(url)
    check("a password that others may read is refused", code == 1 and
          "others may read it" in said, said)
    server.shutdown()
    server.server_close()
    os.chmod(bench.password, 0o600)
    code, said = bench.send(url)
    check("a host that is not there is told", code == 1 and host in said, said)


NGINX = """
worker_processes 1;
pid {folder}/nginx.pid;
error_log {folder}/nginx.log;
{user}
events {{ worker_connections 64; }}
http {{
    access_log {folder}/access.log;
    client_body_temp_path {folder}/temporary;
    proxy_temp_path {folder}; fastcgi_temp_path {folder};
    uwsgi_temp_path {folder}; scgi_temp_path {folder};
    server {{
        listen 127.0.0.1:{port};
        root {folder}/root;
        location /dav/ {{
            auth_basic "dav";
            auth_basic_user_file {folder}/users;
            dav_methods PUT DELETE MOVE;
        }}
    }}
}}
"""


def nginx(bench):
    folder, port = bench.folder, free_port()
    root = os.path.join(folder, "root", "dav")
    os.makedirs(root)
    hashed = "{SSHA}" + base64.b64encode(hashlib.sha1(
        PASSWORD.encode() + b"salt").digest() + b"salt").decode()
    with open(os.path.join(folder, "users"), "w") as file:
        file.write(f"{USER}:{hashed}\n")
    with open(os.path.join(folder, "nginx.conf"), "w") as file:
        file.write(NGINX.format(folder=folder, port=port, user="user root;"
                                if os.geteuid() == 0 else ""))
    process = subprocess.Popen(
        ["/usr/sbin/nginx", "-c", f"{folder}/nginx.conf", "-e",
         f"{folder}/nginx.log", "-g", "daemon off;"])
    for _ in range(50):
        if os.path.exists(f"{folder}/nginx.pid"):
            break
        time.sleep(0.1)
    url = f"http://127.0.0.1:{port}/dav/"
    code, said = bench.send(url)
    check("nginx", code == 0 and said == "sent 3, unchanged 0\n", said)
    bench.write("index.html", "second")
    code, said = bench.send(url)
    check("nginx, again", said == "sent 1, unchanged 2\n", said)
    for name in NAMES:
        with open(os.path.join(root, name), "rb") as file:
            check(f"nginx has {name}", file.read() == bench.read(name))
    check("nginx: no leavings", sorted(os.listdir(root)) == sorted(NAMES),
          os.listdir(root))
    code, said = bench.send(f"http://127.0.0.1:{port}/dav/none/")
    check("nginx: a folder that is not there", code == 1 and
          f"127.0.0.1:{port} answers " in said, said)
    process.terminate()
    process.wait()


class Login(asyncssh.SSHServer):
    def begin_auth(self, _):
        return True

    def password_auth_supported(self):
        return True

    def validate_password(self, username, password):
        Login.tries.append(username)
        return username == USER and password == PASSWORD

    def session_requested(self):
        return Files()

    tries = []


class Files(asyncssh.SSHServerSession):
    """A session is OpenSSH's own SFTP server."""

    def connection_made(self, channel):
        self.channel = channel

    def subsystem_requested(self, subsystem):
        return subsystem == "sftp"

    def session_started(self):
        self.child = subprocess.Popen(
            ["/usr/lib/openssh/sftp-server"], stdin=subprocess.PIPE,
            stdout=subprocess.PIPE, bufsize=0)
        loop = asyncio.get_running_loop()
        threading.Thread(target=self.pass_on, args=[loop],
                         daemon=True).start()

    def pass_on(self, loop):
        while part := self.child.stdout.read(65536):
            loop.call_soon_threadsafe(self.channel.write, part)
        loop.call_soon_threadsafe(self.channel.exit, 0)

    def data_received(self, data, _):
        self.child.stdin.write(data)

    def eof_received(self):
        self.child.stdin.close()
        return True

    def connection_lost(self, _):
        self.child.stdin.close()
        self.child.wait()


def ssh_server():
    """Port and the SHA-256 of its key, in a thread."""
    ready = threading.Event()
    told = {}

    async def run():
        key = asyncssh.generate_private_key("ssh-ed25519")
        server = await asyncssh.create_server(
            Login, "127.0.0.1", 0, server_host_keys=[key],
            encoding=None)
        told["port"] = server.sockets[0].getsockname()[1]
        told["key"] = key.get_fingerprint().removeprefix("SHA256:")
        ready.set()
        await asyncio.Event().wait()

    threading.Thread(target=lambda: asyncio.run(run()), daemon=True).start()
    ready.wait(20)
    return told["port"], told["key"]


def sftp(bench):
    port, key = ssh_server()
    root = os.path.join(bench.folder, "sftp folder-w")
    os.mkdir(root)
    url = f"sftp://127.0.0.1:{port}{root.replace(' ', '%20')}/"
    code, said = bench.send(url, key=key)
    check("SFTP", code == 0 and said == "sent 3, unchanged 0\n", said)
    bench.write("calendar.ics", "second")
    code, said = bench.send(url, key=key)
    check("SFTP, over a file that is there",
          code == 0 and said == "sent 1, unchanged 2\n", said)
    for name in NAMES:
        with open(os.path.join(root, name), "rb") as file:
            check(f"SFTP has {name}", file.read() == bench.read(name))
    check("SFTP: no leavings", sorted(os.listdir(root)) == sorted(NAMES),
          os.listdir(root))
    bench.write("calendar.ics", "third")
    Login.tries.clear()
    code, said = bench.send(url, key="A" * 43)
    check("another key is told", code == 1 and
          "it shows another key than upload host key says" in said, said)
    check("no login at a stranger's", Login.tries == [], Login.tries)
    code, said = bench.send(url)
    check("no key, no login", code == 1 and
          "sftp needs a login and the host's key" in said, said)
    code, said = bench.send(url, user="eve", key=key)
    check("SFTP: a wrong login", code == 1 and "the login is refused" in said,
          said)
    code, said = bench.send(url + "none/", key=key)
    check("SFTP: a folder that is not there", code == 1, said)
    code, said = bench.send(url, key=key)
    check("SFTP: the next try", said == "sent 1, unchanged 2\n", said)


def main():
    program = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)
        for case in (plain_put, with_moves, in_trouble, nginx, sftp):
            case(Bench(program, os.path.join(folder, case.__name__)))
    finish(80)


main()
