"""The pages of the walk: what they show, what they take, what they refuse and keep."""

import json
import re
from datetime import timedelta
from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from inspections.survey.keys import PREFIXES
from inspections.survey.models import Reading
from inspections.survey.services import add_part, record_reading
from inspections.survey.wording import KIND_WORDS, STOPS, WATER_KINDS
from inspections.visits.models import Visit
from tests.inspections.survey.walking import HTMX, link, readings_url, send, values
from tests.make import make_inspector, make_visit

pytestmark = pytest.mark.django_db


def test_an_empty_record_asks_what_stands_there(page, visit):
    answer = page.get(reverse("walk", args=[visit.pk])).content.decode()
    assert "What stands here?" in answer


def test_the_first_answer_puts_the_usual_parts_in_place(page, visit):
    page.post(
        reverse("walk-start", args=[visit.pk]),
        {"stands": "on a ledger", "levels": "1", "width": "14'", "depth": "12'", "height": "", "posts": "3",
         "has_stairs": "on", "has_guards": "on"},
    )  # fmt: skip
    kinds = list(visit.parts.values_list("kind", flat=True))
    count = {kind: kinds.count(kind) for kind in set(kinds)}
    assert count == {
        "level": 1, "ledger": 1, "joist_field": 1, "beam": 1, "post": 3, "footing": 3, "guard": 3, "stair": 1,
    }  # fmt: skip
    level = visit.parts.get(kind="level")
    assert values(level) == {"stands": "on a ledger", "width_in": 168.0, "depth_in": 144.0}
    assert values(visit.parts.get(kind="joist_field")) == {"level": "L1", "ledger": "LD1", "beam": "B1"}
    assert {values(post)["beam"] for post in visit.parts.filter(kind="post")} == {"B1"}


def test_a_free_standing_deck_has_a_beam_at_the_house_and_no_ledger(page, visit):
    answers = {"stands": "free-standing", "levels": "1", "posts": "2"}
    page.post(reverse("walk-start", args=[visit.pk]), answers)
    kinds = list(visit.parts.values_list("kind", flat=True))
    assert "ledger" not in kinds
    assert kinds.count("beam") == 2
    assert values(visit.parts.get(kind="joist_field"))["inner_beam"] == "B1"


def test_a_bad_width_is_said_beside_the_field_and_the_rest_is_kept(page, visit):
    answer = page.post(
        reverse("walk-start", args=[visit.pk]),
        {"stands": "free-standing", "levels": "2", "width": "12-", "depth": "11'", "posts": "3"},
    )
    text = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert "cannot be read as a length" in text
    assert 'value="12-"' in text
    assert 'value="11\'"' in text
    assert not visit.parts.exists()


def test_the_start_does_not_double_a_record_that_has_parts(page, visit, joists):
    page.post(reverse("walk-start", args=[visit.pk]), {"stands": "on a ledger", "levels": "1", "posts": "3"})
    assert visit.parts.count() == 1


@pytest.mark.parametrize("slug", [stop.slug for stop in STOPS])
def test_every_link_has_its_page_with_the_caution(slug, page, visit, joists):
    answer = page.get(link(visit, slug))
    assert answer.status_code == 200
    assert "does not replace a licensed design professional" in " ".join(answer.content.decode().split())


def test_a_link_that_is_none_is_not_found(page, visit):
    assert page.get(link(visit, "roof")).status_code == 404


def test_a_changed_fact_is_saved_and_answered_with_the_verdict_and_the_chain(page, visit, joists):
    seen = json.dumps(["", "measured", ""])
    answer = page.post(
        readings_url(joists, "span_in"),
        {"span_in": "15'", "span_in.how": "measured", "span_in.seen": seen},
        headers=HTMX,
    )
    text = answer.content.decode()
    assert answer.status_code == 200
    assert values(joists)["span_in"] == 180.0
    assert 'id="fact-J1-span_in"' in text
    for other in ('id="verdicts"', 'id="chain"', 'id="verdict-line"', 'id="standing-J1"'):
        assert re.search(rf'{other}[^>]*hx-swap-oob="true"', text), other
    assert "Saved" in text


