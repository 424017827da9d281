"""Finding a client while they are on the telephone, also when the name is spelt another way than it is on file."""

from dataclasses import dataclass
from difflib import SequenceMatcher

from django.db.models import Q

from firm.clients.models import MOST_WORDS, Client, search_key

_ALIKE = 0.7  # of 1: common practice, no published source; "Halam" and "Hallam" are 0.91 alike
_MOST_LOOKED_AT = 4_000


@dataclass(frozen=True)
class Found:
    """`clients` in the order to show; `is_guess` where nothing matched and these are only alike."""

    clients: list[Client]
    is_guess: bool = False


def find_clients(words: str, most: int = 8) -> Found:
    """The clients that match, or, where none does, those whose names are spelt alike."""
    if not search_key(words):
        return Found([])
    if exact := list(Client.objects.matching(words).prefetch_related("properties")[:most]):
        return Found(exact)
    alike = _alike(search_key(words))[:most]
    clients = Client.objects.prefetch_related("properties").in_bulk(alike)
    return Found([clients[pk] for pk in alike], is_guess=True)


def _alike(key: str) -> list[int]:
    words = [word for word in key.split()[:MOST_WORDS] if len(word) >= 3 and word.isalpha()]
    if not words:
        return []
    # The database narrows down to names that share two neighbouring letters with a word; Python then compares.
    shares = Q()
    for word in words:
        for start in range(min(len(word) - 1, 10)):
            shares |= Q(search_text__contains=word[start : start + 2])
    rows = Client.objects.filter(shares).values_list("pk", "name")[:_MOST_LOOKED_AT]
    scored = [(_score(words, search_key(name).split()), pk) for pk, name in rows]
    return [pk for score, pk in sorted(scored, reverse=True) if score >= _ALIKE]


def _score(words: list[str], name: list[str]) -> float:
    """How well the worst of the words is found among those of the name, 0 to 1."""
    return min(max((_likeness(word, part) for part in name), default=0.0) for word in words)


def _likeness(one: str, other: str) -> float:
    matcher = SequenceMatcher(None, one, other, autojunk=False)
    return matcher.ratio() if matcher.real_quick_ratio() >= _ALIKE and matcher.quick_ratio() >= _ALIKE else 0.0
