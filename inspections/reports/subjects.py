"""Many parts said in few words: "fasteners F1 to F5, F9 to F16", "posts P1, P2"."""

import re
from collections.abc import Iterable, Sequence
from itertools import groupby

_FASTENER = re.compile(r"fastener \d+ of (?P<of>ledger \w+) \((?P<key>[A-Z]+\d+)\)")
_NAMED = re.compile(r"(?:fastener|ledger|level|joist field|beam|post|footing|guard|stair) [A-Z]+\d+(?: \([^)]*\))?")
_ANY = "\u2026"
_PART = re.compile(r"(?P<kind>[a-z ]+) (?P<key>[A-Z]+\d+)(?P<rest>,.*| \(.*\))?")


def in_few_words(subjects: Sequence[str]) -> str:
    """The parts of one list, each once, those of a kind together and runs of keys as runs; other texts as they are."""
    kinds: dict[str, list[str]] = {}
    others = []
    for subject in dict.fromkeys(subjects):
        if found := _FASTENER.fullmatch(subject):
            kinds.setdefault(f"fastener|{found['of']}", []).append(found["key"])
        elif (found := _PART.fullmatch(subject)) and not (found["rest"] or "").startswith(","):
            kinds.setdefault(found["kind"], []).append(f"{found['key']}{found['rest'] or ''}")
        else:
            others.append(subject)
    return ", ".join([*(_kind(kind, keys) for kind, keys in kinds.items()), *others])


def alike_as_one(texts: Iterable[str]) -> dict[str, str]:
    """For each text the words for it and all that differ from it in the part alone: "footings F1 to F3 not probed"."""
    members: dict[str, list[re.Match[str]]] = {}
    distinct = list(dict.fromkeys(texts))
    for text in distinct:
        if found := _NAMED.search(text):
            members.setdefault(shape_of(text), []).append(found)
    said = {}
    for shape, matches in members.items():
        words = in_few_words([found.group() for found in matches])
        said |= {found.string: shape.replace(_ANY, words) for found in matches}
    return {text: said.get(text, text) for text in distinct}


def shape_of(text: str) -> str:
    """The text without the part that it names first."""
    return _NAMED.sub(_ANY, text, count=1)


def _kind(kind: str, keys: Sequence[str]) -> str:
    name, _, of = kind.partition("|")
    bare, brackets = zip(*(key.partition(" (")[::2] for key in keys), strict=True)
    if len(keys) > 1 and brackets[0] and len(set(brackets)) == 1:  # the same of all of them is said once
        return f"{_kind(kind, bare)} ({brackets[0]}"
    return f"{name}{'s' if len(keys) > 1 else ''} {runs(keys)}{f' of {of}' if of else ''}"


def runs(keys: Sequence[str]) -> str:
    """ "F1 to F5, F9": three or more that follow each other are said as a run."""
    numbered = sorted({found.group(1, 2) for key in keys if (found := re.fullmatch(r"([A-Z]+)(\d+)", key))}, key=_order)
    said = []
    for _, run in groupby(enumerate(numbered), key=lambda each: (each[1][0], int(each[1][1]) - each[0])):
        members = ["".join(key) for _, key in run]
        said += [f"{members[0]} to {members[-1]}"] if len(members) > 2 else members
    return ", ".join([*said, *(key for key in keys if not re.fullmatch(r"[A-Z]+\d+", key))])


def _order(key: tuple[str, str]) -> tuple[str, int]:
    return key[0], int(key[1])
