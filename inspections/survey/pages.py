"""What the pages of the walk show, put together once for the page and for the parts of it that are swapped."""

from dataclasses import dataclass, field

from django.urls import reverse

from engine.vocabulary import BY_NAME, FASTENER_KINDS, Link
from inspections.drawings.plan import draw_plan
from inspections.drawings.section import draw_section
from inspections.findings.services import open_findings
from inspections.survey import shown
from inspections.survey.chain import chain_of
from inspections.survey.deck import VisitRecord, read_record
from inspections.survey.fasteners import ROWS
from inspections.survey.models import Part, Reading
from inspections.survey.sheets import Entry, Sheet, sheet_of
from inspections.survey.typed import in_words
from inspections.survey.verdicts import CAUTION, judge_record
from inspections.survey.wording import KIND_WORDS, STOPS, WATER_KINDS, Stop
from inspections.visits.models import Visit


@dataclass(frozen=True)
class Adding:
    """The offer to add a part of one kind; with a choice where it can belong to several others."""

    kind: str
    words: str
    fact_name: str = ""
    fact_words: str = ""
    targets: tuple[Part, ...] = ()
    lacks: str = ""


@dataclass
class FastenerRow:
    part: Part
    place: str
    row: str
    kind: str
    size: str
    condition: str
    standing: str
    is_chosen: bool = False


@dataclass
class FastenerBlock:
    """The fasteners of one ledger: the strip, its twin as a table, and the one that is being looked at."""

    ledger: Part
    strip: str
    rows: list[FastenerRow]
    chosen: Sheet | None
    typed: dict[str, str] = field(default_factory=dict)
    error: str = ""
    rows_words = ROWS


def may_write(user, visit: Visit) -> bool:
    """Whether this person may write this record now."""
    from firm.people.capabilities import Capability

    return user.may(Capability.RECORD) and visit.inspector_id == user.pk and visit.is_open_for_record


def address_of(visit: Visit, part: Part, key_of_ledger: str = "") -> str:
    """The place on the walk at which a part is recorded."""
    return shown.address_of(reverse("walk", args=[visit.pk]), part, key_of_ledger)


def addresses(record: VisitRecord) -> dict[str, str]:
    """Part key -> where it is recorded."""
    return shown.addresses(record, reverse("walk", args=[record.visit.pk]))


def walk_context(visit: Visit, user) -> dict[str, object]:
    """Everything on the overview of a visit's record."""
    record = read_record(visit)
    verdicts = judge_record(record)
    plan = section = None
    where = addresses(record)
    if record.parts:
        deck, standings = record.deck(), verdicts.part_standings()
        plan = draw_plan(deck, standing=standings, hrefs=where)
        section = draw_section(deck, standing=standings, hrefs=where)
    return {
        "visit": visit,
        "record": record,
        "verdicts": verdicts,
        "chain": chain_of(record, verdicts),
        "contradictions": shown.contradictions(verdicts, where),
        "misfits": shown.misfits(record, where),
        "plan": plan,
        "section": section,
        "loose": shown.loose_parts(record, where),
        "settlers": shown.settlers(record, verdicts, where),
        "caution": CAUTION,
        "may_write": may_write(user, visit),
    }


def link_context(visit: Visit, stop: Stop, user, *, chosen: str = "", said: "Said | None" = None) -> dict[str, object]:
    """Everything on the page of one link. `said` is what came of a form that was sent to it."""
    said = said or Said()
    record = read_record(visit)
    findings = list(open_findings(visit))
    verdicts = judge_record(record, frozenset((one.check_id, one.part.key if one.part else "") for one in findings))
    wanted = verdicts.wanted()
    standings = verdicts.part_standings()
    is_water = stop.link == Link.WATER
    kinds = WATER_KINDS if is_water else stop.kinds
    parts = [part for kind in kinds for part in record.of_kind(kind)]
    in_a_ledger = {part.key for part in parts if part.kind == "fastener" and part.key not in record.loose}

    def sheet(part: Part) -> Sheet:
        one = sheet_of(record, part, only_water=is_water, wanted=wanted, standing=standings.get(part.key, ""))
        return said.put_into(one)

    sheets = [sheet(part) for part in parts if part.key not in in_a_ledger]
    blocks = {}
    if stop.link == Link.LEDGER:
        deck = record.deck()
        for ledger in record.of_kind("ledger"):
            blocks[ledger.key] = fastener_block(record, deck, ledger, standings, chosen, sheet, said)
    return {
        "visit": visit,
        "stop": stop,
        "record": record,
        "verdicts": verdicts,
        "chain": chain_of(record, verdicts),
        "contradictions": shown.contradictions(verdicts, addresses(record)),
        "misfits": shown.misfits(record, addresses(record)),
        "sheets": [(one, blocks.get(one.part.key)) for one in sheets],
        "loose": record.loose,
        "adding": [] if is_water else [adding(record, kind) for kind in stop.kinds if kind != "fastener"],
        "failing": verdicts.failing(stop.link),
        "apart": verdicts.apart(stop.link),
        "open": verdicts.open(stop.link),
        "holding": verdicts.holding(stop.link),
        "standing": verdicts.standing(stop.link),
        "findings": [one for one in findings if one.link == stop.link],
        "link": stop.link.value,
        "caution": CAUTION,
        "hows": Reading.How.choices,
        "fastener_kinds": FASTENER_KINDS,
        "neighbours": _neighbours(stop),
        "problem": said.problem,
        "may_write": may_write(user, visit),
        "may_record": may_write(user, visit),  # as the list of findings calls it
    }  # fmt: skip


