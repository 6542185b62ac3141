"""Boxes onto the shelves of a fridge or rack: what stands where, with air over it and within each shelf's rating."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from findhold.crate import rules
from findhold.crate.inputs import Item
from findhold.errors import BadInput
from findhold.geometry.loading.heap import Heap
from findhold.geometry.loading.parts import Bay, Loaded, Piece, Rules, faults
from findhold.tables.crates import CrateDefaults, crate_defaults


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """One shelf: width and depth [mm], free height to the next [mm], its height over the floor [mm], rated load."""

    name: str
    width_mm: float
    depth_mm: float
    clear_height_mm: float
    above_floor_mm: float
    rated_kg: float
    carries_kg: float = 0.0
    """What stands on it already, by mass only; its room is taken as free."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfRequest:
    """Boxes with their masses as they are, wet, and the shelves."""

    boxes: tuple[Item, ...]
    shelves: tuple[Shelf, ...]
    stacked: bool = False
    """True lets boxes stand on each other where their rules allow it."""
    defaults: CrateDefaults = field(default_factory=crate_defaults)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A box on a shelf: its corner from the shelf's left front corner, and its sizes as it stands [mm]."""

    number: str
    at_mm: tuple[int, int, int]
    size_mm: tuple[int, int, int]
    mass_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledShelf:
    """A shelf with what stands on it; load_kg with what stood there before; used [fraction] of its area."""

    shelf: str
    boxes: tuple[Standing, ...]
    load_kg: float
    rated_kg: float
    used: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPlan:
    """All shelves from below, boxes without a place with the reason, and remarks on the shelves themselves."""

    shelves: tuple[FilledShelf, ...]
    without: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]


def fill_shelves(request: ShelfRequest) -> ShelfPlan:
    """Put boxes on shelves, heavy ones low, with air over each and no shelf above its rating.

    Not for finding the best use of a full store: it tries a few orders and takes the one that leaves fewest boxes.

    Parameters
    ----------
    request : boxes, shelves, whether boxes may be stacked.

    Raises
    ------
    BadInput : a size, mass or rating that cannot be, no shelf or no box.
    """
    _check(request)
    order = sorted(request.shelves, key=lambda shelf: shelf.above_floor_mm)
    low = [shelf for shelf in order if shelf.above_floor_mm < request.defaults.shelf_floor_mm]
    usable = [shelf for shelf in order if shelf not in low]
    pieces = [_piece(box, request) for box in request.boxes]
    best: list[Heap] | None = None
    for key in _keys(pieces):
        heaps = _filled(usable, pieces, key, request)
        if best is None or _placed(heaps) > _placed(best):
            best = heaps
    heaps = best or []
    for heap in heaps:
        found = faults(Loaded(bay=0, placed=tuple(heap.placed)), pieces, heap.bay, heap.rules)
        if found:
            raise RuntimeError(f"a shelf breaks its rules: {'; '.join(found)}")
    there = {one.piece for heap in heaps for one in heap.placed}
    without = tuple(
        (box.number, _why(box, pieces[n], usable, request)) for n, box in enumerate(request.boxes) if n not in there
    )
    remarks = tuple(
        f"shelf {shelf.name} is {shelf.above_floor_mm:g} mm off the floor and is left empty: the lowest stands at "
        f"least {request.defaults.shelf_floor_mm:g} mm off it"
        for shelf in low
    )
    told = tuple(_told(shelf, heap, request) for shelf, heap in zip(usable, heaps, strict=True))
    return ShelfPlan(shelves=told, without=without, remarks=remarks)


_Key = Callable[[int], tuple[float, ...]]


def _keys(pieces: Sequence[Piece]) -> tuple[_Key, ...]:
    """Orders tried: heavy first, large plan first, tall first."""

    def area(n: int) -> int:
        return pieces[n].turns[0][0] * pieces[n].turns[0][1]

    return (
        lambda n: (-pieces[n].mass_g, -area(n), n),
        lambda n: (-area(n), -pieces[n].mass_g, n),
        lambda n: (-pieces[n].turns[0][2], -area(n), n),
    )


def _piece(box: Item, request: ShelfRequest) -> Piece:
    length, width, height = (math.ceil(side) for side in box.size_mm)
    bears = rules.grams_down(rules.bearing_of(box, request.defaults).bears_kg) if request.stacked else 0
    turns = tuple(dict.fromkeys([(length, width, height), (width, length, height)]))
    return Piece(turns=turns, mass_g=rules.grams_up(box.mass_kg), bears_g=bears, company=rules.company_of(box))


