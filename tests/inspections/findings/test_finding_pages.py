"""The pages of findings: who sees them, what a form keeps when it is refused, what the catalogue fills in."""

import pytest
from django.urls import reverse

from engine.results import Check, Method, Verdict
from inspections.findings.models import Defect, Finding
from inspections.findings.services import record_finding
from inspections.photos.models import Photo
from inspections.photos.services import take_in_photo
from tests.inspections.photos.files import jpeg_bytes, upload
from tests.make import make_visit

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def page(client, inspector):
    client.force_login(inspector)
    return client


@pytest.fixture
def finding(visit, inspector):
    return record_finding(Finding(visit=visit, link="edge", title="Low rail", action="find_out"), by=inspector)


def filled(**fields):
    return {
        "link": "edge", "defect": "", "title": "Rail loose", "place": "south side", "part": "", "seen": "Moves 2 in.",
        "action": "put_right", "how_soon": "two_weeks", "who": "contractor", "meaning": "", "remedy": "", **fields,
    }  # fmt: skip


def new(visit, **query):
    return reverse("finding-new", args=[visit.pk], query=query)


def text_of(answer):
    return answer.content.decode()


def test_a_finding_is_recorded_and_one_is_back_where_one_came_from(page, visit):
    answer = page.post(new(visit, link="edge", next=f"/visits/{visit.pk}/walk/edge/"), filled())
    assert (answer.status_code, answer["Location"]) == (302, f"/visits/{visit.pk}/walk/edge/")
    finding = visit.findings.get()
    assert (finding.title, finding.place, finding.how_soon) == ("Rail loose", "south side", "two_weeks")


@pytest.mark.parametrize("where", ["https://elsewhere.example/", "2026-W99", "²"])
def test_one_is_never_sent_to_another_site_or_to_what_is_no_page(page, visit, where):
    answer = page.post(new(visit), filled(next=where))
    assert answer["Location"] == reverse("finding-list", args=[visit.pk])


@pytest.mark.parametrize("named", ["ledger and house", "ledger-and-house"])
def test_from_a_link_of_the_walk_only_its_choices_lead(page, visit, named):
    ledger = visit.parts.create(kind="ledger", key="LD1")
    guard = visit.parts.create(kind="guard", key="GD1")
    form = page.get(new(visit, link=named)).context["form"]
    assert form["link"].value() == "ledger and house"
    assert [pk for pk, _ in form.fields["part"].choices] == ["", ledger.pk]
    assert form.fields["defect"].choices[1][0] == "Ledger and house"
    assert guard in form.fields["part"].queryset  # still accepted, should the link be changed


def test_a_part_of_another_visit_is_refused(page, visit, inspector):
    elsewhere = make_visit(inspector).parts.create(kind="guard", key="GD1")
    answer = page.post(new(visit), filled(part=str(elsewhere.pk)))
    assert "part" in answer.context["form"].errors
    assert not visit.findings.exists()


@pytest.mark.parametrize("action", ["keep_off", "put_right"])
def test_a_repair_without_a_time_is_said_beside_the_field_and_the_rest_is_kept(page, visit, action):
    answer = page.post(new(visit), filled(action=action, how_soon="no_date"))
    assert answer.status_code == 200
    assert answer.context["form"].errors == {"how_soon": ["Say how soon: Keep off and Put right need a time."]}
    assert "Moves 2 in." in text_of(answer)
    assert 'id="id_how_soon_error"' in text_of(answer)
    assert not visit.findings.exists()


@pytest.mark.parametrize(
    "bad",
    [
        {"title": ""}, {"action": ""}, {"action": "fix"}, {"how_soon": "soon"}, {"link": "roof"}, {"defect": "x"},
        {"defect": "999999"}, {"part": "no-uuid"}, {"title": "x" * 500}, {"place": "\0"},
    ],
)  # fmt: skip
def test_bad_input_is_said_and_never_breaks(page, visit, bad):
    answer = page.post(new(visit), filled(**bad))
    assert answer.status_code == 200
    assert answer.context["form"].errors.keys() == bad.keys()
    assert "Moves 2 in." in text_of(answer)


def test_the_catalogue_fills_the_form_without_saving(page, visit):
    defect = Defect.objects.get(slug="guard-too-low")
    answer = page.post(new(visit), filled(defect=defect.pk, title="", action="", fill="1"))
    form = answer.context["form"]
    assert (form["title"].value(), form["meaning"].value()) == (defect.title, defect.meaning)
    assert (form["action"].value(), form["seen"].value()) == ("put_right", "Moves 2 in.")
    assert "Rule behind it: IRC R312.1.2" in text_of(answer)
    assert not visit.findings.exists()


def test_another_choice_replaces_the_catalogues_words_but_not_ones_own(page, visit):
    first, second = Defect.objects.get(slug="guard-too-low"), Defect.objects.get(slug="guard-missing")
    sent = filled(defect=second.pk, title=first.title, meaning=first.meaning.replace("\n", "\r\n"), remedy="My own.")
    form = page.post(new(visit), {**sent, "fill": "1"}).context["form"]
    assert (form["title"].value(), form["meaning"].value()) == (second.title, second.meaning)
    assert form["remedy"].value() == "My own."


def test_htmx_gets_the_form_alone(page, visit):
    defect = Defect.objects.get(slug="guard-too-low")
    answer = page.post(new(visit), filled(defect=defect.pk, fill="1", title=""), **HTMX)
    assert answer.status_code == 200
    assert "<html" not in text_of(answer)
    assert 'id="finding-words"' in text_of(answer)
    assert "HX-Request" in answer["Vary"]
    assert page.post(new(visit), filled(title=""), **HTMX).status_code == 422


