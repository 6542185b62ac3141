"""Points in plan: distances, extents, round drawing scales and round grid steps."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from findhold.errors import BadInput

Plan = tuple[float, float]
"""Easting and northing [m]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Extent:
    """The smallest upright rectangle round some points [m]."""

    west_m: float
    east_m: float
    south_m: float
    north_m: float

    @property
    def width_m(self) -> float:
        """East to west [m]."""
        return self.east_m - self.west_m

    @property
    def height_m(self) -> float:
        """North to south in plan [m]."""
        return self.north_m - self.south_m

    @property
    def centre(self) -> Plan:
        """Easting and northing of the middle [m]."""
        return (self.west_m + self.east_m) / 2, (self.south_m + self.north_m) / 2


def extent(points: Iterable[Plan]) -> Extent:
    """The extent of points; raises BadInput when there is none."""
    known = list(points)
    if not known:
        raise BadInput("there is no point with a position", do="Enter easting and northing of at least one point")
    eastings, northings = zip(*known, strict=True)
    return Extent(west_m=min(eastings), east_m=max(eastings), south_m=min(northings), north_m=max(northings))


def plan_distance_m(a: Plan, b: Plan) -> float:
    """Distance in plan between two points [m]."""
    return math.hypot(b[0] - a[0], b[1] - a[1])


def slope_distance_m(a: Plan, level_a_m: float, b: Plan, level_b_m: float) -> float:
    """Distance in space between two points with levels [m]."""
    return math.hypot(b[0] - a[0], b[1] - a[1], level_b_m - level_a_m)


def round_up_125(value: float) -> float:
    """The smallest of 1, 2, 5, 10, 20, 50 … and their decimal parts that is not below a value above zero."""
    if not value > 0:
        raise ValueError("a value above zero is wanted")
    power = 10.0 ** math.floor(math.log10(value))
    for step in (1.0, 2.0, 5.0, 10.0):
        if step * power >= value * (1 - 1e-12):
            return step * power
    return 10.0 * power


def round_scale(width_m: float, height_m: float, room_w_mm: float, room_h_mm: float) -> int:
    """The largest round scale at which an extent fits a window on the paper.

    Parameters
    ----------
    width_m, height_m : the extent on the ground [m]; both zero for a single point.
    room_w_mm, room_h_mm : the window on the paper [mm].

    Returns
    -------
    The denominator, one of 1, 2, 5, 10, 20, 50 …: 20 for 1:20. A single point fits at 1:1.
    """
    needed = max(width_m * 1000.0 / room_w_mm, height_m * 1000.0 / room_h_mm, 1.0)
    return round(round_up_125(needed))


def grid_lines(low_m: float, high_m: float, step_m: float) -> tuple[float, ...]:
    """Multiples of a step between two coordinates, ends included [m]."""
    first, last = math.ceil(low_m / step_m - 1e-9), math.floor(high_m / step_m + 1e-9)
    return tuple(n * step_m for n in range(first, last + 1))
