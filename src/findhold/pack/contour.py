"""Foam sheets round a block that is wider above its base: the hole in each, where it leans to, what a bag there holds.

Holes are told in whole millimetres, and their middles to half a millimetre, so that drawing, list and screen agree.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.pack.asked import Asked
from findhold.pack.slices import slices_of
from findhold.tables.materials import packing_material

FloatArray = npt.NDArray[np.float64]
_SAME_MM = 0.5
"""A silhouette that comes so near to its widest is there (judgement)."""
_HAIR_MM = 1e-6
_LEAST_RIMS_MM = 10.0
"""Foam beside a hole, both sides together; less cannot be cut (judgement)."""
_LEVELS = 60
"""Heights at which the room round a neck is read."""
TRAY, TRAY_MATERIAL = "perforated tray", "polypropylene"
"""What holds a submerged find up in its bag: saturated wood sinks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BedStep:
    """One foam sheet round a block that is wider above its base: heights over the block's base, and its hole [mm].

    from_mm is below 0 where bag and tray lie under the find. off_l_mm, off_w_mm : how far the hole's middle lies from
    the block's, towards the far end of its length and the far side of its width [mm].
    """

    from_mm: float
    to_mm: float
    open_l_mm: float
    open_w_mm: float
    off_l_mm: float = 0.0
    off_w_mm: float = 0.0


def margin_mm(asked: Asked) -> float:
    """What lies between the block and the foam: wrapping or water, and the folds of a bag [mm]."""
    defaults = asked.inputs.defaults
    round_mm = defaults.submerged_cover_mm if asked.submerged else defaults.wrap_tissue_mm
    return round_mm + (defaults.liner_fold_mm if asked.bag is not None else 0.0)


def cover_mm(asked: Asked) -> float:
    """Water over, beside and under a submerged find; 0 for any other [mm]."""
    return asked.inputs.defaults.submerged_cover_mm if asked.submerged else 0.0


def under_mm(asked: Asked) -> float:
    """Bag and tray between a submerged find and its foam: folds as at its sides, and the tray's height [mm]."""
    return margin_mm(asked) if asked.submerged else 0.0


def tray_mm(asked: Asked) -> tuple[float, float, float, float]:
    """The tray under a submerged find, from x, y to x, y in the block's own frame [mm]; as large as its foot.

    Source: the find's length and width, or what the lowest sheet leaves of them; computed.
    """
    (length, width, _), margin, lowest = asked.block_mm, margin_mm(asked), bed_steps(asked)[:1]
    x, y, half_l, half_w = length / 2.0, width / 2.0, length / 2.0, width / 2.0
    for step in lowest:
        x, y = x + step.off_l_mm, y + step.off_w_mm
        half_l, half_w = step.open_l_mm / 2.0 - margin, step.open_w_mm / 2.0 - margin
    return (x - half_l, y - half_w, x + half_l, y + half_w)


def tray_kg(asked: Asked) -> float:
    """Mass of the tray; 0 for a find that is not under water [kg]."""
    if not asked.submerged:
        return 0.0
    x0, y0, x1, y1 = tray_mm(asked)
    return (x1 - x0) * (y1 - y0) * 1e-6 * asked.inputs.defaults.tray_kg_per_m2


