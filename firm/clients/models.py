from django.db import models
from django.db.models import Case, IntegerField, Value, When

from firm.clients import trigrams
from firm.clients.keys import digits, is_part_of_phone, words_key

MOST_WORDS = 8  # of a search; more only make it slow


def asked_words(text: str) -> list[str]:
    """The words of a search. Of a telephone number only digits count, and the 1 before a long one does not."""
    words = []
    for word in words_key(text).split()[:MOST_WORDS]:
        number = digits(word) if is_part_of_phone(word) else ""
        words.append(number.removeprefix("1") if len(number) == 11 else number or word)
    return words


class ClientQuerySet(models.QuerySet):
    def matching(self, text: str) -> "ClientQuerySet":
        """Clients in whom every word occurs somewhere: name, mail, phone (digits only) or an address of theirs."""
        found = self
        for word in asked_words(text):
            found = found.filter(**{trigrams.lookup_for(word, self.db): word})
        return found

    def best_first(self, text: str) -> "ClientQuerySet":
        """Those whose name begins with what was asked for come first, then by name."""
        begins = When(search_all__startswith=f" {words_key(text)}", then=0)
        return self.order_by(Case(begins, default=Value(1), output_field=IntegerField()), "name", "pk")


class Client(models.Model):
    """Somebody who asks the firm to look at a deck."""

    name = models.CharField(max_length=120)
    email = models.EmailField("mail address", blank=True)
    phone = models.CharField(max_length=40, blank=True)
    notes = models.TextField(blank=True)
    # What searches compare: `search_text` is the client alone, `search_all` has the addresses too, with a space before
    # and after every word.
    search_text = models.TextField(editable=False, default="")
    search_all = models.TextField(editable=False, default="")
    created_at = models.DateTimeField(auto_now_add=True)

    objects = ClientQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name

    def save(self, *args, **kwargs) -> None:
        self.set_search_words()
        if (fields := kwargs.get("update_fields")) is not None:
            kwargs["update_fields"] = {*fields, "search_text", "search_all"}
        super().save(*args, **kwargs)

    def set_search_words(self) -> None:
        """Work out what searches compare; every save of the client or of a property of theirs does it."""
        self.search_text = words_key(self.name, self.email, digits(self.phone))
        houses = self.properties.order_by("pk").values_list("search_text", flat=True) if self.pk else ()
        self.search_all = f" {' '.join([self.search_text, *houses])} "
