"""What a lift is asked from: the block, its packed box and the keys of [lift] as one request, with what was taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from findhold.cushion.foot import base_mm
from findhold.errors import BadInput
from findhold.lift.carry import block_mass
from findhold.lift.helps import people_words
from findhold.lift.inputs import Block, BoardAsk, Box, Handling, Leg, LiftDefaults, LiftInputs, Shelf, standard_legs
from findhold.lift.plan import hands_words
from findhold.pack.inputs import PlanInputs
from findhold.pack.plan import Plan
from findhold.pack.steps import with_hands
from findhold.tables.soils import find_soil

_HANDLING = ("handles", "gloves", "lifts_per_min", "hours", "people", "guideline")


def block_of(plan: PlanInputs, given: dict[str, Any], *, ring_foot_mm: Sequence[float] | None = None) -> Block:
    """The block of a request for a plan; ring_foot_mm is middle diameter and width of a ring foot (None = none known).

    Raises
    ------
    BadInput : its sizes are not known. UnknownName : no such soil.
    """
    if plan.block_mm is None:
        raise BadInput("its sizes are not known", where=plan.find, do="Measure length, width and height")
    density = None if plan.soil is None else _density(plan.soil, plan.state, plan)
    stands = base_mm(plan.side_outline_mm, plan.end_outline_mm, plan.profile_mm, plan.block_mm)
    if ring_foot_mm is not None:
        middle, half = (plan.block_mm[0] / 2, plan.block_mm[1] / 2), sum(ring_foot_mm) / 2
        stands = (middle[0] - half, middle[0] + half, middle[1] - half, middle[1] + half)
    measured = given.get("cog_mm") or plan.cog_mm
    cog = measured or plan.centre_mm
    block = Block(
        size_mm=plan.block_mm,
        mass_kg=plan.mass_kg,
        volume_l=given.get("volume_l"),
        cog_mm=None if cog is None else (cog[0], cog[1], cog[2]),
        cog_measured=measured is not None,
        stands_mm=stands,
        soil=plan.soil,
        density_kg_per_m3=density,
        loose=plan.soil is None,
    )
    if block.cog_mm is not None and any(at > side for at, side in zip(block.cog_mm, block.size_mm, strict=True)):
        raise BadInput(
            "the centre of gravity lies outside the block",
            where=plan.find,
            limit=" x ".join(f"{side:g}" for side in block.size_mm) + " mm",
            do="Give cog_mm from the block's lower corner",
        )
    return block


def lift_inputs(title: str, block: Block, plan: Plan | None, given: dict[str, Any], by: LiftDefaults) -> LiftInputs:
    """A request for the plan of a lift, from a packing plan and the keys of [lift]; what is taken is said."""
    box, said = _box_of(plan, block)
    lifts_block = given.get("lift_block", not block.loose)
    if block.loose and not lifts_block:
        said += ("Found without soil: no block is lifted on a board.",)
    return LiftInputs(
        title=title,
        block=block,
        box=box,
        legs=_legs(given, by, with_box=box is not None, lifts_block=lifts_block),
        handling=Handling(
            **{key: given[key] for key in _HANDLING if key in given}, temp_c=given.get("temp_c"), rh=given.get("rh")
        ),
        shelf=Shelf(
            name=given.get("shelf_name", "the shelf"),
            rated_kg=given.get("shelf_load_kg"),
            taken_kg=float(given.get("shelf_taken_kg", 0.0)),
            clear_mm=given.get("shelf_clear_mm"),
            heights_mm=tuple(float(height) for height in given.get("shelf_heights_mm", ())),
        ),
        board=BoardAsk(
            material=given.get("board"),
            thickness_mm=given.get("board_thickness_mm"),
            edges=given.get("board_support") == "four edges",
        ),
        defaults=by,
        assumed=(*said, *_taken_heights(given, by, with_box=box is not None, lifts_block=lifts_block)),
    )


def place_keys(plan: PlanInputs) -> dict[str, Any]:
    """What a plan knows of the place the box is put down in, as keys of [lift]."""
    found = {"temp_c": plan.place_temp_c, "rh": plan.place_rh, "shelf_name": plan.place}
    return {key: value for key, value in found.items() if value is not None}


def with_people(plan: Plan, asked: PlanInputs, given: dict[str, Any], by: LiftDefaults) -> Plan:
    """The plan with the lift's people in the steps that lower block and carry box, and in its warnings.

    A plan without a box keeps as it is.
    """
    if plan.box is None or not plan.steps:
        return plan
    block = block_of(asked, given)
    hands, said = hands_words(lift_inputs(plan.find, block, plan, {**place_keys(asked), **given}, by))
    steps = with_hands(plan.steps, people_words(hands.block_people), people_words(hands.box_people))
    return replace(plan, steps=steps, warnings=(*plan.warnings, *([said] if said else [])))


def _box_of(plan: Plan | None, block: Block) -> tuple[Box | None, tuple[str, ...]]:
    """The planned box, packed; None with the reason when there is none."""
    if plan is None:
        return None, ("No box is planned yet: only the block's own lift is told.",)
    if plan.box is None or plan.clearance_mm is None or plan.load_kg is None:
        return None, (f"Only the block's own lift is told. {plan.no_box or 'No box is planned.'}",)
    best, _, _ = block_mass(block, LiftInputs(title=plan.find, block=block, box=None, legs=()))
    return Box(
        name=plan.box_called,
        outside_mm=plan.box.outside_mm,
        tare_kg=plan.box.tare_kg,
        bed_kg=max(0.0, plan.load_kg - best.best),
        fill_spread_kg=plan.gross_spread_kg,
        base_mm=plan.box.wall_mm + plan.clearance_mm.bed,
        turn_deg=float(plan.turn_deg),
        wet=plan.dose_way in ("bag", "submerged"),
    ), ()


def _legs(given: dict[str, Any], by: LiftDefaults, *, with_box: bool, lifts_block: bool) -> tuple[Leg, ...]:
    """The way as described, else the standard one with what is stated of it."""
    if "legs" in given:
        legs = [Leg(**leg) for leg in given["legs"]]
        names = [leg.name for leg in legs]
        if len(set(names)) < len(names):
            raise BadInput("two legs have one name", where="[lift] legs", do="Give each leg a name of its own")
        return tuple(legs)
    bench = float(given.get("origin_height_mm", by.bench_mm))
    shelf = float(given.get("destination_height_mm", by.shelf_mm))
    ground = float(given.get("ground_height_mm", by.ground_mm))
    block, *boxes = standard_legs(by, with_box=with_box)
    passed = {key: given[key] for key in ("twist_deg", "carry_m", "door_mm", "footing", "careful") if key in given}
    block = replace(block, from_mm=ground, to_mm=bench, trench=given.get("trench", True))
    reach = given.get("reach_mm")
    moved = [replace(leg, from_mm=bench, to_mm=shelf, reach_mm=reach, **passed) for leg in boxes]
    return (*((block,) if lifts_block or not moved else ()), *moved)


def _taken_heights(given: dict[str, Any], by: LiftDefaults, *, with_box: bool, lifts_block: bool) -> tuple[str, ...]:
    """Heights nobody stated, in words."""
    if "legs" in given:
        return ()
    named = {
        "ground_height_mm": ("the block's base", by.ground_mm, lifts_block or not with_box),
        "origin_height_mm": ("the bench", by.bench_mm, True),
        "destination_height_mm": ("the shelf", by.shelf_mm, with_box),
    }
    lacking = [
        f"{what} at {height:g} mm" for key, (what, height, wanted) in named.items() if wanted and key not in given
    ]
    if not lacking:
        return ()
    return (f"Heights not stated are taken: {', '.join(lacking)} over the feet (settings [lift]; judgement).",)


def _density(soil: str, state: str, plan: PlanInputs) -> tuple[float, float]:
    """Least and most a block of a named soil could be [kg/m3], between light and moist and heavy and wet."""
    known = find_soil(soil, where=plan.find).density
    least, most = plan.defaults.block_density_low_kg_per_m3, plan.defaults.block_density_high_kg_per_m3
    low = known.moist_low_kg_per_m3
    if state == "waterlogged" and known.wet_low_kg_per_m3 is not None:
        low = max(low, known.wet_low_kg_per_m3)
    high = max(known.moist_high_kg_per_m3, known.wet_high_kg_per_m3 or 0.0)
    return max(low, least), min(high, most)
