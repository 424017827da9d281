"""What was read stands in the report as the trade writes it."""

import pytest

from inspections.reports.record_words import fact_words, reading


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        ({"one_of": ["southern pine", "redwood"]}, "", "southern pine or redwood"),
        ({"one_of": [16, 24]}, "in", None),
    ],
)
def test_what_could_be_one_of_several_says_each(value, unit, words):
    each = [reading({"value": one, "unit": unit}) for one in value["one_of"]]
    assert reading({"value": value, "unit": unit}) == (words or " or ".join(each))


def test_a_share_is_said_in_percent():
    assert reading({"value": 0.6, "unit": "fraction"}) == "60 %"


@pytest.mark.parametrize(
    ("fact", "words"), [("is_incised", "incised"), ("span_in", "span"), ("hanger_rated_lb", "hanger rated")]
)
def test_a_fact_is_named_as_a_head_of_a_column(fact, words):
    assert fact_words(fact) == words
