"""Where the PDF may take files from: the frozen files of this one report, and the fonts that ship with us.

Everything else stops the drawing: a report never makes the server open an address, whatever a finding's text holds.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.conf import settings

from inspections.reports.media import read_file
from inspections.reports.typesetting import FatalURLFetchingError, URLFetcher, URLFetcherResponse

_FONTS = Path(settings.BASE_DIR) / "static" / "vendor" / "fonts"
_KINDS = {".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".webp": "image/webp"}


class NotOfThisReport(FatalURLFetchingError):
    """An address was asked for that is none of the report's own files."""


class FrozenFiles(URLFetcher):
    """Gives `soundings:media/<sha256>` and `soundings:fonts/<file>`, and refuses everything else."""

    def __init__(self, snapshot: Mapping[str, Any]) -> None:
        super().__init__(allowed_protocols=["soundings"], allow_redirects=False, fail_on_errors=True)
        self._kept = {kept["sha256"]: kept for photo in snapshot["photos"] for kept in photo["files"].values()}
        if logo := snapshot["firm"]["logo"]:
            self._kept[logo["sha256"]] = logo
        self._fonts = {path.name: path for path in _FONTS.glob("*.woff2")}

    def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> URLFetcherResponse:
        """Raises NotOfThisReport, and FrozenFileDamaged if a file is not what was issued."""
        if not url.startswith("soundings:"):
            raise NotOfThisReport(f"a report opens no address: {url[:200]}")
        shelf, _, name = url.removeprefix("soundings:").partition("/")
        if shelf == "media" and name in self._kept:
            kept = self._kept[name]
            kind = _KINDS.get(Path(kept["path"]).suffix, "application/octet-stream")
            return URLFetcherResponse(url, read_file(kept), {"Content-Type": kind})
        if shelf == "fonts" and name in self._fonts:
            return URLFetcherResponse(url, self._fonts[name].read_bytes(), {"Content-Type": "font/woff2"})
        raise NotOfThisReport(f"not a file of this report: {url[:200]}")
