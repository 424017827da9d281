from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models

from firm.clients.keys import search_key

plain_key = RegexValidator(
    r"^[a-z0-9_]+(\.[a-z0-9_]+)*$", "A key is small letters, digits and _, with dots between: guard.min_height."
)


class Edition(models.TextChoices):
    """Code editions the engine knows; a test holds this list equal to the engine's own."""

    IRC_2015 = "IRC 2015", "IRC 2015"
    IRC_2018 = "IRC 2018", "IRC 2018"
    IRC_2021 = "IRC 2021", "IRC 2021"
    IRC_2024 = "IRC 2024", "IRC 2024"
    DCA_6 = "DCA 6-2012", "DCA 6-2012"


class RuleSet(models.Model):
    """The building rules of one county, or of one town that has its own: what it has adopted, and who said so."""

    region = models.CharField("state", max_length=40)
    county = models.CharField(max_length=80, blank=True)
    town = models.CharField(
        max_length=80, blank=True, help_text="Only where the town has rules of its own. Empty: the whole county."
    )
    edition = models.CharField("code edition", max_length=16, choices=Edition, default=Edition.IRC_2021)
    live_psf = models.DecimalField(
        "deck live load, psf", max_digits=5, decimal_places=1, default=40,
        validators=[MinValueValidator(10), MaxValueValidator(250)],
    )  # fmt: skip
    ground_snow_psf = models.DecimalField(
        "ground snow load, psf", max_digits=5, decimal_places=1, default=0,
        validators=[MinValueValidator(0), MaxValueValidator(300)],
    )  # fmt: skip
    frost_depth_in = models.DecimalField(
        "frost depth, in", max_digits=5, decimal_places=1, null=True, blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(120)],
    )  # fmt: skip
    soil_psf = models.DecimalField(
        "soil bearing, psf", max_digits=6, decimal_places=0, default=1500,
        validators=[MinValueValidator(500), MaxValueValidator(12000)],
    )  # fmt: skip
    is_near_salt_water = models.BooleanField("houses here stand within 300 ft of a salt-water shore", default=False)
    citation = models.CharField(
        "where these are from", max_length=160, help_text="The ordinance, or the office you asked and how."
    )
    holds_from = models.DateField("adopted, or asked, on")
    # The place as it is compared: small letters, no accents. Unique, so that a place has one set.
    place_key = models.CharField(max_length=220, unique=True, editable=False)

    class Meta:
        ordering = ["region", "county", "town"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(county="", town=""), name="rule_set_names_a_county_or_a_town")
        ]

    def __str__(self) -> str:
        return self.place

    def save(self, *args, **kwargs) -> None:
        self.place_key = key_of_place(self.region, self.county, self.town)
        super().save(*args, **kwargs)

    @property
    def place(self) -> str:
        county = f"{self.county} County" if self.county and "county" not in self.county.lower() else self.county
        return ", ".join(text for text in (self.town, county, self.region) if text)

    @property
    def source(self) -> str:
        """As it is printed: the place, the citation and the day."""
        return f"{self.place}: {self.citation}, {self.holds_from:%B} {self.holds_from.day}, {self.holds_from.year}"[
            :200
        ]


def key_of_place(region: str, county: str, town: str) -> str:
    """One text for a place, however it was typed: `maine|sele|quillan harbor`."""
    county_key = search_key(county).removesuffix(" county")
    return "|".join((search_key(region), county_key, search_key(town)))


class Amendment(models.Model):
    """A local rule in place of a value of the edition, under the engine's name for that value."""

    rule_set = models.ForeignKey(RuleSet, models.CASCADE, related_name="amendments")
    key = models.CharField("which rule", max_length=80, validators=[plain_key])
    value = models.FloatField()
    unit = models.CharField(max_length=20)
    citation = models.CharField("where it stands", max_length=160)

    class Meta:
        ordering = ["key"]
        constraints = [models.UniqueConstraint(fields=["rule_set", "key"], name="amendment_once_a_rule")]

    def __str__(self) -> str:
        return f"{self.key} = {self.value:g} {self.unit}"


class Confirmation(models.Model):
    """Somebody laid a rule or a table beside the firm's own copy of the code and found it the same."""

    key = models.CharField("rule or table", max_length=80, unique=True, validators=[plain_key])
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    on = models.DateField()
    copy = models.CharField(
        "which copy", max_length=160, help_text="Title, edition and printing of the book, and the page."
    )

    class Meta:
        ordering = ["key"]

    def __str__(self) -> str:
        return self.key
