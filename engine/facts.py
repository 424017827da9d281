"""Reading facts so that nothing is guessed silently, and trying what is unknown.

A check function reads the deck only through a `PartView` and a `DeckView`. Each reading is one of five:

- recorded: the value;
- known to be one of several, or unknown with a short list of what it may be: the check is run once for each value;
- left out where the vocabulary has a default: the default, listed as an assumption;
- anything else: `NotRecorded`, and the check answers `cannot tell` and asks for it.

`explore` runs a check function over every combination of the uncertain facts that it really reads, and only of those.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping
from math import prod
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn, TypeVar

from engine.deck import UNKNOWN, Deck, OneOf, Part, Plain, Value
from engine.errors import EngineError
from engine.vocabulary import BASIS_FACTS, BY_NAME, Fact

MOST_COMBINATIONS = 4096
T = TypeVar("T")
Paths = Mapping[str, str]
BASIS_INDEX = {fact.name: fact for fact in BASIS_FACTS}
_BASIS_PATHS = {name: f"basis.{name}" for name in BASIS_INDEX}
_PLAIN = frozenset((bool, int, float, str, tuple))
_MOST_KEPT = 1024  # results of one piece of work on one deck: more would fill the memory and be met again too seldom


class NotRecorded(EngineError):
    """A check needs a fact that was not recorded; `path` is `J1.span_in`, `words` asks a person for it."""

    def __init__(self, path: str, words: str) -> None:
        super().__init__(f"{path}: not recorded")
        self.path = path
        self.words = words


class CannotJudge(EngineError):
    """A check knows the facts and may still not judge; `settles` says in words what or who would."""

    def __init__(self, reason: str, *settles: str) -> None:
        super().__init__(reason)
        self.reason = reason
        self.settles = settles


def label(fact: Fact) -> str:
    """The name of a fact for people: `largest_opening_in` -> `largest opening`."""
    words = fact.name
    for suffix in ("_in", "_psf", "_lb", "_percent", "_sqft"):
        words = words.removesuffix(suffix)
    return words.removeprefix("is_").replace("_", " ")


def in_words(value: object) -> str:
    """A value as people read it: yes and no instead of True and False, no trailing zeros."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(in_words(item) for item in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def candidates_of(fact: Fact) -> tuple[Plain, ...]:
    """What a fact that was looked for and not found may be; empty where that cannot be listed."""
    if fact.candidates:
        return fact.candidates  # type: ignore[return-value]
    if fact.kind == "yes-no":
        return (True, False)
    return fact.choices if fact.kind == "choice" else ()


class _Branch:
    """An uncertain fact of a run, what it may be, and which of that is tried at present."""

    __slots__ = ("at", "candidates")

    def __init__(self, candidates: tuple[Plain, ...]) -> None:
        self.candidates = candidates
        self.at = 0


class _Reading(NamedTuple):
    """A fact without one recorded value, as `Run.uncertain` is asked for it."""

    path: str
    subject: str
    fact: Fact
    value: Value | None


class _Kept(NamedTuple):
    """The result of a piece of work, with what it read, took for granted or had from memory."""

    result: Any
    reads: set[str]
    assumptions: dict[str, None]
    from_memory: dict[str, None]


class _Fork:
    """What is kept of a piece of work, by the value of the uncertain fact that it reads next."""

    __slots__ = ("count", "reading", "ways")

    def __init__(self, reading: _Reading) -> None:
        self.reading = reading
        self.ways: dict[Plain, _Fork | _Kept] = {}
        self.count = 0  # of the results kept, at the first fork


