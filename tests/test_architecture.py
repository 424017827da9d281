"""The shape of the whole: which way the arrows point, and what may lie at the top."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "manage.py",
    "pyproject.toml",
    "requirements.txt",
    "requirements-test.txt",
    "firm",
    "inspections",
    "engine",
    "templates",
    "static",
    "tests",
    "docker-compose.yml",
    "LICENSE",
}


def tracked_files():
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode:
        pytest.fail("the suite runs in a git checkout: " + listed.stderr)
    return [Path(name) for name in listed.stdout.split("\0") if name and (ROOT / name).exists()]


def imports_of(path):
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module


def test_the_arrows_point_one_way():
    linter = Path(sys.executable).with_name("lint-imports")
    answer = subprocess.run([linter, "--no-cache"], cwd=ROOT, capture_output=True, text=True)
    assert answer.returncode == 0, answer.stdout + answer.stderr


def test_the_engine_needs_nothing_but_python():
    """No Django, no third-party package; and none of what a browser's Python lacks or makes answers depend on."""
    unwanted = {"threading", "socket", "asyncio", "subprocess", "multiprocessing", "datetime", "time", "random"}
    found = {
        f"{path}: {name}"
        for path in tracked_files()
        if path.parts[0] == "engine" and path.suffix == ".py"
        for name in imports_of(path)
        if (root := name.split(".")[0]) != "engine" and (root not in sys.stdlib_module_names or root in unwanted)
    }
    assert found == set()


def test_the_set_up_needs_nothing_but_python():
    outside = {name for name in imports_of("firm/bootstrap.py") if name.split(".")[0] not in sys.stdlib_module_names}
    assert outside == set()
    assert (ROOT / "firm/__init__.py").read_text() == "", "it is imported before anything is installed"


def test_nothing_else_lies_at_the_top():
    top = {path.parts[0] for path in tracked_files() if not path.parts[0].startswith(".")}
    assert top - TOP == set()


def test_requirements_are_pinned_by_hash_and_name_no_host():
    for name in ("requirements.txt", "requirements-test.txt"):
        lines = (ROOT / name).read_text(encoding="ascii").splitlines()
        pins = [line for line in lines if "==" in line]
        assert len(pins) > 20
        assert not [line for line in lines if "://" in line]
        options = [line.strip() for line in lines if line.lstrip().startswith("-")]
        assert all(option.startswith("--hash=sha256:") for option in options), "an index or a path on this machine"
        assert all(line.rstrip().endswith("\\") for line in pins), "a pin without a hash"


def test_the_tests_hold_the_same_versions_as_the_application():
    def pins(name):
        lines = (ROOT / name).read_text(encoding="ascii").splitlines()
        return {line.rstrip(" \\") for line in lines if "==" in line}

    assert pins("requirements.txt") <= pins("requirements-test.txt")


def test_the_web_server_starts_without_the_libraries_that_draw_the_pdf():
    """They are slow and large, and importing WeasyPrint makes Pillow accept broken images in the whole process."""
    program = (
        "import django, sys; django.setup(); from django.urls import get_resolver; get_resolver().url_patterns;"
        "[__import__(f'{app}.tasks', fromlist=['x']) for app in"
        " ('inspections.reports', 'firm.mail')];"
        "print(sorted({'weasyprint', 'pikepdf'} & set(sys.modules)))"
    )
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "firm.settings", "SECRET_KEY": "for this test only"}
    answer = subprocess.run([sys.executable, "-c", program], cwd=ROOT, env=environment, capture_output=True, text=True)
    assert answer.stdout.strip() == "[]", answer.stderr
