"""The contour bed: strips of foam under a block that is narrower below, so that no wall and no overhang spans.

Read off the silhouettes of a scan, or off a tape's profile of heights with the block taken as centred on its base.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput

Array = npt.NDArray[np.float64]
Size = tuple[float, float, float]
_READ = 400
"""Places along a side at which the underside is read."""
_TOUCHING_MM = 1.0
"""An underside lower than this rests on the bed (judgement)."""
_HAIR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Tread:
    """One tread of a contour bed in the block's own frame: from_mm to to_mm along the side, height_mm over the bed."""

    from_mm: float
    to_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ContourSide:
    """The contour bed seen along one side of the block: treads to cut, and what is left for tissue.

    seen : "side" (x along the length) or "end" (y along the width). gap_mm : widest gap between bed and block [mm], the
    smaller of upright and level, to be filled with tissue. contact_mm : length of the block's own foot on the bed [mm].
    """

    seen: str
    steps: tuple[Tread, ...]
    material: str
    strips: int
    gap_mm: float
    contact_mm: float
    reach_mm: float


def contour_bed(
    outlines: tuple[Sequence[tuple[float, float]], Sequence[tuple[float, float]]],
    profile_mm: Sequence[Size],
    block_mm: Size,
    *,
    strip_mm: float,
    material: str,
) -> tuple[ContourSide, ...]:
    """The contour bed of a block, seen from its side and from its end.

    Parameters
    ----------
    outlines : silhouettes (side, end) [mm]; an empty one is made from the profile.
    profile_mm : height over the base, length and width there [mm]. block_mm : the block's prism [mm].
    strip_mm : thickness of the strips [mm]. material : what they are.

    Returns
    -------
    ContourSide for side and end; empty where neither outline nor profile is known (the block is taken as a prism).

    Raises
    ------
    BadInput : the profile does not rise, is higher or wider than the block, or has a size that cannot be.
    """
    check_profile(profile_mm, block_mm)
    sides = []
    for seen, outline, column, whole in (("side", outlines[0], 1, block_mm[0]), ("end", outlines[1], 2, block_mm[1])):
        shape = tuple(outline) or _from_profile(profile_mm, column, whole, block_mm[2])
        if shape:
            sides.append(_steps(seen, np.array(shape, dtype=np.float64), strip_mm, material))
    return tuple(sides)


def check_profile(profile_mm: Sequence[Size], block_mm: Size) -> None:
    """Refuse a profile that cannot belong to its block.

    Raises
    ------
    BadInput : heights do not rise from the base, or a size is not above 0 or larger than the block.
    """
    limit = f"heights rising from 0 to {block_mm[2]:g} mm, lengths to {block_mm[0]:g} and widths to {block_mm[1]:g} mm"
    last = -1.0
    for number, (height, length, width) in enumerate(profile_mm, 1):
        inside = 0.0 <= height <= block_mm[2] + 0.5 and 0.0 < length <= block_mm[0] + 0.5
        if height <= last or not inside or not 0.0 < width <= block_mm[1] + 0.5:
            raise BadInput(
                f"step {number} of the profile is {height:g} mm high, {length:g} long and {width:g} wide",
                where="profile_mm",
                limit=limit,
                do="Measure height over the base, then length and width there, from the base up",
            )
        last = height


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
    low, high = np.minimum(x0, x1), np.maximum(x0, x1)
    crosses = (at >= low - _HAIR) & (at <= high + _HAIR)
    run = np.where(np.abs(x1 - x0) < _HAIR, 1.0, x1 - x0)
    share = np.clip((at - x0) / run, 0.0, 1.0)
    height = np.where(np.abs(x1 - x0) < _HAIR, np.minimum(z0, z1), z0 + share * (z1 - z0))
    found = np.where(crosses, height, np.inf).min(axis=1)
    return np.where(np.isinf(found), np.nan, found)


def _from_profile(
    profile_mm: Sequence[Size], column: int, whole: float, height: float
) -> tuple[tuple[float, float], ...]:
    """A centred silhouette from a profile; empty without one."""
    if not profile_mm:
        return ()
    rows = [(step[0], step[column]) for step in profile_mm]
    if rows[0][0] > 0.0:
        rows.insert(0, (0.0, rows[0][1]))
    if rows[-1][0] < height:
        rows.append((height, rows[-1][1]))
    left = [((whole - wide) / 2.0, z) for z, wide in rows]
    right = [((whole + wide) / 2.0, z) for z, wide in rows]
    return (*left[::-1], *right)


def _steps(seen: str, outline: Array, strip_mm: float, material: str) -> ContourSide:
    first, last = float(outline[:, 0].min()), float(outline[:, 0].max())
    edges = np.linspace(first, last, _READ + 1)
    under = underside_mm(outline, (edges[:-1] + edges[1:]) / 2.0) - float(outline[:, 1].min())
    under = np.nan_to_num(under, nan=0.0)
    middle = int(np.flatnonzero(under <= under.min() + _HAIR).mean()) + 1
    place = (last - first) / _READ
    left, right = _treads(under[:middle], strip_mm, place), _treads(under[middle:][::-1], strip_mm, place)
    spans = [*left, *((_READ - end, _READ - begin, height) for begin, end, height in right[::-1])]
    treads = [
        Tread(from_mm=float(edges[begin]), to_mm=float(edges[end]), height_mm=height)
        for begin, end, height in spans
        if height > 0.0
    ]
    gaps = [
        min(float(under[begin:end].max()) - height, float(edges[end] - edges[begin])) for begin, end, height in spans
    ]
    return ContourSide(
        seen=seen,
        steps=tuple(treads),
        material=material,
        strips=int(max((tread.height_mm for tread in treads), default=0.0) / strip_mm + 0.5),
        gap_mm=max(gaps, default=0.0),
        contact_mm=float((under <= _TOUCHING_MM).sum() * place),
        reach_mm=last - first,
    )


def _treads(under: Array, strip_mm: float, place_mm: float) -> list[tuple[int, int, float]]:
    """Treads from the outside in: (first place, place after the last, height), each at least a strip wide.

    A tread is as high as whole strips go under its lowest place, so nothing is pushed into the block.
    """
    least = max(1, math.ceil(strip_mm / place_mm - _HAIR))
    found, begin = [], 0
    while begin < under.size:
        end = min(begin + least, under.size)
        height = math.floor(float(under[begin:end].min()) / strip_mm + _HAIR) * strip_mm
        while end < under.size and height <= under[end] + _HAIR < height + strip_mm:
            end += 1
        found.append((begin, end, height))
        begin = end
    return found
