"""Check what was asked before anything is worked out: every mistake at once, names looked up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from findhold.errors import BadInput, Mistake, Mistakes, UnknownName, near_names
from findhold.pack.inputs import STATES, PlanInputs, State
from findhold.pack.kept import KeptState, is_desiccated, kept_state
from findhold.pack.measures import MOST_MM, above_zero, mistake, shape_mistakes, sizes, stock_mistakes
from findhold.tables.contact import Act, Analysis, find_act, find_analysis
from findhold.tables.materials import FindMaterial, PackingMaterial, find_material, packing_material
from findhold.tables.naming import plain_name
from findhold.tables.soils import Soil, find_soil

_MOST_WATER_KG_PER_KG = 20.0
"""Even fresh peat holds less: above this the water content was typed as per cent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A checked request: names looked up, sizes known to be there and above zero."""

    inputs: PlanInputs
    block_mm: tuple[float, float, float]
    mass_kg: float
    material: FindMaterial
    keeping: KeptState
    soil: Soil | None
    analyses: tuple[Analysis, ...]
    acts: tuple[Act, ...]
    wrapping: PackingMaterial
    barrier: PackingMaterial | None
    bag: PackingMaterial | None
    walls: dict[str, PackingMaterial]
    """Wall material by the name given in the stock list."""
    barrier_why: str = ""
    """Why there is a barrier that nobody asked for."""

    @property
    def kept(self) -> State:
        """The state the find is to be kept in."""
        return self.keeping.state

    @property
    def desiccated(self) -> bool:
        """Whether the box is airtight with silica gel."""
        return is_desiccated(self.keeping, self.material)

    @property
    def submerged(self) -> bool:
        """Whether it is to be kept under water in its bag."""
        wet = self.inputs.state == "waterlogged" and self.soil is None
        return wet and self.material.keep_waterlogged == "submerged"

    @property
    def cushioned(self) -> bool:
        """Whether pads or whole faces of foam are designed against a drop."""
        return self.inputs.cushion is not None and bool(self.inputs.cushion.faces)

    @property
    def volume_edges_l(self) -> tuple[float, float]:
        """Least and most the volume may be [L]; the same twice where only one figure is known."""
        return self.inputs.volume_band_l or (self.volume_l, self.volume_l)

    @property
    def volume_l(self) -> float:
        """Volume of the block as measured, else of its bounding box [L].

        Of a soil block measured between wide edges it is their middle; a loose thing between such edges may be hollow.
        """
        if self.inputs.volume_l is not None:
            return self.inputs.volume_l
        if self.inputs.volume_band_l is not None and self.soil is not None:
            return sum(self.inputs.volume_band_l) / 2.0
        length, width, height = self.block_mm
        return length * width * height * 1e-6


def read_request(inputs: PlanInputs) -> Asked:
    """Check a request and look up its names.

    Raises
    ------
    BadInput : one thing is wrong. Mistakes : several are, each listed.
    UnknownName : a material, soil, analysis or act is not known; near names are offered.
    """
    mistakes = list(_mistakes(inputs))
    if len(mistakes) == 1:
        only = mistakes[0]
        value = f" is {only.value}:" if only.value else ""
        raise BadInput(f"{only.column}{value} {only.wrong}", where=only.file, limit=only.allowed, do="Enter it again")
    if mistakes:
        raise Mistakes(mistakes=mistakes)
    if inputs.block_mm is None or inputs.mass_kg is None:
        raise ValueError("a request without size or mass passed its check")
    where = inputs.find
    material = find_material(inputs.material, where=where)
    keeping = kept_state(inputs, material)
    bag = _bag(inputs, is_desiccated(keeping, material))
    names = {plain_name(box.name) for box in inputs.stock}
    if inputs.wanted_box is not None and inputs.stock and plain_name(inputs.wanted_box) not in names:
        raise UnknownName("box in stock", inputs.wanted_box, [box.name for box in inputs.stock], where=where)
    return Asked(
        inputs=inputs,
        block_mm=inputs.block_mm,
        mass_kg=inputs.mass_kg,
        material=material,
        keeping=keeping,
        soil=None if inputs.soil is None else find_soil(inputs.soil, where=where),
        analyses=tuple({find_analysis(name, where=where): None for name in inputs.analyses}),
        acts=tuple({find_act(name, where=where): None for name in inputs.acts}),
        wrapping=packing_material(inputs.wrapping, where=where),
        barrier=None if inputs.barrier is None else packing_material(inputs.barrier, where=where),
        bag=None if bag is None else packing_material(bag, where=where),
        walls={
            wall: packing_material(wall, where=box.called)
            for wall, box in {box.wall: box for box in inputs.stock}.items()
        },
    )


def _bag(inputs: PlanInputs, desiccated: bool) -> str | None:
    """The bag: as asked; else an unperforated one for wet finds and a perforated one for metal kept dry."""
    if inputs.bag is not None or not (desiccated or inputs.state == "waterlogged"):
        return inputs.bag
    if packing_material(inputs.wrapping, where=inputs.find).closure in ("sealed", "perforated"):
        return inputs.wrapping
    return "perforated polyethylene bag" if desiccated else "sealed polyethylene bag"


def _mistakes(inputs: PlanInputs) -> Iterator[Mistake]:
    find = inputs.find
    if inputs.state not in STATES:
        near = near_names(inputs.state, list(STATES))
        wrong = f"no such state; did you mean {near[0]}?" if near else "no such state"
        yield mistake(find, "state", inputs.state, wrong, ", ".join(STATES))
    if inputs.block_mm is None:
        yield mistake(find, "block_mm", "", "the block's sizes are missing", "length, width and height in mm")
    else:
        yield from sizes(find, "block_mm", inputs.block_mm)
    if inputs.mass_kg is None:
        yield mistake(find, "mass_kg", "", "the block's mass is missing", "weigh it, in kg")
    else:
        yield from above_zero(find, "mass_kg", inputs.mass_kg, "kg")
    water = inputs.water_content
    if water is not None and not 0.0 <= water <= _MOST_WATER_KG_PER_KG:
        hint = f"looks like per cent: {water:g} % is {water / 100:g} kg/kg" if water > 0 else "cannot be"
        limit = f"0 to {_MOST_WATER_KG_PER_KG:g} kg of water per kg dry"
        yield mistake(find, "water_content", f"{water:g}", hint, limit)
    if inputs.sheets is not None and not 0 <= inputs.sheets <= 1000:
        yield mistake(find, "sheets", str(inputs.sheets), "cannot be", "a whole number from 0 to 1000")
    if inputs.sheet_dry_g is not None:
        yield from above_zero(find, "sheet_dry_g", inputs.sheet_dry_g, "g")
    if inputs.water_g_per_g is not None and not 0.0 <= inputs.water_g_per_g <= 20.0:
        yield mistake(find, "water_g_per_g", f"{inputs.water_g_per_g:g}", "cannot be", "0 to 20 g of water per g dry")
    if not 0.0 <= inputs.board_mm < MOST_MM:
        yield mistake(find, "board_mm", f"{inputs.board_mm:g}", "cannot be", "0 mm or more")
    if not 0.0 <= inputs.temp_c <= 40.0:
        yield mistake(find, "temp_c", f"{inputs.temp_c:g}", "cannot be: finds are never frozen", "0 to 40 °C")
    if inputs.fridge_inside_mm is not None:
        yield from sizes(find, "fridge_inside_mm", inputs.fridge_inside_mm)
    yield from _place_mistakes(inputs)
    yield from shape_mistakes(inputs)
    yield from _override_mistakes(inputs)
    yield from stock_mistakes(inputs.stock)


def _place_mistakes(inputs: PlanInputs) -> Iterator[Mistake]:
    temp_c, rh = inputs.place_temp_c, inputs.place_rh
    if temp_c is not None and not -40.0 <= temp_c <= 60.0:
        yield mistake(inputs.find, "place_temp_c", f"{temp_c:g}", "cannot be", "-40 to 60 °C")
    if rh is not None and not 0.0 <= rh <= 1.0:
        hint = f"looks like per cent: {rh:g} % is {rh / 100:g}" if 1.0 < rh <= 100.0 else "cannot be"
        yield mistake(inputs.find, "place_rh", f"{rh:g}", hint, "a fraction from 0 to 1")


def _override_mistakes(inputs: PlanInputs) -> Iterator[Mistake]:
    for override in inputs.overrides:
        what = f"override of {override.material} for {override.rule}"
        if not override.person.strip():
            yield mistake(inputs.find, what, "", "no person is named", "the name of who decides")
        if not override.reason.strip():
            yield mistake(inputs.find, what, "", "no reason is given", "a reason in words")
