"""The addresses of photos: who may see which file, with which headers, and what becomes of several at once."""

from uuid import uuid4

import pytest
from django.urls import reverse

from firm.branding.models import Firm
from inspections.findings.models import Finding
from inspections.findings.services import record_finding
from inspections.photos.location import without_location
from inspections.photos.models import Photo, RenditionJob
from inspections.photos.services import take_in_photo
from inspections.photos.tasks import make_photo_renditions
from tests.inspections.photos.files import exif_with_position, jpeg_bytes, picture, saved, upload
from tests.make import make_visit

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def page(client, inspector):
    client.force_login(inspector)
    return client


@pytest.fixture
def photo(visit, inspector):
    photo = take_in_photo(visit, upload(jpeg_bytes(1000, 750), "../x.jpg"), by=inspector, caption="the beam")
    make_photo_renditions(photo.rendition_job.pk)
    photo.refresh_from_db()
    return photo


def file_of(photo, rendition="thumb"):
    return reverse("photo-file", args=[photo.pk, rendition])


def add(visit):
    return reverse("photo-add", args=[visit.pk])


def body(answer):
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


# --- files ---


@pytest.mark.parametrize("rendition", ["thumb", "screen", "original"])
def test_a_file_is_sent_with_safe_headers(page, photo, rendition):
    answer = page.get(file_of(photo, rendition))
    assert answer.status_code == 200
    assert body(answer) == getattr(photo, rendition).read()
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"] == f'inline; filename="photo-{photo.pk}-{rendition}.jpg"'
    assert set(answer["Cache-Control"].split(", ")) == {"private", "max-age=86400"}


def test_the_file_as_it_came_says_where_it_was_taken_only_where_the_firm_keeps_that(page, visit, inspector):
    came = saved(picture(), "JPEG", exif=exif_with_position())
    photo = take_in_photo(visit, upload(came), by=inspector)
    assert photo.original.read() == came
    plain = page.get(file_of(photo, "original"))
    assert body(plain) == without_location(came) != came
    firm = Firm.current()
    firm.keeps_photo_location = True
    firm.save()
    answer = page.get(file_of(photo, "original"), HTTP_IF_NONE_MATCH=plain["ETag"])
    assert body(answer) == came


def test_a_browser_that_has_it_is_not_sent_it_again(page, photo):
    etag = page.get(file_of(photo))["ETag"]
    answer = page.get(file_of(photo), HTTP_IF_NONE_MATCH=etag)
    assert (answer.status_code, answer.content, answer["ETag"]) == (304, b"", etag)
    assert page.get(file_of(photo, "screen"))["ETag"] != etag


def test_the_kind_sent_is_the_kind_found_in_the_file(page, visit, inspector):
    photo = take_in_photo(visit, upload(saved(picture(), "PNG"), "page.html", "text/html"), by=inspector)
    answer = page.get(file_of(photo, "original"))
    assert answer["Content-Type"] == "image/png"


@pytest.mark.parametrize("rendition", ["printable", "sha256", "caption", "delete", "__class__"])
def test_nothing_else_of_a_photo_can_be_fetched(page, photo, rendition):
    assert page.get(f"/photos/{photo.pk}/{rendition}/").status_code == 404


def test_a_rendition_not_made_yet_and_a_photo_that_never_was_are_not_there(page, visit, inspector):
    photo = take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    assert page.get(file_of(photo)).status_code == 404
    assert page.get(reverse("photo-file", args=[uuid4(), "thumb"])).status_code == 404


def test_a_file_that_is_lost_is_a_404_and_no_500(page, photo):
    photo.thumb.storage.delete(photo.thumb.name)
    assert page.get(file_of(photo)).status_code == 404


