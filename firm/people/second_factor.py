"""The second factor: setting it up, asking for it, taking it away. `pyotp` does the arithmetic of RFC 6238.

It is an app, or passkeys (`firm.people.passkeys`), or both; the recovery codes belong to all of them together.
"""

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
from firm.people.models import Passkey, RecoveryCode, SecondFactor, User
from firm.people.sealing import Locked, is_locked, seal, under_the_present_secret

CODES = 10
STEPS_EITHER_SIDE = 1  # half a minute: telephones' clocks differ
_ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"  # 32 letters, without those that are read as another


def is_asked_of(person: User) -> bool:
    """Whether the password alone is not enough. Recovery codes count: an app that is set up anew leaves no gap."""
    return has_app(person) or Passkey.objects.filter(person=person).exists() or codes_left(person) > 0


def has_app(person: User) -> bool:
    return SecondFactor.objects.filter(person=person, confirmed_at__isnull=False).exists()


def app_is_locked(person: User) -> bool:
    """Whether the app was set up on an installation with another secret: its codes cannot be judged here."""
    factor = SecondFactor.objects.filter(person=person, confirmed_at__isnull=False).first()
    return factor is not None and is_locked(factor.secret)


def locked_apps() -> int:
    sealed = SecondFactor.objects.filter(confirmed_at__isnull=False).values_list("secret", flat=True)
    return sum(map(is_locked, sealed))


def begin(person: User) -> SecondFactor:
    """The factor that is being set up; the same one until it is proved, so that a reload shows the same picture."""
    factor, _ = SecondFactor.objects.get_or_create(person=person, defaults={"secret": seal(pyotp.random_base32())})
    if is_locked(factor.secret):
        factor.secret, factor.confirmed_at, factor.last_step = seal(pyotp.random_base32()), None, 0
        factor.save()
    return factor


def picture(factor: SecondFactor) -> str:
    """What the app scans, as a data address for an image."""
    name = factor.person.username
    address = pyotp.TOTP(factor.key).provisioning_uri(name=name, issuer_name=f"Soundings {Firm.current().name}")
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
    return (factor is not None and _takes_code(factor, code, now)) or _takes_recovery_code(person, code, now)


@transaction.atomic
def take_app_away(person: User, by: User) -> None:
    SecondFactor.objects.filter(person=person).delete()
    audit.record(by, "took the authenticator app away from", person)
    forget_codes_without_use(person)


@transaction.atomic
def take_away(person: User, by: User | None) -> bool:
    """All of it: app, passkeys, codes. False, and nothing done, if there is none."""
    gone = 0
    for kind in (SecondFactor, Passkey, RecoveryCode):
        gone += kind.objects.filter(person=person).delete()[0]
    if gone:
        audit.record(by, "took the second factor away from", person)
    return bool(gone)


def codes_if_none(person: User) -> list[str]:
    """New recovery codes for one who has none; empty for one who has."""
    return [] if codes_left(person) else _new_recovery_codes(person)


def forget_codes_without_use(person: User) -> None:
    """Recovery codes stand in for an app or a passkey; without either they would ask for what nobody has."""
    if not has_app(person) and not Passkey.objects.filter(person=person).exists():
        RecoveryCode.objects.filter(person=person).delete()


def reseal() -> int:
    """Put every secret under the present `SECRET_KEY`; how many are locked and stay as they are."""
    locked = 0
    for factor in SecondFactor.objects.all():
        try:
            sealed = under_the_present_secret(factor.secret)
        except Locked:
            locked += 1
        else:  # unless it was set up anew meanwhile
            SecondFactor.objects.filter(pk=factor.pk, secret=factor.secret).update(secret=sealed)
    return locked


def codes_left(person: User) -> int:
    return RecoveryCode.objects.filter(person=person, used_at__isnull=True).count()


def _takes_code(factor: SecondFactor, code: str, now: datetime) -> bool:
    given = "".join(code.split())
    try:
        app = pyotp.TOTP(factor.key)
    except Locked:
        return False
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
