"""The mail server that is not there: each mail becomes a file that any mail program opens."""

import re
from collections.abc import Sequence
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend


class FolderBackend(BaseEmailBackend):
    """Writes `<Message-ID>.eml` into `settings.EMAIL_FILE_PATH`. Sending the same mail again replaces the file."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        folder = Path(settings.EMAIL_FILE_PATH)
        folder.mkdir(parents=True, exist_ok=True)
        for email in email_messages:
            message = email.message()
            name = re.sub(r"[^A-Za-z0-9@.-]", "", message["Message-ID"])
            aside = folder / f".{name}.part"
            aside.write_bytes(message.as_bytes())
            aside.replace(folder / f"{name}.eml")
        return len(email_messages)