@dataclass
class Said:
    """What came of a form: entries with their errors by part and fact, a refused name, a problem of the page."""

    entries: dict[tuple[str, str], Entry] = field(default_factory=dict)
    names: dict[str, tuple[str, str]] = field(default_factory=dict)
    pattern: dict[str, str] = field(default_factory=dict)
    pattern_of: str = ""
    pattern_error: str = ""
    problem: str = ""

    @property
    def is_refused(self) -> bool:
        return bool(self.problem or self.names or self.pattern_error) or any(
            entry.error or entry.has_clash for entry in self.entries.values()
        )

    def put_into(self, sheet: Sheet) -> Sheet:
        """Let the sheet show what was typed and what was wrong with it, in place of what stands in the record."""
        for entry in sheet.entries:
            given = self.entries.get((sheet.part.key, entry.name))
            if given is not None:
                entry.text, entry.how, entry.error = given.text, given.how, given.error
                entry.theirs, entry.has_clash, entry.saved = given.theirs, given.has_clash, given.saved
        if sheet.part.key in self.names:
            sheet.name, sheet.name_error = self.names[sheet.part.key]
        return sheet


def adding(record: VisitRecord, kind: str) -> Adding:
    needed = next((fact for fact in BY_NAME[kind].facts if fact.kind == "reference" and fact.required), None)
    words = KIND_WORDS[kind][0]
    if needed is None:
        return Adding(kind, words)
    targets = tuple(record.of_kind(needed.refers_to))
    lacks = "" if targets else KIND_WORDS[needed.refers_to][0]
    return Adding(kind, words, needed.name, needed.meaning, targets, lacks)


def fastener_block(record: VisitRecord, deck, ledger: Part, standings, chosen: str, sheet, said: Said) -> FastenerBlock:
    rows, chosen_part = [], None
    for part in record.of_kind("fastener"):
        if record.value(part, "ledger") != ledger.key:
            continue
        is_chosen = part.key == chosen
        chosen_part = part if is_chosen else chosen_part
        rows.append(_fastener_row(record, part, standings.get(part.key, ""), is_chosen))
    rows.sort(key=lambda row: (_place(record, row.part), row.part.key))
    strip = shown.strip_of(record, deck, ledger.key, standings, addresses(record), chosen)
    block = FastenerBlock(ledger, strip, rows, sheet(chosen_part) if chosen_part else None)
    if said.pattern_of == ledger.key:
        block.typed, block.error = said.pattern, said.pattern_error
    return block


def _place(record: VisitRecord, part: Part) -> float:
    position = record.value(part, "position_in")
    return float(position) if isinstance(position, int | float) else 1e9


def _fastener_row(record: VisitRecord, part: Part, standing: str, is_chosen: bool) -> FastenerRow:
    def words(name: str) -> str:
        reading = record.readings[part.key].get(name)
        if reading is None:
            return ""
        return "not reachable" if reading.value is None else in_words(part.vocabulary.index[name], reading.value)

    size = " x ".join(filter(None, (words("diameter_in"), words("length_in"))))
    return FastenerRow(
        part, words("position_in"), words("row"), words("fastener"), size, words("condition"), standing, is_chosen
    )  # fmt: skip


def _neighbours(stop: Stop) -> tuple[Stop | None, Stop | None]:
    place = STOPS.index(stop)
    return STOPS[place - 1] if place else None, STOPS[place + 1] if place + 1 < len(STOPS) else None
