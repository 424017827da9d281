"""Joist spans and overhangs of the published tables."""

from __future__ import annotations

from engine.codes.rows import Published, Row, at_most, exact_rows, join, no_worse_than_no_2, number, table_species_rows
from engine.codes.rules import RuleLookups
from engine.errors import NotPublished
from engine.sections import find_size


class JoistTables(RuleLookups):
    """The joist tables of an edition."""

    def joist_span(
        self,
        species: str,
        size: str,
        spacing_in: float,
        live: float = 40,
        snow: float = 0,
        *,
        grade: str = "No. 2",
        with_overhang: bool = False,
    ) -> Published:
        """Longest joist span (in) of the table, for No. 2 lumber or better; loads are psf on top of 10 psf dead load.

        `with_overhang` asks for the column of joists that overhang the beam, where the edition has one.
        """
        no_worse_than_no_2(grade)
        _, rows = self._rows("joist_span")
        rows = self._joist_rows(rows, species, size, spacing_in, live, snow)
        row = rows[0]
        column = "span_in"
        confirmed = row["confirmed"]
        if with_overhang and "span_with_overhang_in" in row:
            column, confirmed = "span_with_overhang_in", row["confirmed_with_overhang"]
        return self._published(
            "joist_span", number(row, column), "in", str(confirmed), row, self._row_note(row, spacing_in)
        )

    def joist_overhang(
        self,
        species: str,
        size: str,
        spacing_in: float,
        span_in: float | None = None,
        live: float = 40,
        snow: float = 0,
        *,
        grade: str = "No. 2",
    ) -> Published:
        """Longest joist overhang (in) past the beam: the table's value, and at most a quarter of the actual span.

        IRC 2015 and 2018 have no value of their own: a joist whose span is within the column for overhanging joists
        may overhang a quarter of it, another may not overhang; they need `span_in`.
        """
        no_worse_than_no_2(grade)
        _, rows = self._rows("joist_overhang")
        row = self._joist_rows(rows, species, size, spacing_in, live, snow)[0]
        note = self._row_note(row, spacing_in)
        quarter = self.rule("joist.max_cantilever_ratio").value
        if "overhang_in" in row:
            value_in = number(row, "overhang_in")
            if span_in is not None and quarter * span_in < value_in:
                value_in, note = quarter * span_in, join(note, "a quarter of the actual span is less than the row")
            return self._published("joist_overhang", value_in, "in", str(row["confirmed_overhang"]), row, note)
        if span_in is None:
            raise NotPublished(f"{self.name} gives the overhang as a quarter of the actual span: the span is needed")
        allowed_in = number(row, "span_with_overhang_in")
        within = span_in <= allowed_in
        reason = f"joists of this row may overhang a quarter of their span up to a span of {allowed_in:g} in"
        value_in = quarter * span_in if within else 0.0
        confirmed = str(row["confirmed_with_overhang"])
        return self._published("joist_overhang", value_in, "in", confirmed, row, join(note, reason))

    def _joist_rows(
        self,
        rows: list[Row],
        species: str,
        size: str,
        spacing_in: float,
        live: float,
        snow: float,
    ) -> list[Row]:
        rows = self._load_rows(table_species_rows(rows, species, self.name), live, snow)
        rows = exact_rows(rows, size=find_size(size).name)
        if not rows:
            raise NotPublished(f"{self.name} lists no {size} joist of {species}")
        spacing = at_most(sorted({number(r, "spacing_in") for r in rows}), spacing_in, "spacing_in")
        return exact_rows(rows, spacing_in=spacing)

    def _row_note(self, row: Row, spacing_in: float) -> str:
        taken = number(row, "spacing_in")
        stricter = "" if taken == spacing_in else f"the row for {taken:g} in spacing, the next stricter"
        snow = number(row, "snow_psf")
        return join(stricter, f"the row for {snow:g} psf ground snow" if snow else "")
