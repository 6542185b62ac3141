"""Blocks set beside their points without covering each other: the first free place on rings round each point."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from findhold.errors import BadInput

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]
"""Left, top, right, bottom [mm], y downwards."""
_DIRECTIONS = 32
_SPACE_MM = 0.5  # air between two blocks
_NEAREST_MM = 1.7  # from a point to its block when nothing is in the way
_GROWTH = 1.16  # each ring is so much wider than the one before
_NEIGHBOUR_MM = 12.0  # points nearer than about this push a block to the outside of their crowd
_ROUNDS = 4  # times that every block may move again once all stand
_LOOKED_AT = 240  # free places weighed for one block, nearest first
# Weights of a place, in millimetres of leader that one would accept instead; chosen by looking at sheets.
_OVER_BLOCK, _OVER_DOT, _OVER_LEADER, _INWARD = 25.0, 12.0, 10.0, 0.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """What is to be placed beside its point, and where in it the leader ends."""

    point: tuple[float, float]
    width_mm: float
    height_mm: float
    leader_in_mm: float
    """From the block's edge on the point's side to the middle of its symbol."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A block in its place: its box, whether it lies left of its point, and its leader's end."""

    box: Box
    mirrored: bool
    leader_end: tuple[float, float]


def place_blocks(
    blocks: Sequence[Block], window: Box, taken: Sequence[Box] = (), dot_mm: float = 0.6
) -> tuple[Placed, ...]:
    """Place every block inside the window, clear of the others, of every point's dot and of the boxes taken.

    A block stands as near to its point as it can, on the outer side of a crowd, and its leader keeps off dots, other
    blocks and other leaders where that costs little. The same input gives the same sheet.

    Parameters
    ----------
    blocks : what to place [mm].
    window : the box that must hold every block [mm].
    taken : boxes that blocks must not cover [mm].
    dot_mm : radius of the dot at each point [mm].

    Returns
    -------
    One Placed for each block, in the order given.

    Raises
    ------
    BadInput : no free place is left for a block.
    """
    if not blocks:
        return ()
    dots = np.array([block.point for block in blocks], dtype=np.float64)
    dot_boxes = np.column_stack([dots - dot_mm, dots + dot_mm])
    layout = _Layout(
        fixed=np.vstack([np.array(taken, dtype=np.float64).reshape(-1, 4), dot_boxes]),
        dots=dots,
        own_dot=len(taken),
        boxes=np.full((len(blocks), 4), np.nan),
        lines=np.full((len(blocks), 4), np.nan),
    )
    outward, crowding = _outward(dots)
    places = [_candidates(block, window) for block in blocks]
    order = sorted(range(len(blocks)), key=lambda i: (-crowding[i], dots[i, 1], dots[i, 0], i))
    chosen = np.full(len(blocks), -1)
    for _ in range(_ROUNDS):
        before = chosen.copy()
        for index in order:
            chosen[index] = layout.choose(index, places[index], outward[index])
        if (before == chosen).all():
            break
    return tuple(
        Placed(
            box=_box(layout.boxes[index]),
            mirrored=bool(places[index].mirrored[chosen[index]]),
            leader_end=(float(layout.lines[index, 2]), float(layout.lines[index, 3])),
        )
        for index in range(len(blocks))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Candidates:
    """Possible places of one block, nearest first: box, gap to the point, direction, side, leader's end."""

    boxes: Floats
    gap_mm: Floats
    angle: Floats
    mirrored: NDArray[np.bool_]
    ends: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
    """What stands on the sheet so far; a block not yet placed is nan, which overlaps and crosses nothing."""

    fixed: Floats
    dots: Floats
    own_dot: int
    boxes: Floats
    lines: Floats

    def choose(self, index: int, places: _Candidates, outward: float) -> int:
        """Put one block into its cheapest free place and return which; BadInput when none is free."""
        self.boxes[index] = self.lines[index] = np.nan
        standing = np.vstack([self.fixed, self.boxes])
        free = np.flatnonzero(~_overlaps(places.boxes, standing, _SPACE_MM).any(axis=1))[:_LOOKED_AT]
        if not free.size:
            raise BadInput(
                f"there is no room left on the sheet for all {len(self.boxes)} numbers",
                do="Use larger paper or a larger scale, or plot fewer finds on one sheet",
            )
        ends = places.ends[free]
        lines = np.column_stack([np.broadcast_to(self.dots[index], ends.shape), ends])
        others = np.delete(self.fixed, self.own_dot + index, axis=0)
        gap = places.gap_mm[free]
        cost = (
            gap * (1.0 + _INWARD * (1.0 - np.cos(places.angle[free] - outward)))
            + _OVER_DOT * _crosses_boxes(lines, others).sum(axis=1)
            + _OVER_BLOCK * _crosses_boxes(lines, self.boxes).sum(axis=1)
            + _OVER_BLOCK * _crosses_boxes(self.lines, places.boxes[free]).sum(axis=0)
            + _OVER_LEADER * _crosses_lines(lines, self.lines).sum(axis=1)
        )
        best = int(np.argmin(cost))
        self.boxes[index], self.lines[index] = places.boxes[free[best]], lines[best]
        return int(free[best])


def _outward(dots: Floats) -> tuple[Floats, Floats]:
    """For each point the direction away from its neighbours, and how crowded it is; alone: above right."""
    apart = dots[:, None, :] - dots[None, :, :]
    weight = np.exp(-np.hypot(apart[..., 0], apart[..., 1]) / _NEIGHBOUR_MM)
    pull = (apart * weight[..., None]).sum(axis=1) + np.array([0.01, -0.01])
    angles: Floats = np.arctan2(pull[:, 1], pull[:, 0])
    return angles, np.hypot(pull[:, 0], pull[:, 1])


def _candidates(block: Block, window: Box) -> _Candidates:
    """Boxes on widening rings round the point that lie inside the window, nearest first."""
    reach = math.hypot(window[2] - window[0], window[3] - window[1])
    rings = math.ceil(math.log(reach / _NEAREST_MM) / math.log(_GROWTH))
    radii = _NEAREST_MM * _GROWTH ** np.arange(rings + 1)
    angles = np.arange(_DIRECTIONS) * (2 * math.pi / _DIRECTIONS)
    r, a = (grid.ravel() for grid in np.meshgrid(radii, angles, indexing="ij"))
    cos, sin = np.cos(a), np.sin(a)
    mirrored = cos < -1e-9
    half_h, half_symbol = block.height_mm / 2, block.leader_in_mm
    with np.errstate(divide="ignore"):
        inside = np.minimum(half_symbol / np.abs(cos), half_h / np.abs(sin))
    x, y = block.point[0] + cos * (r + inside), block.point[1] + sin * (r + inside)
    left = np.where(mirrored, x + half_symbol - block.width_mm, x - half_symbol)
    boxes = np.column_stack([left, y - half_h, left + block.width_mm, y + half_h])
    low, high = (boxes[:, :2] >= np.array(window[:2])).all(axis=1), (boxes[:, 2:] <= np.array(window[2:])).all(axis=1)
    fits = low & high
    return _Candidates(
        boxes=boxes[fits],
        gap_mm=r[fits],
        angle=a[fits],
        mirrored=mirrored[fits],
        ends=np.column_stack([x, y])[fits],
    )


def _box(row: Floats) -> Box:
    left, top, right, bottom = (float(value) for value in row)
    return left, top, right, bottom


def _overlaps(a: Floats, b: Floats, space: float = 0.0) -> NDArray[np.bool_]:
    """Which boxes of a overlap which of b, shape (len(a), len(b))."""
    first, second = a[:, None, :], b[None, :, :]
    across = (first[..., 0] < second[..., 2] + space) & (second[..., 0] < first[..., 2] + space)
    return across & (first[..., 1] < second[..., 3] + space) & (second[..., 1] < first[..., 3] + space)


def _crosses_boxes(lines: Floats, boxes: Floats) -> NDArray[np.bool_]:
    """Which lines run through which boxes (slab test), shape (len(lines), len(boxes))."""
    start, along = lines[:, None, :2], (lines[:, 2:] - lines[:, :2])[:, None, :]
    along = np.where(np.abs(along) < 1e-9, 1e-9, along)
    one, two = (boxes[None, :, :2] - start) / along, (boxes[None, :, 2:] - start) / along
    enter, leave = np.minimum(one, two).max(axis=2), np.maximum(one, two).min(axis=2)
    through: NDArray[np.bool_] = (enter < leave) & (enter < 1.0) & (leave > 0.0)
    return through


def _crosses_lines(a: Floats, b: Floats) -> NDArray[np.bool_]:
    """Which lines of a properly cross which of b, shape (len(a), len(b))."""
    p, q, r, s = a[:, None, :2], a[:, None, 2:], b[None, :, :2], b[None, :, 2:]

    def side(u: Floats, v: Floats, w: Floats) -> Floats:
        turned: Floats = (v[..., 0] - u[..., 0]) * (w[..., 1] - u[..., 1]) - (v[..., 1] - u[..., 1]) * (
            w[..., 0] - u[..., 0]
        )
        return turned

    crossing: NDArray[np.bool_] = (side(p, q, r) * side(p, q, s) < 0) & (side(r, s, p) * side(r, s, q) < 0)
    return crossing
