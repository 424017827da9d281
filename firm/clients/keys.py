"""How names, numbers and addresses are compared: the same for what is on file and for what is asked for."""

import unicodedata

# What NFKD does not take apart, and the marks that people leave out or put in.
_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i"}
    | dict.fromkeys("'’ʼ`´", None)
    | dict.fromkeys("-‐‑–—,;/()", " ")
)
# Street suffixes and their standard abbreviations: USPS Publication 28, Appendix C1 (the common ones, from memory).
_STREETS = {
    "avenue": "ave", "boulevard": "blvd", "circle": "cir", "court": "ct", "drive": "dr", "highway": "hwy",
    "lane": "ln", "parkway": "pkwy", "place": "pl", "road": "rd", "square": "sq", "street": "st", "terrace": "ter",
    "trail": "trl",
}  # fmt: skip
_OTHER_FORM = _STREETS | {short: long for long, short in _STREETS.items()}


def search_key(*texts: str) -> str:
    """Lower case, no accents, single spaces."""
    joined = " ".join(text for text in texts if text)
    plain = "".join(c for c in unicodedata.normalize("NFKD", joined) if not unicodedata.combining(c))
    return " ".join(plain.casefold().split())


def words_key(*texts: str) -> str:
    """As `search_key`, and no apostrophes, hyphens, commas or brackets: `O'Brien-Løw` is `obrien low`."""
    return " ".join(search_key(*texts).translate(_LETTERS).split())


def address_key(*texts: str) -> str:
    """As `words_key`, with both forms of a street: `4 mill lane ln`."""
    words = words_key(*texts).split()
    return " ".join(f"{word} {_OTHER_FORM[word]}" if word in _OTHER_FORM else word for word in words)


def digits(phone: str) -> str:
    return "".join(c for c in phone if c.isascii() and c.isdigit())


def is_part_of_phone(word: str) -> bool:
    """Whether the word is written with digits and the marks between them only, like `+1` or `555.0142`."""
    return bool(digits(word)) and not set(word) - set("0123456789+.")
