import pytest
from django.urls import reverse

from firm.audit.models import AuditEntry
from firm.letters.filling import fill, fill_line
from firm.letters.kinds import KINDS, PLACEHOLDERS
from firm.letters.models import LetterText, Reminders
from firm.letters.services import preview, words_of, write

pytestmark = pytest.mark.django_db
BODY = "Dear {client}, we come on {day} at {clock}."


@pytest.fixture
def send(signed_in, administrator):
    def post(key="confirmed", **fields):
        data = {"subject": "Visit on {day}", "body": BODY, **fields}
        return signed_in(administrator).post(reverse("letter-edit", args=[key]), data)

    return post


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.key)
def test_the_first_words_of_every_mail_use_only_what_they_may_and_all_they_must(kind):
    from firm.letters.filling import faults, missing

    assert faults(kind.subject, kind) + faults(kind.body, kind) + missing(kind.body, kind) == []
    assert set(kind.placeholders) <= PLACEHOLDERS.keys()
    shown = preview(words_of(kind.key))
    assert "{" not in shown.subject + shown.body


def test_own_words_take_the_place_of_the_first_with_an_audit_line(send, administrator):
    assert send().status_code == 302
    assert words_of("confirmed").body == BODY
    line = AuditEntry.objects.about(LetterText.objects.get()).get()
    assert (line.by, line.after["subject"]) == (administrator, "Visit on {day}")
    assert line.before["body"] == KINDS["confirmed"].body


def test_an_unknown_placeholder_is_refused_by_name_with_the_known_ones(send):
    answer = send(body=BODY + " {price}")
    assert answer.status_code == 422
    text = str(answer.context["form"].errors["body"])
    assert "{price} is not known here" in text
    assert "{client}, {day}" in text
    assert not LetterText.objects.exists()


@pytest.mark.parametrize("body", [BODY + " {", BODY + " }", BODY + " {{client}}", BODY + " {client", BODY + "{\n}"])
def test_a_brace_that_stands_alone_is_refused(body, send):
    assert "brace stands alone" in str(send(body=body).context["form"].errors["body"])


@pytest.mark.parametrize("text", ["{client.name}", "{client!r}", "{0}", "{client:>9}", "{}", "{__class__}", "{ day }"])
def test_what_a_format_string_could_reach_is_no_placeholder(text, send):
    assert f"{text} is not known here" in send(body=BODY + text).context["form"].errors["body"][0]


def test_a_mail_that_would_not_say_when_is_refused(send):
    errors = send(body="Dear {client}, we come.").context["form"].errors["body"]
    assert len(errors) == 2
    assert "{clock} is missing: without it the mail does not say when it begins." in errors


def test_what_is_put_in_is_not_read_again():
    assert fill("{client}", {"client": "{day}", "day": "Monday"}) == "{day}"
    assert fill("{% now %}{{x}}", {"client": "x"}) == "{% now %}{{x}}"


def test_a_subject_stays_one_line_whatever_is_put_in():
    assert fill_line("For {client}", {"client": "Ines\r\nBcc: all@example.org"}) == "For Ines Bcc: all@example.org"


def test_a_look_stores_nothing_and_shows_the_mail_as_it_would_be(send):
    answer = send(look="1")
    assert "Dear Ines Hallam, we come on Tuesday, March 9, 2027 at 10:00 AM." in answer.content.decode()
    assert not LetterText.objects.exists()


def test_tags_in_a_text_are_shown_as_text(send):
    assert "<script>alert" not in send(look="1", body=BODY + "<script>alert(1)</script>").content.decode()


def test_going_back_brings_the_first_words(send, signed_in, administrator):
    send()
    assert signed_in(administrator).post(reverse("letter-first-words", args=["confirmed"])).status_code == 302
    assert words_of("confirmed").body == KINDS["confirmed"].body


def test_a_mail_that_does_not_exist_has_no_page(send):
    assert send("invoice").status_code == 404


def test_the_hours_of_the_reminder_are_stored_with_an_audit_line(signed_in, administrator):
    page = signed_in(administrator)
    assert page.post(reverse("letters"), {"hours_before": "48"}).status_code == 302
    assert Reminders.current().hours_before == 48
    assert AuditEntry.objects.about(Reminders.current()).get().before == {"hours_before": 24}
    assert page.post(reverse("letters"), {"hours_before": "9999"}).status_code == 422


def test_a_firm_without_telephone_and_mail_asks_to_answer_the_mail():
    from firm.branding.models import Firm

    assert "tell us: answer this mail." in write("moved", {}, Firm(name="Harrow")).body
