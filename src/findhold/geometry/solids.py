"""Volumes and centres of simple upright bodies: prisms and cylinders whose sides may slope, one on the other.

Between two heights length and width change evenly, so the area of a section is a parabola in height and Simpson's rule
is exact for the volume and for the height of the centre. Lengths in millimetres.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Section = Literal["ellipse", "rectangle"]
SECTIONS: tuple[Section, ...] = ("ellipse", "rectangle")
Row = tuple[float, float, float]
"""Height over the base, length and width there [mm]."""
_FILL = {"ellipse": math.pi / 4.0, "rectangle": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Solid:
    """Volume of an upright body and the height of its centre."""

    volume_mm3: float
    centre_height_mm: float


def stacked(rows: Sequence[Row], section: Section) -> Solid:
    """The body whose sections have these lengths and widths, straight between them.

    Not for bodies whose sections are not centred over one another: their volume is right, their centre is not above
    the middle of the base.

    Parameters
    ----------
    rows : two or more, heights rising from the base [mm].
    section : ellipse (round things: vessels, lumps) or rectangle (cut blocks).

    Returns
    -------
    Solid.

    Raises
    ------
    ValueError : fewer than two rows, or heights that do not rise.

    Source: Simpson's rule, exact for cubics; computed.
    """
    if len(rows) < 2 or any(b[0] <= a[0] for a, b in itertools.pairwise(rows)):
        raise ValueError("two rows or more with rising heights are wanted")
    fill = _FILL[section]
    volume = moment = 0.0
    for (low, l0, w0), (high, l1, w1) in itertools.pairwise(rows):
        sixth = (high - low) / 6.0
        middle = 4.0 * (l0 + l1) / 2.0 * (w0 + w1) / 2.0
        volume += fill * sixth * (l0 * w0 + middle + l1 * w1)
        moment += fill * sixth * (low * l0 * w0 + (low + high) / 2.0 * middle + high * l1 * w1)
    if volume <= 0.0:
        return Solid(volume_mm3=0.0, centre_height_mm=(rows[0][0] + rows[-1][0]) / 2.0)
    return Solid(volume_mm3=volume, centre_height_mm=moment / volume)
