# ruff: noqa: E501 (a deck a screenful; broken lines would hide it)
"""The demo's decks, in the engine's deck file format, without the rule basis (which comes from the property).

Each is a deck that a small firm would meet, invented here. Lengths are inches.
"""

from collections.abc import Iterable
from typing import Any

Deck = dict[str, list[dict[str, Any]]]

PINE = {"species": "southern pine", "grade": "No. 2", "is_incised": False}
FIR = {"species": "douglas fir-larch", "grade": "No. 2", "is_incised": True}
HEM = {"species": "hem-fir", "grade": "No. 2", "is_incised": True}
LAG = {"fastener": "lag screw", "diameter_in": 0.5, "length_in": 4.0}
BOLT = {"fastener": "bolt", "diameter_in": 0.5, "length_in": 5.0}
TENS = {
    "ply_fastener": "nail",
    "ply_fastener_rows": 2,
    "ply_fastener_spacing_in": 16,
    "ply_fastener_diameter_in": 0.131,
    "ply_fastener_length_in": 3.0,
}
NAIL = {"fastener": "nail", "diameter_in": 0.162, "length_in": 3.5}


def _row(ledger: str, positions: Iterable[float], kind: dict[str, Any], **odd: dict[int, str]) -> list[dict[str, Any]]:
    """Fasteners at `positions`, upper and lower by turns; `odd` maps a condition to the numbers that have it."""
    found = []
    conditions = odd.get("condition", {})
    for number, position in enumerate(positions, 1):
        fastener = {
            "id": f"F{number}",
            "ledger": ledger,
            "position_in": position,
            "row": "upper" if number % 2 else "lower",
        }
        found.append({**fastener, **kind, "condition": conditions.get(number, "good")})
    return found


def _posts(
    beam: str, positions: Iterable[float], size: str, height_in: Iterable[float], wood: dict[str, Any], **more: Any
) -> list[dict[str, Any]]:
    return [
        {"id": f"P{n}", "beam": beam, "position_in": position, "size": size, "height_in": height, **wood, **more}
        for n, (position, height) in enumerate(zip(positions, height_in, strict=True), 1)
    ]


def _footings(count: int, **more: Any) -> list[dict[str, Any]]:
    return [{"id": f"FT{n}", "post": f"P{n}", **more} for n in range(1, count + 1)]


def raised_on_a_slope() -> Deck:
    """16 by 12 ft, ten feet up at the low side; two lag screws gone, one loose; tall slender posts; notched guard posts."""
    positions = [4, 16, 28, 40, 52, 64, 76, 88, 100, 112, 124, 136, 148, 160, 172, 188]
    return {
        "levels": [{"id": "L1", "name": "kitchen deck", "height_in": 118, "width_in": 192, "depth_in": 156, "stands": "on a ledger",
                    "decking": "1-1/4 in thick wood", "surface_condition": "some soft boards"}],
        "ledgers": [{"id": "LD1", "level": "L1", "length_in": 192, "size": "2x10", **PINE, "house_band": "2x lumber", "sheathing_in": 0.469,
                     "upper_row_from_top_in": 2, "lower_row_from_bottom_in": 2.5, "flashing": "none", "staining": True, "moisture_percent": 24}],
        "fasteners": _row("LD1", positions, LAG, condition={6: "missing", 7: "missing", 8: "loose"}),
        "joist_fields": [{"id": "J1", "level": "L1", "size": "2x10", **PINE, "spacing_in": 16, "count": 13, "span_in": 144, "overhang_in": 12,
                          "ledger": "LD1", "beam": "B1", "house_end": "joist hanger", "hanger_rated_lb": 705, "hanger_fasteners_present": 0.6, "bearing_in": 3}],
        "beams": [{"id": "B1", "level": "L1", "size": "2x10", "plies": 2, **TENS, **PINE, "spans_in": [94, 94], "overhang_left_in": 2, "overhang_right_in": 2, "runs": "spliced over posts",
                   "seat": "bolted to the side of the post", "seat_bolts": 2, "seat_bolt_diameter_in": 0.5}],
        "posts": _posts("B1", [2, 96, 190], "4x4", [84, 99, 108], PINE, base="on a bare block", is_braced=False),
        "footings": _footings(3, shape="square", width_in=16, thickness_in=4, depth_in=4),
        "guards": [
            {"id": "G1", "level": "L1", "name": "long side", "is_present": True, "drop_in": 118, "height_in": 35, "largest_opening_in": 6.25, "bottom_gap_in": 3,
             "post_size": "4x4", "species": "southern pine", "grade": "No. 2", "post_spacing_in": 84, "post_notch_in": 1.5, "attachment": "bolts through the rim only",
             "bolts": 2, "bolt_diameter_in": 0.5, "rim_size": "2x10", "upper_bolt_from_top_in": 2, "bolt_spacing_in": 5},
            {"id": "G2", "level": "L1", "name": "east side", "is_present": True, "drop_in": 104, "height_in": 36, "largest_opening_in": 3.75, "bottom_gap_in": 3,
             "post_size": "4x4", "species": "southern pine", "grade": "No. 2", "post_spacing_in": 70, "post_notch_in": 1.5, "attachment": "bolts through the rim only",
             "bolts": 2, "bolt_diameter_in": 0.5, "rim_size": "2x10", "upper_bolt_from_top_in": 2, "bolt_spacing_in": 5},
        ],
        "stairs": [{"id": "S1", "level": "L1", "name": "garden stair", "risers_in": [7.5] * 14 + [8.25], "treads_in": [10.25] * 14, "width_in": 36, "riser_opening_in": 5.5,
                    "handrail": "one side", "handrail_height_in": 35, "can_be_gripped": False, "stringer": "cut", "stringer_count": 2, "stringer_spacing_in": 34,
                    "stringer_span_in": 144, "throat_in": 4.75, "species": "southern pine", "top_held_by": "nails or screws only"}],
    }  # fmt: skip


