"""The server under test, and requests as raw bytes."""
import hashlib
import os
import resource
import socket
import subprocess


def many_files():
    """As many descriptors as the machine gives; how many."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (hard, hard))
    return hard


class Server:
    def __init__(self, program, folder, listen="127.0.0.1:0", connections=0,
                 request_ms=0, threads=0, **how):
        self.program, self.folder = program, folder
        self.errors = open(os.path.join(folder, "errors"), "w+")
        self.process = subprocess.Popen(
            [program, folder, listen, str(connections), str(request_ms),
             str(threads)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            stderr=self.errors, text=True, **how)
        self.port = int(self.process.stdout.readline())
        self.host = "::1" if listen.startswith("[") else "127.0.0.1"
        with open(os.path.join(folder, "token")) as file:
            self.token = file.read().strip()

    def make(self, minutes):
        subprocess.run([self.program, "--make", self.folder, str(minutes)],
                       check=True)

    def say(self, words):
        self.process.stdin.write(words + "\n")
        self.process.stdin.flush()
        return self.process.stdout.readline().strip()

    def stop(self):
        self.process.stdin.close()
        status = self.process.wait(20)
        self.errors.seek(0)
        said = self.errors.read()
        self.errors.close()
        return status, said

    def connect(self, timeout=10):
        return socket.create_connection((self.host, self.port), timeout)

    def raw(self, request, timeout=10):
        """All that comes until the server closes, or nothing comes."""
        with self.connect(timeout) as connection:
            try:
                connection.sendall(request)
            except (BrokenPipeError, ConnectionResetError):
                pass
            return read_all(connection)

    def ask(self, path, method="GET", headers=(), body=b"", version="1.1"):
        lines = [f"{method} {path} HTTP/{version}", "Host: localhost",
                 "Connection: close", *headers]
        if body:
            lines.append(f"Content-Length: {len(body)}")
        return Answer(self.raw("\r\n".join(lines).encode() + b"\r\n\r\n" +
                               body))

    def known(self, name, **more):
        return self.ask(f"/{self.token}/{name}", **more)


def read_all(connection):
    got = b""
    while True:
        try:
            part = connection.recv(65536)
        except (ConnectionResetError, TimeoutError):
            break
        if not part:
            break
        got += part
    return got


class Answer:
    def __init__(self, raw):
        head, _, self.body = raw.partition(b"\r\n\r\n")
        lines = head.decode("latin-1").split("\r\n")
        words = lines[0].split(" ")
        self.status = int(words[1]) if len(words) > 1 else 0
        self.headers = {}
        for line in lines[1:]:
            name, _, value = line.partition(":")
            self.headers[name.lower()] = value.strip()

    def get(self, name):
        return self.headers.get(name.lower())


def tag_of(body):
    """How the server names the bytes."""
    return hashlib.sha256(body).hexdigest()[:32]
