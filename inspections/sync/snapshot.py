"""What a tablet takes along of one visit: the record as it stands, and the forms to go on with it without signal."""

from uuid import UUID

from django.template.loader import render_to_string
from django.urls import reverse

from engine.facts import label
from engine.vocabulary import BY_NAME, FASTENER_KINDS, Fact
from inspections.findings.models import Defect, Finding
from inspections.photos.marks import digest_of
from inspections.survey.deck import VisitRecord, read_record
from inspections.survey.fasteners import ROWS
from inspections.survey.keys import PREFIXES
from inspections.survey.models import Part, Reading
from inspections.survey.pages import FastenerBlock
from inspections.survey.services import version_of
from inspections.survey.sheets import Sheet, sheet_of, shown
from inspections.survey.templatetags.judgement import word
from inspections.survey.wording import KIND_WORDS, STOPS, WATER_KINDS, Stop
from inspections.sync.judging import judging
from inspections.visits.models import Visit

# Stand in the blank forms where the tablet puts the part's own.
BLANK_ID = UUID("00000000-0000-4000-8000-00000000b1a7")
BLANK_KEY = "KEY0"
_LINKS_OF_FINDINGS = [stop.link.value for stop in STOPS]


def snapshot(visit: Visit) -> dict[str, object]:
    """The record of a visit as plain values: small, quick, asked for after every change that is made with signal."""
    record = read_record(visit)
    return {
        "visit": visit.pk,
        "words": f"{visit.property.one_line}, {visit.client.name}",
        "title": record.title,
        "basis": record.basis,
        "judging": judging(),
        "parts": [_part(record, part) for part in record.parts],
        "taken_keys": list(visit.parts.values_list("key", flat=True)),
        "findings": [
            {
                "id": str(one.pk), "link": one.link, "title": one.title, "version": one.changed_at.isoformat(),
                "action": one.get_action_display(), "place": one.place,
                "check": one.check_id, "part": one.part.key if one.part else "",
            }
            for one in visit.findings.filter(removed_at__isnull=True).select_related("part")
        ],
    }  # fmt: skip


def kit(visit: Visit) -> dict[str, object]:
    """What does not change while a visit is written: blank sheets, the stops, the words, the catalogue, the pages."""
    return {
        "kinds": {
            name: {
                "words": KIND_WORDS[name][0],
                "prefix": PREFIXES[name],
                "facts": {
                    fact.name: {
                        "kind": fact.kind, "refers_to": fact.refers_to, "required": fact.required,
                        "choices": list(fact.choices), **_range(fact),
                    }
                    for fact in kind.facts
                },
            }
            for name, kind in BY_NAME.items()
        },
        "stops": {stop.slug: list(WATER_KINDS if stop.slug == "water" else stop.kinds) for stop in STOPS},
        "links": {stop.slug: stop.link.value for stop in STOPS},
        "sheets": {stop.slug: _blank_sheets(visit, stop) for stop in STOPS},
        "fasteners": _blank_fasteners(visit),
        "find_out": word("find_out"),
        "catalogue": {
            str(one.pk): {
                "title": one.title, "meaning": one.meaning, "remedy": one.remedy, "action": one.action,
                "check": one.check_id,
            }
            for one in Defect.objects.filter(is_offered=True)
        },
        "pages": pages(visit),
        "photos": photo_pages(visit),
    }  # fmt: skip


def _range(fact: Fact) -> dict[str, object]:
    """What a length may be: the tablet refuses a row of fasteners beyond it while the tape is still in the hand."""
    return {"low": fact.low, "high": fact.high, "label": label(fact)} if fact.kind == "length" else {}


def pages(visit: Visit) -> list[str]:
    """The addresses to be kept on the tablet."""
    found = [reverse("walk", args=[visit.pk]), reverse("visit-detail", args=[visit.pk])]
    found += [reverse("walk-link", args=[visit.pk, stop.slug]) for stop in STOPS]
    found += [reverse("finding-list", args=[visit.pk]), reverse("finding-new", args=[visit.pk])]
    found += [reverse("finding-new", args=[visit.pk], query={"link": link}) for link in _LINKS_OF_FINDINGS]
    standing = Finding.objects.filter(visit=visit, removed_at__isnull=True)
    found += [reverse("finding-edit", args=[visit.pk, one]) for one in standing.values_list("pk", flat=True)]
    return [*found, reverse("photo-add", args=[visit.pk])]


def photo_pages(visit: Visit) -> list[dict[str, object]]:
    """The pages of each photo that is ready, with what tells one state of them from another."""
    return [
        {
            "id": str(one.pk),
            "pages": [reverse("photo-edit", args=[one.pk]), reverse("photo-marks", args=[one.pk])],
            "version": f"{digest_of(one.marks)} {one.caption}",
        }
        for one in visit.photos.standing().exclude(screen="").order_by("-created_at", "pk")
    ]


def _part(record: VisitRecord, part: Part) -> dict[str, object]:
    readings = {}
    for fact in part.vocabulary.facts:
        reading = record.readings[part.key].get(fact.name)
        if reading is not None:
            how, text = shown(fact, reading)
            readings[fact.name] = {
                "text": text, "how": how, "value": reading.value, "version": version_of(reading),
            }  # fmt: skip
    return {
        "id": str(part.pk), "kind": part.kind, "key": part.key, "name": part.name, "readings": readings,
    }  # fmt: skip


def _blank(visit: Visit, kind: str) -> tuple[VisitRecord, Part]:
    part = Part(id=BLANK_ID, visit=visit, kind=kind, key=BLANK_KEY)
    return VisitRecord((part,), {BLANK_KEY: {}}, title="", basis={}, visit=visit), part


def _blank_sheets(visit: Visit, stop: Stop) -> dict[str, str]:
    is_water = stop.slug == "water"
    found = {}
    for kind in WATER_KINDS if is_water else stop.kinds:
        record, part = _blank(visit, kind)
        sheet = _without_time(sheet_of, record, part, is_water)
        found[kind] = render_to_string("inspections/survey/_part.html", _context(visit, stop, sheet=sheet))
    return found


def _without_time(draw, record: VisitRecord, part: Part, is_water: bool) -> Sheet:
    from django.utils import timezone

    part.created_at = timezone.now()
    return draw(record, part, only_water=is_water)


def _blank_fasteners(visit: Visit) -> str:
    stop = next(stop for stop in STOPS if "ledger" in stop.kinds)
    _, ledger = _blank(visit, "ledger")
    block = FastenerBlock(ledger, "", [], None)
    return render_to_string("inspections/survey/_fasteners.html", _context(visit, stop, block=block))


def _context(visit: Visit, stop: Stop, **more: object) -> dict[str, object]:
    return {
        "visit": visit, "stop": stop, "hows": Reading.How.choices, "may_write": True, "loose": {},
        "fastener_kinds": FASTENER_KINDS, "rows_words": ROWS, **more,
    }  # fmt: skip
