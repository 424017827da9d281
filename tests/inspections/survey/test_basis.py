"""The rules that a visit is judged by: frozen when it begins, with local amendments and the firm's confirmations."""

from datetime import date

import pytest

from engine.codes import edition
from firm.audit.models import AuditEntry
from firm.properties.models import Property
from firm.rules.forms import AmendmentForm, ConfirmationForm
from firm.rules.keys import known_keys, known_rules
from firm.rules.models import Amendment, Confirmation, Edition, RuleSet
from inspections.reports.snapshot import freeze
from inspections.survey.basis import basis_json, basis_of, is_out_of_date, rules_applied, take_rules_anew
from inspections.survey.deck import assess_visit, deck_json
from inspections.survey.services import add_part, record_reading
from inspections.visits.refusals import WrongState
from inspections.visits.services import begin
from tests.make import make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def county():
    rules = {"region": "Maine", "county": "Sele", "citation": "Ordinance 9-14", "holds_from": date(2026, 5, 4)}
    county = RuleSet.objects.create(ground_snow_psf=60, **rules)
    Amendment.objects.create(rule_set=county, key="guard.min_height", value=42, unit="in", citation="s. 12")
    return county


@pytest.fixture
def visit(inspector, county):
    house = make_property(rule_set=county, ground_snow_psf=60, rules_source="Sele County: Ordinance 9-14")
    return make_visit(inspector, property=house)


def guard_verdict(visit, inspector):
    level = add_part(visit, "level", by=inspector)
    guard = add_part(visit, "guard", by=inspector)
    record_reading(level, "height_in", "60", by=inspector)
    record_reading(guard, "level", level.key, by=inspector)
    record_reading(guard, "is_present", "yes", by=inspector)
    record_reading(guard, "height_in", "38", by=inspector)


def test_what_the_editor_offers_is_what_the_engine_takes():
    rules = known_rules()
    assert rules["guard.min_height"].value == "36"
    assert "joist_spans_irc_2021" in known_keys()
    assert "joist_spans_irc_2021" not in rules
    code = edition("IRC 2021")
    for key in rules:
        assert code.rule(key).unit == rules[key].unit


def test_a_rule_that_no_check_reads_may_be_compared_but_not_amended(county):
    assert "guard.top_as_handrail_max" in known_keys()
    assert "guard.top_as_handrail_max" not in known_rules()
    local = {"key": "guard.top_as_handrail_max", "value": 36, "unit": "in", "citation": "s. 13"}
    assert "No check reads this rule" in AmendmentForm(local).errors["key"][0]
    assert AmendmentForm({**local, "key": "guard.min_height"}).is_valid()


def test_what_is_from_memory_in_words_can_be_confirmed_too():
    assert "post.foot_held" not in known_rules()
    assert ConfirmationForm({"key": "post.foot_held", "on": "2026-05-04", "copy": "2021, second print"}).is_valid()


def test_the_editions_are_the_engines():
    from engine.codes import editions

    assert sorted(Edition.values) == sorted(editions())
    assert Property.Edition is Edition


def test_amendments_and_confirmations_reach_the_engine(visit, office):
    Confirmation.objects.create(key="stair.max_riser", by=office, on=date(2026, 6, 1), copy="Second printing, p. 71")
    raw = deck_json(visit)["basis"]
    assert raw["amendments"] == [
        {"key": "guard.min_height", "value": 42.0, "unit": "in", "citation": "Sele County, Maine: s. 12"}
    ]
    assert raw["confirmations"] == [{"key": "stair.max_riser", "by": "office", "on": "2026-06-01"}]
    found = assess_visit(visit).deck.basis
    assert [one.key for one in found.amendments] == ["guard.min_height"]
    assert [one.key for one in found.confirmations] == ["stair.max_riser"]


def test_the_live_load_of_the_place_is_what_the_joists_must_carry(visit, inspector, county):
    """Bending under 60 and 10 psf is 70/50 of that under 40 and 10 psf: statics."""
    joists = add_part(visit, "joist_field", by=inspector)
    for name, text in {"size": "2x10", "species": "southern pine", "grade": "No. 2", "spacing_in": "16",
                       "span_in": "104", "is_incised": "no"}.items():  # fmt: skip
        record_reading(joists, name, text, by=inspector)
    Property.objects.filter(pk=visit.property_id).update(ground_snow_psf=0)

    def bending(anew=True):
        judged = type(visit).objects.whole().get(pk=visit.pk)
        (check,) = assess_visit(take_rules_anew(judged, by=inspector) if anew else judged).by_id("joist.bending")
        return check

    before = bending()
    Amendment.objects.create(rule_set=county, key="load.deck_live_min", value=60, unit="psf", citation="s. 13")
    after = bending()
    assert after.ratio == pytest.approx(before.ratio * 70 / 50)
    assert "live load 60 psf by local amendment (Sele County, Maine: s. 13)" in after.assumptions
    county.amendments.all().delete()
    assert bending(anew=False).ratio == after.ratio, "the visit keeps what it was judged by"
    assert {"key": "load.deck_live_min", "value": 60.0, "unit": "psf", "citation": "Sele County, Maine: s. 13"} in (
        freeze(type(visit).objects.whole().get(pk=visit.pk))["basis"]["amendments"]
    )


