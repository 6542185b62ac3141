"""Does a convex outline go into a rectangle at any angle: exact, for many rectangles at once.

A convex outline lies in a rectangle at an angle exactly when its two extents there do. Between two angles at which one
of its edges lies along a side, each extent is one arc of a cosine. So the roomiest angle is one of those angles, or one
at which both sides have equally much to spare; each is in closed form. Lengths in millimetres.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
_HALF_TURN = np.pi
_SAME_ANGLE = 1e-12
_HAIR_MM = 1e-9


def rectangle(length_mm: float, width_mm: float) -> tuple[tuple[float, float], ...]:
    """Corners of a rectangle from its lower left one, anticlockwise."""
    return ((0.0, 0.0), (length_mm, 0.0), (length_mm, width_mm), (0.0, width_mm))


def extents_mm(outline_mm: npt.ArrayLike, turn_deg: npt.ArrayLike) -> FloatArray:
    """Extents of an outline turned anticlockwise.

    Parameters
    ----------
    outline_mm : shape (k, 2), corners [mm]. turn_deg : shape (...), angles [degrees].

    Returns
    -------
    shape (..., 2) [mm]: extent along x and along y. Source: projection; computed.
    """
    across = turned_mm(outline_mm, turn_deg)
    return np.asarray(np.ptp(across, axis=-2))


def turned_mm(outline_mm: npt.ArrayLike, turn_deg: npt.ArrayLike) -> FloatArray:
    """Corners of an outline turned anticlockwise about the origin: shape (..., k, 2) [mm]."""
    points = np.asarray(outline_mm, dtype=np.float64)
    angle = np.radians(np.asarray(turn_deg, dtype=np.float64))[..., None]
    cos, sin = np.cos(angle), np.sin(angle)
    x, y = points[:, 0], points[:, 1]
    return np.stack([x * cos - y * sin, x * sin + y * cos], axis=-1)


def may_go_in(outline_mm: npt.ArrayLike, room_mm: npt.ArrayLike) -> npt.NDArray[np.bool_]:
    """Which rectangles are not ruled out at once: shape (n,); a rectangle smaller in area or narrower than it is.

    Parameters
    ----------
    outline_mm : shape (k, 2), corners of the convex outline in order [mm]. room_mm : shape (n, 2) [mm].

    Source: area, and least width of a convex outline, which lies across one of its edges; computed.
    """
    points = np.asarray(outline_mm, dtype=np.float64)
    room = np.asarray(room_mm, dtype=np.float64).reshape(-1, 2)
    after = np.roll(points, -1, axis=0)
    area = abs(float((points[:, 0] * after[:, 1] - after[:, 0] * points[:, 1]).sum())) / 2
    least = float(extents_mm(points, np.degrees(_stops(points))).min())
    narrow = np.minimum(room[:, 0], room[:, 1])
    return np.asarray((narrow >= least - _HAIR_MM) & (room[:, 0] * room[:, 1] >= area * (1 - 1e-9)))


def roomiest_turn(outline_mm: npt.ArrayLike, room_mm: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """The angle at which an outline has the wider narrowest spare in each rectangle, and that spare.

    Not for outlines that are not convex: give the convex hull.

    Parameters
    ----------
    outline_mm : shape (k, 2), corners of the convex outline in order [mm].
    room_mm : shape (n, 2), length and width of each rectangle, clearances taken off [mm].

    Returns
    -------
    angle : shape (n,), from 0 up to 180 [degrees], anticlockwise; the smallest of equals.
    spare : shape (n, 2), rectangle less extent along length and width [mm]; both at or above 0 = it goes in.

    Source: closed form (see the module); computed. For a rectangle it is the known condition (carver-1957).
    """
    points = np.asarray(outline_mm, dtype=np.float64)
    room = np.asarray(room_mm, dtype=np.float64).reshape(-1, 2)
    stops = _stops(points)
    along, across = _antipodes(points, stops)
    crossings = _crossings(along, across, stops, room[:, 0] - room[:, 1])
    angles = np.concatenate([np.broadcast_to(stops, (len(room), len(stops))), crossings], axis=1)
    extent_l, extent_w = _extents_of_arcs(along, across, stops, angles)
    spare_l, spare_w = room[:, :1] - extent_l, room[:, 1:] - extent_w
    narrowest = np.where(np.isnan(angles), -np.inf, np.minimum(spare_l, spare_w))
    # angles that are equally good to a hair count as equal, and the first, which is the smallest, is taken
    best = narrowest.max(axis=1, keepdims=True)
    angle = np.where(narrowest >= best - 1e-9 * (1.0 + np.abs(best)), angles, np.inf)
    chosen = np.argmin(angle, axis=1)
    rows = np.arange(len(room))
    spare = np.stack([spare_l[rows, chosen], spare_w[rows, chosen]], axis=1)
    return np.mod(np.degrees(angles[rows, chosen]), 180.0), spare


def _stops(points: FloatArray) -> FloatArray:
    """Angles in [0, pi) at which an edge lies along a side of the rectangle, ascending; 0 and a right angle too."""
    edges = np.roll(points, -1, axis=0) - points
    edges = edges[np.hypot(edges[:, 0], edges[:, 1]) > 0]
    quarter = np.mod(-np.arctan2(edges[:, 1], edges[:, 0]), _HALF_TURN / 2)
    quarter = np.unique(np.concatenate([[0.0], quarter]))
    quarter = quarter[(quarter < _HALF_TURN / 2 - _SAME_ANGLE)]
    keep = np.concatenate([[True], np.diff(quarter) > _SAME_ANGLE])
    return np.concatenate([quarter[keep], quarter[keep] + _HALF_TURN / 2])


def _antipodes(points: FloatArray, stops: FloatArray) -> tuple[FloatArray, FloatArray]:
    """For each arc from one stop to the next, the vectors whose projections are the two extents: shapes (m, 2)."""
    ends = np.append(stops[1:], _HALF_TURN)
    middle = (stops + ends) / 2
    pairs = []
    for direction in (-middle, _HALF_TURN / 2 - middle):
        reach = points @ np.stack([np.cos(direction), np.sin(direction)])
        pairs.append(points[np.argmax(reach, axis=0)] - points[np.argmin(reach, axis=0)])
    return pairs[0], pairs[1]


def _crossings(along: FloatArray, across: FloatArray, stops: FloatArray, difference: FloatArray) -> FloatArray:
    """Angles at which both sides spare equally much: shape (n, 2 m), nan where an arc has none."""
    ends = np.append(stops[1:], _HALF_TURN)
    # extent along less extent across = cos(t) (a.x - b.y) - sin(t) (a.y + b.x) = size cos(t + phase)
    cosine, sine = along[:, 0] - across[:, 1], along[:, 1] + across[:, 0]
    size, phase = np.hypot(cosine, sine), np.arctan2(sine, cosine)
    with np.errstate(invalid="ignore", divide="ignore"):
        half = np.arccos(difference[:, None] / size)
    both = np.concatenate([np.mod(-phase + half, 2 * _HALF_TURN), np.mod(-phase - half, 2 * _HALF_TURN)], axis=1)
    low, high = np.tile(stops, 2), np.tile(ends, 2)
    return np.where((both >= low) & (both <= high), both, np.nan)


def _extents_of_arcs(
    along: FloatArray, across: FloatArray, stops: FloatArray, angles: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Both extents at angles ordered as stops, then crossings twice round the arcs: shapes (n, 3 m)."""
    arc = np.tile(np.arange(len(stops)), 3)
    cos, sin = np.cos(angles), np.sin(angles)
    a, b = along[arc], across[arc]
    return a[:, 0] * cos - a[:, 1] * sin, b[:, 0] * sin + b[:, 1] * cos
