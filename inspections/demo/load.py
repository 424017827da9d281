"""Puts the demo firm into an empty database, through the same services that people use."""

from collections.abc import Mapping
from datetime import datetime, time, timedelta
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.utils import timezone

from engine.units import format_feet_inches
from engine.vocabulary import KINDS, Fact
from firm.branding.models import Firm
from firm.clients.models import Client
from firm.jobs.work import run_job
from firm.people.models import User
from firm.properties.models import Property
from firm.properties.services import propose_rules
from firm.rules.models import Amendment, RuleSet
from firm.rules.services import amend, save_rule_set
from inspections.comments.services import comment_on
from inspections.demo.decks import DECKS
from inspections.demo.scenes import draw
from inspections.demo.story import FIRM, PEOPLE, RULE_SETS, VISITS, Noted, Shot, Told
from inspections.findings.models import Defect, Finding
from inspections.findings.services import record_finding
from inspections.photos.models import RenditionJob
from inspections.photos.renditions import make_renditions
from inspections.photos.services import take_in_photo
from inspections.reports.giving import make_link
from inspections.reports.services import issue_report
from inspections.survey.models import Reading
from inspections.survey.services import add_part, record_reading
from inspections.visits.busy import inspectors_day
from inspections.visits.models import Visit
from inspections.visits.services import begin, call_off, hand_in, send_back

# The visit whose client's link is printed at the first start.
SHOWN = "slope"
TRAVEL_MINUTES = 25


def is_empty() -> bool:
    """Whether nobody has begun to use this database: no people and no clients."""
    return not User.objects.exists() and not Client.objects.exists()


def load_demo(password: str) -> str:
    """Fill an empty database. Returns the token of the shown client's link.

    All or nothing: a start that is interrupted leaves the database empty.
    """
    with transaction.atomic():
        Firm.objects.update_or_create(pk=1, defaults=FIRM)
        people = {name: _person(name, facts, password) for name, facts in PEOPLE.items()}
        _keep_rules(people["admin"])
        visits: dict[str, Visit] = {}
        for told in VISITS:
            visits[told.key] = _tell(told, people, visits)
        _, token = make_link(
            visits[SHOWN], recipient=visits[SHOWN].client.name, email=visits[SHOWN].client.email, by=people["office"]
        )
    return token


def _person(name: str, facts: Mapping[str, Any], password: str) -> User:
    return User.objects.create_user(name, f"{name}@fathomandpost.example", password, **facts)


def _keep_rules(by: User) -> None:
    for rules, town, citation, days_ago, amendments in RULE_SETS:
        values = {name: value for name, value in rules.items() if name != "rules_source"}
        holds_from = timezone.localdate() - timedelta(days=days_ago)
        rule_set = save_rule_set(RuleSet(**values, town=town, citation=citation, holds_from=holds_from), by=by)
        for key, value, unit, where in amendments:
            amend(Amendment(rule_set=rule_set, key=key, value=value, unit=unit, citation=where), by=by)


def _tell(told: Told, people: Mapping[str, User], earlier: Mapping[str, Visit]) -> Visit:
    inspector = people[told.inspector]
    visit = _booked(told, inspector, people["office"], earlier)
    if told.deck or told.shots:
        begin(visit, by=inspector)
        Visit.objects.filter(pk=visit.pk).update(begun_at=visit.starts_at)
        _record_deck(told, visit, inspector)
        for shot in told.shots:
            _take(shot, visit, inspector, told.key)
        for noted in told.findings:
            _note(noted, visit, inspector, told.key)
    if told.until == "called_off":
        call_off(visit, because=told.reason, by=people["office"])
    if told.until in ("handed_in", "sent_back", "released"):
        visit = hand_in(visit, by=inspector, summary=told.summary)
        done_at = visit.ends_at + timedelta(hours=2)
        Visit.objects.filter(pk=visit.pk).update(handed_in_at=done_at)
    for about, words in told.comments:
        thing = visit.findings.first() if about == "finding" else visit.parts.filter(kind=about).first()
        comment_on(visit, {"finding" if about == "finding" else "part": thing}, words, by=people["manager"])
    if told.until == "sent_back":
        send_back(visit, because=told.reason, by=people["manager"])
    if told.until == "released":
        issue_report(visit, by=people["manager"])
    return Visit.objects.get(pk=visit.pk)