def bed_steps(asked: Asked) -> tuple[BedStep, ...]:
    """Foam sheets that carry the overhang of a block narrower at its base than above, from the bed up.

    Parameters
    ----------
    asked : the request, with the block's silhouettes or profile in it.

    Returns
    -------
    Sheets of contour_step_mm up to the lowest height at which the block is as wide as it gets on every side, each with
    a hole that lets block, wrapping, water and bag through; empty for a block that is nowhere wider than its base, or
    whose shape was not measured. A submerged find is lowered into sheets that lie there already, so no hole of its is
    narrower than what has to pass it.

    Source: the silhouettes, else the profile centred on the base, straight between its points; computed.
    """
    shapes = _silhouettes(asked)
    widest = max(_widest_mm(shape) for shape in shapes)
    if widest <= 0.0:
        return ()
    step, cover, margin = asked.inputs.defaults.contour_step_mm, cover_mm(asked), margin_mm(asked)
    under, made = under_mm(asked), []
    for count in range(int((widest + under) // step)):
        low, high = count * step - under, (count + 1) * step - under
        holes = [_reach(shape, 0.0 if asked.submerged else low, high + cover) for shape in shapes]
        (open_l, off_l), (open_w, off_w) = (
            _hole(reach, size, margin) for reach, size in zip(holes, asked.block_mm[:2], strict=True)
        )
        rims = [size + 2.0 * margin - hole for size, hole in zip(asked.block_mm, (open_l, open_w), strict=False)]
        if asked.cushioned and max(rims) < _LEAST_RIMS_MM:
            break  # inside the boards of a cushion nothing is left of such a sheet
        made.append(
            BedStep(from_mm=low, to_mm=high, open_l_mm=open_l, open_w_mm=open_w, off_l_mm=off_l, off_w_mm=off_w)
        )
    return tuple(made)


def bag_room_l(asked: Asked) -> float:
    """What a bag that lies against its foam holds up to the cover over the find, find and tray included [L].

    Not for a bag that stands free: it would bulge.

    Source: holes of the sheets; above them the room that the strips leave: the find's length and width with water and
    folds beside them; computed.
    """
    (length, width, height), margin, steps = asked.block_mm, margin_mm(asked), bed_steps(asked)
    inside = sum((step.to_mm - step.from_mm) * step.open_l_mm * step.open_w_mm for step in steps)
    low = steps[-1].to_mm if steps else -under_mm(asked)
    over = (length + 2.0 * margin) * (width + 2.0 * margin) * (height + cover_mm(asked) - low)
    return (inside + over) * 1e-6


def neck_room_l(asked: Asked) -> float:
    """Room that strips and boards leave round a block that is narrower again over its widest height [L].

    Not the folds of its wrapping: they are on both sides of the difference.

    Source: the silhouettes, as rectangles of length and width at each height; computed.
    """
    shapes, margin, height = _silhouettes(asked), margin_mm(asked), asked.block_mm[2]
    low = max(_widest_mm(shape) for shape in shapes)
    levels = np.linspace(low, height, _LEVELS)
    length, width = (
        np.array([right - left for left, right in (_reach(shape, z, z) for z in levels)]) + 2.0 * margin
        for shape in shapes
    )
    whole = (asked.block_mm[0] + 2.0 * margin) * (asked.block_mm[1] + 2.0 * margin)
    return float(np.trapezoid(np.maximum(whole - length * width, 0.0), levels)) * 1e-6


def tray_l(asked: Asked) -> float:
    """Water that the tray takes the place of [L]."""
    density = packing_material(TRAY_MATERIAL).density_kg_per_m3
    if density is None:
        raise ValueError(f"{TRAY_MATERIAL} has no density")
    return 1000.0 * tray_kg(asked) / density


def _hole(reach: tuple[float, float], size_mm: float, margin: float) -> tuple[float, float]:
    """Length of a hole and how far its middle is off the block's: a hole that lets the reach through [mm]."""
    low, high = reach[0] - margin, reach[1] + margin
    middle = (size_mm + round(low + high - size_mm)) / 2.0
    return float(math.ceil(2.0 * max(high - middle, middle - low) - _HAIR_MM)), middle - size_mm / 2.0


def _silhouettes(asked: Asked) -> tuple[FloatArray, FloatArray]:
    """The block from its side (x, z) and from its end (y, z): as scanned, else its slices centred over each other."""
    given = (asked.inputs.side_outline_mm, asked.inputs.end_outline_mm)
    slices = slices_of(asked.inputs.profile_mm, asked.block_mm)
    side, end = (
        np.array(outline or _centred(slices, column, asked.block_mm), dtype=np.float64)
        for column, outline in enumerate(given, 1)
    )
    return side, end


def _centred(
    slices: Sequence[tuple[float, float, float]], column: int, block_mm: tuple[float, float, float]
) -> list[tuple[float, float]]:
    middle, height = block_mm[column - 1] / 2.0, block_mm[2]
    rows = [(row[0], row[column]) for row in slices]
    rows += [(height, rows[-1][1])] if rows[-1][0] < height else []
    left = [(middle - wide / 2.0, z) for z, wide in reversed(rows)]
    return [*left, *((middle + wide / 2.0, z) for z, wide in rows)]


def _widest_mm(shape: FloatArray) -> float:
    """Lowest height at which a silhouette has come as far as it goes on both sides [mm]."""
    across, z = shape[:, 0], shape[:, 1]
    near = across <= across.min() + _SAME_MM
    far = across >= across.max() - _SAME_MM
    return float(max(z[near].min(), z[far].min()) - z.min())


def _reach(shape: FloatArray, low: float, high: float) -> tuple[float, float]:
    """Least and greatest place of a silhouette between two heights, moved on to it where they miss it [mm]."""
    base, top = shape[:, 1].min(), shape[:, 1].max()
    low, high = min(max(low, base), top), max(min(high, top), base)
    ahead = np.roll(shape, -1, axis=0)
    between = (shape[:, 1] >= low - _HAIR_MM) & (shape[:, 1] <= high + _HAIR_MM)
    places = [shape[between, 0]]
    rise = ahead[:, 1] - shape[:, 1]
    for level in (low, high):
        crosses = (np.minimum(shape[:, 1], ahead[:, 1]) <= level) & (np.maximum(shape[:, 1], ahead[:, 1]) >= level)
        crosses &= np.abs(rise) > _HAIR_MM
        share = (level - shape[crosses, 1]) / rise[crosses]
        places.append(shape[crosses, 0] + share * (ahead[crosses, 0] - shape[crosses, 0]))
    found = np.concatenate(places)
    return float(found.min()), float(found.max())
