"""The upright axis of a chart: values to millimetres between two round values."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from findhold.errors import BadInput

TICK_GAP_MM = 5.0
"""Least distance of two ticks [mm]."""
LEAST_MM = 10.0
"""The shortest axis that can be read [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueAxis:
    """Values to millimetres up the paper, between two round values; step [unit of the values] from tick to tick."""

    low: float
    high: float
    step: float
    top_mm: float
    foot_mm: float

    def y(self, value: float) -> float:
        """Where a value stands [mm]."""
        return self.foot_mm - (value - self.low) / (self.high - self.low) * (self.foot_mm - self.top_mm)

    @property
    def ticks(self) -> tuple[float, ...]:
        """The round values from foot to top."""
        count = round((self.high - self.low) / self.step)
        return tuple(self.low + number * self.step for number in range(count + 1))

    def words(self, value: float) -> str:
        """A tick's figure, with as many decimals as the step needs."""
        places = max(0, -math.floor(math.log10(self.step) + 1e-9))
        text = f"{value:.{places}f}"
        return text.lstrip("-") if float(text) == 0 else text.replace("-", "\u2212")


def value_axis(values: Sequence[float], *, least_span: float, top_mm: float, foot_mm: float, where: str) -> ValueAxis:
    """The axis from one round value to another that holds all values.

    Parameters
    ----------
    values : what must lie on it; none is an axis from 0.
    least_span : never shorter than this [unit of the values].
    top_mm, foot_mm : its two ends on the paper [mm].
    where : the chart's name, for the error.

    Raises
    ------
    BadInput : less than 10 mm are left for it, or a value has no number.

    Source
        Steps of 1, 2 or 5 times a power of ten, the finest whose ticks keep 5 mm apart.
    """
    room = foot_mm - top_mm
    if room < LEAST_MM:
        raise BadInput(
            f"{room:.0f} mm are left for the lines of the chart",
            where=where,
            limit=f"at least {LEAST_MM:g} mm",
            do="Draw it higher",
        )
    if not all(math.isfinite(value) for value in values):
        raise BadInput("a value of the series is endless", where=where, do="Check the series")
    low, high = (min(values), max(values)) if values else (0.0, 0.0)
    high = max(high, low + least_span)
    step = 10.0 ** (math.floor(math.log10(high - low)) - 2)
    for factor in (2.0, 2.5, 2.0) * 4:
        first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
        if (last - first) * TICK_GAP_MM <= room:
            break
        step *= factor
    return ValueAxis(low=first * step, high=last * step, step=step, top_mm=top_mm, foot_mm=foot_mm)
