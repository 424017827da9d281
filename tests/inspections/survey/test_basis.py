"""The rules that a visit is judged by: frozen when it begins, with local amendments and the firm's confirmations."""

from datetime import date

import pytest

from engine.codes import edition
from firm.audit.models import AuditEntry
from firm.properties.models import Property
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
