"""Lifting: how many hands a block and its packed box take, from a scenario file or from the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from findhold.errors import BadInput, FindholdError
from findhold.lift.carry import block_mass
from findhold.lift.inputs import (
    Block,
    BoardAsk,
    Box,
    Handling,
    Leg,
    LiftDefaults,
    LiftInputs,
    Shelf,
    Size,
    standard_legs,
)
from findhold.lift.plan import LiftPlan, centre_words, lift_lines, plan_lift
from findhold.lift.way import Round, round_of
from findhold.pack.inputs import PlanInputs
from findhold.pack.plan import Plan
from findhold.service.answers import cited
from findhold.service.case import plan_case
from findhold.service.choices import read_choices
from findhold.service.scenario import Scenario, load_scenario
from findhold.service.scenario_case import case_of_scenario
from findhold.service.wire import plain
from findhold.tables.load import table
from findhold.tables.soils import find_soil

_HANDLING = ("handles", "gloves", "lifts_per_min", "hours", "people", "guideline")


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftAnswer:
    """The plan of a lift with its short lines, the round it is part of (None for one box), and its public shape."""

    title: str
    plan: LiftPlan
    lines: tuple[str, ...]
    shape: dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftRequest:
    """Finds of a ledger to lift, with what a person adds: `given` holds keys of a scenario's [lift]."""

    finds: tuple[str, ...] = ()
    site: str | None = None
    given: dict[str, Any]
    round_min: float | None = None
    """Minutes in which all the boxes are put away in one round; None asks for no round [min]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lifted:
    """Every find of a request: planned lifts, those that could not be with the reason, and the round (or None)."""

    site: str
    answers: tuple[LiftAnswer, ...]
    refused: tuple[tuple[str, FindholdError], ...]
    round: dict[str, Any] | None


def lift_scenario(path: Path) -> LiftAnswer:
    """The plan of the lift that a scenario file describes.

    Raises
    ------
    BadInput, Mistakes, UnknownName : the file cannot be understood, or a figure cannot be.
    """
    scenario = load_scenario(path)
    given, defaults = scenario.lift, read_choices().lift
    case = case_of_scenario(scenario)
    block, said = block_of(case.plan, given)
    weighed = case if case.plan.mass_kg is not None else _with_mass(case, block, defaults)
    plan = plan_case(weighed)
    surroundings = _surroundings(scenario)
    inputs = lift_inputs(case.title, block, plan, {**surroundings, **given}, defaults)
    inputs = replace(inputs, assumed=(*said, *inputs.assumed))
    planned = plan_lift(inputs)
    return _answer(planned, _scenario_round(planned, given, inputs.people))


def lift_finds(office: Any, request: LiftRequest) -> Lifted:
    """Plan the lift of finds of the ledger, each in the box planned for it; one without a box is lifted as a block.

    Nothing is recorded: a lift is planned again whenever it is asked for.

    Raises
    ------
    BadInput : a find asked for alone cannot be planned; of several, those that cannot are listed with their reason.
    """
    from findhold.service.finder import find_thing
    from findhold.service.ledger_case import shelves

    site = office.site(request.site)
    choices = read_choices()
    shelf = shelves(office, site, choices)
    holds = {hold.facts["find"]: hold for hold in office.ledger.states("hold", site.number)}
    numbers = request.finds or tuple(holds)
    if not numbers:
        raise BadInput("no box is planned yet", where=f"site {site.number}", do="Run: findhold plan --all")
    done: list[LiftAnswer] = []
    refused: list[tuple[str, FindholdError]] = []
    for number in numbers:
        try:
            find = find_thing(office, number, site)
            done.append(_answer(_lift_of_find(find, shelf, holds.get(find.number), request.given, choices.lift), None))
        except FindholdError as error:
            if len(numbers) == 1:
                raise
            refused.append((number, error))
    minutes = request.round_min
    shared = None if minutes is None else _ledger_round(done, minutes, request.given.get("people"), choices.lift)
    return Lifted(site=site.number, answers=tuple(done), refused=tuple(refused), round=shared)


def lift_of_plan(plan: Plan, case_plan: PlanInputs, given: dict[str, Any] | None = None) -> LiftPlan:
    """The lift of a find that is already planned, for the packing sheet.

    Raises
    ------
    BadInput, Mistakes : a figure cannot be.
    """
    given, defaults = given or {}, read_choices().lift
    block, said = block_of(case_plan, given)
    inputs = lift_inputs(plan.find, block, plan, {**_place(case_plan), **given}, defaults)
    return plan_lift(replace(inputs, assumed=(*said, *inputs.assumed)))


def block_of(plan: PlanInputs, given: dict[str, Any]) -> tuple[Block, tuple[str, ...]]:
    """The block of a request for a plan, and what was taken for it.

    Raises
    ------
    BadInput : its sizes are not known. UnknownName : no such soil.
    """
    if plan.block_mm is None:
        raise BadInput("its sizes are not known", where=plan.find, do="Measure length, width and height")
    density = None if plan.soil is None else _density(plan.soil, plan.state, plan)
    cog = given.get("cog_mm") or plan.cog_mm
    block = Block(
        size_mm=plan.block_mm,
        mass_kg=plan.mass_kg,
        volume_l=given.get("volume_l"),
        cog_mm=None if cog is None else (cog[0], cog[1], cog[2]),
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
    return block, ()


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


def _with_mass(case: Any, block: Block, defaults: LiftDefaults) -> Any:
    """The case with the mass told from the soil, so that a box can be planned before anything is weighed."""
    spread, _, _ = block_mass(block, LiftInputs(title=case.title, block=block, box=None, legs=(), defaults=defaults))
    return replace(case, plan=replace(case.plan, mass_kg=spread.best))


def _surroundings(scenario: Scenario) -> dict[str, Any]:
    return {key: scenario.surroundings[key] for key in ("temp_c", "rh") if key in scenario.surroundings}


def _place(plan: PlanInputs) -> dict[str, Any]:
    found = {"temp_c": plan.place_temp_c, "rh": plan.place_rh, "shelf_name": plan.place}
    return {key: value for key, value in found.items() if value is not None}


def _lift_of_find(find: Any, shelf: Any, hold: Any, given: dict[str, Any], defaults: LiftDefaults) -> LiftPlan:
    """The lift of one find: in its planned box, or as a bare block when none is planned."""
    from findhold.service.holds import case_of_hold

    where = f"find {find.number}"
    if hold is not None:
        case, plan = case_of_hold(find, shelf, hold)
        block, said = block_of(case.plan, given)
        store = shelf.stores.get(find.facts.get("store") or case.plan.place, {})
        known = {**_place(case.plan), **_shelf_of_store(store, given)}
        inputs = lift_inputs(where, block, plan, {**known, **given}, defaults)
        return plan_lift(replace(inputs, assumed=(*said, *inputs.assumed)))
    facts = find.facts
    lacking = [name for name in ("length_mm", "width_mm", "height_mm") if facts.get(name) is None]
    if lacking:
        raise BadInput(
            f"the register lacks {', '.join(name.replace('_', ' ') for name in lacking)}",
            where=where,
            do="Enter it in the register and import the file again",
        )
    size: Size = (facts["length_mm"], facts["width_mm"], facts["height_mm"])
    bare = PlanInputs(
        find=where,
        material=facts.get("material") or "soil block",
        state=facts.get("state") or "damp",
        block_mm=size,
        mass_kg=facts.get("mass_kg"),
        soil=facts.get("soil"),
        cog_mm=facts.get("cog_mm"),
    )
    measured = {} if facts.get("volume_l") is None else {"volume_l": facts["volume_l"]}
    block, said = block_of(bare, {**measured, **given})
    inputs = lift_inputs(where, block, None, given, defaults)
    return plan_lift(replace(inputs, assumed=(*said, *inputs.assumed)))


def _shelf_of_store(store: dict[str, Any], given: dict[str, Any]) -> dict[str, Any]:
    """What the register knows of a store as a shelf: its rated load."""
    return (
        {} if store.get("max_load_kg") is None or "shelf_load_kg" in given else {"shelf_load_kg": store["max_load_kg"]}
    )


def _scenario_round(planned: LiftPlan, given: dict[str, Any], people: int) -> dict[str, Any] | None:
    """Several boxes like this one in one round; None when none are asked for."""
    count, minutes = given.get("boxes"), given.get("round_min")
    if count is None and minutes is None:
        return None
    if count is None or minutes is None:
        raise BadInput("a round takes both boxes and round_min", where="[lift]", do="Give both, or neither")
    last = planned.legs[-1]
    named = [(f"box {number + 1}", last) for number in range(int(count))]
    return _round_shape(round_of(named, float(minutes), people), named)


def _ledger_round(
    done: Sequence[LiftAnswer], minutes: float, people: int | None, defaults: LiftDefaults
) -> dict[str, Any] | None:
    """All boxes of a request in one round; None when there is none."""
    named = [(one.title, one.plan.legs[-1]) for one in done if one.plan.legs[-1].leg.load == "box"]
    if not named:
        return None
    return _round_shape(round_of(named, minutes, people or defaults.people), named)


def _round_shape(found: Round, named: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    return {
        "boxes": len(named),
        "minutes": found.minutes,
        "people": found.people,
        "composite": [{"people": people, **plain(one)} for people, one in found.composite],
    }


def _answer(planned: LiftPlan, shared: dict[str, Any] | None) -> LiftAnswer:
    lines = lift_lines(planned)
    shape = {
        **plain(planned),
        "lines": list(lines),
        "centre_words": centre_words(planned.box_centre or planned.block_centre),
        "round": shared,
        "sources": [cited(key) for key in planned.sources],
        "marks": sorted({row["seen"] for name in _TABLES for row in table(name).rows}),
    }
    return LiftAnswer(title=planned.title, plan=planned, lines=lines, shape=shape)


_TABLES = ("niosh_constants", "lifting_filter", "team_factors", "body_heights", "lifting_boards", "lift_defaults")
