"""Post heights and footing sizes of the published tables."""

from __future__ import annotations

from engine.codes.rows import Published, Row, at_most, at_most_row, join, number, table_species, table_species_rows
from engine.codes.rules import RuleLookups
from engine.errors import NotPublished, OutOfRange
from engine.records import dataclass
from engine.sections import find_size


@dataclass(frozen=True)
class PublishedFooting:
    """A footing by a published table: side of a square one, diameter of a round one, thickness (in)."""

    square_in: float
    round_in: float
    thickness_in: float
    citation: str
    confirmed: str
    note: str = ""


_POST_COLUMNS = {
    "Southern Pine": "height_southern_pine_in",
    "Douglas Fir-Larch": "height_douglas_fir_larch_in",
    "Hem-Fir": "height_hem_fir_western_cedars_in",
    "Western Cedars": "height_hem_fir_western_cedars_in",
    "Redwood": "height_redwood_in",
    "Ponderosa Pine": "height_ponderosa_red_pine_spf_in",
    "Red Pine": "height_ponderosa_red_pine_spf_in",
    "Spruce-Pine-Fir": "height_ponderosa_red_pine_spf_in",
}


def _post_column(species: str) -> str:
    return _POST_COLUMNS[table_species(species)]


class PostTables(RuleLookups):
    """The post and footing tables of an edition."""

    def post_height(
        self,
        species: str,
        size: str,
        tributary_area_sqft: float | None = None,
        live: float = 40,
        snow: float = 0,
        *,
        beam_span_in: float | None = None,
        joist_span_in: float | None = None,
    ) -> Published:
        """Greatest post height (in). DCA 6 asks for beam span and joist span, IRC 2021 and 2024 for the area."""
        table, rows = self._rows("post_height")
        if table == "posts_footings_dca6_2012":
            return self._dca6_post_height(rows, species, size, live, snow, beam_span_in, joist_span_in)
        rows = self._load_rows(rows, live, snow)
        rows = table_species_rows(rows, species, self.name)
        rows = [r for r in rows if r["size"] == find_size(size).name]
        if not rows:
            raise NotPublished(f"{self.name} lists no {size} post of {species} for these loads")
        row, note = rows[0], ""
        if row["tributary_area_sqft"] is not None:
            if tributary_area_sqft is None:
                raise NotPublished(f"{self.name} gives post heights by tributary area: the area is needed")
            row, stricter = at_most_row(rows, "tributary_area_sqft", tributary_area_sqft, "tributary_area_sqft")
            note = f"the row for {number(row, 'tributary_area_sqft'):g} sq ft, the next stricter" if stricter else ""
        return self._published("post_height", number(row, "height_in"), "in", str(row["confirmed"]), row, note)

    def _dca6_post_height(
        self,
        rows: list[Row],
        species: str,
        size: str,
        live: float,
        snow: float,
        beam_span_in: float | None,
        joist_span_in: float | None,
    ) -> Published:
        if find_size(size).name not in ("6x6", "8x8"):
            raise NotPublished(f"{self.name} lists posts of 6x6, which 8x8 may replace; not {size}")
        row, note = self._dca6_row(rows, live, snow, beam_span_in, joist_span_in)
        column = _post_column(species)
        value_in = number(row, column)
        note = join(note, "0 means that the table does not permit it" if value_in == 0 else "")
        note = join(note, "the species of the height columns are from memory")
        confirmed = str(row["confirmed_height_columns"])
        return self._published("post_height", value_in, "in", confirmed, row, note)

    def footing(
        self,
        tributary_area_sqft: float | None = None,
        soil_psf: float = 1500,
        live: float = 40,
        snow: float = 0,
        *,
        beam_span_in: float | None = None,
        joist_span_in: float | None = None,
    ) -> PublishedFooting:
        """Footing size by the table: IRC 2018 by tributary area and soil bearing, DCA 6 by beam span and joist span."""
        table, rows = self._rows("footing")
        asked = self._question("footing")
        if table == "posts_footings_dca6_2012":
            if soil_psf < self.rule("footing.soil_assumed_dca6").value:
                raise OutOfRange("soil_psf", soil_psf, "1500 or more: the table rests on 1500 psf")
            row, note = self._dca6_row(rows, live, snow, beam_span_in, joist_span_in)
        else:
            if tributary_area_sqft is None:
                raise NotPublished(f"{self.name} gives footings by tributary area: the area is needed")
            row, note = self._irc_footing_row(rows, tributary_area_sqft, soil_psf, max(live, snow))
        confirmed = self._how_known(asked, str(row["confirmed"]), row)
        square_in, round_in, thickness_in = (number(row, c) for c in ("square_in", "round_in", "thickness_in"))
        return PublishedFooting(square_in, round_in, thickness_in, asked.citation, confirmed, note)

    def _irc_footing_row(self, rows: list[Row], area_sqft: float, soil_psf: float, load_psf: float) -> tuple[Row, str]:
        loads = sorted({number(r, "load_psf") for r in rows})
        load = at_most(loads, load_psf, "load_psf")
        bearings = sorted({number(r, "soil_psf") for r in rows})
        below = [each for each in bearings if each <= soil_psf]
        if not below:
            raise OutOfRange("soil_psf", soil_psf, f"{bearings[0]:g} or more: the table starts there")
        rows = [r for r in rows if r["load_psf"] == load and r["soil_psf"] == below[-1]]
        row, stricter = at_most_row(rows, "tributary_area_sqft", area_sqft, "tributary_area_sqft")
        exact = not stricter and load == load_psf and below[-1] == soil_psf
        area = number(row, "tributary_area_sqft")
        note = f"the row for {area:g} sq ft, {load:g} psf, soil {below[-1]:g} psf: the next stricter"
        return row, "" if exact else note

    def _dca6_row(
        self,
        rows: list[Row],
        live: float,
        snow: float,
        beam_span_in: float | None,
        joist_span_in: float | None,
    ) -> tuple[Row, str]:
        if beam_span_in is None or joist_span_in is None:
            raise NotPublished(f"{self.name} goes by beam span and joist span: both are needed")
        at_most([40], max(live, snow), "load_psf")
        beam_ft = at_most(sorted({number(r, "beam_span_ft") for r in rows}), beam_span_in / 12, "beam_span_in", 12)
        joist_ft = at_most(sorted({number(r, "joist_span_ft") for r in rows}), joist_span_in / 12, "joist_span_in", 12)
        row = next(r for r in rows if r["beam_span_ft"] == beam_ft and r["joist_span_ft"] == joist_ft)
        exact = beam_ft * 12 == beam_span_in and joist_ft * 12 == joist_span_in
        return row, "" if exact else f"the row for a {beam_ft:g} ft beam and {joist_ft:g} ft joists, the next stricter"
