"""Records that are hard to set in print: a very long finding, and words and logos that want to fetch something."""

import copy
import hashlib
import io
import re

import pytest
from pypdf import PdfReader

from inspections.reports.fetcher import FrozenFiles, NotOfThisReport

pytestmark = pytest.mark.django_db  # the database is there for the report that is drawn once
EVIL = '<img src="http://169.254.169.254/latest/"><link rel="stylesheet" href="file:///etc/passwd">'
FETCHING_SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="9" height="9">'
    b'<image width="9" height="9" xlink:href="http://127.0.0.1:9/x.png"/></svg>'
)


def pages_of(pdf):
    return [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


def test_a_very_long_finding_goes_on_over_pages_and_leaves_no_heading_alone(issued):
    record = copy.deepcopy(issued.snapshot)
    finding = next(each for each in record["findings"] if each["action"] == "keep_off")
    sentences = [f"Sentence {number} of what was seen along the ledger." for number in range(120)]
    finding["seen"] = "\n\n".join(sentences)
    pages = pages_of(issued.draw(snapshot=record))
    text = " ".join(pages)
    assert all(sentence in text for sentence in sentences)
    first = next(page for page in pages if "What was found, most pressing first" in page and sentences[0] in page)
    assert sentences[5] in first


def test_words_that_look_like_markup_are_printed_and_fetch_nothing(issued):
    record = copy.deepcopy(issued.snapshot)
    record["photos"][0]["caption"] = record["visit"]["summary"] = record["firm"]["name"] = EVIL
    for each in record["findings"]:
        each["title"] = each["place"] = each["seen"] = EVIL
    assert "169.254.169.254" in pages_of(issued.draw(snapshot=record))[0]


def test_a_logo_that_wants_to_fetch_something_reaches_nobody(issued, monkeypatch):
    # WeasyPrint leaves a broken SVG out; what it asked for was refused before anything was opened.
    sha256 = hashlib.sha256(FETCHING_SVG).hexdigest()
    path = f"reports/frozen/{sha256}.svg"
    (issued.media_root / path).write_bytes(FETCHING_SVG)
    record = copy.deepcopy(issued.snapshot)
    record["firm"]["logo"] = {"path": path, "sha256": sha256, "bytes": len(FETCHING_SVG)}
    refused, fetch = [], FrozenFiles.fetch

    def watched(self, url, headers=None):
        try:
            return fetch(self, url, headers)
        except NotOfThisReport:
            refused.append(url)
            raise

    monkeypatch.setattr(FrozenFiles, "fetch", watched)
    assert issued.draw("schedule", snapshot=record).startswith(b"%PDF")
    assert refused == ["http://127.0.0.1:9/x.png"]
