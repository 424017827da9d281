"""The job that mails a client's link. The token exists in the mail alone: the row keeps its hash."""

from email.utils import formataddr, parseaddr
from smtplib import SMTPRecipientsRefused
from typing import Any

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.translation import gettext

from firm.branding.models import Firm
from firm.jobs.work import GiveUp
from firm.letters.services import Words, filled, firm_values, own_words
from inspections.reports.languages import LOCALES
from inspections.reports.models import Kind, Language, Report, ReportLink, ReportMail, hash_token, new_token
from inspections.visits.clock import day_words


def send_link(job: ReportMail) -> None:
    """Write the mail with a fresh token and hand it over, unless it was sent.

    The hash is stored first, so that the link works the moment the mail arrives. Raises GiveUp for a closed link.
    """
    if job.sent_at:
        return  # an earlier attempt sent it and died before it could say "done"
    link = ReportLink.objects.select_related("visit__property", "visit__client").get(pk=job.link_id)
    token = new_token()
    with transaction.atomic():
        mine = ReportMail.objects.select_for_update().filter(pk=job.pk, attempt=job.attempt, state="running")
        if not mine.exists():
            return  # the row has passed to a later attempt, whose token must not be overwritten
        if not link.is_open:
            raise GiveUp("The link was closed before its mail was sent.")
        ReportLink.objects.filter(pk=link.pk).update(token_hash=hash_token(token))
    with translation.override(LOCALES[link.language]):
        message = letter(link, token, job)
    try:
        message.send()
    except SMTPRecipientsRefused as refusal:
        if any(code < 500 for code, _ in refusal.recipients.values()):
            raise  # for now only: it is tried again later
        raise GiveUp(f"The mail server refused the address {link.email}: {_said_by_server(refusal)}") from refusal
    # At once and by itself: between "accepted" and this line a killed worker makes the mail go out twice.
    ReportMail.objects.filter(pk=job.pk).update(sent_at=timezone.now())


def _said_by_server(refusal: SMTPRecipientsRefused) -> str:
    return "; ".join(f"{code} {words.decode(errors='replace')}" for code, words in refusal.recipients.values())


def letter(link: ReportLink, token: str, job: ReportMail) -> EmailMultiAlternatives:
    """The mail: who it is from, what it is about, the link, how long it is open. No finding, no address."""
    firm = Firm.current()
    report = Report.objects.filter(visit=link.visit).order_by("-version").first()
    context = {
        "firm": firm,
        "link": link,
        "report": report,
        "address": settings.PUBLIC_URL + reverse("client-report", args=[token]),
    }
    own = _own_words(context)
    page = f"inspections/reports/mail/link{'.es' if link.language == Language.SPANISH else ''}"
    message = EmailMultiAlternatives(
        gettext("Your deck inspection report from %(firm)s") % {"firm": _one_line(firm.name)},
        render_to_string(f"{page}.txt", context),
        from_email=formataddr((_one_line(firm.name), parseaddr(settings.DEFAULT_FROM_EMAIL)[1])),
        to=[formataddr((_one_line(link.recipient), link.email))],
        reply_to=[firm.email] if firm.email else None,
        headers={
            "Message-ID": f"<report-link-{job.pk}-{job.attempt}@{settings.PUBLIC_HOST}>",
            "Auto-Submitted": "auto-generated",
        },
    )
    if own:
        message.subject, message.body = own.subject, own.body
        return message
    message.attach_alternative(render_to_string(f"{page}.html", context), "text/html")
    return message


def _own_words(context: dict[str, Any]) -> Words | None:
    """The mail in the firm's words, if it has any: with the link to a first report, whole and in English."""
    link, own = context["link"], own_words("report_ready")
    if own is None or link.language != Language.ENGLISH or link.kind != Kind.FULL or context["report"].version > 1:
        return None
    values = {"recipient": link.recipient, "link": context["address"], "open_until": day_words(link.expires_at)}
    words = filled(own, {**values, **firm_values(context["firm"])})
    code = "\nThe page asks for a code. We tell it to you by telephone.\n" if link.code_hash else ""
    return Words(words.subject, words.body + code)


def _one_line(text: str) -> str:
    """A name for a mail header: a line break in it would write headers of its own."""
    return " ".join(text.split())
