"""Handing one mail to the mail server."""

import base64
from smtplib import SMTPRecipientsRefused

from django.core.mail import EmailMultiAlternatives
from django.utils import timezone

from firm.jobs.work import GiveUp
from firm.mail import late
from firm.mail.models import OutgoingMail


def deliver(mail: OutgoingMail) -> None:
    """Send the mail unless it was sent.

    Raises GiveUp if the server refuses the address for good (a 5xx answer); any other error is tried again later.
    """
    if mail.sent_at:
        return  # an earlier attempt sent it and died before it could say "done"
    OutgoingMail.objects.filter(pk=mail.pk, attempt=mail.attempt).update(sending_at=timezone.now())
    try:
        compose(mail).send()
    except SMTPRecipientsRefused as error:
        if all(code >= 500 for code, _ in error.recipients.values()):
            raise GiveUp(f"The mail server refuses the address {mail.to}") from error
        raise
    # At once and by itself: the moment between "accepted" and this line is the only one in which a killed worker
    # makes the mail go out twice, and it is as short as one update. Not fenced: it was sent, whoever holds the row.
    OutgoingMail.objects.filter(pk=mail.pk).update(sent_at=timezone.now())


def compose(mail: OutgoingMail) -> EmailMultiAlternatives:
    message = EmailMultiAlternatives(
        mail.subject,
        late.with_address(mail),
        to=[mail.to],
        headers={"Message-ID": mail.message_id, "Auto-Submitted": "auto-generated"},
    )
    if mail.html:
        message.attach_alternative(mail.html, "text/html")
    for one in mail.attachments:
        message.attach(one["name"], base64.b64decode(one["base64"]), one["content_type"])
    return message
