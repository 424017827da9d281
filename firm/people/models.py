from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models

from firm.jobs.models import Job
from firm.people.capabilities import ROLE_CAPABILITIES, Capability
from firm.people.sealing import unseal


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


class SecondFactor(models.Model):
    """A person's authenticator app: six digits that change every half minute (TOTP, RFC 6238)."""

    person = models.OneToOneField(User, models.CASCADE, related_name="second_factor")
    secret = models.TextField()  # sealed: see `firm.people.sealing`
    confirmed_at = models.DateTimeField(null=True, blank=True)  # null: begun, never proved; it is not asked for
    last_step = models.PositiveBigIntegerField(default=0)  # of the last code that was taken: none is taken twice

    def __str__(self) -> str:
        return f"second factor of {self.person}"

    @property
    def key(self) -> str:
        """What the app and we both know, base32. Raises Locked where the installation's secret is another."""
        return unseal(self.secret)


class Passkey(models.Model):
    """A key pair in somebody's device, unlocked there by finger, face or PIN (WebAuthn). Ours is the public half."""

    person = models.ForeignKey(User, models.CASCADE, related_name="passkeys")
    name = models.CharField(max_length=60)  # as its owner calls it: "tablet in the van"
    site = models.CharField(max_length=253)  # the host name it was made for; browsers offer it nowhere else
    credential_id = models.CharField(max_length=1400, unique=True)  # base64url
    public_key = models.TextField()  # COSE, base64url
    sign_count = models.PositiveBigIntegerField(default=0)  # stays 0 with those that are carried between devices
    transports = models.JSONField(default=list)  # by which ways the browser may reach it
    made_at = models.DateTimeField(auto_now_add=True)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at"]

    def __str__(self) -> str:
        return f"{self.name} of {self.person}"


class RecoveryCode(models.Model):
    """One of ten codes for the day on which the telephone is lost. Shown once; the hash is kept; each works once."""

    person = models.ForeignKey(User, models.CASCADE, related_name="recovery_codes")
    code_sha256 = models.CharField(max_length=64)  # enough for 80 random bits
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "code_sha256"], name="recovery_code_is_kept_once")]

    def __str__(self) -> str:
        return f"recovery code of {self.person}"


class Device(models.Model):
    """Where somebody is signed in: one row per session, so that a lost tablet can be signed out from elsewhere."""

    person = models.ForeignKey(User, models.CASCADE, related_name="devices")
    session_key = models.CharField(max_length=40, unique=True)
    began_at = models.DateTimeField(auto_now_add=True)
    seen_at = models.DateTimeField()
    address = models.GenericIPAddressField(null=True)
    browser = models.CharField(max_length=200)

    class Meta:
        ordering = ["-seen_at"]

    def __str__(self) -> str:
        return f"{self.person} at {self.browser}"


class PasswordMail(Job):
    """One mail with a link by which its person sets a password. The link is made as the mail is written."""

    task_name = "firm.people.send_password_link"

    class Why(models.TextChoices):
        INVITED = "invited", "Invited"
        FORGOTTEN = "forgotten", "Password forgotten"

    person = models.ForeignKey(User, models.CASCADE, related_name="+")
    why = models.CharField(max_length=10, choices=Why)
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta(Job.Meta):
        verbose_name = "mail about a password"

    def __str__(self) -> str:
        return f"{self.get_why_display()}: {self.person}"
