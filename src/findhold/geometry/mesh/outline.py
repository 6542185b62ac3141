"""What a surface looks like: its silhouettes from side and end, and its length and width at each height.

Sections are taken at stations, exactly; between two of them the outline also runs through the corners that stand
out. A silhouette is the space that the least and most heights at each station and the least and most reach at each
height both allow: necks, shoulders and feet show, a hole through the find (a handle) does not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.geometry.mesh.raw import FloatArray, IntArray

_STATIONS, _BAND_STATIONS = 129, 193
_ROUNDS, _CLOSE = 6, 1e-4
"""So often corners beyond an outline are put into it, and how far beyond counts, as a share of its extent."""
POINTS_MOST = 200
"""Corners of an outline at most."""
Outline = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """Length and width of a surface by height: shape (n,) each, heights from 0 at the base [mm]."""

    height_mm: FloatArray
    length_mm: FloatArray
    width_mm: FloatArray


def silhouettes(corners_mm: FloatArray, edges: IntArray) -> tuple[Outline, Outline]:
    """Outlines seen from the side (x, z) and from the end (y, z).

    Parameters
    ----------
    corners_mm : shape (n, 3), in the block's frame: x its length, y its width, z up from 0.
    edges : shape (k, 2), each edge of the surface once.

    Returns
    -------
    Two closed polygons, anticlockwise, of at most POINTS_MOST corners [mm].
    """
    return _silhouette(corners_mm, edges, 0), _silhouette(corners_mm, edges, 1)


def sections(corners_mm: FloatArray, edges: IntArray, sink_mm: float) -> Heights:
    """Length and width at evenly spaced heights.

    The lowest and the highest row are taken `sink_mm` inside, because a round base touches in a point.
    """
    top = float(corners_mm[:, 2].max())
    at = np.linspace(0.0, top, _STATIONS)
    sink = min(sink_mm, top / 4.0)
    cut = np.clip(at, sink, top - sink)
    spans = []
    for axis in (0, 1):
        low, high = _spans(corners_mm[:, 2], corners_mm[:, axis], edges, cut)
        spans.append(_bridged(high - low))
    return Heights(height_mm=at, length_mm=spans[0], width_mm=spans[1])


def shortened(
    heights: Heights, within_mm: float, rows_most: int
) -> tuple[tuple[tuple[float, float, float], ...], float]:
    """The fewest rows (height, length, width) whose straight lines are within a tolerance, and the largest miss [mm].

    Rows are put in where the miss is largest until it is small enough or there are `rows_most` of them.
    """
    h = heights.height_mm
    chosen = [0, len(h) - 1]
    while True:
        chosen.sort()
        miss = np.maximum(
            *(np.abs(np.interp(h, h[chosen], side[chosen]) - side) for side in (heights.length_mm, heights.width_mm))
        )
        worst = int(np.argmax(miss))
        if miss[worst] <= within_mm or len(chosen) >= rows_most:
            break
        chosen.append(worst)
    rows = tuple((float(h[i]), float(heights.length_mm[i]), float(heights.width_mm[i])) for i in chosen)
    return rows, float(miss[worst])


def simplified(corners: npt.ArrayLike, points_most: int = POINTS_MOST) -> Outline:
    """A polygon with at most so many corners, each step dropping what stands out least; shape (n, 2) [mm]."""
    from shapely.geometry import Polygon

    shape = Polygon(np.asarray(corners, dtype=np.float64))
    within = 0.0
    size = max(shape.bounds[2] - shape.bounds[0], shape.bounds[3] - shape.bounds[1], 1e-9)
    while len(shape.exterior.coords) - 1 > points_most:
        within = max(within * 1.6, size * 1e-5)
        shape = shape.simplify(within, preserve_topology=True)
    ring = shape.exterior
    points = list(ring.coords)[:-1]
    if not ring.is_ccw:
        points.reverse()
    return tuple((float(x), float(y)) for x, y in points)


def _silhouette(corners: FloatArray, edges: IntArray, axis: int) -> Outline:
    from shapely.geometry import Polygon

    flat = corners[:, [axis, 2]]
    upright = Polygon(_band(flat[:, 0], flat[:, 1], edges)).buffer(0)
    level = Polygon(_band(flat[:, 1], flat[:, 0], edges)[:, ::-1]).buffer(0)
    both = upright.intersection(level)
    parts = [part for part in getattr(both, "geoms", [both]) if part.geom_type == "Polygon" and part.area > 0]
    # What is left beside the largest part are slivers where the two bands meet in a point.
    largest = max(parts, key=lambda part: part.area, default=upright)
    return simplified(np.array(largest.exterior.coords)[:-1])


def _band(along: FloatArray, across: FloatArray, edges: IntArray) -> FloatArray:
    """The polygon between the least and the most of `across` at stations of `along`, with what stands out between."""
    # Closer together at the ends, where an outline turns back.
    share = (1.0 - np.cos(np.linspace(0.0, np.pi, _BAND_STATIONS))) / 2.0
    stations = along.min() + share * (along.max() - along.min())
    stations[-1] = along.max()
    low, high = _spans(along, across, edges, stations)
    low, high = _bridged(low), _bridged(high)
    lower = _with_extremes(stations, low, along, -across)
    upper = _with_extremes(stations, -high, along, across)
    return np.vstack([np.column_stack([lower[0], lower[1]]), np.column_stack([upper[0], -upper[1]])[::-1]])


def _with_extremes(
    stations: FloatArray, least: FloatArray, along: FloatArray, outwards: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Stations with their least value, and between them the corners that lie lower than a straight line says."""
    x, y = stations, least
    for _ in range(_ROUNDS):
        beyond = -outwards - np.interp(along, x, y)
        lower = beyond < -_CLOSE * (float(np.ptp(stations)) or 1.0)
        if not lower.any():
            break
        along, outwards, beyond = along[lower], outwards[lower], beyond[lower]
        cell = np.searchsorted(x, along, side="right")
        order = np.lexsort((beyond, cell))
        worst = order[np.unique(cell[order], return_index=True)[1]]
        x, y = np.concatenate([x, along[worst]]), np.concatenate([y, -outwards[worst]])
        sort = np.argsort(x, kind="stable")
        x, y = x[sort], y[sort]
    return x, y


