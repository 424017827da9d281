"""What was drawn on a photo is frozen with the report and printed over the photo, for the client and on paper."""

import io
import re

import pytest
from django.urls import reverse
from pypdf import PdfReader

from inspections.photos.services import mark_photo
from inspections.reports.digest import Digest
from inspections.reports.drawing import issue_of
from inspections.reports.giving import make_link
from inspections.reports.pdf import draw_pdf
from inspections.reports.services import issue_report
from tests.inspections.reports.records import add_photo, handed_in_visit
from tests.make import make_property

pytestmark = pytest.mark.django_db
MARKS = (
    '[{"kind":"line","x1":0.2,"y1":0.5,"x2":0.8,"y2":0.5,"text":"14 3/8 in & bowed"},'
    '{"kind":"arrow","x1":0.2,"y1":0.2,"x2":0.4,"y2":0.4,"text":""}]'
)


@pytest.fixture
def visit(inspector, client_with_mail):
    """Handed in, with marks on a photo of a finding and on one of none."""
    visit = handed_in_visit(inspector, property=make_property(client_with_mail))
    type(visit).objects.update(state="under_way")
    visit.refresh_from_db()
    add_photo(visit, inspector, seed=5, caption="The whole deck")
    for photo in visit.photos.all():
        mark_photo(photo, MARKS, by=inspector)
    type(visit).objects.update(state="handed_in")
    visit.refresh_from_db()
    return visit


@pytest.fixture
def report(visit, manager):
    return issue_report(visit, by=manager)


def test_the_marks_are_frozen_and_later_ones_do_not_reach_an_issued_report(report, visit, inspector):
    type(visit).objects.update(state="under_way")
    photo = visit.photos.first()
    photo.visit.refresh_from_db()
    mark_photo(photo, "[]", by=inspector)
    report.refresh_from_db()
    assert [len(each["marks"]["marks"]) for each in report.snapshot["photos"]] == [2, 2]


def test_the_pdf_prints_the_words_of_the_marks_over_both_photos(report):
    drawn = draw_pdf(report.snapshot, issue_of(report))
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(drawn.pdf)).pages)
    assert len(re.findall(r"14 3/8 in & bowed", re.sub(r"\s+", " ", text))) == 2


def test_the_client_and_the_release_desk_see_the_marks(client, report, visit, manager):
    _, token = make_link(visit, recipient="Ines Hallam", by=manager)
    told = "Marked on the photo: line “14 3/8 in &amp; bowed”, arrow."
    assert told in client.get(reverse("client-report", args=[token])).content.decode()
    client.force_login(manager)
    assert told in client.get(reverse("review-detail", args=[visit.pk])).content.decode()


def test_a_report_frozen_before_photos_could_be_drawn_on_is_still_read(report):
    for photo in report.snapshot["photos"]:
        del photo["marks"]
    assert [photo.marks for photo in Digest(report.snapshot).photos] == [{}, {}]
    assert draw_pdf(report.snapshot, issue_of(report)).pdf
