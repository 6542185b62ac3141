"""What the block presses on its bed, and its bed on the block: at rest, in the drop, with and without a board."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from findhold.cushion.choose import Design, Face
from findhold.cushion.foot import Outline, Size, feet
from findhold.cushion.inputs import CushionInputs, Spread
from findhold.physics.cushioning import G0, bearing_pressure_pa, board_sag_m, ring_area_m2
from findhold.tables.cushions import CushionRules

NOT_KNOWN = "not known: measure the thickness under the block when it is set down, and again at each check"
_ASSUMED_BOARD_MM = 12.0
"""Board taken behind pads when none is stated (judgement), always said."""
_OFF_MM = 5.0
"""A foot nearer the middle than this is in the middle (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A block as it stands: sizes [mm], mass [kg], and what is known of its foot.

    sink_mm : how far it was seen to sink into its bed [mm]. Outlines are silhouettes (x, z) and (y, z) [mm].
    """

    block_mm: Size
    mass_kg: float
    ring_foot_mm: tuple[float, float] | None = None
    """Middle diameter and width of a ring foot [mm]."""
    sink_mm: float | None = None
    profile_mm: tuple[Size, ...] = ()
    side_outline_mm: Outline = ()
    end_outline_mm: Outline = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """The block at rest: area of its own foot and of the whole bed [cm2], the pressures there [kPa], what to say.

    overhang_mm : longest reach beyond the foot [mm]. off_middle_mm : foot's middle off the block's, along and across.
    """

    foot: str
    foot_cm2: float
    foot_kpa: float
    bed_cm2: float
    bed_kpa: float
    overhang_mm: float
    off_middle_mm: tuple[float, float]
    loaded_mm: float | None
    """Thickness of the bed under the block, where its sinking was measured [mm]."""
    loaded_words: str
    lines: tuple[str, ...]


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


def bearing_of(
    standing: Standing, bed_mm: float | None, *, turn_deg: float = 0.0, under_water: bool = False
) -> Bearing:
    """Pressure of a block at rest, on what it really stands on.

    Not a limit: no safe figure for tissue or foam under long load was found.

    Parameters
    ----------
    standing : block, mass, foot, silhouettes, measured sinking. bed_mm : the bed as laid [mm]; None when not known.
    turn_deg : how the block is turned in its box, for the words. under_water : its weight is taken as in air all the
    same, which is on the safe side, and the words say so.

    Raises
    ------
    BadInput : the profile cannot be.

    Source
        Weight over area; a ring foot bears on pi d w.
    """
    whole_m2 = standing.block_mm[0] * standing.block_mm[1] * 1e-6
    pair = feet(standing.side_outline_mm, standing.end_outline_mm, standing.profile_mm, standing.block_mm)
    foot, foot_m2 = "its whole base, taken as a prism", whole_m2
    if standing.ring_foot_mm is not None:
        diameter, width = standing.ring_foot_mm
        foot, foot_m2 = "its ring foot", float(ring_area_m2(diameter / 1000.0, width / 1000.0))
    elif pair is not None:
        foot, foot_m2 = "its foot as measured", pair[0].bears_mm * pair[1].bears_mm * 1e-6
    loaded = None if standing.sink_mm is None or bed_mm is None else bed_mm - standing.sink_mm
    words = NOT_KNOWN if loaded is None else f"{loaded:g} mm: {bed_mm:g} mm less the {standing.sink_mm:g} mm measured"
    told = Bearing(
        foot=foot,
        foot_cm2=foot_m2 * 1e4,
        foot_kpa=float(bearing_pressure_pa(standing.mass_kg, foot_m2)) / 1000.0,
        bed_cm2=whole_m2 * 1e4,
        bed_kpa=float(bearing_pressure_pa(standing.mass_kg, whole_m2)) / 1000.0,
        overhang_mm=0.0 if pair is None else max(pair[0].overhang_mm, pair[1].overhang_mm),
        off_middle_mm=(0.0, 0.0) if pair is None else (pair[0].off_middle_mm, pair[1].off_middle_mm),
        loaded_mm=loaded,
        loaded_words=words,
        lines=(),
    )
    return replace(told, lines=_bearing_lines(told, turn_deg, under_water=under_water))


def _bearing_lines(told: Bearing, turn_deg: float, *, under_water: bool) -> tuple[str, ...]:
    rest = f"At rest the block presses {told.foot_kpa:.1f} kPa on {told.foot} ({told.foot_cm2:.0f} cm²)"
    if told.foot_cm2 < told.bed_cm2 - 0.5:
        rest += f", {told.bed_kpa:.1f} kPa once the bed supports its whole plan ({told.bed_cm2:.0f} cm²)"
    said = [
        f"{rest}; no safe figure for tissue or foam under long load was found.",
        f"Bed under load: {told.loaded_words}.",
    ]
    if under_water:
        said.append(
            "Its weight is taken as in air: under water it presses less, by the weight of the water it takes the place "
            "of; lifted out it presses all of it."
        )
    if max(abs(off) for off in told.off_middle_mm) >= _OFF_MM:
        said.append(
            f"The foot lies {_towards(told.off_middle_mm, turn_deg)} off the middle, as the block stands in its box: "
            "mark RIGHT end and FAR side on box and block before it is lowered."
        )
    return tuple(said)


def _towards(off_mm: tuple[float, float], turn_deg: float) -> str:
    """An offset of the block's own frame as it lies in the box, seen from above, in words."""
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    along, across = off_mm[0] * cos - off_mm[1] * sin, off_mm[0] * sin + off_mm[1] * cos
    said = [f"{abs(along):.0f} mm towards the {'RIGHT' if along > 0 else 'LEFT'} end"] if abs(along) >= 0.5 else []
    if abs(across) >= 0.5:
        said.append(f"{abs(across):.0f} mm towards the {'FAR' if across > 0 else 'NEAR'} side")
    return " and ".join(said)


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
