"""The cushion of one block: foam on every face, what it does to the find, and what stands behind each figure."""

from __future__ import annotations

from dataclasses import dataclass, replace

from findhold.cushion.bearing import Board, Press, board_of, press_of
from findhold.cushion.choose import Design, Face, Refusal, Stop, design_face, faces_of, refusals, thinnest_at_best
from findhold.cushion.curve import Curve, shipped_curve
from findhold.cushion.helps import Help, ways_out
from findhold.cushion.inputs import CushionInputs, Declared, Size, Spread, check_inputs
from findhold.cushion.route import DropChoice, choose_drop
from findhold.cushion.vibration import Vibration, vibration_of
from findhold.physics.cushioning import constant_force_travel_m, half_sine_s, impact_speed_m_per_s
from findhold.tables.cushions import fragility_bands
from findhold.tables.materials import packing_material

YES, ONLY_IF, AT_BEST, NO, NOT_KNOWN = "yes", "only if", "at best figures only", "no", "not known"


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceCushion:
    """One kind of face with its foam, or with the reasons why there is none."""

    name: str
    many: int
    design: Design | None
    at_best_mm: float | None
    """Thickness that would do at the best figures alone [mm]."""
    why_not: tuple[Refusal, ...]
    press: Press | None
    board: Board | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What the box must leave room for [mm]: foam under, beside and over, boards of sides and top included."""

    bed_mm: float
    side_mm: float
    top_mm: float
    board_mm: float
    """Spreader board under the block, besides bed_mm."""
    material: str
    area_mm2: float
    pads: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CushionPlan:
    """A cushion as planned, or as refused with what would help. Spreads are low, best and high."""

    find: str
    block_mm: Size
    declared: Declared
    band: str
    """The classic word for what is declared; words only."""
    mass_kg: Spread
    drop: DropChoice
    foam: str
    foam_mm: tuple[float, ...]
    curve: Curve | None
    keeps: str
    """yes (also at the high edge), only if (see condition), at best figures only, no, not known (no curve)."""
    condition: str
    """What the block has to bear for it, in words; empty where its soil bears it, or nothing is known of it."""
    bound_mm: Spread
    """Travel of an ideal constant-force stop: no cushion does with less [mm]."""
    least_mm: Spread | None
    """Thickness of this foam at its best loading, over drop, scatter and creep [mm]."""
    impact_m_per_s: float
    pulse_ms: float
    """Half-sine pulse without rebound at the declared limit [ms]."""
    faces: tuple[FaceCushion, ...]
    layout: Layout | None
    vibration: Vibration | None
    helps: tuple[Help, ...]
    creep_fraction: float
    taken: tuple[str, ...]
    """What was taken for things not stated, in words."""

    @property
    def verdict(self) -> str:
        """Whether the declared limit is kept, as it is said everywhere."""
        if not self.condition:
            return self.keeps
        return f"only if {self.condition}" if self.keeps == ONLY_IF else f"{self.keeps}, and only if {self.condition}"


def plan_cushion(inputs: CushionInputs) -> CushionPlan:
    """Plan the cushion of a block against the drop of its route.

    Not a promise: curves are for new foam at room temperature, and what a find stands is declared, never measured.

    Parameters
    ----------
    inputs : block, declared fragility, route or drop height, foam in stock, own curve.

    Returns
    -------
    CushionPlan. Where no curve with a source is known, `keeps` is "not known": the constant-force bound is given and
    what to measure, and no layout.

    Raises
    ------
    BadInput : a figure that cannot be, no name behind the fragility, neither drop height nor route.
    UnknownName : no such foam or kind of handling.

    Source
        docs/models/cushion.md.
    """
    check_inputs(inputs)
    foam = packing_material(inputs.foam, where=f"{inputs.find}, cushion").name
    drop = choose_drop(inputs)
    curve = inputs.curve or shipped_curve(foam)
    parts = faces_of(inputs.block_mm)
    mass = _mass(inputs, ())
    stop = None if curve is None else _stop(inputs, curve, drop, mass)
    faces = tuple(_face(face, stop, inputs) for face in parts)
    if stop is not None and any(face.board is not None for face in faces):
        # the boards behind the pads fall with the block: designed again with their mass
        mass = _mass(inputs, faces)
        stop = replace(stop, mass_kg=mass)
        faces = tuple(_face(face, stop, inputs) for face in parts)
    keeps, condition = _keeps(faces, stop)
    layout = None if keeps in (NO, NOT_KNOWN) else _layout(faces, foam, inputs, drop)
    limit, speed = inputs.declared.fragility_g, float(impact_speed_m_per_s(drop.drop_m.best))
    return CushionPlan(
        find=inputs.find,
        block_mm=inputs.block_mm,
        declared=inputs.declared,
        band=_band(limit),
        mass_kg=mass,
        drop=drop,
        foam=foam,
        foam_mm=inputs.foam_mm,
        curve=curve,
        keeps=keeps,
        condition=condition,
        bound_mm=_bound(drop.drop_m, limit),
        least_mm=None if stop is None else _least(stop),
        impact_m_per_s=speed,
        pulse_ms=float(half_sine_s(speed, limit)) * 1000.0,
        faces=faces,
        layout=layout,
        vibration=vibration_of(inputs, drop.drop_m.best) if drop.vehicle or inputs.sink_mm is not None else None,
        helps=() if keeps == YES else ways_out(inputs, drop, stop, parts),
        creep_fraction=inputs.rules.creep_fraction,
        taken=inputs.taken,
    )


def _bound(drop_m: Spread, limit_g: float) -> Spread:
    low, best, high = (
        float(constant_force_travel_m(drop, limit_g)) * 1000.0 for drop in (drop_m.low, drop_m.best, drop_m.high)
    )
    return Spread(low=low, best=best, high=high)


def _mass(inputs: CushionInputs, faces: tuple[FaceCushion, ...]) -> Spread:
    """Mass on the cushion [kg]: the block with its boards, and up to what wrapping and water add.

    Boards are those behind the pads of faces; without any, the stated one under the block. Its low edge is without.
    """
    density = packing_material("wood board").density_kg_per_m3 or 0.0
    sizes = {face.name: face for face in faces_of(inputs.block_mm)}
    boards_mm3 = sum(
        face.many * sizes[face.name].length_mm * sizes[face.name].width_mm * face.board.board_mm
        for face in faces
        if face.board is not None
    )
    stated_mm3 = inputs.block_mm[0] * inputs.block_mm[1] * inputs.board_mm
    low = inputs.mass_kg + stated_mm3 * 1e-9 * density
    best = inputs.mass_kg + max(boards_mm3, stated_mm3) * 1e-9 * density
    return Spread(low=low, best=best, high=best * (1.0 + inputs.rules.mass_spread_fraction))


def _stop(inputs: CushionInputs, curve: Curve, drop: DropChoice, mass: Spread) -> Stop:
    return Stop(
        mass_kg=mass,
        drop_m=drop.drop_m,
        limit_g=inputs.declared.fragility_g,
        curve=curve,
        foam_mm=inputs.foam_mm,
        rules=inputs.rules,
    )


def _face(face: Face, stop: Stop | None, inputs: CushionInputs) -> FaceCushion:
    design = None if stop is None else design_face(face, stop)
    why_not = refusals(face, stop) if stop is not None and design is None else ()
    if design is not None and inputs.clay_strength_kpa is not None:
        press = press_of(inputs, face, design)
        if press.too_much:
            design, why_not = None, (_presses(press),)
    bare = None if stop is None or design is None else thinnest_at_best(face, stop)
    return FaceCushion(
        name=face.name,
        many=face.many,
        design=design,
        at_best_mm=None if bare is None else bare.thickness_mm,
        why_not=why_not,
        press=None if design is None else press_of(inputs, face, design),
        board=None if design is None else board_of(inputs, face, design),
    )


def _presses(press: Press) -> Refusal:
    text = (
        f"the block would be pressed harder than the {press.strength_high_kpa or 0.0:g} kPa its soil is declared to "
        "bear: a softer foam, or a lower drop"
    )
    return Refusal(code="presses", text=text, figure=f"{press.on_find_kpa:.0f} kPa")


def _condition(faces: tuple[FaceCushion, ...]) -> str:
    """What the block's soil has to bear where that is more than is known of it; empty where it is not."""
    over = [face.press for face in faces if face.press is not None and face.press.too_much]
    if not over:
        return ""
    worst = max(over, key=lambda press: press.on_find_kpa)
    low, high = worst.strength_low_kpa or 0.0, worst.strength_high_kpa or 0.0
    return f"its soil bears {worst.on_find_kpa:.0f} kPa in the drop (taken: {low:g} to {high:g}, soft clay)"


