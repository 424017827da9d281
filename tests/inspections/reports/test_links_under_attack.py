"""Guessing, replaying and passing on links: what opens nothing says nothing, and a code cannot be tried for long."""

import gzip
from datetime import timedelta
from statistics import median
from time import perf_counter

import pytest
from django.contrib.auth.hashers import check_password
from django.core import mail
from django.core.cache import cache
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.jobs.work import run_job
from inspections.findings.models import Finding
from inspections.photos.models import Photo
from inspections.reports.codes import TRIES
from inspections.reports.delivery import send_link
from inspections.reports.giving import Wish, give, make_link, note_came_back, revoke_link, send_again
from inspections.reports.models import ActionTick, LinkOpening, ReportLink, ReportMail
from inspections.reports.refusals import WrongState
from inspections.reports.services import issue_report
from inspections.visits.models import Visit
from tests.inspections.reports.records import add_photo

pytestmark = pytest.mark.django_db


@pytest.fixture
def report(visit, manager):
    return issue_report(visit, by=manager)


@pytest.fixture
def coded(report, visit, manager):
    return give(visit, Wish("Ines Hallam", with_code=True), by=manager)


def address(token):
    return reverse("client-report", args=[token])


def what_is_said(answer):
    """Status, body and headers, without what differs for every request."""
    return answer.status_code, answer.content, {n: v for n, v in answer.headers.items() if n != "X-Request-ID"}


def test_wrong_expired_closed_and_coded_links_and_wrong_codes_are_told_apart_by_nothing(client, coded, visit, manager):
    expired, expired_token = make_link(visit, recipient="a", by=manager)
    ReportLink.objects.filter(pk=expired.pk).update(expires_at=timezone.now())
    closed, closed_token = make_link(visit, recipient="b", by=manager)
    revoke_link(closed, by=manager)
    tokens = (coded.token, expired_token, closed_token, "wrong")
    said = [what_is_said(client.get(address(token))) for token in tokens]
    said += [what_is_said(client.post(address(token), {"code": "000 000"})) for token in tokens]
    assert said[0][0] == 404 and all(each == said[0] for each in said)


@pytest.mark.parametrize("odd", ["a%2Fb/", "%2F/", "..%2F..%2Fetc/", "a/b/c/d/", "wrong/photos/1/", "%00/", "%0A/"])
def test_an_address_that_no_link_can_have_gets_the_answer_that_every_wrong_one_gets(client, odd):
    for method in ("get", "post"):
        plain = what_is_said(getattr(client, method)(address("wrong")))
        assert what_is_said(getattr(client, method)(f"/r/{odd}")) == plain and plain[0] == 404


def test_addresses_that_no_link_can_have_count_as_wrong_ones(client):
    for _ in range(30):
        client.get("/r/a%2Fb/")
    assert client.get("/r/a%2Fb/").status_code == 429


@pytest.mark.parametrize("method", ["get", "head", "options", "post", "put", "patch", "delete"])
def test_no_address_below_a_link_and_no_method_tells_a_wrong_one_from_one_that_was(
    client, coded, visit, manager, method
):
    expired, expired_token = make_link(visit, recipient="a", by=manager)
    ReportLink.objects.filter(pk=expired.pk).update(expires_at=timezone.now())
    closed, closed_token = make_link(visit, recipient="b", by=manager)
    revoke_link(closed, by=manager)
    finding, photo = Finding.objects.first().pk, Photo.objects.first().pk
    below = [
        "", "report.pdf", "version/1/", "version/1/report.pdf", f"version/{10**30}/", "language/", "logo/",
        f"done/{finding}/", f"photos/{photo}/", f"photos/{photo}/thumb/", f"photos/{photo}/original/",
    ]  # fmt: skip
    for path in below:
        said = []
        for token in (coded.token, expired_token, closed_token, "wrong", "w" * 3000):
            cache.clear()  # the limit on wrong addresses is another test's
            sent = {"data": {"done": "yes", "language": "es", "code": "1"}} if method == "post" else {}
            said.append(what_is_said(getattr(client, method)(address(token) + path, **sent, HTTP_RANGE="bytes=0-9")))
        status, _, headers = said[0]
        assert status in (404, 405) and all(each == said[0] for each in said), path
        assert headers["Cache-Control"] == "private, no-store" and headers["Referrer-Policy"] == "no-referrer", path
        assert "noindex" in headers["X-Robots-Tag"], path
    assert not ActionTick.objects.exists() and not LinkOpening.objects.exclude(what="code").exists()