def test_frost_depth_and_least_footing_depth_of_the_place_judge_a_footing(visit, inspector, county):
    beam, footing = add_part(visit, "beam", by=inspector), add_part(visit, "footing", by=inspector)
    post = add_part(visit, "post", by=inspector)
    record_reading(beam, "plies", "2", by=inspector)
    record_reading(post, "beam", beam.key, by=inspector)
    record_reading(footing, "post", post.key, by=inspector)
    record_reading(footing, "depth_in", "40", by=inspector)

    def depth(frost_in):
        Property.objects.filter(pk=visit.property_id).update(frost_depth_in=frost_in)
        judged = take_rules_anew(type(visit).objects.whole().get(pk=visit.pk), by=inspector)
        (check,) = assess_visit(judged).by_id("footing.depth")
        return check.verdict

    assert depth(None) == "cannot tell"
    assert (depth(36), depth(48)) == ("holds", "fails")
    Amendment.objects.create(rule_set=county, key="footing.min_depth", value=42, unit="in", citation="s. 14")
    assert depth(36) == "fails"


def test_every_key_the_firm_may_confirm_is_one_that_the_engine_takes(visit, office):
    for key in known_keys():
        Confirmation.objects.create(key=key, by=office, on=date(2026, 6, 1), copy="Second printing")
    assert len(assess_visit(visit).deck.basis.confirmations) == len(known_keys())
    assert known_keys()["editions.20"].words == "IRC 2024 prints the numbers of the table joist_spans_irc_2021"


def test_a_visit_keeps_the_rules_of_the_moment_it_began(visit, inspector, county):
    assert visit.basis is None
    begin(visit, by=inspector)
    frozen = basis_of(visit)
    assert frozen == basis_json(visit.property)
    Property.objects.filter(pk=visit.property_id).update(ground_snow_psf=30, edition="IRC 2024")
    county.amendments.all().delete()
    visit = type(visit).objects.whole().get(pk=visit.pk)
    assert deck_json(visit)["basis"] == frozen
    assert rules_applied(visit)["ground_snow_psf"] == 60
    assert freeze(visit)["basis"]["edition"] == "IRC 2021", "the report names what the verdicts rest on"
    assert is_out_of_date(visit)


def test_a_visit_that_has_not_begun_takes_what_stands_now(visit):
    Property.objects.filter(pk=visit.property_id).update(ground_snow_psf=30)
    visit = type(visit).objects.whole().get(pk=visit.pk)
    assert deck_json(visit)["basis"]["ground_snow_psf"] == 30
    assert not is_out_of_date(visit)


def test_the_rules_can_be_taken_anew_while_the_record_is_open(visit, inspector, office):
    begin(visit, by=inspector)
    Property.objects.filter(pk=visit.property_id).update(ground_snow_psf=30)
    visit = take_rules_anew(visit, by=office)
    assert basis_of(visit)["ground_snow_psf"] == 30
    line = AuditEntry.objects.about(visit).first()
    assert (line.verb, line.before["ground_snow_psf"], line.after["ground_snow_psf"]) == (
        "took the rules anew for", 60.0, 30.0,
    )  # fmt: skip
    visit.state = "handed_in"
    visit.save()
    with pytest.raises(WrongState):
        take_rules_anew(visit, by=office)


def test_a_taller_guard_is_asked_for_where_the_county_amended_it(visit, inspector):
    """38 in is enough by the code's 36 in and not by the county's 42 in."""
    begin(visit, by=inspector)
    guard_verdict(visit, inspector)
    (amended,) = [check for check in assess_visit(visit).checks if check.id == "guard.height"]
    assert (str(amended.verdict), amended.demand, amended.citation) == ("fails", 42, "Sele County, Maine: s. 12")
    plain = make_visit(inspector)
    begin(plain, by=inspector)
    guard_verdict(plain, inspector)
    (code,) = [check for check in assess_visit(plain).checks if check.id == "guard.height"]
    assert (str(code.verdict), code.demand) == ("holds", 36)


def test_who_reads_the_visit_is_told_the_amended_rule_in_words(visit, office, signed_in):
    page = signed_in(office).get(f"/visits/{visit.pk}/").content.decode()
    assert known_rules()["guard.min_height"].words.casefold() in page.casefold()
    assert "guard.min_height" not in page
