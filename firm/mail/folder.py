"""The mail server that is not there: each mail becomes a file that any mail program opens."""

import re
from collections.abc import Sequence
from email import message_from_binary_file
from email.utils import getaddresses
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


def take_away(addresses: set[str]) -> int:
    """Remove the mails that went to any of the addresses; how many. A mail server's copies are not ours to remove."""
    wanted, gone = {address.casefold() for address in addresses}, 0
    for path in Path(settings.EMAIL_FILE_PATH).glob("*.eml"):
        with path.open("rb") as file:
            to = getaddresses(message_from_binary_file(file).get_all("To", []))
        if any(address.casefold() in wanted for _, address in to):
            path.unlink(missing_ok=True)
            gone += 1
    return gone
