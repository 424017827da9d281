"""Nothing is shipped without a version and a licence; an advisory is found by the versions that it names."""

import json

import pytest
from django.core.management import CommandError, call_command

from firm import shipped
from firm.shipped import NONE_KNOWN, Part, affected
from tests.installation import ROOT


@pytest.mark.parametrize("name", ["requirements.txt", "requirements-test.txt"])
def test_every_pinned_package_has_a_known_licence(name):
    parts = shipped.packages(ROOT / name)
    assert len(parts) > 40
    assert [part.name for part in parts if not part.licence] == []


def test_everything_vendored_says_its_version_and_licence_and_has_the_text_beside_it():
    folders = [one for one in (ROOT / "static" / "vendor").iterdir() if one.is_dir()]
    parts = shipped.vendored(ROOT / "static" / "vendor")
    assert len(parts) == len(folders) >= 2
    assert [part for part in parts if not part.version or not part.licence] == []
    assert [one.name for one in folders if not list(one.glob("LICENSE*"))] == []


def test_no_copyleft_that_would_reach_our_own_code():
    """GPL and AGPL would; LGPL and MPL do not for a library used unchanged. One package may be had under MPL."""
    parts = shipped.packages(ROOT / "requirements.txt")
    strict = [
        part.name
        for part in parts
        if "AGPL" in part.licence or "GNU General" in part.licence or "GPL-3.0-or" in part.licence
    ]
    assert strict == ["pyphen"]
    assert "MPL 1.1" in next(part.licence for part in parts if part.name == "pyphen")


def advisory(folder, events, **more):
    package = {"name": "Some_Package", "ecosystem": "PyPI"}
    ranges = [{"type": "ECOSYSTEM", "events": events}]
    told = {"id": "X-1", "summary": "reads too much", "affected": [{"package": package, "ranges": ranges}], **more}
    (folder / "X-1.json").write_text(json.dumps(told))


@pytest.mark.parametrize(
    ("version", "is_hit"),
    [("1.9", False), ("2.0", True), ("2.3.1", True), ("2.4", False), ("3.0", True), ("3.1", True), ("3.2", False)],
)
def test_an_advisory_fits_from_where_it_was_brought_in_to_where_it_was_put_right(version, is_hit, tmp_path):
    advisory(tmp_path, [{"introduced": "2.0"}, {"fixed": "2.4"}, {"introduced": "3.0"}, {"last_affected": "3.1"}])
    told = affected([Part("some-package", version, "MIT")], tmp_path)
    assert told == ([f"some-package {version}: X-1 reads too much"] if is_hit else [NONE_KNOWN])


def test_a_withdrawn_advisory_and_an_empty_list_prove_nothing(tmp_path):
    with pytest.raises(ValueError, match="no advisory"):
        affected([], tmp_path)
    advisory(tmp_path, [{"introduced": "0"}], withdrawn="2026-01-01T00:00:00Z")
    assert affected([Part("some-package", "1.0", "MIT")], tmp_path) == [NONE_KNOWN]


def test_the_command_writes_the_list_and_the_bill_and_says_what_it_could_not_check(tmp_path, capsys):
    call_command("licences", str(tmp_path))
    assert "\ndjango 5.2" in (tmp_path / "LICENCES.txt").read_text()
    bill = json.loads((tmp_path / "sbom.json").read_text())
    assert bill["bomFormat"] == "CycloneDX"
    assert {"django", "weasyprint"} <= {one["name"].lower() for one in bill["components"]}
    assert (tmp_path / "vulnerabilities.txt").read_text().startswith("Not checked")
    assert "Not checked" in capsys.readouterr().out


def test_the_command_ends_with_an_error_where_something_is_known(tmp_path):
    known = tmp_path / "known"
    known.mkdir()
    (known / "D.json").write_text(json.dumps({
        "id": "D-1", "affected": [{"package": {"name": "django", "ecosystem": "PyPI"},
                                   "ranges": [{"type": "ECOSYSTEM", "events": [{"introduced": "0"}]}]}],
    }))  # fmt: skip
    with pytest.raises(CommandError, match="known vulnerabilities"):
        call_command("licences", str(tmp_path / "out"), known=known)
    assert "D-1" in (tmp_path / "out" / "vulnerabilities.txt").read_text()
