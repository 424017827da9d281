"""How log lines look: words, or one JSON object a line; either way without what must not lie about in a log."""

import json
import logging
import re
import traceback
from datetime import UTC, datetime

from firm.web.request_log import loggable_path

_ADDRESS = re.compile(r"[\w.+-]+@[\w-]+(\.[\w-]+)+")
_DETAIL = re.compile(r"(?m)^(DETAIL|CONTEXT):.*$")  # PostgreSQL puts the whole row there
_LINK = re.compile(r"(/r/|/password/set/)[^\s\"'<>]+")
_QUERY = re.compile(r"(/[\w./%-]*)\?[^\s\"'<>]+")
_PASSWORD = re.compile(r"(\w+://[^\s:/@]*):[^\s@]+@")


def masked(text: str) -> str:
    """The text without mail addresses, secrets of links, query strings, passwords in addresses of servers."""
    text = _PASSWORD.sub(r"\1:...@", text)
    text = _DETAIL.sub(r"\1: (left out)", text)
    text = _LINK.sub(lambda found: loggable_path(found[0]), text)
    text = _QUERY.sub(r"\1?...", text)
    return _ADDRESS.sub("(mail address)", text)


class LineFormatter(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        return masked(super().format(record))


class JsonFormatter(logging.Formatter):
    """One JSON object a line: at (UTC), level, logger, request, message; of a request also user (the number), method,
    path, status, ms; of an error its class and where it happened."""

    def format(self, record: logging.LogRecord) -> str:
        told = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "request": getattr(record, "request_id", "-"),
            "message": masked(record.getMessage()),
            **getattr(record, "told", {}),
        }
        if record.exc_info and record.exc_info[0]:
            told["error"] = record.exc_info[0].__name__
            told["trace"] = masked("".join(traceback.format_exception(*record.exc_info)))
        return json.dumps(told, ensure_ascii=False, default=str)