def second_storey_balcony() -> Deck:
    """A shallow balcony outside a bedroom, nine feet up, decay below the door."""
    return {
        "levels": [{"id": "L1", "name": "bedroom balcony", "height_in": 110, "width_in": 144, "depth_in": 66, "stands": "on a ledger", "decking": "1-1/4 in thick wood",
                    "surface_condition": "firm"}],
        "ledgers": [{"id": "LD1", "level": "L1", "length_in": 144, "size": "2x8", **HEM, "house_band": "2x lumber", "sheathing_in": 0.469, "flashing": "present, not lapped", "staining": True,
                     "decay_depth_in": 0.5, "moisture_percent": 28, "upper_row_from_top_in": 2, "lower_row_from_bottom_in": 1.75}],
        "fasteners": _row("LD1", [3, 26, 49, 72, 95, 118, 141], LAG, condition={4: "corroded"}),
        "joist_fields": [{"id": "J1", "level": "L1", "size": "2x8", **HEM, "spacing_in": 16, "count": 10, "span_in": 60, "ledger": "LD1", "beam": "B1",
                          "house_end": "joist hanger", "hanger_rated_lb": 545, "bearing_in": 3}],
        "beams": [{"id": "B1", "level": "L1", "size": "2x8", "plies": 2, **TENS, **HEM, "spans_in": [136], "overhang_left_in": 4, "overhang_right_in": 4, "runs": "continuous",
                   "seat": "in a notch of the post", "bearing_in": 3}],
        "posts": _posts("B1", [4, 140], "6x6", [100, 100], HEM, base="metal base above the concrete", notch_depth_in=3.0, is_braced=True),
        "footings": _footings(2, shape="round", width_in=14, thickness_in=10, depth_in=24),
        "guards": [{"id": "G1", "level": "L1", "is_present": True, "drop_in": 110, "height_in": 34, "largest_opening_in": 3.5, "bottom_gap_in": 2.5, "post_size": "4x4",
                    "species": "hem-fir", "grade": "No. 2", "post_spacing_in": 66, "attachment": "bolts through rim and blocking", "bolts": 2, "bolt_diameter_in": 0.5, "rim_size": "2x8",
                    "upper_bolt_from_top_in": 2, "bolt_spacing_in": 3.5}],
    }  # fmt: skip


