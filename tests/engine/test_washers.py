import pytest

from engine.errors import NotPublished
from engine.washers import cut_washer_in, washer_size


def test_the_washer_that_is_there_is_set_against_the_standard_one():
    """NDS Table L6 (from memory): 3/4 in bolt, 2 in washer."""
    found = washer_size(1.5, 0.75)
    assert (found.demand, found.capacity) == (2.0, 1.5)
    assert washer_size(2.0, 0.75).ratio == 1


def test_a_bolt_that_the_table_does_not_list_has_no_standard_washer():
    with pytest.raises(NotPublished):
        cut_washer_in(0.3125)
