"""A beam that runs too far past its end post: the end post moved outward, on a new footing.

A further post right under the end would be lifted rather than pressed: a beam that runs through tips over the old one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.beams import length_of_in
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change, new_id
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, one
from engine.remedies.supports import depth_below_ground_in, footing_line, footings_change, smallest_footings


@repair(kind="beam-end-post", owner="beam", answers=("beam.overhang",), title="The end post of the beam moved outward")
def end_post_moved(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    """The end post moved just as far as the rule asks, at each end that runs too far."""
    ratio = bench.rule("beam.max_cantilever_ratio").value
    spans_in = list(bench.numbers(beam.id, "spans_in"))
    posts = list(bench.referring(beam.id, "post"))
    if len(posts) != len(spans_in) + 1:
        return None
    have_places = all(bench.recorded(post.id, "position_in") is not None for post in posts)
    if have_places:
        posts.sort(key=lambda post: bench.number(post.id, "position_in"))
    facts: dict[str, Value | None] = {}
    moved: list[tuple[Part, float, float]] = []  # the post, how far, its new place
    for end, place in (("left", 0), ("right", -1)):
        over_in, span_in = bench.number(beam.id, f"overhang_{end}_in"), spans_in[place]
        if over_in <= ratio * span_in:
            continue
        step_in = one("cut_step")
        # span and overhang together stay as long as they are: a <= r (l + a0 - a)
        left_in = math.floor((span_in + over_in) * ratio / (1 + ratio) / step_in) * step_in
        spans_in[place] = span_in + over_in - left_in
        facts[f"{beam.id}.overhang_{end}_in"] = left_in
        post = posts[place]
        at_in = left_in if end == "left" else length_of_in(bench, beam) - left_in
        if have_places:
            facts[f"{post.id}.position_in"] = at_in
        moved.append((post, over_in - left_in, at_in))
    facts[f"{beam.id}.spans_in"] = tuple(spans_in)
    made = _footings(bench, Change(facts), [post for post, _, _ in moved])
    if made is None:
        return None
    change, lines = made
    words = ", ".join(f"{post.id} {inches(by_in)} outward" for post, by_in, _ in moved)
    at = tuple(at_in for _, _, at_in in moved)
    post_line = Line("post moved", "as it is", len(moved), words, at, "from the left end of the beam")
    return Draft(
        kind="beam-end-post",
        title=f"Move the end post of {beam.subject}: {words}",
        change=change,
        schedule=(post_line, *lines),
        citation=bench.rule("beam.max_cantilever_ratio").citation,
        marks=tuple(Mark(post.id, "post moved", at_in) for post, _, at_in in moved),
        cautions=("the beam must be held up while the post is moved", "each moved post stands on a new footing"),
    )


def _footings(bench: Bench, change: Change, posts: Sequence[Part]) -> tuple[Change, tuple[Line, ...]] | None:
    """New footings where the posts now stand. May raise Needs."""
    depth_in = depth_below_ground_in(bench)
    wanted: list[tuple[str, str, str, str]] = []
    for post in posts:
        there = bench.referring(post.id, "footing")
        footing_id = there[0].id if there else new_id(bench.deck, f"{post.id}F", *(each[0] for each in wanted))
        shape = bench.recorded(footing_id, "shape") if there else None
        wanted.append((footing_id, post.id, str(shape or "round"), bench.text(post.id, "size")))
    made = smallest_footings(bench, change, wanted, depth_in)
    if made is None:
        return None
    post_of = {each[0]: each[1] for each in wanted}
    lines = tuple(footing_line(facts, 1, f"under {post_of[each]}") for each, facts in made.items())
    return change.with_(footings_change(bench, made, post_of)), lines
