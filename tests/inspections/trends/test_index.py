"""The index says what the records say: after a rebuild, and after every single change."""

from datetime import date

import pytest
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspections.findings.models import LINKS, Action, Finding
from inspections.reports.models import Report
from inspections.trends.bitmaps import Bitmaps, Want, positions_bitmap, positions_of
from inspections.trends.chance import quantile
from inspections.trends.choices import BehindForm, TrendForm
from inspections.trends.keeping import count_visit, rebuild, refresh
from inspections.trends.models import Bits, CountedVisit, CountingJob, IndexState, RepairSpell
from inspections.trends.traits import FINISHED
from inspections.trends.views.behind import visits_behind
from inspections.visits.models import Visit
from tests.make import in_days, make_property, make_visit

pytestmark = pytest.mark.django_db

ALL = [Want(name) for name in ("link", "word", "defect", "own", "county", "decade", "inspector", "purpose", "exposure")]


def index_by_visit():
    """{visit: its traits}, read back from the bitmaps."""
    found = {row.visit_id: set() for row in CountedVisit.objects.all()}
    at = dict(CountedVisit.objects.values_list("position", "visit"))
    for row in Bits.objects.select_related("trait"):
        for place in positions_of(int.from_bytes(bytes(row.bits), "little")):
            trait = row.trait
            found[at[row.block * 8192 + place]].add((trait.attribute, trait.value, trait.word))
    return found


FINDING = st.tuples(
    st.sampled_from([link for link, _ in LINKS]),
    st.sampled_from([None, "nails", "rot"]),
    st.sampled_from(Action.values),
)
VISIT = st.tuples(
    st.sampled_from(["handed_in", "released", "under_way", "sent_back"]),
    st.sampled_from(["Sele", "Harrow", ""]),
    st.sampled_from([1984, 1999, None]),
    st.integers(0, 1),
    st.lists(FINDING, max_size=4),
)


@given(st.lists(VISIT, min_size=1, max_size=7), st.lists(VISIT, max_size=3), st.sampled_from([*Action.values, ""]))
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_every_count_is_the_count_over_the_findings(defects, make_person, notice, first, later, action):
    from django.db import transaction

    with transaction.atomic():
        people = [make_person("inspector", username=f"i{n}-{len(first)}") for n in range(2)]

        def write(told):
            state, county, year, who, findings = told
            visit = make_visit(people[who], property=make_property(county=county, deck_year_built=year), state=state)
            for link, defect, word in findings:
                notice(visit, word, link, defects.get(defect))
            return visit

        for told in first:
            write(told)
        rebuild()
        fresh = [write(told).pk for told in later]
        opened = Visit.objects.filter(state="released").order_by("pk").values_list("pk", flat=True).first()
        Visit.objects.filter(pk=opened).update(state="sent_back")
        refresh([*fresh, *([opened] if opened else [])])
        one_by_one = index_by_visit()
        rebuild()
        assert index_by_visit() == one_by_one, "one by one and all anew are the same"

        # The direct computation: plain loops over the rows.
        finished = list(Visit.objects.filter(state__in=FINISHED).select_related("property"))
        counts = {}
        for visit in finished:
            seen = set()
            for finding in Finding.objects.filter(visit=visit, removed_at=None).select_related("defect"):
                if finding.action == action if action else finding.action != Action.SOUND:
                    seen.add(("link", finding.link))
                    if finding.defect:
                        seen.add(("defect", finding.defect.slug))
            for key in seen:
                counts.setdefault(visit.property.county, {}).setdefault(key, set()).add(visit.pk)
        for county in {visit.property.county for visit in finished}:
            form = TrendForm({"county": county or "-", "action": action})
            bitmaps = Bitmaps([*ALL, *form.wants()])
            base = form.base(bitmaps)
            assert base.bit_count() == sum(visit.property.county == county for visit in finished)
            for attribute in ("link", "defect"):
                told = {v: (b & base).bit_count() for v, b in bitmaps.values(attribute, action or "any").items()}
                direct = {key[1]: len(one) for key, one in counts.get(county, {}).items() if key[0] == attribute}
                assert {value: count for value, count in told.items() if count} == direct
        transaction.set_rollback(True)


def test_a_visit_that_is_opened_again_is_taken_out(inspector, notice):
    visit = make_visit(inspector, state="handed_in")
    notice(visit, "put_right", "posts")
    refresh([visit.pk])
    assert Bitmaps([Want("link")]).of("link", "posts", "any").bit_count() == 1
    visit.state = "sent_back"
    visit.save()
    refresh([visit.pk])
    assert Bitmaps([Want("link")]).of("link", "posts", "any") == 0
    assert not CountedVisit.objects.exists()


def test_the_next_visit_does_not_take_the_place_of_one_that_was_taken_out(inspector):
    visits = [make_visit(inspector, state="released") for _ in range(3)]
    refresh([visit.pk for visit in visits])
    visits[1].state = "sent_back"
    visits[1].save()
    refresh([visits[1].pk])
    refresh([make_visit(inspector, state="released").pk])
    assert list(CountedVisit.objects.order_by("position").values_list("position", flat=True)) == [0, 2, 3]


@pytest.mark.parametrize("state", ["handed_in", "released", "sent_back"])
def test_a_change_of_state_leaves_a_job(inspector, state):
    visit = make_visit(inspector, state=state)
    job = CountingJob.objects.get(visit=visit)
    before = IndexState.objects.filter(pk=1).values_list("version", flat=True).first() or 0
    count_visit(job)
    assert CountedVisit.objects.filter(visit=visit).exists() == (state != "sent_back")
    assert IndexState.objects.get(pk=1).version > before


