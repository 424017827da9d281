from django.db import models

from firm.clients.models import Client
from firm.people.capabilities import Capability
from firm.people.models import User


class SetUp(models.Model):
    """How far the first administrator has come with setting the firm up. One row."""

    passed = models.JSONField(default=list)  # steps that were done or skipped
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = "set-up"
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="set_up_is_one_row")]

    def __str__(self) -> str:
        return "set-up of the firm"

    @classmethod
    def current(cls) -> "SetUp":
        return cls.objects.filter(pk=1).first() or cls(pk=1)

    @classmethod
    def is_due(cls, person: User) -> bool:
        """Whether this person is to be led through it: a firm that has clients works already."""
        if not person.may(Capability.ADMINISTER) or Client.objects.exists():
            return False
        return cls.current().done_at is None