def test_a_span_that_is_too_long_is_shown_as_not_good_enough_with_both_witnesses(page, visit, joists):
    record_reading(joists, "species", "southern pine", by=visit.inspector)
    record_reading(joists, "grade", "No. 2", by=visit.inspector)
    record_reading(joists, "span_in", "18'", by=visit.inspector)
    text = " ".join(page.get(link(visit)).content.decode().split())
    assert "Not good enough" in text
    assert "By calculation" in text
    assert "By the published rule" in text
    assert "can carry" in text
    assert "R507.6" in text
    assert "check=joist." in text  # the way to a finding


def test_what_cannot_be_told_says_what_would_settle_it(page, visit, joists):
    text = page.get(link(visit)).content.decode()
    assert "What would settle it" in text
    assert "wanted for" in text


def test_nails_of_a_ledger_strip_wait_among_the_details_until_a_strip_is_recorded(page, visit, joists):
    field = "Nails at each joist, at the house"
    before, _, behind = page.get(link(visit)).content.decode().partition("Details, where they can be measured")
    assert field in behind and field not in before
    record_reading(joists, "house_end", "ledger strip", by=visit.inspector)
    before, _, behind = page.get(link(visit)).content.decode().partition("Details, where they can be measured")
    assert field in before


@pytest.mark.parametrize("typed", ["12-", "3/0", "-4", "9999 ft", "9" * 300, "½½", "<b>", "\x00", "12'3'4\""])
def test_bad_input_is_said_beside_the_field_and_never_breaks_the_page(typed, page, visit, joists):
    answer = page.post(readings_url(joists, "span_in"), {"span_in": typed, "span_in.how": "measured"}, headers=HTMX)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert re.search(r'<ul class="errorlist" id="error-fact-J1-span_in">', text)
    assert 'aria-invalid="true"' in text
    assert "<b>" not in re.sub(r'<b class="over">', "", text)
    assert "span_in" not in values(joists)


def test_a_sheet_sent_whole_keeps_the_good_and_says_the_bad(page, visit, joists):
    answer = page.post(
        readings_url(joists),
        {"span_in": "12'", "overhang_in": "two feet", "count": "11", "part-name": "north bay"},
    )
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "two feet" in text
    assert 'id="error-fact-J1-overhang_in"' in text
    assert values(joists) == {"spacing_in": 16.0, "size": "2x8", "span_in": 144.0, "count": 11}
    joists.refresh_from_db()
    assert joists.name == "north bay"


def test_a_good_sheet_without_javascript_leads_back_to_its_part(page, visit, joists):
    answer = page.post(readings_url(joists), {"span_in": "12'"})
    assert answer.status_code == 302
    assert answer["Location"].endswith("/walk/joists/#part-J1")


def test_a_field_that_was_emptied_is_cleared(page, visit, joists):
    reading = joists.readings.get(fact="spacing_in")
    send(page, joists, "spacing_in", "", [reading.at.isoformat(), "measured", "16"], how="measured")
    assert "spacing_in" not in values(joists)


def test_not_reachable_takes_the_value_away(page, visit, joists):
    reading = joists.readings.get(fact="spacing_in")
    send(page, joists, "spacing_in", "16", [reading.at.isoformat(), "measured", "16"], how="not_reachable")
    reading.refresh_from_db()
    assert (reading.how, reading.value) == ("not_reachable", None)


def test_a_value_typed_over_not_reachable_was_reached_after_all(page, visit, joists):
    reading = record_reading(joists, "spacing_in", "", how="not_reachable", by=visit.inspector)
    send(page, joists, "spacing_in", "24", [reading.at.isoformat(), "not_reachable", ""], how="not_reachable")
    reading.refresh_from_db()
    assert (reading.how, reading.value) == ("measured", 24.0)


def test_both_values_are_shown_when_two_changed_one_fact(page, visit, joists):
    seen = [joists.readings.get(fact="spacing_in").at.isoformat(), "measured", "16"]
    record_reading(joists, "spacing_in", "19 1/2", by=visit.inspector)
    answer = send(page, joists, "spacing_in", "24", seen)
    text = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert '19 1/2"' in text
    assert "24" in text
    assert "Use mine" in text
    assert values(joists)["spacing_in"] == 19.5

    fresh = unescape(re.search(r'name="spacing_in.seen" value="([^"]*)"', answer.content.decode())[1])
    send(page, joists, "spacing_in", "24", fresh, **{"spacing_in.keep": "theirs"})
    assert values(joists)["spacing_in"] == 19.5
    send(page, joists, "spacing_in", "24", fresh, **{"spacing_in.keep": "mine"})
    assert values(joists)["spacing_in"] == 24.0


