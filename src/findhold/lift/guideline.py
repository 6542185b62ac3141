"""The risk filter by height of the hands and reach: a filter for further assessment, not limits, not safe loads."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.errors import BadInput
from findhold.tables.lifting import People, Zone, body_heights_mm, reductions, stature_scales, zones


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweep:
    """What the hands do: lowest and highest, farthest reach, twist and frequency."""

    low_mm: float
    high_mm: float
    reach_mm: float
    twist_deg: float = 0.0
    lifts_per_min: float = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Filter:
    """The filter's mass for a sweep of the hands.

    limit_kg is what is left of zone_kg after twist_factor and frequency_factor; short_kg and tall_kg are the same for
    a small and a tall person, whose zones lie lower and higher.
    """

    who: People
    column: str
    """close or far."""
    zone: str
    """Of the zones passed, the one with the smallest mass."""
    passed: tuple[str, ...]
    zone_kg: float
    twist_factor: float
    frequency_factor: float
    limit_kg: float
    short_kg: float
    tall_kg: float


def zones_passed(low_mm: float, high_mm: float, who: People, scale: float = 1.0) -> tuple[Zone, ...]:
    """Zones the hands are in or pass through, from the floor up; on a boundary the upper zone counts.

    Parameters
    ----------
    low_mm, high_mm : lowest and highest height of the hands [mm]. scale : stature over the mean.

    Source: hse-lifting-filter (zones); lm-mmh-2021 (heights of women and men).
    """
    heights = body_heights_mm(who)
    bottoms = [heights[zone.bottom] * scale if zone.bottom else 0.0 for zone in zones()]
    tops = [*bottoms[1:], float("inf")]
    passed = zip(zones(), bottoms, tops, strict=True)
    return tuple(zone for zone, bottom, top in passed if high_mm >= bottom and low_mm < top)


def filter_for(sweep: Sweep, who: People, close_reach_mm: float) -> Filter:
    """The filter's mass for one person: smallest of the zones passed, less for twist and frequent lifting.

    Not a limit and not a safe load. It takes two hands, a stable stance, a good grip and fair conditions.

    Parameters
    ----------
    sweep : what the hands do. who : column of the filter. close_reach_mm : reach up to which the hands are close.

    Raises
    ------
    BadInput : a figure is negative, or the hands end lower than they begin.

    Source: hse-lifting-filter; close_reach_mm is a judgement (lift_defaults).
    """
    if min(sweep.low_mm, sweep.reach_mm, sweep.twist_deg, sweep.lifts_per_min) < 0 or sweep.high_mm < sweep.low_mm:
        raise BadInput("heights, reach, twist and frequency of a lift cannot be negative", do="Enter them again")
    column = "close" if sweep.reach_mm <= close_reach_mm else "far"
    twist, often = _factor("twist", sweep.twist_deg), _factor("frequency", sweep.lifts_per_min)
    passed = zones_passed(sweep.low_mm, sweep.high_mm, who)
    least = min(passed, key=lambda zone: _mass_kg(zone, who, column))
    small, tall = (
        min(_mass_kg(zone, who, column) for zone in zones_passed(sweep.low_mm, sweep.high_mm, who, scale))
        for scale in stature_scales(who)
    )
    return Filter(
        who=who,
        column=column,
        zone=least.name,
        passed=tuple(zone.name for zone in passed),
        zone_kg=_mass_kg(least, who, column),
        twist_factor=twist,
        frequency_factor=often,
        limit_kg=_mass_kg(least, who, column) * twist * often,
        short_kg=small * twist * often,
        tall_kg=tall * twist * often,
    )


def _mass_kg(zone: Zone, who: People, column: str) -> float:
    pair = zone.women_kg if who == "women" else zone.men_kg
    return pair[0] if column == "close" else pair[1]


def _factor(kind: str, value: float) -> float:
    """Harshest reduction whose figure is passed."""
    return min([1.0, *(row.multiplier for row in reductions() if row.kind == kind and value > row.above_value)])