def _bay(shelf: Shelf, request: ShelfRequest) -> Bay:
    height = math.floor(shelf.clear_height_mm - request.defaults.shelf_clear_mm)
    left = max(0, rules.grams_down(shelf.rated_kg - shelf.carries_kg))
    return Bay(size=(math.floor(shelf.width_mm), math.floor(shelf.depth_mm), height), carries_g=left)


def _filled(shelves: Sequence[Shelf], pieces: Sequence[Piece], key: _Key, request: ShelfRequest) -> list[Heap]:
    """Shelf after shelf from below, each box in order where it goes."""
    waiting = sorted(range(len(pieces)), key=key)
    heaps = []
    for shelf in shelves:
        heap = Heap(_bay(shelf, request), pieces, Rules(heavier=request.defaults.heavier_ratio))
        later = []
        for n in waiting:
            light = heap.bay.carries_g is not None and heap.mass_g + pieces[n].mass_g <= heap.bay.carries_g
            found = heap.best_place(n) if light and heap.bay.size[2] > 0 else None
            if found is None:
                later.append(n)
            else:
                heap.put(*found)
        waiting = later
        heaps.append(heap)
    return heaps


def _placed(heaps: Sequence[Heap]) -> int:
    return sum(len(heap.placed) for heap in heaps)


def _told(shelf: Shelf, heap: Heap, request: ShelfRequest) -> FilledShelf:
    boxes = tuple(
        Standing(
            number=request.boxes[one.piece].number,
            at_mm=one.at,
            size_mm=one.size,
            mass_kg=request.boxes[one.piece].mass_kg,
        )
        for one in heap.placed
    )
    floor = sum(one.size[0] * one.size[1] for one in heap.placed if one.at[2] == 0)
    return FilledShelf(
        shelf=shelf.name,
        boxes=boxes,
        load_kg=shelf.carries_kg + sum(box.mass_kg for box in boxes),
        rated_kg=shelf.rated_kg,
        used=floor / (shelf.width_mm * shelf.depth_mm),
    )


def _why(box: Item, piece: Piece, shelves: Sequence[Shelf], request: ShelfRequest) -> str:
    """Why a box has no place, and what to do."""
    bays = [_bay(shelf, request) for shelf in shelves]
    clear = request.defaults.shelf_clear_mm
    if not bays:
        return "no shelf may be used: see the remarks"
    if all(turn[2] > bay.size[2] for turn in piece.turns for bay in bays):
        highest = max(bay.size[2] for bay in bays)
        return f"{piece.turns[0][2]} mm high; {highest} mm are free with {clear:g} mm of air over it: move a shelf"
    flat = [bay for bay in bays if any(all(turn[k] <= bay.size[k] for k in range(3)) for turn in piece.turns)]
    if not flat:
        return "larger in plan than every shelf that is high enough: use another place"
    if all(bay.carries_g is not None and piece.mass_g > bay.carries_g for bay in flat):
        return f"{box.mass_kg:.3g} kg is more than any such shelf still carries: use a stronger shelf"
    return "no room is left on the shelves that would take it: use another place"


def _check(request: ShelfRequest) -> None:
    if not request.boxes or not request.shelves:
        what = "boxes" if not request.boxes else "shelves"
        raise BadInput(f"there are no {what}", where=what, do=f"List at least one of the {what}")
    for shelf in request.shelves:
        figures = (shelf.width_mm, shelf.depth_mm, shelf.clear_height_mm, shelf.rated_kg)
        if not all(0 < figure < math.inf for figure in figures) or shelf.above_floor_mm < 0 or shelf.carries_kg < 0:
            raise BadInput(
                "a size or the rating is not above zero, or its height or present load is negative",
                where=f"shelf {shelf.name}",
                limit="mm and kg above 0",
                do="Measure the shelf; its rating stands on its plate or in its papers",
            )
    for box in request.boxes:
        if not all(0 < side <= 5000 for side in box.size_mm) or not 0 < box.mass_kg <= 2000:
            raise BadInput(
                "a size or the mass is not above zero",
                where=f"box {box.number}",
                limit="mm and kg above 0",
                do="Measure and weigh it, wet as it is",
            )
