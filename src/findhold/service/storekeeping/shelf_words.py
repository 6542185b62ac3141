"""What stands on each shelf of a store and what is left of it, in words."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.stores.free import Free, free_on, still_go
from findhold.stores.inputs import House, Store

MOST_NAMED = 8
Common = tuple[str, tuple[float, float, float]]
"""Name and outside size [mm] of the box that is used most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfSeen:
    """A shelf as it stands; words say what is left of it. more : boxes of the commonest size that would still go."""

    name: str
    above_floor_mm: float
    free: Free
    common: str
    more: int | None
    words: str


def shelves_seen(house: House, store: Store, common: Common | None) -> tuple[ShelfSeen, ...]:
    """Every shelf of a store from above.

    common : name and outside size [mm] of the box that is used most, to say how many more would go.
    """
    return tuple(_seen(house, store, number, common) for number in reversed(range(len(store.shelves))))


def _seen(house: House, store: Store, number: int, common: Common | None) -> ShelfSeen:
    shelf = store.shelves[number]
    free = free_on(house, store, shelf)
    more = None if common is None else still_go(house, store, shelf, common[1])
    name = common[0] if common else ""
    return ShelfSeen(
        name=shelf.name,
        above_floor_mm=shelf.above_floor_mm,
        free=free,
        common=name,
        more=more,
        words=_words(free, name, more),
    )


def _words(free: Free, common: str, more: int | None) -> str:
    finds = ", ".join(free.finds[:MOST_NAMED]) + (" and others" if len(free.finds) > MOST_NAMED else "")
    here = "empty" if not free.boxes else f"{'1 box' if free.boxes == 1 else f'{free.boxes} boxes'} (find {finds})"
    said = [here]
    if free.crowded:
        said.append("by the figures these do not fit beside each other: measure shelf and boxes")
    if free.over_kg > 0.0:
        said.append(f"{free.over_kg:.1f} kg over its rating")
    said.append(f"{100 * free.free_share:.0f} % of the floor free")
    if free.left_kg is not None and not free.over_kg:
        said.append(f"{free.left_kg:.1f} kg left")
    said.append(f"boxes up to {free.height_mm:.0f} mm high")
    if more is not None:
        said.append(f"{'room for no' if more == 0 else f'room for {more}'} more of {common}")
    return "; ".join(said)
