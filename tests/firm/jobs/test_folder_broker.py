import os

import pytest
from kombu import Connection, Queue

from firm.jobs import folder as broker


@pytest.fixture
def connection(tmp_path):
    broker.register()
    options = {"data_folder_in": str(tmp_path), "data_folder_out": str(tmp_path), "control_folder": str(tmp_path / "c")}
    with Connection("folder://localhost//", transport_options=options) as connection:
        yield connection


def test_messages_come_out_once_and_in_the_order_they_went_in(connection):
    queue = connection.SimpleQueue(Queue("bells", routing_key="bells"))
    for number in range(20):
        queue.put({"row": number})
    assert [queue.get(timeout=2).payload["row"] for _ in range(20)] == list(range(20))
    with pytest.raises(queue.Empty):
        queue.get(timeout=0.1)


def test_a_message_has_its_name_only_when_it_is_whole(connection, tmp_path, monkeypatch):
    renamed = []

    def replace(aside, name):
        assert list(tmp_path.glob("[!.]*.msg")) == [], "a reader would take it now"
        renamed.append(aside.read_text())
        os.rename(aside, name)

    monkeypatch.setattr(broker.os, "replace", replace)
    connection.SimpleQueue(Queue("bells", routing_key="bells")).put({"row": 7})
    assert len(renamed) == 1 and renamed[0].endswith("}")
    assert len(list(tmp_path.glob("*.bells.msg"))) == 1
