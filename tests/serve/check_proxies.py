"""The proxies of contrib/proxy before the server: their configuration is
taken, and answers come through as they were sent.

usage: check_proxies.py SERVE_FOLDER CONTRIB_PROXY
"""
import gzip
import os
import shutil
import socket
import ssl
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "support"))

from checks import check, finish, free_port, needs  # noqa: E402
from server import Answer, Server, read_all, tag_of  # noqa: E402


def ask(port, path, tls, headers=(), method="GET"):
    request = "\r\n".join([f"{method} {path} HTTP/1.1",
                           "Host: sap.example.org", "Connection: close",
                           *headers]).encode() + b"\r\n\r\n"
    with socket.create_connection(("127.0.0.1", port), 10) as plain:
        if not tls:
            plain.sendall(request)
            return Answer(read_all(plain))
        context = ssl.create_default_context()
        context.check_hostname = False
        context.verify_mode = ssl.CERT_NONE
        with context.wrap_socket(plain) as wrapped:
            wrapped.sendall(request)
            return Answer(read_all(wrapped))


def wait_for(port):
    for _ in range(100):
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            time.sleep(0.1)


def through(name, server, port, tls):
    path = f"/{server.token}/calendar.ics"
    direct = server.known("calendar.ics")
    got = ask(port, path, tls)
    check(f"{name}: the feed", got.status == 200 and got.body == direct.body,
          got.status)
    check(f"{name}: its tag", got.get("etag") == f'"{tag_of(got.body)}"',
          got.get("etag"))
    for header in ("last-modified", "cache-control", "x-robots-tag",
                   "content-security-policy", "referrer-policy", "vary",
                   "content-type"):
        check(f"{name}: {header}", got.get(header) == direct.get(header),
              got.get(header))
    check(f"{name}: strict transport", "max-age" in
          (got.get("strict-transport-security") or ""))
    packed = ask(port, path, tls, ["Accept-Encoding: gzip"])
    check(f"{name}: compressed by the server", packed.get("etag").endswith(
        '-gz"') and gzip.decompress(packed.body) == direct.body,
        packed.headers)
    for tag in (got.get("etag"), packed.get("etag")):
        again = ask(port, path, tls, [f"If-None-Match: {tag}",
                                      "Accept-Encoding: gzip"
                                      if "-gz" in tag else "X-Other: y"])
        check(f"{name}: {tag} again", again.status == 304 and
              again.body == b"", again.status)
    check(f"{name}: a stranger", ask(port, "/calendar.ics", tls).status == 404)
    check(f"{name}: %00", ask(port, path + "%00", tls).status in (400, 404))
    check(f"{name}: out of the folder", ask(
        port, f"/{server.token}/../../etc/passwd", tls).status in (400, 404))
    check(f"{name}: POST", ask(port, path, tls, ["Content-Length: 0"],
                               "POST").status == 405)


def nginx(server, folder, example):
    port, plain = free_port(), free_port()
    subprocess.run(["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes",
                    "-days", "2", "-subj", "/CN=sap.example.org", "-keyout",
                    f"{folder}/key.pem", "-out", f"{folder}/cert.pem"],
                   check=True, capture_output=True)
    with open(f"{example}/nginx.conf") as file:
        site = file.read()
    for old, new in (("listen 80;", f"listen 127.0.0.1:{plain};"),
                     ("listen [::]:80;", ""), ("listen [::]:443 ssl http2;", ""),
                     ("listen 443 ssl", f"listen 127.0.0.1:{port} ssl"),
                     ("/etc/ssl/sap.example.org.pem", f"{folder}/cert.pem"),
                     ("/etc/ssl/private/sap.example.org.key",
                      f"{folder}/key.pem"),
                     ("/var/log/nginx/", f"{folder}/"),
                     ("127.0.0.1:8420", f"127.0.0.1:{server.port}")):
        check(f"the example says {old}", old in site)
        site = site.replace(old, new)
    with open(f"{folder}/nginx.conf", "w") as file:
        file.write(f"pid {folder}/pid; error_log {folder}/log;\nevents {{}}\n"
                   f"http {{ client_body_temp_path {folder}; proxy_temp_path "
                   f"{folder}; fastcgi_temp_path {folder}; uwsgi_temp_path "
                   f"{folder}; scgi_temp_path {folder};\n{site}}}\n")
    process = subprocess.Popen(["/usr/sbin/nginx", "-c", f"{folder}/nginx.conf",
                                "-e", f"{folder}/log", "-g", "daemon off;"])
    wait_for(port)
    through("nginx", server, port, True)
    moved = ask(plain, f"/{server.token}/", False)
    check("nginx: http goes to https", moved.status == 301 and
          moved.get("location").startswith("https://"), moved.headers)
    process.terminate()
    process.wait()
    for name in os.listdir(folder):
        path = os.path.join(folder, name)
        if os.path.isfile(path) and name not in ("token",):
            with open(path, "rb") as file:
                check(f"nginx: no token in {name}",
                      server.token.encode() not in file.read())


def caddy(server, folder, example):
    port, admin = free_port(), free_port()
    with open(f"{example}/Caddyfile") as file:
        site = file.read()
    check("Caddy takes the example", subprocess.run(
        ["caddy", "validate", "--config", f"{example}/Caddyfile", "--adapter",
         "caddyfile"], capture_output=True, env=dict(
             os.environ, HOME=folder)).returncode == 0)
    # Without a name there is no certificate to be had: plain http here.
    site = site.replace("sap.example.org {", f"http://127.0.0.1:{port} {{\n"
                        "\tbind 127.0.0.1", 1)
    site = site.replace(f"http://127.0.0.1:{port} {{", f"http://:{port} {{", 1)
    site = site.replace("127.0.0.1:8420", f"127.0.0.1:{server.port}")
    with open(f"{folder}/Caddyfile", "w") as file:
        file.write(f"{{\n\tadmin 127.0.0.1:{admin}\n}}\n{site}")
    process = subprocess.Popen(
        ["caddy", "run", "--config", f"{folder}/Caddyfile", "--adapter",
         "caddyfile"], stderr=open(f"{folder}/caddy.log", "w"),
        env=dict(os.environ, HOME=folder, XDG_DATA_HOME=folder,
                 XDG_CONFIG_HOME=folder))
    wait_for(port)
    through("caddy", server, port, False)
    process.terminate()
    process.wait()
    with open(f"{folder}/caddy.log") as file:
        check("caddy: no token in its log", server.token not in file.read())


def main():
    for peer in ("/usr/sbin/nginx", "caddy", "openssl"):
        needs(shutil.which(peer), f"{peer} of the system's packages")
    program, example = map(os.path.abspath, sys.argv[1:3])
    with tempfile.TemporaryDirectory() as folder, \
            tempfile.TemporaryDirectory() as public:
        os.chmod(folder, 0o755)
        subprocess.run([program, "--make", public, "0"], check=True)
        server = Server(program, public)
        nginx(server, folder, example)
        caddy(server, folder, example)
        check("the server ends well", server.stop()[0] == 0)
    finish(40)


main()
