"""Empty spaces of a loading: the largest upright prisms with a whole floor, as (x0, y0, z0, x1, y1, z1) in mm."""

from __future__ import annotations

from collections.abc import Sequence

from findhold.geometry.loading.parts import Size

Prism = tuple[int, int, int, int, int, int]


def corner_space(spaces: Sequence[Prism], whole: Size) -> tuple[Prism, bool, bool]:
    """The space nearest one of the four upright edges and the floor, and which of its ends is the near one.

    Nearness compares the smallest of the three distances first; of equally near spaces the largest is taken.
    """
    length, width, _ = whole
    best: tuple[tuple[int, int, int, int], Prism] | None = None
    for space in spaces:
        x0, y0, z0, x1, y1, z1 = space
        along = min(x0, length - x1)
        across = min(y0, width - y1)
        a, b = (along, across) if along <= across else (across, along)
        if z0 <= a:
            near = (z0, a, b)
        elif z0 <= b:
            near = (a, z0, b)
        else:
            near = (a, b, z0)
        key = (*near, -(x1 - x0) * (y1 - y0) * (z1 - z0))
        if best is None or key < best[0]:
            best = (key, space)
    if best is None:
        raise ValueError("there is no space left")
    space = best[1]
    return space, space[0] > length - space[3], space[1] > width - space[4]


def after_block(spaces: Sequence[Prism], block: Prism, least: Size) -> tuple[Prism, ...]:
    """The empty spaces after a block with a level top was put down.

    Each space that the block cuts is replaced by what is left of it beside, below and over the block; over it only
    above the block's own top, so that every floor is whole. Spaces narrower than the least sides, and spaces inside
    others, are dropped.
    """
    kept: list[Prism] = []
    cut: list[Prism] = []
    bx0, by0, bz0, bx1, by1, bz1 = block
    for space in spaces:
        x0, y0, z0, x1, y1, z1 = space
        if x0 >= bx1 or x1 <= bx0 or y0 >= by1 or y1 <= by0 or z0 >= bz1 or z1 <= bz0:
            kept.append(space)
        else:
            cut += _pieces(space, block, least)
    cut = list(dict.fromkeys(cut))
    whole = [*kept, *cut]
    return (*kept, *(one for one in cut if not _inside_another(one, whole)))


def _pieces(space: Prism, block: Prism, least: Size) -> list[Prism]:
    x0, y0, z0, x1, y1, z1 = space
    bx0, by0, bz0, bx1, by1, bz1 = block
    found: list[Prism] = []
    if bx0 - x0 >= least[0]:
        found.append((x0, y0, z0, bx0, y1, z1))
    if x1 - bx1 >= least[0]:
        found.append((bx1, y0, z0, x1, y1, z1))
    if by0 - y0 >= least[1]:
        found.append((x0, y0, z0, x1, by0, z1))
    if y1 - by1 >= least[1]:
        found.append((x0, by1, z0, x1, y1, z1))
    if bz0 - z0 >= least[2]:
        found.append((x0, y0, z0, x1, y1, bz0))
    if z1 - bz1 >= least[2]:
        left, right, near, far = max(x0, bx0), min(x1, bx1), max(y0, by0), min(y1, by1)
        if right - left >= least[0] and far - near >= least[1]:
            found.append((left, near, bz1, right, far, z1))
    return found


def _inside_another(one: Prism, others: Sequence[Prism]) -> bool:
    """True when a space lies in a different one with the same floor."""
    x0, y0, z0, x1, y1, z1 = one
    for u0, v0, w0, u1, v1, w1 in others:
        around = w0 == z0 and u0 <= x0 and v0 <= y0 and u1 >= x1 and v1 >= y1 and w1 >= z1
        if around and (u0, v0, u1, v1, w1) != (x0, y0, x1, y1, z1):
            return True
    return False
