"""What is carried and where it acts: masses, centre of gravity, tipping, doors, shelves."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, cos, degrees, hypot, radians, sin

from findhold.errors import BadInput
from findhold.lift.inputs import Block, Box, Leg, LiftInputs, Shelf, Size, Spread

_HAIR_MM = 1.0
"""A centre nearer to the middle than this is in the middle: no tape tells more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Masses:
    """Masses by what is lifted; box_kg None when there is no box. how = weighed or by soil."""

    block_kg: Spread
    box_kg: Spread | None
    how: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Centre:
    """Centre of gravity of a load: place from its outer lower corner, how far off the middle, and when it tips.

    aside_mm is along and across the load; share_heavy_end the share of the mass at the heavier end of the length
    [fraction]; tip_deg the tilt at which it goes over the nearest edge of its foot, 0 when it does not stand.
    """

    at_mm: Size
    aside_mm: tuple[float, float]
    side: str
    """Which side is heavier, in words for a label; empty when it is in the middle."""
    share_heavy_end: float
    tip_deg: float
    known: bool
    """Whether the block's own centre was measured."""
    how: str
    """How the block's own centre is known, in words; empty when it was measured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """Something on the way: a door, a rated load, the room over a shelf. stops = it cannot be done so."""

    about: str
    text: str
    stops: bool


def block_mass(block: Block, inputs: LiftInputs) -> tuple[Spread, str, str]:
    """Mass of a block with its spread, how it is known, and that in words.

    Raises
    ------
    BadInput : it was not weighed and is no soil block, so its mass cannot be told.

    Source: organic-soils-table-3-5 by the named soil; else 1500 to 1900 kg/m3 for a damp block (judgement).
    """
    defaults = inputs.defaults
    if block.mass_kg is not None:
        share = defaults.mass_spread
        spread = Spread(low=block.mass_kg * (1 - share), best=block.mass_kg, high=block.mass_kg * (1 + share))
        return (
            spread,
            "weighed",
            f"block weighed, {block.mass_kg:.3g} kg, ±{share:.0%} for the balance and loose soil (judgement)",
        )
    if block.loose:
        raise BadInput(
            "its mass is not known and there is no soil to tell it from",
            where=inputs.title,
            do="Weigh it and give mass_kg, or name the soil round it",
        )
    litres = block.volume_l or block.size_mm[0] * block.size_mm[1] * block.size_mm[2] * 1e-6
    low, high = block.density_kg_per_m3 or (defaults.damp_block_low_kg_per_m3, defaults.damp_block_high_kg_per_m3)
    best = (low + high) / 2 if block.density_kg_per_m3 else defaults.damp_block_best_kg_per_m3
    spread = Spread(low=litres * low / 1000, best=litres * best / 1000, high=litres * high / 1000)
    soil = f"of {block.soil}" if block.soil else "of damp soil"
    words = f"block not weighed, {litres:.3g} L {soil} at {low:.0f} to {high:.0f} kg/m³"
    return spread, "by soil", words


def masses(inputs: LiftInputs, board_kg: float) -> Masses:
    """Masses of what is lifted: the block on its board, and the packed box; a board is in the box only with its bed."""
    spread, how, words = block_mass(inputs.block, inputs)
    box = inputs.box
    packed = None if box is None else spread.plus(box.tare_kg + box.bed_kg).wider(*box.fill_spread_kg)
    return Masses(block_kg=spread.plus(board_kg), box_kg=packed, how=how, words=words)


def block_centre(block: Block) -> Centre:
    """Centre of gravity of a block on its foot; the middle of its prism when nobody knows it."""
    length, width, height = block.size_mm
    at = block.cog_mm or (length / 2, width / 2, height / 2)
    return _centre(at, block, block.size_mm, block.stands_mm or (0.0, length, 0.0, width))


def packed_centre(block: Block, block_kg: float, box: Box) -> Centre:
    """Common centre of gravity of the empty box, what is in it, and the block.

    The empty box acts in its middle, and so does the bed, which is taken as spread over the inside.

    Source: sum of moments over sum of masses.
    """
    length, width, height = block.size_mm
    own = block.cog_mm or (length / 2, width / 2, height / 2)
    along, across = own[0] - length / 2, own[1] - width / 2
    turn = radians(box.turn_deg)
    middle = (box.outside_mm[0] / 2, box.outside_mm[1] / 2, box.outside_mm[2] / 2)
    place = (
        middle[0] + along * cos(turn) - across * sin(turn),
        middle[1] + along * sin(turn) + across * cos(turn),
        box.base_mm + own[2],
    )
    parts = ((box.tare_kg + box.bed_kg, middle), (block_kg, place))
    total = sum(mass for mass, _ in parts)
    at = tuple(sum(mass * point[axis] for mass, point in parts) / total for axis in range(3))
    long, wide, _ = box.outside_mm
    return _centre((at[0], at[1], at[2]), block, box.outside_mm, (0.0, long, 0.0, wide))


def tip_angle_deg(half_base_mm: float, height_mm: float) -> float:
    """Tilt at which a load goes over an edge: atan(half the base over the height of its centre of gravity) [degrees].

    Raises
    ------
    BadInput : a figure is zero or negative.
    """
    if half_base_mm <= 0.0 or height_mm <= 0.0:
        raise BadInput("base and height of a load cannot be zero or negative", do="Enter its sizes again")
    return degrees(atan(half_base_mm / height_mm))


def door_width_mm(load: Size, people: int, inputs: LiftInputs) -> float:
    """Least clear width of a door for a load held by a number of people [mm]: the load and the hands beside it.

    One person carries it with its long side across; two or more walk one behind the other, its narrow side across. A
    load narrower than a person takes the width of a person.
    """
    long, narrow = max(load[0], load[1]), min(load[0], load[1])
    across = long if people == 1 else narrow
    return max(across + 2 * inputs.defaults.hand_room_mm, inputs.defaults.body_width_mm)


def door_obstacles(inputs: LiftInputs, leg: Leg, load: Size, people: int) -> tuple[Obstacle, ...]:
    """Whether a load goes through the leg's door as it is carried, and if not, how it would."""
    if leg.door_mm is None:
        return ()
    need = door_width_mm(load, people, inputs)
    if need <= leg.door_mm:
        return ()
    ways = [count for count in range(1, inputs.people + 1) if door_width_mm(load, count, inputs) <= leg.door_mm]
    bare = min(load[0], load[1]) <= leg.door_mm
    if ways:
        many = "one person" if ways[0] == 1 else f"{ways[0]} people, one behind the other"
        do = f"carry it with {many}, or set it on a trolley"
    elif bare:
        do = "set it on a trolley or slide it through: hands do not fit beside it"
    else:
        do = "it does not go through this door at all: take another way"
    across = need - 2 * inputs.defaults.hand_room_mm
    of = f"{across:.0f} mm of load and {inputs.defaults.hand_room_mm:g} mm for the hands on each side"
    why = "the width of a person" if need <= inputs.defaults.body_width_mm else of
    text = f"{leg.name}: the door is {leg.door_mm:g} mm, carried so it needs {need:.0f} mm ({why}); {do}."
    return (Obstacle(about="door", text=text, stops=not ways),)


