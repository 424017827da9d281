"""What is shipped that others wrote: its version and licence, and whether anything is known against it."""

import json
import re
from collections.abc import Iterator
from importlib.metadata import PackageMetadata, PackageNotFoundError, metadata
from pathlib import Path
from typing import NamedTuple

from packaging.version import InvalidVersion, Version

NOT_CHECKED = (
    "Not checked for known vulnerabilities: this needs a list of advisories. Fetch one where there is network, and"
    " name its folder with --known."
)
NONE_KNOWN = "No advisory of the list fits a package in its version."

# Where the package's own metadata say nothing that can be read; each was read in the licence file of the package.
READ_IN_THE_FILE = {
    "pyrage": "MIT",
    "axe-playwright-python": "MIT",
}


class Part(NamedTuple):
    name: str
    version: str
    licence: str  # empty: not known


def packages(requirements: Path) -> list[Part]:
    """Each pinned package with its licence as the installed metadata say it. Those for other systems are left out."""
    pinned = re.findall(r"(?m)^([A-Za-z0-9._-]+)(?:\[[^\]]*\])?==([^ \\;]+)", requirements.read_text(encoding="utf-8"))
    found = []
    for name, version in pinned:
        try:
            told = metadata(name)
        except PackageNotFoundError:
            continue
        found.append(Part(name, version, READ_IN_THE_FILE.get(_plain(name)) or licence_of(told)))
    return found


def licence_of(told: PackageMetadata) -> str:
    """The licence: the SPDX expression, else the classifiers, else the first line of the free text if it is short."""
    if expression := told.get("License-Expression"):
        return expression
    classifiers = [line for line in told.get_all("Classifier") or [] if line.startswith("License ::")]
    if classifiers:
        return "; ".join(line.rpartition(" :: ")[2] for line in classifiers)
    text = (told.get("License") or "").strip()
    return text if text and "\n" not in text and text != "UNKNOWN" else ""


def vendored(folder: Path) -> list[Part]:
    """Each folder of fetched files, by its README: a line `Version:` and a line `Licence:`."""
    return [_vendored(one) for one in sorted(folder.iterdir()) if one.is_dir()]


def _vendored(folder: Path) -> Part:
    text = (folder / "README.md").read_text(encoding="utf-8") if (folder / "README.md").exists() else ""
    told = dict(re.findall(r"(?m)^(Version|Licence): (.+)$", text))
    return Part(folder.name, told.get("Version", ""), told.get("Licence", ""))


def affected(parts: list[Part], folder: Path) -> list[str]:
    """The advisories of the folder that fit: one line each, or NONE_KNOWN. Format: OSV, https://ossf.github.io/osv-schema/

    Raises ValueError if the folder holds no advisory: an empty list proves nothing.
    """
    ours = {_plain(part.name): part for part in parts}
    found, count = [], 0
    for path in sorted(folder.rglob("*.json")):
        advisory = json.loads(path.read_text(encoding="utf-8"))
        count += 1
        for one in advisory.get("affected", []):
            package = one.get("package", {})
            part = ours.get(_plain(package.get("name", "")))
            if part and package.get("ecosystem") == "PyPI" and "withdrawn" not in advisory and _fits(part, one):
                found.append(f"{part.name} {part.version}: {advisory['id']} {advisory.get('summary', '')}".strip())
    if not count:
        raise ValueError(f"{folder} holds no advisory")
    return sorted(set(found)) or [NONE_KNOWN]


def _fits(part: Part, affected: dict) -> bool:
    if part.version in affected.get("versions", []):
        return True
    ranges = [one["events"] for one in affected.get("ranges", []) if one.get("type") in ("ECOSYSTEM", "SEMVER")]
    return any(_is_within(Version(part.version), events) for events in ranges)


def _is_within(version: Version, events: list[dict]) -> bool:
    """Whether the version lies behind an `introduced` and before the next `fixed` (or up to `last_affected`)."""
    inside = False
    for kind, text in _in_order(events):
        if kind == "introduced" and (text == "0" or version >= Version(text)):
            inside = True
        elif version > Version(text) or (kind == "fixed" and version == Version(text)):
            inside = False
    return inside


def _in_order(events: list[dict]) -> Iterator[tuple[str, str]]:
    told = [(kind, text) for event in events for kind, text in event.items()]

    def place(event: tuple[str, str]) -> Version:
        try:
            return Version("0" if event[1] == "0" else event[1])
        except InvalidVersion:
            return Version("0")

    return iter(sorted(told, key=place))


def _plain(name: str) -> str:
    """As the package index compares names (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()
