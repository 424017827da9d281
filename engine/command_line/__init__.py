"""The engine from the command line.

Exit 0 when the question was answered (whatever the verdict), 2 when the input was refused: then one line for each
fault, `path = value: what is accepted`. Modules are loaded only by the command that needs them.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from engine.errors import DeckFaults, EngineError, Fault, OutOfRange

_QUESTIONS = {
    "joist-span": "how far a joist may span",
    "beam-span": "how far a beam may span between posts",
    "post": "what a post carries, or how tall it may be",
    "footing": "how large a footing must be",
    "fastener": "what one bolt, lag screw, nail or wood screw carries",
    "guard-post": "what a push at the top does to a guard post",
}
_COMMANDS = {
    "assess": "judge a whole deck: assess DECK.json [--json]   (- reads standard input)",
    "rating": "the live load a deck may carry: rating DECK.json [--json]",
    "reserve": "how far a number may be off: reserve DECK.json J1.span_in [--json]",
    "remedies": "what would put each failing check right: remedies DECK.json [--json]",
    "schema": "the deck file's format as JSON Schema",
    "sources": "every data file with its source, and what was written from memory: sources [DECK.json] [--json]",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")  # a terminal without UTF-8 must not end in a traceback
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        return _run(words)
    except DeckFaults as refusal:
        return refuse(refusal.faults)
    except OutOfRange as refusal:
        return refuse([Fault(refusal.field, refusal.value, refusal.accepted)])
    except EngineError as refusal:
        print(refusal, file=sys.stderr)
        return 2
    except BrokenPipeError:  # the reader of a pipe has gone; nothing is left to say
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def refuse(faults: Sequence[Fault]) -> int:
    """Print one line for each fault; the exit code of a refusal."""
    for fault in faults:
        print(fault, file=sys.stderr)
    return 2


def _run(words: list[str]) -> int:
    command = words[0] if words else ""
    if command in ("", "-h", "--help", "help"):
        print(_help())
        return 0 if command else 2
    if command in _QUESTIONS:
        from engine.command_line.questions import answer

        return answer(command, words[1:])
    if command in _COMMANDS:
        from engine.command_line import whole_deck

        return whole_deck.run(command, words[1:])
    return refuse([Fault("command", command, "one of " + ", ".join((*_COMMANDS, *_QUESTIONS)))])


def _help() -> str:
    lines = ["python -m engine COMMAND ...", ""]
    lines += [f"  {name:<11} {meaning}" for name, meaning in _COMMANDS.items()]
    lines += ["", "One question at a time; each takes --json and --help, which names the units:"]
    lines += [f"  {name:<11} {meaning}" for name, meaning in _QUESTIONS.items()]
    return "\n".join(lines)
