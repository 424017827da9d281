from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models

from firm.people.capabilities import ROLE_CAPABILITIES, Capability


class PeopleManager(UserManager):
    def create_superuser(self, username, email=None, password=None, **extra):
        """A superuser from the command line is the firm's first administrator."""
        extra.setdefault("is_administrator", True)
        return super().create_superuser(username, email, password, **extra)

    def who_may(self, capability: Capability) -> models.QuerySet["User"]:
        """Active people with the capability, whichever of their roles gives it."""
        gives = models.Q(pk__in=[])
        for role, capabilities in ROLE_CAPABILITIES.items():
            if capability in capabilities:
                gives |= models.Q(**{role: True})
        return self.filter(gives, is_active=True)


class User(AbstractUser):
    """Somebody who works in the firm. One person may hold several roles: in a small firm the manager also inspects."""

    is_office = models.BooleanField("office", default=False, help_text="Books visits and keeps clients.")
    is_inspector = models.BooleanField("inspector", default=False, help_text="Records inspections on site.")
    is_manager = models.BooleanField("manager", default=False, help_text="Checks and releases reports, sees trends.")
    is_administrator = models.BooleanField("administrator", default=False, help_text="Keeps people and settings.")
    phone = models.CharField(max_length=40, blank=True)
    licence_line = models.CharField(max_length=160, blank=True, help_text="Printed under the signature on a report.")

    objects = PeopleManager()

    class Meta:
        verbose_name = "person"
        verbose_name_plural = "people"
        ordering = ["last_name", "first_name", "username"]

    def __str__(self) -> str:
        return self.display_name

    @property
    def display_name(self) -> str:
        return self.get_full_name() or self.username

    @property
    def capabilities(self) -> frozenset[Capability]:
        if not self.is_active:
            return frozenset()
        held = [capabilities for role, capabilities in ROLE_CAPABILITIES.items() if getattr(self, role)]
        return frozenset().union(*held)

    @property
    def role_words(self) -> list[str]:
        return [self._meta.get_field(role).verbose_name for role in ROLE_CAPABILITIES if getattr(self, role)]

    def may(self, capability: Capability) -> bool:
        return capability in self.capabilities
