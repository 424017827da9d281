"""A beam that runs too far past its end post: a post under the end."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import OneOf, Part, Value
from engine.remedies.asking import Key
from engine.remedies.beams import length_of_in
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import Draft
from engine.remedies.supports import NewPost, stand_up


@repair(kind="beam-end-post", owner="beam", answers=("beam.overhang",), title="A post under the end of the beam")
def post_under_the_end(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    """A post under the end that runs too far, or under both."""
    for ends in (("left",), ("right",), ("left", "right")):
        draft = _with_posts(bench, beam, keys, ends)
        if draft is not None:
            return draft
    return None


def _with_posts(bench: Bench, beam: Part, keys: Sequence[Key], ends: Sequence[str]) -> Draft | None:
    over_in = {end: bench.number(beam.id, f"overhang_{end}_in") for end in ends}
    posts = list(bench.referring(beam.id, "post"))
    spans_in = list(bench.numbers(beam.id, "spans_in"))
    least_in = beam.kind.index["spans_in"].low
    if len(posts) != len(spans_in) + 1 or any(each < least_in for each in over_in.values()):
        return None
    have_places = all(bench.recorded(post.id, "position_in") is not None for post in posts)
    if have_places:
        posts.sort(key=lambda post: bench.number(post.id, "position_in"))
    facts: dict[str, Value | None] = {f"{beam.id}.overhang_{end}_in": 0.0 for end in ends}
    new = []
    if "left" in ends:
        spans_in.insert(0, over_in["left"])
        new.append(NewPost(0.0 if have_places else None, bench.number(posts[0].id, "height_in"), before=posts[0].id))
    if "right" in ends:
        spans_in.append(over_in["right"])
        at_in = length_of_in(bench, beam) if have_places else None
        new.append(NewPost(at_in, bench.number(posts[-1].id, "height_in")))
    runs: Value = "continuous"
    if "runs" in beam.facts and beam.facts["runs"] == "spliced over posts":
        runs = OneOf(("continuous", "spliced over posts"))  # through over the end post, joined over some of the others
    facts |= {f"{beam.id}.spans_in": tuple(spans_in), f"{beam.id}.runs": runs}
    if not bench.clears(Change(facts), keys):
        return None
    seat_in = bench.recorded(beam.id, "bearing_in")
    stand = stand_up(
        bench, Change(facts), beam.id, new, keys=keys, seat_in=seat_in if isinstance(seat_in, float) else 1.5
    )
    if stand is None:
        return None
    where = " and ".join(ends)
    return Draft(
        kind="beam-end-post",
        title=f"Put {stand.words} under the {where} end of {beam.subject}",
        change=stand.change,
        schedule=stand.lines,
        citation="IRC R507.5; IRC R507.3, R507.4",
        marks=stand.marks,
        assumptions=("as tall as the post next to it",),
        cautions=("shim tight before the post is fastened, so that it takes its share",),
    )
