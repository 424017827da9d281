"""Beam spans of the published tables."""

from __future__ import annotations

from engine.codes.base import questions
from engine.codes.rows import Published, at_most_row, join, no_worse_than_no_2, number, table_species_rows
from engine.codes.rules import RuleLookups
from engine.errors import NotPublished
from engine.sections import find_size


class BeamTables(RuleLookups):
    """The beam tables of an edition."""

    def beam_span(
        self,
        species: str,
        size: str,
        plies: int,
        joist_span_in: float,
        joist_overhang_in: float | None = None,
        live: float = 40,
        snow: float = 0,
        *,
        grade: str = "No. 2",
    ) -> Published:
        """Longest beam span (in) of the table; the note says between which points it is measured.

        The joists come from one side. IRC 2021 and 2024 scale the joist span by their overhang: None means a quarter.
        """
        no_worse_than_no_2(grade)
        _, rows = self._rows("beam_span")
        span_ft = joist_span_in / 12
        note = ""
        if (self.name, "joist_span_factor") in questions():
            factor = self.joist_span_factor(joist_span_in, joist_overhang_in)
            span_ft *= factor.value
            note = join(note, f"effective joist span {span_ft * 12:.1f} in, factor {factor.value:g}")
        rows = table_species_rows(rows, species, self.name)
        rows = self._load_rows(rows, live, snow)
        name = find_size(size).name
        rows = [
            r for r in rows if (r["size"] == name and r["plies"] == plies) or (plies == 1 and r["also_size"] == name)
        ]
        if not rows:
            raise NotPublished(f"{self.name} lists no {plies}-ply {name} beam of {species}")
        row, stricter = at_most_row(rows, "joist_span_ft", span_ft, "joist_span_in", 12)
        if stricter:
            note = join(note, f"the row for joists of {number(row, 'joist_span_ft'):g} ft was taken, the next stricter")
        return self._published("beam_span", number(row, "span_in"), "in", str(row["confirmed"]), row, note)

    def joist_span_factor(self, joist_span_in: float, joist_overhang_in: float | None = None) -> Published:
        """Factor on the joist span for the beam table, by the share of the overhang (None: a quarter).

        Between two rows the larger factor is taken. Raises OutOfRange past a quarter.
        """
        _, rows = self._rows("joist_span_factor")
        share = 0.25 if joist_overhang_in is None else joist_overhang_in / joist_span_in
        row, stricter = at_most_row(rows, "overhang_share", share, "joist_overhang_in", joist_span_in)
        note = "the next larger factor of the table" if stricter else ""
        return self._published("joist_span_factor", number(row, "factor"), "-", str(row["confirmed"]), row, note)