def low_platform() -> Deck:
    """A free-standing platform a step above the lawn; little to go wrong."""
    return {
        "levels": [{"id": "L1", "name": "lawn platform", "height_in": 17, "width_in": 168, "depth_in": 120, "stands": "free-standing", "decking": "2 in thick wood", "surface_condition": "firm"}],
        "joist_fields": [{"id": "J1", "level": "L1", "size": "2x8", **FIR, "spacing_in": 16, "count": 11, "span_in": 96, "overhang_in": 10, "inner_beam": "B1", "beam": "B2",
                          "house_end": "on top of a beam", "bearing_in": 3}],
        "beams": [
            {"id": "B1", "name": "inner beam", "level": "L1", "size": "2x8", "plies": 2, **TENS, **FIR, "spans_in": [72, 72], "overhang_left_in": 12, "overhang_right_in": 12, "runs": "continuous",
             "seat": "on top of the post", "bearing_in": 3.5},
            {"id": "B2", "name": "outer beam", "level": "L1", "size": "2x8", "plies": 2, **TENS, **FIR, "spans_in": [72, 72], "overhang_left_in": 12, "overhang_right_in": 12, "runs": "continuous",
             "seat": "on top of the post", "bearing_in": 3.5},
        ],
        "posts": [
            {"id": f"P{n}", "beam": beam, "position_in": position, "size": "4x4", "height_in": 6, **FIR, "base": "metal base above the concrete"}
            for n, (beam, position) in enumerate([("B1", 12), ("B1", 84), ("B1", 156), ("B2", 12), ("B2", 84), ("B2", 156)], 1)
        ],
        "footings": _footings(6, shape="round", width_in=16, thickness_in=12, depth_in=36),
        "stairs": [{"id": "S1", "level": "L1", "name": "two steps", "risers_in": [6.75, 6.75], "treads_in": [11.25], "width_in": 60, "handrail": "none", "riser_opening_in": 3.5,
                    "stringer": "cut", "stringer_count": 5, "stringer_spacing_in": 15, "stringer_span_in": 12, "throat_in": 5.5, "species": "douglas fir-larch",
                    "top_held_by": "resting on a ledger strip"}],
    }  # fmt: skip


def hot_tub_deck() -> Deck:
    """A sound deck that was never meant to carry the tub on it."""
    return {
        "levels": [{"id": "L1", "name": "terrace", "height_in": 40, "width_in": 216, "depth_in": 144, "stands": "on a ledger", "decking": "composite", "surface_condition": "firm"}],
        "ledgers": [{"id": "LD1", "level": "L1", "length_in": 216, "size": "2x10", **PINE, "house_band": "2x lumber", "sheathing_in": 0.469, "flashing": "lapped behind the wall covering",
                     "staining": False, "upper_row_from_top_in": 2, "lower_row_from_bottom_in": 2.5, "moisture_percent": 15}],
        "fasteners": _row("LD1", range(3, 216, 15), BOLT),
        "joist_fields": [
            {"id": "J1", "name": "open part", "level": "L1", "size": "2x10", **PINE, "spacing_in": 16, "count": 8, "span_in": 138, "ledger": "LD1", "beam": "B1", "house_end": "joist hanger",
             "hanger_rated_lb": 705, "bearing_in": 3},
            {"id": "J2", "name": "under the tub", "level": "L1", "size": "2x10", **PINE, "spacing_in": 12, "count": 8, "span_in": 138, "ledger": "LD1", "beam": "B1", "house_end": "joist hanger",
             "hanger_rated_lb": 705, "bearing_in": 3},
        ],
        "beams": [{"id": "B1", "level": "L1", "size": "2x12", "plies": 3, **TENS, **PINE, "spans_in": [102, 102], "overhang_left_in": 6, "overhang_right_in": 6, "runs": "continuous",
                   "seat": "on top of the post", "bearing_in": 5.5}],
        "posts": _posts("B1", [6, 108, 210], "6x6", [24, 26, 28], PINE, base="metal base above the concrete", is_braced=True),
        "footings": _footings(3, shape="round", width_in=20, thickness_in=12, depth_in=32),
        "guards": [{"id": "G1", "level": "L1", "is_present": True, "drop_in": 40, "height_in": 36.5, "largest_opening_in": 3.75, "bottom_gap_in": 3, "post_size": "4x4", "species": "southern pine",
                    "grade": "No. 2", "post_spacing_in": 68, "attachment": "bolts with a hold-down tension device", "bolts": 2, "bolt_diameter_in": 0.5, "rim_size": "2x10",
                    "upper_bolt_from_top_in": 2, "bolt_spacing_in": 5.25, "hold_down_rated_lb": 1900}],
        "stairs": [{"id": "S1", "level": "L1", "risers_in": [6.75] * 6, "treads_in": [11] * 5, "width_in": 48, "riser_opening_in": 3.5, "handrail": "one side", "handrail_height_in": 36,
                    "can_be_gripped": True, "stringer": "cut", "stringer_count": 4, "stringer_spacing_in": 15, "stringer_span_in": 55, "throat_in": 5.25, "species": "southern pine",
                    "top_held_by": "stringer hanger"}],
        "patches": [{"id": "PT1", "joist_field": "J2", "what": "hot tub", "load_psf": 112, "area_sqft": 49}],
        "lateral_ties": [{"id": "T1", "level": "L1", "rated_lb": 1500, "from_end_in": 18}, {"id": "T2", "level": "L1", "rated_lb": 1500, "from_end_in": 20}],
    }  # fmt: skip


