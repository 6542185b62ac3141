"""Does a closed surface run through itself? Counted along straight lines in three directions.

Along a line through a sound solid the count of entries less exits is 0 or 1. Where it is 2 or more, two parts cover the
same space; where it is below 0, a part is turned inside out. The lines stand on an irrational grid, so that they
meet no edge but by chance, and an edge that is met counts for exactly one of its two triangles.

Finds what a line of the grid meets. Limit: an overlap narrower than the spacing of the lines may be missed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from findhold.geometry.mesh.raw import FloatArray, IntArray

_LINES = 64
"""Lines along each side of the grid of a direction."""
_PAIRS_MOST = 12_000_000
"""So many triangles are looked at with a line of a direction at once; above that the grid is made coarser."""
_SHIFT = 0.381_966_011_25
"""Where in its cell a line stands: the golden section, which no regular mesh has its edges at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """What the lines met.

    lines : lines that met the solid. bad : lines with a count that no sound solid has. deepest_mm : the longest stretch
    of such a count. spacing_mm : widest distance between two lines. covered_mm3 : space covered once or more, as the
    lines measure it; the mean of three directions.
    """

    lines: int
    bad: int
    deepest_mm: float
    spacing_mm: float
    covered_mm3: float


def cross_check(corners_mm: FloatArray, triangles: IntArray) -> Crossing:
    """Test a closed surface along lines parallel to each axis.

    Not for open surfaces: along a line through a hole the count means nothing.

    Parameters
    ----------
    corners_mm : shape (n, 3). triangles : shape (m, 3), facing outwards.

    Source: winding number along a line; computed.
    """
    ways = [_along(corners_mm[:, axes], triangles) for axes in ((0, 1, 2), (1, 2, 0), (2, 0, 1))]
    return Crossing(
        lines=sum(way.lines for way in ways),
        bad=sum(way.bad for way in ways),
        deepest_mm=max(way.deepest_mm for way in ways),
        spacing_mm=max(way.spacing_mm for way in ways),
        covered_mm3=float(np.mean([way.covered_mm3 for way in ways])),
    )


def _along(points: FloatArray, triangles: IntArray) -> Crossing:
    """The same in one direction: lines parallel to the last axis."""
    low, high = points.min(axis=0), points.max(axis=0)
    many = _LINES
    while True:
        step = np.maximum((high - low)[:2] / many, 1e-12)
        first, wide = _reach(points, triangles, low, step)
        if int((wide[0] * wide[1]).sum()) <= _PAIRS_MOST or many <= 8:
            break
        many //= 2
    line, z, way = _met(points, triangles, (low, step, many), (first, wide))
    return _counted(line, z, way, step, float(high[2] - low[2]))


def _reach(
    points: FloatArray, triangles: IntArray, low: FloatArray, step: FloatArray
) -> tuple[list[IntArray], list[IntArray]]:
    """The first line over the box of each triangle, and how many, in both directions of the grid."""
    first, wide = [], []
    for axis in (0, 1):
        # Lines before each corner; a line stands between two corners when their numbers differ.
        before = np.ceil((points[:, axis] - low[axis]) / step[axis] - _SHIFT).astype(np.int32)
        a, b, c = (before[np.ascontiguousarray(triangles[:, i])] for i in range(3))
        least = np.minimum(np.minimum(a, b), c)
        first.append(least.astype(np.int64))
        wide.append((np.maximum(np.maximum(a, b), c) - least).astype(np.int64))
    return first, wide


def _met(
    points: FloatArray,
    triangles: IntArray,
    grid: tuple[FloatArray, FloatArray, int],
    boxes: tuple[list[IntArray], list[IntArray]],
) -> tuple[IntArray, FloatArray, IntArray]:
    """Where lines meet triangles: line, height, and +1 for an entry (a triangle that faces down) or -1."""
    low, step, many = grid
    first, wide = boxes
    some = np.flatnonzero((wide[0] > 0) & (wide[1] > 0))
    count = wide[0][some] * wide[1][some]
    own = np.repeat(some, count)
    place = np.arange(int(count.sum())) - np.repeat(np.cumsum(count) - count, count)
    i, j = first[0][own] + place // wide[1][own], first[1][own] + place % wide[1][own]
    x, y = low[0] + (i + _SHIFT) * step[0], low[1] + (j + _SHIFT) * step[1]
    rows = triangles[own]
    left = [_left_of(points, rows[:, k], rows[:, (k + 1) % 3], x, y) for k in range(3)]
    up, down = left[0] & left[1] & left[2], ~(left[0] | left[1] | left[2])
    hit = up | down
    a, b, c = (points[rows[hit, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    flat = normal[:, 2] == 0
    slope = np.where(flat, 1.0, normal[:, 2])
    z = a[:, 2] - (normal[:, 0] * (x[hit] - a[:, 0]) + normal[:, 1] * (y[hit] - a[:, 1])) / slope
    z = np.clip(z, np.minimum(np.minimum(a[:, 2], b[:, 2]), c[:, 2]), np.maximum(np.maximum(a[:, 2], b[:, 2]), c[:, 2]))
    return (i * many + j)[hit], z, np.where(up[hit], -1, 1)


def _left_of(points: FloatArray, start: IntArray, end: IntArray, x: FloatArray, y: FloatArray) -> np.ndarray:
    """Whether a point is left of an edge, worked out from the same end for both triangles that share the edge."""
    swapped = start > end
    p, q = points[np.where(swapped, end, start)], points[np.where(swapped, start, end)]
    left = (q[:, 0] - p[:, 0]) * (y - p[:, 1]) - (q[:, 1] - p[:, 1]) * (x - p[:, 0]) > 0.0
    return left ^ swapped


def _counted(line: IntArray, z: FloatArray, way: IntArray, step: FloatArray, height: float) -> Crossing:
    """The count along every line, and where it is neither 0 nor 1."""
    order = np.lexsort((-way, z, line))
    line, z, way = line[order], z[order], way[order]
    count = np.cumsum(way)  # every line of a closed surface adds up to nothing, so the lines do not disturb each other
    gap = np.append(np.diff(z), 0.0)
    last = np.append(np.diff(line) != 0, True)
    gap[last] = 0.0
    wrong = ((count < 0) | (count > 1)) & (gap > 1e-6 * max(height, 1e-9)) & ~last
    cell = float(step[0] * step[1])
    return Crossing(
        lines=int(last.sum()) if len(line) else 0,
        bad=len(np.unique(line[wrong])),
        deepest_mm=float(gap[wrong].max()) if wrong.any() else 0.0,
        spacing_mm=float(step.max()),
        covered_mm3=float(gap[count != 0].sum()) * cell,
    )
