"""Passkeys (W3C Web Authentication): made, listed, removed, and answered for. `webauthn` does the cryptography.

After the password a passkey stands for the code of the app. Instead of the password it signs in alone, and then it must
say that its holder was recognised (finger, face, PIN): a key that somebody found is not enough. Each answer is to a
question of ours that is asked once, in one session, and is good for five minutes.
"""

import ipaddress
import json
import time
from typing import Any, NamedTuple

import webauthn
from django.db import IntegrityError, transaction
from django.http import HttpRequest
from django.utils import timezone
from webauthn.helpers import base64url_to_bytes, bytes_to_base64url
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    AuthenticatorTransport,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from firm import audit
from firm.branding.models import Firm
from firm.people import second_factor
from firm.people.models import Passkey, User

GOOD_FOR_S = 300
MAKING, SIGNING_IN, AFTER_PASSWORD = "making", "signing in", "after the password"
_KEY = "passkey"
_MOST_CHARACTERS = 20_000  # of an answer; real ones have one to three thousand


class Refused(Exception):
    """The passkey is not taken; `str()` of it says why, for whoever holds it."""


class Site(NamedTuple):
    host: str
    origin: str


def site_of(request: HttpRequest) -> Site | None:
    """The site that passkeys are bound to, or None where browsers have none: without encryption, or by number."""
    host = request.get_host()
    name = host.rpartition(":")[0] if host.rpartition(":")[2].isdecimal() else host
    if not request.is_secure() and name != "localhost":
        return None
    try:
        ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return Site(name, f"{request.scheme}://{host}")
    return None


def of(person: User, site: Site | None = None) -> list[Passkey]:
    passkeys = Passkey.objects.filter(person=person)
    return list(passkeys.filter(site=site.host) if site else passkeys)


def ask_to_make(request: HttpRequest, site: Site, name: str) -> str:
    """What the browser is asked, as JSON; its answer goes to `keep`."""
    person = request.user
    options = webauthn.generate_registration_options(
        rp_id=site.host,
        rp_name=f"Soundings {Firm.current().name}".strip(),
        user_id=f"soundings person {person.pk}".encode(),
        user_name=person.username,
        user_display_name=person.display_name,
        timeout=GOOD_FOR_S * 1000,
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.PREFERRED, user_verification=UserVerificationRequirement.PREFERRED
        ),
        exclude_credentials=[_described(passkey) for passkey in of(person, site)],
    )
    _remember(request, MAKING, options.challenge, name=name)
    return webauthn.options_to_json(options)


def keep(request: HttpRequest, site: Site, answer: str) -> tuple[Passkey, list[str]]:
    """The new passkey, and the recovery codes if it is the first thing that needs some. Raises Refused."""
    asked = _recall(request, MAKING)
    credential = _read(answer)
    try:
        made = webauthn.verify_registration_response(
            credential=credential,
            expected_challenge=base64url_to_bytes(asked["challenge"]),
            expected_rp_id=site.host,
            expected_origin=site.origin,
        )
    except (WebAuthnException, ValueError, TypeError, KeyError) as error:
        raise Refused("What the device answered does not fit. Nothing was kept; try again.") from error
    said = credential["response"].get("transports")
    known = {one.value for one in AuthenticatorTransport}
    passkey = Passkey(
        person=request.user,
        name=asked["name"],
        site=site.host,
        credential_id=bytes_to_base64url(made.credential_id),
        public_key=bytes_to_base64url(made.credential_public_key),
        sign_count=made.sign_count,
        transports=[one for one in said if one in known] if isinstance(said, list) else [],
    )
    try:
        with transaction.atomic():
            passkey.save()
            audit.record(request.user, "made a passkey for", request.user, None, {"passkey": passkey.name})
            return passkey, second_factor.codes_if_none(request.user)
    except IntegrityError as error:
        raise Refused("This passkey is kept already.") from error


