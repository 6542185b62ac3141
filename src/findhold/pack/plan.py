"""Plan the box: which box, which way round, what under, round and over it, how wet, and what stands in the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from findhold.errors import Question
from findhold.pack.asked import read_request
from findhold.pack.bed import Clearance, Layer, block_hatch, contents, layers, need_for
from findhold.pack.block import read_block
from findhold.pack.choose import TURN_WORDS, Bounds, Rejected, choose_box
from findhold.pack.contact import Conflict, conflicts, wall_conflicts
from findhold.pack.damp import DoseBand, bag_touches, sheet_dose
from findhold.pack.inputs import MEASURED, CushionNeed, Outline, PlanInputs, Size, Spread, State, StockBox
from findhold.pack.kept import HoldLimit, hold_limit, plain_flags
from findhold.pack.said import Worked, assumptions, make, no_box, questions, sources, warnings
from findhold.pack.steps import Caution, Control, Laid, Step, cautions_for, controls_for, steps_for


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A plan for one find. Masses and layers of a plan without a box are None or empty."""

    find: str
    material: str
    state: str
    """As found."""
    kept: State
    """The state it is to be kept in: as found, but loose damp metal is kept dry."""
    kept_why: str
    flags: tuple[str, ...]
    """Flags of the find and of its material, in plain words."""
    hold_limit: HoldLimit | None
    """First aid of its kind in days from exposure; None where no limit is known."""
    box: StockBox | None
    box_called: str
    """The box in a sentence ("box B4", "the box given"); empty when there is none."""
    turn: str
    turn_deg: int
    clearance_mm: Clearance | None
    block_mm: tuple[float, float, float]
    block_hatch: str
    profile_mm: tuple[Size, ...]
    plan_outline_mm: Outline
    side_outline_mm: Outline
    end_outline_mm: Outline
    cog_mm: Size | None
    cushion: CushionNeed | None
    sheets: int
    sheet_dry_g: float
    dose_way: str
    """none, sheets, bag or submerged."""
    dose_g_per_sheet: float
    dose_g: float
    """All water added: to the sheets, or into the bag."""
    dose_band: DoseBand
    water_to_block_g: float | None
    """Water that will move from tissue to block [g]; None when it cannot be told."""
    humidity_rh: float | None
    """Humidity that soil and tissue share [fraction]."""
    gross_mass_kg: float | None
    load_kg: float | None
    bed_kg: float
    """Foam, board, bag, barrier and silica gel [kg]: gross mass is empty box, bed, block, sheets and water."""
    silica_gel_g: float
    wrapping: str
    wrapping_growth_class: str
    wrapping_mm: float
    barrier: str | None
    layers: tuple[Layer, ...]
    conflicts: tuple[Conflict, ...]
    rejected: tuple[Rejected, ...]
    also_fit: tuple[str, ...]
    questions: tuple[Question, ...]
    warnings: tuple[str, ...]
    runner_up: str | None
    binding: str
    no_box: str | None
    """Why there is no box and what to do, in sentences; None when there is one."""
    make: str | None
    """What to make or buy when no box in the stock list would do; None when one only is not free."""
    stopped: bool
    soil: str | None
    bulk_density_kg_per_m3: float
    soil_density_kg_per_m3: tuple[float, float] | None
    soil_dry_density_kg_per_m3: float | None
    soil_theta: Spread | None
    soil_water_kg: Spread | None
    block_dry_kg: float | None
    controls: tuple[Control, ...]
    cautions: tuple[Caution, ...]
    steps: tuple[Step, ...]
    assumptions: tuple[str, ...]
    sources: tuple[str, ...]


def plan_box(inputs: PlanInputs) -> Plan:
    """Plan box, bed, dose and order of work for one find.

    Not for cushioning against drops, nor for how long the find may stay: the keep room tells that.

    Parameters
    ----------
    inputs : what is known of the find, the block, the stock and the wrapping.

    Returns
    -------
    Plan; `stopped` is True when a forbidden pair is not overridden or no box will do, and then the plan is for
    reading, not for packing.

    Raises
    ------
    BadInput, Mistakes : sizes, masses or stock that cannot be. UnknownName : a name not in the tables.

    Source: tables named in findhold.pack; docs/models/dose.md and fit.md.
    """
    asked = read_request(inputs)
    block = read_block(asked)
    dose = sheet_dose(asked, block)
    need = need_for(asked, dose)
    walls = {wall: wall_conflicts(asked, wall) for wall in asked.walls}
    refused = {wall: found[0].text for wall, found in walls.items() if found and found[0].stops}
    inside = np.array([box.inside_mm for box in inputs.stock] or [need.inside_mm], dtype=np.float64)
    parts = contents(asked, dose, inside)
    bounds = Bounds(refused=refused, fridge_mm=inputs.fridge_inside_mm, wanted=inputs.wanted_box)
    choice = choose_box(inputs.stock, need, parts.load_kg, bounds)
    found = conflicts(asked, dose)
    if choice.index is not None:
        found += walls[inputs.stock[choice.index].wall]
    if choice.index is None:
        parts = contents(asked, dose, need.inside_mm)
    return _write_down(Worked(asked=asked, block=block, dose=dose, need=need, parts=parts, choice=choice, found=found))


