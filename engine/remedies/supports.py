"""New posts and footings under a beam: the smallest post that stands under all of them, and a footing for each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from engine.deck import Part, Value
from engine.footings import footing_thickness
from engine.records import dataclass
from engine.remedies.asking import Asking, Key
from engine.remedies.bench import Bench
from engine.remedies.changes import Change, NewPart, new_id
from engine.remedies.model import Line, Mark
from engine.remedies.sizes import inches, listed, one, round_up, several
from engine.results import Verdict
from engine.sections import find_size
from engine.vocabulary import POST_SIZES

ABOVE_CONCRETE = "metal base above the concrete"
GRAVEL = "concrete, on undisturbed soil"


@dataclass(frozen=True)
class NewPost:
    """Where a new post stands along its beam (None where not recorded), its height, which post it is listed before."""

    position_in: float | None
    height_in: float
    before: str = ""


@dataclass(frozen=True)
class Stand:
    """New posts with their footings: the whole change, the lines of the schedule, the marks of the drawing."""

    change: Change
    lines: tuple[Line, ...]
    marks: tuple[Mark, ...]
    size: str
    words: str


def is_tall(bench: Bench, height_in: float) -> bool:
    """Whether a post of that height gets a brace."""
    return height_in > bench.rule("brace.post_height_trigger").value


def depth_below_ground_in(bench: Bench) -> float:
    """How deep the underside of a new footing goes: below the frost and the least of the rule, in. May raise Needs."""
    return round_up(
        max(bench.rule("footing.min_depth").value, bench.number("basis", "frost_depth_in")), one("depth_step")
    )


def post_wood(bench: Bench, beam_id: str) -> tuple[dict[str, Value], str]:
    """The wood of new posts (that of the deck's posts, else of its beams and joists), and how to ask for it."""
    parts = [*bench.deck.of_kind("post"), *bench.deck.of_kind("beam"), *bench.deck.of_kind("joist_field")]
    wooden = next((part for part in parts if "species" in part.facts), None)
    return (bench.wood(wooden.id), bench.wood_words(wooden.id)) if wooden else ({}, "No. 2 or better, treated")


def footing_facts(shape: str, width_in: float, post_size: str, depth_in: float) -> dict[str, Value]:
    """A new footing: thick enough for the load to spread from the post to its edge."""
    size = find_size(post_size)
    needed_in = footing_thickness(1.0, width_in, min(size.width_in, size.depth_in)).demand
    return {"shape": shape, "width_in": width_in, "thickness_in": round_up(needed_in, 1.0), "depth_in": depth_in}


def stand_up(
    bench: Bench,
    base: Change,
    beam_id: str,
    posts: Sequence[NewPost],
    *,
    keys: Sequence[Key] = (),
    seat_in: float | None = None,
) -> Stand | None:
    """Posts and footings under a beam that `base` puts in or changes; None where no size carries it.

    One size for all posts, the smallest at which no check of theirs fails and `keys` are cleared. `seat_in` is the
    bearing along the beam; with None the side of the post is entered as the bearing of the beam.
    Raises Needs without the frost depth.
    """
    depth_in = depth_below_ground_in(bench)
    wood, words = post_wood(bench, beam_id)
    ids: list[str] = []
    for _ in posts:
        ids.append(new_id(bench.deck, f"{beam_id}P", *ids, *(new.id for new in base.added)))
    for size in POST_SIZES:
        change = base.with_(
            Change(added=tuple(_post(bench, beam_id, size, wood, *each) for each in zip(ids, posts, strict=True)))
        )
        if seat_in is None:
            change = _with_seat(change, beam_id, find_size(size).width_in)
        asked = bench.trial(change)
        if not _covers(asked, beam_id, size):
            continue
        if _carried(asked, ids, beam_id) and all(asked.clears(key) for key in keys):
            return _on_footings(bench, change, beam_id, ids, posts, size, words, depth_in)
    return None


def _post(bench: Bench, beam_id: str, size: str, wood: Mapping[str, Value], part_id: str, post: NewPost) -> NewPart:
    where: dict[str, Value] = {"beam": beam_id}
    if post.position_in is not None:
        where["position_in"] = post.position_in
    made: dict[str, Value] = {"size": size, "height_in": post.height_in, "notch_depth_in": 0.0, "base": ABOVE_CONCRETE}
    braced: dict[str, Value] = {"is_braced": is_tall(bench, post.height_in), "decay_depth_in": 0.0}
    return NewPart("post", part_id, {**where, **wood, **made, **braced}, before=post.before)


def _covers(asked: Asking, beam_id: str, size: str) -> bool:
    """Whether all plies of the beam find room on the post; its wider side goes across the beam."""
    beam = asked.deck.by_id[beam_id].facts
    plies, board = beam.get("plies"), beam.get("size")
    if not isinstance(plies, int) or not isinstance(board, str):
        return True
    return plies * find_size(board).width_in <= find_size(size).depth_in


def _with_seat(change: Change, beam_id: str, seat_in: float) -> Change:
    if any(new.id == beam_id for new in change.added):
        added = tuple(
            replace(new, facts={**new.facts, "bearing_in": seat_in}) if new.id == beam_id else new
            for new in change.added
        )
        return Change(change.facts, added, change.removed)
    return change


def _carried(asked: Asking, post_ids: Sequence[str], beam_id: str) -> bool:
    """Whether nothing about the new posts fails, and the calculation says that they carry."""
    for post_id in post_ids:
        if any(asked.fails(each.key) for each in asked.about(post_id)):
            return False
        check = asked.check("post.compression", post_id)
        if check is None or check.verdict is not Verdict.HOLDS:
            return False
    return not any(asked.fails(each.key) for each in asked.about(beam_id) if each.key.check_id == "beam.bearing_length")


def smallest_footings(
    bench: Bench, change: Change, wanted: Sequence[tuple[str, str, str, str]], depth_in: float
) -> dict[str, dict[str, Value]] | None:
    """For each (footing id, post id, shape, post size) the smallest footing that nothing speaks against; None without.

    A footing id that the deck has is rewritten, another is put in.
    """
    found: dict[str, dict[str, Value]] = {}
    for number in range(max(len(listed("round_form")), int(one("square_most") / one("square_step")))):
        open_ones = [each for each in wanted if each[0] not in found]
        if not open_ones:
            break
        facts = {}
        for footing_id, _, shape, post_size in open_ones:
            width_in = _width_in(shape, number)
            if width_in is not None:
                facts[footing_id] = footing_facts(shape, width_in, post_size, depth_in)
        asked = bench.trial(change.with_(footings_change(bench, facts, {each[0]: each[1] for each in wanted})))
        for footing_id, made in facts.items():
            if is_good_footing(asked, footing_id):
                found[footing_id] = made
    return found if len(found) == len(wanted) else None


def is_good_footing(asked: Asking, footing_id: str) -> bool:
    bearing = asked.check("footing.bearing", footing_id)
    if bearing is None or bearing.verdict is not Verdict.HOLDS:
        return False
    return not any(asked.fails(each.key) for each in asked.about(footing_id))


def _width_in(shape: str, number: int) -> float | None:
    if shape == "round":
        forms = listed("round_form")
        return forms[number] if number < len(forms) else None
    width_in = (number + 4) * one("square_step")  # from 8 in
    return width_in if width_in <= one("square_most") else None


def footings_change(bench: Bench, facts: Mapping[str, Mapping[str, Value]], post_of: Mapping[str, str]) -> Change:
    """The change that makes footings: those of the deck rewritten, others put in under their posts."""
    written: dict[str, Value | None] = {}
    added = []
    for footing_id, made in facts.items():
        if footing_id in bench.deck.by_id:
            written |= {f"{footing_id}.{name}": value for name, value in made.items()}
        else:
            added.append(NewPart("footing", footing_id, {"post": post_of[footing_id], **made}))
    return Change(written, tuple(added))


def footing_line(facts: Mapping[str, Value], count: int, where: str) -> Line:
    """A footing as a line of a schedule."""
    width_in, thickness_in, depth_in = (float(str(facts[name])) for name in ("width_in", "thickness_in", "depth_in"))
    word = "diameter" if facts["shape"] == "round" else "square"
    size = f"{inches(width_in)} {word}, {inches(thickness_in)} thick"
    return Line("footing", size, count, f"{where}; underside {inches(depth_in)} below the ground", material=GRAVEL)


def _on_footings(
    bench: Bench,
    change: Change,
    beam_id: str,
    ids: Sequence[str],
    posts: Sequence[NewPost],
    size: str,
    words: str,
    depth_in: float,
) -> Stand | None:
    footing_ids: list[str] = []
    for post_id in ids:
        footing_ids.append(new_id(bench.deck, f"{post_id}F", *footing_ids))
    wanted = [(footing_id, post_id, "round", size) for footing_id, post_id in zip(footing_ids, ids, strict=True)]
    made = smallest_footings(bench, change, wanted, depth_in)
    if made is None:
        return None
    whole = change.with_(footings_change(bench, made, dict(zip(footing_ids, ids, strict=True))))
    at = tuple(post.position_in for post in posts if post.position_in is not None)
    braced = [post for post in posts if is_tall(bench, post.height_in)]
    heights = ", ".join(dict.fromkeys(inches(post.height_in) for post in posts))
    lines = [
        Line(
            "post",
            size,
            len(posts),
            f"{heights} tall, under the beam in a post cap, on a metal base above the concrete",
            at,
            "from the left end of the beam",
            material=words,
        )
    ]
    lines += _alike(made, footing_ids)
    if braced:
        lines.append(
            Line(
                "diagonal brace",
                "2x4 or larger",
                2 * len(braced),
                "at each new post, to the beam and across it",
                material=words,
            )
        )
    marks = tuple(Mark(post_id, "new post", post.position_in) for post_id, post in zip(ids, posts, strict=True))
    return Stand(whole, tuple(lines), marks, size, f"{several(len(posts), f'new {size} post')}")


def _alike(made: Mapping[str, Mapping[str, Value]], order: Sequence[str]) -> list[Line]:
    """Footings of one size as one line."""
    groups: dict[tuple[Value, ...], list[str]] = {}
    for footing_id in order:
        groups.setdefault(tuple(made[footing_id].values()), []).append(footing_id)
    return [
        footing_line(made[ids[0]], len(ids), "under the new posts " + ", ".join(_post_numbers(ids, order)))
        for ids in groups.values()
    ]


def _post_numbers(ids: Sequence[str], order: Sequence[str]) -> list[str]:
    return [str(order.index(each) + 1) for each in ids]


def brace_posts(bench: Bench, posts: Sequence[Part]) -> Change:
    """Braces at every one of these posts that is tall enough to need one. May raise Needs for a height."""
    tall = [post for post in posts if is_tall(bench, bench.number(post.id, "height_in"))]
    return Change({f"{post.id}.is_braced": True for post in tall})
