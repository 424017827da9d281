"""The release desk as a manager uses it."""

import pytest
from django.urls import reverse

from inspections.reports.digest import Digest
from inspections.reports.giving import make_link
from inspections.reports.models import Report, ReportBuild, ReportLink
from inspections.reports.second_look import second_look
from inspections.reports.services import issue_report
from inspections.reports.snapshot import freeze
from tests.inspections.reports.records import add_finding, draw, handed_in_visit
from tests.make import make_inspector

pytestmark = pytest.mark.django_db


def text_of(answer):
    return answer.content.decode()


def test_the_desk_lists_what_was_handed_in_with_few_queries(visit, manager, signed_in, django_assert_max_num_queries):
    for _ in range(6):
        handed_in_visit(make_inspector(), photo=False)
    client = signed_in(manager)
    with django_assert_max_num_queries(12):  # two of them note the device
        text = text_of(client.get(reverse("review-list")))
    assert "To be read: 7" in text and visit.property.street in text


def test_the_record_is_read_with_a_fixed_number_of_queries(visit, manager, signed_in, django_assert_max_num_queries):
    for number in range(8):
        add_finding(visit, f"Finding {number}", "look_after")
    client = signed_in(manager)
    with django_assert_max_num_queries(38):
        answer = client.get(reverse("review-detail", args=[visit.pk]))
    assert answer.status_code == 200


def test_the_record_reads_answer_first_with_the_caution_beside_it(visit, manager, signed_in):
    text = text_of(signed_in(manager).get(reverse("review-detail", args=[visit.pk])))
    assert (
        text.index("Keep off the deck: nobody") < text.index("does not replace a licensed") < text.index('id="checks"')
    )
    assert "Release the report" in text and "Send back to" in text


def test_releasing_leads_to_the_progress_of_the_pdf(visit, manager, signed_in):
    answer = signed_in(manager).post(reverse("report-release", args=[visit.pk]), {"summary": "Please keep off."})
    report = Report.objects.get()
    assert answer["Location"] == reverse("report-progress", args=[report.pk])
    assert report.snapshot["visit"]["summary"] == "Please keep off."


def test_a_record_with_gaps_is_not_released_and_the_gaps_are_named(visit, manager, signed_in):
    add_finding(visit, "Post leans", "put_right", how_soon="two_weeks", remedy="")
    answer = signed_in(manager).post(reverse("report-release", args=[visit.pk]), {"summary": "typed words"})
    assert answer.status_code == 422
    assert "does not say what to do" in text_of(answer) and "typed words" in text_of(answer)
    assert not Report.objects.exists()


def test_an_inspector_may_not_release(visit, inspector, signed_in):
    assert signed_in(inspector).post(reverse("report-release", args=[visit.pk])).status_code == 403
    assert not Report.objects.exists()


def test_a_record_that_contradicts_itself_is_shown_with_its_contradiction(visit, manager, signed_in):
    from inspections.survey.models import Part, Reading

    ledger = Part.objects.create(visit=visit, kind="ledger", key="LD1")
    Reading.objects.create(
        part=ledger, fact="length_in", value=-4, typed="-4", by=visit.inspector, at=visit.handed_in_at
    )
    answer = signed_in(manager).get(reverse("review-detail", args=[visit.pk]))
    assert answer.status_code == 200 and "contradicts itself" in text_of(answer)


def test_a_milder_word_than_the_check_proposes_is_worth_a_second_look(inspector):
    visit = handed_in_visit(inspector, findings=False)
    add_finding(visit, "Joists a bit long", "look_after", check_id="joist.bending")
    words = [remark.words for remark in second_look(Digest(freeze(visit)))]
    assert any("milder than the check it rests on" in each and "Joists" in each for each in words)


def test_a_serious_finding_without_a_photo_is_worth_a_second_look(inspector):
    visit = handed_in_visit(inspector, photo=False)
    words = [remark.words for remark in second_look(Digest(freeze(visit)))]
    assert "Finding 1 (Keep off) has no photo." in words
    assert not any("Finding 2" in each for each in words)


def test_a_failing_check_without_a_finding_is_worth_a_second_look(inspector):
    visit = handed_in_visit(inspector, findings=False)
    words = [remark.words for remark in second_look(Digest(freeze(visit)))]
    assert any(each.startswith("Joists in bending: falls short") and "No finding names it" in each for each in words)