def test_an_old_page_does_not_undo_what_it_did_not_touch(page, visit, joists):
    old = {
        "spacing_in": "16", "spacing_in.how": "measured",
        "spacing_in.seen": json.dumps([joists.readings.get(fact="spacing_in").at.isoformat(), "measured", "16"]),
    }  # fmt: skip
    record_reading(joists, "spacing_in", "24", by=visit.inspector)
    page.post(readings_url(joists), {**old, "span_in": "12'", "span_in.how": "measured"})
    assert values(joists) == {"spacing_in": 24.0, "size": "2x8", "span_in": 144.0}


def test_a_part_is_added_and_the_visit_begins(page, visit):
    answer = page.post(reverse("part-add", args=[visit.pk]), {"kind": "beam"})
    assert answer["Location"].endswith("#part-B1")
    visit.refresh_from_db()
    assert visit.state == Visit.State.UNDER_WAY


def test_removing_a_beam_names_what_goes_with_it_and_takes_it_out(page, visit):
    for kind in ("beam", "post", "footing"):
        add_part(visit, kind, by=visit.inspector)
    beam = visit.parts.get(kind="beam")
    asked = page.get(reverse("part-remove", args=[visit.pk, beam.pk])).content.decode()
    assert "P1" in asked
    assert "FT1" in asked
    page.post(reverse("part-remove", args=[visit.pk, beam.pk]))
    assert not visit.parts.filter(removed_at__isnull=True).exists()


def test_the_next_post_is_the_same_as_the_one_before(page, visit):
    add_part(visit, "beam", by=visit.inspector)
    first = add_part(visit, "post", by=visit.inspector, readings={"size": "6x6", "height_in": "30"})
    second = add_part(visit, "post", by=visit.inspector)
    assert "Same as P1" in page.get(link(visit, "posts")).content.decode()
    page.post(reverse("part-same", args=[visit.pk, second.pk]), {"source": first.key})
    assert values(second) == {"beam": "B1", "size": "6x6", "height_in": 30.0}


def test_a_row_of_fasteners_is_added_by_its_spacing(page, visit):
    ledger = add_part(visit, "ledger", by=visit.inspector, readings={"length_in": "10'"})
    page.post(
        reverse("fasteners-add", args=[visit.pk, ledger.pk]),
        {"first": "4", "every": "16", "last": "", "row": "staggered", "fastener": "lag screw", "diameter_in": "1/2"},
    )
    found = [values(part) for part in visit.parts.filter(kind="fastener")]
    assert sorted(each["position_in"] for each in found) == [4, 20, 36, 52, 68, 84, 100, 116]
    assert {(each["fastener"], each["diameter_in"], each["ledger"]) for each in found} == {("lag screw", 0.5, "LD1")}
    rows = [each["row"] for each in sorted(found, key=lambda each: each["position_in"])]
    assert rows == ["upper", "lower"] * 4


@pytest.mark.parametrize(
    "typed",
    [
        {"first": "", "every": "16"},
        {"first": "4", "every": "0"},
        {"first": "4", "every": "16", "last": "2"},
        {"first": "4", "every": "16", "fastener": "rivet"},
        {"first": "4", "every": "16", "row": "diagonal"},
        {"first": "twelve"},
        {"first": "4 or 6"},
        {"first": "4", "every": "16 or 24"},
        {"first": "4", "every": "16", "last": "60 or 72"},
    ],
)
def test_a_row_that_cannot_be_is_refused_in_words_and_adds_nothing(typed, page, visit):
    ledger = add_part(visit, "ledger", by=visit.inspector, readings={"length_in": "10'"})
    answer = page.post(reverse("fasteners-add", args=[visit.pk, ledger.pk]), typed, headers=HTMX)
    assert answer.status_code == 422
    assert 'class="errorlist"' in answer.content.decode()
    assert not visit.parts.filter(kind="fastener").exists()


