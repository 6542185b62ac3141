"""Lifting: how many hands a block and its packed box take, from a scenario file or from the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from findhold.errors import BadInput, FindholdError
from findhold.lift.carry import block_mass
from findhold.lift.inputs import Block, LiftDefaults, LiftInputs, Size
from findhold.lift.plan import LiftPlan, centre_words, lift_lines, plan_lift
from findhold.lift.way import Round, round_of
from findhold.pack.inputs import PlanInputs
from findhold.pack.plan import Plan
from findhold.service.answers import cited
from findhold.service.case import Case, plan_case
from findhold.service.choices import read_choices
from findhold.service.packing.lift_request import block_of, lift_inputs, place_keys
from findhold.service.scenario import Scenario, load_scenario
from findhold.service.scenario_case import case_of_scenario, measured_fields
from findhold.service.wire import plain
from findhold.tables.load import table

if TYPE_CHECKING:
    from findhold.service.ledger_case import Shelves
    from findhold.service.office import Office
    from findhold.store.ledger import Thing


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
    foot_mm = scenario.find.get("ring_foot_mm")
    block = block_of(case.plan, given, ring_foot_mm=foot_mm)
    weighed = case if case.plan.mass_kg is not None else _with_mass(case, block, defaults)
    plan = plan_case(weighed)
    surroundings = _surroundings(scenario)
    inputs = lift_inputs(case.title, block, plan, {**surroundings, **given}, defaults)
    planned = plan_lift(inputs)
    return _answer(planned, _scenario_round(planned, given, inputs.people))


def lift_finds(office: Office, request: LiftRequest) -> Lifted:
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
    block = block_of(case_plan, given)
    inputs = lift_inputs(plan.find, block, plan, {**place_keys(case_plan), **given}, defaults)
    return plan_lift(inputs)


def _with_mass(case: Case, block: Block, defaults: LiftDefaults) -> Case:
    """The case with the mass told from the soil, so that a box can be planned before anything is weighed."""
    spread, _, _ = block_mass(block, LiftInputs(title=case.title, block=block, box=None, legs=(), defaults=defaults))
    return replace(case, plan=replace(case.plan, mass_kg=spread.best))


def _surroundings(scenario: Scenario) -> dict[str, Any]:
    return {key: scenario.surroundings[key] for key in ("temp_c", "rh") if key in scenario.surroundings}


def _lift_of_find(
    find: Thing, shelf: Shelves, hold: Thing | None, given: dict[str, Any], defaults: LiftDefaults
) -> LiftPlan:
    """The lift of one find: in its planned box, or as a bare block when none is planned."""
    from findhold.service.holds import case_of_hold

    where = f"find {find.number}"
    if hold is not None:
        case, plan = case_of_hold(find, shelf, hold)
        block = block_of(case.plan, given)
        store = shelf.stores.get(find.facts.get("store") or case.plan.place or "", {})
        known = {**place_keys(case.plan), **_shelf_of_store(store, given)}
        inputs = lift_inputs(where, block, plan, {**known, **given}, defaults)
        return plan_lift(inputs)
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
        **measured_fields(facts),
    )
    measured = {} if facts.get("volume_l") is None else {"volume_l": facts["volume_l"]}
    block = block_of(bare, {**measured, **given})
    inputs = lift_inputs(where, block, None, given, defaults)
    return plan_lift(inputs)


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