def test_a_correction_wants_to_know_what_changed(visit, manager, signed_in):
    issue_report(visit, by=manager)
    client = signed_in(manager)
    address = reverse("report-correct", args=[visit.pk])
    refused = client.post(address, {"summary": "New words", "what_changed": ""})
    assert (
        refused.status_code == 422 and "Say what is corrected" in text_of(refused) and "New words" in text_of(refused)
    )
    refused = client.post(address, {"summary": "Stay off it for now.", "what_changed": "Nothing."})
    assert refused.status_code == 422 and "differs from version 1" in text_of(refused)
    client.post(address, {"summary": "New words", "what_changed": "The words."})
    assert Report.objects.count() == 2


def test_progress_asks_again_until_the_pdf_is_there(visit, manager, signed_in):
    report = issue_report(visit, by=manager)
    client = signed_in(manager)
    address = reverse("report-progress", args=[report.pk])
    assert 'hx-trigger="every 1s"' in text_of(client.get(address))
    ReportBuild.objects.update(state="waiting", stage="Setting text and drawings", progress_percent=25)
    part = text_of(client.get(address, headers={"HX-Request": "true"}))
    assert "Setting text and drawings, 25 %" in part and "<html" not in part
    draw(report)
    part = text_of(client.get(address, headers={"HX-Request": "true"}))
    assert "hx-trigger" not in part and report.pdf_sha256 in part and reverse("report-pdf", args=[report.pk]) in part
    assert client.get(reverse("report-pdf", args=[report.pk])).content.startswith(b"%PDF-")


def test_a_failed_drawing_says_why_and_can_be_tried_again(visit, manager, signed_in):
    report = issue_report(visit, by=manager)
    ReportBuild.objects.update(state="failed", error="The disk is full.", attempt=5)
    client = signed_in(manager)
    text = text_of(client.get(reverse("report-progress", args=[report.pk])))
    assert "The disk is full." in text and "Try again" in text
    client.post(reverse("report-again", args=[report.pk]))
    assert ReportBuild.objects.get().state == "waiting"


def test_another_inspectors_report_is_not_there(visit, manager, make_person, signed_in):
    report = issue_report(visit, by=manager)
    stranger = make_person("inspector", username="stranger")
    client = signed_in(stranger)
    assert client.get(reverse("report-progress", args=[report.pk])).status_code == 404
    assert client.get(reverse("report-pdf", args=[report.pk])).status_code == 404


def test_the_office_gives_a_link_that_is_shown_once(visit, manager, office, signed_in):
    issue_report(visit, by=manager)
    client = signed_in(office)
    address = reverse("link-new", args=[visit.pk])
    answer = client.post(address, {"recipient": "Bay carpentry", "email": "", "days": "30"})
    shown = text_of(answer)
    assert "/r/" in shown and "no-store" in answer["Cache-Control"]
    assert ReportLink.objects.get().recipient == "Bay carpentry"
    assert "/r/" not in text_of(client.get(address))


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"recipient": "", "email": "", "days": "30"}, "This field is required"),
        ({"recipient": "x", "email": "not an address", "days": "30"}, "valid email"),
        ({"recipient": "x", "email": "", "days": "0"}, "greater than or equal to 1"),
    ],
)
def test_a_link_form_that_cannot_be_read_says_so_beside_the_field(visit, manager, signed_in, typed, said):
    issue_report(visit, by=manager)
    answer = signed_in(manager).post(reverse("link-new", args=[visit.pk]), typed)
    assert answer.status_code == 422 and said in text_of(answer)
    assert not ReportLink.objects.exists()


def test_a_link_is_closed_from_the_desk_and_its_opening_shown_there(visit, manager, signed_in, client):
    issue_report(visit, by=manager)
    link, token = make_link(visit, recipient="Ines Hallam", by=manager)
    client.get(reverse("client-report", args=[token]))
    desk = signed_in(manager)
    assert "1 opening, last: read the page" in text_of(desk.get(reverse("review-detail", args=[visit.pk])))
    desk.post(reverse("link-revoke", args=[link.pk]))
    link.refresh_from_db()
    assert not link.is_open
    assert "Closed" in text_of(desk.get(reverse("review-detail", args=[visit.pk])))
