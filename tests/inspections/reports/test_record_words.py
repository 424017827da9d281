"""What was read stands in the report as the trade writes it."""

import pytest

from inspections.reports.record_words import reading


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