def _booked(told: Told, inspector: User, office: User, earlier: Mapping[str, Visit]) -> Visit:
    """A booking. Most lie in the past, which the booking service refuses, so the row is written as it would have."""
    name, email, phone = told.client
    client, _ = Client.objects.get_or_create(name=name, defaults={"email": email, "phone": phone})
    house = Property.objects.filter(street=told.street, town=told.town).first()
    if house is None:
        house = Property(
            client=client,
            street=told.street,
            town=told.town,
            county=told.rules["county"],
            region=told.rules["region"],
            postcode=told.postcode,
            year_built=told.year_built,
            deck_year_built=told.deck_year,
            deck_builder=told.builder,
        )
        propose_rules(house)
        house.save()
    has_time = told.until != "asked_for"
    return Visit.objects.create(
        client=client,
        property=house,
        inspector=inspector if has_time else None,
        booked_by=office,
        state="booked" if has_time else "asked_for",
        purpose=told.purpose,
        starts_at=_when(told, inspector) if has_time else None,
        suits=told.suits,
        asked_at=None if has_time else timezone.now() - timedelta(days=2),
        length_minutes=told.length_minutes,
        travel_minutes=TRAVEL_MINUTES,
        notes=told.notes,
        follows=earlier.get(told.follows),
    )


def _when(told: Told, inspector: User) -> datetime:
    """The hour of the visit, `told.day` days from today; the next working day on which its inspector is free then.

    Today is taken as it is. Days move away from today: a visit of last week stays before today.
    """
    day = timezone.localdate() + timedelta(days=told.day)
    on = timedelta(days=1 if told.day >= 0 else -1)
    clock = time(int(told.hour), round(told.hour % 1 * 60))
    while True:
        starts_at = timezone.make_aware(datetime.combine(day, clock))
        leaves_at = starts_at - timedelta(minutes=TRAVEL_MINUTES)
        ends_at = starts_at + timedelta(minutes=told.length_minutes)
        is_working_day = told.day == 0 or day.weekday() < 5
        if is_working_day and not inspectors_day(inspector, leaves_at, ends_at):
            return starts_at
        day += on


def _record_deck(told: Told, visit: Visit, by: User) -> None:
    if not told.deck:
        return
    deck = DECKS[told.deck]()
    made = []
    for kind in KINDS:
        for facts in deck.get(kind.plural, ()):
            part = add_part(visit, kind.name, by=by, key=facts["id"], name=facts.get("name", ""))
            made.append((part, kind, facts))
    for part, kind, facts in made:
        for fact in kind.facts:
            if fact.name in facts:
                typed, how = _as_typed(fact, facts[fact.name], told)
                record_reading(part, fact.name, typed, how=how, by=by, at=visit.starts_at + timedelta(minutes=20))


def _as_typed(fact: Fact, value: Any, told: Told) -> tuple[str, str]:
    """What an inspector would have typed for a value of the deck, and how it was got."""
    if value == "unknown":
        return "", Reading.How.NOT_REACHABLE
    how = Reading.How.MEASURED
    if fact.name in told.assumed:
        how = Reading.How.ASSUMED
    elif fact.name in told.papers:
        how = Reading.How.PAPERS
    if fact.kind == "yes-no":
        return ("yes" if value else "no"), how
    if fact.kind == "lengths":
        return ", ".join(_tape(one) for one in value), how
    if fact.kind == "length":
        return _tape(value), how
    return str(value), how


def _tape(value_in: float) -> str:
    """As on a tape where it falls on a sixteenth, else in decimal inches (a nail's diameter)."""
    return format_feet_inches(value_in) if value_in * 16 % 1 == 0 else str(value_in)


def _note(noted: Noted, visit: Visit, by: User, seed: str) -> None:
    finding = record_finding(
        Finding(
            visit=visit,
            link=noted.link,
            title=noted.title,
            action=noted.action,
            how_soon=noted.how_soon,
            who=noted.who,
            place=noted.place,
            seen=noted.seen,
            meaning=noted.meaning,
            remedy=noted.remedy,
            defect=Defect.objects.get(slug=noted.defect) if noted.defect else None,
        ),
        by=by,
    )
    for shot in noted.photos:
        _take(shot, visit, by, seed, finding)


def _take(shot: Shot, visit: Visit, by: User, seed: str, finding: Finding | None = None) -> None:
    """Draw a photo, take it in, and make its renditions at once: the report freezes them in the same breath."""
    upload = SimpleUploadedFile(f"{shot.scene}.jpg", draw(shot.scene, seed), "image/jpeg")
    photo = take_in_photo(visit, upload, by=by, finding=finding, link=shot.link, caption=shot.caption)
    run_job(RenditionJob, photo.rendition_job.pk, make_renditions)
