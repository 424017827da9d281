"""Reads a calendar file by RFC 5545 alone, without the library that wrote it: unfolding (3.1), parameters (3.2),
escapes (3.3.11), moments in UTC (3.3.5).
"""

import re
from datetime import UTC, datetime

_ESCAPED = re.compile(r"\\([nN\\,;])")
_PARAMETER = re.compile(r';([A-Z0-9-]+)=("[^"\x00-\x08\x0a-\x1f]*"|[^";:,\x00-\x08\x0a-\x1f]*)')


def read(content):
    """(properties of the calendar, [properties of each event]); each property is (value, parameters)."""
    assert content.endswith(b"\r\n")
    raw_lines = content.split(b"\r\n")
    assert b"\n" not in content.replace(b"\r\n", b""), "a line ends with CRLF"
    assert all(len(line) <= 75 for line in raw_lines), "a line has 75 octets at most"
    lines = content.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")[:-1]
    head, events, here = {}, [], []
    for line in lines:
        name, value, parameters = _split(line)
        if name == "BEGIN":
            here.append(value)
            if value == "VEVENT":
                events.append({})
        elif name == "END":
            assert here.pop() == value
        else:
            into = events[-1] if here[-1] == "VEVENT" else head
            assert name not in into, f"{name} stands twice"
            into[name] = (value, parameters)
    assert here == []
    return head, events


def moment(value):
    return datetime.strptime(value, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)


def text(value):
    return _ESCAPED.sub(lambda found: "\n" if found[1] in "nN" else found[1], value)


def _split(line):
    name = re.match(r"[A-Z0-9-]+", line)[0]
    parameters, at = {}, len(name)
    while found := _PARAMETER.match(line, at):
        parameters[found[1]] = found[2].strip('"')
        at = found.end()
    assert line[at] == ":", line
    return name, line[at + 1 :], parameters
