"""May a box stand there? Every rule that speaks against it, with the figure that fails and the limit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from findhold.stores.floor import Floor, Laid, Rect, corners, lay
from findhold.stores.inputs import BACK, LEFT, RIGHT, Box, House, Shelf, Spot, Standing, Store
from findhold.tables.storing import Severity, StoreDefaults, store_rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Against:
    """A rule that speaks against a place: what fails, and what to do."""

    rule: str
    severity: Severity
    words: str
    do: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """All that speaks against a place, hardest first, and a spot on the shelf where the box goes.

    settled : by hand, by area or by solver; "" where room was not looked for. not_known : what could not be checked.
    """

    against: tuple[Against, ...]
    spot: Spot | None
    settled: str
    not_known: tuple[str, ...] = ()

    def worst(self) -> Severity | None:
        """The hardest rule broken; None when only advice or nothing is said."""
        return next((one.severity for one in self.against if one.severity != "advice"), None)


_HARDNESS = {"never": 0, "forbidden": 1, "advice": 2}
TOLERANCE_KG = 1e-6


def judge(house: House, box: Box, store: Store, shelf: Shelf | None, spot: Spot | None = None) -> Verdict:
    """All that speaks against a box standing in a store, on a shelf of it, at a spot.

    Not a forecast: how long the box keeps there is another question.

    Parameters
    ----------
    shelf : None for the store alone, when its shelves are not entered.
    spot : None looks for one.
    """
    house = house.without(box.key)
    found = [*_store_rules(house, box, store), *_company(house, box, store, shelf)]
    unknown: list[str] = []
    where, settled = spot, ""
    if shelf is None:
        found += _inside(box, store, house.defaults)
        unknown.append(f"the shelves of {store.name} are not entered: room and load are not checked by shelf")
    else:
        found += _shelf_rules(house, box, shelf)
        if box.size_mm is None:
            unknown.append(f"the outside size of the box of find {box.number} is not known: its room is not checked")
        else:
            space, where, settled = _space(house, box, (store, shelf), spot)
            found += space
        unknown += [
            f"the size of the box of find {one.box.number} on it is not known"
            for one in house.on(shelf)
            if one.box.size_mm is None
        ]
    found.sort(key=lambda one: _HARDNESS[one.severity])
    return Verdict(against=tuple(found), spot=where, settled=settled, not_known=tuple(unknown))


def floor_of(store: Store, shelf: Shelf, defaults: StoreDefaults) -> Floor:
    """What of a shelf can be stood on: all but the strip before the cold plate."""
    plate = math.ceil(defaults.plate_mm)
    left = plate if store.plate == LEFT else 0
    wide = math.floor(shelf.front_mm) - (plate if store.plate in (LEFT, RIGHT) else 0)
    deep = math.floor(shelf.depth_mm) - (plate if store.plate == BACK else 0)
    return Floor(
        left_mm=left, front_mm=0, wide_mm=max(0, wide), deep_mm=max(0, deep), gap_mm=math.ceil(defaults.room_mm)
    )


def rect_of(standing: Standing) -> Rect | None:
    """A box in plan where its spot is recorded in figures; None where it is not."""
    box, spot = standing.box, standing.spot
    return None if box.size_mm is None or spot is None else _rect(box.size_mm, spot)


def fixed_and_free(house: House, shelf: Shelf) -> tuple[list[Rect], list[tuple[float, float]]]:
    """What stands on a shelf at a recorded spot, and the plans of what may be pushed aside."""
    fixed, free = [], []
    for one in house.on(shelf):
        rect = rect_of(one)
        if rect is not None:
            fixed.append(rect)
        elif one.box.size_mm is not None:
            free.append(one.box.size_mm[:2])
    return fixed, free


def apart(one: Box, other: Box) -> str:
    """The rule that keeps two boxes off one shelf; "" when they may share it."""
    if one.human != other.human:
        return "human remains"
    if (one.metal and not one.damp and other.damp) or (other.metal and not other.damp and one.damp):
        return "metal"
    return ""


def load_on(house: House, shelf: Shelf) -> float:
    """What stands on a shelf [kg]."""
    return sum(one.box.mass_kg for one in house.on(shelf))


def against(rule: str, words: str, *, severity: Severity | None = None) -> Against:
    """A rule of the table that speaks against a place, in these words."""
    row = store_rule(rule)
    return Against(rule=rule, severity=severity or row.severity, words=words, do=row.do)


def _rect(size_mm: tuple[float, float, float], spot: Spot) -> Rect | None:
    if spot.left_mm is None or spot.front_mm is None:
        return None
    length, width = math.ceil(size_mm[0]), math.ceil(size_mm[1])
    wide, deep = (width, length) if spot.turned else (length, width)
    left, front = math.floor(spot.left_mm), math.floor(spot.front_mm)
    return Rect(left_mm=left, front_mm=front, wide_mm=wide, deep_mm=deep, turned=spot.turned)


def _store_rules(house: House, box: Box, store: Store) -> list[Against]:
    """Rules on the store as a whole."""
    found = []
    if store.trouble:
        found.append(against("off", f"{store.name} is {store.trouble}"))
    frost_c = house.defaults.frost_c
    if box.damp and store.temp_c is not None and store.temp_c <= frost_c:
        found.append(
            against("frost", f"{store.name} is set to {store.temp_c:g} °C, and a {box.state} find must not freeze")
        )
    if store.food:
        found.append(against("food", f"food is kept in {store.name}"))
    load = sum(one.box.mass_kg for one in house.within(store.name)) + box.mass_kg
    if store.rated_kg is not None and load > store.rated_kg + TOLERANCE_KG:
        words = f"{store.name} would hold {load:.1f} kg, {load - store.rated_kg:.1f} kg over its {store.rated_kg:g} kg"
        found.append(against("store load", words))
    return found


def _company(house: House, box: Box, store: Store, shelf: Shelf | None) -> list[Against]:
    """What must not stand together: on one shelf forbidden, in one store said."""
    found: list[Against] = []
    here = () if shelf is None else house.on(shelf)
    keys = {one.box.key for one in here}
    rest = [one for one in house.within(store.name) if one.box.key not in keys]
    for rule, in_store in (("human remains", "human store"), ("metal", "same store")):
        near = sorted({one.box.number for one in here if apart(box, one.box) == rule})
        far = sorted({one.box.number for one in rest if apart(box, one.box) == rule})
        if near and shelf is not None:
            words = f"{store_rule(rule).words}; on shelf {shelf.name} stands {_finds(near)}"
            found.append(against(rule, words))
        elif far:
            found.append(against(in_store, f"{store_rule(in_store).words}: {_finds(far)}"))
    return found


def _finds(numbers: Sequence[str]) -> str:
    shown = ", ".join(numbers[:4]) + (" and others" if len(numbers) > 4 else "")
    return f"find {shown}" if len(numbers) == 1 else f"finds {shown}"


def _inside(box: Box, store: Store, defaults: StoreDefaults) -> list[Against]:
    """A box against the inside of a store without shelves."""
    if box.size_mm is None or store.inside_mm is None:
        return []
    front, depth, height = store.inside_mm
    whole = Shelf(store=store.name, name="", front_mm=front, depth_mm=depth, clear_mm=height, above_floor_mm=1e9)
    floor = floor_of(store, whole, defaults)
    return [*_too_large(box.size_mm, (floor, store.name)), *_too_high(box.size_mm, (whole, store.name), defaults)]


def _shelf_rules(house: House, box: Box, shelf: Shelf) -> list[Against]:
    """Load, height over the floor."""
    found, defaults = [], house.defaults
    load = load_on(house, shelf) + box.mass_kg
    if shelf.rated_kg is not None and load > shelf.rated_kg + TOLERANCE_KG:
        over = f"{load - shelf.rated_kg:.1f} kg over its {shelf.rated_kg:g} kg"
        words = f"shelf {shelf.name} would carry {load:.1f} kg, {over}"
        found.append(against("load", words))
    if box.mass_kg >= defaults.heavy_kg and shelf.above_floor_mm > defaults.high_mm:
        words = (
            f"{box.mass_kg:.1f} kg at {shelf.above_floor_mm:.0f} mm over the floor: boxes of {defaults.heavy_kg:g} kg"
            f" and more go no higher than {defaults.high_mm:.0f} mm"
        )
        found.append(against("high", words))
    if shelf.above_floor_mm < defaults.floor_mm:
        words = (
            f"shelf {shelf.name} is {shelf.above_floor_mm:.0f} mm over the floor, less than {defaults.floor_mm:.0f} mm"
        )
        found.append(against("floor", words))
    return found


def _too_large(size_mm: tuple[float, float, float], place: tuple[Floor, str]) -> list[Against]:
    """A box that no turn brings on to a floor, with the figure that fails least."""
    floor, name = place
    length, width = math.ceil(size_mm[0]), math.ceil(size_mm[1])
    over = [(max(0, w - floor.wide_mm), max(0, d - floor.deep_mm)) for w, d in ((length, width), (width, length))]
    wide, deep = min(over, key=lambda pair: (max(pair), sum(pair)))
    said = [f"{wide} mm too wide for {floor.wide_mm} mm along the front"] if wide else []
    said += [f"{deep} mm too deep for the {floor.deep_mm} mm that can be used front to back"] if deep else []
    return (
        [against("size", f"{name} is smaller than the box ({length} x {width} mm): {' and '.join(said)}")]
        if said
        else []
    )


def _too_high(size_mm: tuple[float, float, float], place: tuple[Shelf, str], defaults: StoreDefaults) -> list[Against]:
    shelf, name = place
    if size_mm[2] > shelf.clear_mm:
        over = math.ceil(size_mm[2] - shelf.clear_mm)
        words = f"{name} has {shelf.clear_mm:.0f} mm of height: the box of {size_mm[2]:.0f} mm is {over} mm too high"
        return [against("size", words)]
    over = math.ceil(size_mm[2] + defaults.height_mm - shelf.clear_mm)
    if over <= 0:
        return []
    words = (
        f"{name} has {shelf.clear_mm:.0f} mm of height: over the box of {size_mm[2]:.0f} mm {over} mm are wanting"
        f" of the {defaults.height_mm:.0f} mm of air that belong there"
    )
    return [against("height", words)]


def _space(
    house: House, box: Box, place: tuple[Store, Shelf], spot: Spot | None
) -> tuple[list[Against], Spot | None, str]:
    """Size, height and room; the spot; and how the room was settled."""
    store, shelf = place
    if box.size_mm is None:
        return [], spot, ""
    floor = floor_of(store, shelf, house.defaults)
    name = f"shelf {shelf.name} of {store.name}"
    found = [*_too_large(box.size_mm, (floor, name)), *_too_high(box.size_mm, (shelf, name), house.defaults)]
    if spot is not None and spot.name:
        found += _named_spot(house, shelf, spot)
    if any(one.severity == "never" for one in found):
        return found, spot, ""
    rect = None if spot is None else _rect(box.size_mm, spot)
    if rect is not None:
        return [*found, *_at_spot(house, rect, (store, shelf))], spot, "by hand"
    fixed, free = fixed_and_free(house, shelf)
    laid = lay(floor, [*free, box.size_mm[:2]], fixed)
    if laid.answer == "found":
        told = _spot_beside(floor, box.size_mm, fixed, free) or laid.rects[-1]
        mine = Spot(left_mm=told.left_mm, front_mm=told.front_mm, turned=told.turned, name=spot.name if spot else "")
        return found, mine, laid.how
    return [*found, _no_room(shelf, laid)], spot, laid.how


def _spot_beside(
    floor: Floor, size_mm: tuple[float, float, float], fixed: list[Rect], free: list[tuple[float, float]]
) -> Rect | None:
    """A spot beside boxes whose own is not recorded, taken as pushed to the back from the left."""
    if not free:
        return corners(floor, size_mm[:2], fixed)
    rest = lay(floor, free, fixed)
    return corners(floor, size_mm[:2], [*fixed, *rest.rects]) if rest.answer == "found" else None


def _no_room(shelf: Shelf, laid: Laid) -> Against:
    if laid.answer == "not known":
        words = f"no room was found on shelf {shelf.name} beside what stands there (tried by hand, not proved)"
    else:
        words = f"there is no room on shelf {shelf.name} beside what stands there ({laid.how}: proved)"
    return against("room", words)


def _named_spot(house: House, shelf: Shelf, spot: Spot) -> list[Against]:
    for one in house.on(shelf):
        if one.spot is not None and one.spot.name.casefold() == spot.name.casefold():
            words = f"on the spot {spot.name} of shelf {shelf.name} stands the box of find {one.box.number}"
            return [against("spot", words)]
    return []


def _at_spot(house: House, rect: Rect, place: tuple[Store, Shelf]) -> list[Against]:
    """A box at a spot given in figures: on the shelf, off the plate, beside the others."""
    store, shelf = place
    floor = floor_of(store, shelf, house.defaults)
    found = _over_edge(rect, (store, shelf), house.defaults)
    for one in house.on(shelf):
        other = rect_of(one)
        if other is not None and not rect.clear_of(other, 0):
            why = f"; {store_rule('stack').words}" if one.box.lidded and one.box.damp else ""
            found.append(against("spot", f"on that spot stands the box of find {one.box.number}{why}"))
    if found:
        return found
    fixed, free = fixed_and_free(house, shelf)
    laid = lay(floor, free, [*fixed, rect])
    return [] if laid.answer == "found" else [_no_room(shelf, laid)]


def _over_edge(rect: Rect, place: tuple[Store, Shelf], defaults: StoreDefaults) -> list[Against]:
    store, shelf = place
    floor = floor_of(store, shelf, defaults)
    found = []
    off = max(-rect.left_mm, -rect.front_mm, rect.left_mm + rect.wide_mm - math.floor(shelf.front_mm))
    off = max(off, rect.front_mm + rect.deep_mm - math.floor(shelf.depth_mm))
    if off > 0:
        found.append(against("size", f"at that spot the box stands {off} mm over the edge of shelf {shelf.name}"))
    near = max(
        floor.left_mm - rect.left_mm,
        rect.left_mm + rect.wide_mm - floor.left_mm - floor.wide_mm,
        rect.front_mm + rect.deep_mm - floor.front_mm - floor.deep_mm,
    )
    if off <= 0 < near:
        free_mm = defaults.plate_mm - near
        words = (
            f"the box would stand {free_mm:.0f} mm from the cold plate ({store.plate}): {defaults.plate_mm:.0f} mm are"
            " to be left free"
        )
        found.append(against("plate", words))
    return found
