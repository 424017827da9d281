import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from firm.audit.models import AuditEntry
from firm.branding.models import Firm
from firm.jobs.work import run_job
from inspections.trends.keeping import rebuild
from inspections.trends.models import SavedView, SummaryBuild
from inspections.trends.summary import draw_summary
from tests.make import make_visit

pytestmark = pytest.mark.django_db


def test_a_view_is_saved_under_a_name_with_all_its_choices(signed_in, manager):
    browser = signed_in(manager)
    answer = browser.post(
        reverse("trend-view-save"),
        {"page": "trends", "query": "county=Sele&cut=builder&no_such=1", "name": " Builders  in Sele "},
    )
    view = SavedView.objects.get()
    assert (view.name, view.page, view.query) == ("Builders in Sele", "trends", "cut=builder&county=Sele")
    assert answer.url == "/trends/?cut=builder&county=Sele"
    assert (
        'href="/trends/?cut=builder&amp;county=Sele">Builders in Sele'
        in browser.get("/trends/together/").content.decode()
    )
    browser.post(reverse("trend-view-remove", args=[view.pk]))
    assert not SavedView.objects.exists()
    assert [entry.verb for entry in AuditEntry.objects.order_by("pk") if entry.subject_type == "trends.savedview"] == [
        "saved",
        "removed",
    ]


def test_a_view_wants_a_name_and_a_page_that_there_is(signed_in, manager):
    browser = signed_in(manager)
    browser.post(reverse("trend-view-save"), {"page": "trends", "query": "", "name": "  "})
    assert not SavedView.objects.exists()
    assert browser.post(reverse("trend-view-save"), {"page": "sign-in", "name": "x"}).status_code == 404


def test_the_summary_is_one_page_and_drawn_by_the_worker(signed_in, manager, inspector, defects, notice):
    for _ in range(12):
        notice(make_visit(inspector, state="released"), "put_right", "posts", defects["rot"])
    rebuild()
    browser = signed_in(manager)
    answer = browser.post(reverse("trend-summary-ask"), {"query": "link=posts&from_day=2020-01-01"})
    build = SummaryBuild.objects.get()
    assert "Waiting for the worker" in browser.get(answer.url).content.decode()
    assert browser.get(reverse("trend-summary-pdf", args=[build.pk])).status_code == 404
    assert run_job(SummaryBuild, build.pk, draw_summary)
    pdf = b"".join(browser.get(reverse("trend-summary-pdf", args=[build.pk])).streaming_content)
    pages = PdfReader(io.BytesIO(pdf)).pages
    assert len(pages) == 1
    text = " ".join(pages[0].extract_text().split())
    assert "12 visits" in text
    assert "Rotten foot" in text
    assert "not decks in general" in text


def test_the_firms_name_stands_at_the_foot_of_the_summary_as_it_is_written(signed_in, manager, inspector):
    name = 'Fathom & "Post" \\26 <b>O\'Neil</b>'
    Firm.objects.update_or_create(pk=Firm.current().pk, defaults={"name": name})
    make_visit(inspector, state="released")
    rebuild()
    signed_in(manager).post(reverse("trend-summary-ask"), {"query": ""})
    build = SummaryBuild.objects.get()
    assert run_job(SummaryBuild, build.pk, draw_summary)
    build.refresh_from_db()
    (page,) = PdfReader(build.pdf.open()).pages
    lines = [" ".join(line.split()) for line in page.extract_text().splitlines()]
    assert any(line.startswith(name) and "," not in line for line in lines), "also outside the sentence at its head"


def test_the_summary_of_a_firm_with_everything_is_still_one_page(signed_in, manager, planted):
    planted(200, scale=1.0, days=400)
    signed_in(manager).post(reverse("trend-summary-ask"), {"query": "cut=builder"})
    build = SummaryBuild.objects.get()
    assert run_job(SummaryBuild, build.pk, draw_summary)
    build.refresh_from_db()
    assert len(PdfReader(build.pdf.open()).pages) == 1


@pytest.mark.parametrize(
    "name", ["trends", "trends-changed", "trends-together", "trends-repaired", "trends-measured", "trends-alike"]
)
def test_the_figures_of_every_page_are_there_as_csv(name, signed_in, manager, planted):
    planted(60, scale=1.0, days=200)
    answer = signed_in(manager).get(reverse("trend-figures"), {"page": name, "county": "Sele"})
    lines = b"".join(answer.streaming_content).decode().splitlines()
    assert len(lines) > 1 or name in ("trends-together", "trends-repaired"), (
        "so few visits have neither pair nor repair"
    )
    assert answer["Content-Disposition"] == f'attachment; filename="{name}.csv"'


def test_a_name_that_a_spreadsheet_would_run_is_made_harmless(signed_in, manager, inspector):
    visit = make_visit(inspector, state="released")
    visit.property.deck_builder = "=1+1"
    visit.property.save()
    rebuild()
    answer = signed_in(manager).get(reverse("trend-figures"), {"page": "trends", "cut": "builder"})
    assert "'=1+1" in b"".join(answer.streaming_content).decode()
