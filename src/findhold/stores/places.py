"""Where a box can go: every shelf of every store judged, the best first, and what to move when all are full."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from findhold.stores.inputs import Box, House, Shelf, Spot, Standing, Store
from findhold.stores.rules import Against, Verdict, fixed_and_free, floor_of, judge

WHOLE_STORE = ("off", "frost", "food", "store load")
"""Rules that are about the store, whichever shelf."""
MOST_LOOSE = 60
"""So many boxes of a store without a recorded shelf are given one for the reckoning."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """How long a box keeps in a store: keep-until date, what governs it, and whether the planned opening is in time."""

    until: datetime | None
    limit: str = ""
    in_time: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A shelf for a box (shelf "" : the store, whose shelves are not entered), what speaks for it and against it.

    beside : finds whose boxes stand there. firm : the spot of each of them is recorded, so that the spot here holds.
    above_floor_mm : of the shelf; None for a store without shelves.
    """

    store: str
    shelf: str
    spot: Spot | None
    above_floor_mm: float | None
    beside: tuple[str, ...]
    firm: bool
    keeping: Keeping | None
    reasons: tuple[str, ...]
    against: tuple[Against, ...]
    settled: str
    not_known: tuple[str, ...]

    def name(self) -> str:
        """The place in words."""
        return f"{self.store}, shelf {self.shelf}" if self.shelf else self.store

    def why_not(self) -> str:
        """The hardest thing that speaks against it; what is so of the whole store does not name the shelf."""
        first = self.against[0]
        return first.words if first.rule in WHOLE_STORE else f"{self.name()}: {first.words}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchange:
    """A box moved away so that another gets its place: which, from where, to where, and the place that is won."""

    number: str
    box_key: str
    away_from: str
    to: Place
    won: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Places where a box may stand, best first; those where it may not, with what forbids it."""

    open: tuple[Place, ...]
    closed: tuple[Place, ...]


def settled_house(house: House) -> tuple[House, tuple[str, ...]]:
    """The house with every box on a shelf: those whose shelf is not recorded are put where they go best, and named.

    A store that is full by the figures, or holds very many such boxes, keeps the rest without a shelf.
    """
    assumed: list[str] = []
    loose = Counter(one.store for one in house.standing if not one.shelf)
    for one in sorted(house.standing, key=lambda standing: (-standing.box.mass_kg, standing.box.key)):
        store = house.store(one.store)
        recorded = one.shelf and store.shelf(one.shelf) is not None
        if not store.shelves or recorded or loose[store.name] > MOST_LOOSE:
            continue
        found = [place.shelf for place in _open_shelves(house, one.box, store) if place.shelf is not None]
        if found:
            house = house.with_one(Standing(box=one.box, store=store.name, shelf=found[0].name))
            assumed.append(one.box.number)
    return house, tuple(assumed)


def places_for(
    house: House, box: Box, keeping: Mapping[str, Keeping] | None = None, *, now_in: str = "", leave_out: str = ""
) -> Places:
    """Every place in the house for a box, ranked.

    The order: the opening in time, the later keep-until day, nothing said against it, where the box stands already,
    heavy boxes low and light ones high, and the shelf that is left fullest.

    Parameters
    ----------
    keeping : how long it keeps in each store, as far as that was forecast.
    now_in : the store it stands in, preferred among equals.
    leave_out : a store that is not asked about, for it fails.
    """
    found = [
        _place(house, box, store, shelf, (keeping or {}).get(store.name))
        for store in house.stores
        if store.name != leave_out
        for shelf in (store.shelves or (None,))
    ]
    may = [place for place in found if place.verdict.worst() is None]
    may.sort(key=lambda one: _rank(one, box, now_in, house.defaults.heavy_kg))
    not_so = [place for place in found if place.verdict.worst() is not None]
    return Places(open=tuple(one.told() for one in may), closed=tuple(one.told() for one in not_so))


def exchange_for(
    house: House, box: Box, keeping: Mapping[str, Keeping] | None = None, *, leave_out: str = ""
) -> Exchange | None:
    """The lightest box that can go elsewhere and leave its place to this one; None when there is none.

    Boxes whose spot is recorded are moved as readily as others; two boxes at once are not tried.
    """
    best: tuple[float, str, Exchange] | None = None
    for one in house.standing:
        store = house.store(one.store)
        shelf = store.shelf(one.shelf)
        if shelf is None or one.box.key == box.key or store.name == leave_out:
            continue
        if best is not None and (one.box.mass_kg, one.box.key) >= best[:2]:
            continue
        won = _place(house.without(one.box.key), box, store, shelf, (keeping or {}).get(store.name))
        if won.verdict.worst() is not None:
            continue
        after = house.with_one(Standing(box=box, store=store.name, shelf=shelf.name, spot=won.verdict.spot))
        ways = places_for(after.without(one.box.key), one.box, now_in=store.name, leave_out=leave_out).open
        ways = tuple(way for way in ways if (way.store, way.shelf) != (store.name, shelf.name) and way.shelf)
        if ways:
            told = Exchange(
                number=one.box.number,
                box_key=one.box.key,
                away_from=f"{store.name}, shelf {shelf.name}",
                to=ways[0],
                won=won.told(),
            )
            best = (one.box.mass_kg, one.box.key, told)
    return best[2] if best is not None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Judged:
    """A place with its verdict and what ranks it."""

    store: Store
    shelf: Shelf | None
    verdict: Verdict
    keeping: Keeping | None
    left_share: float
    there: tuple[Standing, ...]

    def told(self) -> Place:
        return Place(
            store=self.store.name,
            shelf=self.shelf.name if self.shelf else "",
            spot=self.verdict.spot,
            above_floor_mm=self.shelf.above_floor_mm if self.shelf else None,
            beside=tuple(one.box.number for one in self.there),
            firm=all(one.spot is not None and one.spot.left_mm is not None for one in self.there),
            keeping=self.keeping,
            reasons=_reasons(self),
            against=self.verdict.against,
            settled=self.verdict.settled,
            not_known=self.verdict.not_known,
        )


def _place(house: House, box: Box, store: Store, shelf: Shelf | None, keeping: Keeping | None) -> _Judged:
    verdict = judge(house, box, store, shelf)
    left = 1.0
    if shelf is not None and box.size_mm is not None:
        floor = floor_of(store, shelf, house.defaults)
        fixed, free = fixed_and_free(house.without(box.key), shelf)
        taken = sum(one.wide_mm * one.deep_mm for one in fixed) + sum(length * width for length, width in free)
        area = floor.wide_mm * floor.deep_mm
        left = 1.0 - (taken + box.size_mm[0] * box.size_mm[1]) / area if area else 0.0
    there = house.without(box.key).on(shelf) if shelf is not None else ()
    return _Judged(store=store, shelf=shelf, verdict=verdict, keeping=keeping, left_share=left, there=there)


def _rank(place: _Judged, box: Box, now_in: str, heavy_kg: float) -> tuple[float | bool | str, ...]:
    keeping = place.keeping
    in_time = keeping.in_time if keeping else None
    day = keeping.until.timestamp() // 86_400 if keeping and keeping.until else 0.0
    height = place.shelf.above_floor_mm if place.shelf else 0.0
    heavy = box.mass_kg >= heavy_kg
    return (
        place.shelf is None,
        in_time is False,
        -day,
        len(place.verdict.against),
        place.store.name != now_in,
        height if heavy else -height,
        place.left_share,
        place.store.name,
        place.shelf.name if place.shelf else "",
    )


def _open_shelves(house: House, box: Box, store: Store) -> list[_Judged]:
    """Shelves of one store on which a box may stand, best first."""
    found = [_place(house, box, store, shelf, None) for shelf in store.shelves]
    heavy_kg = house.defaults.heavy_kg
    return sorted((one for one in found if _goes(one)), key=lambda one: _rank(one, box, store.name, heavy_kg))


def _goes(place: _Judged) -> bool:
    """True where nothing but the state of the store itself forbids it: the box stands in that store already."""
    return all(one.severity == "advice" or one.rule in ("off", "frost", "food") for one in place.verdict.against)


def _reasons(place: _Judged) -> tuple[str, ...]:
    said = []
    if place.store.temp_c is not None:
        said.append(f"{place.store.kind or 'store'} at {place.store.temp_c:g} °C")
    if place.shelf is not None:
        said.append(f"{place.shelf.above_floor_mm:.0f} mm over the floor")
        said.append(f"{100 * max(0.0, place.left_share):.0f} % of the shelf stays free")
    return tuple(said)
