"""What a plan shows: points, outlines and the distances between finds; positions that look wrong become questions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import median
from typing import Literal

from findhold.errors import BadInput, Question, UnknownName
from findhold.geometry.points import Plan, plan_distance_m, slope_distance_m

Kind = Literal["registered", "bulk", "sample", "context", "peg"]
KINDS: tuple[Kind, ...] = ("registered", "bulk", "sample", "context", "peg")
WIDEST_M = 1000.0  # judgement: an excavated feature is never so wide; a slip in a coordinate usually is
_ALL_PAIRS = 60  # a table of all pairs of more points than this is nobody's reading


@dataclass(frozen=True, slots=True, kw_only=True)
class PlotPoint:
    """A point of the plan; a missing coordinate is None and keeps the point on the sheet's list instead."""

    number: str
    kind: Kind
    easting_m: float | None
    northing_m: float | None
    level_m: float | None = None
    label: str = ""

    @property
    def plan(self) -> Plan | None:
        """Easting and northing [m], or None when either is missing."""
        if self.easting_m is None or self.northing_m is None:
            return None
        return self.easting_m, self.northing_m


@dataclass(frozen=True, slots=True, kw_only=True)
class PlotOutline:
    """A line of the plan through points (easting, northing) [m]: an edge, closed unless said otherwise."""

    name: str
    points: tuple[Plan, ...]
    closed: bool = True
    broken: bool = False
    """True for a broken line: a base, or an edge that is not certain."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Distance:
    """Distance between two points: in plan, in space where both have levels, None where a position is missing."""

    a: str
    b: str
    plan_m: float | None
    slope_m: float | None
    rise_m: float | None
    """Level of b minus level of a."""


def distances(points: Sequence[PlotPoint], pairs: Sequence[tuple[str, str]] | None = None) -> tuple[Distance, ...]:
    """Distances between points, of the pairs named or of all pairs.

    Parameters
    ----------
    points : the points; their numbers as in the register.
    pairs : numbers of the two ends ("37", "41"); a kind before the number ("sample 12") where two kinds share it.
        None for every pair of points that have a position.

    Raises
    ------
    UnknownName, BadInput : a number that is not there, or stands for two points; a point of a named pair without
        position; every pair of too many points.
    """
    if pairs is None:
        known = [point for point in points if point.plan is not None]
        if len(known) > _ALL_PAIRS:
            raise BadInput(
                f"every pair of {len(known)} points is {math.comb(len(known), 2)} distances",
                limit=f"{_ALL_PAIRS} points",
                do="Name the pairs you want",
            )
        return tuple(_distance(a, b) for a, b in combinations(known, 2))
    return tuple(_distance(*(located(points, number) for number in pair)) for pair in pairs)


def located(points: Sequence[PlotPoint], number: str) -> PlotPoint:
    """The point with this number, which must have a position."""
    wanted = number.strip()
    found = [p for p in points if p.number == wanted or f"{p.kind} {p.number}" == wanted]
    if not found:
        raise UnknownName("point", wanted, [p.number for p in points])
    if len(found) > 1:
        names = " or ".join(f"'{p.kind} {p.number}'" for p in found)
        raise BadInput(f"{wanted} is the number of {len(found)} points", do=f"Write {names}")
    if found[0].plan is None:
        raise BadInput(f"{wanted} has no position", do="Enter its easting and northing, or leave it out of the pairs")
    return found[0]


def position_questions(points: Sequence[PlotPoint], outlines: Sequence[PlotOutline] = ()) -> tuple[Question, ...]:
    """Positions only a person can settle: easting and northing swapped, or a point far from all the others."""
    known = [(f"{p.kind} {p.number}", p.plan) for p in points if p.plan is not None]
    known += [(f"outline {line.name}", corner) for line in outlines for corner in line.points]
    if len(known) < 2:
        return ()
    middle = (median(at[0] for _, at in known), median(at[1] for _, at in known))
    questions = []
    for name, at in known:
        away = plan_distance_m(at, middle)
        if away <= WIDEST_M:
            continue
        place = f"E {at[0]:.3f} N {at[1]:.3f}"
        if plan_distance_m((at[1], at[0]), middle) < away / 10:
            text = f"{name} stands at {place}, {_far(away)} from the others. Are easting and northing swapped?"
            choices = (f"swapped: E {at[1]:.3f} N {at[0]:.3f}", f"as it stands: {place}")
        else:
            text = f"{name} stands at {place}, {_far(away)} from the middle of the others. Is its position right?"
            choices = ("correct the position", "plot it on a sheet of its own")
        questions.append(Question(about=name, text=text, choices=choices))
    return tuple(questions)


def _far(away_m: float) -> str:
    return f"{away_m / 1000:.1f} km"


def _distance(a: PlotPoint, b: PlotPoint) -> Distance:
    start, end = a.plan, b.plan
    if start is None or end is None:
        return Distance(a=a.number, b=b.number, plan_m=None, slope_m=None, rise_m=None)
    if a.level_m is None or b.level_m is None:
        return Distance(a=a.number, b=b.number, plan_m=plan_distance_m(start, end), slope_m=None, rise_m=None)
    return Distance(
        a=a.number,
        b=b.number,
        plan_m=plan_distance_m(start, end),
        slope_m=slope_distance_m(start, a.level_m, end, b.level_m),
        rise_m=b.level_m - a.level_m,
    )