def _write_down(worked: Worked) -> Plan:
    asked = worked.asked
    return Plan(
        find=asked.inputs.find,
        material=asked.material.name,
        state=asked.inputs.state,
        kept=asked.kept,
        kept_why=asked.keeping.why,
        flags=plain_flags(asked.inputs, asked.material),
        hold_limit=hold_limit(asked.inputs, asked.material),
        **_box_part(worked),
        **_block_part(worked),
        **_dose_part(worked),
        layers=() if worked.box is None else layers(asked, worked.dose, worked.need, worked.sheets),
        conflicts=worked.found,
        questions=questions(worked),
        warnings=warnings(worked),
        stopped=worked.box is None or any(conflict.stops for conflict in worked.found),
        controls=controls_for(asked, worked.dose),
        cautions=cautions_for(asked, worked.gross_kg or worked.load_kg),
        steps=_steps(worked),
        assumptions=assumptions(worked),
        sources=sources(worked),
    )


def _box_part(worked: Worked) -> dict[str, Any]:
    """What the plan says of the box."""
    choice, stock = worked.choice, worked.asked.inputs.stock
    return {
        "box": worked.box,
        "box_called": "" if worked.box is None else worked.box.called,
        "turn": "" if worked.box is None else TURN_WORDS[choice.turn_deg],
        "turn_deg": choice.turn_deg,
        "clearance_mm": choice.clearance,
        "gross_mass_kg": worked.gross_kg,
        "load_kg": worked.load_kg,
        "bed_kg": worked.bed_kg,
        "silica_gel_g": worked.gel_g,
        "rejected": choice.rejected,
        "also_fit": tuple(stock[i].name for i in choice.also_fit),
        "runner_up": None if choice.runner_up is None else stock[choice.runner_up].name,
        "binding": choice.binding,
        "no_box": no_box(worked),
        "make": make(worked),
    }


def _block_part(worked: Worked) -> dict[str, Any]:
    """What the plan says of the block and its soil."""
    asked, block = worked.asked, worked.block
    return {
        "block_mm": asked.block_mm,
        "block_hatch": block_hatch(asked),
        **{name: getattr(asked.inputs, name) for name in MEASURED},
        "cushion": asked.inputs.cushion,
        "soil": None if asked.soil is None else asked.soil.name,
        "bulk_density_kg_per_m3": block.density_kg_per_m3,
        "soil_density_kg_per_m3": block.could_be_kg_per_m3,
        "soil_dry_density_kg_per_m3": block.dry_density_kg_per_m3,
        "soil_theta": block.theta,
        "soil_water_kg": block.water_kg,
        "block_dry_kg": block.dry_mass_kg,
    }


def _dose_part(worked: Worked) -> dict[str, Any]:
    """What the plan says of the wrapping and its water."""
    asked, dose, sheets = worked.asked, worked.dose, worked.sheets
    wrap = asked.bag if asked.bag is not None and bag_touches(asked, dose) else asked.wrapping
    return {
        "sheets": sheets,
        "sheet_dry_g": dose.sheet_dry_g,
        "dose_way": dose.way,
        "dose_g_per_sheet": dose.g_per_sheet if sheets else 0.0,
        "dose_g": sheets * dose.g_per_sheet + dose.bag_water_g,
        "dose_band": dose.band,
        "water_to_block_g": worked.moved_g,
        "humidity_rh": dose.humidity_rh,
        "wrapping": wrap.name,
        "wrapping_growth_class": wrap.growth_class,
        "wrapping_mm": asked.inputs.defaults.wrap_tissue_mm if sheets else 0.0,
        "barrier": None if asked.barrier is None else asked.barrier.name,
    }


def _steps(worked: Worked) -> tuple[Step, ...]:
    choice = worked.choice
    if worked.box is None or choice.clearance is None or worked.gross_kg is None:
        return ()
    laid = Laid(
        box=worked.box.name,
        turn_words=TURN_WORDS[choice.turn_deg],
        clearance=choice.clearance,
        sheets=worked.sheets,
        gel_g=worked.gel_g,
        gross_mass_kg=worked.gross_kg,
    )
    return steps_for(worked.asked, worked.dose, laid, worked.found)
