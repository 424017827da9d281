"""Writing the record: a fact, a sheet, a part more or less. Each answers with what changed on the page."""

from json import dumps
from uuid import UUID

from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from engine.vocabulary import BY_NAME
from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.survey.deck import read_record
from inspections.survey.fasteners import ROWS, Pattern, add_fasteners, answer_of_row
from inspections.survey.models import Part
from inspections.survey.pages import Said, address_of, link_context
from inspections.survey.saving import save_sheet
from inspections.survey.services import (
    NotYours,
    RecordClosed,
    Unreadable,
    add_part,
    copy_readings,
    parts_that_fall,
    remove_part,
    version_of,
)
from inspections.survey.signals import entry_written
from inspections.survey.typed import read
from inspections.survey.views import visit_seen_by
from inspections.survey.wording import KIND_WORDS, STOP_OF_KIND, stop_for
from inspections.visits.models import Visit

_REFUSALS = (RecordClosed, NotYours, Unreadable)


def _own_visit(request, pk: int) -> Visit:
    visit = visit_seen_by(request.user, pk)
    if visit.inspector_id != request.user.pk:
        raise Http404  # a manager who inspects, too, reads the records of others and writes only his or her own
    return visit


def _standing_part(visit: Visit, part_id) -> Part:
    part = get_object_or_404(visit.parts.filter(removed_at__isnull=True), pk=part_id)
    part.visit = visit
    return part


@needs(Capability.RECORD)
@require_POST
def reading_record(request, pk, part):
    """One fact (`?fact=span_in`, as the page sends it on a change) or the whole sheet."""
    visit = _own_visit(request, pk)
    part = _standing_part(visit, part)
    stop, only = stop_for(part.kind, request.GET.get("link", "")), request.GET.get("fact", "")
    if only and only not in part.vocabulary.index:
        raise Http404
    said, answer = _save(request, part, only)
    status = 422 if said.is_refused else 200
    if not wants_fragment(request) and status == 200:
        record_part = visit.parts.get(pk=part.pk)
        return redirect(_back_to(visit, stop, record_part))
    chosen = part.key if part.kind == "fastener" else ""
    visit.refresh_from_db(fields=["state", "begun_at"])
    context = link_context(visit, stop, request.user, chosen=chosen, said=said)
    if not wants_fragment(request):
        return render(request, "inspections/survey/link.html", context, status=status)
    swapped = {**context, **_swapped(context, part, only)}
    return _answered(render(request, "inspections/survey/_saved.html", swapped, status=status), answer)


@transaction.atomic
def _save(request, part: Part, only: str) -> tuple[Said, dict[str, object]]:
    """What was sent, written; an entry that a tablet keeps under an id until it is answered counts as done with it."""
    said = save_sheet(part, request.POST, only=only, by=request.user)
    if said.is_refused:
        return said, {}
    if not only:  # of a whole sheet, only what the part is called is not on its way fact by fact
        payload = {"part": str(part.pk), "name": part.name}
        return said, _noted(request, part.visit, "name_part", payload, {"version": part.name})
    reading = part.readings.filter(fact=only).first()
    typed = {"typed": reading.typed, "how": reading.how} if reading else {}
    kind, payload = "record_reading" if reading else "clear_reading", {"part": str(part.pk), "fact": only, **typed}
    return said, _noted(request, part.visit, kind, payload, {"version": version_of(reading)})


def _noted(request, visit: Visit, kind: str, payload: dict[str, object], answer: dict[str, object]) -> dict:
    """The answer to an entry that the tablet keeps under an id, once those who follow the record were told of it."""
    operation = _operation_of(request)
    if operation is None:
        return {}
    entry_written.send(
        Part, operation=operation, visit=visit, kind=kind, payload=payload, answer=answer, by=request.user
    )
    return answer


def _answered(response: HttpResponse, answer: dict[str, object]) -> HttpResponse:
    """The page with what the tablet is told beside it: it goes on from there, should the signal go now."""
    if answer:
        response["X-Operation-Answer"] = dumps(answer)
    return response


def _operation_of(request) -> UUID | None:
    try:
        return UUID(request.headers.get("X-Operation", ""))
    except ValueError:
        return None


def _swapped(context, part: Part, only: str) -> dict[str, object]:
    """Which piece of the page the answer replaces: the fact, or the sheet; the rest of it rides along."""
    sheets = [sheet for sheet, _ in context["sheets"]]
    block = next((block for _, block in context["sheets"] if block and block.chosen), None)
    if block:
        sheets.append(block.chosen)
    sheet = next(one for one in sheets if one.part.pk == part.pk)
    entry = next((one for one in sheet.entries if one.name == only), None)
    return {"sheet": sheet, "entry": entry, "block": None, "strip_block": block, "oob": True, "all_sheets": sheets}


def _back_to(visit: Visit, stop, part: Part) -> str:
    if part.kind == "fastener" or stop.slug == STOP_OF_KIND[part.kind].slug:
        ledger = part.readings.filter(fact="ledger").values_list("value", flat=True).first() or ""
        return address_of(visit, part, ledger)
    return f"{redirect('walk-link', visit.pk, stop.slug).url}#part-{part.key}"


@needs(Capability.RECORD)
@require_POST
def part_add(request, pk):
    visit = _own_visit(request, pk)
    kind = request.POST.get("kind", "")
    if kind not in BY_NAME:
        raise Http404
    stop = STOP_OF_KIND[kind]
    references = {name: request.POST[name] for name in BY_NAME[kind].references if request.POST.get(name)}
    try:
        part = add_part(visit, kind, by=request.user, readings=references)
    except _REFUSALS as refusal:
        said = Said(problem=str(refusal))
        return render(
            request, "inspections/survey/link.html", link_context(visit, stop, request.user, said=said), status=422
        )  # fmt: skip
    return redirect(address_of(visit, part))


