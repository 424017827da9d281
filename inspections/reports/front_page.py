"""What has room on the first page of print, which is to say everything at one glance.

The page is set once by itself, without photo and plan, to see how much of it is left: an estimate from the number of
letters was wrong by up to 26 mm, and a plan that had room was not drawn.
"""

import re
from dataclasses import dataclass

PHOTO_MM, PLAN_MM = (26, 70), (50, 90)  # the least that shows something, and the most
PHOTO_EDGE_MM, PLAN_EDGE_MM = 2, 6  # what stands around each
SPARE_MM = 5  # one line: a page number of two digits more may begin a new one
BOTTOM_MM = 19  # the margin of the first page in `report_print.css`
END = "front-end"
_TARGET = re.compile(r'href="#([\w-]+)"')


@dataclass(frozen=True)
class FrontPage:
    """How high a photo and the plan may be, 0 where there is no room; whether the summary must stand after the rest."""

    photo_mm: float = 0
    plan_mm: float = 0
    summary_goes_last: bool = False


def front_page(left_mm: float | None) -> FrontPage:
    """What fits into what the words leave of the page; None: they go on on the next one."""
    if left_mm is None:
        return FrontPage(summary_goes_last=True)
    room = left_mm - SPARE_MM
    return FrontPage(_height(room - PHOTO_EDGE_MM, *PHOTO_MM), _height(room - PLAN_EDGE_MM, *PLAN_MM))


def alone(front: str) -> str:
    """The first page as a document of its own; what it leads to stands on a second one."""
    targets = "".join(f'<p id="{name}"></p>' for name in dict.fromkeys(_TARGET.findall(front)))
    end = f'<div id="{END}"></div><div style="break-before: page">{targets}</div>'
    return f'<!doctype html><html lang="en"><body>{front}{end}</body></html>'


def _height(room_mm: float, least_mm: float, most_mm: float) -> float:
    return round(min(room_mm, most_mm), 1) if room_mm >= least_mm else 0
