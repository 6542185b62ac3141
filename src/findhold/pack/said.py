"""All parts of a plan once they are worked out, and what is said of them: questions, warnings, assumptions, sources."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.errors import Question
from findhold.pack.asked import Asked
from findhold.pack.bed import Contents
from findhold.pack.block import Block
from findhold.pack.care.conflict import Conflict
from findhold.pack.care.deciding import choice_questions, idle_overrides, override_questions
from findhold.pack.choose import Choice, least_inside, turn_words, what_to_make
from findhold.pack.contact import unknown_pairs, wall_conflicts
from findhold.pack.damp import SheetDose, bag_touches, move_words
from findhold.pack.fill import Filling, TissuePart, filling, tissue_parts
from findhold.pack.film import film_question
from findhold.pack.inputs import Override, StockBox
from findhold.pack.kept import place_warnings
from findhold.pack.measures import reaches
from findhold.pack.need import Need
from findhold.pack.proof import Bounds
from findhold.pack.steps import counted, mass_warnings
from findhold.pack.tare import MassPart, mass_parts
from findhold.rounding import told_mass
from findhold.sources import source
from findhold.tables.materials import tissue

_THIN_WALL_MM = 1.2
"""Wall taken for a box still to be made when the stock list is empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """All parts of a plan; of a plan without a box they are those of the least box it needs."""

    asked: Asked
    block: Block
    dose: SheetDose
    need: Need
    parts: Contents
    choice: Choice
    bounds: Bounds
    found: tuple[Conflict, ...]
    moved_g: float | None
    """Water that moves from tissue to block; None when it cannot be told."""

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
    def bed_kg(self) -> float:
        return float(self.parts.bed_kg[self.choice.index or 0])

    @property
    def gel_g(self) -> float:
        return float(self.parts.gel_kg[self.choice.index or 0]) * 1000.0

    @property
    def gross_kg(self) -> float | None:
        return None if self.box is None else self.load_kg + self.box.tare_kg

    @property
    def masses(self) -> tuple[MassPart, ...]:
        """Everything the packed box is made up of; none without a box."""
        if self.box is None:
            return ()
        return mass_parts(self.box.tare_kg, self.asked.mass_kg, self.parts, self.choice.index or 0)

    @property
    def tissue(self) -> tuple[TissuePart, ...]:
        """The sheets by place, in the box taken or the least one."""
        inside = least_inside(self.need) if self.box is None else self.box.inside_mm
        return tissue_parts(self.asked, self.dose, inside, self.sheets)

    @property
    def filling(self) -> Filling | None:
        """Room left in the box taken."""
        if self.box is None:
            return None
        length, width, height = self.asked.block_mm
        inside = self.box.inside_mm
        beside_l = max(inside[0] * inside[1] - length * width, 0.0) * height * 1e-6
        return filling(self.asked, self.need, inside, beside_l)


def questions(worked: Worked) -> tuple[Question, ...]:
    """What a person should settle: odd masses, water that is not known, overrides that answer nothing."""
    spare = override_questions(worked.asked, _standing(worked))
    more = (*film_question(worked.asked), *choice_questions(worked.asked, worked.found))
    return (*worked.block.questions, *worked.dose.questions, *_profile_questions(worked.asked), *more, *spare)


def _profile_questions(asked: Asked) -> tuple[Question, ...]:
    """The part of the block that a profile by steps leaves out at the top."""
    profile, height = asked.inputs.profile_mm, asked.block_mm[2]
    if not profile or reaches(profile[-1][0], height):
        return ()
    top, long, wide = profile[-1]
    text = (
        f"{asked.inputs.find}: the profile ends at {top:g} mm, the block is {height:g} mm high: how long and wide is "
        f"it over the last {height - top:g} mm? Until then it is taken as {long:g} x {wide:g} mm up to its top."
    )
    return (Question(about="profile_mm", text=text),)


def idle(worked: Worked) -> tuple[Override, ...]:
    """Overrides that answer nothing in this plan."""
    return idle_overrides(worked.asked, _standing(worked))