def test_another_inspectors_photo_is_not_there_by_any_address(client, photo, make_person):
    client.force_login(make_person("inspector", username="other"))
    for rendition in ("thumb", "screen", "original"):
        assert client.get(file_of(photo, rendition)).status_code == 404
    assert client.get(file_of(photo), HTTP_IF_NONE_MATCH="*").status_code == 404
    for name in ("photo-edit", "photo-tile"):
        assert client.get(reverse(name, args=[photo.pk])).status_code == 404
    for name in ("photo-edit", "photo-remove", "photo-again"):
        assert client.post(reverse(name, args=[photo.pk]), {"caption": "mine"}).status_code == 404
    assert client.post(add(photo.visit), {"photos": upload(jpeg_bytes(seed=2))}).status_code == 404
    photo.refresh_from_db()
    assert (photo.caption, photo.removed_at) == ("the beam", None)


@pytest.mark.parametrize("role", ["office", "manager"])
def test_office_and_manager_see_photos_and_change_none(client, photo, make_person, role):
    client.force_login(make_person(role))
    assert client.get(file_of(photo)).status_code == 200
    assert client.post(reverse("photo-remove", args=[photo.pk])).status_code == 403


def test_a_photo_taken_back_is_not_served_any_more(page, photo):
    answer = page.post(reverse("photo-remove", args=[photo.pk]), follow=True)
    assert "The photo is taken out of the record." in answer.content.decode()
    assert page.get(file_of(photo)).status_code == 404
    assert Photo.objects.get().removed_at


# --- adding ---


def test_several_at_once_the_good_are_kept_and_the_bad_are_listed_by_name(page, visit):
    files = [
        upload(jpeg_bytes(seed=1), "a.jpg"),
        upload(b"", "b.jpg"),
        upload(b"text", "c.jpg"),
        upload(jpeg_bytes(seed=2), "d.jpg"),
    ]
    answer = page.post(add(visit), {"photos": files, "link": "beam"})
    assert answer.status_code == 200
    text = answer.content.decode()
    assert "2 photos are kept. Not taken in:" in text
    assert "b.jpg: the file is empty" in text
    assert "c.jpg: this is not a photo" in text
    assert [photo.link for photo in Photo.objects.all()] == ["beam", "beam"]


def test_photos_that_are_all_good_lead_back(page, visit):
    answer = page.post(add(visit), {"photos": [upload(jpeg_bytes())], "next": f"/visits/{visit.pk}/walk/"})
    assert (answer.status_code, answer["Location"]) == (302, f"/visits/{visit.pk}/walk/")


def test_no_photo_chosen_is_said(page, visit):
    assert "No photo was chosen." in page.post(add(visit), {}).content.decode()


def test_a_script_gets_the_tile_of_the_one_it_sent(page, visit):
    answer = page.post(add(visit), {"photos": upload(jpeg_bytes())}, **HTMX)
    assert answer.status_code == 200
    text = answer.content.decode()
    assert "<html" not in text
    assert f'id="photo-{Photo.objects.get().pk}"' in text
    assert "hx-get" in text
    assert "HX-Request" in answer["Vary"]


def test_a_script_gets_the_refusal_with_422(page, visit):
    answer = page.post(add(visit), {"photos": upload(b"text", "c.jpg")}, **HTMX)
    assert answer.status_code == 422
    assert "c.jpg: this is not a photo" in answer.content.decode()


def test_sent_again_because_the_answer_got_lost_shows_the_one_that_is_kept(page, visit):
    for _ in range(2):
        answer = page.post(add(visit), {"photos": upload(jpeg_bytes())}, **HTMX)
    assert answer.status_code == 200
    assert f'id="photo-{Photo.objects.get().pk}"' in answer.content.decode()
    assert "is in the visit already" in answer.content.decode()


def test_a_photo_goes_to_the_finding_named(page, visit, inspector):
    finding = record_finding(Finding(visit=visit, link="edge", title="Low", action="find_out"), by=inspector)
    page.post(add(visit), {"photos": upload(jpeg_bytes()), "finding": str(finding.pk)})
    assert (Photo.objects.get().finding, Photo.objects.get().link) == (finding, "edge")


@pytest.mark.parametrize("named", ["", "no-uuid", "00000000-0000-0000-0000-000000000000", "\0"])
def test_a_finding_that_is_not_there_does_not_cost_the_photo(page, visit, named):
    assert page.post(add(visit), {"photos": upload(jpeg_bytes()), "finding": named, "part": named}).status_code == 302
    assert Photo.objects.get().finding is None


