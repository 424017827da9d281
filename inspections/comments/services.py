"""Commenting on a record, answering, marking as done. Every step leaves its line in the visit's history."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from firm import audit
from firm.people.capabilities import Capability
from firm.people.models import User
from inspections.comments.models import Answer, Comment
from inspections.visits.models import Visit
from inspections.visits.refusals import Refused, WrongState

AT_THE_DESK = (Visit.State.HANDED_IN, Visit.State.SENT_BACK)


class NothingSaid(Refused):
    """A comment or an answer without a word."""

    def __init__(self) -> None:
        super().__init__("Write what is to be looked at.")


def may_comment(user: User, visit: Visit) -> bool:
    return user.may(Capability.RELEASE) and visit.state in AT_THE_DESK


def may_read(user: User, visit: Visit) -> bool:
    """The desk and the inspector of the visit; to others it says nothing."""
    return user.may(Capability.RELEASE) or (user.may(Capability.RECORD) and visit.inspector_id == user.pk)


def may_answer(user: User, visit: Visit) -> bool:
    return may_read(user, visit) and visit.state in AT_THE_DESK


def comments_of(visit: Visit) -> list[Comment]:
    """All comments on a record with their answers, the oldest first; read once for a page.

    A record that was never handed in has none, and asks nothing.
    """
    if visit.handed_in_at is None:
        return []
    kept = visit.__dict__.get("_comments")
    if kept is None:
        found = visit.comments.select_related("finding", "photo__finding", "part", "by", "done_by")
        kept = visit.__dict__["_comments"] = list(found.prefetch_related("answers__by"))
    for comment in kept:
        comment.visit = visit
    return kept


def with_open_comments(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Each visit with the number of its comments that are not done, as `open_comments`."""
    return visits.annotate(
        open_comments=Count("comments", filter=Q(comments__done_at=None, comments__id__isnull=False))
    )


def reason_to_send_back(visit: Visit) -> str:
    """Where open comments say it all, the words that the desk need not type."""
    count = sum(one.is_open for one in comments_of(visit))
    return f"Please see the {'comment' if count == 1 else f'{count} comments'} in the record." if count else ""


@transaction.atomic
def comment_on(visit: Visit, about: Mapping[str, Any], text: str, *, by: User, pk: UUID | None = None) -> Comment:
    """Keep a comment. `about` holds `finding`, `photo`, or `part` and perhaps `fact`; nothing for the whole record.

    With `pk`, the same form sent twice makes one comment. Raises NothingSaid, and WrongState once it is released.
    """
    if pk is not None and (known := Comment.objects.filter(pk=pk, visit=visit).first()):
        return known
    _must_be_at_the_desk(visit)
    comment = Comment(visit=visit, text=_said(text), by=by, **about)
    if pk is not None:
        comment.pk = pk
    comment.save(force_insert=True)
    audit.record(by, "commented on", visit, after={"about": comment.where, "comment": comment.text})
    return comment


@transaction.atomic
def answer(comment: Comment, text: str, *, by: User) -> None:
    """Raises NothingSaid, and WrongState once the record is released."""
    _must_be_at_the_desk(comment.visit)
    _keep_answer(comment, _said(text), by=by)


@transaction.atomic
def mark_done(comment: Comment, text: str = "", *, by: User) -> None:
    """The matter is settled; words are welcome, not asked for. Nothing happens the second time."""
    _must_be_at_the_desk(comment.visit)
    if text.strip():
        _keep_answer(comment, text.strip(), by=by)
    now = timezone.now()
    if Comment.objects.filter(pk=comment.pk, done_at=None).update(done_at=now, done_by=by):
        audit.record(by, "marked a comment done on", comment.visit, after={"about": comment.where})


@transaction.atomic
def open_again(comment: Comment, text: str = "", *, by: User) -> None:
    """It is not settled after all."""
    _must_be_at_the_desk(comment.visit)
    if text.strip():
        _keep_answer(comment, text.strip(), by=by)
    if Comment.objects.filter(pk=comment.pk, done_at__isnull=False).update(done_at=None, done_by=None):
        audit.record(by, "opened a comment again on", comment.visit, after={"about": comment.where})


def _keep_answer(comment: Comment, text: str, *, by: User) -> None:
    Answer.objects.create(comment=comment, text=text, by=by)
    audit.record(by, "answered a comment on", comment.visit, after={"about": comment.where, "answer": text})


def _must_be_at_the_desk(visit: Visit) -> None:
    locked = Visit.objects.select_for_update(of=("self",)).get(pk=visit.pk)
    if locked.state not in AT_THE_DESK:
        raise WrongState(f"This visit is {locked.get_state_display().lower()}: nothing is commented on any more.")


def _said(text: str) -> str:
    if not text.strip():
        raise NothingSaid
    return text.strip()
