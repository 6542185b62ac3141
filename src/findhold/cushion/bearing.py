"""What the block presses on its bed, and its bed on the block: at rest, in the drop, with and without a board."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.cushion.choose import Design, Face
from findhold.cushion.contour import ContourSide
from findhold.cushion.inputs import CushionInputs, Spread
from findhold.physics.cushioning import G0, bearing_pressure_pa, board_sag_m, ring_area_m2
from findhold.tables.cushions import CushionRules

NOT_KNOWN = "not known: measure the thickness under the block when it is set down, and again at each check"
_ASSUMED_BOARD_MM = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """The block at rest: area it stands on by itself and with its contour bed [cm2], and the pressures there [kPa]."""

    foot: str
    foot_cm2: float
    foot_kpa: float
    bed_cm2: float
    bed_kpa: float
    loaded_mm: float | None
    """Thickness of the bed under the block, where its sinking was measured [mm]."""
    loaded_words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """The spreader board: thickness [mm], sag over its free length in the drop [mm], and the thickness that would do.

    free_mm : length between pads, or beyond the one pad [mm].
    """

    board_mm: float
    assumed: bool
    free_mm: float
    sag_mm: float
    ratio: float
    """Free length over sag [1]."""
    stiff: bool
    wanted_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """Peak pressure on the find's own surface at one face [kPa], and the strength it is set against [kPa]."""

    face: str
    on_pad_kpa: float
    """On the foam itself: G x s."""
    on_find_kpa: float
    """On the find: the same where foam touches it, spread over the face where a board lies between."""
    behind_board: bool
    strength_low_kpa: float | None
    strength_high_kpa: float | None
    too_much: bool | None
    """None where no strength is known."""


def bearing_of(inputs: CushionInputs, contour: tuple[ContourSide, ...], bed_mm: float | None) -> Bearing:
    """Pressure of the block at rest, on what it really stands on.

    Parameters
    ----------
    inputs : block, foot and measured sinking. contour : its contour bed, empty for a prism.
    bed_mm : thickness of the bed as laid [mm]; None when there is no design.

    Source
        Weight over area; a ring foot bears on pi d w.
    """
    whole_m2 = inputs.block_mm[0] * inputs.block_mm[1] * 1e-6
    foot, foot_m2 = "the whole base, taken as a prism", whole_m2
    if inputs.ring_foot_mm is not None:
        diameter, width = inputs.ring_foot_mm
        foot, foot_m2 = "the ring foot", float(ring_area_m2(diameter / 1000.0, width / 1000.0))
    elif len(contour) == 2:
        foot_m2 = contour[0].contact_mm * contour[1].contact_mm * 1e-6
        foot = "the foot as measured (length by width, its corners not rounded off)"
    bed_m2 = max(foot_m2, whole_m2) if contour else foot_m2
    loaded = None if inputs.sink_mm is None or bed_mm is None else bed_mm - inputs.sink_mm
    words = NOT_KNOWN if loaded is None else f"{loaded:g} mm: {bed_mm:g} mm less the {inputs.sink_mm:g} mm measured"
    return Bearing(
        foot=foot,
        foot_cm2=foot_m2 * 1e4,
        foot_kpa=float(bearing_pressure_pa(inputs.mass_kg, max(foot_m2, 1e-6))) / 1000.0,
        bed_cm2=bed_m2 * 1e4,
        bed_kpa=float(bearing_pressure_pa(inputs.mass_kg, max(bed_m2, 1e-6))) / 1000.0,
        loaded_mm=loaded,
        loaded_words=words,
    )


def board_of(inputs: CushionInputs, face: Face, design: Design) -> Board | None:
    """The board that spreads the pads of a face; None where foam lies on the whole face.

    Source
        Beam theory, the block taken as an even load that adds no stiffness; modulus of plywood: plywood-modulus.
    """
    if design.way == "full":
        return None
    thick_mm = inputs.board_mm or _ASSUMED_BOARD_MM
    long_mm, wide_mm = max(face.length_mm, face.width_mm), min(face.length_mm, face.width_mm)
    alone = design.pads == 1
    free_mm = (long_mm - design.pad_mm) / 2.0 if alone else long_mm - 2.0 * design.pad_mm
    peak = design.g.high if design.g.high == design.g.high else design.g.best
    load = peak * inputs.mass_kg * G0 / (long_mm / 1000.0)
    sag_m = board_sag_m(load, max(free_mm, 0.0) / 1000.0, _stiffness(thick_mm, wide_mm, inputs.rules), overhang=alone)
    wanted_ratio = inputs.rules.board_sag_ratio
    ratio = free_mm / 1000.0 / sag_m if sag_m > 0.0 else float("inf")
    wanted_mm = thick_mm * (wanted_ratio / ratio) ** (1.0 / 3.0) if ratio > 0.0 else thick_mm
    return Board(
        board_mm=thick_mm,
        assumed=inputs.board_mm == 0.0,
        free_mm=free_mm,
        sag_mm=sag_m * 1000.0,
        ratio=ratio,
        stiff=ratio >= wanted_ratio,
        wanted_mm=max(wanted_mm, 0.0),
    )


def press_of(inputs: CushionInputs, face: Face, design: Design) -> Press:
    """Peak pressure on the find at one face, set against the strength of its soil.

    Source
        G x s under the foam; G x weight over the face behind a board. Soft clay: undrained-strength-words.
    """
    peak = design.g.high if design.g.high == design.g.high else design.g.best
    pad_kpa = peak * design.static_stress_kpa
    behind = design.way == "pads"
    find_kpa = peak * inputs.mass_kg * G0 / face.area_m2 / 1000.0 if behind else pad_kpa
    low = high = None
    if inputs.clay_strength_kpa is not None:
        low = high = inputs.clay_strength_kpa
    elif inputs.soil is not None:
        low, high = inputs.rules.clay_soft_low_kpa, inputs.rules.clay_soft_high_kpa
    return Press(
        face=face.name,
        on_pad_kpa=pad_kpa,
        on_find_kpa=find_kpa,
        behind_board=behind,
        strength_low_kpa=low,
        strength_high_kpa=high,
        too_much=None if high is None else find_kpa > high,
    )


def spread_words(spread: Spread, form: str = ".0f") -> str:
    """A figure with its edges, as people read it; an edge that is not known is left out."""
    if spread.low == spread.best == spread.high:
        return format(spread.best, form)
    low = format(spread.low, form) if spread.low == spread.low else "not known"
    high = format(spread.high, form) if spread.high == spread.high else "not known"
    return f"{format(spread.best, form)} ({low} to {high})"


def _stiffness(board_mm: float, wide_mm: float, rules: CushionRules) -> float:
    """E I of a board [N m2]."""
    return rules.board_modulus_gpa * 1e9 * (wide_mm / 1000.0) * (board_mm / 1000.0) ** 3 / 12.0
