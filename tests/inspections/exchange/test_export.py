import csv
import io
import zipfile
from datetime import UTC, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.jobs.work import GiveUp, run_job
from inspections.exchange.exporting import columns, run, tables
from inspections.exchange.models import Export
from inspections.outside.services import page_address
from tests.make import make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def export(signed_in, administrator):
    """The ZIP as the administrator saves it."""

    def make():
        page = signed_in(administrator)
        page.post(reverse("export-ask"))
        job = Export.objects.first()
        assert page.get(reverse("export-download", args=[job.pk])).status_code == 404, "not before it is made"
        assert run_job(Export, job.pk, run)
        answer = page.get(reverse("export-download", args=[job.pk]))
        assert AuditEntry.objects.about(job).filter(by=administrator, verb="took away").exists()
        return zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content)))

    return make


def read(archive, name):
    return list(csv.DictReader(io.StringIO(archive.read(name).decode("utf-8-sig"))))


def test_every_row_comes_out_with_its_ties(export):
    visit = make_visit(property=make_property(make_client("Zoë Hallam", notes='Two "decks",\nand a stair')))
    archive = export()
    (client,) = read(archive, "clients_client.csv")
    (row,) = read(archive, "visits_visit.csv")
    assert (client["name"], client["notes"]) == ("Zoë Hallam", 'Two "decks",\nand a stair')
    assert (row["client_id"], row["starts_at"]) == (client["id"], visit.starts_at.astimezone(UTC).isoformat())


def test_a_worker_that_was_killed_before_it_could_say_done_leaves_no_second_file(administrator, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    job = Export.objects.create(by=administrator)
    run(Export.take(job.pk))  # written, and killed
    Export.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    assert run_job(Export, job.pk, run)
    job.refresh_from_db()
    assert [path.name for path in (tmp_path / "exchange/out").iterdir()] == [job.file.name.rpartition("/")[2]]


def test_a_worker_that_was_thought_dead_and_comes_late_writes_no_file(administrator, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    late = Export.take(Export.objects.create(by=administrator).pk)
    Export.objects.update(attempt=2)
    with pytest.raises(GiveUp):
        run(late)
    assert not (tmp_path / "exchange").exists()


def test_no_cell_is_run_by_a_spreadsheet(export):
    make_client("=cmd()", notes="@SUM(A1)", phone="+1 207 555 0100")
    (client,) = read(export(), "clients_client.csv")
    assert (client["name"], client["notes"], client["phone"]) == ("'=cmd()", "'@SUM(A1)", "'+1 207 555 0100")


def test_every_column_of_every_file_is_explained(export):
    archive = export()
    notes = archive.read("README.txt").decode()
    for model in tables():
        name = f"{model._meta.label_lower.replace('.', '_')}.csv"
        assert f"{name} (" in notes
        for field in columns(model):
            assert f"    {field.attname}: " in notes


def test_nothing_that_lets_somebody_in_comes_out(export, administrator):
    page_address(make_visit().pk)
    archive = export()
    everything = b"".join(archive.read(name) for name in archive.namelist()).decode()
    assert administrator.password not in everything
    heads = {name: archive.read(name).splitlines()[0].decode() for name in archive.namelist() if name.endswith(".csv")}
    assert not [name for name, head in heads.items() if any(w in head for w in ("hash", "password", "secret", "token"))]
