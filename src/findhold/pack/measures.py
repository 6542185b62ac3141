"""Check measures before they are used: sizes that cannot be, and shapes that contradict the block or the box."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from findhold.errors import Mistake, UnknownName
from findhold.pack.inputs import CushionNeed, Outline, PlanInputs, StockBox
from findhold.tables.materials import packing_material

MOST_MM = 10_000.0
_STEEL_KG_PER_M3 = 7900.0
"""A box heavier than a solid lump of steel of its outside was given in centimetres."""
_SLACK_MM, _SLACK = 2.0, 0.02
"""How far a profile or outline may pass the three sizes: measuring, or 2 %."""
_UNIT_MM = 10.0
"""A box whose longest inside is shorter than this was given in metres or centimetres."""


def mistake(where: str, column: str, value: str, wrong: str, allowed: str) -> Mistake:
    """One mistake, as it is listed."""
    return Mistake(file=where, row=None, column=column, value=value, wrong=wrong, allowed=allowed)


def sizes(where: str, name: str, given: tuple[float, ...]) -> Iterator[Mistake]:
    """Three sizes that are there, above zero and not too large."""
    shown = " x ".join(f"{size:g}" for size in given)
    if len(given) != 3 or not all(math.isfinite(size) and 0 < size <= MOST_MM for size in given):
        limit = f"three sizes above 0 and up to {MOST_MM:g} mm"
        yield mistake(where, name, shown, "a size is missing, zero, negative or too large", limit)


def above_zero(where: str, name: str, value: float, unit: str) -> Iterator[Mistake]:
    """A number above zero."""
    if not (math.isfinite(value) and value > 0):
        yield mistake(where, name, f"{value:g}", "cannot be", f"a number above 0 {unit}")


def shape_mistakes(inputs: PlanInputs) -> Iterator[Mistake]:
    """Profile, outlines, centre of gravity and cushion that contradict the block's three sizes."""
    block = inputs.block_mm
    if block is None or any(sizes(inputs.find, "block_mm", block)):
        return
    find, (length, width, height) = inputs.find, block
    yield from _profile_mistakes(inputs)
    for name, outline, along, across in (
        ("plan_outline_mm", inputs.plan_outline_mm, length, width),
        ("side_outline_mm", inputs.side_outline_mm, length, height),
        ("end_outline_mm", inputs.end_outline_mm, width, height),
    ):
        yield from _outline_mistakes(find, name, outline, (along, across))
    if inputs.cog_mm is not None and not all(
        0 <= x <= _most(side) for x, side in zip(inputs.cog_mm, block, strict=True)
    ):
        shown = ", ".join(f"{x:g}" for x in inputs.cog_mm)
        yield mistake(find, "cog_mm", shown, "lies outside the block", " x ".join(f"0 to {side:g}" for side in block))
    if inputs.cushion is not None:
        yield from _cushion_mistakes(find, inputs.cushion)
    if inputs.lid_water_g is not None and not 0 <= inputs.lid_water_g <= 100_000:
        yield mistake(find, "lid_water_g", f"{inputs.lid_water_g:g}", "cannot be", "0 to 100000 g")
    rated, carried = inputs.place_max_load_kg, inputs.place_carried_kg
    if rated is not None:
        yield from above_zero(find, "place_max_load_kg", rated, "kg")
    if not (math.isfinite(carried) and carried >= 0):
        yield mistake(find, "place_carried_kg", f"{carried:g}", "cannot be", "0 kg or more")


def stock_mistakes(stock: tuple[StockBox, ...]) -> Iterator[Mistake]:
    """Everything in a stock list that cannot be or contradicts itself."""
    seen: set[str] = set()
    for box in stock:
        where = box.called
        if box.name in seen:
            yield mistake(where, "name", box.name, "two boxes have this name", "a name for each kind of box")
        seen.add(box.name)
        bad = [
            *sizes(where, "inside_mm", box.inside_mm),
            *above_zero(where, "wall_mm", box.wall_mm, "mm"),
        ]
        yield from bad
        if not (math.isfinite(box.tare_kg) and box.tare_kg >= 0):
            yield mistake(where, "tare_kg", f"{box.tare_kg:g}", "cannot be", "0 kg or more")
        if box.max_load_kg is not None:
            yield from above_zero(where, "max_load_kg", box.max_load_kg, "kg")
        for name, value in (("planned", box.planned), ("count", box.count)):
            if value is not None and value < 0:
                yield mistake(where, name, str(value), "cannot be", "0 or more, or left empty")
        if not bad:
            yield from _box_contradictions(box)


def usable_stock(stock: tuple[StockBox, ...]) -> tuple[tuple[StockBox, ...], tuple[str, ...]]:
    """The boxes of a stock list that can be planned with, and a sentence for each that is left out.

    Not for a list given with one request: there a wrong box is an error (stock_mistakes).
    """
    good, told = [], []
    for box in stock:
        wrong = [f"{item.column} {item.value}: {item.wrong}" for item in stock_mistakes((box,))]
        try:
            packing_material(box.wall, where=box.called)
        except UnknownName as error:
            wrong.append(str(error))
        if wrong:
            told.append(
                f"{box.called} is left out, until its row is mended (import FILE --correct --reason WHY): {wrong[0]}"
            )
        else:
            good.append(box)
    return tuple(good), tuple(told)


