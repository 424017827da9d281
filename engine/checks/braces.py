"""Checks of knee braces: what those of a free-standing deck take when people sway together."""

from __future__ import annotations

from dataclasses import replace

from engine.braces import Brace, BraceEnd, brace_against_sway, braced_post
from engine.checks.beam import beam_lumber, post_reaction_lb
from engine.checks.common import loads_of, lumber_of, rule_of
from engine.checks.lateral import people_swaying, where_crowds_gather
from engine.checks.load_path import joist_fields_on
from engine.checks.registry import Result, check, yes_no
from engine.facts import CannotJudge, DeckView, PartView
from engine.fasteners import Fastener
from engine.lumber import Lumber
from engine.results import Verdict, verdict_of
from engine.vocabulary import Link

LAPPED = "lapped on their sides"


@check(each="post", id="post.brace_along", link=Link.POSTS, title="Brace along the beam, against people swaying")
def along(post: PartView, deck: DeckView) -> Result:
    return _against_sway(post, deck, "is_braced", "along the beam")


@check(each="post", id="post.brace_across", link=Link.POSTS, title="Brace square to the beam, against people swaying")
def across(post: PartView, deck: DeckView) -> Result:
    return _against_sway(post, deck, "is_braced_across", "square to the beam")


def _against_sway(post: PartView, deck: DeckView, flag: str, way: str) -> Result:
    """It never fails, since no code names the push: a shortfall is something to find out about."""
    level = post.part_named("beam").refers_to("level")
    if level is None or level.text("stands") != "free-standing":
        return None
    height_in = post.number("height_in")
    if height_in <= rule_of(deck, "brace.post_height_trigger").value:
        return None
    if not post.has(flag) or not post.flag(flag):
        return None  # whether there must be one is a question of its own
    if not post.count("brace_fasteners"):
        return yes_no(False, "statics", "nothing holds the ends of the brace")
    if post.text("brace_lies") != LAPPED:
        raise CannotJudge(
            f"the braces of {post.subject} are cut to fit between post and beam: what their ends hold when they are"
            " pulled is not covered",
            "an engineer licensed for the place can design or approve this case",
        )
    found = braced_post(
        brace := Brace(_brace_lumber(post, deck), post.number("brace_drop_in"), post.number("brace_run_in")),
        _ends(post, deck, brace, flag),
        lumber_of(post, deck),
        height_in,
        post_reaction_lb(post, deck, loads_of(deck).largest),
    )
    against = brace_against_sway(found, people_swaying(level), _braced_posts(level, flag))
    if verdict_of(against.ratio) is Verdict.HOLDS:
        return against
    raise CannotJudge(
        f"people who sway together may push with {against.demand:.0f} lb at each braced post {way}, by tests; this one"
        f" takes {against.capacity:.0f} lb ({against.governs}). No code names the push that a brace must take",
        where_crowds_gather(level),
    )


def _brace_lumber(post: PartView, deck: DeckView) -> Lumber:
    deck.run.assume(f"the braces of {post.subject} are of the wood and grade of the post")
    return replace(lumber_of(post, deck), size=post.text("brace_size"), measured_width_in=None, measured_depth_in=None)


def _ends(post: PartView, deck: DeckView, brace: Brace, flag: str) -> tuple[BraceEnd, BraceEnd]:
    kind = post.text("brace_fastener")
    length_in = None if kind == "bolt" else post.number("brace_fastener_length_in")
    fastener = Fastener(kind, post.number("brace_fastener_diameter_in"), length_in=length_in)
    count, own = post.count("brace_fasteners"), lumber_of(post, deck)
    name, into = _upper(post, deck, flag)
    return (
        BraceEnd("post", own, min(own.width_in, own.depth_in), brace.from_post_deg, fastener, count),
        BraceEnd(name, into, into.width_in, 90 - brace.from_post_deg, fastener, count),
    )


def _upper(post: PartView, deck: DeckView, flag: str) -> tuple[str, Lumber]:
    """What the upper end of a brace is fastened to: the beam, or a joist where the brace stands square to it."""
    beam = post.part_named("beam")
    if flag == "is_braced":
        return "beam", beam_lumber(beam, deck)
    fields = joist_fields_on(beam, "beam") or joist_fields_on(beam, "inner_beam")
    if not fields:
        raise CannotJudge(
            f"no joists are recorded on {beam.subject}, to which the braces square to it are fastened",
            f"measure the joists on {beam.subject}",
        )
    deck.run.assume(f"the braces of {post.subject} square to the beam are made like those along it")
    return "joist", lumber_of(fields[0], deck)


def _braced_posts(level: PartView, flag: str) -> int:
    """How many posts of a level are braced that way, as far as it is recorded."""
    posts = [post for beam in level.parts("beam") for post in beam.parts("post")]
    return sum(1 for post in posts if post.has(flag) and post.flag(flag))