def test_without_a_script_the_catalogue_fills_what_is_empty_on_saving(page, visit):
    defect = Defect.objects.get(slug="guard-too-low")
    page.post(new(visit), filled(defect=defect.pk, title="", remedy="My own."))
    finding = visit.findings.get()
    assert (finding.title, finding.meaning, finding.remedy) == (defect.title, defect.meaning, "My own.")


def test_photos_sent_with_a_finding_are_kept_and_the_bad_one_is_named(page, visit):
    files = [upload(jpeg_bytes(), "good.jpg"), upload(b"words", "note.jpg")]
    answer = page.post(new(visit), filled(photos=files), follow=True)
    assert Photo.objects.get().finding == visit.findings.get()
    assert "A photo was not taken in. note.jpg: this is not a photo." in text_of(answer)


def test_a_check_brings_its_numbers(page, visit, monkeypatch):
    check = Check(
        "guard.height", "guard GD1", "edge", "Height of the guard", Verdict.FAILS, Method.PRESCRIPTIVE, "IRC R312.1.2",
        unit="in", demand=36.0, capacity=33.0, ratio=36 / 33, reason="guard height 33 in, at least 36 in asked",
    )  # fmt: skip
    monkeypatch.setattr("inspections.findings.views.find_check", lambda visit, id, subject: check)
    answer = page.get(new(visit, check="guard.height", subject="guard GD1"))
    form = answer.context["form"]
    assert form["check_id"].value() == "guard.height"
    assert form["title"].value() == "Guard too low"
    assert "height 33 in, at least 36 in asked" in form["seen"].value()
    assert 'class="gauge"' in text_of(answer)
    assert "You decide." in text_of(answer)
    assert "rules of the local building authority govern" in text_of(answer)
    answer = page.post(new(visit, check="guard.height", subject="guard GD1"), filled(check_id="guard.height"))
    assert visit.findings.get().check_id == "guard.height"


def test_a_check_that_does_not_come_out_gives_an_empty_form(page, visit):
    answer = page.get(new(visit, check="no.such", subject="nothing"))
    assert answer.status_code == 200
    assert answer.context["check"] is None


def test_a_change_is_kept(page, finding):
    answer = page.post(reverse("finding-edit", args=[finding.visit_id, finding.pk]), filled(title="Rail 33 in high"))
    assert answer.status_code == 302
    finding.refresh_from_db()
    assert finding.title == "Rail 33 in high"


def test_taking_out(page, finding):
    here = reverse("finding-edit", args=[finding.visit_id, finding.pk])
    answer = page.post(reverse("finding-remove", args=[finding.visit_id, finding.pk]), follow=True)
    assert "is taken out of the record" in text_of(answer)
    assert page.get(here).status_code == 404


def test_another_inspectors_finding_is_not_there(client, finding, make_person):
    client.force_login(make_person("inspector", username="other"))
    for name in ("finding-edit", "finding-remove"):
        assert client.post(reverse(name, args=[finding.visit_id, finding.pk]), filled()).status_code == 404
    assert client.get(reverse("finding-list", args=[finding.visit_id])).status_code == 404
    assert client.get(new(finding.visit)).status_code == 404
    finding.refresh_from_db()
    assert (finding.title, finding.removed_at) == ("Low rail", None)


def test_a_finding_under_another_visits_address_is_not_there(page, finding, inspector):
    other = make_visit(inspector, state="under_way")
    assert page.get(reverse("finding-edit", args=[other.pk, finding.pk])).status_code == 404


def test_a_closed_record_can_be_read_and_not_written(page, finding):
    type(finding.visit).objects.update(state="handed_in")
    listed = text_of(page.get(reverse("finding-list", args=[finding.visit_id])))
    assert "Low rail" in listed
    assert "Record a finding" not in listed
    answer = page.post(reverse("finding-edit", args=[finding.visit_id, finding.pk]), filled(), follow=True)
    assert "This visit is handed in: its record is closed." in text_of(answer)
    answer = page.post(reverse("finding-remove", args=[finding.visit_id, finding.pk]), follow=True)
    assert "nothing more can be recorded" in text_of(answer)
    finding.refresh_from_db()
    assert (finding.title, finding.removed_at) == ("Low rail", None)


def test_a_manager_who_also_inspects_does_not_write_in_anothers_record(client, finding, make_person):
    client.force_login(make_person("manager", "inspector"))
    answer = client.post(new(finding.visit), filled(), follow=True)
    assert "only its own inspector writes its record" in text_of(answer)
    assert finding.visit.findings.count() == 1


def test_the_list_asks_the_database_no_more_for_many_than_for_one(
    page, visit, inspector, django_assert_max_num_queries
):
    for number in range(12):
        finding = record_finding(
            Finding(visit=visit, link="beam", title=f"Split {number}", action="find_out"), by=inspector
        )
        take_in_photo(visit, upload(jpeg_bytes(seed=number)), by=inspector, finding=finding)
    page.get(reverse("finding-list", args=[visit.pk]))  # the firm's row is made at the first page ever
    with django_assert_max_num_queries(8):
        answer = page.get(reverse("finding-list", args=[visit.pk]))
    assert text_of(answer).count("Kept. Being prepared.") == 12


def test_what_people_wrote_cannot_become_markup(page, visit):
    page.post(new(visit), filled(title="<script>alert(1)</script>", seen="<b>bold</b>"))
    listed = text_of(page.get(reverse("finding-list", args=[visit.pk])))
    assert "<script>alert" not in listed
    assert "&lt;b&gt;bold" in listed
