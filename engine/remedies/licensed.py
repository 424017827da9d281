"""What no standard repair answers: work for a licensed engineer, with the reason."""

from __future__ import annotations

from collections.abc import Sequence

from engine.remedies.asking import DECK, Key
from engine.remedies.bench import Bench
from engine.remedies.changes import Change
from engine.remedies.model import ENGINEER, Answered, Line, Remedy

TOO_MUCH_UNKNOWN = "too much about this deck is not known for a repair to be worked out: find that out first"
REASON = "none of the standard repairs that are worked out here makes it hold by the adopted rules and the calculation"


def licensed(bench: Bench, keys: Sequence[Key]) -> list[Remedy]:
    """One remedy for each part that has failing checks left."""
    by_part: dict[str, list[Key]] = {}
    for key in keys:
        by_part.setdefault(key.part_id, []).append(key)
    return [_designed(bench, part_id, each) for part_id, each in by_part.items()]


def _designed(bench: Bench, part_id: str, keys: Sequence[Key]) -> Remedy:
    checks = [check for key in keys if (check := bench.now.ask(key).check) is not None]
    worst = max(checks, key=lambda check: -1.0 if check.ratio is None else check.ratio)
    subject = "the deck" if part_id == DECK else worst.subject
    ask = "; ".join(f"{check.title}: {check.reason or check.governs}" for check in checks)
    return Remedy(
        id=f"engineer-{part_id}",
        kind="engineer",
        check_id=worst.id,
        subject=worst.subject,
        title=f"Have a licensed engineer design the repair of {subject}",
        answers=tuple(Answered(check.id, check.subject) for check in checks),
        schedule=(Line("design by an engineer licensed for the place", pattern=ask),),
        drawing=(),
        change=Change(),
        deck_after=bench.deck,
        ratio_before=worst.ratio,
        ratio_after=None,
        is_proved=False,
        citation=worst.citation,
        who=ENGINEER,
        cautions=(TOO_MUCH_UNKNOWN if bench.budget.is_spent else REASON,),
    )
