"""Stores as they stand: which boxes are in each, how full it is, how long each box may still wait, and a picture."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from findhold.draw.svg import to_svg
from findhold.paper.shelf_drawing import BoxInStore, Spot, StoreArgs, scale_for, store_drawing
from findhold.record.events import UNIT
from findhold.service.choices import read_choices
from findhold.service.office import Office
from findhold.service.showing.held import HeldSeen, held_seen
from findhold.service.storekeeping.reading import shelf_of, standing_of, store_of, trouble_of
from findhold.service.storekeeping.shelf_words import ShelfSeen, shelves_seen
from findhold.service.stores import find_store
from findhold.service.wire import plain
from findhold.store.ledger import Thing
from findhold.store.whereabouts import finds_of_store
from findhold.stores.inputs import House

MOST_BOXES = 120
"""So many finds of one store are shown; more than that stand in no fridge."""
LARGE_MM, SMALL_MM = (150.0, 150.0), (100.0, 100.0)
"""Paper for the front of one store alone, and beside the others [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """How much of a store is taken up; None where the register does not say how much there is."""

    boxes: int
    mass_kg: float
    max_load_kg: float | None
    box_volume_l: float
    inside_volume_l: float | None

    @property
    def load_share(self) -> float | None:
        """Part of the load that is used, 1 is full [1]."""
        return None if not self.max_load_kg else self.mass_kg / self.max_load_kg

    @property
    def volume_share(self) -> float | None:
        """Part of the inside that boxes fill, air between them left out [1]."""
        return None if not self.inside_volume_l else self.box_volume_l / self.inside_volume_l


@dataclass(frozen=True, slots=True, kw_only=True)
class StorePicture:
    """A store's front as SVG with the place of each box on it (keys are site/find), and what is not on it."""

    svg: str
    width_mm: float
    height_mm: float
    spots: tuple[Spot, ...]
    no_room: tuple[str, ...]
    places_recorded: bool
    """True when every box drawn stands where its shelf was recorded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreSeen:
    """A store as it stands; boxes worst first. picture None when the register has no inside size."""

    name: str
    facts: dict[str, Any]
    boxes: tuple[HeldSeen, ...]
    no_box: tuple[tuple[str, str, str], ...]
    """Finds registered for it without a box: site, number, what."""
    not_drawn: tuple[HeldSeen, ...]
    """Boxes that the picture does not show: no size is known, or no room in one row behind the door."""
    filled: Filled
    picture: StorePicture | None
    failures: tuple[dict[str, Any], ...]
    logs: tuple[dict[str, Any], ...]
    trouble: str
    """In words when it is off, or was still too warm at its last reading; "" when nothing is known to be amiss."""
    shelves: tuple[ShelfSeen, ...]
    """From above, with what is left of each; empty when none are entered."""
    loose: tuple[str, ...]
    """Finds whose shelf is not recorded, though shelves are entered."""
    more: bool
    now: datetime
    zone: str


def stores_seen(office: Office) -> tuple[StoreSeen, ...]:
    """Every store of the unit, with the boxes in it."""
    things = office.ledger.states("store", UNIT)
    sizes = [size for thing in things if (size := _front(thing.facts)) is not None]
    scale = max((scale_for(size, SMALL_MM) for size in sizes), default=20)
    return tuple(_seen(office, thing, scale) for thing in things)


def store_seen(office: Office, name: str) -> StoreSeen:
    """One store; raises UnknownName with near names."""
    thing = find_store(office, name)
    size = _front(thing.facts)
    return _seen(office, thing, 20 if size is None else scale_for(size, LARGE_MM))


def store_shape(seen: StoreSeen) -> dict[str, Any]:
    """A store in the public shape, without its picture."""
    told: dict[str, Any] = plain(seen)
    del told["picture"]
    filled = seen.filled
    told["filled"] |= {"load_share": filled.load_share, "volume_share": filled.volume_share}
    return told


def _seen(office: Office, store: Thing, scale: int) -> StoreSeen:
    now, zone = _clock(office)
    sites = [site.number for site in office.ledger.states("site")]
    with office.ledger.reading() as connection:
        found = [pair for site in sites for pair in finds_of_store(connection, site, store.number, MOST_BOXES + 1)]
    held = [(find, hold) for find, hold in found[:MOST_BOXES] if hold is not None and not hold.facts.get("ended")]
    boxes = [held_seen(find, hold, now) for find, hold in held]
    boxes.sort(key=_worst)
    shelves, loose = _shelves(office, store, held)
    picture = _picture(store, boxes, scale, _levels(store.facts, shelves))
    drawn = set() if picture is None else {spot.key for spot in picture.spots}
    return StoreSeen(
        name=store.number,
        facts={key: value for key, value in store.facts.items() if key not in ("logs", "failures")},
        boxes=tuple(boxes),
        no_box=tuple(
            (find.stream.split("/")[1], find.number, str(find.facts.get("what") or ""))
            for find, hold in found[:MOST_BOXES]
            if hold is None
        ),
        not_drawn=tuple(box for box in boxes if _key(box) not in drawn),
        filled=_filled(store.facts, boxes),
        picture=picture,
        failures=tuple(reversed(store.facts.get("failures", ()))),
        logs=tuple(reversed(store.facts.get("logs", ()))),
        trouble=trouble_of(store.facts),
        shelves=shelves,
        loose=loose,
        more=len(found) > MOST_BOXES,
        now=now,
        zone=zone,
    )


def _shelves(
    office: Office, store: Thing, held: list[tuple[Thing, Thing]]
) -> tuple[tuple[ShelfSeen, ...], tuple[str, ...]]:
    """What is left on each shelf, and the finds whose shelf nobody recorded."""
    entered = [shelf_of(thing.facts) for thing in office.ledger.states("shelf", UNIT)]
    one = store_of(store.facts, [shelf for shelf in entered if shelf.store == store.number])
    if not one.shelves:
        return (), ()
    standing = tuple(standing_of(find, hold) for find, hold in held)
    house = House(stores=(one,), standing=standing, defaults=read_choices().stores)
    used = Counter(_box_name(hold) for _, hold in held)
    common = used.most_common(1)[0][0] if used else ""
    size = next((s.box.size_mm for s, (_, hold) in zip(standing, held, strict=True) if _box_name(hold) == common), None)
    loose = tuple(s.box.number for s in standing if one.shelf(s.shelf) is None)
    return shelves_seen(house, one, None if size is None else (common, size)), loose


def _box_name(hold: Thing) -> str:
    return str((hold.facts.get("plan") or {}).get("box"))


def _clock(office: Office) -> tuple[datetime, str]:
    """Now on the clock of the ledger's first site, whose stores these are."""
    sites = office.ledger.states("site")
    if not sites:
        return office.now(), "UTC"
    return office.in_site_zone(office.now(), sites[0]), str(sites[0].facts["zone"])


def _worst(box: HeldSeen) -> tuple[bool, bool, float, str]:
    left = box.left_days
    return not box.alarm, left is None, 0.0 if left is None else left, box.number


def _key(box: HeldSeen) -> str:
    return f"{box.site}/{box.number}"


def _front(facts: dict[str, Any]) -> tuple[float, float] | None:
    """Width and height inside, as one looks into it [mm]."""
    wide, high = facts.get("inside_l_mm"), facts.get("inside_h_mm")
    return None if not wide or not high else (float(wide), float(high))


def _levels(facts: dict[str, Any], shelves: tuple[ShelfSeen, ...]) -> tuple[tuple[str, float], ...]:
    """Shelves over the store's own floor [mm]: in a fridge the lowest stands on it, in a room it is the room's."""
    lowest = min((shelf.above_floor_mm for shelf in shelves), default=0.0)
    base = lowest if facts.get("kind") == "fridge" else 0.0
    return tuple((shelf.name, shelf.above_floor_mm - base) for shelf in shelves)


def _picture(
    store: Thing, boxes: list[HeldSeen], scale: int, levels: tuple[tuple[str, float], ...]
) -> StorePicture | None:
    size = _front(store.facts)
    if size is None:
        return None
    shown = tuple(
        BoxInStore(
            key=_key(box),
            number=box.number,
            left_days=box.left_days,
            left_words=box.left_words,
            length_mm=box.outside_mm[0],
            height_mm=box.outside_mm[2],
            place=box.place,
        )
        for box in boxes
        if box.outside_mm is not None
    )
    made = store_drawing(StoreArgs(name=store.number, inside_mm=size, boxes=shown, scale=scale, shelves=levels))
    return StorePicture(
        svg=to_svg(made.drawing),
        width_mm=made.drawing.width_mm,
        height_mm=made.drawing.height_mm,
        spots=made.spots,
        no_room=made.left_over,
        places_recorded=bool(shown) and all(box.place for box in shown),
    )


def _filled(facts: dict[str, Any], boxes: list[HeldSeen]) -> Filled:
    sides = [facts.get(f"inside_{side}_mm") for side in ("l", "w", "h")]
    inside = None if None in sides else float(sides[0] or 0) * float(sides[1] or 0) * float(sides[2] or 0) / 1e6
    outsides = [box.outside_mm for box in boxes if box.outside_mm is not None]
    return Filled(
        boxes=len(boxes),
        mass_kg=sum(box.mass_kg or 0.0 for box in boxes),
        max_load_kg=facts.get("max_load_kg"),
        box_volume_l=sum(length * width * height for length, width, height in outsides) / 1e6,
        inside_volume_l=inside,
    )