def test_the_longest_page_is_light_on_the_line(client, report, visit, manager):
    _, token = make_link(visit, recipient="an engineer", by=manager, kind="engineer")
    whole = client.get(address(token))
    sent = client.get(address(token), headers={"Accept-Encoding": "gzip"})
    assert sent["Content-Encoding"] == "gzip" and gzip.decompress(sent.content)[:200] == whole.content[:200]
    assert len(whole.content) > 60_000 and len(sent.content) < 60_000
    assert sent["Cache-Control"] == "private, no-store" and sent["Referrer-Policy"] == "no-referrer"


def test_a_part_of_a_file_is_given_to_nobody_who_may_not_have_the_whole(client, report, visit, manager):
    _, token = make_link(visit, recipient="a", by=manager)
    photo = Photo.objects.first()
    for path in ("", f"photos/{photo.pk}/thumb/"):
        whole = client.get(address(token) + path)
        part = client.get(address(token) + path, HTTP_RANGE="bytes=0-9", HTTP_IF_NONE_MATCH="*")
        assert part.status_code == 200 and "ETag" not in part.headers and "Last-Modified" not in part.headers
        assert len(part.content) >= len(whole.content) - 100 and part["Cache-Control"] == "private, no-store"


def test_a_wrong_code_takes_as_long_where_there_is_no_link(client, coded):
    def seconds(token):
        start = perf_counter()
        client.post(address(token), {"code": "nothing"})
        return perf_counter() - start

    taken = [(seconds(coded.token), seconds("wrong")) for _ in range(TRIES)]
    ratio = median(one for one, _ in taken) / median(other for _, other in taken)
    assert 1 / 3 < ratio < 3  # without the same hashing it is more than ten


def test_the_right_code_opens_the_report_in_this_browser_and_in_no_other(client, coded):
    opened = client.post(address(coded.token), {"code": coded.code})
    assert opened["Location"] == address(coded.token)
    cookie = opened.cookies["report-code"]
    assert cookie["httponly"] and cookie["samesite"] == "Lax" and cookie["path"] == address(coded.token)
    assert client.get(address(coded.token)).status_code == 200
    client.cookies.clear()
    assert client.get(address(coded.token)).status_code == 404


def test_the_cookie_of_one_link_opens_no_other(client, coded, visit, manager):
    other = give(visit, Wish("Somebody", with_code=True), by=manager)
    client.post(address(coded.token), {"code": coded.code})
    client.cookies["report-code"]["path"] = "/"
    assert client.get(address(other.token)).status_code == 404


def test_the_code_is_kept_as_a_hash_and_is_never_mailed(coded, visit, manager):
    mailed = give(visit, Wish("Ines", "ines@mail.example", with_code=True), by=manager)
    run_job(ReportMail, ReportMail.objects.get().pk, send_link)
    everything = str(list(ReportLink.objects.values())) + str(list(AuditEntry.objects.values()))
    assert len(coded.code) == 6 and coded.code not in everything.replace(str(coded.link.pk), "")
    assert check_password(coded.code, coded.link.code_hash)
    (message,) = mail.outbox
    assert mailed.code not in message.body + message.alternatives[0].content
    assert "asks for a code" in message.body and "asks for a code" in message.alternatives[0].content


def test_after_five_wrong_codes_even_the_right_one_waits(client, coded):
    for _ in range(TRIES):
        assert client.post(address(coded.token), {"code": "no"}).status_code == 404
    assert client.post(address(coded.token), {"code": coded.code}).status_code == 404
    assert LinkOpening.objects.filter(what="code").count() == TRIES
    ReportLink.objects.update(code_shut_until=timezone.now() - timedelta(seconds=1))
    assert client.post(address(coded.token), {"code": coded.code}).status_code == 302


def test_a_code_that_was_right_counts_nothing_against_the_next_time(client, coded):
    for _ in range(3):
        for _ in range(TRIES - 1):
            client.post(address(coded.token), {"code": "no"}, REMOTE_ADDR="203.0.113.8")
        assert client.post(address(coded.token), {"code": coded.code}).status_code == 302


def test_an_invented_forwarding_header_does_not_get_round_the_limit(client, report, settings):
    settings.BEHIND_PROXY = False
    for number in range(40):
        answer = client.get(address("wrong"), headers={"X-Forwarded-For": f"203.0.113.{number}"})
    assert answer.status_code == 429


def test_behind_our_proxy_one_place_does_not_hold_up_another(client, report, settings):
    settings.BEHIND_PROXY = True
    for _ in range(40):
        client.get(address("wrong"), headers={"X-Forwarded-For": "203.0.113.1"})
    assert client.get(address("wrong"), headers={"X-Forwarded-For": "203.0.113.1"}).status_code == 429
    assert client.get(address("wrong"), headers={"X-Forwarded-For": "203.0.113.2"}).status_code == 404


