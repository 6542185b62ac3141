"""A case: everything a plan and a forecast are made from, whether it came from a scenario file or from the ledger."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from findhold.check.rounds import Check, check_dates
from findhold.cushion.bearing import Standing
from findhold.cushion.plan import YES, CushionPlan
from findhold.cushion.said import verdict_line
from findhold.dates.closures import Closure
from findhold.errors import BadInput
from findhold.keep.forecast import Forecast, forecast
from findhold.keep.inputs import Climate, HoldInputs, Policy
from findhold.keep.options import Option, options
from findhold.lift.measured.block import MeasuredBlock
from findhold.pack.inputs import PlanInputs, StockBox
from findhold.pack.plan import Plan, plan_box
from findhold.physics.heat import cushion_m
from findhold.service.choices import read_choices
from findhold.service.packing.lift_request import with_people
from findhold.tables.materials import find_material

LOOK_AHEAD_DAYS = 28


@dataclass(frozen=True, slots=True, kw_only=True)
class TaughtLid:
    """A lid as weighing taught it: air changes a day, and factors about them at evenly spaced shares of probability."""

    air_changes_per_day: float
    spread: tuple[float, ...]
    lost_kg: float = 0.0
    """Water that left in steps, not through the lid as it was learned, the last of them at `lost_at`."""
    lost_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One find to be packed and kept.

    `zone` is the clock that dates are told in; `assumed` are the things taken without being stated, in words.
    """

    title: str
    plan: PlanInputs
    climate: Climate | None
    exposed_at: datetime | None
    packed_at: datetime | None
    open_at: datetime | None
    find_temp_c: float
    zone: str
    box: StockBox | None = None
    """A box that is used whatever the stock offers; None lets the plan choose."""
    closures: tuple[Closure, ...] = ()
    policy: Policy = field(default_factory=Policy)
    deadlines: tuple[tuple[str, datetime], ...] = ()
    """Dates set by law, licence or booking, by name; they end a hold like any other limit."""
    assumed: tuple[str, ...] = ()
    closure: str = "lid"
    """How the find is closed in, by a name of the closures' table."""
    openings: tuple[datetime, ...] = ()
    """When the box is opened before its time; a check alone does not open it."""
    lid: TaughtLid | None = None
    """None: the box's lid as stated, or the prior."""
    standing: Standing | None = None
    """How the block stands on its bed; None where its sizes or mass are not known."""
    cushion: CushionPlan | None = None
    """A cushion against a drop, where one was asked for; what it wants on the faces stands in `plan`."""
    stores: tuple[tuple[str, float], ...] = ()
    """The unit's stores with their set-points [°C], one of which may be a colder place."""
    lift: Mapping[str, Any] = field(default_factory=dict)
    """What is stated of its lift, keys of a scenario's [lift]."""
    measured: MeasuredBlock | None = None
    """The block as measured from a scan just now; what it left open is asked with the plan."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A forecast with the plan it rests on, the checks it sets out, and the ways out when it cannot be kept."""

    plan: Plan
    forecast: Forecast
    checks: tuple[Check, ...]
    options: tuple[Option, ...]
    assumed: tuple[str, ...]


def plan_case(case: Case) -> Plan:
    """The plan of a case; a box given outright is the only one in stock."""
    asked = case.plan if case.box is None else replace(case.plan, stock=(case.box,), wanted_box=None)
    plan = with_people(plan_box(asked), asked, dict(case.lift), read_choices().lift)
    if case.cushion is not None and case.cushion.keeps != YES:
        plan = replace(plan, warnings=(verdict_line(case.cushion), *plan.warnings))
    if case.measured is None:
        return plan
    known = {question.about for question in plan.questions}
    more = tuple(question for question in case.measured.questions if question.about not in known)
    said = (*case.measured.remarks, *plan.assumptions)
    return replace(plan, questions=(*more, *plan.questions), assumptions=said)


def keep_case(case: Case, plan: Plan, *, members: int, seed: int, all_options: bool | None = False) -> Kept:
    """The forecast of a planned case, with the ways out when the opening cannot be kept; True: always, None: never.

    Raises
    ------
    BadInput : there is no box, no place, no date of packing or exposure, or they contradict each other.
    """
    inputs, checks = hold_inputs(case, plan)
    result = forecast(inputs, members=members, seed=seed)
    asked = all_options is not None and (all_options or not result.can_keep)
    ways = options(inputs, members=members, seed=seed, stores=case.stores) if asked else ()
    return Kept(plan=plan, forecast=result, checks=checks, options=ways, assumed=case.assumed)


