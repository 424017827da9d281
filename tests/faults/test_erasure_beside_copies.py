"""A client is erased while somebody has the firm's tables written: no table with the client is left."""

import threading
import zipfile

import pytest
from django.core.files.storage import default_storage
from django.db import connection, connections, transaction

from firm.jobs.work import run_job
from inspections.exchange import exporting
from inspections.exchange.models import Export
from inspections.exchange.services import ask_for_export
from inspections.personal.erasing import NotYet, erase_client
from tests.installation import wait_until
from tests.make import make_client

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def _media_of_its_own(settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path / "media"
    monkeypatch.setattr("firm.jobs.bell.ring_now", lambda *_: True)


def in_a_thread(do):
    failed = []

    def run():
        try:
            do()
        except Exception as error:  # told to the test, which would not see it otherwise
            failed.append(error)
        finally:
            connections.close_all()

    thread = threading.Thread(target=run)
    thread.start()
    return thread, failed


def waits_for_a_lock():
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_locks WHERE NOT granted")
        return cursor.fetchone()[0] > 0


def erase(client, administrator):
    return erase_client(client, by=administrator, because="By letter of May 3")


def words_of(export):
    with export.file.open("rb") as file, zipfile.ZipFile(file) as packed:
        return b"".join(packed.read(name) for name in packed.namelist()).decode()


def test_tables_asked_for_while_a_client_is_taken_out_are_written_without_the_client(administrator):
    client = make_client("Ines Hallam")

    def ask_and_write():
        run_job(Export, ask_for_export(administrator).pk, exporting.run)

    with transaction.atomic():
        erase(client, administrator)
        other, failed = in_a_thread(ask_and_write)
        wait_until(lambda: waits_for_a_lock() or not other.is_alive(), 20, "the other to be done or to wait")
    other.join(30)
    assert failed == []
    assert f"Erased client {client.pk}" in words_of(Export.objects.get(state="done"))
    assert "Hallam" not in words_of(Export.objects.get())


def test_a_client_is_not_taken_out_past_tables_that_somebody_is_just_asking_for(administrator):
    client = make_client("Ines Hallam")
    refused = []

    def erase_meanwhile():
        try:
            erase(client, administrator)
        except NotYet as refusal:
            refused.append(str(refusal))

    with transaction.atomic():
        ask_for_export(administrator)
        other, failed = in_a_thread(erase_meanwhile)
        wait_until(lambda: waits_for_a_lock() or not other.is_alive(), 20, "the other to be done or to wait")
    other.join(30)
    assert failed == []
    assert len(refused) == 1 and "Tables are being written" in refused[0]


def test_two_who_erase_the_same_client_at_once_both_come_to_an_end(administrator):
    client = make_client("Ines Hallam")
    with transaction.atomic():
        erase(client, administrator)
        other, failed = in_a_thread(lambda: erase(client, administrator))
        wait_until(lambda: waits_for_a_lock() or not other.is_alive(), 20, "the other to be done or to wait")
    other.join(30)
    assert failed == []
    client.refresh_from_db()
    assert client.name == f"Erased client {client.pk}"
    assert not default_storage.exists("exchange")
