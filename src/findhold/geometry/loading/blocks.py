"""Blocks of equal boxes: every grid of one sort in one turn that a space and a count allow, as arrays."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import numpy.typing as npt

from findhold.geometry.loading.parts import Size

IntArray = npt.NDArray[np.int64]
MOST = 12_000
"""So many blocks at most; above that grids are thinned out, the largest kept (a matter of time only)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sort:
    """Equal boxes: the turns they may stand in [mm], how many there are, and the mass of one [g]."""

    turns: tuple[Size, ...]
    count: int
    mass_g: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Blocks:
    """All blocks, one a row: sizes (n, 3) [mm], volumes (n,) [mm3], sort of its boxes, how many, their mass [g].

    made : for each, its sort, the turn's size and how many boxes along each side.
    """

    sizes: IntArray
    volumes: IntArray
    sorts: IntArray
    boxes: IntArray
    masses: IntArray
    made: tuple[tuple[int, Size, Size], ...]


def blocks_of(space: Size, sorts: Sequence[Sort]) -> Blocks:
    """All blocks that fit the space, the most voluminous first.

    A block is a solid grid: its top is level and whole, so whatever stands on it is supported all over.
    """
    steps = max(space)
    made = list(islice(_grids(space, sorts, steps), MOST + 1))
    while len(made) > MOST and steps > 2:
        steps = min(64, max(2, int(steps * 0.7)))
        made = list(islice(_grids(space, sorts, steps), MOST + 1))
    if len(made) > MOST:
        # So many sorts that not even two counts a side can be kept: single boxes, every sort of them.
        made = list(_grids(space, sorts, 1))
    rows: dict[tuple[Size, int, int], tuple[int, Size, Size]] = {}
    for sort, size, grid in made:
        whole = (size[0] * grid[0], size[1] * grid[1], size[2] * grid[2])
        rows.setdefault((whole, sort, grid[0] * grid[1] * grid[2]), (sort, size, grid))
    order = sorted(rows, key=lambda row: (-row[0][0] * row[0][1] * row[0][2], row))
    sizes = np.array([whole for whole, _, _ in order], dtype=np.int64).reshape(-1, 3)
    boxes = np.array([count for _, _, count in order], dtype=np.int64)
    each_g = np.array([sorts[sort].mass_g for _, sort, _ in order], dtype=np.int64)
    return Blocks(
        sizes=sizes,
        volumes=sizes.prod(axis=1),
        sorts=np.array([sort for _, sort, _ in order], dtype=np.int64),
        boxes=boxes,
        masses=boxes * each_g,
        made=tuple(rows[row] for row in order),
    )


def _grids(space: Size, sorts: Sequence[Sort], steps: int) -> Iterator[tuple[int, Size, Size]]:
    for number, sort in enumerate(sorts):
        for size in sort.turns:
            most = [space[k] // size[k] for k in range(3)]
            for along in _counts(min(sort.count, most[0]), steps):
                for across in _counts(min(sort.count // along, most[1]), steps):
                    for up in _counts(min(sort.count // (along * across), most[2]), steps):
                        yield number, size, (along, across, up)


def _counts(most: int, steps: int) -> list[int]:
    """The numbers from 1 to the most, or so many of them, the most always among them."""
    if steps == 1:
        return [1] if most else []
    if most <= steps:
        return list(range(1, most + 1))
    return sorted({round(float(value)) for value in np.geomspace(1, most, steps)})
