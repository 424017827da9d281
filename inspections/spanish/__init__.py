"""Spanish for what a frozen record says: our own words out of `phrases.json` and `catalogue.json`, by the English text.

The fixed words of the pages are Django's business (`locale/es`). A record, though, keeps English sentences with numbers
in them, and keeps them as they were issued; so each sentence is looked up as it stands. In `phrases.json` a pair may
hold `{a}`, `{b}`, ...: what stands there is carried over, itself translated if there are words for it. What is not
found stays as it was written: `said` gives it back unchanged, and the filter of that name marks it as English.
"""

import json
import re
from functools import cache, lru_cache
from pathlib import Path

from django.utils.translation import get_language

_HERE = Path(__file__).parent
_HOLE = re.compile(r"\{([a-z])\}")


def is_spanish() -> bool:
    return (get_language() or "").startswith("es")


def said(text: str) -> str:
    """The text in the language of the page: in Spanish if that is asked for and known, else as it stands."""
    return (in_spanish(text) or text) if text and is_spanish() else text


@lru_cache(maxsize=4096)
def in_spanish(text: str) -> str | None:
    """The Spanish of a text, or None where there are no words for it. A text of several sentences needs all of them."""
    core = text.strip()
    found = _whole(core)
    if found is not None or not core:
        return found
    for parts in (re.split(r"(?<=[.:]) (?=[A-Z])", core), core.split("; ")):
        if len(parts) > 1:
            spoken = [in_spanish(part) for part in parts]
            if all(each is not None for each in spoken):
                return ("; " if "; " in core and len(parts) == len(core.split("; ")) else " ").join(map(str, spoken))
    return None


def _whole(text: str) -> str | None:
    """One phrase, with or without its full stop, with a large or a small letter at its beginning."""
    stop = "." if text.endswith(".") else ""
    for form in dict.fromkeys((text, text[: len(text) - len(stop)], f"{text}.")):
        for begin in dict.fromkeys((form, form[:1].lower() + form[1:], form[:1].upper() + form[1:])):
            found = _exact().get(begin) or _patterned(begin)
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
            return _HOLE.sub(lambda hole: _part(found[hole[1]]), spanish)
    return None


def _part(text: str) -> str:
    """What stood in a hole: numbers stay, words are translated if they can be."""
    if not any(sign.isalpha() for sign in text):
        return text
    whole = in_spanish(text)
    if whole is not None:
        return whole
    return ", ".join(in_spanish(each) or each for each in text.split(", ")) if ", " in text else text


@cache
def _pairs() -> dict[str, str]:
    found: dict[str, str] = {}
    for name in ("catalogue", "phrases"):
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
            pattern = "".join(f"(?P<{p}>.+?)" if at % 2 else re.escape(p) for at, p in enumerate(pieces))
            rows.append((sum(map(len, pieces[::2])), pieces[0], re.compile(pattern, re.DOTALL), spanish))
    return tuple((begins, pattern, spanish) for _, begins, pattern, spanish in sorted(rows, key=lambda row: -row[0]))