def two_levels_with_stairs() -> Deck:
    """An upper deck at the house and a lower one in the garden, joined by a stair."""
    return {
        "levels": [
            {"id": "L1", "name": "upper level", "height_in": 72, "width_in": 180, "depth_in": 120, "stands": "on a ledger", "decking": "1-1/4 in thick wood", "surface_condition": "firm"},
            {"id": "L2", "name": "lower level", "height_in": 24, "width_in": 120, "depth_in": 120, "stands": "free-standing", "decking": "1-1/4 in thick wood", "surface_condition": "firm"},
        ],
        "ledgers": [{"id": "LD1", "level": "L1", "length_in": 180, "size": "2x8", **FIR, "house_band": "2x lumber", "sheathing_in": 0.469, "flashing": "cannot be seen",
                     "upper_row_from_top_in": 2, "lower_row_from_bottom_in": 1.75}],
        "fasteners": _row("LD1", range(6, 180, 18), LAG),
        "joist_fields": [
            {"id": "J1", "name": "upper joists", "level": "L1", "size": "2x8", **FIR, "spacing_in": 16, "count": 12, "span_in": 110, "overhang_in": 8, "ledger": "LD1", "beam": "B1",
             "house_end": "ledger strip", "bearing_in": 3},
            {"id": "J2", "name": "lower joists", "level": "L2", "size": "2x6", **FIR, "spacing_in": 24, "count": 6, "span_in": 100, "overhang_in": 8, "inner_beam": "B2", "beam": "B3",
             "house_end": "on top of a beam", "bearing_in": 3},
        ],
        "beams": [
            {"id": "B1", "level": "L1", "size": "4x8", "plies": 1, **FIR, "spans_in": [84, 84], "overhang_left_in": 6, "overhang_right_in": 6, "runs": "continuous", "seat": "on top of the post",
             "bearing_in": 3.5},
            {"id": "B2", "level": "L2", "size": "4x6", "plies": 1, **FIR, "spans_in": [100], "overhang_left_in": 10, "overhang_right_in": 10, "runs": "continuous", "seat": "on top of the post",
             "bearing_in": 3.5},
            {"id": "B3", "level": "L2", "size": "4x6", "plies": 1, **FIR, "spans_in": [100], "overhang_left_in": 10, "overhang_right_in": 10, "runs": "continuous", "seat": "on top of the post",
             "bearing_in": 3.5},
        ],
        "posts": [
            {"id": f"P{n}", "beam": beam, "position_in": at, "size": "4x4", "height_in": high, **FIR, "base": "metal base above the concrete", "is_braced": False}
            for n, (beam, at, high) in enumerate([("B1", 6, 58), ("B1", 90, 58), ("B1", 174, 58), ("B2", 10, 10), ("B2", 110, 10), ("B3", 10, 12), ("B3", 110, 12)], 1)
        ],
        "footings": _footings(7, shape="square", width_in=14, thickness_in=8, depth_in=20),
        "guards": [
            {"id": "G1", "level": "L1", "name": "upper guard", "is_present": True, "drop_in": 72, "height_in": 36, "largest_opening_in": 4.5, "bottom_gap_in": 3.5, "post_size": "4x4",
             "species": "douglas fir-larch", "grade": "No. 2", "post_spacing_in": 72, "attachment": "lag screws", "bolts": 2, "bolt_diameter_in": 0.375, "rim_size": "2x8",
             "upper_bolt_from_top_in": 2, "bolt_spacing_in": 3.25},
            {"id": "G2", "level": "L1", "name": "beside the stair", "stair": "S1", "is_present": False, "drop_in": 48},
        ],
        "stairs": [{"id": "S1", "level": "L1", "name": "between the levels", "risers_in": [8, 8, 8, 8, 8, 8], "treads_in": [9.5] * 5, "width_in": 40, "riser_opening_in": 6, "handrail": "none",
                    "stringer": "cut", "stringer_count": 3, "stringer_spacing_in": 19, "stringer_span_in": 48, "throat_in": 5, "species": "douglas fir-larch",
                    "top_held_by": "nails or screws only"}],
    }  # fmt: skip


