"""Links: a secret that is stored nowhere, one answer to everything that does not open, and openings on record."""

import logging
import re
from datetime import timedelta

import pytest
from django.conf import settings
from django.core import mail
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.jobs.work import run_job
from firm.web.secret_links import WRONG_TRIES
from inspections.photos.models import Photo
from inspections.reports.delivery import send_link
from inspections.reports.giving import mail_link, make_link, revoke_link
from inspections.reports.models import LinkOpening, ReportLink, ReportMail, hash_token
from inspections.reports.refusals import NoReportYet
from inspections.reports.services import issue_report
from tests.inspections.reports.records import add_finding, draw, handed_in_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def report(visit, manager):
    return issue_report(visit, by=manager)


@pytest.fixture
def link_and_token(report, visit, manager):
    return make_link(visit, recipient="Ines Hallam", by=manager)


@pytest.fixture
def page(link_and_token):
    return reverse("client-report", args=[link_and_token[1]])


def test_the_token_is_256_bits_and_only_its_hash_is_kept(link_and_token):
    link, token = link_and_token
    assert len(token) == 43 and link.token_hash == hash_token(token)
    everything = str(list(ReportLink.objects.values())) + str(list(AuditEntry.objects.values()))
    assert token not in everything


def test_there_is_no_link_before_there_is_a_report(visit, manager):
    with pytest.raises(NoReportYet):
        make_link(visit, recipient="Ines", by=manager)
    assert not ReportLink.objects.exists()


def test_a_link_is_open_for_as_long_as_the_firm_says(link_and_token):
    assert abs(link_and_token[0].expires_at - timezone.now() - timedelta(days=180)) < timedelta(minutes=1)


def test_the_holder_reads_the_answer_first_and_needs_no_account(client, page, report):
    text = client.get(page).content.decode()
    assert "Keep off the deck: nobody should use it" in text
    assert text.index("Keep off the deck") < text.index("What to do, in this order") < text.index("What was found")
    assert "does not replace a licensed design professional" in text
    assert text.count("<script") == 1 and "client_report" in text  # works without it: ticks and photos are pages too


def test_the_pages_of_a_link_go_to_no_other_site_engine_or_cache(client, page, link_and_token):
    photo = reverse("client-report-photo", args=[link_and_token[1], Photo.objects.get().pk, "thumb"])
    for address in (page, page + "report.pdf", photo, reverse("client-report", args=["wrong"])):
        answer = client.get(address)
        assert answer["Referrer-Policy"] == "no-referrer"
        assert "noindex" in answer["X-Robots-Tag"]
        assert answer["Cache-Control"] == "private, no-store"


def test_wrong_expired_and_revoked_get_the_very_same_page(client, report, visit, manager):
    expired, expired_token = make_link(visit, recipient="a", by=manager)
    ReportLink.objects.filter(pk=expired.pk).update(expires_at=timezone.now() - timedelta(seconds=1))
    closed, closed_token = make_link(visit, recipient="b", by=manager)
    assert revoke_link(closed, by=manager) is True
    answers = [client.get(reverse("client-report", args=[t])) for t in (expired_token, closed_token, "wrong", "x" * 43)]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    headers = [{n: v for n, v in answer.headers.items() if n not in ("X-Request-ID",)} for answer in answers]
    assert all(each == headers[0] for each in headers)


def test_a_closed_link_opens_neither_pdf_nor_photo(client, report, visit, manager):
    draw(report)
    link, token = make_link(visit, recipient="b", by=manager)
    pdf, photo = (
        reverse("client-report-pdf", args=[token]),
        reverse("client-report-photo", args=[token, Photo.objects.get().pk, "screen"]),
    )
    assert client.get(pdf).content.startswith(b"%PDF-") and client.get(photo).status_code == 200
    revoke_link(link, by=manager)
    assert client.get(pdf).status_code == client.get(photo).status_code == 404


def test_whoever_tries_too_many_addresses_has_to_wait(client, page):
    for _ in range(WRONG_TRIES):
        assert client.get(reverse("client-report", args=["wrong"])).status_code == 404
    answer = client.get(reverse("client-report", args=["wrong"]))
    assert (answer.status_code, answer["Retry-After"]) == (429, "600")
    assert client.get(reverse("client-report", args=["wrong"]), REMOTE_ADDR="203.0.113.9").status_code == 404
    assert client.get(page).status_code == 200  # nor is a client held up who sits behind the same router


def test_openings_are_on_record(client, page, report, link_and_token):
    draw(report)
    client.head(page)
    client.get(page)
    client.get(page + "report.pdf")
    assert list(LinkOpening.objects.order_by("pk").values_list("what", flat=True)) == ["page", "pdf"]


