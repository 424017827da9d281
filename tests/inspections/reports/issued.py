"""A report issued and drawn once for all the tests of a module that only read it."""

from dataclasses import dataclass, replace
from typing import Any

from django.db import transaction
from django.test import override_settings

from inspections.reports.drawing import issue_of
from inspections.reports.pdf import Drawn, draw_pdf, page_html
from inspections.reports.services import issue_report
from tests.inspections.reports.records import handed_in_visit
from tests.make import make_client, make_inspector, make_property


@dataclass(frozen=True)
class Issued:
    """The frozen record as it was stored, what stands on the report, and the PDF. The rows are gone again."""

    snapshot: dict[str, Any]
    issue: Any
    drawn: Drawn
    photo: bytes  # the first photo, at print size, as it was stored
    media_root: Any

    def draw(self, kind: str = "full", snapshot: Any = None, **changes: Any) -> bytes:
        """The record drawn once more: another kind, a changed record, or other words about its issuing."""
        with override_settings(MEDIA_ROOT=self.media_root):
            return draw_pdf(snapshot or self.snapshot, replace(self.issue, **changes), kind=kind).pdf

    def html(self, kind: str = "full", **changes: Any) -> str:
        """What WeasyPrint would set."""
        return page_html(self.snapshot, replace(self.issue, **changes), kind)


def issue_once(media_root) -> Issued:
    """In a transaction that is rolled back; the caller unblocks the database."""
    from django.core.files.storage import default_storage

    with override_settings(MEDIA_ROOT=media_root), transaction.atomic():
        client = make_client("Ines Hallam", email="ines@mail.example")
        inspector = make_inspector(first_name="Tomas", last_name="Reyl", licence_line="Deck inspector, no. 7")
        house = make_property(client, street="41 Kestrel Rise")
        report = issue_report(handed_in_visit(inspector, property=house), by=inspector)
        report.refresh_from_db()
        with default_storage.open(report.snapshot["photos"][0]["files"]["printable"]["path"], "rb") as file:
            photo = file.read()
        web = {"web_address": "https://inspections.example/r/secret/", "web_until": report.issued_at}
        issue = replace(issue_of(report), **web)
        issued = Issued(report.snapshot, issue, draw_pdf(report.snapshot, issue), photo, media_root)
        transaction.set_rollback(True)
    return issued
