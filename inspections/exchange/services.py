import csv
import tempfile
from collections import Counter
from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.core.files.base import File
from django.db import transaction
from django.utils import timezone

from firm import audit
from firm.clients.models import Client
from firm.jobs.bell import ring
from firm.jobs.work import GiveUp
from firm.people.models import User
from firm.properties.forms import RULES
from firm.properties.models import Property
from firm.properties.services import propose_rules
from firm.web.sheets import safe_cell
from inspections.exchange.fates import HEAD, WORDS
from inspections.exchange.judging import ADDED, REFUSED, SKIPPED, WARNED, Fate, judge
from inspections.exchange.models import Export, Import
from inspections.exchange.reading import CannotBeRead, read_table
from inspections.visits.busy import refuse_if_busy
from inspections.visits.models import Visit
from inspections.visits.refusals import InspectorBusy

MOST_TOLD = 500  # in the row of the job itself; the file has every one
BATCH = 500


@transaction.atomic
def look_at(file: File, what: str, *, by: User) -> Import:
    """Have a worker look at the table, without writing any of it."""
    job = Import(what=what, name=file.name[-200:], by=by)
    job.file.save("table", file, save=False)
    job.save()
    audit.record(by, "sent in", job)
    ring(job)
    return job


@transaction.atomic
def take_over(job: Import, *, by: User) -> bool:
    """Have a worker write what was looked at. False unless no row was refused."""
    locked = Import.objects.select_for_update().get(pk=job.pk)
    if not locked.may_be_taken_over:
        return False
    Import.objects.filter(pk=locked.pk).update(
        is_for_real=True,
        state="waiting",
        max_attempts=locked.attempt + 3,
        available_at=timezone.now(),
        finished_at=None,
    )
    locked.refresh_from_db()
    audit.record(by, "asked to take over", locked)
    ring(locked)
    return True


@transaction.atomic
def ask_for_export(by: User) -> Export:
    job = Export.objects.create(by=by)
    audit.record(by, "asked for", job)
    ring(job)
    return job


def run(job: Import) -> dict[str, Any]:
    """What the worker does: look at every row and, for real, write all of them or none."""
    if job.taken_over_at:
        return {}  # an earlier attempt wrote it and died before it could say "done"
    job.say("Reading", 5)
    try:
        outcome = _look(job)
        if job.is_for_real:
            if outcome["refused"]:
                return {**outcome, "is_for_real": False}  # something changed since it was looked at: shown again
            _write(job, outcome)
    except CannotBeRead as error:
        raise GiveUp(str(error)) from error
    return outcome


def _look(job: Import) -> dict[str, Any]:
    counts, told = Counter(), []
    with job.file.open("rb") as file, tempfile.TemporaryFile("w+", dir=settings.DATA_DIR, newline="") as every:
        table = read_table(file, job.name)
        rows = csv.writer(every)
        every.write("\ufeff")
        rows.writerow(HEAD)
        for fate in _fates(job, table):
            counts[fate.fate] += 1
            rows.writerow((fate.line, WORDS[fate.fate], safe_cell(fate.why)))
            if fate.fate != ADDED and len(told) < MOST_TOLD:
                told.append([fate.line, fate.fate, fate.why[:300]])
        every.flush()
        name = f"exchange/fates/import-{job.pk}.csv"
        job.fates_file.storage.delete(name)  # of an earlier look
        job.fates_file.save(name.rpartition("/")[2], File(every.buffer), save=False)
    told.sort(key=lambda one: one[1] != REFUSED)  # the others stay as they stand in the table
    return {
        "fates_file": job.fates_file.name,
        "format": table.format,
        "added": counts[ADDED] + counts[WARNED],
        "warned": counts[WARNED],
        "skipped": counts[SKIPPED],
        "refused": counts[REFUSED],
        "fates": told,
    }


def _fates(job: Import, table: Any) -> Iterator[Fate]:
    """Of visits also whether the inspector is free, which only shows as each is put in; nothing of it stays."""
    if job.what != Import.What.VISITS:
        yield from judge(job.what, table)
        return
    taken: dict[int, list[Visit]] = {}
    for fate in judge(job.what, table):
        visit = fate.row
        if visit is not None:
            try:
                refuse_if_busy(visit)
                if any(
                    v.leaves_at < visit.ends_at and visit.leaves_at < v.ends_at
                    for v in taken.get(visit.inspector_id, ())
                ):
                    raise InspectorBusy(visit, f"{visit.inspector.display_name} is at another visit of this file then.")
            except InspectorBusy as refusal:
                fate = Fate(fate.line, REFUSED, f"time: {refusal}")
            else:
                taken.setdefault(visit.inspector_id, []).append(visit)
        yield fate


def _write(job: Import, outcome: dict[str, Any]) -> None:
    """In one transaction, with one audit line for all: the file stays as the proof of what was taken over."""
    # Judged before the transaction, which on SQLite lets nobody else write: 50,000 rows take a while.
    rows = [] if job.what == Import.What.VISITS else _rows(job)
    with transaction.atomic():
        if job.what == Import.What.VISITS:
            # As booking does: whoever books one of these people at this moment waits here.
            list(User.objects.select_for_update(no_key=True).filter(is_inspector=True).order_by("pk"))
            rows = _rows(job)
        if len(rows) != outcome["added"]:
            raise CannotBeRead("Something was changed while it was taken over. Nothing was written; look at it again.")
        for some in _in_batches(iter(rows)):
            _WRITERS[job.what](some, job.by)
        Import.objects.filter(pk=job.pk).update(taken_over_at=timezone.now())
        audit.record(job.by, "took over", job, after={"what": job.what, "rows": len(rows), "file": job.file.name})


def _rows(job: Import) -> list[Any]:
    with job.file.open("rb") as file:
        return [fate.row for fate in _fates(job, read_table(file, job.name)) if fate.row is not None]


def _in_batches(rows: Iterator[Any]) -> Iterator[list[Any]]:
    some: list[Any] = []
    for row in rows:
        some.append(row)
        if len(some) == BATCH:
            yield some
            some = []
    if some:
        yield some


def _write_clients(clients: list[Client], by: User) -> None:
    for client in clients:
        client.set_search_words()
    Client.objects.bulk_create(clients)


def _write_houses(houses: list[Property], by: User) -> None:
    rules: dict[tuple[str, str, str], Property] = {}
    for house in houses:
        place = (house.region, house.county, house.town)
        if place not in rules:
            propose_rules(house)
            rules[place] = house
        for name in (*RULES, "county"):
            setattr(house, name, getattr(rules[place], name))
        house.set_search_words()
    Property.objects.bulk_create(houses)
    owners = list(Client.objects.filter(pk__in={house.client_id for house in houses}))
    for client in owners:
        client.set_search_words()
    Client.objects.bulk_update(owners, ["search_text", "search_all"])


def _write_visits(visits: list[Visit], by: User) -> None:
    for visit in visits:
        visit.booked_by = by
    Visit.objects.bulk_create(visits)


_WRITERS = {"clients": _write_clients, "properties": _write_houses, "visits": _write_visits}
