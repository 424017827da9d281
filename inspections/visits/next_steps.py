"""What happens next with a visit, and which of it this person may do."""

from dataclasses import dataclass, field

from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from firm.people.capabilities import Capability
from firm.people.models import User
from inspections.visits.models import Visit


@dataclass(frozen=True)
class Button:
    label: str
    url: str
    is_post: bool = False
    is_main: bool = False
    sends: str = ""  # a name that a press sends along


@dataclass
class Next:
    """`words` tells everybody what the visit waits for; `buttons` is what this person may press."""

    words: str
    buttons: list[Button] = field(default_factory=list)

    def offer(self, label: str, name: str, *args: object, query: str = "", **kind: bool | str) -> None:
        try:
            self.buttons.append(Button(label, reverse(name, args=args) + query, **kind))
        except NoReverseMatch:
            return  # a room that is not built in this installation is not offered


def next_steps(visit: Visit, user: User) -> Next:
    """Says what the visit waits for, with the steps that this person may take now."""
    is_mine = visit.inspector_id == user.pk and user.may(Capability.RECORD)
    may_book, may_release = user.may(Capability.BOOK), user.may(Capability.RELEASE)
    who = "You" if is_mine else visit.inspector.display_name if visit.inspector else ""
    state = Visit.State(visit.state)
    if state == Visit.State.ASKED_FOR:
        step = Next("It waits for a time. Nobody comes yet, and no mail has gone out about one.")
        if visit.calendar_version:
            step = Next("It gave up its time and waits for another. Nobody comes until then.")
        if may_book:
            step.offer("Give it a time", "visit-move", visit.pk, is_main=True)
            step.offer("Call off", "visit-call-off", visit.pk)
        return step
    if state == Visit.State.BOOKED:
        step = Next(f"{who} {'begin' if is_mine else 'begins'} the record at the house.")
        if is_mine:
            step.offer("Begin the walk", "visit-begin", visit.pk, is_post=True, is_main=True)
    elif state in (Visit.State.UNDER_WAY, Visit.State.SENT_BACK):
        again = " again" if state == Visit.State.SENT_BACK else ""
        step = Next(f"{who} {'finish' if is_mine else 'finishes'} the record and {_hands(is_mine)} it in{again}.")
        if is_mine:
            step.offer("Go on with the walk", "walk", visit.pk, is_main=True)
            step.offer("Hand in", "visit-hand-in", visit.pk)
            if state == Visit.State.UNDER_WAY and not visit.has_record():
                step.offer("It has not begun: put it back", "visit-not-begun", visit.pk, is_post=True)
    elif state == Visit.State.HANDED_IN:
        step = Next("The release desk reads the record, then releases the report or sends it back.")
        if may_release:
            step.offer("Read and release", "review-detail", visit.pk, is_main=True)
            step.offer("Send back", "visit-send-back", visit.pk)
    elif state == Visit.State.RELEASED:
        step = Next("The report is released. After the repair, somebody should come and look again.")
        if may_release:
            step.offer("Open the record at the release desk", "review-detail", visit.pk)
        if may_book:
            step.offer("Book a visit after the repair", "visit-book", query=f"?follows={visit.pk}")
    else:
        step = Next(f"Called off. {called_off_words(visit)}")
        if not visit.has_time:
            if may_book:
                step.offer("It is asked for after all", "visit-book-again", visit.pk, is_post=True)
            return step
        if may_book:
            if visit.ends_at > timezone.now():
                step.offer("Book it again at this time", "visit-book-again", visit.pk, is_post=True)
            step.offer("Book another time", "visit-book", query=f"?follows={visit.pk}")
    if not is_mine or not visit.is_open_for_record:
        step.offer("See what is recorded", "walk", visit.pk)
    if may_book and state == Visit.State.BOOKED:
        if visit.confirmed_at:
            step.offer("Not confirmed after all", "visit-confirm", visit.pk, is_post=True, sends="undo")
        else:
            step.offer("The client has confirmed", "visit-confirm", visit.pk, is_post=True)
        step.offer("Move", "visit-move", visit.pk)
        step.offer("Give up the time", "visit-give-up", visit.pk)
    if may_book and state in (Visit.State.BOOKED, Visit.State.UNDER_WAY):
        step.offer("Call off", "visit-call-off", visit.pk)
    return step


def called_off_words(visit: Visit) -> str:
    """`The weather: thunderstorms all day.` One of the two is enough where the other adds nothing."""
    kind, because = visit.get_called_off_kind_display(), visit.called_off_because
    if not kind or visit.called_off_kind == Visit.OffBecause.OTHER or because == f"{kind}.":
        return because
    return f"{kind}: {because}"


def _hands(is_mine: bool) -> str:
    return "hand" if is_mine else "hands"
