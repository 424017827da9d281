"""`python3 manage.py start` as its user knows it: processes that are started, killed and stopped."""

import os
import signal
import socket
import time
import uuid

import pytest

from firm.supervisor import STOP_WITHIN_S
from tests.installation import wait_until

pytestmark = pytest.mark.process

SEND = (
    "from firm.mail.services import send_mail_later as send;"
    "send(to='owner@example.test', subject='Once', text='only', kind='test', dedupe_key='once')"
)
STATE = "from firm.mail.models import OutgoingMail as M; m = M.objects.get(); print(m.state, m.attempt)"


def kill_a_worker_in_the_middle_of_a_job(app, mail_server):
    app.start()
    assert app.manage("shell", "--no-imports", "-c", SEND).returncode == 0
    assert mail_server.is_waiting.wait(timeout=30), "no worker took the mail"
    killed = app.part("--queues quick")
    os.kill(killed, signal.SIGKILL)
    wait_until(lambda: app.part("--queues quick") not in (None, killed), 2, "a new worker")
    mail_server.may_accept.set()
    wait_until(lambda: app.manage("shell", "--no-imports", "-c", STATE).stdout.split() == ["done", "2"], 60, "the mail")
    assert len(mail_server.accepted) == 1


def test_a_worker_killed_in_the_middle_of_a_job_is_replaced_and_the_job_is_done_once(install, mail_server):
    app = install(EMAIL_URL=mail_server.url)
    kill_a_worker_in_the_middle_of_a_job(app, mail_server)
    assert app.stop() < STOP_WITHIN_S + 15  # for a busy machine
    assert app.process.returncode == 0, app.said()
    assert app.processes() == {}


@pytest.mark.services
def test_the_same_with_postgresql_and_redis(install, mail_server):
    import psycopg
    import redis

    name = f"soundings_{uuid.uuid4().hex[:12]}"
    where = os.environ.get("DATABASE_URL", "postgres://postgres@127.0.0.1:5432/postgres")
    server, _, _ = where.rpartition("/")
    broker = os.environ.get("CELERY_BROKER_URL", "redis://127.0.0.1:6379/0").rpartition("/")[0] + "/9"
    redis.Redis.from_url(broker).flushdb()
    with psycopg.connect(f"{server}/postgres".replace("postgres://", "postgresql://"), autocommit=True) as admin:
        admin.execute(f'CREATE DATABASE "{name}"')
        try:
            app = install(EMAIL_URL=mail_server.url, DATABASE_URL=f"{server}/{name}", CELERY_BROKER_URL=broker)
            kill_a_worker_in_the_middle_of_a_job(app, mail_server)
            assert app.stop() < STOP_WITHIN_S + 15  # for a busy machine
            assert app.processes() == {}
        finally:
            app.clear_away()
            admin.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def test_each_part_that_is_killed_is_started_again(install):
    app = install()
    app.start()
    for word in ("gunicorn", " beat ", "--queues long"):
        killed = app.part(word)
        os.kill(killed, signal.SIGKILL)
        wait_until(lambda word=word, killed=killed: app.part(word) not in (None, killed), 2, f"a new {word}")
    wait_until(app.is_well, 15, "the web server")


def test_nothing_goes_on_running_when_the_terminal_itself_is_killed(install):
    app = install()
    app.start()
    assert len(app.processes()) > 5
    app.process.kill()
    app.process.wait()
    wait_until(lambda: app.processes() == {}, 15, "the end of the last process")


def test_ctrl_c_stops_everything_and_a_second_start_keeps_the_data(install):
    app = install()
    app.start()
    assert "admin" in app.said()
    key = app.folder / ".data" / "secret-key"
    assert key.stat().st_mode & 0o777 == 0o600
    secret = key.read_text()
    app.process.send_signal(signal.SIGINT)
    assert app.process.wait(timeout=10) == 0
    assert app.processes() == {}
    app.start()
    assert "passwords as before" in app.said()
    assert key.read_text() == secret


def test_a_taken_port_is_refused_with_the_way_out(install):
    app = install()
    with socket.socket() as other:
        other.bind(("127.0.0.1", app.port))
        other.listen()
        begun = time.monotonic()
        answer = app.manage("start", "--port", str(app.port))
    assert time.monotonic() - begun < 10
    assert answer.returncode != 0
    assert f"Port {app.port}" in answer.stderr and f"--port {app.port + 1}" in answer.stderr


def test_a_second_start_on_the_same_data_is_refused(install):
    app = install()
    app.start()
    app.port += 1
    answer = app.manage("start", "--port", str(app.port))
    assert answer.returncode != 0
    assert "already runs" in answer.stderr
