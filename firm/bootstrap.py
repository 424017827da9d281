"""Set-up on a machine with nothing but Python. Standard library only: it runs before anything is installed.

Every step looks first and does nothing when there is nothing to do. What was installed is noted in a stamp inside
`.venv`: the hash of the requirements file and of the Python that it was installed for.
"""

import ctypes
import ctypes.util
import fcntl
import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"
APP, TEST = "requirements.txt", "requirements-test.txt"  # the second holds all of the first

# What WeasyPrint opens when it draws a PDF, and the Debian or Ubuntu package that brings it.
PDF_LIBRARIES = {
    "libpango-1.0.so.0": "libpango-1.0-0",
    "libpangoft2-1.0.so.0": "libpangoft2-1.0-0",
    "libharfbuzz-subset.so.0": "libharfbuzz-subset0",
}
# Without words, on up to four processors; a file stays with one of them, so that what its tests share is made once, and
# the long browser tests come first.
WHOLE_SUITE = ["--numprocesses=auto", "--maxprocesses=4", "--dist=loadfile", "--no-loadscope-reorder"]

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


def enter(argv: list[str]) -> None:
    """Set up what the command needs and go on under `.venv`'s Python. Returns there; else it replaces this process.

    `SOUNDINGS_SETUP=no` leaves all of it out, for a container or a test that has its Python ready.
    """
    command = argv[1] if len(argv) > 1 else "help"
    is_prepared = os.environ.get("SOUNDINGS_SETUP") == "no"
    if command == "start" and not is_prepared:
        need_pdf_libraries()
        need_packages(APP)
    elif command == "test":
        if not is_prepared:
            need_pdf_libraries()
            need_chromium()
            need_packages(TEST)
        python = sys.executable if is_prepared or is_inside_venv() else str(PYTHON)
        os.chdir(ROOT)
        os.execv(python, [python, "-m", "pytest", *(argv[2:] or WHOLE_SUITE)])
    if is_prepared or is_inside_venv():
        return
    if not PYTHON.exists():
        sys.exit(f"Nothing is installed yet. `{say_command('start')}` sets everything up; then this command works.")
    os.execv(PYTHON, [str(PYTHON), *argv])


def say_command(*words: str) -> str:
    return " ".join(["python3", "manage.py", *words])


def is_inside_venv() -> bool:
    return Path(sys.prefix).resolve() == VENV.resolve()


# --- Python packages -----------------------------------------------------------------------------------------------
def need_packages(file_name: str) -> None:
    """Make `.venv` and install the pinned requirements, unless the stamp says that it was done."""
    requirements = ROOT / file_name
    if PYTHON.exists() and _is_stamped(file_name):
        return
    with requirements.open("rb") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)  # a `start` and a `test` at the same moment must not install into each other
        if PYTHON.exists() and _is_stamped(file_name):
            return
        # Read before pip does: a file that is changed meanwhile must not be taken for installed.
        stamps = {name: _stamp(name) for name in {file_name, APP}}
        need_venv()
        print("Installing the Python packages; the first time takes a minute or two ...", flush=True)
        pip = [str(PYTHON), "-m", "pip", "--disable-pip-version-check", "--quiet", "install", "--no-input"]
        if subprocess.run([*pip, "--require-hashes", "-r", str(requirements)], check=False).returncode:
            sys.exit("The packages could not be installed (see above). Nothing was started; run the command again.")
        for name, stamp in stamps.items():
            _stamp_path(name).write_text(stamp, encoding="ascii")


def need_venv() -> None:
    """Make `.venv`, or make it anew if an earlier attempt left it without a working pip."""
    if PYTHON.exists() and _succeeds([str(PYTHON), "-m", "pip", "--version"]):
        return
    if VENV.exists():
        print("Removing the half-made .venv of an earlier attempt.", flush=True)
        shutil.rmtree(VENV)
    if _make_venv():
        return
    # Debian and Ubuntu split `ensurepip` off: `python3 -m venv` then fails and leaves a folder without pip behind.
    package = f"python{sys.version_info.major}.{sys.version_info.minor}-venv"
    if not _has_package(package):
        package = "python3-venv"
    _apt_install_or_explain([package], "This Python cannot make virtual environments.")
    if not _make_venv():
        sys.exit(f"A virtual environment still cannot be made with {sys.executable}. Try another Python 3.11 or newer.")


def _make_venv() -> bool:
    if _succeeds([sys.executable, "-m", "venv", str(VENV)]):
        return True
    shutil.rmtree(VENV, ignore_errors=True)
    return False


def _stamp(file_name: str) -> str:
    digest = hashlib.sha256((ROOT / file_name).read_bytes())
    digest.update(f"{sys.version} {sys.base_prefix}".encode())
    return digest.hexdigest()


def _stamp_path(file_name: str) -> Path:
    return VENV / f"{file_name}.stamp"


def _is_stamped(file_name: str) -> bool:
    try:
        return _stamp_path(file_name).read_text(encoding="ascii") == _stamp(file_name)
    except OSError:
        return False


# --- what the machine must have ------------------------------------------------------------------------------------
def need_pdf_libraries() -> None:
    missing = missing_pdf_packages()
    if missing:
        _apt_install_or_explain(missing, "The libraries that draw the PDF report are missing.")
    if missing_pdf_packages():
        sys.exit("The libraries that draw the PDF report are still missing: " + " ".join(missing_pdf_packages()))


def missing_pdf_packages(libraries: dict[str, str] = PDF_LIBRARIES) -> list[str]:
    """The packages whose library cannot be opened, in the order of the table."""
    return [package for library, package in libraries.items() if not _opens(library)]


def need_chromium() -> None:
    if not find_chromium():
        _apt_install_or_explain(["chromium"], "The browser tests need Chromium.")


def find_chromium() -> str | None:
    return os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)


def _opens(library: str) -> bool:
    if sys.platform != "linux":  # other names there; the linker knows them
        return ctypes.util.find_library(library.removeprefix("lib").split(".so")[0]) is not None
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def _apt_install_or_explain(packages: Iterable[str], why: str) -> None:
    """Install as root where apt is; else end with the command that the reader has to give."""
    packages = list(packages)
    command = ["apt-get", "install", "--yes", "--no-install-recommends", *packages]
    if shutil.which("apt-get") is None:
        sys.exit(f"{why} Install what your system calls: {' '.join(packages)}. Then run this command again.")
    if os.geteuid() != 0:
        sys.exit(f"{why} Run\n\n    sudo {' '.join(command)}\n\nand then this command again.")
    print(f"{why} Installing: {' '.join(packages)}", flush=True)
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    if not _succeeds(command, environment):
        _succeeds(["apt-get", "update"], environment)  # a fresh machine has no package lists
        done = subprocess.run(command, env=environment, check=False, capture_output=True, text=True)
        if done.returncode:
            sys.exit(f"{done.stderr.strip()}\n{why} This failed: {' '.join(command)}")


def _has_package(package: str) -> bool:
    return shutil.which("apt-cache") is not None and _succeeds(["apt-cache", "show", package])


def _succeeds(command: list[str], environment: dict[str, str] | None = None) -> bool:
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "stdin": subprocess.DEVNULL}
    return subprocess.run(command, env=environment, check=False, **quiet).returncode == 0
