"""Spanish for what a frozen record says: our own words out of three JSON files, by the English text.

The fixed words of the pages are Django's business (`locale/es`). A record, though, keeps English sentences with numbers
in them, and keeps them as they were issued; so each sentence is looked up as it stands. A pair may
have holes:

    {n} {m} {o}        a measure, or several: 4 in, 96 in
    {k} {l}            the key of a part; {r} keys of several: F1 to F5, F9
    {t} {u} {v} {p}    words that must be known themselves, {p} without brackets in them
    {a} to {d}         a text that is carried over, translated where it can be

So an inspector's own sentence is not mistaken for one of ours. What is not found stays as it was written: `said` gives
it back unchanged, and the filter of that name marks it as English.
"""

import json
import re
from functools import cache, lru_cache
from pathlib import Path

from django.utils.translation import get_language

_HERE = Path(__file__).parent
_HOLE = re.compile(r"\{([a-z])\}")
_ONE = r"[\d][\d ,./\"'%-]*(?: ?(?:in-lb|in|lb|psf|psi|ft|sq ft|percent|%))*"
_MEASURE = rf"{_ONE}(?:, {_ONE})*"
_BARE = re.compile(rf"{_ONE}(?: x {_ONE})?|\d+x\d+")  # the same in every language
_KEY = r"[A-Z]{1,3}\d+(?: \([^()]*\))?"
_KEYS = rf"{_KEY}(?: to {_KEY})?(?:, {_KEY}(?: to {_KEY})?)*"
_FORMS = {**dict.fromkeys("nmo", _MEASURE), **dict.fromkeys("kl", _KEY), "r": _KEYS, "p": "[^()]+"}
_MUST_BE_KNOWN = "tuvp"


def is_spanish() -> bool:
    return (get_language() or "").startswith("es")


def said(text: str) -> str:
    """The text in the language of the page: in Spanish if that is asked for and known, else as it stands."""
    return (in_spanish(text) or text) if text and is_spanish() else text


@lru_cache(maxsize=4096)
def in_spanish(text: str) -> str | None:
    """The Spanish of a text, or None where there are no words for it. A text of several sentences needs all of them."""
    core = text.strip()
    if not core or _BARE.fullmatch(core):
        return core or None
    return (
        _whole(core, exactly=True)
        or _joined(core.split("; "), "; ")  # before a pattern that would take several pieces for one hole
        or _whole(core)
        or _listed(core)
        or _joined(re.split(r"(?<=[.:]) (?=[A-Z\d])", core), " ")
    )


def _joined(parts: list[str], by: str) -> str | None:
    """Several in Spanish, or None if there are not several or one of them is not known."""
    spoken = [in_spanish(part) for part in parts] if len(parts) > 1 else [None]
    return None if None in spoken else by.join(map(str, spoken))


def _whole(text: str, *, exactly: bool = False) -> str | None:
    """One phrase, with or without its full stop, with a large or a small letter at its beginning."""
    stop = "." if text.endswith(".") else ""
    for form in dict.fromkeys((text, text[: len(text) - len(stop)], f"{text}.")):
        for begin in dict.fromkeys((form, form[:1].lower() + form[1:], form[:1].upper() + form[1:])):
            found = _exact().get(begin) or (None if exactly else _patterned(begin))
            if found:
                found = found.removesuffix(".") + stop if stop or not text.endswith(found[-1:]) else found
                return _like(text, found)
    return None


def _like(model: str, text: str) -> str:
    """With a large letter at the beginning where the model has one, with a small one where it has that."""
    if model[:1].isupper():
        return text[:1].upper() + text[1:]
    return text[:1].lower() + text[1:] if model[:1].islower() and not text[:2].isupper() else text


def _patterned(text: str) -> str | None:
    for begins, pattern, spanish in _patterns():
        if text.startswith(begins) and (found := pattern.fullmatch(text)):
            parts = {hole: _part(hole, words) for hole, words in found.groupdict().items()}
            if None not in parts.values():
                return _HOLE.sub(lambda hole, parts=parts: _inside(str(parts[hole[1]]), hole.start()), spanish)
    return None


def _inside(words: str, at: int) -> str:
    """A word that began the English sentence and stands within the Spanish one loses its large letter."""
    return words[:1].lower() + words[1:] if at and words[1:2].islower() else words


def _part(hole: str, text: str) -> str | None:
    """What stands in a hole: measures and keys unchanged, words in Spanish; None if they must be known and are not."""
    if hole == "r":
        return text.replace(" to ", " a ")
    if hole in "nmokl" or not any(sign.isalpha() for sign in text):
        return text
    whole = in_spanish(text) or _listed(text)
    return whole if whole is not None or hole in _MUST_BE_KNOWN else text


def _listed(text: str) -> str | None:
    if ", " not in text:
        return None
    for between in (", ", ", (?=[a-z])"):  # the second: "posts P1, P2, guard G1"
        if (listed := _joined(re.split(between, text), ", ")) is not None:
            return listed
    return None


@cache
def _pairs() -> dict[str, str]:
    found: dict[str, str] = {}
    for name in ("catalogue", "phrases", "repairs"):
        found |= json.loads((_HERE / f"{name}.json").read_text("utf-8"))
    return found


@cache
def _exact() -> dict[str, str]:
    return {english: spanish for english, spanish in _pairs().items() if not _HOLE.search(english)}


@cache
def _patterns() -> tuple[tuple[str, re.Pattern[str], str], ...]:
    """Those with the most fixed words first, so that the narrower of two that fit is taken."""
    rows = []
    for english, spanish in _pairs().items():
        if _HOLE.search(english):
            pieces = _HOLE.split(english)
            forms = (f"(?P<{p}>{_FORMS.get(p, '.+?')})" if at % 2 else re.escape(p) for at, p in enumerate(pieces))
            pattern = "".join(forms)
            rows.append((sum(map(len, pieces[::2])), pieces[0], re.compile(pattern, re.DOTALL), spanish))
    return tuple((begins, pattern, spanish) for _, begins, pattern, spanish in sorted(rows, key=lambda row: -row[0]))
