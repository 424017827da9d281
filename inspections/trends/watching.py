"""Once a quarter: which rates have changed beyond chance. Managers are told once, by a page and by mail."""

from datetime import date, timedelta

from django.conf import settings
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from firm import audit
from firm.mail.services import send_mail_later
from firm.people.capabilities import Capability
from firm.people.models import User
from inspections.findings.models import Defect
from inspections.trends.bitmaps import Bitmaps, Want
from inspections.trends.chance import benjamini_hochberg, fisher_exact
from inspections.trends.changing import quarters_until
from inspections.trends.models import ChangeNotice, IndexState
from inspections.trends.traits import ANY

# A notice interrupts, so it must be surer than a line on a page: of a hundred notices one is expected to be chance.
BEYOND_CHANCE = 0.01
LEAST_VISITS = 20  # in the quarter and in the year before it
WAIT_DAYS = 14  # after a quarter's end, until its last records are handed in


@transaction.atomic
def watch(today: date) -> list[ChangeNotice]:
    """Compare the last whole quarter with the four before it, unless that was done."""
    state, _ = IndexState.objects.get_or_create(pk=1)
    state = IndexState.objects.select_for_update().get(pk=state.pk)
    *_, b, c, d, e, quarter = quarters_until(today - timedelta(days=WAIT_DAYS), 8)
    if state.checked_until and state.checked_until >= quarter.last:
        return []
    state.checked_until = quarter.last
    state.save(update_fields=["checked_until"])
    bitmaps = Bitmaps([Want("defect", ANY)])
    now, before = bitmaps.period(quarter.first, quarter.last), bitmaps.period(b.first, e.last)
    assert b.last < c.first <= d.last < e.first
    of, of_before = now.bit_count(), before.bit_count()
    if min(of, of_before) < LEAST_VISITS:
        return []
    counted = []
    for slug, bits in bitmaps.values("defect", ANY).items():
        count, count_before = (bits & now).bit_count(), (bits & before).bit_count()
        if count + count_before:
            counted.append((slug, count, count_before))
    qs = benjamini_hochberg([fisher_exact(c, of - c, cb, of_before - cb) for _, c, cb in counted])
    titles = dict(Defect.objects.values_list("slug", "title"))
    notices = [
        ChangeNotice.objects.create(
            defect=slug,
            title=titles.get(slug, slug),
            quarter_begins=quarter.first,
            quarter_ends=quarter.last,
            count=count,
            of=of,
            count_before=count_before,
            of_before=of_before,
            q=q,
        )
        for (slug, count, count_before), q in zip(counted, qs, strict=True)
        if q < BEYOND_CHANCE
    ]
    if notices:
        _tell_the_managers(notices)
    return notices


def _tell_the_managers(notices: list[ChangeNotice]) -> None:
    quarter = notices[0].quarter_begins
    lines = [f"- {notice.title}: {in_words(notice)}" for notice in notices]
    text = "\n".join(
        [
            f"From {notices[0].quarter_begins:%B %Y} to {notices[0].quarter_ends:%B %Y} these were noticed in another"
            " share of the visits than in the year before, and by more than chance explains:",
            "",
            *lines,
            "",
            "It may be other houses, another season, another way of judging, or a change in how decks are built.",
            f"The visits behind each number: {settings.PUBLIC_URL}{reverse('trends-changed')}",
        ]
    )
    for person in User.objects.who_may(Capability.SEE_TRENDS).exclude(email=""):
        send_mail_later(
            to=person.email,
            subject="What recurs has changed",
            text=text,
            kind="rates_changed",
            dedupe_key=f"rates changed {quarter:%Y-%m} for {person.pk}",
        )


def in_words(notice: ChangeNotice) -> str:
    """`31 % of 80 visits, before 12 % of 300`."""
    now, before = notice.count / notice.of, notice.count_before / notice.of_before
    return f"{now:.0%} of {notice.of} visits, before {before:.0%} of {notice.of_before}".replace("%", " %")


@transaction.atomic
def put_aside(notice: ChangeNotice, *, by: User) -> None:
    """A manager has read it; it leaves the page of rates and stays in the list. Again changes nothing."""
    if ChangeNotice.objects.filter(pk=notice.pk, read_at__isnull=True).update(read_at=timezone.now()):
        audit.record(by, "put aside", notice)
