"""Finding a client while they are on the telephone, also when the name is spelt another way than it is on file."""

from dataclasses import dataclass

from rapidfuzz.distance import OSA, Indel

from firm.clients import trigrams
from firm.clients.models import Client, asked_words

# Of 1; common practice, no published source. "Halam" and "Hallam" are 0.91 alike, "Hall" and "Hill" 0.75.
_ALIKE, _CLEARLY_ALIKE = 0.7, 0.8
_MOST_LOOKED_AT = 300


@dataclass(frozen=True)
class Found:
    """`clients` match what was asked for; `alike` are only spelt alike. Both in the order to show."""

    clients: list[Client]
    alike: list[Client]


def find_clients(text: str, most: int = 8) -> Found:
    """The clients that match, and, where they leave room, those on file under words that are spelt alike.

    Beside clients that match, only those that are clearly alike are offered, and only for a single word of five letters
    or more: whoever types "hall" has not yet misspelt anything.
    """
    words = asked_words(text)
    if not words:
        return Found([], [])
    matching = Client.objects.matching(text).best_first(text).prefetch_related("properties")
    exact = list(matching[:most])
    least_letters, least_likeness = (5, _CLEARLY_ALIKE) if exact else (3, _ALIKE)
    is_enough = len(exact) == most or (exact and len(words) > 1)  # several words that all fit are not misspelt
    if is_enough or not any(len(word) >= least_letters for word in words):
        return Found(exact, [])
    matched = {client.pk for client in exact}
    alike = [pk for pk in _alike(words, least_letters, least_likeness) if pk not in matched][: most - len(exact)]
    clients = Client.objects.prefetch_related("properties").in_bulk(alike)
    return Found(exact, [clients[pk] for pk in alike])


def _alike(words: list[str], least_letters: int, least_likeness: float) -> list[int]:
    rows = trigrams.likely(Client.objects.all(), words, _MOST_LOOKED_AT)
    scored = ((_score(words, text.split(), least_letters, least_likeness), pk) for pk, text in rows)
    return [pk for score, pk in sorted(scored, reverse=True) if score]


def _score(words: list[str], on_file: list[str], least_letters: int, least_likeness: float) -> float:
    """How well the words are found among those on file, 0 to 1; 0 if one of them is not there at all.

    A word that is short, or a number, must be there as it is: one digit more or less is another house.
    """
    total = 0.0
    for word in words:
        if len(word) < least_letters or (word.isdigit() and len(word) < 7):
            best = 1.0 if any(word in one for one in on_file) else 0.0
        else:
            best = max(likeness(word, one) for one in on_file) if on_file else 0.0
            best = best if best >= least_likeness else 0.0
        if not best:
            return 0.0
        total += best
    return total / len(words)


def likeness(one: str, other: str) -> float:
    """How alike two words are spelt, 0 to 1. Two letters the wrong way round count as one slip."""
    return max(Indel.normalized_similarity(one, other), OSA.normalized_similarity(one, other))
