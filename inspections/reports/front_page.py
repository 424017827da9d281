"""What has room on the first page of print, which is to say everything at one glance.

Heights are estimated from the number of letters, for the type and the widths of `report_print.css`: setting the page
to measure it would take as long as drawing it. The estimate is on the large side.
"""

from collections.abc import Sequence
from dataclasses import dataclass

LINE_MM, SENTENCE_LINE_MM, TITLE_LINE_MM, FACT_LINE_MM = 4.81, 7.0, 9.6, 4.51
LINE, SENTENCE_LINE, TITLE_LINE, COLUMN_LINE, FACT_LINE = 98, 58, 38, 50, 28  # letters that go on a line of each
PHOTO_MM, PLAN_MM = (26, 70), (50, 90)  # the least that shows something, and the most
PHOTO_EDGE_MM, PLAN_EDGE_MM = 2, 6  # what stands around each
_ROOM_MM = {"letter": 279.4 - 15 - 19, "A4": 297.0 - 15 - 19}
_FIXED_MM = 30 + 6 + 1.2 + 11 + 21.5 + 10  # letterhead, kind, town, edges of the answer, caution at the foot


@dataclass(frozen=True)
class FrontPage:
    """How high a photo and the plan may be, 0 where there is no room; whether the summary must stand after the rest."""

    photo_mm: float
    plan_mm: float
    summary_goes_last: bool


@dataclass(frozen=True)
class FrontWords:
    """What is to be said on it. `actions` are pairs: the line that says what, and the line of when and who."""

    street: str
    sentence: str
    beside: Sequence[str]
    why_new: str
    summary: str
    actions: Sequence[tuple[str, str]]
    facts: Sequence[str]


def front_page(words: FrontWords, paper: str) -> FrontPage:
    """What fits on a page of the firm's paper."""
    summary = sum(_lines(each, LINE) * 5.2 for each in words.summary.splitlines()) + (6 if words.summary else 0)
    used = (
        _FIXED_MM
        + _lines(words.street, TITLE_LINE) * TITLE_LINE_MM
        + _lines(words.sentence, SENTENCE_LINE) * SENTENCE_LINE_MM
        + sum(_lines(each, LINE - 6) * LINE_MM + 2 for each in words.beside if each)
        + (_lines(words.why_new, LINE) * LINE_MM + 2 if words.why_new else 0)
        + max(_of_actions(words.actions), 7 + sum(_lines(each, FACT_LINE) * FACT_LINE_MM + 1 for each in words.facts))
        + 4
    )
    left = _ROOM_MM.get(paper, _ROOM_MM["letter"]) - used - summary
    return FrontPage(_height(left - PHOTO_EDGE_MM, *PHOTO_MM), _height(left - PLAN_EDGE_MM, *PLAN_MM), left < 0)


def _height(room_mm: float, least_mm: float, most_mm: float) -> float:
    return round(min(room_mm, most_mm), 1) if room_mm >= least_mm else 0


def _of_actions(actions: Sequence[tuple[str, str]]) -> float:
    lines = sum(_lines(words, COLUMN_LINE) for pair in actions for words in pair)
    return 7 + lines * LINE_MM + len(actions) * 2.4 + LINE_MM + 2


def _lines(words: str, letters: int) -> int:
    return -(-len(words) // letters) if words else 0