def test_a_booking_leaves_none(inspector):
    visit = make_visit(inspector)
    visit.notes = "Dog"
    visit.save()
    assert not CountingJob.objects.exists()


def test_a_house_that_is_said_to_stand_elsewhere_moves_its_visits(inspector):
    visit = make_visit(inspector, state="released")
    CountingJob.objects.all().delete()
    visit.property.county = "Marl"
    visit.property.save()
    count_visit(CountingJob.objects.get(visit=visit))
    assert Bitmaps([Want("county")]).of("county", "Marl").bit_count() == 1


def test_a_corrected_version_is_counted_as_one(inspector):
    visit = make_visit(inspector, state="released")
    for version in (1, 2):
        Report.objects.create(
            visit=visit,
            version=version,
            snapshot={"assessment": {"checks": []}},
            snapshot_sha256=f"{version}" * 64,
            issued_at=timezone.now(),
            issued_by=inspector,
        )
    count_visit(CountingJob.objects.filter(visit=visit).latest("pk"))
    assert Bitmaps([Want("corrected")]).of("corrected").bit_count() == 1
    assert visit.measured.of == "2" * 64, "the newest record was read"


def test_a_period_takes_whole_months_and_single_days(inspector):
    days = [date(2025, 1, 31), date(2025, 2, 1), date(2025, 2, 28), date(2025, 3, 1), date(2025, 3, 9)]
    for day in days:
        at = timezone.make_aware(timezone.datetime(day.year, day.month, day.day, 10))
        make_visit(inspector, starts_at=at, state="released")
    rebuild()
    bitmaps = Bitmaps([])
    for start in (*days, None):
        for end in (*days, None):
            told = bitmaps.period(start, end).bit_count()
            assert told == sum((start or days[0]) <= day <= (end or days[-1]) for day in days)


@given(st.lists(st.integers(0, 4095), max_size=40), st.floats(0.01, 1))
@settings(max_examples=60, deadline=None)
def test_sums_and_quantiles_come_out_of_the_binary_slices(numbers, share):
    bitmaps = Bitmaps.__new__(Bitmaps)
    bitmaps._read = {
        ("minutes", str(k), ""): positions_bitmap(n for n, value in enumerate(numbers) if value >> k & 1)
        for k in range(12)
    }
    everybody = positions_bitmap(range(len(numbers))) if numbers else 0
    assert bitmaps.total("minutes", everybody) == sum(numbers)
    told = bitmaps.quantile("minutes", everybody, share)
    if not numbers:
        assert told is None
        return
    in_order = sorted(numbers)
    assert told in in_order
    assert sum(value <= told for value in numbers) >= share * len(numbers) - 1e-9
    assert sum(value < told for value in numbers) < share * len(numbers) + 1e-9
    assert quantile(in_order, 1) >= told


@given(st.sets(st.integers(0, 3000)))
@settings(max_examples=40, deadline=None)
def test_positions_come_back_in_order(positions):
    assert positions_of(positions_bitmap(positions)) == sorted(positions)


# --- what became of a finding --------------------------------------------------------------------------------------


def spells():
    rows = RepairSpell.objects.order_by("days", "link")
    return [(row.link, row.days, row.is_repaired) for row in rows]


def test_a_finding_that_a_later_visit_looked_for_in_vain_was_repaired(inspector, notice, defects):
    house = make_property()
    first = make_visit(inspector, property=house, starts_at=in_days(-100, 10), state="released")
    notice(first, "put_right", "posts", defects["rot"])
    notice(first, "look_after", "water")
    again = make_visit(inspector, property=house, starts_at=in_days(-40, 10), state="released")
    notice(again, "sound", "posts")
    rebuild()
    assert spells() == [("posts", 60, True)], "what was to be looked after is not followed"


def test_one_that_is_still_there_is_watched_until_the_last_look_and_is_not_a_second_one(inspector, notice, defects):
    house = make_property()
    for ago in (-100, -70, -30):
        visit = make_visit(inspector, property=house, starts_at=in_days(ago, 10), state="released")
        notice(visit, "put_right", "posts", defects["rot"])
    rebuild()
    assert spells() == [("posts", 70, False)]


def test_nothing_is_known_where_nobody_looked_again(inspector, notice, defects):
    house = make_property()
    first = make_visit(inspector, property=house, starts_at=in_days(-100, 10), state="released")
    notice(first, "put_right", "posts", defects["rot"])
    again = make_visit(inspector, property=house, starts_at=in_days(-40, 10), state="released")
    notice(again, "put_right", "edge")
    rebuild()
    assert spells() == [], "the second visit did not look at the posts"


def test_a_refresh_of_one_visit_follows_its_house_like_a_rebuild(inspector, notice, defects):
    house = make_property()
    first = make_visit(inspector, property=house, starts_at=in_days(-100, 10), state="released")
    notice(first, "put_right", "posts", defects["rot"])
    refresh([first.pk])
    again = make_visit(inspector, property=house, starts_at=in_days(-40, 10), state="released")
    notice(again, "sound", "posts")
    refresh([again.pk])
    told = spells()
    rebuild()
    assert spells() == told == [("posts", 60, True)]


def test_the_visits_behind_a_point_of_the_curve(inspector, notice, defects):
    house = make_property()
    first = make_visit(inspector, property=house, starts_at=in_days(-100, 10), state="released")
    notice(first, "put_right", "posts", defects["rot"])
    notice(make_visit(inspector, property=house, starts_at=in_days(-40, 10), state="released"), "sound", "posts")
    rebuild()
    for days, count in ((59, 0), (60, 1)):
        assert visits_behind(BehindForm({"repaired_by": days}))[0].bit_count() == count