def _keeps(faces: tuple[FaceCushion, ...], stop: Stop | None) -> tuple[str, str]:
    """The verdict's word, and what it is conditional on."""
    if stop is None:
        return NOT_KNOWN, ""
    designs = [face.design for face in faces]
    if any(design is None for design in designs):
        return NO, ""
    condition = _condition(faces)
    if not all(design.holds_high for design in designs if design is not None):
        return AT_BEST, condition
    return (ONLY_IF, condition) if condition else (YES, "")


def _least(stop: Stop) -> Spread:
    """Thickness at the best loading [mm]: low and high over drop, scatter (at that loading's energy) and creep."""
    energy_pa = 1.0 / stop.curve.law.b_per_pa
    under, over = (float(edge) for edge in stop.curve.band(energy_pa, stop.rules.unknown_scatter_fraction))
    per_m = stop.curve.law.least_factor / stop.limit_g * 1000.0
    high = per_m * stop.drop_m.high * over / (1.0 - stop.rules.creep_fraction)
    return Spread(low=per_m * stop.drop_m.low * under, best=per_m * stop.drop_m.best, high=high)


def _layout(faces: tuple[FaceCushion, ...], foam: str, inputs: CushionInputs, drop: DropChoice) -> Layout | None:
    """Room for foam and boards; every face has a design here."""
    thick = {face.name: _thick_mm(face) for face in faces}
    base = faces[0].design
    if base is None:
        return None
    board = faces[0].board
    board_mm = inputs.board_mm if board is None else board.board_mm
    side = max(thick["sides"], thick["ends"])
    g = max(face.design.g.best for face in faces if face.design is not None)
    by_face = {face.name: face.design.thickness_mm for face in faces if face.design is not None}
    laid = f"{base.thickness_mm:g} mm on every face"
    if len(set(by_face.values())) > 1:
        laid = ", ".join(f"{name} {mm:g} mm" for name, mm in by_face.items())
    why = f"{foam}, {laid}: keeps a drop of {drop.drop_m.best:g} m at {g:.0f} G"
    return Layout(
        bed_mm=base.thickness_mm,
        side_mm=side,
        top_mm=thick["top"],
        board_mm=board_mm,
        material=foam,
        area_mm2=base.area_cm2 * 100.0,
        pads=base.pads,
        why=why,
    )


def _thick_mm(face: FaceCushion) -> float:
    """Foam of a face with the board its pads need [mm]."""
    foam = 0.0 if face.design is None else face.design.thickness_mm
    return foam + (0.0 if face.board is None or face.name == "base" else face.board.board_mm)


def _band(limit_g: float) -> str:
    """The classic word for a declared limit."""
    bands = fragility_bands()
    if limit_g < bands[0].low:
        return f"below {bands[0].name}"
    return next((band.name for band in bands if band.high is None or limit_g < band.high), bands[-1].name)
