"""What the pages of the walk show, put together once for the page and for the parts of it that are swapped."""

from dataclasses import dataclass, field

from django.urls import reverse

from engine import what_would_settle
from engine.settling import Settler
from engine.vocabulary import BY_NAME, FASTENER_KINDS, Link
from inspections.drawings.ledger_strip import draw_ledger
from inspections.drawings.plan import draw_plan
from inspections.drawings.section import draw_section
from inspections.findings.services import open_findings
from inspections.survey.chain import chain_of
from inspections.survey.deck import Record, deck_json, read_record
from inspections.survey.fasteners import ROWS
from inspections.survey.models import Part, Reading
from inspections.survey.sheets import Entry, Sheet, sheet_of
from inspections.survey.typed import in_words
from inspections.survey.verdicts import CAUTION, Verdicts, judge_record
from inspections.survey.wording import KIND_WORDS, STOP_OF_KIND, STOPS, WATER_KINDS, Stop
from inspections.visits.models import Visit

MOST_SETTLERS = 6  # what one keeps in mind between two walks around the deck


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
    here = reverse("walk-link", args=[visit.pk, STOP_OF_KIND[part.kind].slug])
    if part.kind == "fastener":
        return f"{here}?fastener={part.key}#fasteners-{key_of_ledger}"
    return f"{here}#part-{part.key}"


def addresses(record: Record) -> dict[str, str]:
    """Part key -> where it is recorded, for the drawings."""
    return {part.key: address_of(record.visit, part, str(record.value(part, "ledger") or "")) for part in record.parts}


def walk_context(visit: Visit, user) -> dict[str, object]:
    """Everything on the overview of a visit's record."""
    record = read_record(visit)
    verdicts = judge_record(record)
    plan = section = None
    if record.parts:
        deck, standings, where = deck_json(visit, record), verdicts.part_standings(), addresses(record)
        plan = draw_plan(deck, standing=standings, hrefs=where)
        section = draw_section(deck, standing=standings, hrefs=where)
    return {
        "visit": visit,
        "record": record,
        "verdicts": verdicts,
        "chain": chain_of(record, verdicts),
        "contradictions": contradictions(record, verdicts),
        "plan": plan,
        "section": section,
        "loose": loose_parts(record),
        "settlers": settlers(record, verdicts),
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
        deck = deck_json(visit, record)
        for ledger in record.of_kind("ledger"):
            blocks[ledger.key] = fastener_block(record, deck, ledger, standings, chosen, sheet, said)
    return {
        "visit": visit,
        "stop": stop,
        "record": record,
        "verdicts": verdicts,
        "chain": chain_of(record, verdicts),
        "contradictions": contradictions(record, verdicts),
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


def contradictions(record: Record, verdicts: Verdicts) -> list[tuple[str, str]]:
    """Words, and the address of the part at which each contradiction is put right."""
    where = addresses(record)
    return [(one.words, where.get(one.key, "")) for one in verdicts.contradictions]


def loose_parts(record: Record) -> list[tuple[Part, str, str]]:
    """Parts that are not judged yet because what they belong to was not said: the part, what to say, where."""
    where = addresses(record)
    return [
        (record.by_key[key], f"say which {fact.refers_to.replace('_', ' ')} it belongs to", where[key])
        for key, fact in record.loose.items()
    ]  # fmt: skip


def settlers(record: Record, verdicts: Verdicts) -> list[tuple[Settler, str, str]]:
    """The few facts that would settle most of what is open, each in words and with the place where it is recorded."""
    if verdicts.assessment is None:
        return []
    found = []
    for settler in what_would_settle(verdicts.assessment)[:MOST_SETTLERS]:
        key, _, fact = settler.path.partition(".")
        part = record.by_key.get(key)
        where = addresses(record)[key].split("#")[0] + f"#fact-{key}-{fact}" if part else ""
        words = settler.words.replace(" of the basis", ", among the building rules of the property")
        found.append((settler, words, where))
    return found


def adding(record: Record, kind: str) -> Adding:
    needed = next((fact for fact in BY_NAME[kind].facts if fact.kind == "reference" and fact.required), None)
    words = KIND_WORDS[kind][0]
    if needed is None:
        return Adding(kind, words)
    targets = tuple(record.of_kind(needed.refers_to))
    lacks = "" if targets else KIND_WORDS[needed.refers_to][0]
    return Adding(kind, words, needed.name, needed.meaning, targets, lacks)


def fastener_block(record: Record, deck, ledger: Part, standings, chosen: str, sheet, said: Said) -> FastenerBlock:
    rows, chosen_part = [], None
    for part in record.of_kind("fastener"):
        if record.value(part, "ledger") != ledger.key:
            continue
        is_chosen = part.key == chosen
        chosen_part = part if is_chosen else chosen_part
        rows.append(_fastener_row(record, part, standings.get(part.key, ""), is_chosen))
    rows.sort(key=lambda row: (_place(record, row.part), row.part.key))
    board = next(each for each in deck["ledgers"] if each["id"] == ledger.key)
    mine = {row.part.key for row in rows}
    strip = draw_ledger(
        board,
        [each for each in deck.get("fasteners", []) if each["id"] in mine],
        standing=standings,
        hrefs={key: where for key, where in addresses(record).items() if key in mine},
        chosen=chosen,
    )
    block = FastenerBlock(ledger, strip, rows, sheet(chosen_part) if chosen_part else None)
    if said.pattern_of == ledger.key:
        block.typed, block.error = said.pattern, said.pattern_error
    return block


def _place(record: Record, part: Part) -> float:
    position = record.value(part, "position_in")
    return float(position) if isinstance(position, int | float) else 1e9


def _fastener_row(record: Record, part: Part, standing: str, is_chosen: bool) -> FastenerRow:
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
