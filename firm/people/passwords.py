"""The link by which somebody sets a password: for a newcomer, and for one who forgot."""

from email.utils import formataddr, parseaddr

from django.conf import settings
from django.contrib.auth.tokens import default_token_generator
from django.core.mail import EmailMessage
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from firm import audit
from firm.branding.models import Firm
from firm.jobs.bell import ring
from firm.jobs.work import GiveUp
from firm.people.models import PasswordMail, User


@transaction.atomic
def invite(person: User, by: User) -> PasswordMail:
    """Mail the person a link to set a password. Raises ValueError without an address."""
    if not person.email:
        raise ValueError("an invitation needs a mail address")
    audit.record(by, "invited", person)
    return _queue(person, PasswordMail.Why.INVITED)


@transaction.atomic
def forgotten(name_or_address: str) -> int:
    """Mail a link to whoever has this user name or address and may sign in. How many; the page never says."""
    given = name_or_address.strip()
    people = User.objects.filter(is_active=True).exclude(email="")
    found = list(people.filter(username__iexact=given) | people.filter(email__iexact=given))
    for person in found:
        _queue(person, PasswordMail.Why.FORGOTTEN)
    return len(found)


def send(job: PasswordMail) -> None:
    """Write the mail with a fresh link and hand it over, unless it was sent. Raises GiveUp for one who has left."""
    person = job.person
    if job.sent_at:
        return
    if not person.is_active or not person.email:
        raise GiveUp("This person no longer signs in here, or has no mail address.")
    firm = " ".join(Firm.current().name.split())
    context = {"person": person, "firm": firm, "address": link(person), "is_new": job.why == PasswordMail.Why.INVITED}
    EmailMessage(
        f"Set your password for {firm}",
        render_to_string("firm/people/mail/password.txt", context),
        from_email=formataddr((firm, parseaddr(settings.DEFAULT_FROM_EMAIL)[1])),
        to=[person.email],
        headers={
            "Message-ID": f"<password-{job.pk}-{job.attempt}@{settings.PUBLIC_HOST}>",
            "Auto-Submitted": "auto-generated",
        },
    ).send()
    PasswordMail.objects.filter(pk=job.pk).update(sent_at=timezone.now())


def link(person: User) -> str:
    """Good for `PASSWORD_RESET_TIMEOUT`, and until the password changes or the person signs in."""
    who = urlsafe_base64_encode(force_bytes(person.pk))
    return settings.PUBLIC_URL + reverse("set-password", args=[who, default_token_generator.make_token(person)])


def _queue(person: User, why: PasswordMail.Why) -> PasswordMail:
    job = PasswordMail.objects.create(person=person, why=why)
    ring(job)
    return job