def _spans(
    along: FloatArray, across: FloatArray, edges: IntArray, stations: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The least and the most of `across` where edges meet each station of `along`; nan where none does."""
    ends = np.ascontiguousarray(edges[:, 0]), np.ascontiguousarray(edges[:, 1])
    before = np.searchsorted(stations, along, side="left").astype(np.int32)
    after = np.searchsorted(stations, along, side="right").astype(np.int32)
    first = np.minimum(before[ends[0]], before[ends[1]])
    count = np.maximum(np.maximum(after[ends[0]], after[ends[1]]) - first, 0)
    met = np.flatnonzero(count)
    edges, first, count = edges[met], first[met], count[met]
    start, end = along[edges[:, 0]], along[edges[:, 1]]
    own = np.repeat(np.arange(len(edges)), count)
    station = np.repeat(first, count) + np.arange(int(count.sum())) - np.repeat(np.cumsum(count) - count, count)
    length = end[own] - start[own]
    level = length == 0
    share = np.where(level, 0.0, (stations[station] - start[own]) / np.where(level, 1.0, length))
    a, b = across[edges[own, 0]], across[edges[own, 1]]
    at = a + share * (b - a)
    low, high = np.full(len(stations), np.inf), np.full(len(stations), -np.inf)
    np.minimum.at(low, station, np.where(level, np.minimum(a, b), at))
    np.maximum.at(high, station, np.where(level, np.maximum(a, b), at))
    none = low > high
    low[none] = high[none] = np.nan
    return low, high


def _bridged(values: FloatArray) -> FloatArray:
    """Gaps between pieces bridged by a straight line."""
    known = np.isfinite(values)
    if known.all() or not known.any():
        return values
    places = np.arange(len(values))
    return np.interp(places, places[known], values[known])
