#!/usr/bin/env python3
"""The running thawbelld when no name of a service is found any more.

    python3 daemon_names.py THAWBELLD THAWBELL [CASE...]

The services are asked by name and thus encrypted (plain HTTP is for this
machine's own addresses alone). Names, certificates and name server are
this test's own: files of its own lie over the system's, in a mount namespace
that goes with the test (daemon_disk.py). First the table of names holds all
of them, then none, and the one name server does not answer; then all again.
"""

import os
import ssl
import subprocess

import once_bench
from checks import needs
from daemon_bench import clock_programs, faketime_library
from daemon_disk import mount, own_namespace
from daemon_life import outage
from once_bench import METNO, NWS, OPEN_METEO, START, iso, want

HOSTS = {NWS: "nws.test", METNO: "metno.test", OPEN_METEO: "open-meteo.test"}
SYSTEM = {"hosts": "/etc/hosts", "resolv.conf": "/etc/resolv.conf",
          "nsswitch.conf": "/etc/nsswitch.conf",
          "certificate": "/etc/ssl/certs/ca-certificates.crt"}
NAME_SERVER = "127.0.0.4"  # of all the servers here none for names


class NamedBench(once_bench.Bench):
    """Its services have names and speak TLS."""

    def __init__(self, programs):
        super().__init__(programs)
        for file in SYSTEM:
            self.write(file, "")
        self.write("nsswitch.conf", "hosts: files dns\n")
        self.write("resolv.conf", "nameserver %s\noptions timeout:1 "
                   "attempts:1\n" % NAME_SERVER)
        self.certify()
        for file, path in SYSTEM.items():
            if os.path.exists(path):
                mount("--bind", os.path.join(self.root, file), path)
        for address, host in HOSTS.items():
            self.configuration = self.configuration.replace(
                "http://%s:" % address, "https://%s:" % host)
        want("http://" not in self.configuration, "not all have names")

    def write(self, name, words):
        with open(os.path.join(self.root, name), "w",
                  encoding="ascii") as file:
            file.write(words)

    def certify(self):
        """One certificate for all, signed by itself, of the test's day."""
        path, key = (os.path.join(self.root, name)
                     for name in ("certificate", "key"))
        names = ",".join("DNS:" + host for host in HOSTS.values())
        subprocess.run(
            ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes",
             "-days", "30", "-subj", "/CN=services.test", "-addext",
             "subjectAltName=" + names, "-keyout", key, "-out", path],
            check=True, capture_output=True, env=dict(
                os.environ, TZ="UTC", LD_PRELOAD=faketime_library(),
                FAKETIME=iso(START - 86400)[:-1].replace("T", " ")))
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(path, key)
        for one in self.servers:
            one.socket = context.wrap_socket(one.socket, server_side=True)

    def names_come(self):
        self.write("hosts", "".join("%s %s\n" % one for one in HOSTS.items()))

    def names_go(self):
        self.write("hosts", "")


def no_names(bench):
    bench.names_come()
    outage(bench, "names", bench.names_go, bench.names_come,
           r"the name \S+\.test cannot be looked up")
    want({line["address"] for line in bench.requests()} == set(HOSTS),
         "not all were asked by name")


CASES = [("no names", no_names)]

if __name__ == "__main__":
    own_namespace()
    needs(os.path.exists(SYSTEM["certificate"]), "the package ca-certificates")
    once_bench.main(CASES, NamedBench(clock_programs()))
