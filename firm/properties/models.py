from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from firm.clients.keys import address_key, words_key
from firm.clients.models import Client
from firm.rules.models import Edition, RuleSet


class PropertyQuerySet(models.QuerySet):
    def matching(self, words: str) -> "PropertyQuerySet":
        found = self
        for word in words_key(words).split():
            found = found.filter(search_text__contains=word)
        return found


class Property(models.Model):
    """A house with a deck, and the building rules that apply where it stands."""

    Edition = Edition

    client = models.ForeignKey(Client, models.PROTECT, related_name="properties")
    street = models.CharField(max_length=160)
    town = models.CharField(max_length=80)
    county = models.CharField(max_length=80, blank=True)
    region = models.CharField("state", max_length=40)
    postcode = models.CharField("postal code", max_length=20, blank=True)
    year_built = models.PositiveSmallIntegerField(
        "year the house was built", null=True, blank=True, validators=[MinValueValidator(1600), MaxValueValidator(2100)]
    )
    deck_year_built = models.PositiveSmallIntegerField(
        "year the deck was built", null=True, blank=True, validators=[MinValueValidator(1900), MaxValueValidator(2100)]
    )
    deck_builder = models.CharField("who built the deck", max_length=120, blank=True)
    access_notes = models.TextField("getting in", blank=True, help_text="Gate codes, dogs, where to park.")
    latitude = models.DecimalField(
        "latitude, degrees", max_digits=8, decimal_places=5, null=True, blank=True,
        validators=[MinValueValidator(-90), MaxValueValidator(90)],
    )  # fmt: skip
    longitude = models.DecimalField(
        "longitude, degrees", max_digits=8, decimal_places=5, null=True, blank=True,
        validators=[MinValueValidator(-180), MaxValueValidator(180)],
    )  # fmt: skip

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
    is_near_salt_water = models.BooleanField("within 300 ft of a salt-water shore", default=False)
    rules_source = models.CharField(
        "where these rules are from",
        max_length=200,
        blank=True,
        help_text="The local ordinance or the office you asked, and when.",
    )
    # The set that the values above were taken from, with its amendments. The values may have been edited since.
    rule_set = models.ForeignKey(RuleSet, models.SET_NULL, null=True, blank=True, related_name="properties")
    search_text = models.TextField(editable=False, default="")
    created_at = models.DateTimeField(auto_now_add=True)

    objects = PropertyQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "properties"
        ordering = ["town", "street", "pk"]

    def __str__(self) -> str:
        return self.one_line

    def save(self, *args, **kwargs) -> None:
        self.set_search_words()
        if (fields := kwargs.get("update_fields")) is not None:
            kwargs["update_fields"] = {*fields, "search_text"}
        super().save(*args, **kwargs)
        client = Client.objects.get(pk=self.client_id)  # not self.client: its other fields may be half edited
        client.set_search_words()
        Client.objects.filter(pk=client.pk).update(search_all=client.search_all)

    def set_search_words(self) -> None:
        self.search_text = address_key(self.street, self.town, self.county, self.region, self.postcode)

    @property
    def coordinates(self) -> tuple[float, float] | None:
        """Latitude and longitude in degrees, or None unless both are written down."""
        if self.latitude is None or self.longitude is None:
            return None
        return float(self.latitude), float(self.longitude)

    @property
    def one_line(self) -> str:
        return ", ".join(text for text in (self.street, self.town, f"{self.region} {self.postcode}".strip()) if text)