def by_the_salt_water() -> Deck:
    """Forty yards from the shore: the wood is good, the metal is not."""
    return {
        "levels": [{"id": "L1", "name": "seaward deck", "height_in": 54, "width_in": 240, "depth_in": 120, "stands": "on a ledger", "decking": "2 in thick wood", "surface_condition": "firm"}],
        "ledgers": [{"id": "LD1", "level": "L1", "length_in": 240, "size": "2x10", **PINE, "house_band": "2x lumber", "sheathing_in": 0.469, "flashing": "lapped behind the wall covering",
                     "staining": True, "upper_row_from_top_in": 2, "lower_row_from_bottom_in": 2.5, "moisture_percent": 21}],
        "fasteners": [
            {**fastener, "corrosion_loss_in": 0.14 if number % 3 == 0 else 0.06}
            for number, fastener in enumerate(_row("LD1", range(6, 240, 19), BOLT, condition={3: "corroded", 6: "corroded", 9: "corroded", 12: "corroded"}), 1)
        ],
        "joist_fields": [{"id": "J1", "level": "L1", "size": "2x10", **PINE, "spacing_in": 16, "count": 16, "span_in": 110, "overhang_in": 6, "ledger": "LD1", "beam": "B1",
                          "house_end": "joist hanger", "hanger_rated_lb": 705, "hanger_fasteners_present": 0.5, "bearing_in": 3}],
        "beams": [{"id": "B1", "level": "L1", "size": "2x10", "plies": 3, **TENS, **PINE, "spans_in": [112, 112], "overhang_left_in": 8, "overhang_right_in": 8, "runs": "continuous",
                   "seat": "on top of the post", "bearing_in": 5.5}],
        "posts": _posts("B1", [8, 120, 232], "6x6", [38, 40, 41], PINE, base="metal base above the concrete", is_braced=True),
        "footings": _footings(3, shape="round", width_in=24, thickness_in=12, depth_in=24),
        "guards": [{"id": "G1", "level": "L1", "is_present": True, "drop_in": 54, "height_in": 42, "largest_opening_in": 3.25, "bottom_gap_in": 2, "post_size": "6x6", "species": "southern pine",
                    "grade": "No. 2", "post_spacing_in": 60, "attachment": "bolts with a hold-down tension device", "bolts": 2, "bolt_diameter_in": 0.5, "rim_size": "2x10",
                    "upper_bolt_from_top_in": 2, "bolt_spacing_in": 5.25, "hold_down_rated_lb": 2100}],
    }  # fmt: skip


