"""The one-page summary of a period as PDF: asked for on the page, drawn by a worker in the firm's colours."""

import hashlib
import io
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.http import QueryDict
from django.template.loader import render_to_string
from django.utils import timezone

from firm import audit
from firm.branding.models import Firm
from firm.jobs.bell import ring
from firm.people.models import User
from inspections.reports.media import keep_file, put_file
from inspections.trends import changing, recurring
from inspections.trends.bitmaps import Bitmaps
from inspections.trends.choices import TrendForm
from inspections.trends.models import SummaryBuild

MOST_ROWS = 8
BRANDING = ("ink_colour", "accent_colour", "paper")


@transaction.atomic
def ask_for_summary(form: TrendForm, *, by: User) -> SummaryBuild:
    """Queue the drawing of what the page shows."""
    build = SummaryBuild.objects.create(query=form.query()[:1000], asked_by=by)
    audit.record(by, "asked for", build, after={"query": build.query})
    ring(build)
    return build


def draw_summary(job: SummaryBuild) -> dict[str, Any]:
    """The work of a `SummaryBuild`."""
    from inspections.reports.fetcher import FrozenFiles  # brings in WeasyPrint, which the web server never needs
    from inspections.reports.pdf import style_of
    from inspections.reports.typesetting import CSS, HTML, FontConfiguration

    firm = Firm.current()
    logo = keep_file(firm.logo) if firm.logo else None
    files = FrozenFiles({"photos": [], "firm": {"logo": logo}})
    fonts = FontConfiguration()
    branding: Mapping[str, Any] = {name: getattr(firm, name) for name in BRANDING}
    style = CSS(string=style_of(branding), base_url="soundings:", url_fetcher=files, font_config=fonts)
    html = summary_html(job, firm, logo)
    job.say("Setting the page", 40)
    target = io.BytesIO()
    HTML(string=html, base_url="soundings:", url_fetcher=files).write_pdf(
        target, stylesheets=[style], font_config=fonts, pdf_variant="pdf/ua-1"
    )
    pdf = target.getvalue()
    path = f"summaries/{job.pk}-{hashlib.sha256(pdf).hexdigest()[:16]}.pdf"
    put_file(path, pdf)
    return {"pdf": path}


def summary_html(job: SummaryBuild, firm: Firm, logo: Mapping[str, Any] | None) -> str:
    form = TrendForm(QueryDict(job.query))
    bitmaps = Bitmaps([*recurring.wants(form), *changing.wants(form)])
    rates, changed = recurring.recurring(form, bitmaps), changing.changing(form, bitmaps)
    return render_to_string(
        "inspections/trends/print/summary.html",
        {
            "firm": firm,
            "logo": logo,
            "form": form,
            "drawn_at": timezone.localtime(),
            "asked_by": job.asked_by,
            **rates,
            "defects": rates.get("defects", [])[:MOST_ROWS],
            "groups": rates.get("groups", [])[:MOST_ROWS],
            "now": changed["now"],
            "before": changed["before"],
            "changes": [row for row in changed.get("changes", []) if row.is_beyond_chance][:5],
        },
    )
