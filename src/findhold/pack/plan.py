"""Plan the box: which box, which way round, what under, round and over it, how wet, and what stands in the way."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from findhold.errors import Question
from findhold.pack.asked import read_request
from findhold.pack.bed import Layer, as_cut, bed_foam_mm, block_hatch, contents, layers
from findhold.pack.block import read_block
from findhold.pack.care.blanks import BLANK, Control, blanks
from findhold.pack.care.conflict import Conflict
from findhold.pack.care.first_aid import FirstAidLine, first_aid
from findhold.pack.care.order import Order, order_for
from findhold.pack.choose import TIE_RULE, choose_box, least_inside, turn_words, turned_words
from findhold.pack.contact import conflicts, wall_conflicts
from findhold.pack.contour import BedStep, bed_steps
from findhold.pack.cut import FoamCut, Stood, foam_cut
from findhold.pack.damp import DoseBand, bag_touches, sheet_dose, water_to_block_g
from findhold.pack.fill import Filling, TissuePart, lid_takes_g
from findhold.pack.film import with_film
from findhold.pack.inputs import MEASURED, CushionNeed, Outline, Override, PlanInputs, Size, Spread, State, StockBox
from findhold.pack.kept import HoldLimit, hold_limit, plain_flags
from findhold.pack.make import MakeOption, declined, make_options
from findhold.pack.need import Clearance, need_for
from findhold.pack.proof import Bounds, Rejected
from findhold.pack.said import Worked, assumptions, idle, make, no_box, questions, sources, warnings
from findhold.pack.steps import Caution, Laid, Step, cautions_for, steps_for
from findhold.pack.tare import MassPart


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
    turn_deg: float
    """0 or 90 square to the box; any other angle is askew, anticlockwise seen from above."""
    laid_mm: Size | None
    """Extents of the block as it stands: along the box's length, across it, upright; None without a box."""
    clearance_mm: Clearance | None
    block_mm: tuple[float, float, float]
    block_hatch: str
    profile_mm: tuple[Size, ...]
    plan_outline_mm: Outline
    side_outline_mm: Outline
    end_outline_mm: Outline
    cog_mm: Size | None
    """Centre of gravity as measured, else of its profile at one density; None = taken in the middle."""
    cushion: CushionNeed | None
    sheets: int
    sheet_dry_g: float
    dose_way: str
    """none, sheets, bag or submerged."""
    dose_g_per_sheet: float
    dose_g: float
    """All water added: to the sheets, or into the bag."""
    dose_over_g: float
    """By how much a stated dose passes its upper limit [g per sheet]; 0 where it does not."""
    dose_band: DoseBand
    water_to_block_g: float | None
    """Water that will move from tissue to block [g]; None when it cannot be told."""
    humidity_rh: float | None
    """Humidity that soil and tissue share [fraction]."""
    place: str | None
    """Name of the store it was planned into."""
    gross_mass_kg: float | None
    load_kg: float | None
    bed_kg: float
    """Foam, board, bag, barrier and silica gel [kg]: gross mass is empty box, bed, block, sheets and water."""
    masses: tuple[MassPart, ...]
    """Everything the packed box is made up of, adding up to its gross mass; empty without a box."""
    silica_gel_g: float
    wrapping: str
    wrapping_growth_class: str
    wrapping_mm: float
    barrier: str | None
    barrier_why: str
    """Why there is a barrier that nobody asked for; empty for one that was asked for."""
    layers: tuple[Layer, ...]
    tissue: tuple[TissuePart, ...]
    """Sheets, dry mass and water of bed, block, top and lid."""
    lid_takes_g: float
    """Water that the absorbent sheets under the lid take up; 0 without any."""
    bed_steps: tuple[BedStep, ...]
    """Foam steps cut to the block's contour; empty for a prism."""
    foam: FoamCut | None
    """Every piece of foam and board, and the room they leave; None without a box."""
    bag_water_g: Spread | None
    """Water that fills the bag of a submerged find; None where it is measured out."""
    filling: Filling | None
    """Room left in the box; None without a box."""
    conflicts: tuple[Conflict, ...]
    rejected: tuple[Rejected, ...]
    also_fit: tuple[str, ...]
    questions: tuple[Question, ...]
    warnings: tuple[str, ...]
    runner_up: str | None
    tie_rule: str
    would_do: tuple[str, ...]
    """Boxes that would do but are not free, best first."""
    binding: str
    no_box: str | None
    """Why there is no box and what to do, in sentences; None when there is one."""
    make: str | None
    """What to make or buy when no box in the stock list would do; None when one only is not free."""
    make_options: tuple[MakeOption, ...]
    """Boards such a box can be cut from, with pieces, sheets and offcuts, the least wasteful first."""
    make_declined: tuple[str, ...]
    """Boards that it is not offered of, each with the reason."""
    make_inside_mm: Size | None
    """The inside such a box needs at least; None when a box of the list fits or would do."""
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
    first_aid: tuple[FirstAidLine, ...] = ()
    """How to keep it until somebody decides, gravest first."""
    order: Order = field(default_factory=Order)
    """What comes before what on the opening day."""
    idle_overrides: tuple[Override, ...] = ()
    """Overrides that answer nothing in this plan."""

    @property
    def gross_spread_kg(self) -> tuple[float, float]:
        """How much less and how much more it may weigh, packed: a bag is filled until the find is covered [kg]."""
        band = self.bag_water_g
        return (0.0, 0.0) if band is None else ((band.best - band.low) / 1000.0, (band.high - band.best) / 1000.0)

    @property
    def blanks(self) -> tuple[Control, ...]:
        """Those of the controls that are blanks, soil left out."""
        return tuple(control for control in self.controls if control.kind == BLANK)


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
    asked = with_film(read_request(inputs))
    block = read_block(asked)
    dose = sheet_dose(asked, block)
    need = need_for(asked, dose)
    walls = {wall: wall_conflicts(asked, wall) for wall in asked.walls}
    refused = {wall: found[0].text for wall, found in walls.items() if found and found[0].stops}
    inside = np.array([box.inside_mm for box in inputs.stock] or [need.inside_mm], dtype=np.float64)
    parts = contents(asked, dose, need, inside)
    bounds = _bounds(inputs, refused)
    choice = choose_box(inputs.stock, need, parts.load_kg, bounds)
    found = conflicts(asked, dose)
    if choice.index is not None:
        found += walls[inputs.stock[choice.index].wall]
    if choice.index is None:
        parts = contents(asked, dose, need, least_inside(need))
    worked = Worked(
        asked=asked,
        block=block,
        dose=dose,
        need=need,
        parts=parts,
        choice=choice,
        bounds=bounds,
        found=found,
        moved_g=water_to_block_g(asked, block, dose, int(parts.sheets[choice.index or 0])),
    )
    foam = _foam(worked)
    if foam is not None and (asked.cushioned or asked.submerged):
        worked = replace(worked, parts=as_cut(parts, choice.index or 0, foam.pieces, inputs.defaults))
    return _write_down(worked, foam)


