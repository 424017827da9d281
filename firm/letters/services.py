from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction

from firm import audit
from firm.branding.models import Firm
from firm.letters.filling import fill, fill_line
from firm.letters.kinds import KINDS, PLACEHOLDERS
from firm.letters.models import LetterText, Reminders
from firm.people.models import User


@dataclass(frozen=True)
class Words:
    subject: str
    body: str


def words_of(kind: str) -> Words:
    """The firm's own words, placeholders still in them, or the first ones."""
    own = own_words(kind)
    return own or Words(KINDS[kind].subject, KINDS[kind].body)


def own_words(kind: str) -> Words | None:
    own = LetterText.objects.filter(kind=kind).first()
    return own and Words(own.subject, own.body)


def write(kind: str, values: Mapping[str, str], firm: Firm) -> Words:
    """Subject and text of a mail as it goes out."""
    return filled(words_of(kind), {**values, **firm_values(firm)})


def filled(words: Words, values: Mapping[str, str]) -> Words:
    return Words(fill_line(words.subject, values)[:200], fill(words.body, values).rstrip() + "\n")


def firm_values(firm: Firm) -> dict[str, str]:
    contact = " or ".join(text for text in (firm.phone, firm.email) if text)
    return {"firm": firm.name, "firm_address": firm.address, "contact": contact or "answer this mail"}


def preview(words: Words) -> Words:
    """The mail as an invented client would get it."""
    samples = {name: sample for name, (_, sample) in PLACEHOLDERS.items()}
    return filled(words, {**samples, **firm_values(Firm.current())})


@transaction.atomic
def save_words(kind: str, words: Words, *, by: User) -> None:
    """Store the firm's own words, with an audit line of what they were and are."""
    was = words_of(kind)
    if words == was:
        return
    row, _ = LetterText.objects.update_or_create(kind=kind, defaults={"subject": words.subject, "body": words.body})
    audit.record(by, "changed", row, vars(was), vars(words))


@transaction.atomic
def forget_words(kind: str, *, by: User) -> None:
    """Go back to the first words."""
    row = LetterText.objects.filter(kind=kind).first()
    if row:
        audit.record(by, "put back to its first words", row, {"subject": row.subject, "body": row.body})
        row.delete()


@transaction.atomic
def save_reminders(reminders: Reminders, *, by: User) -> None:
    was = Reminders.current().hours_before
    reminders.save()
    if was != reminders.hours_before:
        audit.record(by, "changed", reminders, {"hours_before": was}, {"hours_before": reminders.hours_before})