def against_brick() -> Deck:
    """The ledger is bolted to a brick veneer; what stands behind cannot be seen."""
    return {
        "levels": [{"id": "L1", "height_in": 34, "width_in": 168, "depth_in": 132, "stands": "on a ledger", "decking": "1-1/4 in thick wood", "surface_condition": "firm"}],
        "ledgers": [{"id": "LD1", "level": "L1", "length_in": 168, "size": "2x8", "species": "unknown", "grade": "unknown", "is_incised": "unknown", "house_band": "masonry veneer",
                     "flashing": "cannot be seen"}],
        "fasteners": _row("LD1", range(8, 168, 24), {"fastener": "bolt", "diameter_in": 0.5, "length_in": "unknown"}),
        "joist_fields": [{"id": "J1", "level": "L1", "size": "2x8", "species": "unknown", "grade": "No. 2", "is_incised": "unknown", "spacing_in": 16, "count": 11, "span_in": 124, "ledger": "LD1",
                          "beam": "B1", "house_end": "joist hanger", "bearing_in": 3}],
        "beams": [{"id": "B1", "level": "L1", "size": "2x10", "plies": 2, "species": "unknown", "grade": "No. 2", "is_incised": "unknown", "spans_in": [80, 80], "overhang_left_in": 4,
                   "overhang_right_in": 4, "runs": "continuous", "seat": "on top of the post", "bearing_in": 3.5}],
        "posts": _posts("B1", [4, 84, 164], "4x4", [20, 20, 21], {"species": "unknown", "grade": "No. 2", "is_incised": "unknown"}, base="set in concrete"),
        "footings": [{"id": f"FT{n}", "post": f"P{n}", "shape": "round", "width_in": "unknown", "thickness_in": "unknown", "depth_in": "unknown"} for n in (1, 2, 3)],
        "guards": [{"id": "G1", "level": "L1", "is_present": True, "drop_in": 34, "height_in": 36, "largest_opening_in": 3.75, "bottom_gap_in": 3, "post_size": "4x4", "post_spacing_in": 72,
                    "attachment": "bracket on the surface"}],
    }  # fmt: skip


def built_last_year() -> Deck:
    """What a deck looks like when the tables were followed."""
    return {
        "levels": [{"id": "L1", "name": "garden deck", "height_in": 46, "width_in": 192, "depth_in": 138, "stands": "on a ledger", "decking": "1-1/4 in thick wood", "surface_condition": "firm"}],
        "ledgers": [{"id": "LD1", "level": "L1", "length_in": 192, "size": "2x10", **PINE, "house_band": "2x lumber", "sheathing_in": 0.469, "flashing": "lapped behind the wall covering",
                     "staining": False, "upper_row_from_top_in": 2, "lower_row_from_bottom_in": 2.5, "moisture_percent": 14}],
        "fasteners": _row("LD1", range(4, 192, 8), BOLT),
        "joist_fields": [{"id": "J1", "level": "L1", "size": "2x10", **PINE, "spacing_in": 16, "count": 13, "span_in": 120, "overhang_in": 12, "ledger": "LD1", "beam": "B1",
                          "house_end": "joist hanger", "hanger_rated_lb": 1000, "bearing_in": 4.5}],
        "beams": [{"id": "B1", "level": "L1", "size": "2x10", "plies": 3, **TENS, **PINE, "spans_in": [90, 90], "overhang_left_in": 6, "overhang_right_in": 6, "runs": "continuous",
                   "seat": "on top of the post", "bearing_in": 5.5}],
        "posts": _posts("B1", [6, 96, 186], "6x6", [30, 31, 33], PINE, base="metal base above the concrete", is_braced=True),
        "footings": _footings(3, shape="round", width_in=26, thickness_in=14, depth_in=36),
        "guards": [{"id": "G1", "level": "L1", "is_present": True, "drop_in": 46, "height_in": 36.25, "largest_opening_in": 3.75, "bottom_gap_in": 3, "post_size": "4x4", "species": "southern pine",
                    "grade": "No. 1", "post_spacing_in": 60, "attachment": "bolts with a hold-down tension device", "bolts": 2, "bolt_diameter_in": 0.5, "rim_size": "2x10",
                    "upper_bolt_from_top_in": 2, "bolt_spacing_in": 5.25, "hold_down_rated_lb": 2100}],
        "stairs": [{"id": "S1", "level": "L1", "risers_in": [6.5625] * 7, "treads_in": [11] * 6, "width_in": 42, "riser_opening_in": 3.5, "handrail": "one side", "handrail_height_in": 36,
                    "can_be_gripped": True, "stringer": "cut", "stringer_count": 4, "stringer_spacing_in": 13.5, "stringer_span_in": 66, "throat_in": 5.25, "species": "southern pine",
                    "top_held_by": "stringer hanger"}],
        "lateral_ties": [{"id": "T1", "level": "L1", "rated_lb": 1500, "from_end_in": 16}, {"id": "T2", "level": "L1", "rated_lb": 1500, "from_end_in": 16}],
    }  # fmt: skip


