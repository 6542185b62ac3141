"""Plan the box: which box, which way round, what under, round and over it, how wet, and what stands in the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from findhold.errors import Question
from findhold.pack.asked import Asked, read_request
from findhold.pack.bed import Clearance, Contents, Layer, Need, block_hatch, contents, layers, need_for
from findhold.pack.block import Block, read_block
from findhold.pack.choose import TURN_WORDS, Choice, Rejected, choose_box, what_to_make
from findhold.pack.contact import Conflict, conflicts, override_questions, unknown_pairs, wall_conflicts
from findhold.pack.damp import DoseBand, SheetDose, move_words, sheet_dose, water_to_block_g
from findhold.pack.inputs import PlanInputs, Spread, StockBox
from findhold.pack.steps import (
    Caution,
    Control,
    Laid,
    Step,
    cautions_for,
    controls_for,
    mass_warnings,
    steps_for,
)
from findhold.sources import source

_THIN_WALL_MM = 1.2
"""Wall taken for a box still to be made when the stock list is empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A plan for one find. Masses and layers of a plan without a box are None or empty."""

    find: str
    material: str
    state: str
    box: StockBox | None
    turn: str
    turn_deg: int
    clearance_mm: Clearance | None
    block_mm: tuple[float, float, float]
    block_hatch: str
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
    make: str | None
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
    choice = choose_box(inputs.stock, need, parts.load_kg, refused, inputs.fridge_inside_mm)
    found = conflicts(asked, dose)
    if choice.index is not None:
        found += walls[inputs.stock[choice.index].wall]
    if choice.index is None:
        parts = contents(asked, dose, need.inside_mm)
    return _write_down(_Worked(asked=asked, block=block, dose=dose, need=need, parts=parts, choice=choice, found=found))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Worked:
    """All parts of a plan, worked out."""

    asked: Asked
    block: Block
    dose: SheetDose
    need: Need
    parts: Contents
    choice: Choice
    found: tuple[Conflict, ...]

    @property
    def box(self) -> StockBox | None:
        return None if self.choice.index is None else self.asked.inputs.stock[self.choice.index]

    @property
    def sheets(self) -> int:
        return int(self.parts.sheets[self.choice.index or 0])

    @property
    def load_kg(self) -> float:
        return float(self.parts.load_kg[self.choice.index or 0])

    @property
    def gross_kg(self) -> float | None:
        return None if self.box is None else self.load_kg + self.box.tare_kg

    @property
    def moved_g(self) -> float | None:
        return water_to_block_g(self.asked, self.block, self.dose, self.sheets)


def _write_down(worked: _Worked) -> Plan:
    asked = worked.asked
    return Plan(
        find=asked.inputs.find,
        material=asked.material.name,
        state=asked.inputs.state,
        **_box_part(worked),
        **_block_part(worked),
        **_dose_part(worked),
        layers=() if worked.box is None else layers(asked, worked.dose, worked.need, worked.sheets),
        conflicts=worked.found,
        questions=_questions(worked),
        warnings=_warnings(worked),
        stopped=worked.box is None or any(conflict.stops for conflict in worked.found),
        controls=controls_for(asked, worked.dose),
        cautions=cautions_for(asked, worked.gross_kg or worked.load_kg),
        steps=_steps(worked),
        assumptions=_assumptions(worked),
        sources=_sources(worked),
    )


def _box_part(worked: _Worked) -> dict[str, Any]:
    """What the plan says of the box."""
    choice, stock = worked.choice, worked.asked.inputs.stock
    return {
        "box": worked.box,
        "turn": "" if worked.box is None else TURN_WORDS[choice.turn_deg],
        "turn_deg": choice.turn_deg,
        "clearance_mm": choice.clearance,
        "gross_mass_kg": worked.gross_kg,
        "load_kg": worked.load_kg,
        "rejected": choice.rejected,
        "also_fit": tuple(stock[i].name for i in choice.also_fit),
        "runner_up": None if choice.runner_up is None else stock[choice.runner_up].name,
        "binding": choice.binding,
        "make": _make(worked),
    }


def _block_part(worked: _Worked) -> dict[str, Any]:
    """What the plan says of the block and its soil."""
    asked, block = worked.asked, worked.block
    return {
        "block_mm": asked.block_mm,
        "block_hatch": block_hatch(asked),
        "soil": None if asked.soil is None else asked.soil.name,
        "bulk_density_kg_per_m3": block.density_kg_per_m3,
        "soil_density_kg_per_m3": block.could_be_kg_per_m3,
        "soil_dry_density_kg_per_m3": block.dry_density_kg_per_m3,
        "soil_theta": block.theta,
        "soil_water_kg": block.water_kg,
        "block_dry_kg": block.dry_mass_kg,
    }


def _dose_part(worked: _Worked) -> dict[str, Any]:
    """What the plan says of the wrapping and its water."""
    asked, dose, sheets = worked.asked, worked.dose, worked.sheets
    bagged = dose.way in ("bag", "submerged") and not sheets
    wrap = asked.bag if bagged and asked.bag is not None else asked.wrapping
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


def _questions(worked: _Worked) -> tuple[Question, ...]:
    walls = [c for wall in worked.asked.walls for c in wall_conflicts(worked.asked, wall)]
    spare = override_questions(worked.asked, [*worked.found, *walls])
    return (*worked.block.questions, *worked.dose.questions, *spare)


def _warnings(worked: _Worked) -> tuple[str, ...]:
    stated = worked.asked.inputs.water_g_per_g is not None
    heavy = mass_warnings(worked.asked, worked.gross_kg or worked.load_kg)
    return (*worked.dose.warnings, *move_words(worked.moved_g, worked.dose, stated), *heavy)


def _make(worked: _Worked) -> str | None:
    """What to make or buy when no box in stock will do."""
    if worked.choice.index is not None:
        return None
    inputs = worked.asked.inputs
    wall_mm = min((box.wall_mm for box in inputs.stock), default=_THIN_WALL_MM)
    return what_to_make(worked.need, worked.load_kg, wall_mm, inputs.fridge_inside_mm)


def _steps(worked: _Worked) -> tuple[Step, ...]:
    choice = worked.choice
    if worked.box is None or choice.clearance is None or worked.gross_kg is None:
        return ()
    laid = Laid(
        box=worked.box.name,
        turn_words=TURN_WORDS[choice.turn_deg],
        clearance=choice.clearance,
        sheets=worked.sheets,
        gross_mass_kg=worked.gross_kg,
    )
    return steps_for(worked.asked, worked.dose, laid, worked.found)


def _assumptions(worked: _Worked) -> tuple[str, ...]:
    asked, defaults, sheets = worked.asked, worked.asked.inputs.defaults, worked.sheets
    said = []
    if asked.material.taken_for is not None:
        said.append(f"'{asked.material.taken_for}' is taken for {asked.material.name}, the more sensitive.")
    if asked.inputs.sheets is None and sheets:
        said.append(
            f"Sheets were not stated: {sheets} sheets of {defaults.sheet_l_mm:g} x {defaults.sheet_w_mm:g} mm give "
            f"{defaults.wrap_layers} layers round the block, {defaults.bed_layers} on the bed and "
            f"{defaults.top_layers} on top."
        )
    if worked.dose.way in ("bag", "submerged") and not sheets:
        said.append(f"No {asked.wrapping.name} touches a waterlogged find: it lies in its bag.")
    if asked.barrier is not None and worked.dose.way == "sheets":
        said.append("Through the barrier tissue and soil share vapour only, so the dose holds but works slowly.")
    least = worked.need
    said.append(
        f"Clearances from the bare block, wrapping inside them: sides at least {least.side_mm:g} mm, bed "
        f"{least.bed_mm:g} mm, lid gap at least {least.lid_gap_mm:g} mm."
    )
    said.append(f"Foam is taken at {defaults.foam_density_kg_per_m3:g} kg/m³.")
    if worked.box is not None and worked.box.max_load_kg is None:
        said.append(f"{worked.box.name} has no rated load: not checked.")
    return (*worked.block.assumptions, *worked.dose.assumptions, *said, *unknown_pairs(asked, worked.dose))


def _sources(worked: _Worked) -> tuple[str, ...]:
    """Citations the plan rests on, in the order they come up."""
    keys = [
        *worked.block.sources,
        *worked.dose.sources,
        worked.asked.material.source,
        "pe-foam-densities",
        "findhold-judgement",
    ]
    cited = [source(key).citation() for key in keys]
    return tuple(dict.fromkeys([*cited, *(conflict.source for conflict in worked.found)]))
