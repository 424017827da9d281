from datetime import timedelta

import pytest
from django.utils import timezone

from firm.mail.models import OutgoingMail


@pytest.fixture
def job(db):
    return make_job()


def make_job(**fields):
    """A row of the simplest job there is."""
    number = OutgoingMail.objects.count() + 1
    return OutgoingMail.objects.create(
        **{
            "kind": "test",
            "dedupe_key": f"test {number}",
            "to": "owner@example.test",
            "subject": "A test",
            "text": "Nothing.",
            "message_id": f"<{number}@example.test>",
            "available_at": timezone.now() - timedelta(days=1),  # so that a test may act in the past
            **fields,
        }
    )


@pytest.fixture(name="make_job")
def _make_job(db):
    return make_job
