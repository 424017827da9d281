"""Another time for a visit, or its first one: the page shows the next free times, as the booking desk does."""

from dataclasses import dataclass
from functools import cached_property

from django.http import QueryDict
from django.urls import reverse
from django.utils import timezone

from firm.people.models import User
from inspections.visits.asking import give_time
from inspections.visits.booking import move_visit
from inspections.visits.desk import offers_for
from inspections.visits.forms import MoveForm
from inspections.visits.models import Visit
from inspections.visits.refusals import Refused
from inspections.visits.slots import Offer, read_slot
from inspections.visits.travel import Road


@dataclass(frozen=True)
class MovingDesk:
    """What stands on the page: `data` as it was posted, `is_checked` at the last press."""

    visit: Visit
    data: QueryDict
    is_checked: bool = False

    @property
    def here(self) -> str:
        return reverse("visit-move", args=[self.visit.pk])

    @cached_property
    def form(self) -> MoveForm:
        if self.is_checked:
            return MoveForm(self.data)
        typed = {name: self.data[name] for name in MoveForm.base_fields if name in self.data}
        return MoveForm(initial=self._as_it_is() | typed | read_slot(self.data.get("take", "")))

    def _as_it_is(self) -> dict[str, object]:
        visit, known = self.visit, {}
        if visit.has_time:
            local = timezone.localtime(visit.starts_at)
            known = {"inspector": visit.inspector_id, "day": local.date(), "time": local.time()}
        travel = visit.travel_minutes if visit.has_time else self.road.gap_minutes
        return {
            **known,
            "length_minutes": visit.length_minutes,
            "travel_minutes": travel,
            "version": visit.calendar_version,
        }

    @cached_property
    def road(self) -> Road:
        return Road.current()

    @property
    def proposed_length(self) -> int:
        return self.visit.length_minutes

    @cached_property
    def offers(self) -> list[Offer]:
        return offers_for(
            self.visit.property, self.form, self.data, self.proposed_length, self.road, leave_out=self.visit.pk
        )

    def store(self, by: User) -> Visit | None:
        """Move the visit, or give it its time; None if that was refused: then the reason stands beside its field."""
        if not self.form.is_valid():
            return None
        when = self.form.cleaned_data
        names = ("starts_at", "length_minutes", "travel_minutes", "inspector", "despite")
        do = move_visit if self.visit.has_time else give_time
        try:
            return do(self.visit, by=by, seen_version=when["version"], **{name: when[name] for name in names})
        except Refused as refusal:
            self.form.refuse(refusal)
            return None
