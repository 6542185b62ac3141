"""Stores, shelves and boxes as the rules take them."""

from __future__ import annotations

from dataclasses import dataclass, field

from findhold.tables.storing import StoreDefaults, store_defaults

BACK, LEFT, RIGHT, NO_PLATE = "back", "left", "right", "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where on a shelf a box stands: its corner from the shelf's left front corner [mm]; turned: its length goes back.

    name : what the spot is called, "" where it has no name. A spot has figures, or a name, or both.
    """

    left_mm: float | None = None
    front_mm: float | None = None
    turned: bool = False
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A packed box: outside length, width and height, mass as weighed or planned, and what it holds.

    key : its identity. number : its find's. size_mm None where it is not known. state : damp, waterlogged or dry.
    """

    key: str
    number: str
    size_mm: tuple[float, float, float] | None
    mass_kg: float
    state: str
    metal: bool = False
    human: bool = False
    lidded: bool = True

    @property
    def damp(self) -> bool:
        """True for what must not dry out nor freeze."""
        return self.state != "dry"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """A shelf: along the front, front to back, free height to the next, over the floor [mm]; rated None: not known."""

    store: str
    name: str
    front_mm: float
    depth_mm: float
    clear_mm: float
    above_floor_mm: float
    rated_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Store:
    """A room, cool room or fridge; shelves empty where none are entered. trouble : why it is not to be used, or "".

    plate : the side that gets cold. inside_mm : along the front, depth, height; None where not known.
    """

    name: str
    kind: str = ""
    temp_c: float | None = None
    rated_kg: float | None = None
    plate: str = NO_PLATE
    food: bool = False
    trouble: str = ""
    inside_mm: tuple[float, float, float] | None = None
    shelves: tuple[Shelf, ...] = ()

    def shelf(self, name: str) -> Shelf | None:
        """A shelf by its name, upper or lower case."""
        return next((one for one in self.shelves if one.name.casefold() == name.strip().casefold()), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A box where it stands: shelf "" where that is not recorded, spot None where only the shelf is."""

    box: Box
    store: str
    shelf: str = ""
    spot: Spot | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """All stores and everything that stands in them."""

    stores: tuple[Store, ...]
    standing: tuple[Standing, ...]
    defaults: StoreDefaults = field(default_factory=store_defaults)

    def store(self, name: str) -> Store:
        """A store by its name; raises KeyError for one that there is not."""
        return {one.name: one for one in self.stores}[name]

    def within(self, store: str) -> tuple[Standing, ...]:
        """What stands in a store."""
        return tuple(one for one in self.standing if one.store == store)

    def on(self, shelf: Shelf) -> tuple[Standing, ...]:
        """What is recorded to stand on a shelf."""
        name = shelf.name.casefold()
        return tuple(one for one in self.standing if one.store == shelf.store and one.shelf.casefold() == name)

    def without(self, key: str) -> House:
        """The same without one box."""
        return House(
            stores=self.stores,
            standing=tuple(one for one in self.standing if one.box.key != key),
            defaults=self.defaults,
        )

    def with_one(self, standing: Standing) -> House:
        """The same with a box there, and nowhere else."""
        rest = self.without(standing.box.key)
        return House(stores=rest.stores, standing=(*rest.standing, standing), defaults=rest.defaults)
