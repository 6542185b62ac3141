"""Mould growth index of a surface from temperature, humidity and time, in sensitivity classes.

The index runs from 0 (none) over 1 (first growth under the microscope) and 3 (first visible) to 6 (all covered). In
steady air the growth law is a logistic, so a step of any length is solved exactly; and in saturated air the whole
history enters through one growth clock, the integral of dt / `first_growth_days`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.physics.moist_air import Numbers

Array = npt.NDArray[np.float64]

_STEEPNESS = 2.3
"""Steepness of the slowing-down near the ceiling, in k2 = 1 - exp(2.3 (M - Mmax))."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldClass:
    """One sensitivity class.

    Growth intensity k1_below [1] and k1_above [1] index 1; ceiling coefficients a [1], b [1], c [1]; floor rh_min.
    """

    name: str
    k1_below: float
    k1_above: float
    a: float
    b: float
    c: float
    rh_min: float


def critical_rh(temp_c: Numbers, rh_min: float) -> Array:
    """Lowest humidity at which the class grows at all.

    Parameters
    ----------
    temp_c : temperature, any shape [degC].
    rh_min : floor of the class [fraction].

    Returns
    -------
    Critical humidity, shape of temp_c [fraction].

    Valid for
        0 to 50 degC.
    Source
        [hukka-viitanen-1999] through two open codes; code. The floor is applied at every temperature.
    """
    t = np.asarray(temp_c, dtype=np.float64)
    cubic = (-0.00267 * t**3 + 0.160 * t**2 - 3.13 * t + 100.0) / 100.0
    return np.where(t <= 20.0, np.maximum(cubic, rh_min), rh_min)


def first_growth_days(temp_c: Numbers, rh: Numbers) -> Array:
    """Days to index 1 on the most sensitive class in steady air: the unit of the growth clock.

    Parameters
    ----------
    temp_c : temperature, any shape [degC].
    rh : humidity, broadcastable [fraction].

    Returns
    -------
    Days, infinite at or below 0 degC; the rate of 50 degC is kept above it [d].

    Valid for
        Fitted on wood at about 5 to 40 degC and 75 to 100 % humidity; 2 to 4 degC is an extrapolation.
    Source
        [hukka-viitanen-1999], pine, sawn surface (W = SQ = 0); code.
    """
    t = np.clip(np.asarray(temp_c, dtype=np.float64), 0.0, 50.0)
    with np.errstate(divide="ignore"):
        ln_weeks = -0.68 * np.log(t) - 13.9 * np.log(100.0 * np.asarray(rh, dtype=np.float64)) + 66.02
    return np.asarray(7.0 * np.exp(ln_weeks))


def growth_rate_per_s(temp_c: Numbers, rh: Numbers) -> Array:
    """Rate of the growth clock [1/s]: 1 / `first_growth_days`, zero at or below 0 degC; arguments as there.

    Source
        [hukka-viitanen-1999]; code.
    """
    return np.asarray(1.0 / (86400.0 * first_growth_days(temp_c, rh)))


def index_ceiling(temp_c: Numbers, rh: Numbers, kind: MouldClass) -> Array:
    """Highest index the class can reach in air of this temperature and humidity (0 below the critical humidity).

    Parameters
    ----------
    temp_c : temperature, any shape [degC].
    rh : humidity, broadcastable [fraction].
    kind : the sensitivity class.

    Returns
    -------
    Index, 0 to 6 [1].

    Source
        [ojanen-2010]: A + B x - C x2, x = (RHcrit - RH)/(RHcrit - 100 %); code.
    """
    critical = critical_rh(temp_c, kind.rh_min)
    humidity = np.asarray(rh, dtype=np.float64)
    below_full = np.minimum(critical, 1.0 - 1e-9)
    x = np.where(critical < 1.0, (humidity - critical) / (1.0 - below_full), np.where(humidity >= 1.0, 1.0, -1.0))
    return np.where(x >= 0.0, np.maximum(kind.a + kind.b * x - kind.c * x**2, 0.0), 0.0)


