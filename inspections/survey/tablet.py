"""The verdicts on a record that a tablet keeps, worked out on the tablet itself: text of JSON in, text of JSON out.

Runs in the browser, in the very source that runs on the server (see `inspections.sync.judging`). It turns what the
tablet kept into a `Record`, puts it to the engine, and says in words and small drawings what the pages of the walk
show; the tablet only lays it out.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from engine import tables
from engine.checks.registry import questions
from engine.results import Check, Verdict
from engine.vocabulary import BY_NAME, PartKind
from inspections.drawings.gauge import load_gauge, percent
from inspections.drawings.plan import draw_plan
from inspections.drawings.section import draw_section
from inspections.findings.from_check import numbers_in_words, places, propose_action
from inspections.survey import shown
from inspections.survey.chain import ChainLink, chain_of
from inspections.survey.record import Record, place_of_key
from inspections.survey.rule_words import in_words
from inspections.survey.typed import Target, Unreadable, read
from inspections.survey.verdicts import Alike, Standing, Verdicts, Witnessed, judge_record
from inspections.survey.wording import BY_SLUG, plainly, quantity

NOT_REACHABLE = "not_reachable"


@dataclass(frozen=True)
class KeptPart:
    id: str
    kind: str
    key: str
    name: str

    @property
    def vocabulary(self) -> PartKind:
        return BY_NAME[self.kind]


@dataclass(frozen=True)
class KeptReading:
    fact: str
    value: object
    how: str


@dataclass(frozen=True)
class NotRead:
    """An entry that waits and says nothing that the fact could be; the server will refuse it for the same reason."""

    key: str
    fact: str
    reason: str


def read_kept(kept: Mapping[str, Any]) -> tuple[Record, list[NotRead]]:
    """The record as the tablet has it: what the server said last, and on top of it what waits to be sent.

    What the server said carries its value; what waits is read from what was typed, as the server will read it.
    """
    rows = sorted((_part(one) for one in kept["parts"] if one["kind"] in BY_NAME), key=place_of_key)
    targets = [Target(part.key, part.id, part.kind, part.name) for part in rows if part.kind != "fastener"]
    told = {one["key"]: one["readings"] for one in kept["parts"]}
    readings: dict[str, dict[str, KeptReading]] = {}
    not_read = []
    for part in rows:
        readings[part.key] = {}
        for fact in part.vocabulary.facts:
            if (one := told[part.key].get(fact.name)) is None:
                continue
            try:
                value = _value(one, fact, targets)
            except Unreadable as problem:
                not_read.append(NotRead(part.key, fact.name, problem.reason))
                continue
            readings[part.key][fact.name] = KeptReading(fact.name, value, one["how"])
    return Record(tuple(rows), readings, title=kept["title"], basis=kept["basis"]), not_read


def _part(one: Mapping[str, Any]) -> KeptPart:
    return KeptPart(one["id"], one["kind"], one["key"], one["name"])


def _value(told: Mapping[str, Any], fact, targets: list[Target]) -> object:
    if told["how"] == NOT_REACHABLE:
        return None
    return told["value"] if "value" in told else read(fact, told["text"], targets)


def get_ready() -> None:
    """Load all that is loaded only once: the first record is then judged as quickly as the next."""
    questions()
    for name in tables.names():
        tables.load(name)


def show(asked_text: str) -> str:
    """What a page of the walk shows of a kept record.

    Asked are `kept` (the record), `walk` (the address of the walk), `slug` (the stop that is shown, or "" for the
    overview), `chosen` (the key of the fastener that is looked at) and `answered` (check id and key of the part, for
    each check that a finding stands for).
    """
    asked = json.loads(asked_text)
    record, not_read = read_kept(asked["kept"])
    verdicts = judge_record(record, frozenset((check, key) for check, key in asked["answered"]))
    where = shown.addresses(record, asked["walk"])
    stop = BY_SLUG.get(asked["slug"])
    if stop:
        page = _stop_shown(record, verdicts, stop, where, asked["chosen"])
    else:
        page = _walk_shown(record, verdicts, where)
    found = {
        "not_read": [{"key": one.key, "fact": one.fact, "reason": one.reason} for one in not_read],
        "contradictions": [{"words": words, "where": at} for words, at in shown.contradictions(verdicts, where)],
        "misfits": [{"words": words, "where": at} for words, at in shown.misfits(record, where)],
        "chain": [_link(link) for link in chain_of(record, verdicts)],
        "standings": verdicts.part_standings(),
        "caution": verdicts.caution,
        **page,
    }
    return json.dumps(found)


def _stop_shown(record: Record, verdicts: Verdicts, stop, where, chosen: str) -> dict[str, object]:
    link, deck, standings = stop.link, record.deck(), verdicts.part_standings()
    panel = {
        "failing": verdicts.failing(link), "apart": verdicts.apart(link), "open": verdicts.open(link),
        "holding": verdicts.holding(link),
    }  # fmt: skip
    ledgers = [one["id"] for one in deck.get("ledgers", [])] if "ledger" in stop.kinds else []
    return {
        "title": stop.title,
        "link": str(link),
        "standing": _standing(verdicts.standing(link)),
        "wanted": verdicts.wanted(),
        "panel": {name: [_alike(one) for one in group] for name, group in panel.items()},
        "strips": {key: shown.strip_of(record, deck, key, standings, where, chosen) for key in ledgers},
    }


def _walk_shown(record: Record, verdicts: Verdicts, where) -> dict[str, object]:
    deck, standings = record.deck(), verdicts.part_standings()
    plan = draw_plan(deck, standing=standings, hrefs=where)
    section = draw_section(deck, standing=standings, hrefs=where)
    return {
        "plan": list(plan.drawings),
        "plan_missing": list(plan.missing),
        "section": section.svg,
        "section_missing": list(section.missing),
        "loose": [{"words": f"{part.key} {part.name}".strip() + f": {words}", "where": at}
                  for part, words, at in shown.loose_parts(record, where)],
        "settlers": [{"words": words, "where": at, "settles": one.settles, "touches": one.touches}
                     for one, words, at in shown.settlers(record, verdicts, where)],
    }  # fmt: skip


def _link(link: ChainLink) -> dict[str, object]:
    worst = link.standing.worst
    return {
        "slug": link.slug,
        "state": link.state,
        "word": link.standing.word,
        "counted": link.counted,
        "open": link.open_words,
        "standing": None if link.is_silent else _standing(link.standing),
        "gauge": "" if link.is_silent or worst is None else _gauge(worst),
    }


def _standing(standing: Standing) -> dict[str, object]:
    worst = standing.worst
    return {
        "judged": worst is not None,
        "fails": standing.fails, "apart": standing.apart, "open": standing.open, "holds": standing.holds,
        "percent": percent(worst.ratio) if worst is not None and worst.ratio is not None else "",
    }  # fmt: skip


def _gauge(check: Check) -> str:
    """SVG; empty for a rule that compares no numbers."""
    if check.ratio is not None or check.verdict is Verdict.CANNOT_TELL:
        return load_gauge(check.ratio, check.title)
    return ""


def _alike(alike: Alike) -> dict[str, object]:
    first, check = alike.first, alike.first.check
    is_open = check.verdict is Verdict.CANNOT_TELL
    witnesses = [] if is_open else [_witness(check)]
    return {
        "title": check.title,
        "subject": check.subject,
        "is_open": is_open,
        "reason": check.reason,
        "settles": list(check.settles),
        "witnesses": witnesses + [{**_witness(twin), "is_twin": True} for twin in first.twins],
        "why_apart": first.why_apart if first.is_disputed else "",
        "assumptions": [in_words(text) for text in first.assumptions],
        "from_memory": [in_words(text) for text in check.from_memory],
        "steps": [
            {
                "symbol": step.symbol, "formula": step.formula,
                "inputs": ", ".join(f"{name} = {plainly(value)}" for name, value in step.inputs.items()),
                "value": f"{plainly(step.value)} {step.unit}",
                "source": ". ".join(filter(None, (step.source, step.note))),
            }
            for step in check.steps
        ],
        "others": [_other(one) for one in alike.others],
        "key": first.key,
        "query": first.finding_query,
        "has_finding": first.has_finding,
        "proposal": _proposal(alike) if check.verdict is Verdict.FAILS else None,
    }  # fmt: skip


def _proposal(alike: Alike) -> dict[str, str]:
    """The finding that is offered for a failing check; its words for the owner are in the catalogue on the tablet."""
    check, key = alike.first.check, alike.first.key
    action, how_soon, who = propose_action(check)
    return {
        "check_id": check.id, "subject": check.subject, "title": check.title,
        "place": places(one.check for one in alike.answers), "part": key,
        "seen": numbers_in_words(check), "action": action, "how_soon": how_soon, "who": who,
    }  # fmt: skip


def _witness(check: Check) -> dict[str, object]:
    is_open = check.verdict is Verdict.CANNOT_TELL
    found: dict[str, object] = {
        "method": str(check.method), "title": check.title, "is_open": is_open, "reason": check.reason,
        "citation": check.citation, "governs": check.governs or "", "is_length": check.unit == "in",
        "gauge": "" if is_open or check.ratio is None else load_gauge(check.ratio, check.title),
    }  # fmt: skip
    return {**found, **_numbers(check)}


def _numbers(check: Check) -> dict[str, str]:
    if check.ratio is None:
        return {}
    demand, capacity = quantity(check.demand, check.unit), quantity(check.capacity, check.unit)
    return {"demand": demand, "capacity": capacity, "percent": percent(check.ratio)}


def _other(one: Witnessed) -> dict[str, str]:
    return {"subject": one.check.subject, "reason": one.check.reason, **_numbers(one.check)}
