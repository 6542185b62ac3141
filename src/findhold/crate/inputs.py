"""What a loading of crates is asked from: the bags and boxes, the crates, and the limits."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from findhold.crate.board import Board
from findhold.errors import BadInput
from findhold.tables.crates import CrateDefaults, crate_defaults

State = Literal["dry", "damp", "waterlogged"]
STATES: tuple[State, ...] = ("dry", "damp", "waterlogged")
Size = tuple[float, float, float]
"""Length, width, height [mm]."""
Aim = Literal["lowest centre of mass", "least height"]
EXACT_UP_TO = 20
"""So many things are proved by the solver; more are searched, and the bound stated."""
MOST_ITEMS = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A bag or box as it goes into a crate: outside sizes as it stands, mass as weighed. None means not stated."""

    number: str
    what: str = ""
    size_mm: Size
    mass_kg: float
    state: State = "dry"
    material: str = ""
    """A find material, or empty for a mixed or unknown lot."""
    context: str = ""
    human_remains: bool = False
    lidded: bool = False
    """A lidded box; when its contents are damp nothing stands on it."""
    max_on_top_kg: float | None = None
    upright: bool = True
    """It has a top: it is turned in plan only."""
    board: Board | None = None
    """It is a box of corrugated board, bearing what that bears."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crate:
    """A kind of crate; max_load_kg is what it is rated for inside; count None = as many as needed."""

    name: str
    inside_mm: Size
    tare_kg: float
    max_load_kg: float | None = None
    count: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CrateRequest:
    """One request for a loading; `persons` carry a crate together; `seed` of the search."""

    items: tuple[Item, ...]
    crates: tuple[Crate, ...]
    persons: int = 1
    aim: Aim = "lowest centre of mass"
    seed: int = 1
    defaults: CrateDefaults = field(default_factory=crate_defaults)


def check_request(request: CrateRequest) -> None:
    """Refuse what cannot be: sizes and masses that are not above zero, no crates, the same number twice.

    Raises
    ------
    BadInput : the first such thing, with what to do.
    """
    if not request.items:
        raise BadInput("there is nothing to load", where="items", do="List at least one bag or box")
    if not request.crates:
        raise BadInput("there are no crates", where="crates", do="List at least one kind of crate")
    if len(request.items) > MOST_ITEMS:
        raise BadInput(
            f"{len(request.items)} things are too many at once",
            where="items",
            limit=f"up to {MOST_ITEMS}",
            do="Load one store or one area of the site at a time",
        )
    if request.persons < 1:
        raise BadInput(
            f"{request.persons} persons", where="persons", limit="1 or more", do="Say how many carry a crate"
        )
    seen: set[str] = set()
    for item in request.items:
        _check_sizes(item.size_mm, f"item {item.number}")
        _check_mass(item.mass_kg, f"item {item.number}")
        if item.number in seen:
            raise BadInput(f"{item.number} stands there twice", where="items", do="Give each bag or box its own number")
        seen.add(item.number)
        if item.state not in STATES:
            raise BadInput(
                f"{item.state!r} is not a state",
                where=f"item {item.number}",
                limit=", ".join(STATES),
                do="Say how it is kept",
            )
        if item.max_on_top_kg is not None and not 0 <= item.max_on_top_kg < math.inf:
            raise BadInput(
                f"{item.max_on_top_kg:g} kg may stand on it",
                where=f"item {item.number}",
                limit="0 kg or more",
                do="Give 0 when nothing may stand on it",
            )
    for crate in request.crates:
        _check_crate(crate)


def _check_crate(crate: Crate) -> None:
    where = f"crate {crate.name}"
    _check_sizes(crate.inside_mm, where)
    if not 0 <= crate.tare_kg < math.inf:
        raise BadInput(
            f"the empty mass is {crate.tare_kg:g} kg", where=where, limit="0 kg or more", do="Weigh it empty"
        )
    if crate.max_load_kg is not None:
        _check_mass(crate.max_load_kg, where)
    if crate.count is not None and crate.count < 0:
        raise BadInput(f"there are {crate.count} of them", where=where, limit="0 or more", do="Count the crates")


def _check_sizes(size_mm: Size, where: str) -> None:
    if not all(0 < side <= 5000 for side in size_mm):
        told = " x ".join(f"{side:g}" for side in size_mm)
        raise BadInput(
            f"its sizes are {told} mm",
            where=where,
            limit="length, width and height above 0 and up to 5000 mm",
            do="Measure it over all, in millimetres",
        )


def _check_mass(mass_kg: float, where: str) -> None:
    if not 0 < mass_kg <= 2000:
        raise BadInput(
            f"its mass is {mass_kg:g} kg", where=where, limit="above 0 and up to 2000 kg", do="Weigh it as it stands"
        )
