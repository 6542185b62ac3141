"""The revised NIOSH lifting equation: recommended weight limit, lifting index, and the composite index of a round."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from findhold.errors import BadInput
from findhold.tables.lifting import Equation, equation

Coupling = Literal["good", "fair", "poor"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """The hands at one end of a lift: before the ankles, above the floor, and turned aside."""

    reach_cm: float
    height_cm: float
    twist_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """How often, and for how many hours [h]."""

    lifts_per_min: float = 0.2
    hours: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """One lift or lowering by one person; careful = the load is placed or held with care at the far end."""

    mass_kg: float
    origin: Hold
    destination: Hold
    coupling: Coupling
    pace: Pace = Pace()
    careful: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Multipliers:
    """The six multipliers at one end [1], and the limit they give."""

    horizontal_factor: float
    vertical_factor: float
    distance_factor: float
    asymmetry_factor: float
    frequency_factor: float
    coupling_factor: float
    limit_kg: float

    @property
    def weakest(self) -> str:
        """The multiplier that takes most off."""
        names = ("horizontal", "vertical", "distance", "asymmetry", "frequency", "coupling")
        return min(names, key=lambda name: float(getattr(self, f"{name}_factor")))


@dataclass(frozen=True, slots=True, kw_only=True)
class Niosh:
    """Recommended weight limit and lifting index of a lift.

    index [1] is None where no load is recommended; destination is None where the far end asks for no care.
    """

    origin: Multipliers
    destination: Multipliers | None
    limit_kg: float
    index: float | None
    governs: str
    """origin or destination."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundTask:
    """One kind of lift in a round: mass, limit before the frequency multiplier, how often; high = hands from 75 cm."""

    name: str
    mass_kg: float
    free_limit_kg: float
    lifts_per_min: float
    high: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Composite:
    """Composite lifting index of a round: index [1] None where no load is recommended; tasks from the hardest on.

    single_index are the tasks' own indices [1] in that order.
    """

    index: float | None
    order: tuple[str, ...]
    single_index: tuple[float | None, ...]


def reach_estimate_cm(depth_cm: float, height_cm: float, constants: Equation | None = None) -> float:
    """Reach by the depth of the box, for when it cannot be measured: hands in the middle of the depth.

    Parameters
    ----------
    depth_cm : box from front to back as held [cm]. height_cm : hands over the floor [cm].

    Source: niosh-rnle-2021, section 1.3.1.1.
    """
    by = constants or equation()
    base = by.estimate_reach_cm if height_cm >= by.estimate_height_cm else by.estimate_reach_low_cm
    return base + depth_cm / 2.0


def lifting_index(lift: Lift, constants: Equation | None = None) -> Niosh:
    """Recommended weight limit at both ends and the index by the lower one.

    Not for one hand, more than 8 hours, kneeling, cramped or slippery places, loads that shift, carrying, or teams:
    see the warnings of a plan.

    Parameters
    ----------
    lift : the lift. constants : another set of constants; None takes the metric table.

    Returns
    -------
    Niosh. The frequency multiplier goes by the hands' height at the origin, coupling by that of the end looked at.

    Raises
    ------
    BadInput : a figure is negative or not finite, or the work lasts longer than the equation covers.

    Source: niosh-rnle-2021, sections 1.1 and 1.3, computed at full precision.
    """
    by = constants or equation()
    _check(lift, by)
    travel = abs(lift.destination.height_cm - lift.origin.height_cm)
    pace_factor = frequency_multiplier(lift.pace, high=lift.origin.height_cm >= by.height_best_cm, constants=by)
    origin = _end(lift.origin, travel, pace_factor, lift.coupling, by)
    destination = _end(lift.destination, travel, pace_factor, lift.coupling, by) if lift.careful else None
    lower = destination is not None and destination.limit_kg < origin.limit_kg
    limit = destination.limit_kg if destination is not None and lower else origin.limit_kg
    return Niosh(
        origin=origin,
        destination=destination,
        limit_kg=limit,
        index=lift.mass_kg / limit if limit > 0.0 else None,
        governs="destination" if lower else "origin",
    )


def frequency_multiplier(pace: Pace, *, high: bool, constants: Equation | None = None) -> float:
    """Frequency multiplier [1], linear between the rows of the table; 0 beyond its last row that allows a load.

    Raises
    ------
    BadInput : more than 8 hours, or a figure that cannot be.

    Source: niosh-rnle-2021, table 5 and p. 7 (interpolation). Beyond the last row that is not 0: judgement.
    """
    by = constants or equation()
    column = _duration(pace.hours, by)
    rows = [(row.lifts_per_min, row.by_duration[column][int(high)]) for row in by.frequency]
    allowed = [(often, factor) for often, factor in rows if factor > 0.0]
    lifts = max(pace.lifts_per_min, by.lifts_least_per_min)
    if not allowed or lifts > allowed[-1][0]:
        return 0.0
    for (left, low_factor), (right, high_factor) in pairwise(allowed):
        if lifts <= right:
            return low_factor + (high_factor - low_factor) * (lifts - left) / (right - left)
    return allowed[-1][1]


