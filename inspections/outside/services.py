"""What a client does on the page of a visit, and what the firm does about it."""

from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Max
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from firm import audit
from firm.people.capabilities import Capability
from firm.people.models import User
from inspections.outside.models import Acceptance, Agreement, CalendarFeed, TimeWish, VisitLink
from inspections.reports.models import Language, hash_token, new_token
from inspections.visits.asking import note_what_suits
from inspections.visits.models import Visit
from inspections.visits.refusals import WrongState

MOST_WISHES = 5  # of one visit at one time: more only fill the office's list


def page_address(visit_pk: int) -> str:
    """A new address of the client's page of this visit, in the language that the client read the last one in."""
    token = new_token()
    known = VisitLink.objects.filter(visit__client__visits=visit_pk).values_list("language", flat=True)
    VisitLink.objects.create(
        visit_id=visit_pk, token_hash=hash_token(token), language=known.first() or Language.ENGLISH
    )
    return settings.PUBLIC_URL + reverse("client-visit", args=[token])


def choose_language(visit: Visit, language: str) -> None:
    """The language of the page's fixed words, kept for every address of this visit. An unknown one changes nothing."""
    if language in Language.values:
        VisitLink.objects.filter(visit=visit).update(language=language)


@transaction.atomic
def confirm_by_client(visit: Visit) -> None:
    """The client says that the time suits. Raises WrongState unless the visit is booked and to come."""
    locked = _booked(visit)
    if locked.confirmed_at is None:
        locked.confirmed_at = timezone.now()
        locked.save(update_fields=["confirmed_at", "ends_at", "leaves_at"])
        audit.record(None, "confirmed by the client", locked)
    locked.time_wishes.unanswered().update(put_aside_at=timezone.now())


@transaction.atomic
def ask_for_another_time(visit: Visit, words: str) -> None:
    """Put the wish on the office's list; the visit stays where it is, and counts as not confirmed.

    A visit that waits for a time keeps the words instead.

    Raises WrongState unless the visit is booked and to come, or after `MOST_WISHES` that nobody has answered.
    """
    if visit.state == Visit.State.ASKED_FOR:
        return note_what_suits(visit, words)
    locked = _booked(visit)
    if locked.time_wishes.unanswered().count() >= MOST_WISHES:
        raise WrongState(_("You have asked several times already. We will get in touch; if it is urgent, please call."))
    wish = TimeWish.objects.create(visit=locked, words=words, calendar_version=locked.calendar_version)
    if locked.confirmed_at:
        locked.confirmed_at = None
        locked.save(update_fields=["confirmed_at", "ends_at", "leaves_at"])
    audit.record(None, "asked by the client for another time", locked, after={"words": wish.words})


@transaction.atomic
def put_aside(wish: TimeWish, *, by: User) -> None:
    """The office has dealt with the wish without moving the visit."""
    if wish.put_aside_at is None:
        wish.put_aside_at = timezone.now()
        wish.save(update_fields=["put_aside_at"])
        audit.record(by, "put the client's wish aside", wish.visit, {"words": wish.words})


@transaction.atomic
def accept(visit: Visit, *, version: int, name: str, address: str, browser: str) -> Acceptance:
    """Keep that this version was accepted; the same one again changes nothing.

    Raises WrongState if the firm has a newer text than the one that was read, or the visit is called off.
    """
    locked = Visit.objects.select_for_update(of=("self",)).get(pk=visit.pk)
    agreement = Agreement.current()
    if agreement is None or agreement.version != version:
        raise WrongState(_("The agreement has been changed since you opened the page. Please read it again."))
    if locked.state == Visit.State.CALLED_OFF:
        raise WrongState(_("This visit is called off."))
    there = locked.acceptances.filter(agreement=agreement).first()
    if there:
        return there
    accepted = Acceptance.objects.create(
        visit=locked, agreement=agreement, name=name, address=address or None, browser=browser[:300]
    )
    audit.record(None, "agreement accepted by the client", locked, after={"version": version, "name": name})
    return accepted


@transaction.atomic
def write_agreement(text: str, *, by: User) -> Agreement | None:
    """The next version of the text; None, and nothing done, if it is the same. What was accepted stays."""
    text = text.replace("\r\n", "\n").strip()
    newest = Agreement.objects.select_for_update().first()
    if text == (newest.text if newest else ""):
        return None
    version = (Agreement.objects.aggregate(last=Max("version"))["last"] or 0) + 1
    agreement = Agreement.objects.create(version=version, text=text, made_by=by)
    audit.record(by, "wrote", agreement, after={"version": version, "length": len(text)})
    return agreement


@transaction.atomic
def make_feed(person: User) -> str:
    """A new address for the person's calendar; one given before opens nothing any more. Shown this once."""
    token = new_token()
    feed, is_new = CalendarFeed.objects.update_or_create(
        person=person, defaults={"token_hash": hash_token(token), "made_at": timezone.now(), "read_at": None}
    )
    audit.record(person, "made" if is_new else "renewed", feed)
    return settings.PUBLIC_URL + reverse("calendar-feed-read", args=[token])


@transaction.atomic
def close_feed(person: User) -> None:
    feed = CalendarFeed.objects.filter(person=person).first()
    if feed:
        audit.record(person, "closed", feed)
        feed.delete()


def feed_for_token(token: str) -> CalendarFeed | None:
    """The feed of somebody who still inspects here."""
    feed = CalendarFeed.objects.filter(token_hash=hash_token(token), person__is_active=True).select_related("person")
    found = feed.first()
    return found if found and found.person.may(Capability.RECORD) else None


def _booked(visit: Visit) -> Any:
    locked = Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
    if locked.state != Visit.State.BOOKED or locked.ends_at <= timezone.now():
        raise WrongState(_("This visit cannot be changed from here any more. Please call us."))
    return locked
