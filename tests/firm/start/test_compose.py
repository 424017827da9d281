"""The many-machine form as it is written down: what each service may do, and how much of the machine it may take.

No container engine runs where these tests run, so this reads the file and starts nothing.
"""

import re

import pytest

from tests.installation import ROOT

TEXT = (ROOT / "docker-compose.yml").read_text(encoding="utf-8")
OURS = ("prepare", "web", "worker", "long-worker", "scheduler")
OTHERS = ("postgres", "redis", "front")


def block(head, text=TEXT):
    """The lines below a key, up to the next one that stands as far left."""
    found = re.search(
        rf"(?m)^(?P<indent> *){re.escape(head)}:.*\n(?P<body>(?:(?P=indent) +.*\n|\s*\n|\s*#.*\n)*)", text
    )
    assert found, f"no {head} in docker-compose.yml"
    return found["body"]


def service(name):
    """A service with what it takes over from x-application."""
    own = block(name, block("services"))
    return own + (block("x-application") if "<<: *application" in own else "")


def test_these_are_all_the_services():
    assert re.findall(r"(?m)^  ([\w-]+):$", block("services")) == [
        "postgres",
        "redis",
        "prepare",
        "web",
        "worker",
        "long-worker",
        "scheduler",
        "front",
    ]


@pytest.mark.parametrize("name", OURS + OTHERS)
def test_each_has_a_read_only_root_few_rights_and_a_limit_of_everything(name):
    said = service(name)
    assert "read_only: true" in said and re.search(r"tmpfs: \[.*/tmp", said)
    assert "cap_drop: [ALL]" in said and "no-new-privileges:true" in said
    for limit in ("mem_limit", "cpus", "pids_limit"):
        assert re.search(rf"(?m)^ +{limit}: \d", said), limit
    assert "logging: " in said


@pytest.mark.parametrize("name", [*OURS, "postgres", "redis"])
def test_none_runs_as_root(name):
    assert re.search(r"(?m)^ +user: (soundings|postgres|redis)$", service(name))


def test_the_front_has_one_right_only_and_is_the_only_one_that_can_be_reached():
    assert "cap_add: [NET_BIND_SERVICE]" in service("front")
    assert [name for name in OURS + OTHERS if "ports:" in service(name)] == ["front"]


@pytest.mark.parametrize("image", re.findall(r"(?m)^ +(?:image: |FROM )(\S+:\S+)$", TEXT))
def test_each_image_is_pinned_to_a_release(image):
    assert re.fullmatch(r"[a-z]+:\d+\.\d+(\.\d+)?-[a-z-]+", image)


def test_the_images_were_found():
    assert len(re.findall(r"(?m)^ +(?:image: |FROM )(\S+:\S+)$", TEXT)) == 4


@pytest.mark.parametrize("name", ["postgres", "redis", "web", "worker", "long-worker", "scheduler", "front"])
def test_each_that_stays_says_whether_it_is_well_and_is_started_again(name):
    said = service(name)
    assert "healthcheck:" in said and "restart: unless-stopped" in said


def test_nobody_serves_before_the_database_is_backed_up_and_brought_up_to_date():
    assert "python manage.py upgrade" in service("prepare")
    for name in ("web", "worker", "long-worker", "scheduler"):
        assert "prepare: { condition: service_completed_successfully }" in service(name)


def test_backups_lie_in_a_volume_of_their_own_that_every_part_can_write():
    assert "- backups:/backups" in block("x-application")
    assert "BACKUP_DIR=/backups" in TEXT and "-g soundings /data /backups" in TEXT
    assert re.search(r"(?m)^volumes:\n(?:  \w+:\n)*  backups:\n", TEXT)


def test_secrets_come_from_outside_and_an_empty_one_stops_the_start():
    for name in ("SECRET_KEY", "POSTGRES_PASSWORD", "SITE_HOST"):
        assert f"${{{name}:?" in TEXT
    assert not re.search(r"(?mi)^ +\w*(password|secret\w*): [^$\s]", TEXT)


def test_the_health_check_of_the_web_server_asks_an_address_that_needs_no_https():
    assert "http://127.0.0.1:8000/healthz" in service("web")


def test_each_line_of_work_has_a_worker_and_is_asked_after_by_its_own_name():
    assert "worker, --queues, quick," in service("worker")
    assert "worker, --queues, long," in service("long-worker")
    assert '"worker_is_well", "--line", "long"' in service("long-worker")
