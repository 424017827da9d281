"""The broker is gone and comes back empty; the database cuts every connection: people go on working."""

import os
import socket
import threading
import uuid
from urllib.parse import urlsplit

import pytest
from django.core.cache import caches
from django.urls import reverse

from tests.installation import free_port, wait_until
from tests.mail_server import MailServer

SEND = (
    "from firm.mail.services import send_mail_later as send;"
    "send(to='owner@example.test', subject='Once', text='only', kind='test', dedupe_key='{0}')"
)
STATES = "from firm.mail.models import OutgoingMail as M; print(*M.objects.values_list('state', flat=True))"


@pytest.fixture
def no_redis(settings):
    """The settings of many machines, with nobody at the address."""
    waits = {"socket_connect_timeout": 1, "socket_timeout": 1}
    where = f"redis://127.0.0.1:{free_port()}/0"
    settings.CACHES = {"default": {"BACKEND": "firm.web.cache.ForgivingRedis", "LOCATION": where, "OPTIONS": waits}}


def test_people_can_sign_in_while_redis_is_gone(no_redis, client, office, caplog):
    form = {"username": office.username, "password": "wrong"}
    assert client.post(reverse("sign-in"), form).status_code == 200, "a wrong password, as ever"
    answer = client.post(reverse("sign-in"), {**form, "password": "open sesame 12"})
    assert (answer.status_code, answer["Location"]) == (302, reverse("home"))
    assert "the cache does not answer" in caplog.text


def test_what_is_asked_of_a_cache_that_is_gone_is_simply_not_there(no_redis):
    cache = caches["default"]
    assert cache.get("a", 7) == 7 and cache.get_many(["a"]) == {}
    assert cache.add("a", 1) is True and cache.delete("a") is False and cache.incr("a") == 1
    assert cache.set_many({"a": 1}) == ["a"]


class Line:
    """A way to a server that can be cut and mended."""

    def __init__(self, host, port):
        self.to, self.port, self.open = (host, port), free_port(), []
        self.mend()

    def mend(self):
        self.door = socket.create_server(("127.0.0.1", self.port))
        threading.Thread(target=self._let_in, args=[self.door], daemon=True).start()

    def _let_in(self, door):
        while True:
            try:
                here, _ = door.accept()
            except OSError:
                return
            there = socket.create_connection(self.to)
            self.open += [here, there]
            for one, other in ((here, there), (there, here)):
                threading.Thread(target=self._carry, args=[one, other], daemon=True).start()

    def _carry(self, one, other):
        try:
            while data := one.recv(65536):
                other.sendall(data)
        except OSError:
            pass
        for end in (one, other):
            end.close()

    def cut(self):
        self.door.shutdown(socket.SHUT_RDWR)
        self.door.close()
        for end in self.open:
            try:
                end.shutdown(socket.SHUT_RDWR)
            except OSError:
                continue
        self.open.clear()


@pytest.mark.services
@pytest.mark.process
def test_a_broker_that_comes_back_empty_and_a_database_that_cuts_all_lines_cost_nothing(install):
    import psycopg
    import redis

    server = os.environ["DATABASE_URL"].rpartition("/")[0]
    broker = urlsplit(os.environ["CELERY_BROKER_URL"])
    line = Line(broker.hostname, broker.port or 6379)
    mail = MailServer()
    mail.may_accept.set()
    threading.Thread(target=mail.serve_forever, daemon=True).start()
    name = f"soundings_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(f"{server}/postgres".replace("postgres://", "postgresql://"), autocommit=True) as admin:
        admin.execute(f'CREATE DATABASE "{name}"')
        try:
            app = install(
                EMAIL_URL=mail.url,
                DATABASE_URL=f"{server}/{name}",
                CELERY_BROKER_URL=f"redis://127.0.0.1:{line.port}{broker.path}",
            )
            app.start()
            line.cut()
            assert app.manage("shell", "--no-imports", "-c", SEND.format("while the broker is gone")).returncode == 0
            assert app.is_well(), "the web server does not need the broker"
            redis.Redis(broker.hostname, broker.port or 6379, int(broker.path[1:] or 0)).flushdb()
            line.mend()
            wait_until(lambda: len(mail.accepted) == 1, 90, "the mail that was asked for without a broker")
            cut = "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity WHERE datname = %s"
            assert admin.execute(cut, [name]).fetchone()[0] > 0
            assert app.is_well(), "the very next request"
            assert app.manage("shell", "--no-imports", "-c", SEND.format("after the cut")).returncode == 0
            wait_until(lambda: len(mail.accepted) == 2, 90, "the mail after the cut")
            assert app.manage("shell", "--no-imports", "-c", STATES).stdout.split() == ["done", "done"]
        finally:
            app.clear_away()
            mail.shutdown()
            mail.server_close()
            admin.execute(f'DROP DATABASE "{name}" WITH (FORCE)')
    assert len(mail.accepted) == 2, "nothing was sent twice"
