"""Single rules of the codes and guides, by key."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from engine import tables
from engine.codes.base import EditionBase
from engine.codes.rows import Published, Row
from engine.errors import NotPublished

# Numbers that are told to people or used in drawing up a repair, and that no check judges by: an amendment of one of
# them changes no verdict.
NOT_READ = frozenset((
    "load.deck_live_west_coast_local", "guard.required_drop_reach", "guard.top_as_handrail_max",
    "guard.required_drop_wisconsin", "guard.screen_not_guard", "guard_post.bolt_edge_bottom_max",
    "guard_post.bolt_only_mean_failure", "guard_post.lag_only_mean_failure", "stair.min_width_one_handrail",
    "stair.min_width_two_handrails", "stair.landing_depth", "handrail.round_min", "handrail.shaped_perimeter_min",
    "handrail.shaped_perimeter_max", "handrail.shaped_max_section", "handrail.wall_clearance",
    "handrail.min_height_wisconsin", "handrail.trigger_wisconsin", "stringer.min_size", "ledger.no_girders",
    "ledger.no_veneer", "ledger.no_house_overhang", "ledger.nails_in_withdrawal_allowed",
    "ledger.self_supporting_if_unverified", "band.edge_top_min", "band.edge_bottom_min",
    "ledger.lower_row_to_top_2x8", "ledger.lower_row_to_top_2x10", "ledger.lower_row_to_top_2x12",
    "ledger.lower_row_to_top_2x8_reduced", "ledger.fastener_diameter", "ledger.flashing_thickness",
    "ledger.aluminum_flashing_on_copper_treated", "ledger.band_min", "lateral.lag_thread_into_wall",
    "bearing.masonry", "beam.splice_over_post_min", "joist.lateral_restraint_depth", "joist.rim_nails",
    "joist.length_limit", "post.max_height_dca6", "footing.concrete_strength_dca6", "footing.corner_post_factor",
    "footing.depth_wisconsin", "footing.exempt_area", "footing.exempt_height", "permit.exempt_area", "brace.drop",
    "brace.on_middle_posts", "freestanding.sheathing_min", "hanger.min_capacity_2x6", "hanger.min_capacity_2x8",
    "hanger.min_capacity_2x10", "hanger.min_capacity_2x12", "hanger.screws_allowed",
    "fastener.connector_zinc_weight", "fastener.stainless_near_salt_water", "fastener.no_mixed_metals",
    "treatment.low_clearance", "treatment.incising_assumed", "treatment.wet_service_assumed", "beam.snow_scale_50",
    "beam.snow_scale_60", "beam.snow_scale_70",
))  # fmt: skip


@cache
def _rules() -> Mapping[str, Row]:
    return {str(row["key"]): row for row in tables.load("rules").rows}


def rule_row(key: str) -> Row:
    """The row of a rule. Raises NotPublished for a key that is not held."""
    found = _rules().get(key)
    if found is None:
        raise NotPublished(f"no rule is held under the key {key!r}")
    return found


@cache
def names_edition(text: str, name: str) -> bool:
    """Does `IRC 2009-2024; DCA 6-2012` name this edition?"""
    for part in text.split(";"):
        years = re.fullmatch(r"IRC (\d{4})(?:-(\d{4}))?", part.strip())
        if years and name.startswith("IRC "):
            first, last = int(years[1]), int(years[2] or years[1])
            if first <= int(name[4:]) <= last:
                return True
        elif part.strip() == name:
            return True
    return False


class RuleLookups(EditionBase):
    """The rules of an edition."""

    def rule(self, key: str) -> Published:
        """A single number of the code or guide, such as `guard.min_height`; a local amendment goes before it.

        `in_edition` says whether the rule's source names this edition; a rule of another guide is given all the same,
        with its own citation. Raises NotPublished for a key that is not held or whose value is words.
        """
        for amendment in self.amendments:
            if amendment.key == key:
                citation = amendment.citation
                return Published(amendment.value, amendment.unit, citation, "amendment", "local amendment")
        row = rule_row(key)
        value = row["value"]
        if not isinstance(value, (int, float)):
            raise NotPublished(f"the rule {key} is in words: {value}")
        inside = names_edition(str(row["edition"]), self.name)
        note = str(row["rule"]) if inside else f"{row['rule']} (read for {row['edition'] or 'no edition'})"
        confirmed = "firm" if key in self.confirmed_keys else str(row["confirmed"])
        return Published(float(value), str(row["unit"]), str(row["citation"]), confirmed, note, row, inside)

    def rule_text(self, key: str) -> str:
        """The value of a rule as words or number, such as `ASTM A153`."""
        return str(rule_row(key)["value"])