def _box_contradictions(box: StockBox) -> Iterator[Mistake]:
    """Sizes that are numbers and still cannot be a box."""
    where, (length, width, height) = box.called, box.inside_mm
    shown = f"{length:g} x {width:g} x {height:g}"
    if max(box.inside_mm) < _UNIT_MM:
        yield mistake(where, "inside_mm", shown, "no find goes into that: metres or centimetres?", "inside sizes in mm")
    elif box.outside_over_all_mm is None and _denser_than_steel(box):
        wrong = f"an empty box of {box.tare_kg:g} kg and that size would be denser than steel: centimetres as mm?"
        yield mistake(where, "inside_mm", shown, wrong, "inside sizes in mm, empty mass in kg")
    if box.base_mm is not None:
        low = box.base_mm
        if not all(math.isfinite(side) and 0 < side <= MOST_MM for side in low):
            yield mistake(where, "base_mm", f"{low[0]:g} x {low[1]:g}", "cannot be", "two sizes above 0 mm")
    if not 0 <= box.corner_mm <= min(length, width) / 2:
        allowed = f"0 to half the shorter side, {min(length, width) / 2:g} mm"
        yield mistake(where, "corner_mm", f"{box.corner_mm:g}", "is no radius of this box's corners", allowed)
    over = box.outside_over_all_mm
    if over is not None:
        yield from sizes(where, "outside_mm", over)
        if any(out < inside for out, inside in zip(over, box.inside_mm, strict=True)):
            said = " x ".join(f"{side:g}" for side in over)
            yield mistake(
                where, "outside_mm", said, "is smaller than the inside", f"at least {shown} mm, lid and handles in"
            )


def _denser_than_steel(box: StockBox) -> bool:
    length, width, height = box.outside_mm
    return box.tare_kg > length * width * height * 1e-9 * _STEEL_KG_PER_M3


def _profile_mistakes(inputs: PlanInputs) -> Iterator[Mistake]:
    profile, block = inputs.profile_mm, inputs.block_mm
    if not profile or block is None:
        return
    heights = [row[0] for row in profile]
    if not all(math.isfinite(value) for row in profile for value in row) or min(min(row[1:]) for row in profile) <= 0:
        yield mistake(
            inputs.find, "profile_mm", "", "has a size that is zero, negative or no number", "sizes above 0 mm"
        )
        return
    if any(high <= low for low, high in itertools.pairwise(heights)) or heights[0] < 0:
        shown = ", ".join(f"{height:g}" for height in heights)
        yield mistake(inputs.find, "profile_mm", shown, "its heights do not rise", "heights over the base, from it up")
    for side, name in enumerate(("length", "width"), 1):
        most = max(row[side] for row in profile)
        if most > _most(block[side - 1]):
            wrong = f"is wider than the block's {name}"
            yield mistake(inputs.find, "profile_mm", f"{most:g}", wrong, f"up to {block[side - 1]:g} mm (block_mm)")
    if heights[-1] > _most(block[2]):
        wrong = "reaches higher than the block"
        yield mistake(inputs.find, "profile_mm", f"{heights[-1]:g}", wrong, f"up to {block[2]:g} mm (block_mm)")


def _outline_mistakes(find: str, name: str, outline: Outline, wanted: tuple[float, float]) -> Iterator[Mistake]:
    """An outline must have the extents of the block's two sizes, within the slack."""
    if not outline:
        return
    if len(outline) < 3 or not all(math.isfinite(x) for corner in outline for x in corner):
        yield mistake(find, name, f"{len(outline)} corners", "is no outline", "three corners or more, in mm")
        return
    spans = [max(c[axis] for c in outline) - min(c[axis] for c in outline) for axis in (0, 1)]
    if any(abs(span - size) > _most(size) - size for span, size in zip(spans, wanted, strict=True)):
        shown = f"{spans[0]:.0f} x {spans[1]:.0f}"
        limit = f"{wanted[0]:g} x {wanted[1]:g} mm (block_mm)"
        yield mistake(find, name, shown, "does not have the block's sizes", limit)


def _cushion_mistakes(find: str, cushion: CushionNeed) -> Iterator[Mistake]:
    for name in ("bed_mm", "side_mm", "top_mm", "board_mm", "area_mm2"):
        value = getattr(cushion, name)
        if not (math.isfinite(value) and value >= 0):
            yield mistake(find, f"cushion {name}", f"{value:g}", "cannot be", "0 or more")
    if cushion.area_mm2 > 0 and cushion.pads < 1:
        yield mistake(find, "cushion pads", str(cushion.pads), "cannot be", "1 or more")


def reaches(top_mm: float, height_mm: float) -> bool:
    """Whether a profile's highest row is at the block's top, within the slack of measuring."""
    return _most(top_mm) >= height_mm


def _most(size: float) -> float:
    return size + max(_SLACK_MM, _SLACK * size)