def test_a_row_up_to_the_end_of_a_ledger_of_doubtful_length_asks_for_the_last_one(page, visit):
    ledger = add_part(visit, "ledger", by=visit.inspector, readings={"length_in": "10' or 12'"})
    typed = {"first": "4", "every": "16"}
    answer = page.post(reverse("fasteners-add", args=[visit.pk, ledger.pk]), typed, headers=HTMX)
    assert answer.status_code == 422
    assert "Say where the last one is" in answer.content.decode()


def test_the_strip_and_its_table_show_every_fastener(page, visit):
    ledger = add_part(visit, "ledger", by=visit.inspector, readings={"length_in": "10'"})
    page.post(reverse("fasteners-add", args=[visit.pk, ledger.pk]), {"first": "4", "every": "16"})
    text = page.get(link(visit, "ledger")).content.decode()
    for number in range(1, 9):
        assert f'data-part="F{number}"' in text
        assert f'id="fastener-F{number}"' in text


def test_a_fastener_that_is_tapped_shows_its_sheet(page, visit):
    add_part(visit, "ledger", by=visit.inspector, readings={"length_in": "10'"})
    add_part(visit, "fastener", by=visit.inspector, readings={"position_in": "12"})
    answer = page.get(link(visit, "ledger") + "?fastener=F1", headers=HTMX)
    text = answer.content.decode()
    assert text.lstrip().startswith('<section class="sheet fasteners"')
    assert 'id="part-F1"' in text
    assert page.get(link(visit, "ledger") + "?fastener=F9", headers=HTMX).status_code == 404


def test_a_contradiction_is_shown_with_the_way_to_its_part(page, visit):
    add_part(visit, "ledger", by=visit.inspector, readings={"length_in": "10'"})
    add_part(visit, "fastener", by=visit.inspector, readings={"position_in": "12'"})
    for address in (reverse("walk", args=[visit.pk]), link(visit, "ledger"), link(visit, "joists")):
        text = page.get(address).content.decode()
        assert "The record contradicts itself" in text
        assert "?fastener=F1#fasteners-LD1" in text


def test_an_assumed_value_is_listed_with_the_verdict_that_rests_on_it(page, visit, joists):
    record_reading(joists, "span_in", "10'", how="assumed", by=visit.inspector)
    text = unescape(page.get(link(visit)).content.decode())
    assert "span of joist field J1 assumed on the visit: 10'" in text


def test_another_inspectors_record_is_not_found(signed_in, visit, joists):
    stranger = signed_in(make_inspector())
    assert stranger.get(link(visit)).status_code == 404
    assert stranger.post(readings_url(joists, "span_in"), {"span_in": "12'"}).status_code == 404


@pytest.mark.parametrize("who", ["office", "manager", "administrator"])
def test_others_read_the_record_and_have_no_form_in_it(who, signed_in, make_person, visit, joists):
    reader = signed_in(make_person(who))
    text = reader.get(link(visit)).content.decode()
    assert "16" in text
    assert "measured by" in text
    assert 'name="spacing_in"' not in text
    assert reverse("part-add", args=[visit.pk]) not in text
    assert reader.post(readings_url(joists, "span_in"), {"span_in": "12'"}).status_code == 403
    assert reader.get(reverse("walk", args=[visit.pk])).status_code == 200


def test_a_manager_who_inspects_cannot_write_anothers_record(signed_in, make_person, visit, joists):
    both = signed_in(make_person("manager", "inspector"))
    assert both.post(readings_url(joists, "span_in"), {"span_in": "12'"}).status_code == 404
    assert "span_in" not in values(joists)


def test_a_record_that_was_handed_in_is_read_only_and_says_so(page, visit, joists):
    Visit.objects.filter(pk=visit.pk).update(state="handed_in")
    text = page.get(link(visit)).content.decode()
    assert "It is closed" in text
    assert 'name="spacing_in"' not in text
    answer = page.post(readings_url(joists, "span_in"), {"span_in": "12'"}, headers=HTMX)
    assert "span_in" not in values(joists)
    assert answer.status_code == 422
    assert "closed" in answer.content.decode()


def test_a_part_of_another_visit_is_not_found(page, visit, inspector):
    other = make_visit(inspector, starts_at=timezone.now() + timedelta(days=3))
    part = add_part(other, "beam", by=inspector)
    wrong = reverse("reading-record", args=[visit.pk, part.pk])
    assert page.post(wrong, {"plies": "3"}).status_code == 404


