"""What would help when the foam at hand does not keep the limit: each way worked out anew, least box first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import e

import numpy as np

from findhold.cushion.choose import Design, Face, Stop, design_face, g_spread
from findhold.cushion.inputs import CushionInputs, Spread
from findhold.cushion.route import DropChoice
from findhold.physics.cushioning import G0, suiting_stiffness_pa
from findhold.tables.cushions import handling_legs

_STEP_MM = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Help:
    """One way out: what to do, the foam thickness it comes to [mm] and the inside of a box for it [litre]."""

    text: str
    thickness_mm: float | None
    inside_l: float | None


def ways_out(inputs: CushionInputs, drop: DropChoice, stop: Stop | None, faces: tuple[Face, ...]) -> tuple[Help, ...]:
    """Ways to a cushion that keeps the limit at its high edge, ranked by the inside of the box they need.

    Not a list of everything: gentler handling, thicker sheets, a softer foam, and a measured curve.

    Parameters
    ----------
    inputs, drop : the request and its drop. stop : None where no curve is known. faces : the block's faces.
    """
    found = [_measure(inputs, stop)]
    if stop is not None:
        found += [*_gentler(inputs, drop, stop, faces), _thicker(inputs, stop, faces), _softer(inputs, stop, faces)]
    ways = [way for way in found if way is not None]
    return tuple(sorted(ways, key=lambda way: (way.inside_l is None, way.inside_l or 0.0)))


def inside_l(block_mm: tuple[float, float, float], thickness_mm: float) -> float:
    """Inside of a box with even foam round a block [litre]."""
    return float(np.prod([side + 2.0 * thickness_mm for side in block_mm]) * 1e-6)


def inside_words(block_mm: tuple[float, float, float], thickness_mm: float) -> str:
    """Inside of a box with even foam round a block, in words."""
    length, width, height = (side + 2.0 * thickness_mm for side in block_mm)
    return f"inside about {length:.0f} x {width:.0f} x {height:.0f} mm"


def _sure_mm(stop: Stop, faces: tuple[Face, ...]) -> float | None:
    """The thickest foam any face wants when all keep the limit at their high edge; None when one does not."""
    thick_mm = 0.0
    for face in faces:
        design = design_face(face, stop)
        if design is None or not design.holds_high:
            return None
        thick_mm = max(thick_mm, design.thickness_mm)
    return thick_mm


def _gentler(inputs: CushionInputs, drop: DropChoice, stop: Stop, faces: tuple[Face, ...]) -> list[Help]:
    """Kinds of handling with a lower drop that the foam in stock is enough for; the roughest of them that will do."""
    lower = [leg for leg in handling_legs() if leg.drop_best_m is not None and leg.drop_high_m is not None]
    lower = [leg for leg in lower if (leg.drop_high_m or 0.0) < drop.drop_m.high]
    for leg in sorted(lower, key=lambda leg: -(leg.drop_high_m or 0.0)):
        spread = Spread(low=leg.drop_low_m or 0.0, best=leg.drop_best_m or 0.0, high=leg.drop_high_m or 0.0)
        thick = _sure_mm(replace(stop, drop_m=spread), faces)
        if thick is not None:
            handled = f"Handle it more gently on every leg: {leg.words} ({spread.best:g} m, up to {spread.high:g} m)"
            text = f"{handled} needs {thick:g} mm of this foam"
            if _keeps_as_laid(replace(stop, drop_m=spread), [design_face(face, stop) for face in faces]):
                text = f"{handled}: then the foam as laid keeps the limit with its spread too"
            return [Help(text=text, thickness_mm=thick, inside_l=inside_l(inputs.block_mm, thick))]
    return []


def _keeps_as_laid(stop: Stop, designs: list[Design | None]) -> bool:
    """Whether foam designed for another drop keeps the limit in this one, high edge and all."""
    return all(
        design is not None and g_spread(stop, design.area_cm2 / 1e4, design.thickness_mm)[2][0] <= stop.limit_g
        for design in designs
    )


def _thicker(inputs: CushionInputs, stop: Stop, faces: tuple[Face, ...]) -> Help | None:
    """The least thickness beyond the stock that would do, in steps of 5 mm."""
    steps = np.arange(stop.curve.least_thickness_mm, stop.rules.largest_thickness_mm + 1e-9, _STEP_MM)
    for thick in steps:
        sure = _sure_mm(replace(stop, foam_mm=(float(thick),), rules=replace(stop.rules, most_layers=1)), faces)
        if sure is not None:
            text = f"Get this foam {thick:g} mm thick and a wider box: {inside_words(inputs.block_mm, float(thick))}"
            return Help(text=text, thickness_mm=float(thick), inside_l=inside_l(inputs.block_mm, float(thick)))
    return None


def _softer(inputs: CushionInputs, stop: Stop, faces: tuple[Face, ...]) -> Help | None:
    """The foam for which the whole base is the best loading, if its least cushion factor were the same."""
    # on whole faces no board rides along: the low edge of the mass is without any
    static_pa = stop.mass_kg.low * G0 / faces[0].area_m2
    wanted_pa = float(suiting_stiffness_pa(static_pa, stop.limit_g))
    if wanted_pa >= stop.curve.law.a_pa:
        return None
    factor = stop.curve.law.least_factor
    least_mm = stop.curve.least_thickness_mm
    best_mm = max(factor * stop.drop_m.best / stop.limit_g * 1000.0, least_mm)
    edge = 1.0 + stop.rules.unknown_scatter_fraction
    high_mm = factor * stop.drop_m.high / stop.limit_g * 1000.0 * edge / (1.0 - stop.rules.creep_fraction)
    high_mm = max(high_mm, least_mm)
    spread = "" if high_mm == best_mm else f", {high_mm:.0f} mm at the high edge,"
    text = (
        f"Look for a softer closed-cell foam, a = {wanted_pa / 1000.0:.0f} kPa instead of "
        f"{stop.curve.law.a_pa / 1000.0:.0f} kPa (a = G s / {e:.3f}): on whole faces {best_mm:.0f} mm{spread} of it "
        f"would do (never under {least_mm:g} mm), {inside_words(inputs.block_mm, high_mm)}; no such curve with a "
        "source is known here, so measure it"
    )
    return Help(text=text, thickness_mm=high_mm, inside_l=inside_l(inputs.block_mm, high_mm))


def _measure(inputs: CushionInputs, stop: Stop | None) -> Help | None:
    """Measuring the unit's own foam, unless that is done."""
    if stop is not None and stop.curve.own:
        return None
    rules = inputs.rules
    kpa = inputs.mass_kg * G0 / (inputs.block_mm[0] * inputs.block_mm[1] * 1e-6) / 1000.0
    text = (
        f"Measure a curve of {inputs.foam}: drop a flat weight on samples at least 25 mm thick, note static stress, "
        f"height, thickness and peak G, at {rules.least_energies} energies or more, {rules.enough_points} drops in "
        f"all; this block lies on its base with {kpa:.2f} kPa. Give the file as [cushion] curve"
    )
    return Help(text=text, thickness_mm=None, inside_l=None)
