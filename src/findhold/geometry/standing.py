"""Boxes standing in rows, one behind no other: a plain order for a picture of a store whose places are not recorded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a box stands: its row (0 lowest), its left edge from the left wall, its row above the floor [mm]."""

    row: int
    left_mm: float
    floor_mm: float


def stand_in_rows(
    sizes_mm: Sequence[tuple[float, float]],
    inside_mm: tuple[float, float],
    *,
    gap_mm: float = 20.0,
    clear_mm: float = 80.0,
) -> tuple[Standing | None, ...]:
    """Stand boxes side by side in rows, the highest below; each goes into the lowest row with room.

    Not for deciding where a box goes: it knows no mass, no handling and no air.

    Parameters
    ----------
    sizes_mm : width and height that each box takes in the picture [mm].
    inside_mm : width and height of the store inside [mm].
    gap_mm : kept between two boxes and at the walls.
    clear_mm : kept above the highest box of a row, and under the ceiling.

    Returns
    -------
    One place for each box, None for those that have no room in one row behind the door; rows that stand are spread
    over the height.
    """
    width, height = inside_mm
    order = sorted(range(len(sizes_mm)), key=lambda i: (-sizes_mm[i][1], -sizes_mm[i][0], i))
    rows: list[list[float]] = []
    """Of each row: the right end of what stands in it, and its height."""
    found: dict[int, tuple[int, float]] = {}
    for index in order:
        wide, high = sizes_mm[index]
        row = next((n for n, (end, _) in enumerate(rows) if end + gap_mm + wide + gap_mm <= width), None)
        if row is None:
            used = sum(top + clear_mm for _, top in rows)
            if used + high + clear_mm > height or wide + 2 * gap_mm > width:
                continue
            rows.append([0.0, high])
            row = len(rows) - 1
        found[index] = (row, rows[row][0] + gap_mm)
        rows[row][0] += gap_mm + wide
    floors = _floors([top + clear_mm for _, top in rows], height)
    return tuple(
        Standing(row=found[i][0], left_mm=found[i][1], floor_mm=floors[found[i][0]]) if i in found else None
        for i in range(len(sizes_mm))
    )


def _floors(heights: Sequence[float], inside_mm: float) -> list[float]:
    """The floor of each row: rows share what height is left, at most half as much again as a row needs."""
    spare = (inside_mm - sum(heights)) / max(len(heights), 1)
    floors, at = [], 0.0
    for height in heights:
        floors.append(at)
        at += height + min(spare, height / 2)
    return floors
