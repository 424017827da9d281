"""From a frozen record to a PDF. Reads the snapshot and its files, nothing else; an equal record gives equal bytes."""

import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import segno
from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.html import strip_tags

from firm.branding.contrast import LEAST_FOR_TEXT, PAPER, contrast_ratio
from inspections.reports.answer import answer_of
from inspections.reports.changes import in_few_rows
from inspections.reports.chapters import chapters_of
from inspections.reports.digest import Digest
from inspections.reports.front_page import BOTTOM_MM, END, FrontPage, alone, front_page
from inspections.reports.glossary import words_used
from inspections.reports.load_path import load_path_svg
from inspections.reports.plan import plan_of
from inspections.reports.snapshot import as_text

_INK = "#16242c"
_STYLE = Path(settings.BASE_DIR) / "static" / "css" / "report_print.css"


RECORD_FILE = "soundings-record-1.json"  # named for the format of the record, `snapshot["format"]`
DECK_FILE = "soundings-deck-1.json"
# What XML 1.0 has no place for: one such letter in a name makes the metadata unreadable.
_NO_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True)
class Issue:
    """What stands on the report about its issuing, beside the record itself. A draft was not issued.

    `web_address`, where one is given, is printed as a QR code on the first page, with the day until which it leads
    there.
    """

    number: str
    version: int
    issued_at: datetime
    issued_by: str
    what_changed: str = ""
    changes: Sequence[Mapping[str, str]] = ()
    supersedes: str = ""
    record_sha256: str = ""
    web_address: str = ""
    web_until: datetime | None = None
    is_draft: bool = False


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

    `kind` is "full", with the record attached; "schedule", the repairs with drawing and photos for a contractor,
    without calculations and without the client's name; or "engineer", the judgement with every calculation and the
    deck file attached, without the client's name.

    Raises NotOfThisReport if the document asks for any file but its own, FrozenFileDamaged if one of those is damaged.
    """
    say("Putting the pages together", 10)
    from inspections.reports.fetcher import FrozenFiles
    from inspections.reports.typesetting import CSS, HTML, Attachment, FatalURLFetchingError, FontConfiguration

    files = FrozenFiles(snapshot)
    fonts = FontConfiguration()
    style = CSS(string=style_of(snapshot["firm"]), base_url="soundings:", url_fetcher=files, font_config=fonts)

    def set_pages(html: str) -> Any:
        page = HTML(string=_NO_XML.sub("", html), base_url="soundings:", url_fetcher=files)
        return page.render(stylesheets=[style], font_config=fonts, pdf_variant="pdf/ua-1")

    try:
        html = page_html(snapshot, issue, kind, lambda front: _left_mm(set_pages(alone(front)).pages[0]))
        say("Setting text and drawings", 25)
        document = set_pages(html)
    except FatalURLFetchingError as error:
        raise error.__cause__ or error from error  # WeasyPrint wraps what our fetcher refused, and why
    say("Writing the file", 75)
    target = io.BytesIO()
    document.write_pdf(
        target,
        finisher=_finish,
        pdf_variant="pdf/ua-1",
        pdf_identifier=(issue.record_sha256 or issue.number).encode()[:32],
        attachments=[
            Attachment(string=text, name=name, description=words, created=issue.issued_at, modified=issue.issued_at)
            for name, words, text in _attached(snapshot, issue, kind)
        ],
    )
    return Drawn(target.getvalue(), len(document.pages))


def _left_mm(page: Any) -> float | None:
    """How much of a first page is left below its words; None where they do not end on it."""
    if END not in page.anchors:
        return None
    return (page.height - page.anchors[END][1]) * 25.4 / 96 - BOTTOM_MM


def _attached(snapshot: Mapping[str, Any], issue: Issue, kind: str) -> list[tuple[str, str, str]]:
    """Name, description and text of each file that goes with the document: what a machine can read and check again."""
    if issue.is_draft or kind == "schedule":
        return []
    if kind == "engineer":
        return [(DECK_FILE, "The measured deck, as the engine reads it", as_text(snapshot["deck"]))]
    return [(RECORD_FILE, f"The frozen record ({snapshot['format']})", as_text(snapshot))]


def _finish(document: Any, pdf: Any) -> None:
    """What WeasyPrint leaves out of the file."""
    _name_the_attached_as_data(pdf)
    _say_what_headers_head(pdf)


def _say_what_headers_head(pdf: Any) -> None:
    """Give each header of a table its scope (ISO 32000-2, 14.8.5.7): in the head of the table a column, else a row."""
    tags = {each.reference: each for each in pdf.objects if isinstance(each, dict) and "S" in each and "P" in each}
    for tag in tags.values():
        if tag["S"] == "/TH":
            row = tags[tag["P"]]
            tag["A"]["Scope"] = "/Column" if tags[row["P"]]["S"] == "/THead" else "/Row"


def _name_the_attached_as_data(pdf: Any) -> None:
    """Say of each attached file that it holds the data of the document (ISO 32000-2, 7.11.3 and 14.13)."""
    attached = [each for each in pdf.objects if isinstance(each, dict) and each.get("Type") == "/Filespec"]
    for each in attached:
        each["AFRelationship"] = "/Data"
    if attached:
        pdf.catalog["AF"] = "[" + " ".join(each.reference.decode() for each in attached) + "]"


def page_html(
    snapshot: Mapping[str, Any],
    issue: Issue,
    kind: str = "full",
    left_on: Callable[[str], float | None] = lambda front: 0.0,
) -> str:
    """The document that WeasyPrint sets. Raises ValueError for a kind that does not exist.

    `left_on` is given the first page without photo and plan, and says how many mm are left on it.
    """
    digest = Digest(snapshot, timezone.localtime(issue.issued_at).date())
    plan, answer = plan_of(digest), answer_of(digest)
    context: dict[str, Any] = {
        "digest": digest,
        "answer": answer,
        "front": FrontPage(),
        "issue": issue,
        "changes": in_few_rows(issue.changes),
        "issued_on": timezone.localtime(issue.issued_at),
        "load_path": load_path_svg(digest.standings),
        "plan": plan,
        "kind": kind,
        "web_code": _code(issue.web_address) if issue.web_address and kind == "full" else "",
        "chapters": chapters_of(kind, digest, has_plan=bool(plan.drawings), has_changes=bool(issue.changes)),
    }
    if kind == "full":
        context["front"] = front_page(left_on(render_to_string("inspections/reports/print/_front.html", context)))
    said = (render_to_string(chapter.template, context) for chapter in context["chapters"] if chapter.anchor != "terms")
    context["glossary"] = words_used(strip_tags(" ".join(said)))
    return render_to_string("inspections/reports/print/report.html", context)


def _code(address: str) -> str:
    """The address as a QR code (ISO/IEC 18004) in SVG, so that it is sharp at any size. Level M stands a crease."""
    code = segno.make(address, error="m", micro=False)
    return code.svg_inline(border=0, omitsize=True, title="QR code that opens this report on the web")


def style_of(firm: Mapping[str, Any]) -> str:
    """The style sheet, in the firm's two colours and on its paper; a colour too pale to read gives way to ink."""
    size = "8.5in 11in" if firm["paper"] == "letter" else "210mm 297mm"
    ink, accent = (
        colour if contrast_ratio(colour, PAPER) >= LEAST_FOR_TEXT else _INK
        for colour in (firm["ink_colour"], firm["accent_colour"])
    )
    colours = f"--firm-ink: {ink}; --firm-accent: {accent};"
    return f"{_STYLE.read_text('utf-8')} :root {{ {colours} }} @page {{ size: {size}; }}"
