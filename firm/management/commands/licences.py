"""`python3 manage.py licences FOLDER`: what is shipped, under which licence, and a bill of materials (CycloneDX)."""

import subprocess
import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from firm import shipped


class Command(BaseCommand):
    help = "Write LICENCES.txt, sbom.json (CycloneDX) and vulnerabilities.txt into a folder."
    requires_system_checks = []

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("folder", type=Path)
        parser.add_argument(
            "--known",
            type=Path,
            help="A folder of advisories in the OSV format (one JSON file each), fetched on a machine with network.",
        )

    def handle(self, *_: Any, folder: Path, known: Path | None, **__: Any) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        root = Path(settings.BASE_DIR)
        listed = [*shipped.packages(root / "requirements.txt"), *shipped.vendored(root / "static" / "vendor")]
        if unknown := [one.name for one in listed if not one.licence]:
            raise CommandError(f"No known licence: {', '.join(unknown)}. Look, and add it to firm/shipped.py.")
        lines = [f"{one.name} {one.version}\t{one.licence}" for one in listed]
        (folder / "LICENCES.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
        self.stdout.write(f"LICENCES.txt: {len(listed)} packages and vendored parts")
        self.stdout.write(self._bill_of_materials(root, folder / "sbom.json"))
        told = shipped.affected(listed, known) if known else [shipped.NOT_CHECKED]
        (folder / "vulnerabilities.txt").write_text("\n".join(told) + "\n", encoding="utf-8")
        self.stdout.write("\n".join(told))
        if known and told != [shipped.NONE_KNOWN]:
            raise CommandError("There are known vulnerabilities.")

    def _bill_of_materials(self, root: Path, path: Path) -> str:
        done = subprocess.run(  # noqa: S603  our own interpreter and file names
            [sys.executable, "-m", "cyclonedx_py", "requirements", "--output-reproducible", "--of", "JSON",
             "-o", str(path), str(root / "requirements.txt")],
            capture_output=True, text=True,
        )  # fmt: skip
        if done.returncode:
            return "sbom.json: not written; cyclonedx-bom is missing (it is among the test requirements)"
        return f"sbom.json: CycloneDX, {path.stat().st_size:,} bytes"
