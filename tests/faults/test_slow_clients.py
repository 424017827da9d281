"""Tablets at the edge of the signal send their photos by drops; meanwhile the office goes on working."""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
from contextlib import ExitStack
from pathlib import Path

import pytest

from firm.management.commands import start
from tests.bench.serving import free_port, wait_for

SLOW = 6  # more than there are web processes, in either form of installation
APPLICATION = """
def application(environ, start_response):
    environ["wsgi.input"].read(int(environ.get("CONTENT_LENGTH") or 0))
    start_response("200 OK", [("Content-Type", "text/plain")])
    return [b"ok"]
"""


def command_of_start(port):
    (web,) = (part.command for part in start.parts("127.0.0.1", port, quiet=False) if part.name == "web server")
    return web


def command_of_compose(port):
    text = (Path(start.__file__).parents[3] / "docker-compose.yml").read_text()
    words = re.findall(r'"([^"]+)"', re.search(r"CMD \[(.*)\]", text)[1])
    return [sys.executable, "-m", *words[:2], *words[2:]]


@pytest.mark.process
@pytest.mark.parametrize("command_of", [command_of_start, command_of_compose])
def test_slow_senders_hold_up_nobody_else(command_of, tmp_path):
    (tmp_path / "slow_application.py").write_text(APPLICATION)
    port = free_port()
    command = [word.replace("firm.wsgi", "slow_application").replace("0.0.0.0:8000", f"127.0.0.1:{port}")
               for word in command_of(port)]  # fmt: skip
    server = subprocess.Popen(
        command, cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(tmp_path)}, start_new_session=True
    )
    with ExitStack() as open_lines:
        try:
            wait_for(port)
            for _ in range(SLOW):
                line = open_lines.enter_context(socket.create_connection(("127.0.0.1", port)))
                line.sendall(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 5000000\r\n\r\nthe first drops")
            office = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
            office.request("GET", "/")
            answer = office.getresponse()
            assert answer.read() == b"ok"
            assert answer.headers["Connection"] == "close", "else the front may send into a line that is being closed"
        finally:
            os.killpg(server.pid, signal.SIGKILL)
            server.wait()
