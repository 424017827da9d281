"""Comments of the release desk: written at the thing, read on the walk, answered, done, and never in a report."""

import json

import pytest
from django.template import Context, Template
from django.urls import reverse

from firm.audit.models import AuditEntry
from inspections.comments import services
from inspections.comments.models import Comment
from inspections.reports.services import issue_report
from inspections.reports.snapshot import freeze
from inspections.visits.models import Visit
from inspections.visits.refusals import WrongState
from inspections.visits.stages import send_back
from tests.inspections.reports.records import handed_in_visit
from tests.make import make_inspector

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _media_of_its_own(settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    for room in ("reports.services", "reports.giving", "photos.services"):
        monkeypatch.setattr(f"inspections.{room}.ring", lambda job: None)


@pytest.fixture
def visit(inspector):
    return handed_in_visit(inspector)


@pytest.fixture
def joists(visit):
    return visit.parts.get(kind="joist_field")


def page(browser, name, *args, **query):
    answer = browser.get(reverse(name, args=args), query)
    assert answer.status_code == 200
    return answer.content.decode()


def write(browser, visit, about, text, *, at=None, **headers):
    """Open the form at a place, and send it."""
    address = reverse("comment-new", args=[visit.pk])
    place = at or about.split(".")[0]
    form = browser.get(address, {"at": place}).context["form"]
    sent = {"at": place, "about": about, "text": text, "id": str(form.initial["id"])}
    return browser.post(address, sent, **headers)


def test_each_kind_of_thing_is_commented_on_and_its_inspector_finds_it_there(visit, joists, manager, signed_in):
    finding = visit.findings.get(title="Joists span too far")
    photo = finding.photos.get()
    browser = signed_in(manager)
    for about, text in (
        ("record", "Whose stairs are these?"),
        (f"finding-{finding.pk}", "Which bay is meant?"),
        (f"part-{joists.pk}", "Are there two fields?"),
        (f"part-{joists.pk}.spacing_in", "Sixteen or twelve?"),
    ):
        assert write(browser, visit, about, text).status_code == 302
    write(browser, visit, f"photo-{photo.pk}", "Too dark, take it again", at=f"finding-{finding.pk}")
    send_back(visit, because="See the comments.", by=manager)

    browser = signed_in(visit.inspector)
    on_the_link = page(browser, "walk-link", visit.pk, "joists")
    sheet = on_the_link[on_the_link.index(f'id="part-{joists.key}"') :]
    assert "Are there two fields?" in sheet
    assert "Sixteen or twelve?" in sheet and f"Field of joists {joists.key}, spacing" in sheet
    at_finding = sheet[sheet.index(f'id="finding-{finding.pk}"') :]
    assert "Which bay is meant?" in at_finding and "Too dark, take it again" in at_finding
    assert "Are there two fields?" not in at_finding
    walk = page(browser, "walk", visit.pk)
    assert walk.count("Whose stairs are these?") == 2  # in full to be answered, and in the list of what is open
    assert f"#fact-{joists.key}-spacing_in" in walk
    today = page(browser, "home")
    for text in ("Whose stairs", "Which bay", "two fields", "Sixteen or twelve", "Too dark"):
        assert text in today


def test_a_form_that_is_sent_twice_makes_one_comment(visit, manager, signed_in):
    browser = signed_in(manager)
    form = browser.get(reverse("comment-new", args=[visit.pk])).context["form"]
    sent = {"at": "", "about": "record", "text": "Once", "id": str(form.initial["id"])}
    for _ in range(2):
        browser.post(reverse("comment-new", args=[visit.pk]), sent)
    assert Comment.objects.count() == 1


def test_a_comment_without_words_or_on_a_thing_of_another_record_is_refused(visit, manager, signed_in):
    other = handed_in_visit(make_inspector(), photo=False)
    browser = signed_in(manager)
    assert write(browser, visit, "record", "  ").status_code == 422
    foreign = f"part-{other.parts.first().pk}"
    assert browser.get(reverse("comment-new", args=[visit.pk]), {"at": foreign}).status_code == 404
    for broken in ("part-1", "finding-", "nothing-x", "visit-3"):
        assert browser.get(reverse("comment-new", args=[visit.pk]), {"at": broken}).status_code == 404
    assert not Comment.objects.exists()


def test_an_answer_and_done_reach_the_desk_which_may_open_it_again(visit, manager, signed_in):
    comment = services.comment_on(visit, {}, "Is the beam spliced?", by=manager)
    send_back(visit, because="See the comment.", by=manager)
    address = reverse("comment-answer", args=[comment.pk])
    signed_in(visit.inspector).post(address, {"becomes": "answered", "text": "I go and look."})
    comment.refresh_from_db()
    assert comment.is_open
    signed_in(visit.inspector).post(address, {"becomes": "done", "text": "No splice."})
    comment.refresh_from_db()
    assert not comment.is_open and comment.done_by == visit.inspector
    desk = page(signed_in(manager), "review-detail", visit.pk)
    assert "I go and look." in desk and "No splice." in desk and "1 marked done" in desk
    signed_in(manager).post(address, {"becomes": "open", "text": "Look from below."})
    comment.refresh_from_db()
    assert comment.is_open and comment.answers.count() == 3


def test_every_step_stands_in_the_history_of_the_visit(visit, manager, signed_in):
    comment = services.comment_on(visit, {}, "Is the beam spliced?", by=manager)
    services.answer(comment, "I go and look.", by=visit.inspector)
    services.mark_done(comment, "No splice.", by=visit.inspector)
    services.mark_done(comment, by=visit.inspector)  # a second press
    services.open_again(comment, by=manager)
    verbs = [line.verb for line in AuditEntry.objects.about(visit).order_by("pk")]
    assert verbs[-5:] == [
        "commented on",
        "answered a comment on",
        "answered a comment on",
        "marked a comment done on",
        "opened a comment again on",
    ]


def test_open_comments_stand_beside_the_release_and_in_the_queue(visit, manager, signed_in):
    comment = services.comment_on(visit, {}, "Is the beam spliced?", by=manager)
    browser = signed_in(manager)
    release = page(browser, "review-detail", visit.pk).split('id="decide"')[1]
    assert "1 comment not marked done yet" in release
    assert "Please see the comment in the record." in release  # offered as the words to send it back with
    assert "1 open comment" in page(browser, "review-list")
    services.mark_done(comment, by=manager)
    assert "not marked done yet" not in page(browser, "review-detail", visit.pk)
    assert "open comment" not in page(browser, "review-list")


def test_nothing_of_a_comment_goes_into_the_report(visit, joists, manager):
    before = freeze(visit)
    services.comment_on(visit, {"part": joists, "fact": "spacing_in"}, "Xylophone", by=manager)
    comment = services.comment_on(visit, {"finding": visit.findings.first()}, "Xylophone", by=manager)
    services.answer(comment, "Xylophone", by=visit.inspector)
    assert freeze(visit) == before
    assert "Xylophone" not in json.dumps(issue_report(visit, by=manager).snapshot)


def test_once_released_nothing_more_is_said(visit, manager, signed_in):
    comment = services.comment_on(visit, {}, "Is the beam spliced?", by=manager)
    issue_report(visit, by=manager)
    visit.refresh_from_db()
    for step in (services.answer, services.mark_done, services.open_again):
        with pytest.raises(WrongState):
            step(comment, "Late", by=manager)
    assert write(signed_in(manager), visit, "record", "Late").status_code == 422
    desk = page(signed_in(manager), "review-detail", visit.pk)
    assert "Is the beam spliced?" in desk and "Answer or mark" not in desk


def test_only_the_desk_and_the_inspector_of_the_visit_read_and_answer(visit, manager, office, signed_in):
    comment = services.comment_on(visit, {}, "Is the beam spliced?", by=manager)
    assert "Is the beam spliced?" not in page(signed_in(office), "walk", visit.pk)
    other = make_inspector()
    answer = signed_in(other).post(reverse("comment-answer", args=[comment.pk]), {"becomes": "done"})
    assert answer.status_code in (403, 404)
    comment.refresh_from_db()
    assert comment.is_open
    assert signed_in(visit.inspector).get(reverse("comment-new", args=[visit.pk])).status_code == 403


def test_a_comment_on_what_was_taken_out_stands_at_the_record(visit, manager, signed_in):
    finding = visit.findings.get(title="Joists span too far")
    services.comment_on(visit, {"finding": finding}, "Which bay is meant?", by=manager)
    send_back(visit, because="See the comment.", by=manager)
    visit.findings.filter(pk=finding.pk).update(removed_at=visit.handed_in_at)
    walk = page(signed_in(visit.inspector), "walk", visit.pk)
    assert walk.count("Which bay is meant?") == 2 and "taken out since" in walk


def test_the_desk_swaps_the_comments_of_one_place(visit, joists, manager, signed_in):
    answer = write(signed_in(manager), visit, f"part-{joists.pk}", "Two fields?", headers={"HX-Request": "true"})
    text = answer.content.decode()
    assert answer.status_code == 200 and "<html" not in text
    assert "Two fields?" in text and f"?at=part-{joists.pk}" in text


def test_a_record_that_was_never_handed_in_costs_the_walk_no_question(inspector, rf, django_assert_num_queries):
    request = rf.get("/")
    request.user = inspector
    visit = Visit(inspector=inspector, state="under_way")
    tag = Template("{% load desk_comments %}{% comments_on visit 'record' %}{% open_comments visit %}")
    with django_assert_num_queries(0):
        assert not tag.render(Context({"visit": visit, "request": request})).strip()