class Run:
    """One evaluation of a check, with one value fixed for each uncertain fact that it reads; then the next one."""

    __slots__ = ("_next", "_trail", "assumptions", "branches", "deck", "fixed", "from_memory", "reads")

    def __init__(self, deck: Deck) -> None:
        self.deck = deck
        self.begin([], set())

    def begin(self, branches: list[_Branch], reads: set[str]) -> None:
        """Begin a run with the branches of the one before, moved on by one; those it meets beyond are put behind."""
        self.branches = branches
        self.reads = reads
        self.fixed: dict[str, Plain] = {}
        self.assumptions: dict[str, None] = {}  # a dict keeps the order and drops repeats
        self.from_memory: dict[str, None] = {}
        self._next = 0
        self._trail: list[tuple[_Reading, Plain]] = []  # every reading of a fact that was tried, and its value

    def uncertain(self, reading: _Reading) -> Plain:
        """The value in this run of a fact that has no one recorded value. Raises NotRecorded."""
        path, subject, fact, value = reading
        found = self.fixed.get(path)
        if found is None:
            if isinstance(value, OneOf):
                found = self._try(path, value.values)
            elif fact.default is not None and (value is None or fact.default_if_unknown):
                state = "not recorded" if value is None else "unknown"
                self.assume(f"{label(fact)} of {subject} {state}: {_taken(fact)} taken ({fact.default_why})")
                return fact.default  # type: ignore[return-value]
            elif tried := (candidates_of(fact) if value is UNKNOWN else fact.candidates):
                found = self._try(path, tried)  # type: ignore[arg-type]
            else:
                raise NotRecorded(path, _asking(subject, fact))
        self._trail.append((reading, found))
        return found

    def assume(self, words: str) -> None:
        """List something that was taken without being recorded."""
        self.assumptions[words] = None

    def once(self, key: Hashable, work: Callable[[], T]) -> T:
        """The result of `work`, kept for every later run on this deck in which the facts that it read are the same.

        What it read, took for granted or had from memory is kept with it, so that a check that finds the result ready
        says the same as the one that worked it out.
        """
        kept = self.deck.kept.get(key)
        while kept.__class__ is _Fork:
            kept = kept.ways.get(self.uncertain(kept.reading))
        if kept is None:
            return self._worked_out(key, work)
        self._take(kept)
        return kept.result  # type: ignore[no-any-return]

    def _worked_out(self, key: Hashable, work: Callable[[], T]) -> T:
        outer = self.reads, self.assumptions, self.from_memory
        begun = len(self._trail)
        result: Any = None
        self.reads, self.assumptions, self.from_memory = set(), {}, {}
        try:
            result = work()
        finally:
            kept = _Kept(result, self.reads, self.assumptions, self.from_memory)
            self.reads, self.assumptions, self.from_memory = outer
            self._take(kept)
        self._keep(key, kept, self._trail[begun:])
        return result  # type: ignore[no-any-return]

    def _keep(self, key: Hashable, kept: _Kept, read: list[tuple[_Reading, Plain]]) -> None:
        """Keep a result behind a fork for each uncertain fact that was read for it."""
        place: dict[Any, Any] = self.deck.kept
        way: Any = key
        if (first := place.get(key)) is not None:
            if first.count == _MOST_KEPT:
                return
            first.count += 1
        for reading, value in {reading.path: (reading, value) for reading, value in read}.values():
            fork = place.get(way)
            if fork is None:
                fork = place[way] = _Fork(reading)
            place, way = fork.ways, value
        place[way] = kept

    def _take(self, kept: _Kept) -> None:
        self.reads |= kept.reads
        if kept.assumptions:
            self.assumptions.update(kept.assumptions)
        if kept.from_memory:
            self.from_memory.update(kept.from_memory)

    def rests_on_memory(self, words: str, *keys: str) -> None:
        """List a published value that was written from memory, unless the firm has confirmed one of its `keys`."""
        if self.deck.basis.confirmed_keys.isdisjoint(keys):
            self.from_memory[words] = None

    def _try(self, path: str, candidates: tuple[Plain, ...]) -> Plain:
        if self._next == len(self.branches):
            self.branches.append(_Branch(candidates))
        branch = self.branches[self._next]
        self._next += 1
        value = self.fixed[path] = branch.candidates[branch.at]
        return value


def _taken(fact: Fact) -> str:
    unit = f" {fact.unit}" if fact.unit and fact.unit != "fraction" else ""
    return in_words(fact.default) + unit


def _asking(subject: str, fact: Fact) -> str:
    unit = f", {fact.unit}" if fact.unit else ""
    return f"record the {label(fact)} of {subject} ({fact.meaning}{unit})"


class _View:
    """Typed readings of the facts of one owner (a part, or the basis)."""

    __slots__ = ("_facts", "_index", "_paths", "_readings", "id", "run", "subject")

    def __init__(
        self, run: Run, owner: str, subject: str, index: Mapping[str, Fact], facts: Mapping[str, Value], paths: Paths
    ) -> None:
        self.run = run
        self.id = owner
        self.subject = subject
        self._index = index
        self._facts = facts
        self._paths = paths
        self._readings: dict[str, _Reading] = {}

    def value(self, name: str) -> Any:
        """The value of a fact. Raises NotRecorded; KeyError for a name that is not in the vocabulary."""
        value = self._facts.get(name)
        self.run.reads.add(self._paths[name])
        if value.__class__ in _PLAIN:
            return value
        reading = self._readings.get(name)
        if reading is None:
            reading = _Reading(self._paths[name], self.subject, self._index[name], value)
            self._readings[name] = reading
        return self.run.uncertain(reading)

    if TYPE_CHECKING:  # the same reading under the name of what it gives: one call less where thousands are made

        def number(self, name: str) -> float:
            """A length, number or count, in the unit of its name."""

        def count(self, name: str) -> int:
            """A whole number."""

        def text(self, name: str) -> str:
            """A choice or text."""

        def flag(self, name: str) -> bool:
            """A yes or no."""

        def numbers(self, name: str) -> tuple[float, ...]:
            """A list of lengths."""
    else:
        number = count = text = flag = numbers = value

    def has(self, name: str) -> bool:
        """Whether something was recorded for the fact, be it only a set of possibilities."""
        self.run.reads.add(self._paths[name])
        return self._facts.get(name) not in (None, UNKNOWN)

    def has_fact(self, name: str) -> bool:
        """Whether the vocabulary keeps this fact of such a part at all."""
        return name in self._index

    def is_recorded(self, name: str) -> bool:
        """Whether the fact was written down in any way: a value, possibilities, or that it is unknown."""
        self.run.reads.add(self._paths[name])
        return name in self._facts

    def path(self, name: str) -> str:
        """The path of a fact: `J1.span_in`."""
        return self._paths[name]

    def not_recorded(self, name: str) -> NoReturn:
        """Raise NotRecorded for a fact."""
        raise NotRecorded(self.path(name), _asking(self.subject, self._index[name]))


