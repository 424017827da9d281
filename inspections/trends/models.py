"""What the trends keep for themselves. All of it but saved views and notices follows from the records, and
`manage.py rebuild_trends` makes it anew.

Visits are numbered in the order in which they were first counted. A `Trait` is something that can be said of a visit
("the county is Sele", "a guard too low, Put right"), and for each trait `Bits` has one bit a visit: a bitmap index.
Any count on any page is then an AND of a few bitmaps and the number of ones in it, whatever is combined, and the ones
are the visits behind the count. Source: P. O'Neil, D. Quass, "Improved query performance with variant indexes",
SIGMOD 1997.
"""

from typing import ClassVar

from django.conf import settings
from django.db import models

from firm.jobs.lines import LONG
from firm.jobs.models import Job
from inspections.findings.models import LINKS, Action
from inspections.visits.models import Visit

BLOCK = 8192  # visits whose bits stand in one row: 1 KiB


class IndexState(models.Model):
    """One row: locked by whoever changes the index; `version` grows with every change."""

    version = models.PositiveBigIntegerField(default=0)
    checked_until = models.DateField(null=True)  # the end of the last quarter that was watched for changes

    def __str__(self) -> str:
        return f"index, version {self.version}"


class CountedVisit(models.Model):
    """A finished visit that is in the index: its number there, and what is not a yes-or-no about it."""

    visit = models.OneToOneField(Visit, models.CASCADE, primary_key=True, related_name="counted")
    position = models.PositiveIntegerField(unique=True)
    day = models.DateField()  # as the firm's clock has it
    worst = models.CharField(max_length=12, choices=Action, blank=True)  # the most pressing word of its findings
    links_seen = models.JSONField(default=list)  # links of which a part or a finding is recorded

    class Meta:
        indexes = [models.Index(fields=["day"], name="counted_visit_day")]

    def __str__(self) -> str:
        return f"visit {self.visit_id} at {self.position}"


class Trait(models.Model):
    """Something that is so, or not so, of a visit: an attribute, its value, and its action word or grade."""

    attribute = models.CharField(max_length=16)
    value = models.CharField(max_length=140)
    word = models.CharField(max_length=16, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["attribute", "word", "value"], name="trait_is_kept_once")]

    def __str__(self) -> str:
        return " ".join(part for part in (self.attribute, self.value, self.word) if part)


class Bits(models.Model):
    """Of which visits of a block a trait is true: bit n, least first, is the visit at `block * BLOCK + n`."""

    trait = models.ForeignKey(Trait, models.CASCADE, related_name="bits")
    block = models.PositiveIntegerField()
    bits = models.BinaryField(max_length=BLOCK // 8)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["trait", "block"], name="bits_of_a_trait_once_a_block")]
        indexes = [models.Index(fields=["block"], name="bits_block")]
        verbose_name_plural = "bits"

    def __str__(self) -> str:
        return f"{self.trait_id} in block {self.block}"


class MeasuredRecord(models.Model):
    """The worst answer to each check of a visit, kept because the engine takes its time.

    `of` is the hash of the frozen record it was read from, which never changes; for a record that is only handed in,
    the moment of handing in. `checks`: {check id: [verdict, ratio, demand, capacity, unit]}.
    """

    visit = models.OneToOneField(Visit, models.CASCADE, primary_key=True, related_name="measured")
    of = models.CharField(max_length=64)
    checks = models.JSONField(default=dict)

    def __str__(self) -> str:
        return f"checks of visit {self.visit_id}"


class RepairSpell(models.Model):
    """A pressing finding at a house that was gone back to: the days until it was seen repaired, or last seen not."""

    found = models.ForeignKey(CountedVisit, models.CASCADE, related_name="spells")
    until = models.ForeignKey(CountedVisit, models.CASCADE, related_name="+")
    link = models.CharField(max_length=20, choices=LINKS)
    defect = models.CharField(max_length=60, blank=True)  # slug; empty for the inspector's own words
    action = models.CharField(max_length=12, choices=Action)
    days = models.PositiveIntegerField()
    is_repaired = models.BooleanField()

    class Meta:
        indexes = [models.Index(fields=["defect", "action"], name="spell_defect")]

    def __str__(self) -> str:
        return f"{self.defect or self.link}, {self.days} days"


class UsualRange(models.Model):
    """The quartiles of one fact of one kind of part, over the firm's newest measured readings."""

    kind = models.CharField(max_length=20)
    fact = models.CharField(max_length=40)
    readings = models.PositiveIntegerField()
    quarter = models.FloatField()
    middle = models.FloatField()
    three_quarters = models.FloatField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "fact"], name="usual_range_once_a_fact")]

    def __str__(self) -> str:
        return f"{self.kind} {self.fact}"


class CountingJob(Job):
    """Brings the index up to date with one visit, and with the others at its property."""

    task_name: ClassVar[str] = "inspections.trends.count_visit"

    visit = models.ForeignKey(Visit, models.CASCADE, related_name="+")


class SavedView(models.Model):
    """A page of numbers that somebody wants again: its name and its address without the host."""

    name = models.CharField(max_length=80)
    page = models.CharField(max_length=40)  # url name
    query = models.CharField(max_length=1000, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class ChangeNotice(models.Model):
    """A defect whose share in one quarter differs beyond chance from the four quarters before. Told once."""

    defect = models.CharField(max_length=60)
    title = models.CharField(max_length=120)
    quarter_begins = models.DateField()
    quarter_ends = models.DateField()
    count = models.PositiveIntegerField()
    of = models.PositiveIntegerField()
    count_before = models.PositiveIntegerField()
    of_before = models.PositiveIntegerField()
    q = models.FloatField()
    noticed_at = models.DateTimeField(auto_now_add=True)
    read_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-quarter_begins", "q"]
        constraints = [models.UniqueConstraint(fields=["defect", "quarter_begins"], name="change_is_noticed_once")]

    def __str__(self) -> str:
        return f"{self.title}, {self.quarter_begins:%Y-%m}"

    @property
    def rose(self) -> bool:
        return self.count * self.of_before > self.count_before * self.of


class SummaryBuild(Job):
    """Draws the one-page summary of a period as PDF. `query` holds the choices, as in an address."""

    task_name: ClassVar[str] = "inspections.trends.draw_summary"
    line: ClassVar[str] = LONG

    query = models.CharField(max_length=1000, blank=True)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    pdf = models.FileField(upload_to="summaries/", max_length=200, blank=True)

    def __str__(self) -> str:
        return f"summary {self.pk}"
