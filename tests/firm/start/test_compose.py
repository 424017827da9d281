"""The many-machine form as it is written down: what each service may do, and how much of the machine it may take.

No container engine runs where these tests run, so this reads the file and starts nothing.
"""

import json
import os
import re
import shlex
import subprocess
import sys

import click
import pytest
import yaml
from celery.bin.beat import beat
from celery.bin.worker import worker
from django.core.management import get_commands, load_command_class
from gunicorn.config import Config

from firm.jobs.lines import LINES
from tests.installation import ROOT

TEXT = (ROOT / "docker-compose.yml").read_text(encoding="utf-8")
READ = yaml.safe_load(TEXT)
SERVICES, IMAGE = READ["services"], READ["x-application"]["build"]["dockerfile_inline"]
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


def filled(value, said):
    """A value as Compose passes it on: `${NAME:?}` must be said, `${NAME:-}` is empty where it is not."""
    return re.sub(r"\$\{(\w+):[?-][^}]*\}", lambda found: said.get(found[1], ""), str(value))


SAID = {"SECRET_KEY": 50 * "k" + "ey", "POSTGRES_PASSWORD": "letters9", "SITE_HOST": "decks.example"}


def image_environment():
    (line,) = re.findall(r"(?m)^ENV (.+)$", IMAGE)
    return dict(word.split("=", 1) for word in shlex.split(line))


def settings_with(environment, *names):
    """These settings, in a process that knows nothing but what the container would."""
    script = f"import json; from firm import settings as s; print(json.dumps([s.{', s.'.join(names)}], default=str))"
    told = {"PATH": os.environ["PATH"], "PYTHONDONTWRITEBYTECODE": "1", **environment}
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, env=told, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_with_the_three_things_that_must_be_said_the_settings_are_those_of_many_machines():
    environment = {name: filled(value, SAID) for name, value in READ["x-application"]["environment"].items()}
    names = ("PUBLIC_URL", "ALLOWED_HOSTS", "SESSION_COOKIE_SECURE", "BEHIND_PROXY", "DATA_DIR", "BACKUP_DIR")
    assert settings_with(image_environment() | environment, *names) == [
        "https://decks.example", ["127.0.0.1", "[::1]", "decks.example", "localhost"], True, True, "/data", "/backups",
    ]  # fmt: skip
    (database,) = settings_with(image_environment() | environment, "DATABASES['default']")
    made = SERVICES["postgres"]["environment"]
    assert (database["HOST"], database["NAME"], database["USER"], database["PASSWORD"]) == (
        "postgres", made["POSTGRES_DB"], made["POSTGRES_USER"], "letters9",
    )  # fmt: skip


def test_every_variable_that_is_passed_on_is_read_by_the_settings_and_documented():
    ours = [READ["x-application"]["environment"], *(SERVICES[name].get("environment", {}) for name in OURS)]
    readers = "".join((ROOT / "firm" / name).read_text() for name in ("settings.py", "env.py", "bootstrap.py"))
    documented = (ROOT / "DEVELOPERS.md").read_text()
    for name in {name for one in ours for name in one} | (image_environment().keys() - of_others):
        assert f'"{name}"' in readers or f"'{name}'" in readers, name
        assert f"`{name}`" in documented, name


of_others = {"PYTHONDONTWRITEBYTECODE", "PYTHONUNBUFFERED", "XDG_CACHE_HOME"}  # of Python and of fontconfig


def test_every_setting_that_is_documented_can_be_said_or_is_fixed_by_the_containers():
    documented = set(re.findall(r"`([A-Z_]{5,})`", " ".join(re.findall(r"(?m)^\| (`[^|]+) \|", developers()))))
    passed = READ["x-application"]["environment"].keys() | image_environment().keys()
    # The demo, the host and the media folder follow from the rest.
    assert documented - passed - {"DEBUG", "DEMO_PASSWORD", "ALLOWED_HOSTS", "MEDIA_ROOT"} == set()


def developers():
    return (ROOT / "DEVELOPERS.md").read_text().partition("## Settings")[2].partition("\n## ")[0]


def words_of(value):
    return value if isinstance(value, list) else shlex.split(value)


@pytest.mark.parametrize("name", [name for name in OURS if "command" in SERVICES[name]])
def test_each_command_is_one_that_there_is_with_options_that_it_takes(name):
    words = words_of(SERVICES[name]["command"])
    if words[0] == "sh":
        for one in words[2].split("&&"):
            management_command(shlex.split(one))
        return
    assert words[:4] == ["celery", "--app", "firm.celery", words[3]]
    command = {"worker": worker, "beat": beat}[words[3]]
    read, left_over, _ = command.make_parser(click.Context(command)).parse_args(list(words[4:]))
    assert left_over == []
    if command is worker:
        assert read["queues"] in LINES
    else:
        assert read["schedule"].startswith("/tmp/"), "the root is read-only"


def management_command(words):
    assert words[:2] == ["python", "manage.py"]
    assert words[2] in get_commands(), words
    load_command_class(get_commands()[words[2]], words[2]).create_parser("manage.py", words[2]).parse_args(words[3:])


@pytest.mark.parametrize("name", [name for name in OURS if "healthcheck" in SERVICES[name]])
def test_each_health_check_of_ours_is_a_command_or_a_script_that_can_be_run(name):
    kind, *words = SERVICES[name]["healthcheck"]["test"]
    assert kind == "CMD"
    if words[1] == "-c":
        compile(words[2], name, "exec")
    else:
        management_command(words)


def test_the_web_server_takes_its_options_and_the_health_check_asks_its_port():
    (line,) = re.findall(r"(?m)^CMD (.+)$", IMAGE)
    program, *words = json.loads(line)
    assert program == "gunicorn"
    config = Config()
    read = config.parser().parse_args(words)
    assert read.args == ["firm.wsgi"] and read.bind == ["0.0.0.0:8000"]
    assert "reverse_proxy web:8000" in READ["configs"]["front"]["content"]


def test_what_the_image_is_made_of_is_there():
    for source in re.findall(r"(?m)^COPY (\S+) \S+$", IMAGE):
        assert (ROOT / source).exists(), source
        assert source not in (ROOT / ".dockerignore").read_text().split()
    assert {"engine", "firm", "inspections", "static", "templates"} <= set(re.findall(r"(?m)^COPY (\w+) ", IMAGE))


def test_every_volume_and_every_name_that_a_service_needs_is_declared():
    named = {one.partition(":")[0] for each in SERVICES.values() for one in each.get("volumes", [])}
    assert named == READ["volumes"].keys()
    for each in SERVICES.values():
        assert set(each.get("depends_on", {})) <= SERVICES.keys()
        for on, condition in each.get("depends_on", {}).items():
            assert condition["condition"] != "service_healthy" or "healthcheck" in SERVICES[on]
        assert {one["source"] for one in each.get("configs", [])} <= READ["configs"].keys()


def test_whoever_is_not_root_owns_the_volumes_that_they_write():
    targets = {one.partition(":")[2] for one in READ["x-application"]["volumes"]}
    assert targets == set(json.loads(re.search(r"(?m)^VOLUME (.+)$", IMAGE)[1]))
    made = re.search(r"install -d -o soundings -g soundings ([^\n]+)", IMAGE)[1].split()
    assert targets <= set(made)
    assert IMAGE.index("install -d") < IMAGE.index("VOLUME") and IMAGE.index("USER soundings") < IMAGE.index("VOLUME")