def _standing(worked: Worked) -> list[Conflict]:
    """What stands against the plan, the walls of every box on the list with it."""
    return [*worked.found, *(c for wall in worked.asked.walls for c in wall_conflicts(worked.asked, wall))]


def warnings(worked: Worked) -> tuple[str, ...]:
    """What stands against the plan without stopping it."""
    asked = worked.asked
    stated = asked.inputs.water_g_per_g is not None
    return (
        *worked.dose.warnings,
        *_no_sheet_warnings(worked),
        *move_words(worked.moved_g, worked.dose, stated),
        *place_warnings(asked.inputs, asked.material, asked.keeping),
        *_lid_warnings(worked),
        *_askew_warnings(worked),
        *mass_warnings(asked, worked.gross_kg or worked.load_kg, boxed=worked.box is not None),
        *_rating_warnings(worked),
    )


def _no_sheet_warnings(worked: Worked) -> tuple[str, ...]:
    """A find to be kept damp that nobody gives any water."""
    if worked.dose.way != "sheets" or worked.sheets:
        return ()
    return (
        "No sheet and no water lies with it, and it is to be kept damp: only its own water is left, and the forecast "
        "says how long that lasts. Leave the number of sheets to the plan, or ask the conservator.",
    )


def _lid_warnings(worked: Worked) -> tuple[str, ...]:
    """A lid that is known to let too much air through for silica gel."""
    box, most = worked.box, worked.asked.inputs.defaults.airtight_air_changes_per_day
    if box is None or not worked.asked.desiccated:
        return ()
    changes = box.lid_air_changes_per_day
    if changes is None or changes <= most:
        return ()
    said = f"{_sentence(box.called)} changes its air {changes:g} times a day: silica gel is soon spent in it"
    return (f"{said}. Take a box that closes airtight (at most {most:g} a day).",)


def _rating_warnings(worked: Worked) -> tuple[str, ...]:
    """A box of which nobody said what it bears."""
    if worked.box is None or worked.box.max_load_kg is not None:
        return ()
    load = told_mass(worked.load_kg)
    return (f"{_sentence(worked.box.called)} has no rated load: whether it bears {load} is not checked. Try it first.",)


def _askew_warnings(worked: Worked) -> tuple[str, ...]:
    """A block laid askew is harder to lower: say so, and which box takes it square."""
    choice, stock = worked.choice, worked.asked.inputs.stock
    if choice.index is None or choice.turn_deg in (0, 90):
        return ()
    other = "" if choice.runner_up is None else f" The next box is {stock[choice.runner_up].name}."
    return (
        f"It goes into {_called(worked)} only {turn_words(choice.turn_deg)}: try it empty first with a card cut to the "
        f"block's plan.{other}",
    )


def _called(worked: Worked) -> str:
    return "" if worked.box is None else worked.box.called


def make(worked: Worked) -> str | None:
    """What to make or buy when no box of the stock list would do, not even one that is not free."""
    if worked.choice.index is not None or worked.choice.would_do:
        return None
    inputs = worked.asked.inputs
    wall_mm = min((box.wall_mm for box in inputs.stock), default=_THIN_WALL_MM)
    return what_to_make(worked.need, worked.load_kg, wall_mm, worked.bounds)


