"""A shared box in words: its compartments with their finds, masses, padding, and the order of work."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from findhold.crate.dividers import Compartment
from findhold.crate.sharing import Sharer
from findhold.service.packing.crating.asking import SharedBox

LEAST_EMPTY_MM = 10.0
"""Empty length that is filled with foam of its own; less is filled with tissue (judgement)."""


def mass_words(box: SharedBox) -> tuple[str, ...]:
    """What the box weighs with its finds, and what it may carry."""
    finds_kg = sum(find.mass_kg for find in box.request.finds)
    said = [f"Empty box {box.tare_kg:.2f} kg, finds {finds_kg:.2f} kg: {box.tare_kg + finds_kg:.2f} kg, foam besides."]
    rated = box.request.max_load_kg
    said.append("No rated load is stated." if rated is None else f"It is rated for {rated:g} kg inside.")
    return tuple(said)


def find_words(box: SharedBox) -> tuple[str, ...]:
    """Each find with its mass, its compartment and the room over it."""
    return tuple(
        f"{_called(find)}, {find.mass_kg:.3f} kg: {_size(part.size_mm)}{', turned' if part.turned else ''}"
        for part, find in _pairs(box)
    )


def pad_words(box: SharedBox) -> tuple[str, ...]:
    """Foam to cut: base, dividers, and the block that fills an empty end."""
    request, plan = box.request, box.plan
    length, width, _ = request.inside_mm
    sizes = Counter((cut.length_mm, cut.height_mm, cut.thickness_mm) for cut in plan.dividers)
    said = [
        f"divider: {count} of {long:g} x {high:g} mm, {thick:g} mm thick"
        for (long, high, thick), count in sorted(sizes.items(), reverse=True)
    ]
    base = base_mm(box)
    if base:
        said.insert(0, f"base: 1 of {length:g} x {width:g} mm, {base:g} mm thick")
    if plan.spare_mm >= LEAST_EMPTY_MM:
        high = max(find.size_mm[2] for find in request.finds)
        said.append(f"empty end: 1 of {plan.spare_mm:g} x {width:g} mm, {high:g} mm high")
    return tuple(f"{words} ({request.divider})" for words in said)


def work_words(box: SharedBox) -> tuple[str, ...]:
    """The order of work, to tick off."""
    request, plan = box.request, box.plan
    base = base_mm(box)
    floor = ["Lay the base on the floor."] if base else []
    empty = [f"Set the foam of the empty end: {plan.spare_mm:g} mm at the right."]
    steps = [
        "Weigh the empty box with its lid; cut the foam.",
        *floor,
        "Set the dividers from the left, as drawn.",
        *(_laying(part, find, request.inside_mm[2] - base) for part, find in _pairs(box)),
        *(empty if plan.spare_mm >= LEAST_EMPTY_MM else []),
        "Close the lid: it must touch nothing. Weigh it; write mass, finds and contexts on the label.",
    ]
    return tuple(f"{number}. {text}" for number, text in enumerate(steps, 1))


def _laying(part: Compartment, find: Sharer, height_mm: float) -> str:
    along, across = _stands(part, find)
    beside = f"{part.size_mm[0] - along:g} and {part.size_mm[1] - across:g} mm"
    over = height_mm - find.size_mm[2]
    return (
        f"Lay {_called(find)} in its {_size(part.size_mm)}; crumpled tissue round it ({beside} to fill) and loosely "
        f"over it ({over:g} mm to the lid)."
    )


def _stands(part: Compartment, find: Sharer) -> tuple[float, float]:
    length, width, _ = find.size_mm
    return (width, length) if part.turned else (length, width)


def base_mm(box: SharedBox) -> float:
    """Thickness of foam under the finds: that of the dividers, where the box is high enough; else 0 [mm]."""
    thick = max((cut.thickness_mm for cut in box.plan.dividers), default=0.0)
    tallest = max(find.size_mm[2] for find in box.request.finds)
    return thick if box.request.inside_mm[2] >= tallest + 2 * thick else 0.0


def _pairs(box: SharedBox) -> Iterator[tuple[Compartment, Sharer]]:
    by = {find.number: find for find in box.request.finds}
    yield from ((part, by[part.find]) for part in box.plan.compartments)


def _called(find: Sharer) -> str:
    return f"{find.number} {find.what}".strip()


def _size(size_mm: tuple[float, float]) -> str:
    return f"compartment of {size_mm[0]:g} x {size_mm[1]:g} mm"
