"""What test scripts share: checks that are counted, a port that is free, and
what becomes of a test that lacks something."""

import os
import socket
import sys

_failed = []
_names = []


def check(name, good, seen=""):
    """Goes on after a failure, so that all of them are told."""
    _names.append(name)
    if not good:
        _failed.append(name)
        print(f"FAILED: {name}: {seen}")


def finish(least):
    """Ends the test; fewer checks than `least` are a failure too."""
    print(f"{len(_names)} checks, {len(_failed)} failed")
    sys.exit(1 if _failed or len(_names) < least else 0)


def needs(good, what):
    """A test that lacks something of the machine is skipped, and fails where
    nothing may lack (CI=true)."""
    if not good:
        print("skipped: needs " + what)
        sys.exit(1 if os.environ.get("CI") == "true" else 77)


def free_port():
    with socket.create_server(("127.0.0.1", 0)) as server:
        return server.getsockname()[1]