def test_no_log_line_holds_the_token(client, page, link_and_token, caplog):
    token = link_and_token[1]
    with caplog.at_level(logging.DEBUG):
        client.get(page)
        revoke_link(link_and_token[0], by=link_and_token[0].created_by)
        client.get(page)
    ours = [record for record in caplog.records if not record.name.startswith("django.db")]
    handler = logging.getLogger().handlers
    lines = [record.getMessage() for record in ours if record.name == "soundings.request"]
    assert lines and handler
    assert not any(token in line for line in lines)


def test_only_photos_of_this_very_report_are_given(client, page, link_and_token, make_person, manager):
    other = handed_in_visit(make_person("inspector", username="other"))
    issue_report(other, by=manager)
    foreign = Photo.objects.get(visit=other)
    token = link_and_token[1]
    assert client.get(reverse("client-report-photo", args=[token, foreign.pk, "thumb"])).status_code == 404
    own = Photo.objects.exclude(visit=other).get()
    answer = client.get(reverse("client-report-photo", args=[token, own.pk, "thumb"]))
    assert answer["Content-Type"] == "image/jpeg" and answer.content.startswith(b"\xff\xd8")
    assert client.get(reverse("client-report-photo", args=[token, own.pk, "original"])).status_code == 404


def test_an_old_link_shows_the_newest_version_and_says_what_changed(client, page, visit, manager):
    issue_report(visit, by=manager, what_changed="The word was too mild.", summary="Stay off, all of you.")
    text = client.get(page).content.decode()
    assert "version 2" in text and "The word was too mild." in text and "Stay off, all of you." in text


def test_markup_in_a_finding_is_shown_as_text(client, visit, manager):
    add_finding(visit, "<script>alert(1)</script>", "look_after", seen='<img src="http://h/x">')
    issue_report(visit, by=manager)
    _, token = make_link(visit, recipient="a", by=manager)
    text = client.get(reverse("client-report", args=[token])).content.decode()
    assert "<script>" not in text and '<img src="http://h' not in text and "&lt;script&gt;" in text


def test_the_page_is_light(client, page):
    assert len(client.get(page).content) < 150_000


def test_the_mail_brings_a_link_that_opens_and_names_no_finding(client, report, visit, manager):
    link = mail_link(visit, recipient="Ines Hallam", email="ines@mail.example", by=manager)
    run_job(ReportMail, ReportMail.objects.get().pk, send_link)
    (message,) = mail.outbox
    address = re.search(rf"{re.escape(settings.PUBLIC_URL)}(/r/[\w-]+/)", message.body)[1]
    assert client.get(address).status_code == 200
    assert message.from_email.startswith("Your firm <")
    html = message.alternatives[0].content
    assert address in html and "Joists span too far" not in message.body + html
    assert f"{timezone.localtime(link.expires_at):%B} {timezone.localtime(link.expires_at).day}" in message.body
    assert ReportMail.objects.get().sent_at and ReportMail.objects.get().state == "done"


def test_a_mail_that_was_sent_is_not_sent_again(report, visit, manager):
    mail_link(visit, recipient="Ines", email="ines@mail.example", by=manager)
    job = ReportMail.objects.get()
    taken = ReportMail.take(job.pk)
    send_link(taken)  # sent, but the worker was killed before it could say "done"
    ReportMail.objects.filter(pk=job.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    run_job(ReportMail, job.pk, send_link)
    assert len(mail.outbox) == 1 and ReportMail.objects.get().state == "done"


def test_a_link_that_was_closed_meanwhile_is_not_mailed(report, visit, manager):
    link = mail_link(visit, recipient="Ines", email="ines@mail.example", by=manager)
    ReportLink.objects.filter(pk=link.pk).update(revoked_at=timezone.now())
    run_job(ReportMail, ReportMail.objects.get().pk, send_link)
    assert mail.outbox == [] and ReportMail.objects.get().state == "failed"


def test_a_slow_worker_does_not_overwrite_the_token_of_the_next(report, visit, manager):
    mail_link(visit, recipient="Ines", email="ines@mail.example", by=manager)
    slow = ReportMail.take(ReportMail.objects.get().pk)
    ReportMail.objects.filter(pk=slow.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    quick = ReportMail.take(slow.pk)
    send_link(quick)
    kept = ReportLink.objects.get().token_hash
    send_link(slow)
    assert ReportLink.objects.get().token_hash == kept and len(mail.outbox) == 1


def test_a_name_with_a_line_break_writes_no_header(report, visit, manager):
    mail_link(visit, recipient="Ines\r\nBcc: all@mail.example", email="ines@mail.example", by=manager)
    run_job(ReportMail, ReportMail.objects.get().pk, send_link)
    assert "Bcc" not in mail.outbox[0].message()