def _logistic(index: Array, clock: Array, k1: float, ceiling: Array) -> Array:
    """Index after `clock` growth units at one intensity; never falls, stays where it is at or above the ceiling."""
    room = np.exp(-_STEEPNESS * (np.minimum(index, ceiling) - ceiling)) - 1.0
    grown = ceiling - np.log1p(room * np.exp(-_STEEPNESS * k1 * clock)) / _STEEPNESS
    return np.where(index < ceiling, np.maximum(grown, index), index)


def _logistic_clock(start: Array, target: Array, k1: float, ceiling: Array) -> Array:
    """Growth units from start to target at one intensity; infinite when the target is at or above the ceiling."""
    below = np.maximum(ceiling - np.minimum(start, target), 1e-12)
    left = np.maximum(ceiling - target, 1e-12)
    units = np.log(np.expm1(_STEEPNESS * below) / np.expm1(_STEEPNESS * left)) / (_STEEPNESS * k1)
    return np.where(target <= start, 0.0, np.where(target < ceiling, units, np.inf))


def clock_to_index(target: float, start: Numbers, kind: MouldClass, ceiling: Numbers) -> Array:
    """Growth units needed to grow from one index to another in steady conditions.

    Parameters
    ----------
    target, start : indices [1]; start of any shape.
    kind : the sensitivity class.
    ceiling : highest index in these conditions, broadcastable [1].

    Returns
    -------
    Growth units, 0 when start is there already, infinite when the ceiling forbids it [1].

    Source
        Exact integral of dM/ds = k1 (1 - exp(2.3 (M - Mmax))), k1 changing at index 1; [hukka-viitanen-1999]; code.
    """
    begin = np.asarray(start, dtype=np.float64)
    top = np.asarray(ceiling, dtype=np.float64)
    knee = np.asarray(min(target, 1.0))
    first = _logistic_clock(begin, knee, kind.k1_below, top)
    second = _logistic_clock(np.maximum(begin, 1.0), np.asarray(target), kind.k1_above, top)
    return np.asarray(first + (second if target > 1.0 else 0.0))


def grown_index(start: Numbers, clock: Numbers, kind: MouldClass, ceiling: Numbers) -> Array:
    """Index after a number of growth units in steady conditions.

    Parameters
    ----------
    start : index at the beginning, any shape [1].
    clock : growth units passed, broadcastable, at least 0 [1].
    kind : the sensitivity class.
    ceiling : highest index in these conditions, broadcastable [1].

    Returns
    -------
    Index, never below start and never grown above the ceiling [1].

    Source
        Exact solution of the growth law; inverse of `clock_to_index`; [hukka-viitanen-1999]; code.
    """
    begin, passed, top = np.broadcast_arrays(
        np.asarray(start, dtype=np.float64), np.asarray(clock, dtype=np.float64), np.asarray(ceiling, dtype=np.float64)
    )
    to_one = np.asarray(clock_to_index(1.0, begin, kind, top))
    low = _logistic(begin, np.minimum(passed, to_one), kind.k1_below, top)
    after = np.where(np.isfinite(to_one), np.maximum(passed - np.where(np.isfinite(to_one), to_one, 0.0), 0.0), 0.0)
    high = _logistic(np.maximum(begin, 1.0), after, kind.k1_above, top)
    return np.where(passed < to_one, low, high)


def decline(dry_hours: Numbers) -> Array:
    """Fall of the index after a spell below the critical humidity, before the material's own factor.

    Parameters
    ----------
    dry_hours : length of the spell, any shape [h].

    Returns
    -------
    Fall of the index: 0.032 a day for 6 h, nothing to 24 h, 0.016 a day after [1].

    Source
        [hukka-viitanen-1999] through two open codes; code. Multiply by 0.1 (hardly any decline) to 1.
    """
    hours = np.asarray(dry_hours, dtype=np.float64)
    return np.asarray(0.032 / 24.0 * np.minimum(hours, 6.0) + 0.016 / 24.0 * np.maximum(hours - 24.0, 0.0))
