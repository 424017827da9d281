"""Past visits of the invented firm in any number, with known rates planted in them.

They are written straight into the tables, as if entered from the paper records of the years before: record and
findings, but no photos and no issued report. The rates are the constants below; whoever counts must find them again.
"""

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any
from uuid import UUID
from zlib import crc32

from django.db.models import Model
from django.utils import timezone

from engine.vocabulary import BY_NAME
from firm.clients.keys import address_key
from firm.clients.models import Client
from firm.people.models import User
from firm.properties.models import Property
from inspections.findings.models import Action, Defect, Finding
from inspections.survey.models import Part, Reading
from inspections.trends.models import MeasuredRecord
from inspections.visits.models import Visit

BATCH = 2000  # rows in one statement
AT_A_TIME = 200  # visits; a house can be gone back to from the next lot on
NOTE = "Entered from the paper record of the visit; its report was written on paper."
FIRST_NAMES = (
    "Alma",
    "Bruno",
    "Carys",
    "Dov",
    "Edda",
    "Faro",
    "Greta",
    "Hollis",
    "Ilse",
    "Joss",
    "Kit",
    "Lena",
    "Milo",
    "Nell",
)
LAST_NAMES = (
    "Arden",
    "Brask",
    "Corley",
    "Dunmore",
    "Eklund",
    "Farrow",
    "Gant",
    "Hewes",
    "Ibsley",
    "Jarrow",
    "Kell",
    "Lund",
)
ROADS = (
    "Plover Road",
    "Weir Lane",
    "Tern Street",
    "Quarry Hill",
    "Sallow Way",
    "Mast Row",
    "Hazel Bank",
    "Cooper Street",
)
TOWNS = (
    ("Quillan Harbor", "Sele"),
    ("Upper Quillan", "Harrow"),
    ("Corran", "Sele"),
    ("Stell Bridge", "Harrow"),
    ("Wick Landing", "Marl"),
)
BUILDERS = ("Previous owner", "Larch & Son", "Tidewater Carpentry", "Owner", "Hill Country Decks", "")
DECADES = ((1970, 0.10), (1980, 0.22), (1990, 0.28), (2000, 0.22), (2010, 0.12), (0, 0.06))

# Chance that a defect is found on a visit: one of these, told by its slug, so that a new entry of the catalogue changes
# no other's. Those of which something more is planted below are frequent enough for it to be seen.
BASE_RATES = (0.20, 0.04, 0.12, 0.08)
OWN_RATES = {
    "ledger-nailed-only": 0.12,
    "guard-too-low": 0.12,
    "decay-in-frame": 0.20,
    "no-ledger-flashing": 0.12,
    "rust-on-fasteners": 0.08,
}
OLD_DECKS = {"ledger-nailed-only": 2.5, "guard-too-low": 2.0}  # times as likely on a deck built before 1990
TOGETHER = ("decay-in-frame", "no-ledger-flashing", 3.0)  # where the first was found, the second is so much likelier
LATELY = ("rust-on-fasteners", 4.0)  # times as likely in the last LATELY_DAYS days
LATELY_DAYS = 120
LENIENT = 0.5  # of what others call Put right, the last inspector calls half Look after
REPAIRED_PER_DAY = 1 / 120  # a pressing finding is repaired after 120 days on average
REVISITED = 0.15  # share of the visits that are a second look at an earlier house

# A part of every link that a defect of the catalogue hangs on, so that a later visit has looked at it.
KINDS = ("level", "ledger", "joist_field", "beam", "post", "footing", "guard", "stair")


@dataclass(frozen=True)
class Planted:
    """What was written, for whoever counts it again."""

    visits: int
    findings: int


def base_rate(slug: str, scale: float) -> float:
    return min(0.6, OWN_RATES.get(slug, BASE_RATES[crc32(slug.encode()) % len(BASE_RATES)]) * scale)


def plant(
    count: int,
    inspectors: Sequence[User],
    *,
    seed: int = 4,
    days: int = 1100,
    scale: float = 0.5,
    until_days_ago: int = 45,
    kinds: Sequence[str] = KINDS,
) -> Planted:
    """Write `count` released visits of the `days` before, two of an inspector on a day at the most.

    `scale` multiplies the base rates: 1 gives about seven findings a visit. `kinds` are the parts that are recorded.
    """
    chance = random.Random(seed)  # noqa: S311 (invented data that must come out the same again)
    return _Writer(count, list(inspectors), chance, days, scale, until_days_ago, kinds).write()