def no_box(worked: Worked) -> str | None:
    """Why there is no box, and what to do."""
    if worked.choice.index is not None:
        return None
    why, do = worked.choice.binding, make(worked)
    if do is not None:
        return f"No box fits: {why}. {do}"
    if worked.asked.inputs.wanted_box is not None:
        return f"{_sentence(why)}. Ask for another box, or free or buy one that would do."
    return f"No box is free: {why}. Free one of those that would do, or buy one."


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def assumptions(worked: Worked) -> tuple[str, ...]:
    """What was taken without being told, in sentences."""
    asked, defaults, sheets = worked.asked, worked.asked.inputs.defaults, worked.sheets
    said = []
    if asked.material.taken_for is not None:
        said.append(f"'{asked.material.taken_for}' is taken for {asked.material.name}, the more sensitive.")
    if asked.inputs.sheets is None and sheets:
        said.append(
            f"Sheets were not stated: {counted(sheets, 'sheet')} of {defaults.sheet_l_mm:g} x "
            f"{defaults.sheet_w_mm:g} mm for {defaults.wrap_layers} layers round the block, {defaults.bed_layers} on "
            f"the bed and {defaults.top_layers} on top."
        )
    if bag_touches(asked, worked.dose) and not sheets and asked.bag is not asked.wrapping:
        kind = "metal kept dry" if asked.desiccated else "a waterlogged find"
        said.append(f"No {asked.wrapping.name} touches {kind}: it lies in its bag.")
    if asked.desiccated:
        said.append(_gel_words(worked))
    if asked.barrier is not None and worked.dose.way == "sheets":
        said.append("Through the barrier tissue and soil share vapour only, so the dose holds but works slowly.")
    least = worked.need
    said.append(
        f"Clearances from the bare block, wrapping inside them: sides at least {least.side_mm:g} mm, bed "
        f"{least.bed_mm:g} mm, lid gap at least {least.lid_gap_mm:g} mm."
    )
    said += [*_shape_words(worked), *_fill_words(worked)]
    said.append(f"Foam is taken at {defaults.foam_density_kg_per_m3:g} kg/m³.")
    return (*worked.block.assumptions, *worked.dose.assumptions, *said, *unknown_pairs(asked, worked.dose))


def _shape_words(worked: Worked) -> list[str]:
    """What is taken of the block's and the box's shape."""
    inputs, box = worked.asked.inputs, worked.box
    said = []
    if box is not None and box.base_mm is not None and inputs.profile_mm:
        said.append("The box tapers: the block's slices are taken as centred over one another.")
    if inputs.profile_mm and worked.asked.soil is None:
        said.append("The profile is that of the bare find: its wrapping lies inside the clearances.")
    if inputs.cog_mm is None and inputs.centre_mm is not None:
        said.append("The block's centre of gravity is that of its profile, all of one density: nobody measured it.")
    if inputs.lid_water_g:
        said.append(
            f"{inputs.lid_water_g:.1f} g of water would drip from the lid: {_lid_part(worked)} under it, counted on "
            f"{tissue().capacity_low_g_per_g:g} g of water per g of tissue (memory; weigh a sheet wet and dry). Change "
            "them at every check."
        )
    return said


def _lid_part(worked: Worked) -> str:
    return counted(next(part.sheets for part in worked.tissue if part.place == "lid"), "absorbent sheet")


def _fill_words(worked: Worked) -> list[str]:
    """What would fill the room instead of foam strips."""
    room = worked.filling
    if room is None:
        return []
    density = worked.asked.inputs.defaults.crumpled_tissue_kg_per_m3
    return [
        f"Room left round the block is at most {room.room_l:.2f} L: crumpled tissue instead of foam strips would take "
        f"{counted(room.crumpled_sheets, 'sheet')} at {density:g} kg/m³ (judgement: weigh it)."
    ]


def _gel_words(worked: Worked) -> str:
    """How much silica gel is taken, and what is taken of the lid."""
    said = f"Silica gel: {worked.asked.inputs.defaults.silica_gel_g_per_l:g} g per litre of box, dry when laid in"
    lid = None if worked.box is None else worked.box.lid_air_changes_per_day
    return f"{said}; the box is taken to close airtight, its lid is not described." if lid is None else f"{said}."


def sources(worked: Worked) -> tuple[str, ...]:
    """Citations the plan rests on, in the order they come up."""
    keys = [
        *worked.block.sources,
        *worked.dose.sources,
        worked.asked.material.source,
        *(("knight-1996", "cardiff-metals-storage") if worked.asked.desiccated else ()),
        "pe-foam-densities",
        "findhold-judgement",
    ]
    cited = [source(key).citation() for key in keys]
    return tuple(dict.fromkeys([*cited, *(conflict.source for conflict in worked.found)]))
