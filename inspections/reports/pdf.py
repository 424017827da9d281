"""From a frozen record to a PDF. Reads the snapshot and its files, nothing else; an equal record gives equal bytes."""

import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone

from inspections.reports.answer import answer_of
from inspections.reports.chapters import chapters_of
from inspections.reports.digest import Digest
from inspections.reports.glossary import GLOSSARY
from inspections.reports.load_path import load_path_svg
from inspections.reports.plan import plan_of

_STYLE = Path(settings.BASE_DIR) / "static" / "css" / "report_print.css"


@dataclass(frozen=True)
class Issue:
    """What stands on the report about its issuing, beside the record itself."""

    number: str
    version: int
    issued_at: datetime
    issued_by: str
    what_changed: str = ""
    supersedes: str = ""
    record_sha256: str = ""


@dataclass(frozen=True)
class Drawn:
    pdf: bytes
    page_count: int


def draw_extract(report: Any, kind: str) -> bytes:
    """An issued report as one reader needs it; see `draw_pdf`. Brings in WeasyPrint: a worker's work, not a request's.

    Raises ValueError for a kind that does not exist, and what `draw_pdf` raises.
    """
    from inspections.reports.drawing import issue_of

    return draw_pdf(report.snapshot, issue_of(report), kind=kind).pdf


def draw_pdf(
    snapshot: Mapping[str, Any],
    issue: Issue,
    say: Callable[[str, int], object] = lambda stage, percent: None,
    *,
    kind: str = "full",
) -> Drawn:
    """The report as PDF/UA-1. `say` is told the stage and the percentage as the work goes on.

    `kind` is "full"; "schedule", the repairs with drawing and photos for a contractor, without calculations and
    without the client's name; or "engineer", the judgement with every calculation, without the client's name.

    Raises NotOfThisReport if the document asks for any file but its own, FrozenFileDamaged if one of those is damaged.
    """
    say("Putting the pages together", 10)
    html = page_html(snapshot, issue, kind)
    say("Setting text and drawings", 25)
    from inspections.reports.fetcher import FrozenFiles
    from inspections.reports.typesetting import CSS, HTML, FatalURLFetchingError, FontConfiguration

    files = FrozenFiles(snapshot)
    fonts = FontConfiguration()
    style = CSS(string=style_of(snapshot["firm"]), base_url="soundings:", url_fetcher=files, font_config=fonts)
    try:
        document = HTML(string=html, base_url="soundings:", url_fetcher=files).render(
            stylesheets=[style], font_config=fonts, pdf_variant="pdf/ua-1"
        )
    except FatalURLFetchingError as error:
        raise error.__cause__ or error from error  # WeasyPrint wraps what our fetcher refused, and why
    say("Writing the file", 75)
    target = io.BytesIO()
    document.write_pdf(
        target, pdf_variant="pdf/ua-1", pdf_identifier=(issue.record_sha256 or issue.number).encode()[:32]
    )
    return Drawn(target.getvalue(), len(document.pages))


def page_html(snapshot: Mapping[str, Any], issue: Issue, kind: str = "full") -> str:
    """The document that WeasyPrint sets. Raises ValueError for a kind that does not exist."""
    digest = Digest(snapshot)
    plan = plan_of(digest)
    return render_to_string(
        "inspections/reports/print/report.html",
        {
            "digest": digest,
            "answer": answer_of(digest),
            "issue": issue,
            "issued_on": timezone.localtime(issue.issued_at),
            "load_path": load_path_svg(digest.standings),
            "plan": plan,
            "kind": kind,
            "chapters": chapters_of(kind, digest, has_plan=bool(plan.drawings)),
            "glossary": GLOSSARY,
        },
    )


def style_of(firm: Mapping[str, Any]) -> str:
    """The style sheet, in the firm's two colours and on its paper."""
    size = "8.5in 11in" if firm["paper"] == "letter" else "210mm 297mm"
    colours = f"--firm-ink: {firm['ink_colour']}; --firm-accent: {firm['accent_colour']};"
    return f"{_STYLE.read_text('utf-8')} :root {{ {colours} }} @page {{ size: {size}; }}"
