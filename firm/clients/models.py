import unicodedata

from django.db import models


def search_key(*texts: str) -> str:
    """Lower case, no accents, single spaces: what a search compares."""
    joined = " ".join(text for text in texts if text)
    plain = "".join(c for c in unicodedata.normalize("NFKD", joined) if not unicodedata.combining(c))
    return " ".join(plain.casefold().split())


def digits(phone: str) -> str:
    return "".join(c for c in phone if c.isdigit())


def is_part_of_phone(word: str) -> bool:
    """Whether the word is written with digits and the marks between them only, like `(207)` or `555-0142`."""
    return bool(digits(word)) and not set(word) - set("0123456789()+-./")


MOST_WORDS = 8  # of a search; more only make it slow


class ClientQuerySet(models.QuerySet):
    def matching(self, words: str) -> "ClientQuerySet":
        """Clients in whom every word occurs somewhere: name, mail, phone (digits only) or an address of theirs."""
        found = self
        for word in search_key(words).split()[:MOST_WORDS]:
            in_client = digits(word) if is_part_of_phone(word) else word
            # A condition per word, so that each may be found in another place.
            found = found.filter(
                models.Q(search_text__contains=in_client) | models.Q(properties__search_text__contains=word)
            )
        return found.distinct()


class Client(models.Model):
    """Somebody who asks the firm to look at a deck."""

    name = models.CharField(max_length=120)
    email = models.EmailField("mail address", blank=True)
    phone = models.CharField(max_length=40, blank=True)
    notes = models.TextField(blank=True)
    search_text = models.TextField(editable=False, default="")
    created_at = models.DateTimeField(auto_now_add=True)

    objects = ClientQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name

    def save(self, *args, **kwargs) -> None:
        self.search_text = search_key(self.name, self.email, digits(self.phone))
        if (fields := kwargs.get("update_fields")) is not None:
            kwargs["update_fields"] = {*fields, "search_text"}
        super().save(*args, **kwargs)
