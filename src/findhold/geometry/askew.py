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

    Source: closed form (see the module); computed. For a rectangle it is the known condition of Carver (1957).
    """
    points = np.asarray(outline_mm, dtype=np.float64)
    room = np.asarray(room_mm, dtype=np.float64).reshape(-1, 2)
    stops = _stops(points)
    along, across = _antipodes(points, stops)
    crossings = _crossings(along, across, stops, room[:, 0] - room[:, 1])
    angles = np.concatenate([np.broadcast_to(stops, (len(room), len(stops))), crossings], axis=1)
    extent = _extents_of_arcs(along, across, stops, angles)
    spare = room[:, None, :] - extent
    narrowest = np.where(np.isnan(angles), -np.inf, spare.min(axis=-1))
    # angles that are equally good to a hair count as equal, and the first, which is the smallest, is taken
    best = narrowest.max(axis=1, keepdims=True)
    angle = np.where(narrowest >= best - 1e-9 * (1.0 + np.abs(best)), angles, np.inf)
    chosen = np.argmin(angle, axis=1)
    rows = np.arange(len(room))
    return np.mod(np.degrees(angles[rows, chosen]), 180.0), spare[rows, chosen]


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


def _extents_of_arcs(along: FloatArray, across: FloatArray, stops: FloatArray, angles: FloatArray) -> FloatArray:
    """Extents at angles ordered as stops, then crossings twice round the arcs: shape (n, 3 m, 2)."""
    arc = np.tile(np.arange(len(stops)), 3)
    cos, sin = np.cos(angles), np.sin(angles)
    a, b = along[arc], across[arc]
    return np.stack([a[:, 0] * cos - a[:, 1] * sin, b[:, 0] * sin + b[:, 1] * cos], axis=-1)
