"""The ends of the joists: hangers filled or replaced at the house, more bearing on the beam."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.joist_strength import HANGER, needed_hanger_lb
from engine.remedies.model import PRACTICE, Draft, Line, Mark
from engine.remedies.sizes import inches

CITATION = "IRC R507.6.2"
COAT = "G185 galvanized or stainless; stainless near salt water"
PLY_IN = 1.5
STRIP = ("joist.strip_nails", "joist.strip_nailing", "joist.strip_size", "joist.strip_bearing")


@repair(
    kind="hanger-fill", owner="joist_field", answers=("joist.hanger",), title="The empty holes of the hangers filled"
)
def fill_holes(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    share = bench.number(field.id, "hanger_fasteners_present")
    if share >= 1:
        return None
    count = bench.recorded(field.id, "count")
    line = Line(
        "fastener that the hanger's maker lists",
        "as listed for the rating",
        None,
        f"every empty hole of {count if count is not None else 'all'} hangers: {share:.0%} of the holes are"
        " filled now, all of them afterwards",
        material=COAT,
    )
    return Draft(
        "hanger-fill",
        f"Fill the empty holes of the hangers of {field.subject}",
        Change({f"{field.id}.hanger_fasteners_present": 1.0}),
        (line,),
        CITATION,
        (Mark(field.id, "hangers filled"),),
        ("the hangers themselves are sound and of the recorded rating",),
        ("no deck or drywall screws: a hanger has no rating with them",),
    )


@repair(
    kind="hanger-new",
    owner="joist_field",
    answers=("joist.hanger", "joist.hanger_table", "joist.hanger_depth", "joist.house_end", "joist.end_nails", *STRIP),
    title="New hangers",
)
def new_hangers(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    """Hangers of the rating that the joist's own load and the published list ask for."""
    needed_lb = needed_hanger_lb(bench, field, Change())
    facts: dict[str, Value | None] = {
        f"{field.id}.house_end": HANGER,
        f"{field.id}.hanger_rated_lb": needed_lb,
        f"{field.id}.hanger_fasteners_present": 1.0,
        f"{field.id}.hanger_fasteners": "as the maker lists",
    }
    if "hanger_depth_in" in field.facts:
        facts[f"{field.id}.hanger_depth_in"] = bench.depth_in(field.id)
    count = bench.recorded(field.id, "count")
    size = bench.text(field.id, "size")
    depth_in = bench.rule_or("hanger.min_depth_ratio", 0.6) * bench.depth_in(field.id)
    line = Line(
        "face-mount joist hanger",
        f"for a {size} joist, rated for at least {needed_lb:g} lb down",
        count if isinstance(count, int) else None,
        "one at the house end of each joist, every hole filled as"
        f" its maker lists; at least {inches(depth_in)} of the joist's depth",
        material=COAT,
    )
    return Draft(
        "hanger-new",
        f"Hang the joists of {field.subject} in hangers rated for at least {needed_lb:g} lb",
        Change(facts),
        (line,),
        CITATION + "; DCA 6-2012 Table 3C",
        (Mark(field.id, "new hangers"),),
        (),
        ("the rating is the maker's for the joist's species and the fasteners that it lists",),
    )


@repair(
    kind="joist-bearing-ply",
    owner="joist_field",
    answers=("joist.bearing_on_beam", "joist.bearing_length"),
    title="A wider beam under the joists",
)
def wider_beam(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    """Plies added to the beam on the side where the joists have too little under them."""
    beam_id = str(field.facts.get("beam", ""))
    if not beam_id:
        return None
    plies, bearing_in = bench.count(beam_id, "plies"), bench.number(field.id, "bearing_in")

    def change(new: int) -> Change:
        return Change({f"{field.id}.bearing_in": bearing_in + PLY_IN * new, f"{beam_id}.plies": plies + new})

    new = bench.first(range(1, 5 - plies), change, keys)
    if new is None:
        return None
    line = Line(
        "ply of the beam",
        bench.text(beam_id, "size"),
        new,
        f"from post to post, flush with the top, so that"
        f" the joists bear on {inches(bearing_in + PLY_IN * new)}; 10d nails in two rows at 16 in ({PRACTICE})",
        material=bench.wood_words(beam_id),
    )
    subject = bench.part(beam_id).subject
    return Draft(
        "joist-bearing-ply",
        f"Add {new} {'ply' if new == 1 else 'plies'} to {subject} under the joists",
        change(new),
        (line,),
        "IRC R507.6.1; NDS 3.10",
        (Mark(beam_id, "new ply"),),
        (),
        ("each ply must bear on the posts like the others",),
    )