class PartView(_View):
    """One part of the deck as a check sees it."""

    __slots__ = ("part", "whole")

    def __init__(self, whole: DeckView, part: Part) -> None:
        super().__init__(whole.run, part.id, part.subject, part.kind.index, part.facts, part.paths)
        self.part = part
        self.whole = whole

    def refers_to(self, name: str) -> PartView | None:
        """The part that a reference leads to; None where none was recorded.

        A part with no level recorded belongs to the only level of a deck that has one.
        """
        self.run.reads.add(self._paths[name])
        target = self._facts.get(name)
        if isinstance(target, str):
            return self.whole.part(target)
        if name == "level" and len(levels := self.run.deck.of_kind("level")) == 1:
            return self.whole.part(levels[0].id)
        return None

    def part_named(self, name: str) -> PartView:
        """The part that a reference leads to. Raises NotRecorded where none was recorded."""
        return self.refers_to(name) or self.not_recorded(name)

    def parts(self, kind: str, by: str | None = None) -> list[PartView]:
        """The parts of a kind that refer to this one (by the reference `by`, or by the one of this part's kind)."""
        by = by or self.part.kind.name
        if by == "level":  # a part with no level recorded still belongs to the only one
            return [view for view in self.whole.parts(kind) if (own := view.refers_to(by)) and own.id == self.id]
        return [self.whole.part(other.id) for other in self.run.deck.referring.get((self.id, kind, by), ())]


class DeckView:
    """The whole deck as a check sees it."""

    __slots__ = ("_views", "basis", "run")

    def __init__(self, run: Run) -> None:
        self.run = run
        self.basis = _View(run, "basis", "the basis", BASIS_INDEX, run.deck.basis.facts, _BASIS_PATHS)
        self._views: dict[str, PartView] = {}

    def part(self, part_id: str) -> PartView:
        """The part of an id. Raises KeyError where there is none."""
        view = self._views.get(part_id)
        if view is None:
            view = self._views[part_id] = PartView(self, self.run.deck.by_id[part_id])
        return view

    def parts(self, kind: str) -> list[PartView]:
        """All parts of a kind, in the order of the file."""
        return [self.part(part.id) for part in self.run.deck.of_kind(BY_NAME[kind].name)]


class Outcome(NamedTuple):
    """What one run gave: the values fixed for it, its result or its refusal, and what it took for granted."""

    fixed: dict[str, Plain]
    result: object
    refusal: EngineError | None
    assumptions: tuple[str, ...]
    from_memory: tuple[str, ...]


class Exploration:
    """The runs of one check, made as they are asked for; nothing of a run is held that the asker does not keep.

    When all were made, `reads` holds the paths of all facts read, and `is_complete` is False where there were more
    combinations than are tried.
    """

    def __init__(self, view: DeckView, function: Callable[[DeckView], object], most: int) -> None:
        self.reads: set[str] = set()
        self.is_complete = False
        self._view = view
        self._function = function
        self._most = most

    def __iter__(self) -> Iterator[Outcome]:
        view, run = self._view, self._view.run
        branches: list[_Branch] = []
        made = deepest = 0
        while True:
            run.begin(branches, self.reads)
            result: object = None
            refusal: EngineError | None = None
            try:
                result = self._function(view)
            except EngineError as error:
                refusal = error.with_traceback(None)  # which would hold on to everything the run had made
            except ArithmeticError as error:  # every number is in its range and the formula still overflows
                refusal = CannotJudge(f"the arithmetic breaks down with these values ({error})")
            yield Outcome(run.fixed, result, refusal, tuple(run.assumptions), tuple(run.from_memory))
            made += 1
            while branches and branches[-1].at + 1 == len(branches[-1].candidates):  # turned on like an odometer
                branches.pop()
            if not branches:
                self.is_complete = True
                return
            if len(branches) > deepest:
                # A run shows how many there would be: do not begin what cannot be finished.
                deepest = len(branches)
                if prod(len(branch.candidates) for branch in branches) > self._most:
                    return
            if made >= self._most:
                return
            branches[-1].at += 1


def explore(
    deck: Deck, function: Callable[[DeckView], object], most: int = MOST_COMBINATIONS, view: DeckView | None = None
) -> Exploration:
    """Run `function` once for every combination of the uncertain facts that it reads, up to `most` of them.

    A fact has the same value wherever one run reads it. Refusals (any EngineError) are outcomes, not exceptions.
    `view` is for one who puts many questions to one deck, one after the other.
    """
    return Exploration(view or DeckView(Run(deck)), function, most)
