"""A draft for the release desk: marked on every page, kept nowhere, drawn one at a time outside the web server."""

import io

import pytest
from django.core.cache import cache
from django.urls import reverse
from pypdf import PdfReader

from inspections.reports import draft
from inspections.reports.draft import NoDraft, draw_draft
from inspections.reports.models import Report

pytestmark = pytest.mark.django_db


def test_the_desk_gets_a_draft_that_says_so_on_every_page_and_releases_nothing(client, manager, visit):
    client.force_login(manager)
    response = client.post(reverse("report-draft", args=[visit.pk]))
    assert response["Content-Type"] == "application/pdf" and response["Cache-Control"] == "private, no-store"
    pages = PdfReader(io.BytesIO(response.content)).pages
    assert all("Draft - not released" in page.extract_text() for page in pages)
    assert "Underside, the long bay" in "".join(page.extract_text() for page in pages)
    visit.refresh_from_db()
    assert visit.state == "handed_in" and not Report.objects.exists()


def test_while_one_draft_is_drawn_the_next_is_told_to_wait(client, manager, visit):
    cache.add(draft._BUSY, 1)
    with pytest.raises(NoDraft, match="Another draft"):
        draw_draft(visit)
    client.force_login(manager)
    response = client.post(reverse("report-draft", args=[visit.pk]), follow=True)
    assert "Another draft is being drawn" in response.content.decode()


def test_a_draft_that_cannot_be_drawn_says_why_and_lets_the_next_one_try(visit, monkeypatch):
    monkeypatch.setattr(draft, "as_text", lambda snapshot: "no record")
    with pytest.raises(NoDraft, match="could not be drawn"):
        draw_draft(visit)
    assert cache.get(draft._BUSY) is None
