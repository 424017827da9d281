"""A part as a sheet to fill in: its facts as entries, each with its story."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from json import dumps, loads

from engine.vocabulary import Fact
from inspections.survey.deck import Record
from inspections.survey.models import Part, Reading
from inspections.survey.services import version_of
from inspections.survey.typed import OF_CANDIDATES, candidates_in, in_field, in_words, read_back
from inspections.survey.wording import KIND_WORDS, fact_label, water_facts


@dataclass(frozen=True)
class Option:
    value: str
    words: str


@dataclass
class Entry:
    """One fact of one part on the page: what stands there, how it was got, and what was wrong with what was typed."""

    part: Part
    fact: Fact
    reading: Reading | None
    options: list[Option]
    wanted_by: list[str] = field(default_factory=list)
    text: str = ""
    how: str = Reading.How.MEASURED
    error: str = ""
    theirs: Reading | None = None  # what another wrote meanwhile, where both wrote
    has_clash: bool = False
    saved: bool = False

    @property
    def name(self) -> str:
        return self.fact.name

    @property
    def id(self) -> str:
        return f"fact-{self.part.key}-{self.fact.name}"

    @property
    def label(self) -> str:
        return fact_label(self.part.kind, self.fact)

    @property
    def control(self) -> str:
        """Which kind of field: a few short answers are large buttons, many are a list."""
        if self.fact.kind in ("choice", "yes-no"):
            few = len(self.options) <= 5 and sum(len(one.words) for one in self.options) <= 34
            return "pick" if few else "select"
        return {"reference": "select", "lengths": "lengths", "length": "length"}.get(self.fact.kind, "number")

    @property
    def may_be_several(self) -> bool:
        """Whether one who is not sure may say several values of which it is one."""
        return self.fact.kind in OF_CANDIDATES and len(self.fact.choices) not in (1, 2)  # of two, both is not knowing

    @property
    def candidates(self) -> list[str]:
        """The values that stand in the field."""
        return candidates_in(self.fact, self.text)

    @property
    def is_one_of(self) -> bool:
        return len(self.candidates) > 1

    @property
    def answers(self) -> list[Option]:
        """The options of the field, with the several that stand as one of their own."""
        return [*self.options, Option(self.text, self.text)] if self.is_one_of else self.options

    @property
    def seen(self) -> str:
        """What this entry was drawn from, carried by the form: version, how, and the text of the field."""
        return dumps([version_of(self.reading), *shown(self.fact, self.reading)])

    @property
    def words(self) -> str:
        """The value for reading, with both systems of a length."""
        return read_back(self.fact, self.reading.value) if self.reading else ""

    @property
    def left_empty(self) -> str:
        """What is taken if nothing is entered."""
        if self.fact.default is None or self.reading:
            return ""
        return f"Left open, {in_words(self.fact, self.fact.default)} is taken: {self.fact.default_why}."

    @property
    def meaning(self) -> str:
        """What is measured, where the label does not say it already."""
        said = self.label.lower()
        return "" if self.fact.meaning.lower() in (said, said.split(",")[0]) else self.fact.meaning

    @property
    def is_folded(self) -> bool:
        """Whether it waits behind "Unless it is as usual": it has a usual value. A fastener's state never waits."""
        return self.fact.default is not None and self.fact.name != "condition"

    @property
    def is_kept_back(self) -> bool:
        """Whether it waits among the details: seldom measured, and no check asks for it."""
        return self.fact.is_detail and not self.wanted_by

    @property
    def theirs_words(self) -> str:
        if self.theirs is None:
            return "nothing"
        if self.theirs.value is None:
            return "not reachable"
        return in_words(self.fact, self.theirs.value)


@dataclass
class Fold:
    """Entries that wait behind a click; open where one of them was recorded or needs a look."""

    title: str
    entries: list[Entry]

    @property
    def said(self) -> int:
        return sum(entry.reading is not None for entry in self.entries)

    @property
    def is_open(self) -> bool:
        return any(entry.error or entry.has_clash or entry.reading for entry in self.entries)


