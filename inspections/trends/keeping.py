"""Keeping the index true: one visit at a time as records are handed in, released and corrected; or all of it anew."""

import time
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any

from django.db import connection, transaction
from django.db.models import Count, Exists, F, OuterRef, Q, Subquery
from django.utils import timezone

from inspections.findings.models import Action, Finding
from inspections.reports.models import Report
from inspections.survey.models import Part
from inspections.trends.measured import keep_measured
from inspections.trends.models import (
    BLOCK,
    Bits,
    CountedVisit,
    CountingJob,
    IndexState,
    RepairSpell,
    Trait,
)
from inspections.trends.traits import FINISHED, PRESSING, URGENCY, TraitKey, facts_of
from inspections.trends.unusual import learn_what_is_usual
from inspections.trends.watching import watch
from inspections.visits.models import Visit

BATCH = 500  # rows in one statement
READ = 4096  # visits read together in a rebuild: for fewer, PostgreSQL went through all findings as often
LEARN_EVERY = 25  # visits counted, until what is usual is worked out anew


def count_visit(job: CountingJob) -> None:
    """The work of a `CountingJob`."""
    visit = Visit.objects.get(pk=job.visit_id)
    if visit.state in FINISHED:
        keep_measured(visit)  # outside the lock: the engine takes its time
    refresh([visit.pk])
    watch(timezone.localdate())
    if job.pk % LEARN_EVERY == 0:
        learn_what_is_usual()


@transaction.atomic
def refresh(visit_ids: Collection[int]) -> None:
    """Bring the index up to date with these visits: finished ones are put in, others taken out."""
    state = _lock_the_index()
    found = facts_of(visit_ids)
    counted = {row.visit_id: row for row in CountedVisit.objects.filter(visit__in=visit_ids)}
    for visit_id in visit_ids:
        row, facts = counted.get(visit_id), found.get(visit_id)
        if facts is None:
            if row is not None:
                _set_bits(row.position, set())
                row.delete()
            continue
        if row is None:
            row = CountedVisit(visit_id=visit_id, position=_next_position())
        row.day, row.worst, row.links_seen = facts.day, facts.worst, sorted(facts.links_seen)
        row.save()
        _set_bits(row.position, facts.traits)
    houses = Visit.objects.filter(pk__in=visit_ids).values("property")
    _follow_repairs(Visit.objects.filter(property__in=houses).values_list("property", flat=True).distinct())
    _has_changed(state)


def _lock_the_index() -> IndexState:
    IndexState.objects.get_or_create(pk=1)
    return IndexState.objects.select_for_update().get(pk=1)


