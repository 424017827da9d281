"""A record of the engine is a frozen dataclass in every way that one who uses it can see."""

import copy
import dataclasses
import pickle
from functools import cached_property

import pytest

from engine.records import dataclass


@dataclass(frozen=True)
class Board:
    """A board."""

    species: str
    depth_in: float = 9.25
    notes: list[str] = dataclasses.field(default_factory=list, repr=False, compare=False)
    area: float = dataclasses.field(init=False, compare=False)

    def __post_init__(self):
        if self.depth_in <= 0:
            raise ValueError(self.depth_in)
        object.__setattr__(self, "area", 1.5 * self.depth_in)

    @cached_property
    def name(self):
        return f"{self.depth_in:g} in of {self.species}"


@dataclasses.dataclass(frozen=True)
class Plain:
    species: str
    depth_in: float = 9.25


def test_it_is_made_by_place_by_name_and_by_default():
    assert Board("hem-fir", 7.25) == Board(species="hem-fir", depth_in=7.25) != Board("hem-fir")
    assert Board("hem-fir").depth_in == 9.25
    assert Board("hem-fir").notes is not Board("hem-fir").notes
    assert Board("hem-fir", 2).area == 3.0
    with pytest.raises(TypeError):
        Board()
    with pytest.raises(TypeError):
        Board("hem-fir", wrong=1)
    with pytest.raises(ValueError, match="-1"):
        Board("hem-fir", -1)


def test_nobody_changes_it():
    board = Board("hem-fir")
    with pytest.raises(dataclasses.FrozenInstanceError):
        board.depth_in = 5
    with pytest.raises(dataclasses.FrozenInstanceError):
        del board.depth_in
    assert board.name == "9.25 in of hem-fir"  # worked out once and kept all the same


def test_equal_records_count_as_one():
    assert len({Board("hem-fir"), Board("hem-fir"), Board("redwood")}) == 2
    assert Board("hem-fir") != Plain("hem-fir")
    assert hash(Board("hem-fir", notes=["wet"])) == hash(Board("hem-fir"))  # what is not compared does not count


def test_what_the_standard_library_does_with_a_dataclass_it_does_with_it():
    board = Board("hem-fir", 7.25)
    assert dataclasses.is_dataclass(Board)
    assert dataclasses.replace(board, depth_in=5.5) == Board("hem-fir", 5.5)
    assert dataclasses.asdict(board) == {"species": "hem-fir", "depth_in": 7.25, "notes": [], "area": 10.875}
    assert repr(board).endswith("Board(species='hem-fir', depth_in=7.25, area=10.875)")
    assert copy.deepcopy(board) == copy.copy(board) == board
    assert pickle.loads(pickle.dumps(board)) == board


def test_a_class_that_asks_for_more_is_left_to_the_standard_library():
    @dataclass(frozen=True, order=True)
    class Size:
        depth_in: float

    assert Size(5.5) < Size(7.25)
