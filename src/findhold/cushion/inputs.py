"""What a cushion is asked from: the block, what it is declared to stand, how it travels, and the foam at hand."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date

from findhold.cushion.curve import Curve
from findhold.errors import BadInput
from findhold.tables.cushions import CushionRules, cushion_rules

Size = tuple[float, float, float]
"""Length, width, height [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Low, best and high of one figure."""

    low: float
    best: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Declared:
    """What a named person declares the find to stand: an assumption, never a measurement.

    fragility_g is in units of gravity [1].
    """

    fragility_g: float
    """Peak deceleration [1]."""
    person: str
    day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class CushionInputs:
    """One request for a cushion. None means not stated, never zero."""

    find: str = "the find"
    block_mm: Size
    mass_kg: float
    declared: Declared
    soil: str | None = None
    """Soil of the block; None = a find without soil."""
    drop_m: float | None = None
    """Drop height stated outright; it overrides the route."""
    route: tuple[str, ...] = ()
    """Legs by the names of handling_legs, each with an own label before a colon when wanted."""
    foam: str = "polyethylene foam"
    foam_mm: tuple[float, ...] = ()
    """Sheets in stock [mm]; up to three are laid on one another."""
    curve: Curve | None = None
    """The unit's own measured curve; None takes a shipped one for this foam, if there is one."""
    board_mm: float = 0.0
    """Spreader board under the block [mm]; 0 = none stated."""
    clay_strength_kpa: float | None = None
    """Undrained strength of the block's soil as measured or judged [kPa]."""
    sink_mm: float | None = None
    """How far the block was seen to sink into its cushion when set down [mm]."""
    taken: tuple[str, ...] = ()
    """What was taken for things not stated, in words."""
    rules: CushionRules = field(default_factory=cushion_rules)


def check_inputs(inputs: CushionInputs) -> None:
    """Refuse what cannot be.

    Raises
    ------
    BadInput : a fragility not above 1, no name behind it, a size, mass, drop or thickness that is not above zero.
    """
    declared, where = inputs.declared, f"{inputs.find}, cushion"
    if not math.isfinite(declared.fragility_g) or declared.fragility_g <= 1.0:
        raise BadInput(
            f"the declared fragility is {declared.fragility_g:g} G",
            where=where,
            limit="above 1 G: lying still is 1 G already, and no cushion stops a fall with less",
            do="Declare the deceleration the find is taken to stand, for instance 25 G for a cracked vessel in a block",
        )
    if not declared.person.strip():
        raise BadInput(
            "nobody stands behind the declared fragility",
            where=where,
            limit="the name of the person who declares it",
            do="Give declared_by and declared_on: the figure is an assumption and somebody must own it",
        )
    sizes = {"block length": inputs.block_mm[0], "block width": inputs.block_mm[1], "block height": inputs.block_mm[2]}
    figures = {**sizes, "mass": inputs.mass_kg, **{f"foam sheet {mm:g} mm": mm for mm in inputs.foam_mm}}
    stated = {"drop height": inputs.drop_m, "soil strength": inputs.clay_strength_kpa, "sinking": inputs.sink_mm}
    figures |= {name: value for name, value in stated.items() if value is not None}
    for name, value in figures.items():
        if not math.isfinite(value) or value <= 0.0:
            raise BadInput(f"the {name} is {value:g}", where=where, limit="above 0", do=f"Mend the {name}")
    if inputs.board_mm < 0.0:
        raise BadInput(f"the board is {inputs.board_mm:g} mm", where=where, limit="0 or more", do="Mend board_mm")
    if inputs.drop_m is None and not inputs.route:
        raise BadInput(
            "neither a drop height nor a route is declared",
            where=where,
            limit="drop_height_m, or route with one leg or more",
            do='Say how it travels, for instance route = ["carried by two people", "van"]',
        )
