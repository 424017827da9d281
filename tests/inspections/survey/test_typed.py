"""What people type becomes what the engine keeps; what is no value is refused in words for the person who typed it."""

import pytest

from engine.vocabulary import BY_NAME
from inspections.survey.typed import Target, Unreadable, in_field, in_words, read, read_back


def fact(kind, name):
    return BY_NAME[kind].index[name]


SPAN = fact("joist_field", "span_in")
RISERS = fact("stair", "risers_in")
SHARE = fact("joist_field", "hanger_fasteners_present")


@pytest.mark.parametrize(
    ("typed", "inches"),
    [
        ("12' 3 1/2\"", 147.5),
        ("12-3 1/2", 147.5),
        ("12’ 3½”", 147.5),
        ("147.5", 147.5),
        ("  147.5  ", 147.5),
        ("3.75 m", 3750 / 25.4),
        ("9' ", 108),
    ],
)
def test_a_length_is_read_as_from_a_tape(typed, inches):
    assert read(SPAN, typed) == pytest.approx(inches, abs=1e-6)


@pytest.mark.parametrize(
    "typed",
    ["", "   ", "12-", "3/0", "-4", "− 4", "9999 ft", "999 mm mm", "1e9", "nan", "inf", "12' 14\"", "9" * 60, "9" * 400,
     "3 1/2 1/2", "½½", "ten", "1\x00 2", "1 2", "12'3'4", "0x10", "٤"],
)  # fmt: skip
def test_what_is_no_length_is_refused_in_words(typed):
    with pytest.raises(Unreadable) as told:
        read(SPAN, typed)
    assert told.value.reason.endswith(".")
    assert len(told.value.reason) < 200


def test_a_span_beyond_what_is_taken_says_how_much_is():
    with pytest.raises(Unreadable, match=r"A span of 50' is beyond the 40' that this takes\."):
        read(SPAN, "50'")


def test_a_span_below_what_is_taken_says_how_much_is():
    with pytest.raises(Unreadable, match=r'A span of 6" is below the 12" that this takes\.'):
        read(SPAN, "6")


@pytest.mark.parametrize(
    ("typed", "inches"),
    [
        ("7 1/2, 7 1/2, 7 3/4", [7.5, 7.5, 7.75]),
        ("7 1/2; 7 1/2;7 3/4;", [7.5, 7.5, 7.75]),
        ("7 1/2\n7 1/2\r\n7 3/4\n", [7.5, 7.5, 7.75]),
        ("3 x 7 1/2, 8", [7.5, 7.5, 7.5, 8]),
        ("3×7½", [7.5, 7.5, 7.5]),
        ("190 mm, 7.5", [190 / 25.4, 7.5]),
    ],
)
def test_risers_are_read_one_after_the_other(typed, inches):
    assert read(RISERS, typed) == pytest.approx(inches, abs=1e-6)


@pytest.mark.parametrize("typed", [",", ";;", "0 x 7", "7 1/2, , seven", "900 x 7", "7, 40"])
def test_a_list_with_a_bad_riser_is_refused(typed):
    with pytest.raises(Unreadable):
        read(RISERS, typed)


def test_the_bad_one_of_a_list_is_named():
    with pytest.raises(Unreadable, match="“40”"):
        read(RISERS, "7, 40, 7")


@pytest.mark.parametrize(("typed", "share"), [("1", 1), ("0.8", 0.8), ("80 %", 0.8), ("8 of 10", 0.8), ("8/10", 0.8)])
def test_a_share_of_filled_holes_is_read_as_people_count_it(typed, share):
    assert read(SHARE, typed) == pytest.approx(share)


@pytest.mark.parametrize("typed", ["8 of 0", "11 of 10", "80", "-1", "most"])
def test_a_share_above_all_or_of_nothing_is_refused(typed):
    with pytest.raises(Unreadable):
        read(SHARE, typed)


@pytest.mark.parametrize(("typed", "load_lb"), [("1,200", 1200), ("1200 lb", 1200), ("1200.5", 1200.5)])
def test_a_rating_is_read_with_its_unit(typed, load_lb):
    assert read(fact("joist_field", "hanger_rated_lb"), typed) == load_lb


@pytest.mark.parametrize("typed", ["2.5", "0", "5", "two", "1_0"])
def test_plies_are_a_whole_number_from_one_to_four(typed):
    with pytest.raises(Unreadable):
        read(fact("beam", "plies"), typed)


def test_a_choice_is_one_of_its_words():
    assert read(fact("joist_field", "size"), "2X10") == "2x10"
    with pytest.raises(Unreadable, match="2x6, 2x8, 2x10, 2x12"):
        read(fact("joist_field", "size"), "2x14")


def test_yes_and_no():
    flag = fact("post", "is_braced")
    assert read(flag, "yes") is True
    assert read(flag, "No") is False
    with pytest.raises(Unreadable):
        read(flag, "maybe")


def test_a_reference_names_a_part_of_the_right_kind():
    targets = [Target("B1", "id-of-b1", "beam", ""), Target("LD1", "id-of-ld1", "ledger", "")]
    beam = fact("post", "beam")
    assert read(beam, "B1", targets) == "B1"
    assert read(beam, "id-of-b1", targets) == "B1"
    with pytest.raises(Unreadable, match="LD1 is a ledger; a beam belongs here"):
        read(beam, "LD1", targets)
    with pytest.raises(Unreadable, match=r"There is no beam B9\. There is B1\."):
        read(beam, "B9", targets)


def test_a_length_is_read_back_in_both_systems():
    assert read_back(SPAN, 104.0) == "8' 8\" (2.642 m)"


def test_a_field_shows_what_was_typed():
    assert in_field(SPAN, 104.0, "104 in") == "104 in"
    assert in_field(SPAN, 104.0, "") == "8' 8\""


@pytest.mark.parametrize(
    ("of", "typed", "value", "words"),
    [
        (SPAN, "8' or 8' 6\"", [96, 102], "8' or 8' 6\""),
        (fact("joist_field", "spacing_in"), "16 or 19.2 OR 24", [16, 19.2, 24], "16\" or 19 3/16\" or 2'"),
        (fact("joist_field", "species"), "southern pine or redwood", ["southern pine", "redwood"], None),
        (fact("level", "surface_condition"), "firm or soft or broken", ["firm", "soft or broken"], None),
        (fact("ledger", "house_band"), "Concrete or masonry wall or masonry veneer",
         ["concrete or masonry wall", "masonry veneer"], "concrete or masonry wall or masonry veneer"),
    ],
)  # fmt: skip
def test_who_is_not_sure_says_several_values_of_which_it_is_one(of, typed, value, words):
    assert read(of, typed) == {"one_of": value}
    assert in_words(of, read(of, typed)) == (words or typed)


def test_a_word_that_holds_an_or_is_one_answer():
    assert read(fact("level", "surface_condition"), "soft or broken") == "soft or broken"


def test_the_same_value_said_twice_is_sure():
    assert read(SPAN, "8' or 96 in") == 96


@pytest.mark.parametrize("typed", ["8' or", "or 8'", "8' or ten", "8' or 50'", "8 or or 9"])
def test_of_several_values_each_must_be_one(typed):
    with pytest.raises(Unreadable):
        read(SPAN, typed)


def test_what_belongs_to_what_and_yes_or_no_are_not_said_as_several():
    targets = [Target("B1", "id-1", "beam", ""), Target("B2", "id-2", "beam", "")]
    with pytest.raises(Unreadable):
        read(fact("joist_field", "beam"), "B1 or B2", targets)
    with pytest.raises(Unreadable):
        read(fact("guard", "is_present"), "yes or no")
