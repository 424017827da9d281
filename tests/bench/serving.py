"""A server of one's own for a bench: a free port, and waiting until it answers."""

import http.client
import socket
import time


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_for(port, seconds=60):
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        try:
            http.client.HTTPConnection("127.0.0.1", port, timeout=1).request("GET", "/healthz")
            return
        except OSError:
            time.sleep(0.1)
    raise RuntimeError("the server did not start")