@needs(Capability.RECORD)
@require_http_methods(["GET", "POST"])
def part_remove(request, pk, part):
    """Ask first: with a beam go its posts and their footings."""
    visit = _own_visit(request, pk)
    part = _standing_part(visit, part)
    stop = STOP_OF_KIND[part.kind]
    problem = ""
    if request.method == "POST":
        try:
            remove_part(part, by=request.user)
            return redirect("walk-link", visit.pk, stop.slug)
        except _REFUSALS as refusal:
            problem = str(refusal)
    falling = [one for one in parts_that_fall(part, list(read_record(visit).parts)) if one.pk != part.pk]
    context = {
        "visit": visit, "part": part, "stop": stop, "falling": falling, "problem": problem,
        "kind_words": KIND_WORDS[part.kind][0],
    }  # fmt: skip
    return render(request, "inspections/survey/remove.html", context, status=422 if problem else 200)


@needs(Capability.RECORD)
@require_POST
def part_same(request, pk, part):
    """Copy what the sibling before it has; what was recorded already stays."""
    visit = _own_visit(request, pk)
    part = _standing_part(visit, part)
    source = get_object_or_404(
        visit.parts.filter(removed_at__isnull=True, kind=part.kind), key=request.POST.get("source", "")
    )
    try:
        copy_readings(part, source, by=request.user)
    except _REFUSALS as refusal:
        stop = STOP_OF_KIND[part.kind]
        context = link_context(visit, stop, request.user, said=Said(problem=str(refusal)))
        return render(request, "inspections/survey/link.html", context, status=422)
    return redirect(_back_to(visit, STOP_OF_KIND[part.kind], part))


@needs(Capability.RECORD)
@require_POST
def fasteners_add(request, pk, part):
    """A row of fasteners by its spacing, or a single one where `every` is left empty."""
    visit = _own_visit(request, pk)
    ledger = _standing_part(visit, part)
    if ledger.kind != "ledger":
        raise Http404
    typed = {
        name: request.POST.get(name, "").strip()
        for name in ("first", "every", "last", "row", "fastener", "diameter_in", "length_in")
    }
    said = Said(pattern=typed, pattern_of=ledger.key)
    added, answer = [], {}
    try:
        added, answer = _add_row(request, ledger, typed)
    except _REFUSALS as refusal:
        said.pattern_error = str(refusal)
    if added and not wants_fragment(request):
        return redirect(address_of(visit, added[0], ledger.key))
    visit.refresh_from_db(fields=["state", "begun_at"])
    chosen = added[0].key if len(added) == 1 else ""
    stop = STOP_OF_KIND["ledger"]
    if added:
        said = Said(pattern_of=ledger.key, pattern={**typed, "first": "", "last": ""})
    context = link_context(visit, stop, request.user, chosen=chosen, said=said)
    status = 200 if added else 422
    if not wants_fragment(request):
        return render(request, "inspections/survey/link.html", context, status=status)
    block = next(block for sheet, block in context["sheets"] if block and block.ledger.pk == ledger.pk)
    swapped = {
        **context,
        "block": block,
        "oob": True,
        "sheet": None,
        "all_sheets": [one for one, _ in context["sheets"]],
    }
    return _answered(render(request, "inspections/survey/_saved.html", swapped, status=status), answer)


@transaction.atomic
def _add_row(request, ledger: Part, typed: dict[str, str]) -> tuple[list[Part], dict[str, object]]:
    """The fasteners of a row, under the ids that a tablet gave them where it keeps them until they are answered."""
    if typed["row"] and typed["row"] not in ROWS:
        raise Unreadable("Say which row: staggered, upper, lower or middle.")
    facts = {name: typed[name] for name in ("fastener", "diameter_in", "length_in")}
    places = _positions_in(ledger, typed)
    ids = request.POST.get("part_ids", "").split()
    added = add_fasteners(
        ledger, places, by=request.user, facts=facts, row=typed["row"],
        part_ids=ids if len(ids) == len(places) else None,
    )  # fmt: skip
    parts = [{"id": str(one.pk), "position_in": place} for one, place in zip(added, places, strict=True)]
    payload = {"ledger": str(ledger.pk), "row": typed["row"], "facts": facts, "parts": parts}
    return added, _noted(request, ledger.visit, "add_fasteners", payload, answer_of_row(added))


def _positions_in(ledger: Part, typed: dict[str, str]) -> list[float]:
    place = BY_NAME["fastener"].index["position_in"]
    every = BY_NAME["joist_field"].index["spacing_in"]
    length = ledger.readings.filter(fact="length_in").values_list("value", flat=True).first()
    first_in = _read(place, typed["first"], "First one")
    if not typed["every"]:
        return [first_in]
    if typed["last"]:
        last_in = _read(place, typed["last"], "Last one")
    elif isinstance(length, int | float):
        last_in = float(length)
    else:  # not known, or one of several
        raise Unreadable("Say where the last one is, or record the length of the ledger first.")
    return Pattern(first_in, _read(every, typed["every"], "Every"), last_in).positions_in()


def _read(fact, typed: str, name: str) -> float:
    try:
        value = read(fact, typed)
    except Unreadable as error:
        raise Unreadable(f"{name}: {error.reason}") from error
    if not isinstance(value, int | float):
        raise Unreadable(f"{name}: say one length here. A doubt can be told of each fastener when it is in the record.")
    return float(value)