def test_a_mail_sent_again_brings_a_new_address_and_the_old_one_is_void(client, report, visit, manager):
    link = give(visit, Wish("Ines", "ines@mail.example"), by=manager).link
    run_job(ReportMail, ReportMail.objects.get().pk, send_link)
    send_again(link, by=manager)
    with pytest.raises(WrongState):
        send_again(link, by=manager)  # it is on its way
    run_job(ReportMail, ReportMail.objects.latest("pk").pk, send_link)
    first, second = (message.body.split("/r/")[1].split("/")[0] for message in mail.outbox)
    assert client.get(address(first)).status_code == 404
    assert client.get(address(second)).status_code == 200


def test_a_mail_that_came_back_is_noted_once(report, visit, manager):
    give(visit, Wish("Ines", "ines@mail.example"), by=manager)
    row = ReportMail.objects.get()
    assert note_came_back(row, by=manager) is False  # it has not gone out yet
    run_job(ReportMail, row.pk, send_link)
    assert note_came_back(row, by=manager) is True and note_came_back(row, by=manager) is False
    row.refresh_from_db()
    assert row.has_failed


def test_a_contractor_gets_the_schedule_and_nothing_else(client, report, visit, manager):
    _, token = make_link(visit, recipient="Bay carpentry", by=manager, kind="schedule")
    text = client.get(address(token)).content.decode()
    assert "Repair schedule" in text and "Joists span too far" in text and "Add a beam at mid-span." in text
    for private in ("Ines Hallam", "Stay off it for now.", "How the deck stands", "What could not be judged"):
        assert private not in text
    assert client.get(address(token) + "report.pdf").status_code == 404  # its own cut is not drawn yet
    assert report.extracts.get().kind == "schedule"


def test_a_contractor_sees_no_photo_but_those_of_the_repairs(client, visit, manager, inspector):
    Visit.objects.filter(pk=visit.pk).update(state="sent_back")
    loose = add_photo(visit, inspector, seed=7, caption="The living room")
    Visit.objects.filter(pk=visit.pk).update(state="handed_in")
    issue_report(visit, by=manager)
    _, token = make_link(visit, recipient="Bay carpentry", by=manager, kind="schedule")
    shown = Photo.objects.exclude(pk=loose.pk).get()
    assert client.get(reverse("client-report-photo", args=[token, shown.pk, "thumb"])).status_code == 200
    assert client.get(reverse("client-report-photo", args=[token, loose.pk, "thumb"])).status_code == 404
    assert client.get(reverse("client-report-picture", args=[token, loose.pk])).status_code == 404


def test_only_the_engineers_link_shows_every_calculation(client, report, visit, manager):
    _, full = make_link(visit, recipient="a", by=manager)
    _, engineer = make_link(visit, recipient="b", by=manager, kind="engineer")
    assert "Every check, the worst first" in client.get(address(engineer)).content.decode()
    assert "Every check, the worst first" not in client.get(address(full)).content.decode()


def test_ticks_belong_to_one_link_and_each_is_set_by_itself(client, report, visit, manager):
    one, two = (make_link(visit, recipient=name, by=manager) for name in ("a", "b"))
    first, second = (each["id"] for each in report.snapshot["findings"])
    tick = reverse("client-report-done", args=[one[1], first])
    for _ in range(2):  # two phones say the same: nothing turns round
        assert client.post(tick, {"done": "yes"}).status_code == 302
    client.post(reverse("client-report-done", args=[one[1], second]), {"done": "yes"})
    client.post(tick, {"done": "no"})
    done = {str(tick.finding): tick.is_done for tick in ActionTick.objects.filter(link=one[0])}
    assert done == {first: False, second: True}
    assert not two[0].ticks.exists()
    assert 'class="is-done"' in client.get(address(one[1])).content.decode()
    assert 'class="is-done"' not in client.get(address(two[1])).content.decode()


@pytest.mark.parametrize("typed", [{"done": "perhaps"}, {}])
def test_a_tick_that_says_neither_yes_nor_no_is_not_taken(client, report, visit, manager, typed):
    _, token = make_link(visit, recipient="a", by=manager)
    finding = report.snapshot["findings"][0]["id"]
    assert client.post(reverse("client-report-done", args=[token, finding]), typed).status_code == 404
    assert not ActionTick.objects.exists()


def test_a_page_elsewhere_may_not_post_without_the_address(client, report):
    stranger = reverse("client-report-done", args=["wrong", report.snapshot["findings"][0]["id"]])
    assert client.post(stranger, {"done": "yes"}).status_code == 404
    assert not ActionTick.objects.exists()


def test_the_page_names_no_other_host_that_could_learn_the_address(client, report, visit, manager):
    _, token = make_link(visit, recipient="a", by=manager)
    text = client.get(address(token)).content.decode()
    assert 'src="http' not in text and 'href="http' not in text and "@import" not in text
    assert 'name="referrer" content="no-referrer"' in text and "noindex" in text
