"""Finding a client while they are on the telephone, also when the name is spelt another way than it is on file."""

from dataclasses import dataclass
from difflib import SequenceMatcher

from django.db.models import Q

from firm.clients.models import MOST_WORDS, Client, search_key

# Of 1; common practice, no published source. "Halam" and "Hallam" are 0.91 alike, "Hall" and "Hill" 0.75.
_ALIKE, _CLEARLY_ALIKE = 0.7, 0.8
_MOST_LOOKED_AT = 4_000


@dataclass(frozen=True)
class Found:
    """`clients` match what was asked for; the names of `alike` are only spelt alike. Both in the order to show."""

    clients: list[Client]
    alike: list[Client]


def find_clients(words: str, most: int = 8) -> Found:
    """The clients that match, and, where they leave room, those whose names are spelt alike.

    Beside clients that match, only names that are clearly alike are offered, and only for words of five letters or
    more: whoever types "hall" has not yet misspelt anything.
    """
    key = search_key(words)
    if not key:
        return Found([], [])
    exact = list(Client.objects.matching(words).order_by("name", "pk").prefetch_related("properties")[:most])
    least_letters, least_likeness = (5, _CLEARLY_ALIKE) if exact else (3, _ALIKE)
    matched = {client.pk for client in exact}
    alike = [pk for pk in _alike(key, least_letters, least_likeness) if pk not in matched][: most - len(exact)]
    clients = Client.objects.prefetch_related("properties").in_bulk(alike)
    return Found(exact, [clients[pk] for pk in alike])


def _alike(key: str, least_letters: int, least_likeness: float) -> list[int]:
    words = key.split()[:MOST_WORDS]
    if not words or not all(word.isalpha() and len(word) >= least_letters for word in words):
        return []
    # The database narrows down to names that share two neighbouring letters with a word; Python then compares.
    shares = Q()
    for word in words:
        for start in range(min(len(word) - 1, 10)):
            shares |= Q(search_text__contains=word[start : start + 2])
    rows = Client.objects.filter(shares).order_by("-pk").values_list("pk", "name")[:_MOST_LOOKED_AT]
    scored = [(_score(words, search_key(name).split()), pk) for pk, name in rows]
    return [pk for score, pk in sorted(scored, reverse=True) if score >= least_likeness]


def _score(words: list[str], name: list[str]) -> float:
    """How well the worst of the words is found among those of the name, 0 to 1."""
    return min(max((_likeness(word, part) for part in name), default=0.0) for word in words)


def _likeness(one: str, other: str) -> float:
    matcher = SequenceMatcher(None, one, other, autojunk=False)
    return matcher.ratio() if matcher.real_quick_ratio() >= _ALIKE and matcher.quick_ratio() >= _ALIKE else 0.0
