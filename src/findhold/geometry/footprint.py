"""The footprint of a block: convex hull in plan and the least rectangle round it, the vertical kept.

Own code and exact: the least rectangle has a side flush with an edge of the hull (H. Freeman and R. Shapira 1975,
memory), so every edge is tried and none is sampled. Not for boxes that may be tilted: a block stands as it was found.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
_TIE = 1e-9
"""Rectangles whose areas differ by less than this share are the same; the smaller angle is taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Footprint:
    """The least rectangle round points in plan.

    angle_deg : from the x axis of the points to the rectangle's length, anticlockwise, 0 up to 180. hull : corners of
    the convex hull in the rectangle's own frame, anticlockwise, shape (n, 2) [mm]. corner : the rectangle's lower
    corner once the points are turned back by angle_deg [mm].
    """

    length_mm: float
    width_mm: float
    angle_deg: float
    hull: FloatArray
    corner: tuple[float, float]


def convex_hull(points: npt.ArrayLike) -> FloatArray:
    """The convex hull of points in plan by the monotone chain.

    Parameters
    ----------
    points : shape (n, 2) [mm].

    Returns
    -------
    shape (m, 2): corners anticlockwise from the lowest x, none of them in line with its neighbours; one or two rows
    when the points are one point or a line.

    Source: A. M. Andrew 1979 (memory).
    """
    given = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    ordered = np.unique(_outer(given), axis=0)
    if len(ordered) < 3:
        return ordered
    lower, upper = _chain(ordered.tolist()), _chain(ordered[::-1].tolist())
    return np.array(lower[:-1] + upper[:-1], dtype=np.float64)


def least_rectangle(points: npt.ArrayLike) -> Footprint:
    """The least-area upright rectangle round points in plan, by rotating calipers over every edge of the hull.

    Parameters
    ----------
    points : shape (n, 2) [mm].

    Returns
    -------
    Footprint; of two rectangles of the same area the one with the smaller angle.

    Raises
    ------
    ValueError : no points.

    Source: rotating calipers; computed.
    """
    hull = convex_hull(points)
    if not len(hull):
        raise ValueError("there are no points to put a rectangle round")
    edges = np.roll(hull, -1, axis=0) - hull
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    along = edges[lengths > 0] / lengths[lengths > 0, None]
    if not len(along):
        along = np.array([[1.0, 0.0]])
    across = np.column_stack([-along[:, 1], along[:, 0]])
    width, height = _extent(hull, along), _extent(hull, across)
    area = width * height
    angle = np.degrees(np.arctan2(along[:, 1], along[:, 0]))
    angle = np.where(width >= height, angle, angle + 90.0) % 180.0
    angle = np.where(np.abs(angle - 180.0) < 1e-9, 0.0, angle)
    tied = np.flatnonzero(area <= area.min() * (1.0 + _TIE) + _TIE * float(np.ptp(hull)) ** 2)
    best = int(tied[np.argmin(angle[tied])])
    turned = turn(hull, -float(angle[best]))
    low = turned.min(axis=0)
    sides = (float(width[best]), float(height[best]))
    return Footprint(
        length_mm=max(sides),
        width_mm=min(sides),
        angle_deg=float(angle[best]),
        hull=turned - low,
        corner=(float(low[0]), float(low[1])),
    )


def turn(points: npt.ArrayLike, angle_deg: float) -> FloatArray:
    """The points, shape (n, 2) [mm], turned anticlockwise about the origin."""
    given = np.asarray(points, dtype=np.float64)
    cos, sin = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.column_stack([given[:, 0] * cos - given[:, 1] * sin, given[:, 0] * sin + given[:, 1] * cos])


def polygon_area(corners: npt.ArrayLike) -> float:
    """Area of a polygon with corners of shape (n, 2) [mm], positive when they run anticlockwise [mm2]."""
    x, y = np.asarray(corners, dtype=np.float64).T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2.0)


def _extent(hull: FloatArray, directions: FloatArray) -> FloatArray:
    """How far the hull reaches along each unit direction, for thousands of edges without a table of all pairs."""
    reach = np.empty(len(directions))
    for start in range(0, len(directions), 512):
        along = hull @ directions[start : start + 512].T
        reach[start : start + 512] = along.max(axis=0) - along.min(axis=0)
    return reach


def _outer(points: FloatArray) -> FloatArray:
    """Points that can be corners of the hull: those inside a polygon of extreme points cannot."""
    for many in (8, 64):
        if len(points) < 20 * many:
            break
        x, y = np.ascontiguousarray(points[:, 0]), np.ascontiguousarray(points[:, 1])
        ways = np.arange(many) * (2.0 * np.pi / many)
        ring = [int(np.argmax(x * np.cos(way) + y * np.sin(way))) for way in ways]
        outside = np.zeros(len(points), dtype=bool)
        for start, end in zip(ring, [*ring[1:], ring[0]], strict=True):
            along_x, along_y = x[end] - x[start], y[end] - y[start]
            outside |= along_x * (y - y[start]) - along_y * (x - x[start]) < 0.0
        outside[ring] = True
        points = points[outside]
    return points


def _chain(points: list[list[float]]) -> list[list[float]]:
    """One half of the hull of points in order."""
    chain: list[list[float]] = []
    for x, y in points:
        while len(chain) > 1:
            (ax, ay), (bx, by) = chain[-2], chain[-1]
            if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0.0:
                break
            chain.pop()
        chain.append([x, y])
    return chain
