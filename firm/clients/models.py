import unicodedata

from django.db import models


def search_key(*texts: str) -> str:
    """Lower case, no accents, single spaces: what a search compares."""
    joined = " ".join(text for text in texts if text)
    plain = "".join(c for c in unicodedata.normalize("NFKD", joined) if not unicodedata.combining(c))
    return " ".join(plain.casefold().split())


def digits(phone: str) -> str:
    return "".join(c for c in phone if c.isdigit())


class ClientQuerySet(models.QuerySet):
    def matching(self, words: str) -> "ClientQuerySet":
        """Clients in whom every word occurs somewhere: name, mail, phone (digits only) or an address of theirs."""
        found = self
        for word in search_key(words).split():
            found = found.filter(search_text__contains=digits(word) if len(digits(word)) >= 4 else word)
        return found


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