def _bounds(inputs: PlanInputs, refused: dict[str, str]) -> Bounds:
    """Walls refused, the place's size and what it may still carry, and the box asked for."""
    rated = inputs.place_max_load_kg
    return Bounds(
        refused=refused,
        place_mm=inputs.fridge_inside_mm,
        place_kind=inputs.place_kind,
        place_clear_mm=inputs.defaults.shelf_clear_mm if inputs.place_kind == "shelf" else 0.0,
        place_left_kg=None if rated is None else rated - inputs.place_carried_kg,
        wanted=inputs.wanted_box,
        unrated_kg=inputs.defaults.mass_aid_kg,
    )


def _write_down(worked: Worked, foam: FoamCut | None) -> Plan:
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
        layers=() if foam is None else layers(asked, worked.dose, worked.need, worked.tissue, foam.packing_mm),
        tissue=worked.tissue,
        lid_takes_g=lid_takes_g(asked),
        bed_steps=bed_steps(asked),
        foam=foam,
        bag_water_g=worked.dose.bag_band_g,
        filling=worked.filling,
        conflicts=worked.found,
        questions=questions(worked),
        idle_overrides=idle(worked),
        warnings=warnings(worked),
        stopped=worked.box is None or any(conflict.stops for conflict in worked.found),
        controls=blanks(asked, worked.dose),
        first_aid=first_aid(asked),
        order=order_for(asked),
        cautions=cautions_for(asked, worked.gross_kg or worked.load_kg),
        steps=_steps(worked, foam),
        assumptions=assumptions(worked),
        sources=sources(worked),
    )


