"""The backup file: an ordinary tar archive that shows when it was cut off or changed."""

import io
import json
import random
import tarfile

import pytest

from firm.backup import archive


@pytest.fixture
def written(tmp_path):
    """A small backup: a table, a photo in a folder of its own, the manifest."""
    photo = tmp_path / "ledger.jpg"
    photo.write_bytes(random.Random(4).randbytes(3000))
    path = tmp_path / "small.tar"
    with path.open("wb") as stream:
        writer = archive.Writer(stream, tmp_path)
        with writer.member("rows/clients.client.jsonl.gz") as out:
            out.write(b"a row\n")
        writer.add_file("media/photos/7/ledger.jpg", photo)
        writer.add_json(archive.MANIFEST, {"format": archive.FORMAT, "files": 1})
        writer.close()
    return path


def members(path):
    with tarfile.open(path) as tar:
        return [(about.name, tar.extractfile(about).read()) for about in tar]


def rewritten(path, members):
    with tarfile.open(path, "w") as tar:
        for name, content in members:
            about = tarfile.TarInfo(name)
            about.size = len(content)
            tar.addfile(about, io.BytesIO(content))
    return path


def test_what_was_put_in_comes_out(written, tmp_path):
    assert archive.check(written) == {"format": archive.FORMAT, "files": 1}
    content = dict(members(written))
    assert content["rows/clients.client.jsonl.gz"] == b"a row\n"
    assert content["media/photos/7/ledger.jpg"] == (tmp_path / "ledger.jpg").read_bytes()
    assert list(content)[-1] == archive.CHECKSUMS


def test_a_file_that_was_cut_off_anywhere_is_no_backup(written, tmp_path):
    whole = written.read_bytes()
    end_of_the_checksums = whole.rindex(b"}") + 1
    for length in [0, 1, 511, 512, *range(700, end_of_the_checksums, 577), end_of_the_checksums - 1]:
        cut = tmp_path / "cut.tar"
        cut.write_bytes(whole[:length])
        with pytest.raises(archive.Damaged):
            archive.check(cut)


def test_a_byte_that_turned_over_is_found_wherever_it_counts(written):
    """Padding between the members says nothing, so only bytes of names, sizes and contents are turned."""
    whole = bytearray(written.read_bytes())
    with tarfile.open(written) as tar:
        counts = [at for about in tar for at in range(about.offset_data, about.offset_data + about.size, 97)]
        counts += [about.offset for about in tar] + [about.offset + 130 for about in tar]
    for at in counts:
        turned = bytearray(whole)
        turned[at] ^= 0x01
        written.write_bytes(turned)
        with pytest.raises(archive.Damaged):
            archive.check(written)


def test_a_member_that_was_taken_out_put_in_or_doubled_is_found(written):
    content = members(written)
    table, photo, manifest, checksums = content
    for changed in (
        [photo, manifest, checksums],
        [*content[:-1], ("media/more.jpg", b"x"), checksums],
        [table, photo, photo, manifest, checksums],
        [*content, ("media/more.jpg", b"x")],
        [table, photo, checksums],
    ):
        with pytest.raises(archive.Damaged):
            archive.check(rewritten(written, changed))
    assert archive.check(rewritten(written, content)), "the way of rewriting alone breaks nothing"


@pytest.mark.parametrize("name", ["/etc/cron.d/x", "media/../../x", "rows", "media/a//b", "./media/a", "x.sh", "media"])
def test_a_name_that_would_lead_out_of_the_folder_is_refused(written, name):
    checksums = {"format": archive.FORMAT, "members": {}}
    rewritten(written, [(name, b"x"), (archive.CHECKSUMS, json.dumps(checksums).encode())])
    with pytest.raises(archive.Damaged):
        archive.check(written)


def test_a_link_in_the_archive_is_refused(written):
    with tarfile.open(written, "w") as tar:
        link = tarfile.TarInfo("media/photo.jpg")
        link.type, link.linkname = tarfile.SYMTYPE, "/etc/passwd"
        tar.addfile(link)
    with pytest.raises(archive.Damaged, match="does not belong"):
        archive.check(written)


@pytest.mark.parametrize("content", [b"", b"not a tar", b"\x1f\x8b\x08" + b"\0" * 600])
def test_another_kind_of_file_is_called_none_of_ours(tmp_path, content):
    path = tmp_path / "holiday.jpg"
    path.write_bytes(content)
    with pytest.raises(archive.Damaged):
        archive.check(path)