@dataclass
class Sheet:
    """A part with the entries that belong on this page."""

    part: Part
    entries: list[Entry]
    standing: str = ""
    sibling: Part | None = None
    name: str = ""
    name_error: str = ""

    @property
    def kind_words(self) -> str:
        return KIND_WORDS[self.part.kind][0]

    @property
    def first(self) -> list[Entry]:
        return [entry for entry in self.entries if not (entry.is_folded or entry.is_kept_back)]

    @property
    def folded(self) -> list[Entry]:
        return [entry for entry in self.entries if entry.is_folded]

    @property
    def kept_back(self) -> list[Entry]:
        return [entry for entry in self.entries if entry.is_kept_back]

    @property
    def folds(self) -> list[Fold]:
        """What waits behind a click: what has a usual value, and the details."""
        folds = (
            Fold("Unless it is as usual", self.folded),
            Fold("Details, where they can be measured", self.kept_back),
        )
        return [fold for fold in folds if fold.entries]

    @property
    def wanted_count(self) -> int:
        return sum(bool(entry.wanted_by) for entry in self.entries)

    @property
    def is_empty(self) -> bool:
        return not any(entry.reading for entry in self.entries)


def shown(fact: Fact, reading: Reading | None) -> tuple[str, str]:
    """How, and the text in the field, for a reading as it stands."""
    if reading is None:
        return Reading.How.MEASURED, ""
    return reading.how, "" if reading.value is None else in_field(fact, reading.value, reading.typed)


def was_shown(seen: str) -> tuple[str, str, str] | None:
    """Version, how and text that a form was drawn from; None for a form that does not say."""
    try:
        version, how, text = loads(seen)
    except (ValueError, TypeError):
        return None
    return (version, how, text) if all(isinstance(one, str) for one in (version, how, text)) else None


def entry_of(record: Record, part: Part, fact: Fact, wanted: dict[str, list[str]] | None = None) -> Entry:
    """The entry of one fact as the record has it."""
    reading = record.readings[part.key].get(fact.name)
    how, text = shown(fact, reading)
    wanted_by = (wanted or {}).get(f"{part.key}.{fact.name}", [])
    return Entry(part, fact, reading, _options(record, part, fact), wanted_by, text, how)


def sheet_of(
    record: Record,
    part: Part,
    *,
    only_water: bool = False,
    wanted: dict[str, list[str]] | None = None,
    standing: str = "",
) -> Sheet:
    """A part's sheet; on the link of water only the facts that belong there."""
    facts: Iterable[Fact] = water_facts(part.kind) if only_water else part.vocabulary.facts
    entries = [entry_of(record, part, fact, wanted) for fact in _in_order(record, part, facts)]
    earlier = [one for one in record.of_kind(part.kind) if one.created_at < part.created_at]
    return Sheet(part, entries, standing, earlier[-1] if earlier and not only_water else None, part.name)


def _in_order(record: Record, part: Part, facts: Iterable[Fact]) -> list[Fact]:
    """What is measured comes before what belongs to what, unless the part stands nowhere yet.

    What one sees of a fastener at a glance comes first: it is what changes from one to the next.
    """

    def place(fact: Fact) -> int:
        if part.kind == "fastener" and fact.name in ("condition", "position_in"):
            return 0 if fact.name == "condition" else 1
        if fact.kind == "reference":
            return 0 if fact.required and record.value(part, fact.name) is None else 3
        return 2

    return sorted(facts, key=place)


def _options(record: Record, part: Part, fact: Fact) -> list[Option]:
    if fact.kind == "choice":
        return [Option(choice, choice) for choice in fact.choices]
    if fact.kind == "yes-no":
        return [Option("yes", "yes"), Option("no", "no")]
    if fact.kind == "reference":
        there = [one for one in record.of_kind(fact.refers_to) if one.pk != part.pk]
        return [Option(one.key, f"{one.key} {one.name}".strip()) for one in there]
    return []