def _box_part(worked: Worked) -> dict[str, Any]:
    """What the plan says of the box."""
    choice, stock = worked.choice, worked.asked.inputs.stock
    return {
        "box": worked.box,
        "box_called": "" if worked.box is None else worked.box.called,
        "turn": "" if worked.box is None else turn_words(choice.turn_deg),
        "turn_deg": choice.turn_deg,
        "laid_mm": choice.laid_mm,
        "clearance_mm": choice.clearance,
        "place": worked.asked.inputs.place,
        "gross_mass_kg": worked.gross_kg,
        "load_kg": worked.load_kg,
        "bed_kg": worked.bed_kg,
        "masses": worked.masses,
        "silica_gel_g": worked.gel_g,
        "rejected": choice.rejected,
        "also_fit": tuple(stock[i].name for i in choice.also_fit),
        "runner_up": None if choice.runner_up is None else stock[choice.runner_up].name,
        "tie_rule": TIE_RULE,
        "would_do": tuple(stock[i].name for i in choice.would_do),
        "binding": choice.binding,
        "no_box": no_box(worked),
        **_make_part(worked),
    }


def _make_part(worked: Worked) -> dict[str, Any]:
    """What to make or buy when no box of the list would do."""
    said, given = make(worked), (worked.asked, worked.need, worked.load_kg)
    return {
        "make": said,
        "make_options": () if said is None else make_options(*given),
        "make_declined": () if said is None else declined(*given),
        "make_inside_mm": None if said is None else least_inside(worked.need),
    }


def _block_part(worked: Worked) -> dict[str, Any]:
    """What the plan says of the block and its soil."""
    asked, block = worked.asked, worked.block
    return {
        "block_mm": asked.block_mm,
        "block_hatch": block_hatch(asked),
        **{name: getattr(asked.inputs, name) for name in MEASURED if name != "cog_mm"},
        "cog_mm": asked.inputs.centre_mm,
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
        "dose_over_g": dose.over_g if sheets else 0.0,
        "dose_band": dose.band,
        "water_to_block_g": worked.moved_g,
        "humidity_rh": dose.humidity_rh,
        "wrapping": wrap.name,
        "wrapping_growth_class": wrap.growth_class,
        "wrapping_mm": asked.inputs.defaults.wrap_tissue_mm if sheets else 0.0,
        "barrier": None if asked.barrier is None else asked.barrier.name,
        "barrier_why": asked.barrier_why,
    }


def _foam(worked: Worked) -> FoamCut | None:
    """The cut list for the box taken."""
    asked, choice, box = worked.asked, worked.choice, worked.box
    if box is None or choice.clearance is None:
        return None
    foam_mm = bed_foam_mm(asked, worked.need, tissue=worked.sheets > 0)
    stood = Stood(inside_mm=box.inside_mm, turn_deg=choice.turn_deg, clearance=choice.clearance, sheets=worked.sheets)
    return foam_cut(asked, foam_mm, stood)


def _steps(worked: Worked, foam: FoamCut | None) -> tuple[Step, ...]:
    choice = worked.choice
    if worked.box is None or choice.clearance is None or worked.gross_kg is None or foam is None:
        return ()
    laid = Laid(
        box=worked.box.name,
        turn_words=turn_words(choice.turn_deg),
        turned=turned_words(worked.need, choice),
        clearance=choice.clearance,
        parts=worked.tissue,
        gel_g=worked.gel_g,
        gross_mass_kg=worked.gross_kg,
        foam=foam,
    )
    return steps_for(worked.asked, worked.dose, laid, worked.found)