@pytest.mark.parametrize("name", ["walk", "walk-link"])
def test_the_page_asks_the_database_as_often_for_twenty_parts_as_for_one(
    name, page, visit, joists, django_assert_max_num_queries
):
    address = reverse(name, args=[visit.pk, "joists"] if name == "walk-link" else [visit.pk])
    page.get(address)  # the firm's row is made the first time
    with CaptureQueriesContext(connection) as for_one:
        page.get(address)
    for _ in range(19):
        add_part(visit, "joist_field", by=visit.inspector, readings={"span_in": "10'", "size": "2x8"})
    with django_assert_max_num_queries(len(for_one)):
        page.get(address)
    assert len(for_one) <= 9


def test_the_engine_is_asked_once_for_a_page(page, visit, joists, monkeypatch):
    from inspections.survey import record

    asked = []
    real = record.assess
    monkeypatch.setattr(record, "assess", lambda one: asked.append(one) or real(one))
    record._assess.cache_clear()
    page.get(link(visit))
    assert len(asked) == 1


def test_the_plan_leads_to_every_part(page, visit):
    page.post(
        reverse("walk-start", args=[visit.pk]),
        {"stands": "on a ledger", "levels": "1", "posts": "2", "width": "14'", "depth": "10'"},
    )
    joists = visit.parts.get(kind="joist_field")
    record_reading(joists, "span_in", "9'", by=visit.inspector)
    record_reading(joists, "spacing_in", "16", by=visit.inspector)
    text = page.get(reverse("walk", args=[visit.pk])).content.decode()
    for address in ("joists/#part-J1", "beam/#part-B1", "ledger/#part-LD1"):
        assert f'href="/visits/{visit.pk}/walk/{address}" data-part=' in text


def test_no_inline_style_or_script_is_on_the_pages(page, visit, joists):
    for address in (reverse("walk", args=[visit.pk]), link(visit), link(visit, "ledger")):
        text = page.get(address).content.decode()
        assert not re.search(r'\sstyle="|<style|<script(?![^>]*src=)|\son[a-z]+="', text)


def test_readings_of_how_are_those_of_the_model(page, visit, joists):
    text = page.get(link(visit)).content.decode()
    for words in Reading.How.labels:
        assert words in text


@pytest.mark.parametrize("slug", ["posts", "water", "nonsense", ""])
def test_whatever_link_a_form_names_its_part_is_answered(slug, page, visit):
    beam = add_part(visit, "beam", by=visit.inspector)
    address = reverse("reading-record", args=[visit.pk, beam.pk])
    answer = page.post(f"{address}?link={slug}&fact=decay_depth_in", {"decay_depth_in": "1/2"}, headers=HTMX)
    assert answer.status_code == 200
    assert 'id="fact-B1-decay_depth_in"' in answer.content.decode()


def test_a_fastener_that_is_taken_out_of_its_ledger_still_has_a_sheet(page, visit):
    add_part(visit, "ledger", by=visit.inspector, readings={"length_in": "10'"})
    fastener = add_part(visit, "fastener", by=visit.inspector, readings={"position_in": "12"})
    address = reverse("reading-record", args=[visit.pk, fastener.pk])
    seen = json.dumps([fastener.readings.get(fact="ledger").at.isoformat(), "measured", "LD1"])
    data = {"ledger": "", "ledger.how": "measured", "ledger.seen": seen}
    answer = page.post(f"{address}?link=ledger&fact=ledger", data, headers=HTMX)
    assert answer.status_code == 200
    text = page.get(link(visit, "ledger")).content.decode()
    assert 'id="part-F1"' in text
    assert "until then it is not judged" in text


def test_every_stop_shows_the_parts_it_counts(page, visit):
    for kind in KIND_WORDS:
        add_part(visit, kind, by=visit.inspector)
    for stop in STOPS:
        text = page.get(link(visit, stop.slug)).content.decode()
        wanted = WATER_KINDS if stop.slug == "water" else stop.kinds
        shown = set(re.findall(r'id="part-([A-Z]+)1"', text)) | set(re.findall(r'id="fastener-(F)1"', text))
        assert shown == {PREFIXES[kind] for kind in wanted}, stop.slug
