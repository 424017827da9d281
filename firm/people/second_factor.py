"""The second factor: setting it up, asking for it, taking it away. `pyotp` does the arithmetic of RFC 6238."""

import hashlib
import secrets
from datetime import datetime
from hmac import compare_digest

import pyotp
import segno
from django.db import transaction
from django.utils import timezone

from firm import audit
from firm.branding.models import Firm
from firm.people.models import RecoveryCode, SecondFactor, User

CODES = 10
STEPS_EITHER_SIDE = 1  # half a minute: telephones' clocks differ
_ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"  # 32 letters, without those that are read as another


def is_asked_of(person: User) -> bool:
    return SecondFactor.objects.filter(person=person, confirmed_at__isnull=False).exists()


def begin(person: User) -> SecondFactor:
    """The factor that is being set up; the same one until it is proved, so that a reload shows the same picture."""
    factor, _ = SecondFactor.objects.get_or_create(person=person, defaults={"secret": pyotp.random_base32()})
    return factor


def picture(factor: SecondFactor) -> str:
    """What the app scans, as a data address for an image."""
    name = factor.person.username
    address = pyotp.TOTP(factor.secret).provisioning_uri(name=name, issuer_name=f"Soundings {Firm.current().name}")
    return segno.make(address, error="m").svg_data_uri(scale=5, border=2)


@transaction.atomic
def confirm(person: User, code: str, now: datetime | None = None) -> list[str] | None:
    """Put the factor in force if the code proves that the app has it; the recovery codes, which are shown only now."""
    factor = SecondFactor.objects.select_for_update().filter(person=person, confirmed_at__isnull=True).first()
    if factor is None or not _takes_code(factor, code, now or timezone.now()):
        return None
    SecondFactor.objects.filter(pk=factor.pk).update(confirmed_at=timezone.now())
    audit.record(person, "set up a second factor for", person)
    return _new_recovery_codes(person)


def is_right(person: User, code: str, now: datetime | None = None) -> bool:
    """Whether the code is the app's of this half minute, or an unused recovery code. Each is taken once."""
    now = now or timezone.now()
    factor = SecondFactor.objects.filter(person=person, confirmed_at__isnull=False).first()
    return factor is not None and (_takes_code(factor, code, now) or _takes_recovery_code(person, code, now))


@transaction.atomic
def take_away(person: User, by: User) -> bool:
    """False, and nothing done, if there is none."""
    gone, _ = SecondFactor.objects.filter(person=person).delete()
    RecoveryCode.objects.filter(person=person).delete()
    if gone:
        audit.record(by, "took the second factor away from", person)
    return bool(gone)


def codes_left(person: User) -> int:
    return RecoveryCode.objects.filter(person=person, used_at__isnull=True).count()


def _takes_code(factor: SecondFactor, code: str, now: datetime) -> bool:
    given = "".join(code.split())
    app = pyotp.TOTP(factor.secret)
    this_step = app.timecode(now)
    for step in range(this_step - STEPS_EITHER_SIDE, this_step + STEPS_EITHER_SIDE + 1):
        if compare_digest(app.generate_otp(step).encode(), given.encode()):
            # One conditional update: of two that come with the same code at the same moment, one is refused.
            return SecondFactor.objects.filter(pk=factor.pk, last_step__lt=step).update(last_step=step) == 1
    return False


def _takes_recovery_code(person: User, code: str, now: datetime) -> bool:
    unused = RecoveryCode.objects.filter(person=person, used_at__isnull=True, code_sha256=_hash(code))
    if not unused.update(used_at=now):
        return False
    audit.record(person, "used a recovery code of", person)
    return True


def _new_recovery_codes(person: User) -> list[str]:
    RecoveryCode.objects.filter(person=person).delete()
    codes = ["".join(secrets.choice(_ALPHABET) for _ in range(16)) for _ in range(CODES)]
    RecoveryCode.objects.bulk_create(RecoveryCode(person=person, code_sha256=_hash(code)) for code in codes)
    return ["-".join(code[start : start + 4] for start in range(0, 16, 4)) for code in codes]


def _hash(code: str) -> str:
    plain = "".join(letter for letter in code.upper() if letter.isalnum())
    return hashlib.sha256(plain.encode()).hexdigest()