def hold_inputs(case: Case, plan: Plan) -> tuple[HoldInputs, tuple[Check, ...]]:
    """What the forecast is asked from, and the checks its mass bands are for."""
    box = _box(case, plan)
    climate = _needed(case.climate, "surroundings", case.title, "Give the store's temperature or a logger file")
    exposed_at = _needed(case.exposed_at, "exposed_at", case.title, "Enter when the find was first uncovered")
    packed_at = _needed(case.packed_at, "packed_at", case.title, "Enter when the lid was closed")
    checks = _checks(case, packed_at)
    damp = plan.kept != "dry"
    water_kg = plan.soil_water_kg.best if plan.soil_water_kg is not None and damp else 0.0
    packed_kg = plan.gross_mass_kg or (plan.load_kg or 0.0) + box.tare_kg
    inputs = HoldInputs(
        find_class=find_material(plan.material).growth_class,
        wrapping_class=plan.wrapping_growth_class if plan.sheets and damp else None,
        state=plan.kept,
        block_m=_metres(plan.block_mm),
        block_mass_kg=case.plan.mass_kg or 0.0,
        block_water_kg=water_kg,
        wrapping_dry_kg=plan.sheets * plan.sheet_dry_g / 1000.0,
        wrapping_water_kg=plan.dose_g / 1000.0 if damp else 0.0,
        cushion_m=_cushion(plan, box),
        box_inside_m=_metres(box.inside_mm),
        wall=box.wall,
        wall_m=box.wall_mm / 1000.0,
        lid_air_changes_per_day=case.lid.air_changes_per_day if case.lid else box.lid_air_changes_per_day,
        lid_spread=case.lid.spread if case.lid else None,
        climate=climate,
        exposed_at=exposed_at,
        packed_at=packed_at,
        open_at=case.open_at,
        find_temp_c=case.find_temp_c,
        gross_mass_kg=packed_kg,
        gross_spread_kg=plan.gross_spread_kg,
        check_at=tuple(check.at for check in checks),
        submerged=plan.dose_way == "submerged",
        paperwork=(*_first_aid(case, plan, exposed_at), *case.deadlines),
        policy=case.policy,
    )
    shut = replace(inputs, closure=case.closure, openings=case.openings, absorbent_g=plan.lid_takes_g)
    if case.lid is not None and case.lid.lost_kg > 0.0 and damp:
        shut = replace(shut, lost_kg=min(case.lid.lost_kg, inputs.water_kg), lost_at=case.lid.lost_at)
    return shut, checks


def _box(case: Case, plan: Plan) -> StockBox:
    box = case.box or plan.box
    if box is None:
        do = plan.make or plan.no_box or "Enter boxes in stock, or give [box] sizes"
        raise BadInput("there is no box to forecast", where=case.title, do=do)
    return box


def _first_aid(case: Case, plan: Plan, exposed_at: datetime) -> tuple[tuple[str, datetime], ...]:
    """The material's own longest hold as a date, where it is shorter than the unit's policy."""
    limit = plan.hold_limit
    if limit is None or limit.days >= case.policy.policy_days:
        return ()
    return ((limit.name, exposed_at + timedelta(days=limit.days)),)


def _checks(case: Case, packed_at: datetime) -> tuple[Check, ...]:
    until = case.open_at or packed_at + timedelta(days=LOOK_AHEAD_DAYS)
    if until <= packed_at:
        raise BadInput(
            f"the opening {until.isoformat(timespec='minutes')} is not after the packing",
            where=case.title,
            limit=f"after {packed_at.isoformat(timespec='minutes')}",
            do="Mend the planned opening (open_at) or the packing time (packed_at)",
        )
    return check_dates(packed_at=packed_at, until=until, zone=case.zone, closed=case.closures)


def _cushion(plan: Plan, box: StockBox) -> float:
    if plan.clearance_mm is not None and plan.laid_mm is not None:
        gap, sizes = plan.clearance_mm, plan.laid_mm
        return cushion_m(
            _metres(sizes),
            side_l_m=gap.side_l / 1000.0,
            side_w_m=gap.side_w / 1000.0,
            bed_m=gap.bed / 1000.0,
            lid_gap_m=gap.lid_gap / 1000.0,
        )
    # The box does not meet the wanted clearances: what space there is, shared out evenly.
    space = [max(0.0, (inside - block) / 2000.0) for inside, block in zip(box.inside_mm, plan.block_mm, strict=True)]
    return cushion_m(_metres(plan.block_mm), side_l_m=space[0], side_w_m=space[1], bed_m=space[2], lid_gap_m=space[2])


def _metres(sizes_mm: tuple[float, float, float]) -> tuple[float, float, float]:
    length, width, height = sizes_mm
    return (length / 1000.0, width / 1000.0, height / 1000.0)


def _needed(value: Any, name: str, where: str, do: str) -> Any:
    if value is None:
        raise BadInput(f"{name} is not known", where=where, do=do)
    return value
