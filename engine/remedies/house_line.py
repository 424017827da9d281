"""A line of posts and a beam at the house: the deck stands by itself, and the ledger carries nothing any more."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.errors import NotPublished
from engine.remedies.asking import Key
from engine.remedies.bench import Bench, Needs
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change, NewPart, new_id
from engine.remedies.ledger_parts import OF_THE_JOINT, require_covered_band
from engine.remedies.model import Draft, Line
from engine.remedies.new_beam import Carried, beam_line, beam_mark, on_posts, under_joists_in, usual_size
from engine.remedies.supports import brace_posts

CITATION = "IRC R507.8; IRC R507.5; IRC R507.3, R507.4"


@repair(
    kind="house-line",
    owner="ledger",
    answers=(*OF_THE_JOINT, "ledger.edges", "ledger.size", "ledger.anchor"),
    title="A line of posts and a beam at the house",
    settles=("ledger.spacing", "ledger.fastener_nds", "ledger.fastener_tested"),
)
def house_line(bench: Bench, ledger: Part, keys: Sequence[Key]) -> Draft | None:
    if not set(keys) & set(bench.failing) and not _is_uncovered(bench, ledger):
        return None  # a ledger about which something is only not known yet
    fields = bench.referring(ledger.id, "joist_field")
    level = bench.level_of(ledger.id)
    if not fields or level is None:
        return None
    others = [each for each in bench.of_level(level.id, "ledger") if each.id != ledger.id]
    if others:
        return None  # the level would stand half on a ledger, which no rule is about
    depth_in = max(bench.depth_in(field.id) for field in fields)
    outer = next((str(field.facts["beam"]) for field in fields if "beam" in field.facts), None)
    beam_id = new_id(bench.deck, f"{ledger.id}B")
    level_fact: dict[str, Value] = {"level": level.id}
    wanted = Carried(
        beam_id, bench.number(ledger.id, "length_in"), under_joists_in(bench, level.id, depth_in), level_fact
    )
    like = outer or fields[0].id
    braced = brace_posts(
        bench, [post for beam in bench.of_level(level.id, "beam") for post in bench.referring(beam.id, "post")]
    )

    def base(beam: NewPart) -> Change:
        return _freed(bench, ledger, level, fields, beam).with_(braced)

    found = on_posts(bench, wanted, bench.wood(like), usual_size(bench, outer), base, keys)
    if found is None:
        return None
    stand, beam = found
    lines: list[Line] = [beam_line(beam, wanted, f"under the joists beside {ledger.subject}", bench.wood_words(like))]
    lines += stand.lines
    if braced.facts:
        names = ", ".join(path.partition(".")[0] for path in braced.facts)
        lines.append(
            Line(
                "diagonal brace",
                "2x4 or larger",
                2 * len(braced.facts),
                f"both ways at the posts {names}: a deck that stands by itself is braced in both directions",
            )
        )
    return Draft(
        kind="house-line",
        title=f"Carry {level.subject} on {stand.words} and a beam at the house instead of on {ledger.subject}",
        change=stand.change,
        schedule=tuple(lines),
        citation=CITATION,
        marks=(beam_mark(beam), *stand.marks),
        assumptions=(
            "the ground at the house is as far below the surface as at the highest edge",
            "joists bear on top of the new beam, right beside the ledger",
            "1 in of decking where heights are worked out",
        ),
        cautions=(
            "footings beside the house go down to undisturbed soil, as deep as the house footing where they would stand"
            " on its backfill",
            "the joists must be held up while the load is moved over; the board at the house only holds flashing",
        ),
    )


def _is_uncovered(bench: Bench, ledger: Part) -> bool:
    try:
        require_covered_band(bench, ledger)
    except NotPublished:
        return True
    except Needs:
        return False
    return False


def _freed(bench: Bench, ledger: Part, level: Part, fields: Sequence[Part], beam: NewPart) -> Change:
    facts: dict[str, Value | None] = {f"{level.id}.stands": "free-standing"}
    for field in fields:
        facts |= {
            f"{field.id}.ledger": None,
            f"{field.id}.inner_beam": beam.id,
            f"{field.id}.house_end": "on top of a beam",
            f"{field.id}.hanger_rated_lb": None,
            f"{field.id}.hanger_fasteners": None,
            f"{field.id}.hanger_fasteners_present": None,
        }
    fasteners = tuple(each.id for each in bench.referring(ledger.id, "fastener"))
    return Change(facts, (beam,), (ledger.id, *fasteners))