def ask_for(request: HttpRequest, site: Site, person: User | None = None) -> str:
    """What the browser is asked, as JSON: for any passkey of this site, or after the password for one of `person`."""
    after_password = person is not None
    options = webauthn.generate_authentication_options(
        rp_id=site.host,
        timeout=GOOD_FOR_S * 1000,
        allow_credentials=[_described(passkey) for passkey in of(person, site)] if after_password else None,
        user_verification=UserVerificationRequirement.PREFERRED
        if after_password
        else UserVerificationRequirement.REQUIRED,
    )
    _remember(request, AFTER_PASSWORD if after_password else SIGNING_IN, options.challenge)
    return webauthn.options_to_json(options)


def whose(request: HttpRequest, site: Site, answer: str, person: User | None = None) -> User:
    """Who holds the passkey that answered; after the password, that it is `person`. Raises Refused."""
    asked = _recall(request, AFTER_PASSWORD if person else SIGNING_IN)
    credential = _read(answer)
    passkey = Passkey.objects.filter(credential_id=credential.get("id"), site=site.host, person__is_active=True)
    passkey = (passkey.filter(person=person) if person else passkey).select_related("person").first()
    if passkey is None:
        raise Refused("This passkey is not known here. It may have been removed.")
    try:
        used = webauthn.verify_authentication_response(
            credential=credential,
            expected_challenge=base64url_to_bytes(asked["challenge"]),
            expected_rp_id=site.host,
            expected_origin=site.origin,
            credential_public_key=base64url_to_bytes(passkey.public_key),
            credential_current_sign_count=0,  # judged below: a count that went back has words of its own
            require_user_verification=person is None,
        )
    except (WebAuthnException, ValueError, TypeError, KeyError) as error:
        raise Refused("What the device answered does not fit. Try again, or sign in with your password.") from error
    _take(passkey, used.new_sign_count)
    return passkey.person


@transaction.atomic
def remove(passkey: Passkey, by: User) -> None:
    passkey.delete()
    audit.record(by, "removed a passkey of", passkey.person, {"passkey": passkey.name}, None)
    second_factor.forget_codes_without_use(passkey.person)


def _take(passkey: Passkey, count: int) -> None:
    """Note the use. A device that counts must count on: else there are two of it, and one is a copy."""
    row = Passkey.objects.filter(pk=passkey.pk)
    if count or passkey.sign_count:
        row = row.filter(sign_count__lt=count)  # of two at once with the same count, one is refused
    if not row.update(sign_count=count, used_at=timezone.now()):
        audit.record(passkey.person, "was refused with a passkey that counts backwards", passkey.person)
        raise Refused("This passkey may have been copied, and is not taken. Sign in another way and remove it.")


def _remember(request: HttpRequest, what_for: str, challenge: bytes, **more: str) -> None:
    asked = {"what_for": what_for, "challenge": bytes_to_base64url(challenge), "at": time.time(), **more}
    request.session[_KEY] = asked


def _recall(request: HttpRequest, what_for: str) -> dict[str, Any]:
    """The question that was asked; it is asked no second time. Raises Refused."""
    asked = request.session.pop(_KEY, None)
    if not asked or asked["what_for"] != what_for or not 0 <= time.time() - asked["at"] <= GOOD_FOR_S:
        raise Refused("That took too long, or was answered already. Try again.")
    return asked


def _read(answer: str) -> dict[str, Any]:
    try:
        credential = json.loads(answer) if len(answer) <= _MOST_CHARACTERS else None
    except (ValueError, RecursionError):
        credential = None
    if (
        not isinstance(credential, dict)
        or not isinstance(credential.get("response"), dict)
        or not isinstance(credential.get("id"), str)
        or "\0" in credential["id"]  # which PostgreSQL would not even look for
    ):
        raise Refused("The browser sent no passkey.")
    return credential


def _described(passkey: Passkey) -> PublicKeyCredentialDescriptor:
    return PublicKeyCredentialDescriptor(
        id=base64url_to_bytes(passkey.credential_id),
        transports=[AuthenticatorTransport(one) for one in passkey.transports] or None,
    )
