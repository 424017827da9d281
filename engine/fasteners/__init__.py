"""Dowel-type fasteners: bolts, lag screws, nails and wood screws in wood, steel side plates and concrete.

`parts` says what a fastener and a connected part are; `bearing` how strongly a part bears on the dowel;
`yield_limits` the lateral value and `gap` the same across sheathing; `withdrawal` the pull-out value; `geometry` and
`group` the factors for measured distances and for many fasteners in a row; `adjust` puts the factors on a reference
value. All ASD, NDS 2018.
"""

from engine.fasteners.adjust import Adjusted, adjusted_lateral, adjusted_withdrawal, over_length
from engine.fasteners.gap import lateral_across_gap
from engine.fasteners.geometry import (
    Geometry,
    edge_distance_minimum_in,
    geometry_factor,
    row_spacing_minimum_in,
)
from engine.fasteners.group import group_action_factor
from engine.fasteners.parts import (
    Fastener,
    Part,
    common_nail,
    corroded,
    driven_into,
    lag_thread_length_in,
    main_bearing_length_in,
    minimum_penetration_in,
    sheet_gauge_in,
    wood_screw,
)
from engine.fasteners.toe_nails import toe_nail_lengths_in
from engine.fasteners.withdrawal import (
    Withdrawal,
    combined_load_capacity_lb,
    head_pull_through,
    withdrawal,
    withdrawal_capacity,
)
from engine.fasteners.yield_limits import Lateral, lateral

__all__ = [
    "Adjusted",
    "Fastener",
    "Geometry",
    "Lateral",
    "Part",
    "Withdrawal",
    "adjusted_lateral",
    "adjusted_withdrawal",
    "combined_load_capacity_lb",
    "common_nail",
    "corroded",
    "driven_into",
    "edge_distance_minimum_in",
    "geometry_factor",
    "group_action_factor",
    "head_pull_through",
    "lag_thread_length_in",
    "lateral",
    "lateral_across_gap",
    "main_bearing_length_in",
    "minimum_penetration_in",
    "over_length",
    "row_spacing_minimum_in",
    "sheet_gauge_in",
    "toe_nail_lengths_in",
    "withdrawal",
    "withdrawal_capacity",
    "wood_screw",
]