def test_a_finding_of_another_visit_gets_no_photo_of_this_one(page, visit, inspector):
    other = make_visit(inspector, state="under_way")
    finding = record_finding(Finding(visit=other, link="edge", title="Low", action="find_out"), by=inspector)
    page.post(add(visit), {"photos": upload(jpeg_bytes()), "finding": str(finding.pk)})
    assert not finding.photos.exists()


def test_a_closed_record_says_so_and_takes_none(page, inspector):
    visit = make_visit(inspector, state="released")
    answer = page.post(add(visit), {"photos": [upload(jpeg_bytes())]})
    assert "This visit is released; nothing more can be recorded." in answer.content.decode()
    assert not Photo.objects.exists()


# --- one photo ---


def test_a_tile_asks_again_until_the_photo_is_ready(page, visit, inspector):
    photo = take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    tile = reverse("photo-tile", args=[photo.pk])
    assert f'hx-get="{tile}"' in page.get(tile).content.decode()
    make_photo_renditions(photo.rendition_job.pk)
    text = page.get(tile).content.decode()
    assert "hx-get" not in text
    assert file_of(photo) in text


def test_a_damaged_photo_says_so_in_its_tile_and_asks_no_more(page, visit, inspector):
    data = jpeg_bytes(1600, 1200)
    photo = take_in_photo(visit, upload(data[: len(data) // 2]), by=inspector)
    make_photo_renditions(photo.rendition_job.pk)
    text = page.get(reverse("photo-tile", args=[photo.pk])).content.decode()
    assert "The photo is damaged" in text
    assert "hx-get" not in text


def test_a_photo_the_worker_gave_up_on_can_be_tried_again(page, visit, inspector):
    photo = take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    RenditionJob.objects.update(state="failed", attempt=5)
    tile = reverse("photo-tile", args=[photo.pk])
    assert "could not be prepared" in page.get(tile).content.decode()
    page.post(reverse("photo-again", args=[photo.pk]))
    assert make_photo_renditions(photo.rendition_job.pk)
    assert file_of(photo) in page.get(tile).content.decode()


def test_the_words_under_a_photo_are_changed(page, photo):
    here = reverse("photo-edit", args=[photo.pk])
    assert "the beam" in page.get(here).content.decode()
    page.post(here, {"caption": "  the <b>split</b> beam "})
    photo.refresh_from_db()
    assert photo.caption == "the <b>split</b> beam"
    assert "<b>split" not in page.get(here).content.decode()
    answer = page.post(here, {"caption": "x" * 500})
    assert answer.status_code == 200
    assert "at most 200 characters" in answer.content.decode()


def test_a_closed_record_keeps_its_captions(page, photo):
    type(photo.visit).objects.update(state="handed_in")
    answer = page.post(reverse("photo-edit", args=[photo.pk]), {"caption": "late"})
    assert "nothing more can be recorded" in answer.content.decode()
    photo.refresh_from_db()
    assert photo.caption == "the beam"


def test_photos_added_from_a_part_of_the_walk_are_of_that_part_and_shown_at_its_link(page, visit):
    beam = visit.parts.create(kind="beam", key="B1")
    query = {"part": str(beam.pk), "link": "beam"}
    form = page.get(reverse("photo-add", args=[visit.pk], query=query)).content.decode()
    assert f'name="part" value="{beam.pk}"' in form
    assert "Add photos of beam B1" in form
    page.post(add(visit), {"photos": upload(jpeg_bytes()), **query})
    photo = Photo.objects.get()
    assert (photo.part, photo.link) == (beam, "beam")
    assert f'id="photo-{photo.pk}"' in page.get(reverse("walk-link", args=[visit.pk, "beam"])).content.decode()
    assert f'id="photo-{photo.pk}"' not in page.get(reverse("walk-link", args=[visit.pk, "posts"])).content.decode()