def nailed_to_the_house() -> Deck:
    """Thirty years old, the ledger held by nails alone, a post rotted at the ground."""
    return {
        "levels": [{"id": "L1", "name": "back deck", "height_in": 62, "width_in": 144, "depth_in": 120, "stands": "on a ledger", "decking": "1-1/4 in thick wood", "surface_condition": "soft or broken"}],
        "ledgers": [{"id": "LD1", "level": "L1", "length_in": 144, "size": "2x8", **HEM, "house_band": "2x lumber", "sheathing_in": 0.5, "flashing": "none", "staining": True, "decay_depth_in": 0.375,
                     "moisture_percent": 31}],
        "fasteners": _row("LD1", range(4, 144, 12), NAIL, condition={5: "corroded", 6: "corroded"}),
        "joist_fields": [{"id": "J1", "level": "L1", "size": "2x8", **HEM, "spacing_in": 24, "count": 7, "span_in": 114, "ledger": "LD1", "beam": "B1", "house_end": "nails only", "bearing_in": 3}],
        "beams": [{"id": "B1", "level": "L1", "size": "2x8", "plies": 2, **TENS, **HEM, "spans_in": [68, 68], "overhang_left_in": 4, "overhang_right_in": 4, "runs": "spliced between posts",
                   "seat": "on top of the post", "bearing_in": 3.5, "decay_depth_in": 0.25}],
        "posts": [
            {"id": f"P{n}", "beam": "B1", "position_in": at, "size": "4x4", "height_in": 54, **HEM, "base": "in the ground", "decay_depth_in": soft, "is_braced": False}
            for n, (at, soft) in enumerate([(4, 0.25), (72, 1.25), (140, 0.5)], 1)
        ],
        "footings": [{"id": f"FT{n}", "post": f"P{n}", "shape": "round", "width_in": "unknown", "thickness_in": "unknown", "depth_in": "unknown"} for n in (1, 2, 3)],
        "guards": [{"id": "G1", "level": "L1", "is_present": True, "drop_in": 62, "height_in": 30.5, "largest_opening_in": 9, "bottom_gap_in": 6, "post_size": "4x4", "species": "hem-fir",
                    "post_spacing_in": 96, "attachment": "nails or screws", "rim_size": "2x8"}],
        "stairs": [{"id": "S1", "level": "L1", "risers_in": [7.75, 7.75, 7.5, 8.25, 7.75, 7.75, 7.75, 7.5], "treads_in": [9.25] * 7, "width_in": 34, "riser_opening_in": 6, "handrail": "none",
                    "stringer": "cut", "stringer_count": 2, "stringer_spacing_in": 31, "stringer_span_in": 70, "throat_in": 3.5, "species": "hem-fir", "top_held_by": "nails or screws only"}],
    }  # fmt: skip


def long_joists() -> Deck:
    """Bought with the house: the joists were stretched a size too far, the rest is sound."""
    return {
        "levels": [{"id": "L1", "name": "west deck", "height_in": 38, "width_in": 240, "depth_in": 192, "stands": "on a ledger", "decking": "composite", "surface_condition": "firm"}],
        "ledgers": [{"id": "LD1", "level": "L1", "length_in": 240, "size": "2x10", **HEM, "house_band": "1-1/8 in engineered wood", "sheathing_in": 0.469, "flashing": "lapped behind the wall covering",
                     "upper_row_from_top_in": 2, "lower_row_from_bottom_in": 2.5}],
        "fasteners": _row("LD1", range(5, 240, 10), BOLT),
        "joist_fields": [{"id": "J1", "level": "L1", "size": "2x10", **HEM, "spacing_in": 16, "count": 16, "span_in": 186, "ledger": "LD1", "beam": "B1", "house_end": "joist hanger",
                          "hanger_rated_lb": 800, "bearing_in": 3}],
        "beams": [{"id": "B1", "level": "L1", "size": "2x12", "plies": 3, **TENS, **HEM, "spans_in": [78, 76, 78], "overhang_left_in": 4, "overhang_right_in": 4, "runs": "continuous",
                   "seat": "on top of the post", "bearing_in": 5.5}],
        "posts": _posts("B1", [4, 82, 158, 236], "6x6", [20, 20, 21, 22], HEM, base="metal base above the concrete", is_braced=False),
        "footings": _footings(4, shape="square", width_in=24, thickness_in=12, depth_in=36),
        "guards": [{"id": "G1", "level": "L1", "is_present": True, "drop_in": 38, "height_in": 36, "largest_opening_in": 3.9375, "bottom_gap_in": 3.5, "post_size": "4x4", "species": "hem-fir",
                    "grade": "No. 2", "post_spacing_in": 71, "attachment": "bolts through rim and blocking", "bolts": 2, "bolt_diameter_in": 0.5, "rim_size": "2x10", "upper_bolt_from_top_in": 2,
                    "bolt_spacing_in": 5.25}],
    }  # fmt: skip


