"""What lies near a find, nearest first, and how well a distance is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from findhold.geometry.points import plan_distance_m, slope_distance_m
from findhold.register.plot_points import PlotPoint, located
from findhold.tables.load import table

_SIXTEENTHS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")


@dataclass(frozen=True, slots=True, kw_only=True)
class Near:
    """A point near another: distance in plan and in space, how much higher it lies, and its direction on the grid."""

    point: PlotPoint
    plan_m: float
    slope_m: float | None
    """None where a level is missing."""
    rise_m: float | None
    bearing_deg: float
    """From grid north, clockwise; 0 to 360."""
    towards: str
    """The direction in letters: NNE; "at the same spot" within the error of the positions."""


def nearest(points: Sequence[PlotPoint], number: str, most: int = 12) -> tuple[Near, ...]:
    """The points nearest to one of them, by distance in space where both have levels, else in plan.

    Not for saying what belongs together: nearness is a hint, a person judges.

    Parameters
    ----------
    points : the points of the plan. number : as in `plot_points.located`. most : so many are told.

    Raises
    ------
    UnknownName, BadInput : no such point, or it has no position.
    """
    middle = located(points, number)
    start = middle.plan
    if start is None:
        raise ValueError("a located point has a position")
    found = []
    for point in points:
        if point is middle or point.plan is None:
            continue
        plan_m = plan_distance_m(start, point.plan)
        slope_m, rise_m = None, None
        if middle.level_m is not None and point.level_m is not None:
            slope_m = slope_distance_m(start, middle.level_m, point.plan, point.level_m)
            rise_m = point.level_m - middle.level_m
        bearing = math.degrees(math.atan2(point.plan[0] - start[0], point.plan[1] - start[1])) % 360.0
        same = plan_m <= distance_error_m()
        towards = "at the same spot" if same else _SIXTEENTHS[round(bearing / 22.5) % 16]
        found.append(
            Near(point=point, plan_m=plan_m, slope_m=slope_m, rise_m=rise_m, bearing_deg=bearing, towards=towards)
        )
    found.sort(key=lambda near: (near.plan_m if near.slope_m is None else near.slope_m, near.point.number))
    return tuple(found[:most])


def distance_error_m() -> float:
    """Standard error of a distance or difference in level between points whose own errors are not recorded [m].

    Source
    ------
    tables/data/plot_rules.csv, point_error_m [common practice, from memory]; two independent points, so times the root
    of two.
    """
    return math.sqrt(2.0) * float(table("plot_rules").by("rule")["point_error_m"]["value"])
