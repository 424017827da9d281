"""The disk fills up in the middle of a file: it is said in words, and nothing half is kept."""

import errno
import os
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import OperationalError
from django.urls import reverse

from firm.jobs.work import DISK_FULL
from firm.web.errors import is_disk_full
from inspections.photos.models import Photo
from inspections.reports.models import ReportBuild
from inspections.reports.services import issue_report
from tests.inspections.photos.files import jpeg_bytes, upload
from tests.inspections.reports.records import draw, handed_in_visit
from tests.make import make_visit


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    for where in ("inspections.reports.services", "inspections.reports.giving", "inspections.photos.services"):
        monkeypatch.setattr(f"{where}.ring", lambda job: None)


@pytest.fixture
def full_disk(monkeypatch, settings):
    """`full_disk(room)`: below MEDIA_ROOT that many bytes more fit; then writing ends as on a disk that is full."""

    media, fdopen = str(Path(settings.MEDIA_ROOT).resolve()), os.fdopen

    class Limited:
        def __init__(self, file, left):
            self.file, self.left = file, left

        def write(self, data):
            fits = self.file.write(bytes(data)[: self.left[0]])
            self.left[0] -= fits
            if fits < len(data):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return fits

        def close(self):
            self.file.close()

    def fill(room):
        left = [room]

        def opened(descriptor, *args, **more):
            file = fdopen(descriptor, *args, **more)
            is_ours = os.readlink(f"/proc/self/fd/{descriptor}").startswith(media)
            return Limited(file, left) if is_ours else file

        monkeypatch.setattr(os, "fdopen", opened)

    yield fill
    monkeypatch.undo()


def files_below(folder):
    return [path for path in Path(folder).rglob("*") if path.is_file()]


def test_a_photo_that_finds_no_room_is_refused_in_words_and_leaves_neither_row_nor_file(
    inspector, signed_in, full_disk, settings
):
    visit = make_visit(inspector, state="under_way")
    browser = signed_in(inspector)
    browser.raise_request_exception = False
    full_disk(400)
    answer = browser.post(reverse("photo-add", args=[visit.pk]), {"photos": upload(jpeg_bytes())})
    assert answer.status_code == 507
    assert b"The disk of the server is full" in answer.content
    assert not Photo.objects.exists()
    assert files_below(settings.MEDIA_ROOT) == []


def test_a_report_that_finds_no_room_waits_with_the_reason_and_is_drawn_once_there_is_room(
    inspector, manager, full_disk, settings, monkeypatch, tmp_path
):
    report = issue_report(handed_in_visit(inspector, photo=False), by=manager)
    full_disk(2000)
    draw(report)
    build = ReportBuild.objects.get()
    assert (build.state, build.error) == ("waiting", DISK_FULL)
    assert not report.pdf and files_below(settings.MEDIA_ROOT) == []
    monkeypatch.undo()  # there is room again
    settings.MEDIA_ROOT = tmp_path
    ReportBuild.objects.update(available_at=report.issued_at)
    draw(report)
    assert report.pdf and ReportBuild.objects.get().state == "done"


def test_a_full_disk_of_the_database_is_told_apart_from_other_errors():
    assert is_disk_full(OperationalError("database or disk is full"))
    assert is_disk_full(OSError(errno.ENOSPC, "x")) and is_disk_full(OSError(errno.EDQUOT, "x"))
    assert not is_disk_full(OSError(errno.EACCES, "x")) and not is_disk_full(OperationalError("locked"))
    try:
        try:
            raise OSError(errno.ENOSPC, "x")
        except OSError as inner:
            raise ValueError("outer") from inner
    except ValueError as outer:
        assert is_disk_full(outer)


def test_a_file_stands_under_its_name_whole_or_not_at_all_and_takes_no_others_place(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    first = default_storage.save("a/one.txt", ContentFile(b"first"))
    second = default_storage.save("a/one.txt", ContentFile(b"second"))
    assert first == "a/one.txt" and second != first
    assert default_storage.open(first).read() == b"first"
    assert default_storage.open(second).read() == b"second"
    assert len(files_below(tmp_path)) == 2
