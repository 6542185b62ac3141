"""Several boxes to shelves at once, so that no two get the same room: worst first by hand, then by a solver.

By hand the worst box chooses first. Where each box got the place it would have had alone, nothing can be better.
Else, up to a dozen boxes, a solver places as many as can be, then the best places; what it could not prove is said.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

from findhold.stores.floor import Floor, lay
from findhold.stores.inputs import Box, House, Shelf, Spot, Standing
from findhold.stores.places import Keeping, Place, Places, places_for
from findhold.stores.rules import apart, fixed_and_free, floor_of, load_on

MOST_SOLVED = 12
"""So many boxes go to the solver; more are placed by hand only, and the answer says so."""
SOLVER_S = 2.0
"""The solver's deterministic seconds."""
LONGEST_S = 5.0
"""No answer is waited for longer by the clock; the one by hand stands then, and is said not to be proved."""
MOST_RECTANGLES = 400
"""Boxes times the shelves each may have, with what stands there: beyond it the solver only takes time."""
_LATE, _DAY, _ADVICE, _PLACE = 40_000, 200, 20, 1
_PLACED = 10_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """A box and the place it gets; place None : nowhere, and `choice` says what forbids each."""

    box: Box
    place: Place | None
    choice: Places


@dataclass(frozen=True, slots=True, kw_only=True)
class Assigned:
    """Each box as asked, in the same order. most_proved : more boxes cannot be placed at once. how : hand or solver."""

    given: tuple[Given, ...]
    most_proved: bool
    how: str


def assign(
    house: House, boxes: Sequence[Box], keeping: Mapping[str, Mapping[str, Keeping]], *, leave_out: str
) -> Assigned:
    """A shelf outside one store for each of several boxes, as far as there is one.

    Parameters
    ----------
    house : with every box on a shelf (`places.settled_house`).
    boxes : worst first; each by its key stands in `keeping`, by store.
    leave_out : the store they leave.
    """
    for box in boxes:
        house = house.without(box.key)
    choices = [places_for(house, box, keeping.get(box.key, {}), leave_out=leave_out) for box in boxes]
    by_hand = _by_hand(house, boxes, choices, (keeping, leave_out))
    best_each = all(
        not choice.open or (place is not None and _same(place, choice.open[0]))
        for place, choice in zip(by_hand, choices, strict=True)
    )
    places, proved, how = by_hand, best_each, "by hand"
    rectangles = sum(len(choice.open) for choice in choices) + len(house.standing)
    if not best_each and len(boxes) <= MOST_SOLVED and rectangles <= MOST_RECTANGLES:
        found, proved = _solved(house, boxes, choices, by_hand)
        if found is not None and _count(found) >= _count(by_hand):
            places, how = found, "by solver"
    places = _spotted(house, boxes, places)
    given = tuple(
        Given(box=box, place=place, choice=choice) for box, place, choice in zip(boxes, places, choices, strict=True)
    )
    return Assigned(given=given, most_proved=proved, how=how)


Chosen = list[Place | None]


def _count(places: Chosen) -> int:
    return sum(place is not None for place in places)


def _same(one: Place, other: Place) -> bool:
    return (one.store, one.shelf) == (other.store, other.shelf)


def _by_hand(
    house: House,
    boxes: Sequence[Box],
    choices: Sequence[Places],
    asked: tuple[Mapping[str, Mapping[str, Keeping]], str],
) -> Chosen:
    """Worst first, each the best place that is left."""
    keeping, leave_out = asked
    found: Chosen = []
    for n, box in enumerate(boxes):
        # Nothing stands elsewhere yet for the first, so its choice is known.
        left = choices[0] if n == 0 else places_for(house, box, keeping.get(box.key, {}), leave_out=leave_out)
        place = left.open[0] if left.open else None
        if place is not None:
            house = house.with_one(Standing(box=box, store=place.store, shelf=place.shelf))
        found.append(place)
    return found


def _spotted(house: House, boxes: Sequence[Box], places: Chosen) -> Chosen:
    """Spots for the boxes: all of one shelf laid together."""
    found = list(places)
    by_shelf: dict[tuple[str, str], list[int]] = {}
    for n, place in enumerate(places):
        if place is not None and place.shelf and boxes[n].size_mm is not None:
            by_shelf.setdefault((place.store, place.shelf), []).append(n)
    for (store_name, shelf_name), numbers in by_shelf.items():
        store = house.store(store_name)
        shelf = store.shelf(shelf_name)
        if shelf is None:
            continue
        fixed, free = fixed_and_free(house, shelf)
        plans = [size[:2] for n in numbers if (size := boxes[n].size_mm) is not None]
        laid = lay(floor_of(store, shelf, house.defaults), [*free, *plans], fixed)
        for n, rect in zip(numbers, laid.rects[len(free) :], strict=False):
            place = found[n]
            if place is not None:
                spot = Spot(left_mm=rect.left_mm, front_mm=rect.front_mm, turned=rect.turned)
                found[n] = replace(place, spot=spot)
    return found


def _costs(choice: Places) -> list[int]:
    """What each open place costs beside the best of the box: late opening, days lost, things said, its rank."""
    days = [
        place.keeping.until.timestamp() / 86_400 if place.keeping and place.keeping.until else None
        for place in choice.open
    ]
    latest = max((day for day in days if day is not None), default=0.0)
    costs = []
    for rank, (place, day) in enumerate(zip(choice.open, days, strict=True)):
        late = place.keeping is not None and place.keeping.in_time is False
        lost = 60 if day is None else min(60, int(latest - day))
        costs.append(_LATE * late + _DAY * lost + _ADVICE * len(place.against) + _PLACE * min(rank, 19))
    return costs