def small_landing() -> Deck:
    """A landing with a stair outside a side door."""
    return {
        "levels": [{"id": "L1", "name": "side landing", "height_in": 44, "width_in": 60, "depth_in": 48, "stands": "on a ledger", "decking": "2 in thick wood", "surface_condition": "firm"}],
        "ledgers": [{"id": "LD1", "level": "L1", "length_in": 60, "size": "2x8", **PINE, "house_band": "2x lumber", "sheathing_in": 0.469, "flashing": "present, not lapped",
                     "upper_row_from_top_in": 2, "lower_row_from_bottom_in": 1.75}],
        "fasteners": _row("LD1", [4, 30, 56], LAG),
        "joist_fields": [{"id": "J1", "level": "L1", "size": "2x8", **PINE, "spacing_in": 15, "count": 5, "span_in": 42, "ledger": "LD1", "beam": "B1", "house_end": "joist hanger",
                          "hanger_rated_lb": 545, "bearing_in": 3}],
        "beams": [{"id": "B1", "level": "L1", "size": "2x8", "plies": 2, **TENS, **PINE, "spans_in": [54], "overhang_left_in": 3, "overhang_right_in": 3, "runs": "continuous",
                   "seat": "on top of the post", "bearing_in": 3.5}],
        "posts": _posts("B1", [3, 57], "4x4", [34, 34], PINE, base="set in concrete"),
        "footings": _footings(2, shape="round", width_in=12, thickness_in=8, depth_in=18),
        "guards": [{"id": "G1", "level": "L1", "is_present": True, "drop_in": 44, "height_in": 36, "largest_opening_in": 4, "bottom_gap_in": 2, "post_size": "4x4", "species": "southern pine",
                    "post_spacing_in": 48, "attachment": "bolts through rim and blocking", "bolts": 2, "bolt_diameter_in": 0.5, "rim_size": "2x8", "upper_bolt_from_top_in": 2, "bolt_spacing_in": 3.5}],
        "stairs": [{"id": "S1", "level": "L1", "risers_in": [7.25, 7.375, 7.25, 7.375, 7.375, 7.375], "treads_in": [10] * 5, "width_in": 38, "riser_opening_in": 3.75, "handrail": "both sides",
                    "handrail_height_in": 35.5, "can_be_gripped": True, "stringer": "solid", "stringer_count": 2, "stringer_spacing_in": 36, "stringer_span_in": 50,
                    "species": "southern pine", "top_held_by": "stringer hanger"}],
    }  # fmt: skip


def just_begun() -> Deck:
    """The record of a visit that is under way: the house side is measured, the rest not yet."""
    whole = built_last_year()
    level = {**whole["levels"][0], "name": "family room deck", "width_in": 168, "height_in": 58}
    ledger = {**whole["ledgers"][0], "length_in": 168}
    joists = {
        "id": "J1",
        "level": "L1",
        "size": "2x8",
        "species": "unknown",
        "spacing_in": 16,
        "count": 11,
        "span_in": 132,
        "ledger": "LD1",
        "house_end": "joist hanger",
    }
    return {
        "levels": [level],
        "ledgers": [ledger],
        "fasteners": _row("LD1", range(6, 168, 20), LAG, condition={2: "loose"}),
        "joist_fields": [joists],
    }


DECKS = {
    deck.__name__: deck
    for deck in (
        raised_on_a_slope, second_storey_balcony, low_platform, hot_tub_deck, two_levels_with_stairs, by_the_salt_water,
        against_brick, built_last_year, nailed_to_the_house, long_joists, small_landing, just_begun,
    )
}  # fmt: skip