def shelf_obstacles(inputs: LiftInputs, box: Box, box_kg: Spread) -> tuple[Obstacle, ...]:
    """Whether the shelf or fridge bears the packed box, and whether it stands clear under the one above."""
    shelf, found = inputs.shelf, []
    if shelf.rated_kg is not None:
        left = shelf.rated_kg - shelf.taken_kg
        if box_kg.high > left:
            text = (
                f"{shelf.name} has {left:.1f} kg left of {shelf.rated_kg:g} kg, the packed box weighs up to "
                f"{box_kg.high:.1f} kg wet: choose another, or take something off."
            )
            found.append(Obstacle(about="shelf load", text=text, stops=True))
    need = box.outside_mm[2] + inputs.defaults.shelf_clear_mm
    if shelf.clear_mm is not None and shelf.clear_mm < need:
        stops = shelf.clear_mm < box.outside_mm[2]
        text = (
            f"{shelf.name} has {shelf.clear_mm:g} mm over it, the box is {box.outside_mm[2]:.0f} mm high and wants "
            f"{inputs.defaults.shelf_clear_mm:g} mm clear above."
        )
        found.append(Obstacle(about="shelf height", text=text, stops=stops))
    return tuple(found)


def shelf_words(shelf: Shelf) -> str | None:
    """What is not known of the shelf and should be asked; None when all is."""
    if shelf.rated_kg is None:
        return "What the shelf or fridge may carry is not known: read its plate before loading it with wet boxes."
    return None


def _centre(at: Size, block: Block, size: Size, stands: tuple[float, float, float, float]) -> Centre:
    """A centre in a load of a size that stands on a rectangle (from and to along it, from and to across it)."""
    aside = (at[0] - size[0] / 2, at[1] - size[1] / 2)
    half_base = min(at[0] - stands[0], stands[1] - at[0], at[1] - stands[2], stands[3] - at[1])
    return Centre(
        at_mm=at,
        aside_mm=aside,
        side=_side_words(aside),
        share_heavy_end=0.5 + abs(aside[0]) / size[0],
        tip_deg=tip_angle_deg(half_base, at[2]) if half_base > 0.0 else 0.0,
        known=block.cog_mm is not None and block.cog_measured,
        how=_how_known(block),
    )


def _how_known(block: Block) -> str:
    if block.cog_mm is None:
        return "block's own taken in its middle"
    return "" if block.cog_measured else "block's own that of its profile at one density"


def _side_words(aside: tuple[float, float]) -> str:
    """How far off the middle and to which side, in the order of the block's own axes; empty in the middle."""
    if hypot(*aside) < _HAIR_MM:
        return ""
    ends = (("the far end", "the near end"), ("the far side", "the near side"))
    said = [
        f"{abs(off):.0f} mm towards {words[0] if off > 0 else words[1]}"
        for off, words in zip(aside, ends, strict=True)
        if abs(off) >= _HAIR_MM / 2
    ]
    return " and ".join(said)