def _solved(
    house: House, boxes: Sequence[Box], choices: Sequence[Places], by_hand: Chosen
) -> tuple[Chosen | None, bool]:
    """The most boxes, then the best places; and whether more boxes are proved impossible."""
    from ortools.sat.python import cp_model

    cp = cp_model.CpModel()
    puts = [[cp.new_bool_var(f"put{n}_{m}") for m in range(len(choice.open))] for n, choice in enumerate(choices)]
    turns = [cp.new_bool_var(f"turned{n}") for n in range(len(boxes))]
    for row in puts:
        cp.add_at_most_one(row)
    for (store_name, shelf_name), users in _users(choices).items():
        store = house.store(store_name)
        shelf = store.shelf(shelf_name) if shelf_name else None
        if shelf is not None:
            _beside(
                cp,
                house,
                (floor_of(store, shelf, house.defaults), shelf),
                [(boxes[n], puts[n][m], turns[n]) for n, m in users],
            )
    _loads(cp, house, boxes, (choices, puts))
    terms: list[Any] = []
    for n, (row, choice) in enumerate(zip(puts, choices, strict=True)):
        for m, (put, cost) in enumerate(zip(row, _costs(choice), strict=True)):
            terms.append((_PLACED + len(boxes) - n - cost) * put)
            hand = by_hand[n]
            cp.add_hint(put, hand is not None and _same(hand, choice.open[m]))
    cp.maximize(sum(terms))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = SOLVER_S
    solver.parameters.max_time_in_seconds = LONGEST_S
    status = solver.solve(cp)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, False
    found: Chosen = []
    for row, choice in zip(puts, choices, strict=True):
        found.append(next((choice.open[m] for m, put in enumerate(row) if solver.value(put)), None))
    most = math.ceil(solver.best_objective_bound / _PLACED - 1e-9)
    return found, status == cp_model.OPTIMAL or most <= _count(found)


def _users(choices: Sequence[Places]) -> dict[tuple[str, str], list[tuple[int, int]]]:
    """By shelf: which box may have it, as which of its places."""
    found: dict[tuple[str, str], list[tuple[int, int]]] = {}
    for n, choice in enumerate(choices):
        for m, place in enumerate(choice.open):
            found.setdefault((place.store, place.shelf), []).append((n, m))
    return found


def _beside(cp: Any, house: House, place: tuple[Floor, Shelf], users: Sequence[tuple[Box, Any, Any]]) -> None:
    """One shelf: boxes beside each other and what stands there, its rating, and those that must not share it."""
    floor, shelf = place
    gap = floor.gap_mm
    fixed, free = fixed_and_free(house, shelf)
    across, along = [], []
    movable = [*((None, None, None, size) for size in free), *((*user, user[0].size_mm) for user in users)]
    for n, (_, put, turned, size) in enumerate(movable):
        if size is None:
            continue
        length, width = math.ceil(size[0]), math.ceil(size[1])
        name = f"{shelf.store}{shelf.name}{n}"
        turned = cp.new_bool_var(f"t{name}") if turned is None else turned
        x = cp.new_int_var(floor.left_mm, floor.left_mm + floor.wide_mm, f"x{name}")
        y = cp.new_int_var(floor.front_mm, floor.front_mm + floor.deep_mm, f"y{name}")
        wide, deep = length + (width - length) * turned, width + (length - width) * turned
        right = cp.new_int_var(0, floor.left_mm + floor.wide_mm + gap, f"r{name}")
        back = cp.new_int_var(0, floor.front_mm + floor.deep_mm + gap, f"b{name}")
        there = True if put is None else put
        across.append(cp.new_optional_interval_var(x, wide + gap, right, there, f"w{name}"))
        along.append(cp.new_optional_interval_var(y, deep + gap, back, there, f"d{name}"))
    cp.add_no_overlap_2d(across, along)
    for n, rect in enumerate(fixed):
        fx = cp.new_fixed_size_interval_var(rect.left_mm, rect.wide_mm + gap, f"fx{shelf.store}{shelf.name}{n}")
        fy = cp.new_fixed_size_interval_var(rect.front_mm, rect.deep_mm + gap, f"fy{shelf.store}{shelf.name}{n}")
        cp.add_no_overlap_2d([*across, fx], [*along, fy])
    if shelf.rated_kg is not None:
        left_g = math.floor(1000.0 * (shelf.rated_kg - load_on(house, shelf)) + 1e-6)
        cp.add(sum(math.ceil(1000.0 * box.mass_kg - 1e-6) * put for box, put, _ in users) <= left_g)
    for (one, put_one, _), (other, put_other, _) in combinations(users, 2):
        if apart(one, other):
            cp.add_bool_or([~put_one, ~put_other])


def _loads(cp: Any, house: House, boxes: Sequence[Box], asked: tuple[Sequence[Places], list[list[Any]]]) -> None:
    """No store over its rating."""
    choices, puts = asked
    for store in house.stores:
        if store.rated_kg is None:
            continue
        left_g = math.floor(1000.0 * (store.rated_kg - sum(one.box.mass_kg for one in house.within(store.name))) + 1e-6)
        terms = [
            math.ceil(1000.0 * boxes[n].mass_kg - 1e-6) * puts[n][m]
            for n, choice in enumerate(choices)
            for m, place in enumerate(choice.open)
            if place.store == store.name
        ]
        if terms:
            cp.add(sum(terms) <= left_g)
