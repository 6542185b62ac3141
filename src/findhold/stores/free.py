"""What is left on a shelf: floor, load and height, and how many boxes of a size would still go."""

from __future__ import annotations

import math
from dataclasses import dataclass

from findhold.stores.floor import corners, lay
from findhold.stores.inputs import House, Shelf, Store
from findhold.stores.rules import fixed_and_free, floor_of, load_on

MOST_COUNTED = 60
"""So many boxes are counted on to a shelf; more are told as more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Free:
    """What stands on a shelf, and what is left of it.

    free_share : of the floor that can be used [fraction]. left_kg : None where no rating is entered. over : by how
    much the load passes the rating [kg]. crowded : what stands there finds no room by the figures.
    """

    shelf: str
    boxes: int
    finds: tuple[str, ...]
    free_share: float
    load_kg: float
    left_kg: float | None
    over_kg: float
    height_mm: float
    crowded: bool


def free_on(house: House, store: Store, shelf: Shelf) -> Free:
    """What is left on one shelf."""
    floor = floor_of(store, shelf, house.defaults)
    fixed, free = fixed_and_free(house, shelf)
    area = floor.wide_mm * floor.deep_mm
    taken = sum(rect.wide_mm * rect.deep_mm for rect in fixed) + sum(length * width for length, width in free)
    load = load_on(house, shelf)
    here = house.on(shelf)
    return Free(
        shelf=shelf.name,
        boxes=len(here),
        finds=tuple(one.box.number for one in here),
        free_share=max(0.0, 1.0 - taken / area) if area else 0.0,
        load_kg=load,
        left_kg=None if shelf.rated_kg is None else max(0.0, shelf.rated_kg - load),
        over_kg=0.0 if shelf.rated_kg is None else max(0.0, load - shelf.rated_kg),
        height_mm=max(0.0, shelf.clear_mm - house.defaults.height_mm),
        crowded=lay(floor, free, fixed).answer == "none",
    )


def still_go(house: House, store: Store, shelf: Shelf, size_mm: tuple[float, float, float]) -> int:
    """How many more boxes of a size a shelf takes by hand; a solver might bring on one more [1]."""
    if size_mm[2] + house.defaults.height_mm > shelf.clear_mm:
        return 0
    floor = floor_of(store, shelf, house.defaults)
    fixed, free = fixed_and_free(house, shelf)
    laid = lay(floor, free, fixed)
    if laid.answer != "found":
        return 0
    taken = [*fixed, *laid.rects]
    plan = (math.ceil(size_mm[0]), math.ceil(size_mm[1]))
    count = 0
    while count < MOST_COUNTED and (rect := corners(floor, plan, taken)) is not None:
        taken.append(rect)
        count += 1
    return count