class _Writer:
    def __init__(
        self,
        count: int,
        inspectors: list[User],
        chance: random.Random,
        days: int,
        scale: float,
        until_days_ago: int,
        kinds: Sequence[str],
    ) -> None:
        self.kinds = kinds
        self.count, self.inspectors, self.chance, self.days = count, inspectors, chance, days
        self.scale, self.until_days_ago = scale, until_days_ago
        self.defects = sorted(Defect.objects.exclude(slug__startswith="t-"), key=lambda defect: defect.slug)
        self.today = timezone.localdate()
        self.open_at: dict[int, dict[str, int]] = {}  # house -> defect -> days ago when it was first found
        self.houses: list[Property] = []

    def write(self) -> Planted:
        findings = 0
        for times in _pieces(list(self._times()), AT_A_TIME):
            findings += self._write_batch(times)
        return Planted(self.count, findings)

    def _times(self) -> Iterator[tuple[int, int, User]]:
        """(days ago, hour, inspector), the oldest first, never two at once for one inspector."""
        slots = [
            (ago, hour, who)
            for ago in range(self.until_days_ago, self.until_days_ago + self.days)
            for hour in (9, 13)
            for who in self.inspectors
        ]
        if len(slots) < self.count:
            raise ValueError(f"{self.count} visits need more than {len(slots)} times; give more days or inspectors")
        yield from sorted(self.chance.sample(slots, self.count), key=lambda slot: (-slot[0], slot[1], slot[2].pk))

    def _write_batch(self, times: Sequence[tuple[int, int, User]]) -> int:
        chance = self.chance
        again = [bool(self.houses) and chance.random() < REVISITED for _ in times]
        fresh = [self._house() for is_again in again if not is_again]
        _store(Client, [house.client for house in fresh])
        for house in fresh:
            house.client_id = house.client.pk
        new_houses = iter(_store(Property, fresh))
        places = [chance.choice(self.houses) if is_again else next(new_houses) for is_again in again]
        self.houses += [place for place, is_again in zip(places, again, strict=True) if not is_again]
        visits = _store(Visit, [self._visit(place, *slot) for place, slot in zip(places, times, strict=True)])
        findings = [one for visit, slot in zip(visits, times, strict=True) for one in self._findings(visit, slot[0])]
        _store(Finding, findings)
        parts = [part for visit in visits for part in self._parts(visit)]
        _store(Part, parts)
        _store(Reading, [reading for part in parts for reading in self._readings(part)])
        _store(MeasuredRecord, [self._measured(visit) for visit in visits])
        return len(findings)

    def _house(self) -> Property:
        """A house and its client, with the words that searches compare; neither stored yet."""
        chance = self.chance
        client = Client(name=f"{chance.choice(FIRST_NAMES)} {chance.choice(LAST_NAMES)}")
        town, county = chance.choices(TOWNS, (5, 3, 2, 2, 1))[0]
        decade = chance.choices([one for one, _ in DECADES], [weight for _, weight in DECADES])[0]
        house = Property(
            client=client,
            street=f"{chance.randrange(1, 240)} {chance.choice(ROADS)}",
            town=town,
            county=county,
            region="Tarrant Shore",
            deck_year_built=decade + chance.randrange(10) if decade else None,
            deck_builder=chance.choice(BUILDERS),
            is_near_salt_water=town == "Corran",
        )
        house.search_text = address_key(house.street, house.town, house.county, house.region, house.postcode)
        client.set_search_words()
        client.search_all = f"{client.search_all}{house.search_text} "
        return house

    def _visit(self, place: Property, ago: int, hour: int, who: User) -> Visit:
        starts_at = timezone.make_aware(datetime.combine(self.today - timedelta(days=ago), time(hour)))
        visit = Visit(
            client_id=place.client_id,
            property=place,
            inspector=who,
            state=Visit.State.RELEASED,
            starts_at=starts_at,
            length_minutes=90,
            notes=NOTE,
            begun_at=starts_at,
            handed_in_at=starts_at + timedelta(minutes=50 + int(self.chance.expovariate(1 / 40))),
            released_at=starts_at + timedelta(days=1),
        )
        visit.set_times()
        return visit

    def _findings(self, visit: Visit, ago: int) -> Iterator[Finding]:
        """What is found: what was open at this house and is not repaired, and what is new."""
        chance = self.chance
        is_old = (visit.property.deck_year_built or 9999) < 1990
        known = self.open_at.setdefault(visit.property_id, {})
        is_second_look = bool(known)
        for slug, since in list(known.items()):
            if chance.random() < 1 - math.exp(-(since - ago) * REPAIRED_PER_DAY):
                del known[slug]
        found = set(known)
        if not is_second_look:
            for defect in self.defects:
                if chance.random() < self.rate(defect.slug, is_old=is_old, ago=ago, found=found):
                    found.add(defect.slug)
        for defect in self.defects:
            if defect.slug in found:
                action = self._word(defect, visit)
                known.setdefault(defect.slug, ago)
                yield Finding(
                    id=UUID(int=chance.getrandbits(128), version=4),
                    visit=visit,
                    link=defect.link,
                    defect=defect,
                    title=defect.title,
                    action=action,
                    how_soon=Finding.HowSoon.THREE_MONTHS,
                    remedy=defect.remedy,
                    by=visit.inspector,
                )

    def rate(self, slug: str, *, is_old: bool, ago: int, found: set[str]) -> float:
        rate = base_rate(slug, self.scale)
        if is_old:
            rate *= OLD_DECKS.get(slug, 1)
        if slug == LATELY[0] and ago < self.until_days_ago + LATELY_DAYS:
            rate *= LATELY[1]
        if slug == TOGETHER[1] and TOGETHER[0] in found:
            rate *= TOGETHER[2]
        return min(0.95, rate)

    def _word(self, defect: Defect, visit: Visit) -> str:
        is_lenient = visit.inspector == self.inspectors[-1] and len(self.inspectors) > 1
        if defect.action == Action.PUT_RIGHT and is_lenient and self.chance.random() < LENIENT:
            return Action.LOOK_AFTER
        return defect.action

    def _parts(self, visit: Visit) -> Iterator[Part]:
        for number, kind in enumerate(self.kinds):
            yield Part(
                id=UUID(int=self.chance.getrandbits(128), version=4),
                visit=visit,
                kind=kind,
                key=f"{kind[:2].upper()}{number}",
            )

    def _readings(self, part: Part) -> Iterator[Reading]:
        if part.kind != "level":
            return
        chance = self.chance
        values: dict[str, Any] = {
            "height_in": round(chance.uniform(18, 150) * 8) / 8,
            "stands": "on a ledger" if chance.random() < 0.8 else "free-standing",
        }
        for fact, value in values.items():
            assert fact in BY_NAME["level"].index
            how = Reading.How.ASSUMED if chance.random() < 0.2 else Reading.How.MEASURED
            yield Reading(part=part, fact=fact, value=value, how=how, by=part.visit.inspector, at=part.visit.starts_at)

    def _measured(self, visit: Visit) -> MeasuredRecord:
        """The checks of the paper record: a gap in the ledger and a guard height, against what the tables ask."""
        chance = self.chance
        allowed, gap = chance.choice((15.0, 18.0, 23.0)), round(chance.lognormvariate(2.9, 0.35))
        height = round(chance.gauss(34.5 if (visit.property.deck_year_built or 2000) < 1990 else 36.5, 1.5) * 4) / 4
        checks = {
            "ledger.spacing": _answer(gap, allowed, "in"),
            "guard.height": _answer(36.0, height, "in"),
            "joist.bending": _answer(round(900 * chance.lognormvariate(0, 0.25)), 1150.0, "psi"),
        }
        return MeasuredRecord(visit=visit, of=visit.handed_in_at.isoformat(), checks=checks)


def _answer(demand: float, capacity: float, unit: str) -> list[Any]:
    ratio = demand / capacity
    return ["fails" if ratio > 1 else "holds", ratio, demand, capacity, unit]


def _store(model: type[Model], rows: list[Any]) -> list[Any]:
    return model._default_manager.bulk_create(rows, batch_size=BATCH)


def _pieces(rows: Sequence[Any], size: int) -> Iterator[Sequence[Any]]:
    for start in range(0, len(rows), size):
        yield rows[start : start + size]
