"""Access codes: six digits told by telephone, beside a link that came by mail. Guessing is made slow, not only rare."""

from datetime import timedelta

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from inspections.reports.models import LinkOpening, ReportLink, hash_token

TRIES = 5  # wrong codes for one link before it stays shut for a while
SHUT_FOR = timedelta(minutes=15)
COOKIE, COOKIE_S = "report-code", 12 * 3600
_NO_CODE = make_password("no code at all")  # compared with where there is no link: the answer takes as long


def is_right(link: ReportLink | None, typed: str) -> bool:
    """Whether a typed code opens the link. Each guess takes one of the tries before it is looked at.

    Where there is no such link, or it is shut, the same work is done and the answer is no.
    """
    if link is None or not link.code_hash or not _take_a_try(link):
        check_password(typed, _NO_CODE)
        return False
    if not check_password(typed, link.code_hash):
        LinkOpening.objects.create(link=link, what=LinkOpening.What.WRONG_CODE)
        return False
    ReportLink.objects.filter(pk=link.pk).update(code_tries=0, code_shut_until=None)
    return True


def _take_a_try(link: ReportLink) -> bool:
    with transaction.atomic():
        row = ReportLink.objects.select_for_update().get(pk=link.pk)
        now = timezone.now()
        if row.code_shut_until and row.code_shut_until > now:
            return False
        tries = 1 if row.code_shut_until else row.code_tries + 1
        shut_until = now + SHUT_FOR if tries >= TRIES else None
        ReportLink.objects.filter(pk=link.pk).update(code_tries=tries, code_shut_until=shut_until)
        return True


def remember(response: HttpResponse, link: ReportLink, token: str) -> None:
    """A cookie for this one address: it says that the code was typed here, and is good for a day's work."""
    response.set_signed_cookie(
        COOKIE,
        _proof(link),
        salt=_salt(link),
        max_age=COOKIE_S,
        path=reverse("client-report", args=[token]),
        secure=settings.IS_HTTPS,
        httponly=True,
        samesite="Lax",
    )


def is_known_here(request: HttpRequest, link: ReportLink) -> bool:
    """Whether the link asks for no code, or the right one was typed in this browser."""
    if not link.code_hash:
        return True
    return request.get_signed_cookie(COOKIE, None, salt=_salt(link), max_age=COOKIE_S) == _proof(link)


def _proof(link: ReportLink) -> str:
    return hash_token(link.code_hash)[:32]


def _salt(link: ReportLink) -> str:
    return f"report-link-{link.pk}"
