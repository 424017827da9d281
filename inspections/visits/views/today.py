"""The first page: what is to be done today, for whoever looks at it."""

from datetime import timedelta

from django.db.models import Count, Min
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from firm.jobs.models import Job
from firm.mail.models import OutgoingMail
from firm.people.capabilities import Capability, signed_in
from firm.people.models import User
from firm.setup.models import SetUp
from firm.setup.views import LEFT
from inspections.visits.busy import inspectors_days
from inspections.visits.clock import firm_day, firm_today
from inspections.visits.models import Visit, VisitQuerySet

MOST_ROWS = 12


@signed_in
@require_safe
def home(request: HttpRequest) -> HttpResponse:
    if SetUp.is_due(request.user) and LEFT not in request.session:
        return redirect("set-up")
    context = {"today": firm_today()}
    if request.user.may(Capability.RECORD):
        context["mine"] = _inspector(request.user)
    if request.user.may(Capability.RELEASE):
        context["desk"] = _release_desk()
    if request.user.may(Capability.BOOK):
        context["office"] = _office()
    return render(request, "inspections/visits/home.html", context)


def _inspector(person: User) -> dict:
    start, end = firm_day(firm_today())
    own = Visit.objects.whole().filter(inspector=person)
    open_ones = own.filter(state__in=Visit.OPEN_FOR_RECORD)
    return {
        "sent_back": own.filter(state=Visit.State.SENT_BACK),
        "unfinished": open_ones.exclude(state=Visit.State.SENT_BACK).filter(starts_at__lt=start),
        "today": own.filter(state__in=Visit.TAKES_TIME, starts_at__gte=start, starts_at__lt=end),
        "coming": open_ones.filter(starts_at__gte=end, starts_at__lt=end + timedelta(days=14))[:MOST_ROWS],
    }


def _release_desk() -> dict:
    waiting = Visit.objects.for_rows().filter(state=Visit.State.HANDED_IN).order_by("handed_in_at")
    sent_back = Visit.objects.for_rows().filter(state=Visit.State.SENT_BACK)
    return {**_counted("waiting", waiting), "sent_back": sent_back[:MOST_ROWS]}


def _counted(name: str, visits: VisitQuerySet) -> dict:
    """The first rows, and how many there are: asked of the database only where there are more than are shown."""
    rows = list(visits[: MOST_ROWS + 1])
    return {name: rows[:MOST_ROWS], f"{name}_count": visits.count() if len(rows) > MOST_ROWS else len(rows)}


def _office() -> dict:
    today = firm_today()
    tomorrow = today + timedelta(days=1)
    now = timezone.now()
    # The outside page knows visits, so this room knows it only here, when it is asked.
    from inspections.outside.models import TimeWish

    late = Visit.objects.for_rows().filter(state__in=Visit.OPEN_FOR_RECORD, ends_at__lt=now)
    waiting = Visit.objects.filter(state=Visit.State.HANDED_IN).aggregate(Count("pk"), Min("handed_in_at"))
    asked_for = Visit.objects.whole().filter(state=Visit.State.ASKED_FOR)
    return {
        "days": list(zip(("Today", "Tomorrow"), (today, tomorrow), inspectors_days([today, tomorrow]), strict=True)),
        "wishes": TimeWish.objects.unanswered().select_related("visit__client")[:MOST_ROWS],
        **_counted("asked_for", asked_for.order_by("asked_at", "pk")),
        "without_rules": Visit.objects.for_rows().filter(
            state__in=[Visit.State.BOOKED, Visit.State.UNDER_WAY],
            property__rules_source="",
            starts_at__lt=firm_day(today + timedelta(days=7))[1],
        )[:MOST_ROWS],
        **_counted("late", late),
        "waiting_count": waiting["pk__count"],
        "waiting_since": waiting["handed_in_at__min"],
        "lost_mails": OutgoingMail.objects.filter(
            state=Job.State.FAILED, finished_at__gte=now - timedelta(days=14)
        ).only("to", "subject", "error", "finished_at")[:MOST_ROWS],
    }