def _has_changed(state: IndexState) -> None:
    """The next version: a number that no other state of the index had, also not one before a backup was restored."""
    state.version = max(state.version + 1, time.time_ns() // 1_000_000)
    state.save(update_fields=["version"])


def _next_position() -> int:
    """Positions of visits that were taken out are not given again: an old bitmap would speak of a new visit."""
    last = CountedVisit.objects.order_by("-position").values_list("position", flat=True).first()
    return 0 if last is None else last + 1


def _set_bits(position: int, wanted: set[TraitKey]) -> None:
    """Make the bits at one position say exactly what is wanted, touching only the rows in which something changes."""
    block, place = divmod(position, BLOCK)
    byte, mask = place // 8, 1 << place % 8
    changed, present = [], set()
    for row in Bits.objects.filter(block=block).select_related("trait"):
        key = (row.trait.attribute, row.trait.value, row.trait.word)
        present.add(key)
        if bool(row.bits[byte] & mask) != (key in wanted):
            bits = bytearray(row.bits)
            bits[byte] ^= mask
            row.bits = bytes(bits)
            changed.append(row)
    Bits.objects.bulk_update(changed, ["bits"], batch_size=BATCH)
    missing = wanted - present
    traits = _traits(missing)
    bits = bytearray(BLOCK // 8)
    bits[byte] = mask
    Bits.objects.bulk_create(Bits(trait_id=traits[key], block=block, bits=bytes(bits)) for key in missing)


def _traits(wanted: Collection[TraitKey]) -> dict[TraitKey, int]:
    """The ids of the traits; those that are not there yet are made."""
    if not wanted:
        return {}
    of_attributes = Trait.objects.filter(attribute__in={key[0] for key in wanted})
    known = {(a, v, w): pk for pk, a, v, w in of_attributes.values_list("pk", "attribute", "value", "word")}
    new = [Trait(attribute=a, value=v, word=w) for a, v, w in sorted(set(wanted) - known.keys())]
    for trait in Trait.objects.bulk_create(new, batch_size=BATCH):
        known[trait.attribute, trait.value, trait.word] = trait.pk
    return known


@transaction.atomic
def rebuild(say: Any = lambda words: None) -> int:
    """Make the whole index anew from the records. Returns how many visits are in it."""
    state = _lock_the_index()
    for model in (RepairSpell, CountedVisit, Bits, Trait):  # in this order none refers to one that is gone
        model.objects.all()._raw_delete(connection.alias)  # without reading a hundred thousand rows to delete them
    _read_what_was_never_measured(say)
    ids = list(Visit.objects.filter(state__in=FINISHED).order_by("starts_at", "pk").values_list("pk", flat=True))
    for block, members in enumerate(_pieces(ids, BLOCK)):
        _build_block(block, members)
        say(f"{min(len(ids), (block + 1) * BLOCK)} of {len(ids)} visits")
    _follow_repairs(None)
    learn_what_is_usual()
    _has_changed(state)
    return len(ids)


def _read_what_was_never_measured(say: Any) -> None:
    """A frozen record never changes, so what was once read of it is kept; only others ask the engine."""
    newest = Report.objects.filter(visit=OuterRef("pk")).order_by("-version").values("snapshot_sha256")[:1]
    finished = Visit.objects.filter(state__in=FINISHED).annotate(newest=Subquery(newest))
    is_other = Q(measured__isnull=True) | (Q(newest__isnull=False) & ~Q(measured__of=F("newest")))
    unread = finished.filter(is_other, Exists(Part.objects.filter(visit=OuterRef("pk"))))
    for done, visit in enumerate(unread.iterator(chunk_size=200)):
        keep_measured(visit)
        if done % 100 == 99:
            say(f"{done + 1} records measured")


def _build_block(block: int, visit_ids: Sequence[int]) -> None:
    found: dict[int, Any] = {}
    for members in _pieces(visit_ids, READ):
        found |= facts_of(members)
    bitmaps: dict[TraitKey, bytearray] = defaultdict(lambda: bytearray(BLOCK // 8))
    counted = []
    for place, visit_id in enumerate(visit_ids):
        facts = found[visit_id]
        byte, mask = place // 8, 1 << place % 8
        for key in facts.traits:
            bitmaps[key][byte] |= mask
        counted.append(
            CountedVisit(
                visit_id=visit_id,
                position=block * BLOCK + place,
                day=facts.day,
                worst=facts.worst,
                links_seen=sorted(facts.links_seen),
            )
        )
    CountedVisit.objects.bulk_create(counted, batch_size=BATCH)
    traits = _traits(bitmaps)
    Bits.objects.bulk_create(
        (Bits(trait_id=traits[key], block=block, bits=bytes(bits)) for key, bits in bitmaps.items()), batch_size=BATCH
    )


def _follow_repairs(houses: Iterable[int] | None) -> None:
    """What became of the pressing findings at houses that were gone back to; None: at every house."""
    counted = CountedVisit.objects.annotate(house=F("visit__property"))
    if houses is not None:
        houses = list(houses)
        RepairSpell.objects.filter(found__visit__property__in=houses).delete()
        counted = counted.filter(house__in=houses)
    gone_back_to = counted.order_by().values("house").annotate(visits=Count("pk")).filter(visits__gt=1)
    by_house: dict[int, list[CountedVisit]] = defaultdict(list)
    in_order = counted.filter(house__in=gone_back_to.values("house")).order_by("house", "day", "position")
    for row in in_order.only("day", "links_seen", "position").iterator():
        by_house[row.house].append(row)
    again = list(by_house.values())
    for members in _pieces(again, BATCH):
        findings = _open_findings([row.pk for rows in members for row in rows])
        spells = [spell for rows in members for spell in spells_of(rows, findings)]
        RepairSpell.objects.bulk_create(spells, batch_size=BATCH)


Thing = tuple[str, str]  # link, slug of the defect (empty: own words)


def _open_findings(visit_ids: Collection[int]) -> dict[int, dict[Thing, str]]:
    """By visit, what was not Sound there, each with the most pressing word it got."""
    found: dict[int, dict[Thing, str]] = defaultdict(dict)
    rows = Finding.objects.filter(visit__in=visit_ids, removed_at__isnull=True).exclude(action=Action.SOUND).order_by()
    for visit_id, link, slug, action in rows.values_list("visit", "link", "defect__slug", "action"):
        thing = (link, slug or "")
        known = found[visit_id].get(thing)
        if known is None or URGENCY[action] < URGENCY[known]:
            found[visit_id][thing] = action
    return found


def spells_of(visits: Sequence[CountedVisit], findings: dict[int, dict[Thing, str]]) -> Iterator[RepairSpell]:
    """What became of each pressing finding of one house, its visits given in the order of their days.

    It was seen repaired at the first later visit that looked at its link and did not find it any more. The watch on one
    that was not seen repaired ends with the last visit that looked. A finding that a visit before had made already is
    the same one, not a second.
    """
    for place, row in enumerate(visits):
        for (link, slug), action in findings.get(row.pk, {}).items():
            looked_before = [one for one in visits[:place] if link in one.links_seen]
            known = looked_before and (link, slug) in findings.get(looked_before[-1].pk, {})
            if action not in PRESSING or known:
                continue
            until, is_repaired = None, False
            for later in visits[place + 1 :]:
                if link in later.links_seen and later.day > row.day:
                    until = later
                    if (link, slug) not in findings.get(later.pk, {}):
                        is_repaired = True
                        break
            if until is not None:
                yield RepairSpell(
                    found=row,
                    until=until,
                    link=link,
                    defect=slug,
                    action=action,
                    days=(until.day - row.day).days,
                    is_repaired=is_repaired,
                )


def _pieces(rows: Sequence[Any], size: int) -> Iterator[Sequence[Any]]:
    for start in range(0, len(rows), size):
        yield rows[start : start + size]
