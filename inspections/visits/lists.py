"""The lists that answer the questions of the day, each with its filters, order and number of rows."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django import forms
from django.db.models import Case, DateTimeField, Exists, ExpressionWrapper, Min, OuterRef, Q, Value, When
from django.db.models.functions import Coalesce
from django.http import QueryDict
from django.utils import timezone

from firm.people.models import User
from firm.web.forms import LongChoice, NoColon
from firm.web.orders import Column, Order
from inspections.visits.clock import firm_day, firm_today
from inspections.visits.listing import said_in
from inspections.visits.models import SavedList, Visit, VisitQuerySet

# How long a repair may wait, by the words of the finding, counted from the visit as the report does.
_WAITS = {
    "at_once": timedelta(0),
    "two_weeks": timedelta(days=14),
    "three_months": timedelta(days=91),
    "one_year": timedelta(days=365),
}
DUE_SOON = timedelta(days=30)


@dataclass(frozen=True)
class VisitList:
    """`question` is what it answers; `narrow` takes the visits that a person may see; `order` is how it comes."""

    key: str
    label: str
    question: str
    narrow: Callable[[VisitQuerySet], VisitQuerySet]
    order: str = "when"
    columns: tuple[str, ...] = ("when", "client", "place", "inspector", "state")


def _on_day(days_ahead: int) -> Callable[[VisitQuerySet], VisitQuerySet]:
    def narrow(visits: VisitQuerySet) -> VisitQuerySet:
        start, end = firm_day(firm_today() + timedelta(days=days_ahead))
        return visits.filter(state__in=Visit.TAKES_TIME, starts_at__gte=start, starts_at__lt=end)

    return narrow


def _asked_for(visits: VisitQuerySet) -> VisitQuerySet:
    return visits.filter(state=Visit.State.ASKED_FOR)


def _unconfirmed(visits: VisitQuerySet) -> VisitQuerySet:
    return visits.filter(state=Visit.State.BOOKED, confirmed_at=None, starts_at__gte=timezone.now())


def _to_write_up(visits: VisitQuerySet) -> VisitQuerySet:
    return visits.filter(state__in=Visit.OPEN_FOR_RECORD, ends_at__lt=timezone.now())


def _to_release(visits: VisitQuerySet) -> VisitQuerySet:
    return visits.filter(state=Visit.State.HANDED_IN)


def _not_opened(visits: VisitQuerySet) -> VisitQuerySet:
    one = Visit.objects.filter(pk=OuterRef("pk"))
    issued = Exists(one.filter(links__isnull=False)) | Exists(one.filter(reports__isnull=False))  # else it was on paper
    opened = Exists(one.filter(links__openings__what__in=("page", "pdf")))
    return visits.filter(issued, ~opened, state=Visit.State.RELEASED)


def _due(visits: VisitQuerySet) -> VisitQuerySet:
    """Released visits whose first repair is due within 30 days or overdue, and after which nobody has looked again."""
    # "Not among those" is worked out once; asked of each visit anew, it would be answered from all of them each time.
    looked_again = Visit.objects.filter(follows__isnull=False, state__in=Visit.TAKES_TIME).values("follows")
    seen_at = Coalesce("begun_at", "starts_at")
    waits = [
        When(findings__how_soon=words, then=ExpressionWrapper(seen_at + Value(wait), DateTimeField()))
        for words, wait in _WAITS.items()
    ]
    counts = Q(
        findings__removed_at=None, findings__action__in=("keep_off", "put_right"), findings__how_soon__in=list(_WAITS)
    )
    visits = visits.filter(counts, state=Visit.State.RELEASED).exclude(pk__in=looked_again)
    visits = visits.annotate(due_at=Min(Case(*waits, output_field=DateTimeField())))
    return visits.filter(due_at__lt=timezone.now() + DUE_SOON)


LISTS = {
    one.key: one
    for one in (
        VisitList("today", "Today", "Who goes where today?", _on_day(0)),
        VisitList("tomorrow", "Tomorrow", "Who goes where tomorrow?", _on_day(1)),
        VisitList(
            "asked-for",
            "Asked for",
            "Who waits for a time?",
            _asked_for,
            "asked",
            ("asked", "client", "place", "suits", "purpose"),
        ),
        VisitList("unconfirmed", "Unconfirmed", "Which times has the client not confirmed yet?", _unconfirmed),
        VisitList("to-write-up", "To write up", "Which visits are over and not handed in?", _to_write_up),
        VisitList("to-release", "To release", "Which records wait at the release desk?", _to_release),
        VisitList("not-opened", "Not opened", "Which reports has no client opened yet?", _not_opened, "-when"),
        VisitList(
            "repairs-due",
            "Repairs due",
            "Which repairs are due within 30 days, or overdue?",
            _due,
            "due",
            ("due", "when", "client", "place", "inspector", "state"),
        ),
    )
}
COLUMNS = {
    "due": Column("Due", ("due_at", "starts_at")),
    "asked": Column("Asked", ("asked_at",)),
    "when": Column("When", ("starts_at",)),
    "client": Column("Client", ("client__name", "starts_at")),
    "place": Column("Address", ("property__town", "property__street", "starts_at")),
    "inspector": Column(
        "Inspector", ("inspector__last_name", "inspector__first_name", "inspector__username", "starts_at")
    ),
    "suits": Column("Would suit", ("suits", "asked_at")),
    "purpose": Column("Purpose", ("purpose", "starts_at")),
    "state": Column("State", ("state", "starts_at")),
}


class ListForm(NoColon, forms.Form):
    """Filters of a list, from the address. What cannot be read there does not narrow it."""

    q = forms.CharField(
        label="Client or address", required=False, max_length=120, widget=forms.TextInput(attrs={"type": "search"})
    )
    inspector = LongChoice(User.objects.none(), required=False, empty_label="Everybody")
    sort = forms.CharField(required=False, max_length=20, widget=forms.HiddenInput)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["inspector"].queryset = User.objects.filter(
            Q(is_inspector=True) | Q(pk__in=Visit.objects.values("inspector"))
        )

    def rows(self, which: VisitList, visits: VisitQuerySet) -> VisitQuerySet:
        """The visits of the list that are asked for."""
        self.is_valid()
        asked = self.cleaned_data
        rows = said_in(which.narrow(visits), asked.get("q") or "")
        if asked.get("inspector"):
            rows = rows.filter(inspector=asked["inspector"])
        return rows


def order_of(which: VisitList, asked: QueryDict) -> Order:
    return Order(asked, {name: COLUMNS[name] for name in which.columns}, which.order)


class SaveForm(NoColon, forms.ModelForm):
    class Meta:
        model = SavedList
        fields = ["name"]
        labels = {"name": "Keep this list as"}


HEADS = (
    "Day", "From", "To", "State", "Client", "Telephone", "Mail", "Street", "Town", "Inspector", "Purpose", "Due",
    "Asked for", "Would suit",
)  # fmt: skip


def csv_row(visit: Visit) -> tuple[object, ...]:
    when: tuple[object, ...] = ("", "", "")
    if visit.has_time:
        start, end = timezone.localtime(visit.starts_at), timezone.localtime(visit.ends_at)
        when = (start.date(), f"{start:%H:%M}", f"{end:%H:%M}")
    due: datetime | None = getattr(visit, "due_at", None)
    return (
        *when, visit.get_state_display(), visit.client.name, visit.client.phone, visit.client.email,
        visit.property.street, visit.property.town, visit.inspector.display_name if visit.inspector else "",
        visit.get_purpose_display(), timezone.localtime(due).date() if due else "",
        timezone.localtime(visit.asked_at).date() if visit.asked_at else "", visit.suits,
    )  # fmt: skip
