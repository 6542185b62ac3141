"""The stores of the ledger as the rules take them: shelves, boxes, where each stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from findhold.record.events import UNIT
from findhold.service.choices import read_choices
from findhold.service.office import Office
from findhold.service.showing.held import outside_mm
from findhold.store.ledger import Thing
from findhold.store.whereabouts import finds_of_store
from findhold.stores.inputs import BACK, NO_PLATE, Box, House, Shelf, Spot, Standing, Store
from findhold.tables.materials import find_material, find_material_names

MOST_IN_A_STORE = 5000
"""More boxes stand in no one store."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The house, and find and hold of each box in it by the box's identity."""

    house: House
    finds: Mapping[str, Thing]
    holds: Mapping[str, Thing]

    def standing(self, box_id: str) -> Standing | None:
        """Where a box stands; None for one that has no store."""
        return next((one for one in self.house.standing if one.box.key == box_id), None)


def read_house(office: Office, only: str | None = None) -> Kept:
    """Every store of the unit with its shelves, and every box that is planned for one of them and has not left.

    `only` reads the boxes of one store, which is quick in a ledger of thousands.
    """
    shelves: dict[str, list[Shelf]] = {}
    for thing in office.ledger.states("shelf", UNIT):
        shelf = shelf_of(thing.facts)
        shelves.setdefault(shelf.store, []).append(shelf)
    stores = tuple(
        store_of(thing.facts, shelves.get(thing.number, ())) for thing in office.ledger.states("store", UNIT)
    )
    names = {store.name for store in stores}
    standing: list[Standing] = []
    finds: dict[str, Thing] = {}
    holds: dict[str, Thing] = {}
    for site in office.ledger.states("site"):
        for find, hold in _boxes(office, site.number, only):
            one = standing_of(find, hold)
            finds[one.box.key], holds[one.box.key] = find, hold
            if one.store in names:
                standing.append(one)
    house = House(stores=stores, standing=tuple(standing), defaults=read_choices().stores)
    return Kept(house=house, finds=finds, holds=holds)


def _boxes(office: Office, site: str, only: str | None) -> list[tuple[Thing, Thing]]:
    """Finds of a site with the holds they wait in."""
    if only is not None:
        with office.ledger.reading() as connection:
            found = finds_of_store(connection, site, only, MOST_IN_A_STORE)
        return [(find, hold) for find, hold in found if hold is not None and not hold.facts.get("ended")]
    by_number = {find.number: find for find in office.ledger.states("find", site)}
    pairs = [(by_number.get(str(hold.facts["find"])), hold) for hold in office.ledger.states("hold", site)]
    return [(find, hold) for find, hold in pairs if find is not None and not hold.facts.get("ended")]


def store_of(facts: Mapping[str, Any], shelves: Iterable[Shelf]) -> Store:
    """A store of the register with its shelves from below."""
    sides = [facts.get(f"inside_{side}_mm") for side in "lwh"]
    kind = str(facts.get("kind") or "")
    return Store(
        name=str(facts["name"]),
        kind=kind,
        temp_c=facts.get("temp_c"),
        rated_kg=facts.get("max_load_kg"),
        plate=str(facts.get("cold_plate") or (BACK if kind == "fridge" else NO_PLATE)),
        food=bool(facts.get("food")),
        trouble=trouble_of(facts),
        inside_mm=None if None in sides else (float(sides[0] or 0), float(sides[1] or 0), float(sides[2] or 0)),
        shelves=tuple(sorted(shelves, key=lambda one: (one.above_floor_mm, one.name))),
    )


def shelf_of(facts: Mapping[str, Any]) -> Shelf:
    """A shelf of the register."""
    return Shelf(
        store=str(facts["store"]),
        name=str(facts["name"]),
        front_mm=float(facts["front_mm"]),
        depth_mm=float(facts["depth_mm"]),
        clear_mm=float(facts["clear_mm"]),
        above_floor_mm=float(facts["above_floor_mm"]),
        rated_kg=facts.get("max_load_kg"),
    )


def standing_of(find: Thing, hold: Thing) -> Standing:
    """A box with where it stands: the find's store, and the shelf it was last put on there."""
    held, facts = hold.facts, find.facts
    shelved = held.get("shelved") or {}
    store = str(facts.get("store") or (held.get("plan") or {}).get("place") or shelved.get("store") or "")
    here = shelved if shelved.get("store") == store else {}
    spot = here.get("spot")
    return Standing(
        box=box_of(find, hold),
        store=store,
        shelf=str(here.get("shelf") or ""),
        spot=None if not spot else Spot(**spot),
    )


def box_of(find: Thing, hold: Thing) -> Box:
    """A packed box from outside, with its mass as last weighed, else as planned."""
    held, facts = hold.facts, find.facts
    plan = held.get("plan") or {}
    weighed = held.get("weighings") or ()
    material = str(facts.get("material") or "")
    known = material in find_material_names()
    return Box(
        key=str(held["box_id"]),
        number=find.number,
        size_mm=_outside(plan.get("box_facts")),
        mass_kg=float(weighed[-1]["mass_kg"] if weighed else plan.get("gross_mass_kg") or 0.0),
        state=str(plan.get("kept") or facts.get("state") or "damp"),
        metal=known and find_material(material).group == "metal",
        human=bool(facts.get("human_remains")) or "human remains" in (plan.get("flags") or ()),
    )


def trouble_of(facts: Mapping[str, Any]) -> str:
    """In words when a store is off, or was still too warm at its last reading; "" when nothing is known to be amiss."""
    if any(item["to"] is None for item in facts.get("failures", ())):
        return "off, and not back yet"
    newest = max(facts.get("logs", ()), key=lambda log: str(log["last"]), default=None)
    return "still too warm at its last reading" if newest and newest["still_warm"] else ""


def _outside(facts: Mapping[str, Any] | None) -> tuple[float, float, float] | None:
    """A box from outside, over all where that is entered [mm]."""
    over_all = (facts or {}).get("outside_over_all_mm")
    if over_all:
        return (float(over_all[0]), float(over_all[1]), float(over_all[2]))
    return outside_mm(dict(facts) if facts else None)
