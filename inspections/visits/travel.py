"""How long the way between two houses takes, from coordinates that somebody wrote down. No map is asked."""

from dataclasses import dataclass
from math import asin, ceil, cos, radians, sin, sqrt

from firm.branding.models import Firm
from firm.hours.models import Allowances
from firm.properties.models import Property

EARTH_RADIUS_MI = 3958.8  # mean radius, 6371.0 km (International Union of Geodesy and Geophysics)
# Roads are longer than the straight line by about this much. Common practice, no published source.
DETOUR = 1.3
STEP_MINUTES = 5


def distance_mi(start: tuple[float, float], end: tuple[float, float]) -> float:
    """Great-circle distance in miles between two points given as latitude and longitude in degrees (haversine)."""
    lat_1, lon_1, lat_2, lon_2 = (radians(degrees) for degrees in (*start, *end))
    half_chord = sin((lat_2 - lat_1) / 2) ** 2 + cos(lat_1) * cos(lat_2) * sin((lon_2 - lon_1) / 2) ** 2
    return 2 * EARTH_RADIUS_MI * asin(min(1.0, sqrt(half_chord)))


def way_minutes(start: Property, end: Property, mph: float, detour: float = DETOUR) -> int | None:
    """Minutes on the road at `mph` miles an hour, rounded up to five; None unless both houses have coordinates."""
    if start.coordinates is None or end.coordinates is None:
        return None
    miles = detour * distance_mi(start.coordinates, end.coordinates)
    return STEP_MINUTES * ceil(round(miles / mph * 60 / STEP_MINUTES, 6))


@dataclass(frozen=True)
class Road:
    """How the firm reckons a way: speed in miles an hour, detour factor, and minutes where nothing can be reckoned."""

    mph: float
    detour: float = DETOUR
    gap_minutes: int = 20

    @classmethod
    def current(cls) -> "Road":
        """As the firm has put it on file. Two queries."""
        allowances = Allowances.current()
        return cls(Firm.current().travel_mph, float(allowances.detour), allowances.gap_minutes)

    def minutes(self, start: Property | None, end: Property | None) -> int | None:
        """As `way_minutes`; None also where one of the houses is not known yet."""
        return way_minutes(start, end, self.mph, self.detour) if start and end else None
