"""Reminding clients of their visits, once each, some hours before."""

from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from firm.letters.models import Reminders
from firm.mail.models import OutgoingMail
from inspections.visits.letters import tell_client
from inspections.visits.models import Visit

AT_ONCE = 200  # a tick; the next one goes on


def remind(now: datetime | None = None) -> int:
    """Queue the reminders that are due. Returns how many.

    The mail's key names the visit and its version: two ticks at once, or a second one, send nothing twice; a visit that
    is moved is reminded of anew. Not for one whose mail about this very time is younger than the reminder's moment: who
    books at noon for tomorrow morning has been told.
    """
    now = now or timezone.now()
    ahead = timedelta(hours=Reminders.current().hours_before)
    if not ahead:
        return 0
    due = Visit.objects.whole().filter(state=Visit.State.BOOKED, starts_at__gt=now, starts_at__lte=now + ahead)
    due = due.exclude(client__email="").order_by("starts_at")
    sent = 0
    for visit in due.iterator(chunk_size=AT_ONCE):
        if sent >= AT_ONCE:
            break
        sent += _remind(visit, ahead)
    return sent


def _remind(visit: Visit, ahead: timedelta) -> bool:
    told = {f"visit {visit.pk} {what}, version {visit.calendar_version}" for what in ("confirmed", "moved", "reminder")}
    mails = OutgoingMail.objects.filter(dedupe_key__in=told)
    if mails.filter(kind="visit_reminder").exists() or mails.filter(created_at__gt=visit.starts_at - ahead).exists():
        return False
    with transaction.atomic():
        locked = Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
        if locked.state != Visit.State.BOOKED or locked.calendar_version != visit.calendar_version:
            return False  # changed meanwhile: the next tick looks again
        tell_client(locked, "reminder")
    return True
