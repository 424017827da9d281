"""The set-up on a bare machine, with its steps cut off from this machine."""

import re
import subprocess
import sys
import time

import pytest

from firm import bootstrap


@pytest.fixture
def bare(monkeypatch, tmp_path):
    """A checkout without `.venv`; what would be run is noted and answered by `answers`."""
    monkeypatch.setattr(bootstrap, "ROOT", tmp_path)
    monkeypatch.setattr(bootstrap, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap, "PYTHON", tmp_path / ".venv" / "bin" / "python")
    for name in (bootstrap.APP, bootstrap.TEST):
        (tmp_path / name).write_text(f"{name}\n")
    return tmp_path


def half_made(folder):
    python = folder / ".venv" / "bin" / "python"
    python.parent.mkdir(parents=True)
    python.symlink_to(sys.executable)
    (folder / ".venv" / "left-over").touch()


def test_a_library_that_cannot_be_opened_is_named_by_its_package():
    table = {"libc.so.6": "libc6", "libnosuchthing.so.9": "libnosuchthing9"}
    assert bootstrap.missing_pdf_packages(table) == ["libnosuchthing9"]


def test_who_is_not_root_is_told_the_exact_command(monkeypatch):
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: "/usr/bin/" + name)
    monkeypatch.setattr(bootstrap.os, "geteuid", lambda: 1000)
    monkeypatch.setattr(bootstrap, "missing_pdf_packages", lambda: list(bootstrap.PDF_LIBRARIES.values()))
    with pytest.raises(SystemExit) as told:
        bootstrap.need_pdf_libraries()
    command = "sudo apt-get install --yes --no-install-recommends libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"
    assert command in str(told.value)


def test_where_there_is_no_apt_the_parts_are_named(monkeypatch):
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: None)
    with pytest.raises(SystemExit, match="chromium"):
        bootstrap._apt_install_or_explain(["chromium"], "The browser tests need Chromium.")


def test_as_root_it_is_installed_and_the_lists_are_fetched_if_there_are_none(monkeypatch):
    ran = []

    def succeeds(command, environment=None):
        ran.append(command[1])
        return command[1] != "install"

    def run(command, **_):
        ran.append(command[1])
        return subprocess.CompletedProcess(command, 0, "", "")

    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: "/usr/bin/" + name)
    monkeypatch.setattr(bootstrap.os, "geteuid", lambda: 0)
    monkeypatch.setattr(bootstrap, "_succeeds", succeeds)
    monkeypatch.setattr(bootstrap.subprocess, "run", run)
    bootstrap._apt_install_or_explain(["libpango-1.0-0"], "Missing.")
    assert ran == ["install", "update", "install"]


def test_a_half_made_venv_is_removed_and_made_anew(bare, monkeypatch):
    half_made(bare)
    made = []

    def succeeds(command, environment=None):
        if command[1:3] == ["-m", "venv"]:
            assert not (bare / ".venv").exists(), "the old one is out of the way"
            made.append(command[3])
            return True
        return False  # the old one has no pip

    monkeypatch.setattr(bootstrap, "_succeeds", succeeds)
    bootstrap.need_venv()
    assert made == [str(bare / ".venv")]


def test_a_python_without_ensurepip_leaves_nothing_behind_and_names_the_package(bare, monkeypatch):
    def succeeds(command, environment=None):
        if command[1:3] == ["-m", "venv"]:
            half_made(bare)  # as Debian's Python does before it fails
        return command[0] == "apt-cache"

    monkeypatch.setattr(bootstrap, "_succeeds", succeeds)
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: "/usr/bin/" + name)
    monkeypatch.setattr(bootstrap.os, "geteuid", lambda: 1000)
    with pytest.raises(SystemExit) as told:
        bootstrap.need_venv()
    assert re.search(r"sudo apt-get install .*python3\.\d+-venv", str(told.value))
    assert not (bare / ".venv").exists()


