"""A block's height profile: length and width at a few heights from the base up, and what is wrong with a typed one."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from findhold.geometry.solids import Row, stacked

CLOSE_MM = 1.0
"""Tape readings that differ by no more than this are the same."""


def profile_faults(rows: Sequence[Row], size_mm: tuple[float, float, float]) -> tuple[str, ...]:
    """What is wrong with a profile against the size over all; empty when nothing is.

    Parameters
    ----------
    rows : (height, length, width) from the base up [mm].
    size_mm : length, width and height over all.
    """
    length, width, height = size_mm
    faults = []
    if not all(math.isfinite(value) for row in rows for value in row):
        return ("a profile row has something that is no number",)
    if len(rows) < 2:
        faults.append("a profile needs two heights or more, from the base (0) to the top")
    elif abs(rows[0][0]) > CLOSE_MM:
        faults.append(f"the profile begins at {rows[0][0]:g} mm and must begin at the base, 0")
    for (low, *_), (high, *_) in itertools.pairwise(rows):
        if high <= low:
            faults.append(f"the heights of the profile do not rise from {low:g} to {high:g} mm")
    for at, long, wide in rows:
        if long <= 0 or wide <= 0 or at < 0:
            faults.append(f"the profile row {at:g}:{long:g}x{wide:g} has a size that is zero or negative")
        elif long > length + CLOSE_MM or wide > width + CLOSE_MM:
            faults.append(
                f"the profile is {long:g} x {wide:g} mm at {at:g} mm, more than {length:g} x {width:g} over all"
            )
    if len(rows) > 1 and abs(rows[-1][0] - height) > CLOSE_MM:
        faults.append(f"the profile ends at {rows[-1][0]:g} mm and the height over all is {height:g} mm")
    return tuple(faults)


def whole_profile(rows: Sequence[Row], height_mm: float) -> tuple[Row, ...]:
    """A profile from the base to the top: its lowest row at 0 and its highest at the height over all [mm]."""
    low, high = rows[0], rows[-1]
    begun = rows if low[0] <= 0.0 else ((0.0, *low[1:]), *rows)
    return tuple(begun) if high[0] >= height_mm else (*begun, (height_mm, *high[1:]))


def profile_centre_mm(rows: Sequence[Row], size_mm: tuple[float, float, float]) -> tuple[float, float, float]:
    """Centre of gravity of a block of one density with a profile, in the frame of its prism [mm].

    Sections are taken as centred over one another; whether they are round or square makes no difference.

    Parameters
    ----------
    rows : (height, length, width) from the base up, at least one [mm].
    size_mm : length, width and height over all.

    Source: Simpson's rule, exact between rows; computed.
    """
    body = stacked(whole_profile(rows, size_mm[2]), "rectangle")
    return (size_mm[0] / 2.0, size_mm[1] / 2.0, body.centre_height_mm)
