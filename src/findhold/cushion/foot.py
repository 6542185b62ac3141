"""What a block really stands on: its foot along length and width, from the silhouettes of a scan or a tape's profile.

The steps that carry the overhang beyond the foot are cut by the pack room; this is the part that bears by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput

Array = npt.NDArray[np.float64]
Size = tuple[float, float, float]
Outline = Sequence[tuple[float, float]]
_READ = 400
"""Places along a side at which the underside is read."""
TOUCHING_MM = 1.0
"""An underside lower than this rests on the bed (judgement)."""
_HAIR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Foot:
    """The foot along one side of the block's prism: where it begins and ends, and how long the prism is there [mm].

    bears_mm : length that touches, which is less than from first to last touch under an arched base [mm].
    """

    from_mm: float
    to_mm: float
    bears_mm: float
    reach_mm: float

    @property
    def overhang_mm(self) -> float:
        """Longest reach of the block beyond its foot [mm]."""
        return max(self.from_mm, self.reach_mm - self.to_mm)

    @property
    def off_middle_mm(self) -> float:
        """How far the foot's middle lies from the prism's, towards the far end [mm]."""
        return (self.from_mm + self.to_mm - self.reach_mm) / 2.0


def feet(side: Outline, end: Outline, profile_mm: Sequence[Size], block_mm: Size) -> tuple[Foot, Foot] | None:
    """The foot along length and width; None where nothing but the prism is known.

    Parameters
    ----------
    side, end : silhouettes (x, z) and (y, z) [mm]; an empty one is made from the profile, centred on its base.
    profile_mm : height over the base, length and width there, from the base up [mm]. block_mm : the prism [mm].

    Raises
    ------
    BadInput : the profile does not rise, or has a size above 0 and the block's own does not allow.
    """
    _check_profile(profile_mm, block_mm)
    shapes = (tuple(side) or _centred(profile_mm, 1, block_mm), tuple(end) or _centred(profile_mm, 2, block_mm))
    if not all(shapes):
        return None
    along, across = (_foot(np.array(shape, dtype=np.float64)) for shape in shapes)
    return along, across


def base_mm(
    side: Outline, end: Outline, profile_mm: Sequence[Size], block_mm: Size
) -> tuple[float, float, float, float] | None:
    """The rectangle a block stands on, in its own frame: from and to along its length, from and to across it [mm].

    A profile's is its lowest row, in the middle; a scan's is read from its silhouettes. None where nothing but the
    prism is known. Parameters and errors as `feet`.
    """
    pair = feet(side, end, profile_mm, block_mm)
    if pair is None:
        return None
    if profile_mm and not (side or end):
        _, length, width = profile_mm[0]
        return (
            (block_mm[0] - length) / 2.0,
            (block_mm[0] + length) / 2.0,
            (block_mm[1] - width) / 2.0,
            (block_mm[1] + width) / 2.0,
        )
    return (pair[0].from_mm, pair[0].to_mm, pair[1].from_mm, pair[1].to_mm)


def underside_mm(outline: npt.ArrayLike, at_mm: npt.ArrayLike) -> Array:
    """Height of the lowest point of an outline over each place along it; nan where it does not reach.

    Parameters
    ----------
    outline : shape (n, 2), corners of a closed polygon [mm]. at_mm : shape (m,) [mm].

    Source
        Crossings of each edge with the upright through the place; the lowest counts.
    """
    corners = np.asarray(outline, dtype=np.float64)
    ahead = np.roll(corners, -1, axis=0)
    at = np.asarray(at_mm, dtype=np.float64)[:, None]
    x0, z0, x1, z1 = corners[:, 0], corners[:, 1], ahead[:, 0], ahead[:, 1]
    crosses = (at >= np.minimum(x0, x1) - _HAIR) & (at <= np.maximum(x0, x1) + _HAIR)
    upright = np.abs(x1 - x0) < _HAIR
    share = np.clip((at - x0) / np.where(upright, 1.0, x1 - x0), 0.0, 1.0)
    height = np.where(upright, np.minimum(z0, z1), z0 + share * (z1 - z0))
    found = np.where(crosses, height, np.inf).min(axis=1)
    return np.where(np.isinf(found), np.nan, found)


def _foot(outline: Array) -> Foot:
    first, last = float(outline[:, 0].min()), float(outline[:, 0].max())
    edges = np.linspace(first, last, _READ + 1)
    under = underside_mm(outline, (edges[:-1] + edges[1:]) / 2.0) - float(outline[:, 1].min())
    touching = np.flatnonzero(under <= TOUCHING_MM)
    # A base that touches in one point only is given the one place that holds it.
    if touching.size == 0:
        touching = np.array([int(np.nanargmin(under))])
    return Foot(
        from_mm=float(edges[touching[0]]) - first,
        to_mm=float(edges[touching[-1] + 1]) - first,
        bears_mm=touching.size * (last - first) / _READ,
        reach_mm=last - first,
    )


def _centred(profile_mm: Sequence[Size], column: int, block_mm: Size) -> tuple[tuple[float, float], ...]:
    """A centred silhouette from a profile; empty without one."""
    if not profile_mm:
        return ()
    whole, height = block_mm[column - 1], block_mm[2]
    rows = [(step[0], step[column]) for step in profile_mm]
    if rows[0][0] > 0.0:
        rows.insert(0, (0.0, rows[0][1]))
    if rows[-1][0] < height:
        rows.append((height, rows[-1][1]))
    left = [((whole - wide) / 2.0, z) for z, wide in rows]
    right = [((whole + wide) / 2.0, z) for z, wide in rows]
    return (*left[::-1], *right)


def _check_profile(profile_mm: Sequence[Size], block_mm: Size) -> None:
    limit = f"heights rising from 0 to {block_mm[2]:g} mm, lengths to {block_mm[0]:g} and widths to {block_mm[1]:g} mm"
    last = -1.0
    for number, (height, length, width) in enumerate(profile_mm, 1):
        inside = 0.0 <= height <= block_mm[2] + 0.5 and 0.0 < length <= block_mm[0] + 0.5
        if height <= last or not inside or not 0.0 < width <= block_mm[1] + 0.5:
            raise BadInput(
                f"step {number} of the profile is {height:g} mm high, {length:g} mm long and {width:g} mm wide",
                where="profile_mm",
                limit=limit,
                do="Measure height over the base, then length and width there, from the base up",
            )
        last = height