def composite_index(tasks: Sequence[RoundTask], hours: float, constants: Equation | None = None) -> Composite:
    """Composite lifting index of several kinds of lift done in one round by one person.

    Parameters
    ----------
    tasks : kinds of lift. hours : how long the round goes on [h].

    Returns
    -------
    Composite: the hardest task's own index, and for each further one its frequency-free index times the growth of
    1/FM as the frequencies add up. Where tasks differ in height the smaller FM is taken (the manual leaves it open).

    Raises
    ------
    BadInput : no task, or more than 8 hours.

    Source: niosh-rnle-2021, section 2.4.
    """
    if not tasks:
        raise BadInput("a round without a lift", do="Name at least one box")
    by = constants or equation()
    own = [(task, _own_index(task, hours, by)) for task in tasks]
    own.sort(key=lambda pair: (-(pair[1] if pair[1] is not None else float("inf")), -pair[0].lifts_per_min))
    order = tuple(task.name for task, _ in own)
    single = tuple(index for _, index in own)
    total = single[0]
    for place in range(1, len(own)):
        before = _round_factor([task for task, _ in own[:place]], hours, by)
        after = _round_factor([task for task, _ in own[: place + 1]], hours, by)
        task = own[place][0]
        if total is None or before <= 0.0 or after <= 0.0 or task.free_limit_kg <= 0.0:
            return Composite(index=None, order=order, single_index=single)
        total += task.mass_kg / task.free_limit_kg * (1.0 / after - 1.0 / before)
    return Composite(index=total, order=order, single_index=single)


def _own_index(task: RoundTask, hours: float, by: Equation) -> float | None:
    factor = frequency_multiplier(Pace(lifts_per_min=task.lifts_per_min, hours=hours), high=task.high, constants=by)
    limit = task.free_limit_kg * factor
    return task.mass_kg / limit if limit > 0.0 else None


def _round_factor(tasks: Sequence[RoundTask], hours: float, by: Equation) -> float:
    pace = Pace(lifts_per_min=sum(task.lifts_per_min for task in tasks), hours=hours)
    return min(frequency_multiplier(pace, high=task.high, constants=by) for task in tasks)


def _end(hold: Hold, travel_cm: float, pace_factor: float, coupling: Coupling, by: Equation) -> Multipliers:
    """The multipliers at one end."""
    reach = max(hold.reach_cm, by.reach_least_cm)
    travel = max(travel_cm, by.travel_least_cm)
    horizontal = by.reach_least_cm / reach if reach <= by.reach_most_cm else 0.0
    off = abs(hold.height_cm - by.height_best_cm)
    vertical = 1.0 - by.height_slope_per_cm * off if hold.height_cm <= by.height_most_cm else 0.0
    distance = by.travel_constant + by.travel_slope_cm / travel if travel <= by.travel_most_cm else 0.0
    asymmetry = 1.0 - by.twist_slope_per_deg * hold.twist_deg if hold.twist_deg <= by.twist_most_deg else 0.0
    grip = by.coupling[coupling][int(hold.height_cm >= by.height_best_cm)]
    return Multipliers(
        horizontal_factor=horizontal,
        vertical_factor=vertical,
        distance_factor=distance,
        asymmetry_factor=asymmetry,
        frequency_factor=pace_factor,
        coupling_factor=grip,
        limit_kg=by.load_constant_kg * horizontal * vertical * distance * asymmetry * pace_factor * grip,
    )


def _duration(hours: float, by: Equation) -> int:
    """Column of the frequency table: 0 short, 1 moderate, 2 long."""
    if not 0.0 < hours <= by.hours_long:
        raise BadInput(
            f"lifting for {hours:g} hours is not covered by the lifting equation",
            limit=f"above 0 and up to {by.hours_long:g} h",
            do="Split the work over days, or have it assessed",
        )
    return 0 if hours <= by.hours_short else 1 if hours <= by.hours_moderate else 2


def _check(lift: Lift, by: Equation) -> None:
    _duration(lift.pace.hours, by)
    figures = {
        "mass": lift.mass_kg,
        "reach": min(lift.origin.reach_cm, lift.destination.reach_cm),
        "height": min(lift.origin.height_cm, lift.destination.height_cm),
        "twist": min(lift.origin.twist_deg, lift.destination.twist_deg),
        "lifts a minute": lift.pace.lifts_per_min,
    }
    for name, value in figures.items():
        if not 0.0 <= value < float("inf"):
            raise BadInput(f"{name} {value:g} cannot be", limit="0 or more", do="Enter it again")
