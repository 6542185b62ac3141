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
_DIRECTIONS_DEG = (-45.0, 0.0, -90.0, 45.0, -135.0, 180.0, 90.0, 135.0)
_BETWEEN_DEG = (-22.5, 22.5, -67.5, -112.5, 67.5, 112.5, -157.5, 157.5)
_SPACE_MM = 0.5  # air between two blocks
_NEAREST_MM = 1.3  # from a point to its block when nothing is in the way
_GROWTH = 1.22  # each ring is so much wider than the one before


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

    The nearest free place wins, above right first; blocks come from the top of the sheet down, so the same input gives
    the same sheet. Leaders keep off other blocks and other leaders where any place allows it.

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
    dots = np.array([block.point for block in blocks], dtype=np.float64).reshape(-1, 2)
    filled = [*taken, *((x - dot_mm, y - dot_mm, x + dot_mm, y + dot_mm) for x, y in dots)]
    boxes = np.array(filled, dtype=np.float64).reshape(-1, 4)
    leaders = np.empty((0, 4))
    own = len(taken)
    placed: dict[int, Placed] = {}
    for index in sorted(range(len(blocks)), key=lambda i: (blocks[i].point[1], blocks[i].point[0], i)):
        candidates, mirrored, ends = _candidates(blocks[index], window)
        free = ~_overlaps(candidates, boxes, _SPACE_MM).any(axis=1)
        if not free.any():
            raise BadInput(
                f"there is no room left on the sheet for {len(blocks) - len(placed)} of {len(blocks)} numbers",
                do="Use larger paper or a larger scale, or plot fewer finds on one sheet",
            )
        lines = np.column_stack([np.broadcast_to(dots[index], (len(ends), 2)), ends])
        others = np.delete(boxes, own + index, axis=0)
        clear = ~_crosses_boxes(lines, others).any(axis=1) & ~_crosses_boxes(leaders, candidates).any(axis=0)
        apart = ~_crosses_lines(lines, leaders).any(axis=1)
        for wanted in (free & clear & apart, free & clear, free):
            if wanted.any():
                best = int(np.flatnonzero(wanted)[0])
                break
        box: Box = tuple(float(v) for v in candidates[best])  # type: ignore[assignment]
        placed[index] = Placed(
            box=box, mirrored=bool(mirrored[best]), leader_end=(float(ends[best, 0]), float(ends[best, 1]))
        )
        boxes = np.vstack([boxes, candidates[best]])
        leaders = np.vstack([leaders, lines[best]])
    return tuple(placed[index] for index in range(len(blocks)))


def _candidates(block: Block, window: Box) -> tuple[Floats, NDArray[np.bool_], Floats]:
    """Boxes on widening rings round the point that lie inside the window, nearest first."""
    reach = math.hypot(window[2] - window[0], window[3] - window[1])
    rings = math.ceil(math.log(reach / _NEAREST_MM) / math.log(_GROWTH))
    radii = _NEAREST_MM * _GROWTH ** np.arange(rings + 1)
    angles = np.radians(np.array(_DIRECTIONS_DEG + _BETWEEN_DEG))
    r, a = (grid.ravel() for grid in np.meshgrid(radii, angles, indexing="ij"))
    cos, sin = np.cos(a), np.sin(a)
    half_w, half_h = block.width_mm / 2, block.height_mm / 2
    with np.errstate(divide="ignore"):
        inside = np.minimum(half_w / np.abs(cos), half_h / np.abs(sin))
    x, y = block.point[0] + cos * (r + inside), block.point[1] + sin * (r + inside)
    boxes = np.column_stack([x - half_w, y - half_h, x + half_w, y + half_h])
    fits = (
        (boxes[:, 0] >= window[0])
        & (boxes[:, 1] >= window[1])
        & (boxes[:, 2] <= window[2])
        & (boxes[:, 3] <= window[3])
    )
    mirrored = cos < -1e-9
    end_x = np.where(mirrored, boxes[:, 2] - block.leader_in_mm, boxes[:, 0] + block.leader_in_mm)
    return boxes[fits], mirrored[fits], np.column_stack([end_x, y])[fits]


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
