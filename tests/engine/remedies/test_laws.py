"""Laws that hold whatever the deck: proved repairs prove themselves again from the file, and harm nothing unsaid."""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from engine.assessment import assess
from engine.deck import Deck
from engine.remedies import remedies_for
from engine.remedies.asking import Asking, Budget
from engine.results import Verdict
from tests.engine.deck_files import changed
from tests.engine.remedies.proof import undisputed_failures

WOOD = st.sampled_from(["southern pine", "hem-fir", "spruce-pine-fir", "unknown"])
CHANGES = st.fixed_dictionaries(
    {},
    optional={
        "basis": st.fixed_dictionaries(
            {
                "edition": st.sampled_from(["IRC 2015", "IRC 2018", "IRC 2021", "DCA 6-2012"]),
                "live_psf": st.sampled_from([40, 60, 100]),
                "ground_snow_psf": st.sampled_from([0, 30, 60]),
            }
        ),
        "L1": st.fixed_dictionaries({"height_in": st.sampled_from([42, 60, 120])}),
        "LD1": st.fixed_dictionaries({"species": WOOD, "size": st.sampled_from(["2x6", "2x8", "2x10"])}),
        "J1": st.fixed_dictionaries(
            {
                "size": st.sampled_from(["2x6", "2x8", "2x10"]),
                "species": WOOD,
                "spacing_in": st.sampled_from([12, 16, 24]),
                "span_in": st.integers(60, 210),
                "overhang_in": st.sampled_from([0, 12, 24, 48]),
                "notch_depth_in": st.sampled_from([0, 2]),
                "hanger_fasteners_present": st.sampled_from([0.2, 1.0]),
            }
        ),
        "B1": st.fixed_dictionaries(
            {
                "size": st.sampled_from(["2x6", "2x8", "2x12"]),
                "plies": st.integers(1, 3),
                "runs": st.sampled_from(["continuous", "spliced over posts", "spliced between posts"]),
                "seat": st.sampled_from(["on top of the post", "in a notch of the post"]),
                "bearing_in": st.sampled_from([1.0, 3.5]),
            }
        ),
        "P2": st.fixed_dictionaries({"size": st.sampled_from(["4x4", "6x6"]), "height_in": st.integers(12, 170)}),
        "FT2": st.fixed_dictionaries({"width_in": st.integers(6, 30), "thickness_in": st.integers(2, 12)}),
        "G1": st.fixed_dictionaries(
            {
                "height_in": st.integers(28, 42),
                "post_notch_in": st.sampled_from([0, 1.5]),
                "post_spacing_in": st.integers(40, 150),
                "largest_opening_in": st.sampled_from([3.5, 6]),
                "attachment": st.sampled_from(["lag screws", "bolts through the rim only", "nails or screws"]),
            }
        ),
        "S1": st.fixed_dictionaries(
            {
                "risers_in": st.lists(st.sampled_from([6, 7, 7.5, 8.5]), min_size=4, max_size=16),
                "stringer_count": st.integers(2, 4),
                "stringer_span_in": st.integers(40, 160),
                "throat_in": st.sampled_from([3.5, 5.5]),
            }
        ),
        "F4": st.fixed_dictionaries({"condition": st.sampled_from(["missing", "loose", "good"])}),
        "F5": st.fixed_dictionaries({"condition": st.just("missing")}),
        "F9": st.fixed_dictionaries({"fastener": st.sampled_from(["nail", "lag screw"])}),
    },
)


@given(CHANGES)
@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_every_proved_remedy_proves_itself_again_and_harms_nothing_unsaid(changes):
    deck = Deck.from_json(changed(**changes))
    before = undisputed_failures(assess(deck))
    for remedy in remedies_for(deck):
        after = assess(Deck.from_json(remedy.deck_after.to_json()))
        if not remedy.is_proved:
            assert remedy.deck_after.to_mapping() == deck.to_mapping()
            continue
        failing = {(check_id, _part(subject)) for check_id, subject in undisputed_failures(after)}
        for each in (*remedy.answers, *remedy.also_clears):
            assert (each.check_id, _part(each.subject)) not in failing, (remedy.id, each)
        known = {(check_id, _part(subject)) for check_id, subject in before}
        said = {(each.check_id, _part(each.subject)) for each in remedy.makes_worse}
        inherited = {each for each in failing if "outer part" in each[1] or "upper flight" in each[1]}
        assert failing - known - said - inherited == set(), remedy.id


@given(CHANGES)
@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_asking_again_only_what_a_change_touches_gives_the_answers_of_asking_everything(changes):
    deck = Deck.from_json(changed(**changes))
    before = Asking(deck, Budget(100_000))
    list(map(before.ask, before.all_keys()))
    for remedy in remedies_for(deck)[:6]:
        quick = Asking(remedy.change.on(deck), Budget(100_000), before=before, change=remedy.change)
        found = [asked.check for asked in quick.everything() if asked.check is not None]
        assert found == list(assess(quick.deck).checks)


@given(st.integers(100, 210), st.sampled_from(["2x8", "2x10"]), st.sampled_from([16, 24]))
@settings(max_examples=20)
def test_one_new_joist_fewer_would_not_do(span_in, size, spacing_in):
    facts = {"span_in": span_in, "overhang_in": 0, "size": size, "spacing_in": spacing_in, "count": 168 // spacing_in}
    for remedy in remedies_for(Deck.from_json(changed(J1=facts))):
        if remedy.kind not in ("joist-sister", "joist-between"):
            continue
        apart = remedy.deck_after.by_id["J1"].facts["spacing_in"]
        together = round(spacing_in / apart)
        less = remedy.deck_after.with_fact("J1.spacing_in", spacing_in / (together - 1))
        failing = {check.id for check in assess(less).checks if check.verdict is Verdict.FAILS}
        assert failing & {each.check_id for each in remedy.answers}


def _part(subject: str) -> str:
    return subject.rpartition(" ")[2] if subject.startswith("fastener") else subject
