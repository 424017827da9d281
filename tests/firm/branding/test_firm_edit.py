import io
import struct
import zlib

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from firm.audit.models import AuditEntry
from firm.branding.models import Firm

pytestmark = pytest.mark.django_db

A_FIRM = {
    "name": "Harrow Point Deck Inspection",
    "ink_colour": "#20313a",
    "accent_colour": "#8a4b2a",
    "paper": "letter",
    "units": "us",
    "link_days": "180",
    "strapline": "We sound timber.",
}


@pytest.fixture
def save(signed_in, administrator):
    return lambda **fields: signed_in(administrator).post(reverse("firm-edit"), {**A_FIRM, **fields})


def picture(form="PNG", size=(300, 100), mode="RGB", **options):
    out = io.BytesIO()
    Image.new(mode, size, 120).save(out, form, **options)
    return out.getvalue()


def upload(content, name="logo.png", kind="image/png"):
    return SimpleUploadedFile(name, content, kind)


def test_the_firm_is_stored_with_an_audit_line_of_what_changed(save, administrator):
    assert save(phone="207 555 0100").status_code == 302
    firm = Firm.current()
    assert (firm.name, firm.phone) == ("Harrow Point Deck Inspection", "207 555 0100")
    line = AuditEntry.objects.about(firm).get()
    assert line.by == administrator
    assert set(line.after) == {"name", "phone", "strapline"}


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("name", "", "required"),
        ("name", "  ", "required"),
        ("ink_colour", "#f0e0d0", "too pale to read on paper"),
        ("accent_colour", "#888888", "too pale"),
        ("accent_colour", "red", "#"),
        ("accent_colour", "#12345", "#"),
        ("paper", "A3", "valid choice"),
        ("link_days", "0", "From 1 day"),
        ("link_days", "-1", "0"),
        ("link_days", "32000", "3650"),
        ("link_days", "99999999999999", ""),
        ("phone", "ring us", "digits"),
        ("email", "office", "valid"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_the_rest_is_kept(field, value, words, save):
    answer = save(**{field: value})
    assert answer.status_code == 422
    errors = answer.context["form"].errors
    assert list(errors) == [field]
    assert words in " ".join(errors[field])
    assert "We sound timber." in answer.content.decode()
    assert Firm.current().name == "Your firm"


@pytest.mark.parametrize("form", ["PNG", "JPEG", "WEBP"])
def test_a_logo_is_written_anew_as_png(form, save, signed_in, administrator):
    assert save(new_logo=upload(picture(form), f"x.{form.lower()}")).status_code == 302
    answer = signed_in(administrator).get(reverse("firm-logo"))
    assert answer["Content-Type"] == "image/png"
    with Image.open(io.BytesIO(answer.getvalue())) as stored:
        assert (stored.format, stored.size) == ("PNG", (300, 100))


def test_nothing_but_the_picture_is_kept_of_a_logo(save):
    exif = Image.Exif()
    exif[0x010E] = "taken at a secret place"
    save(new_logo=upload(picture("JPEG", exif=exif), "x.jpg"))
    with Firm.current().logo.open("rb") as stored:
        assert b"secret" not in stored.read()


def test_a_large_logo_is_made_smaller(save):
    save(new_logo=upload(picture(size=(4000, 1000))))
    with Firm.current().logo.open("rb") as stored, Image.open(stored) as logo:
        assert logo.size == (1200, 300)


def bomb(width, height):
    """A tiny PNG file that claims a huge picture."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 999)) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"not a picture", "cannot be read"),
        (b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>', "cannot be read"),
        (picture("GIF", mode="L"), "cannot be read"),
        (picture(size=(900, 900))[:-30], "cannot be read"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * (2 * 1024 * 1024), "2 MB"),
        (bomb(9000, 9000), "pixels"),
        (bomb(60000, 60000), "cannot be read"),
    ],
    ids=["empty", "text", "svg", "gif", "cut off", "too large", "many pixels", "bomb"],
)
def test_what_is_no_logo_is_refused_in_words_and_the_old_one_stays(content, words, save):
    save(new_logo=upload(picture()))
    before = Firm.current().logo.name
    answer = save(new_logo=upload(content, "bad.png"), strapline="Another line")
    assert answer.status_code == 422
    assert words in " ".join(answer.context["form"].errors["new_logo"])
    assert "Another line" in answer.content.decode()
    assert Firm.current().logo.name == before


def test_a_logo_is_kept_when_nothing_is_uploaded_and_goes_when_it_is_taken_away(save, signed_in, administrator):
    save(new_logo=upload(picture()))
    save()
    assert Firm.current().logo
    save(remove_logo="on")
    assert not Firm.current().logo
    assert signed_in(administrator).get(reverse("firm-logo")).status_code == 404
