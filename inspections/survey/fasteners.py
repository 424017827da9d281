"""Recording the many fasteners of a ledger quickly: a whole row of them by its spacing."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone

from engine.vocabulary import BY_NAME
from firm import audit
from inspections.survey.keys import PREFIXES, next_key
from inspections.survey.models import Part, Reading
from inspections.survey.services import MOST_PARTS, Unreadable, begin_visit, open_for_writing, version_of
from inspections.survey.typed import read

MOST_AT_ONCE = 200
ROWS = ("staggered", "upper", "lower", "middle")
_FACTS = BY_NAME["fastener"].index


@dataclass(frozen=True)
class Pattern:
    """Places along a ledger, in inches from its left end: from the first, one every so often, up to the last."""

    first_in: float
    every_in: float
    last_in: float

    def positions_in(self) -> list[float]:
        """Raises Unreadable where that would be more than anybody could have counted."""
        if self.last_in < self.first_in:
            raise Unreadable("The last one lies before the first.")
        # A sixteenth of slack: the last one of a row that was measured by its spacing.
        count = int((self.last_in - self.first_in + 1 / 16) // self.every_in) + 1
        if count > MOST_AT_ONCE:
            raise Unreadable(f"That would be {count} fasteners; at most {MOST_AT_ONCE} are taken at once.")
        return [round(self.first_in + number * self.every_in, 4) for number in range(count)]


@transaction.atomic
def add_fasteners(
    ledger: Part,
    positions_in: list[float],
    *,
    by,
    facts: dict[str, str],
    row: str = "",
    how: str = "measured",
    part_ids: list[str] | None = None,
    at: datetime | None = None,
) -> list[Part]:
    """Add a fastener at each position, all with the same `facts` (fact name -> as typed).

    `row` is one of the rows, "staggered" (upper and lower in turn), or empty for not said. `part_ids` are those of a
    tablet, one a position; sent again, they give the fasteners there are. `at` is when they were counted, never later
    than now. Raises Unreadable, RecordClosed, NotYours.
    """
    visit = open_for_writing(ledger.visit, by)
    if ledger.kind != "ledger" or ledger.removed_at is not None:
        raise Unreadable("The fasteners need a ledger to be in.")
    ids = [uuid4() for _ in positions_in] if part_ids is None else _ids(part_ids, positions_in)
    if there := Part.objects.in_bulk(ids):
        if any(part.visit_id != visit.pk for part in there.values()) or len(there) != len(ids):
            raise Unreadable("These fasteners belong to another record.")
        return [there[one] for one in ids]
    taken = list(visit.parts.values_list("key", flat=True))
    if len(taken) + len(positions_in) > MOST_PARTS:
        raise Unreadable(f"A record takes {MOST_PARTS} parts at most.")
    if how == Reading.How.NOT_REACHABLE or how not in Reading.How.values:
        raise Unreadable("Say how their places were got: measured, from papers or assumed.")
    values = {name: (read(_FACTS[name], typed), typed) for name, typed in facts.items() if typed}
    for position_in in positions_in:
        read(_FACTS["position_in"], f"{position_in}")
    start = int(next_key("fastener", taken).removeprefix(PREFIXES["fastener"]))
    now = min(at, timezone.now()) if at else timezone.now()
    parts = [
        Part(id=one, visit=visit, kind="fastener", key=f"{PREFIXES['fastener']}{start + number}", created_at=now)
        for number, one in enumerate(ids)
    ]
    readings = []
    for number, (part, position_in) in enumerate(zip(parts, positions_in, strict=True)):
        own = {"ledger": (ledger.key, ledger.key), "position_in": (position_in, f"{position_in:g}"), **values}
        if row == "staggered":
            own["row"] = ("lower", "lower") if number % 2 else ("upper", "upper")
        elif row:
            own["row"] = (read(_FACTS["row"], row), row)
        readings += [
            Reading(part=part, fact=name, value=value, typed=typed, how=how, by=by, at=now)
            for name, (value, typed) in own.items()
        ]
    Part.objects.bulk_create(parts)
    Reading.objects.bulk_create(readings)
    audit.record(
        by, "added fasteners to", ledger,
        after={"keys": [part.key for part in parts], "positions_in": positions_in, "row": row, **facts},
    )  # fmt: skip
    begin_visit(visit, by)
    return parts


def answer_of_row(parts: list[Part]) -> dict[str, object]:
    """What a tablet is told of fasteners that it sent: short names, and the version of all they were made with."""
    made = parts[0].readings.filter(fact="position_in").first()
    return {"keys": {str(part.pk): part.key for part in parts}, "version": version_of(made)}


def _ids(part_ids: list[str], positions_in: list[float]) -> list[UUID]:
    try:
        ids = [UUID(one) for one in part_ids]
    except ValueError as error:
        raise Unreadable("The id of a fastener is none.") from error
    if len(set(ids)) != len(positions_in) or not 0 < len(ids) <= MOST_AT_ONCE:
        raise Unreadable(f"Between 1 and {MOST_AT_ONCE} fasteners are taken at once.")
    return ids