def test_packages_are_installed_once_and_again_when_the_pins_change(bare, monkeypatch):
    ran = []

    def run(command, **_):
        ran.append(command[-1])
        return subprocess.CompletedProcess(command, 0)

    def make_venv():
        if not (bare / ".venv").exists():
            half_made(bare)

    monkeypatch.setattr(bootstrap.subprocess, "run", run)
    monkeypatch.setattr(bootstrap, "need_venv", make_venv)
    for _ in range(2):
        bootstrap.need_packages(bootstrap.APP)
    assert ran == [str(bare / "requirements.txt")]
    (bare / "requirements.txt").write_text("another pin\n")
    bootstrap.need_packages(bootstrap.APP)
    assert len(ran) == 2


def test_pins_that_change_while_pip_runs_are_installed_at_the_next_start(bare, monkeypatch):
    half_made(bare)
    ran = []

    def run(command, **_):
        ran.append(command[-1])
        (bare / "requirements.txt").write_text("changed meanwhile\n")
        return subprocess.CompletedProcess(command, 0)

    monkeypatch.setattr(bootstrap.subprocess, "run", run)
    monkeypatch.setattr(bootstrap, "need_venv", lambda: None)
    for _ in range(3):
        bootstrap.need_packages(bootstrap.APP)
    assert len(ran) == 2


def test_packages_that_failed_are_not_taken_for_installed(bare, monkeypatch):
    half_made(bare)
    monkeypatch.setattr(bootstrap, "need_venv", lambda: None)
    failed = subprocess.CompletedProcess([], 1)
    monkeypatch.setattr(bootstrap.subprocess, "run", lambda command, **_: failed)
    for _ in range(2):
        with pytest.raises(SystemExit, match="could not be installed"):
            bootstrap.need_packages(bootstrap.APP)


def test_any_other_command_goes_on_in_the_venv_or_says_what_to_do_first(bare, monkeypatch):
    monkeypatch.delenv("SOUNDINGS_SETUP", raising=False)
    with pytest.raises(SystemExit, match=r"python3 manage\.py start"):
        bootstrap.enter(["manage.py", "shell"])
    half_made(bare)
    went = []
    monkeypatch.setattr(bootstrap.os, "execv", lambda program, argv: went.append(argv[1:]))
    bootstrap.enter(["manage.py", "shell", "--no-imports"])
    assert went == [["manage.py", "shell", "--no-imports"]]


def test_test_hands_its_arguments_to_pytest(bare, monkeypatch):
    monkeypatch.setenv("SOUNDINGS_SETUP", "no")
    monkeypatch.setattr(bootstrap.os, "chdir", lambda folder: None)
    went = []
    monkeypatch.setattr(bootstrap.os, "execv", lambda program, argv: went.append(argv[1:]))
    bootstrap.enter(["manage.py", "test", "-k", "ledger"])
    assert went == [["-m", "pytest", "-k", "ledger"]]


def test_without_arguments_the_whole_suite_runs_on_every_processor(bare, monkeypatch):
    monkeypatch.setenv("SOUNDINGS_SETUP", "no")
    monkeypatch.setattr(bootstrap.os, "chdir", lambda folder: None)
    went = []
    monkeypatch.setattr(bootstrap.os, "execv", lambda program, argv: went.append(argv[1:]))
    bootstrap.enter(["manage.py", "test"])
    assert "--numprocesses=auto" in went[0]


def test_when_nothing_is_to_be_done_it_is_quick(bare, monkeypatch):
    half_made(bare)
    bootstrap._stamp_path(bootstrap.APP).write_text(bootstrap._stamp(bootstrap.APP))
    monkeypatch.delenv("SOUNDINGS_SETUP", raising=False)
    monkeypatch.setattr(bootstrap, "need_pdf_libraries", lambda: bootstrap.missing_pdf_packages())
    monkeypatch.setattr(bootstrap.os, "execv", lambda program, argv: None)
    begun = time.perf_counter()
    bootstrap.enter(["manage.py", "start"])
    assert time.perf_counter() - begun < 0.2
