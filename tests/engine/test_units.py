import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.units import UnreadableLength, format_feet_inches, format_inches, format_metric, parse_length_in


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("12' 3 1/2\"", 147.5),
        ("12-3 1/2", 147.5),
        ("147.5", 147.5),
        ("3.75 m", 3750 / 25.4),
        ("95 mm", 95 / 25.4),
        ("37.5 cm", 375 / 25.4),
        ("3 1/2", 3.5),
        ("3-1/2", 3.5),
        ("3½", 3.5),
        ("12’ 3½”", 147.5),
        ("5/8", 0.625),
        ("10 ft", 120),
        ("10'", 120),
        ("10' 6", 126),
        ('9.25"', 9.25),
        ("8 feet 2 inches", 98),
        (".5", 0.5),
        ("0", 0),
        ("100 ft", 1200),
    ],
)
def test_what_a_tape_says_is_read_in_inches(text, inches):
    assert parse_length_in(text) == pytest.approx(inches, abs=1e-9)


@pytest.mark.parametrize(
    "text",
    [
        "", "  ", "12-", "3/0", "-4", "9999 ft", "1201", "12' 13", "12' 12\"", "abc", "4 x", "1/2/3", "--", "'", '"',
        "ft",        "5 4/3", "1e3", "nan", "inf", "12 3", "3 m 4", "12,5", "٣", "1/", "/2", "1 1",
        "9" * 400, "9" * 5000 + "/2", "1" + " " * 50,
    ],
)  # fmt: skip
def test_what_is_no_length_is_refused_with_a_reason_in_words(text):
    with pytest.raises(UnreadableLength) as refusal:
        parse_length_in(text)
    assert refusal.value.reason.endswith(".")


@given(st.integers(0, 1200 * 16))
def test_a_length_in_sixteenths_survives_printing_and_reading(sixteenths):
    inches = sixteenths / 16
    assert parse_length_in(format_feet_inches(inches)) == inches
    assert parse_length_in(format_inches(inches)) == inches


@given(st.floats(0, 1199))
def test_printing_moves_a_length_by_at_most_half_a_sixteenth(inches):
    assert abs(parse_length_in(format_feet_inches(inches)) - inches) <= 1 / 32 + 1e-9


@given(st.floats(0, 1199))
def test_metric_print_is_good_to_half_a_millimetre(inches):
    assert abs(parse_length_in(format_metric(inches)) - inches) <= 0.5 / 25.4 + 1e-9


@given(st.text(max_size=20))
def test_any_text_is_either_a_length_on_a_deck_or_refused(text):
    try:
        inches = parse_length_in(text)
    except UnreadableLength:
        return
    assert 0 <= inches <= 1200


def test_printed_lengths_look_like_the_trade_writes_them():
    assert format_feet_inches(147.5) == "12' 3 1/2\""
    assert format_feet_inches(9.25) == '9 1/4"'
    assert format_feet_inches(120) == "10'"
    assert format_feet_inches(11.999) == "1'"
    assert format_inches(0) == '0"'
    assert format_inches(0.375) == '3/8"'
    assert format_inches(147.5) == '147 1/2"'
    assert format_metric(9.25) == "235 mm"
    assert format_metric(147.5) == "3.747 m"
    assert format_feet_inches(-9.25) == '-9 1/4"'
