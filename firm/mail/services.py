import base64
from dataclasses import dataclass
from uuid import uuid4

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from firm.jobs.bell import ring
from firm.mail.models import OutgoingMail


@dataclass(frozen=True)
class Attachment:
    name: str
    content_type: str
    content: bytes


@transaction.atomic
def send_mail_later(
    *,
    to: str,
    subject: str,
    text: str,
    kind: str,
    dedupe_key: str,
    html: str = "",
    attachments: tuple[Attachment, ...] = (),
    address_of: str = "",
) -> OutgoingMail:
    """Queue one mail in the caller's transaction. The same `dedupe_key` again gives back the row that is there.

    Raises ValueError if the address is none, or the subject holds a line break (it would write headers of its own).
    """
    try:
        validate_email(to)
    except ValidationError as error:
        raise ValueError(f"{to!r} is not a mail address") from error
    if "\n" in subject or "\r" in subject:
        raise ValueError("a subject is one line")
    mail, is_new = OutgoingMail.objects.get_or_create(
        dedupe_key=dedupe_key,
        defaults={
            "to": to,
            "subject": subject[:200],
            "text": text,
            "html": html,
            "kind": kind,
            "address_of": address_of,
            "message_id": f"<{uuid4().hex}@{settings.PUBLIC_HOST}>",
            "attachments": [
                {
                    "name": one.name,
                    "content_type": one.content_type,
                    "base64": base64.b64encode(one.content).decode("ascii"),
                }
                for one in attachments
            ],
        },
    )
    if is_new:
        ring(mail)
    return mail
