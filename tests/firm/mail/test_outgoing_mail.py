import email
import email.policy
import logging
from smtplib import SMTPRecipientsRefused, SMTPServerDisconnected

import pytest
from django.core import mail as outbox_of
from django.core.mail import get_connection
from django.core.mail.backends.locmem import EmailBackend
from django.utils import timezone

from firm.mail.deliver import compose
from firm.mail.models import OutgoingMail
from firm.mail.services import Attachment, send_mail_later
from firm.mail.tasks import deliver_mail


def queue(**fields):
    return send_mail_later(
        **{
            "to": "owner@example.test",
            "subject": "Your visit",
            "text": "Tuesday at nine.",
            "kind": "visit_confirmed",
            "dedupe_key": "visit 1 confirmed",
            **fields,
        }
    )


def test_a_queued_mail_goes_out_with_its_parts(db):
    calendar = Attachment("visit.ics", "text/calendar", "BEGIN:VCALENDAR…".encode())
    row = queue(html="<p>Tuesday at nine.</p>", attachments=(calendar,))
    assert outbox_of.outbox == [], "only a worker sends"
    deliver_mail(row.pk)
    (sent,) = outbox_of.outbox
    assert (sent.to, sent.subject, sent.body) == (["owner@example.test"], "Your visit", "Tuesday at nine.")
    assert sent.extra_headers["Message-ID"] == row.message_id
    parts = {part.get_content_type(): part for part in email.message_from_bytes(sent.message().as_bytes()).walk()}
    assert parts["text/html"].get_payload(decode=True) == b"<p>Tuesday at nine.</p>"
    assert parts["text/calendar"].get_payload(decode=True) == calendar.content
    row.refresh_from_db()
    assert row.state == "done" and row.sent_at is not None


def test_the_same_mail_asked_for_twice_is_one_row(db):
    assert queue().pk == queue(text="Other words.").pk
    assert queue(dedupe_key="visit 1 moved").pk != queue().pk


def test_a_new_mail_rings_the_bell_and_a_known_one_does_not(db, monkeypatch, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks() as bells:
        queue()
        queue()
    assert len(bells) == 1


def test_a_mail_that_was_sent_before_the_worker_was_killed_is_not_sent_again(db):
    row = queue()
    OutgoingMail.take(row.pk)
    OutgoingMail.objects.filter(pk=row.pk).update(sent_at=timezone.now())  # ... and killed before it said "done"
    OutgoingMail.objects.filter(pk=row.pk).update(lease_until=timezone.now())
    deliver_mail(row.pk)
    row.refresh_from_db()
    assert (row.state, row.attempt, outbox_of.outbox) == ("done", 2, [])


def test_a_mail_server_that_is_away_is_tried_again_and_the_message_id_stays(db, monkeypatch):
    row, answers = queue(), [SMTPServerDisconnected("gone"), None]
    send = EmailBackend.send_messages

    def sometimes(self, messages):
        if error := answers.pop(0):
            raise error
        return send(self, messages)

    monkeypatch.setattr(EmailBackend, "send_messages", sometimes)
    logging.disable(logging.CRITICAL)
    deliver_mail(row.pk)
    logging.disable(logging.NOTSET)
    row.refresh_from_db()
    assert (row.state, row.sent_at) == ("waiting", None) and "gone" in row.error
    OutgoingMail.objects.update(available_at=timezone.now())
    deliver_mail(row.pk)
    (sent,) = outbox_of.outbox
    assert sent.extra_headers["Message-ID"] == row.message_id


@pytest.mark.parametrize(("code", "state"), [(550, "failed"), (450, "waiting")])
def test_an_address_that_is_refused_for_good_is_given_up_and_one_that_is_busy_is_not(db, monkeypatch, code, state):
    row = queue()

    def refuse(self, messages):
        raise SMTPRecipientsRefused({row.to: (code, b"no")})

    monkeypatch.setattr(EmailBackend, "send_messages", refuse)
    logging.disable(logging.CRITICAL)
    deliver_mail(row.pk)
    logging.disable(logging.NOTSET)
    row.refresh_from_db()
    assert row.state == state


def test_without_a_mail_server_each_mail_is_one_file_however_often_it_is_sent(db, settings, tmp_path):
    settings.EMAIL_FILE_PATH = tmp_path
    row = queue()
    for _ in range(2):
        get_connection("firm.mail.folder.FolderBackend").send_messages([compose(row)])
    (file,) = tmp_path.iterdir()
    read = email.message_from_bytes(file.read_bytes(), policy=email.policy.default)
    assert (file.suffix, read["To"], read["Message-ID"]) == (".eml", "owner@example.test", row.message_id)


@pytest.mark.parametrize("fields", [{"to": "nobody"}, {"to": ""}, {"subject": "Hello\nBcc: all@example.test"}])
def test_what_is_no_address_and_what_smuggles_a_header_is_refused(db, fields):
    with pytest.raises(ValueError):
        queue(**fields)
    assert not OutgoingMail.objects.exists()
