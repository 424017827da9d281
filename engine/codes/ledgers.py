"""Ledger fastener spacing and decking of the published tables."""

from __future__ import annotations

from dataclasses import replace

from engine.codes.rows import Published, at_most, at_most_row, exact_rows, join, number
from engine.codes.rules import RuleLookups
from engine.errors import NotPublished, OutOfRange

GUIDE = "DCA 6-2012"


def _ledger_fastener(name: str) -> str:
    """The table's name of a fastener: `lag`, `1/2 in bolt`, `bolt with stacked washers` and the like."""
    plain = name.strip().lower()
    if "washer" in plain:
        return "1/2 in bolt with up to 1/2 in stacked washers"
    if "lag" in plain:
        return "1/2 in lag screw"
    return "1/2 in bolt" if "bolt" in plain else plain


def _band_joist(name: str) -> str:
    plain = name.strip().lower().removesuffix("(ewp)").strip()
    if plain in ("2x lumber", "2x", "2 in lumber", "solid sawn"):
        return "2x lumber"
    return f"{plain} (EWP)" if plain.endswith("engineered wood") else plain


def _decking(name: str) -> str:
    plain = name.strip().lower()
    if plain.startswith(("5/4", "1-1/4", "1 1/4")):
        return "1-1/4 in thick wood"
    return "2 in thick wood" if plain.startswith("2") else plain


class LedgerTables(RuleLookups):
    """The ledger and decking tables of an edition."""

    def ledger_spacing(
        self,
        fastener: str,
        band_joist: str,
        joist_span_in: float,
        load_psf: float = 40,
        sheathing_in: float = 0.0,
        *,
        load_kind: str | None = None,
    ) -> Published:
        """Greatest spacing on centre (in) of ledger fasteners; the table rests on tests, not on computed values.

        `fastener` is `1/2 in lag screw`, `1/2 in bolt` or the bolt with stacked washers, `band_joist` as the table
        names it (`2x lumber`). `load_psf` is 40 live load, or the ground snow load (`load_kind="ground snow"`, taken
        so above 40 unless "live" is said). `sheathing_in` is what lies between ledger and band joist.

        For a band of engineered wood that the edition's own table lacks, the rows of DCA 6-2012 answer, with
        `in_edition` false.
        """
        if not self._lists_band(fastener, band_joist) and self.name != GUIDE:
            return self._by_the_guide(fastener, band_joist, joist_span_in, load_psf, sheathing_in, load_kind)
        _, rows = self._rows("ledger_spacing")
        if load_kind == "live" and load_psf > 40:
            raise OutOfRange("load_psf", load_psf, "at most 40 live load: larger loads stand in the table as snow")
        snow = load_psf if load_psf > 40 else 0.0
        rows = self._load_rows(rows, min(load_psf, 40.0), snow)
        fastener, band_joist = _ledger_fastener(fastener), _band_joist(band_joist)
        rows = [r for r in rows if r["fastener"] == fastener and r["band_joist"] == band_joist]
        if not rows:
            raise NotPublished(f"{self.name} lists no {fastener} into {band_joist} at {load_psf:g} psf")
        gaps = sorted({number(r, "sheathing_in") for r in rows})
        # Sheathing called 1/2 in is 15/32 in thick: 1/32 in more than the older tables' limit is the same board.
        gap = at_most(gaps, sheathing_in, "sheathing_in", slack=0.032)
        row, stricter = at_most_row(
            [r for r in rows if r["sheathing_in"] == gap], "joist_span_ft", joist_span_in / 12, "joist_span_in", 12
        )
        note = f"the row for joists of {number(row, 'joist_span_ft'):g} ft, the next stricter" if stricter else ""
        if snow:
            note = join(note, f"the row for {number(row, 'snow_psf'):g} psf ground snow")
        return self._published("ledger_spacing", number(row, "spacing_in"), "in", str(row["confirmed"]), row, note)

    def _lists_band(self, fastener: str, band_joist: str) -> bool:
        _, rows = self._rows("ledger_spacing")
        wanted = (_ledger_fastener(fastener), _band_joist(band_joist))
        return any((row["fastener"], row["band_joist"]) == wanted for row in rows)

    def _by_the_guide(
        self,
        fastener: str,
        band_joist: str,
        joist_span_in: float,
        load_psf: float,
        sheathing_in: float,
        load_kind: str | None,
    ) -> Published:
        guide = LedgerTables(GUIDE, self.amendments, self.confirmed_keys)
        if not guide._lists_band(fastener, band_joist):
            fastener, band_joist = _ledger_fastener(fastener), _band_joist(band_joist)
            raise NotPublished(f"{self.name} lists no {fastener} into {band_joist} at {load_psf:g} psf")
        found = guide.ledger_spacing(fastener, band_joist, joist_span_in, load_psf, sheathing_in, load_kind=load_kind)
        note = join(f"{self.name} holds no row for a band of {_band_joist(band_joist)}: {GUIDE} answers", found.note)
        return replace(found, note=note, in_edition=False)

    def decking_spacing(
        self, decking: str, direction: str = "perpendicular", board_span: str = "multiple"
    ) -> Published:
        """Greatest joist spacing (in) under wood decking: `1-1/4 in thick wood` (5/4 board) or `2 in thick wood`.

        `direction` is perpendicular or diagonal to the joists; `board_span` single (two joists) or multiple.
        """
        _, rows = self._rows("decking_spacing")
        kind = "single" if board_span in ("single", "single span", "two joists") else "multiple"
        for row in exact_rows(rows, decking=_decking(decking), direction=direction):
            if str(row["board_span"]) in ("any", f"{kind} span"):
                return self._published(
                    "decking_spacing", number(row, "spacing_in"), "in", str(row["confirmed"]), row, ""
                )
        raise NotPublished(f"{self.name} lists no {direction} {decking}")
