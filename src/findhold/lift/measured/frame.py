"""In which unit a scan is and which way is up: declared, fixed by the kind of file, plain from its size, or asked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from findhold.errors import BadInput
from findhold.geometry.footprint import convex_hull, polygon_area
from findhold.geometry.mesh.raw import FloatArray, RawMesh
from findhold.geometry.mesh.surface import Surface
from findhold.lift.measured.block import Known, answered, ask, rule

UNITS_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""Units a scan can be in, with their length in millimetres."""
_NAMES = {"mm": "millimetres", "cm": "centimetres", "m": "metres", "in": "inches"}
UPS = ("z", "y", "x", "-z", "-y", "-x")
_TURNS = {
    "z": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "-z": ((1, 0, 0), (0, -1, 0), (0, 0, -1)),
    "y": ((1, 0, 0), (0, 0, -1), (0, 1, 0)),
    "-y": ((1, 0, 0), (0, 0, 1), (0, -1, 0)),
    "x": ((0, 1, 0), (0, 0, 1), (1, 0, 0)),
    "-x": ((0, -1, 0), (0, 0, 1), (-1, 0, 0)),
}
"""Turns that bring each axis up, none of them a mirror: rows are the new x, y and z."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Unit and up of a scan, each with the reason it was taken."""

    unit: str
    unit_why: str
    up: str
    up_why: str
    middle: tuple[float, float, float]
    """Middle of the scan in its own unit, [file unit]."""

    def upright(self, corners: FloatArray) -> FloatArray:
        """Corners of shape (n, 3) [file unit] in millimetres from the middle, z up."""
        turned = np.array(_TURNS[self.up], dtype=np.float64) * UNITS_MM[self.unit]
        return np.asarray((corners - np.array(self.middle)) @ turned.T)

    def grain_mm(self, corners: FloatArray) -> float:
        """The step between neighbouring coordinates of a file that holds short numbers [mm]; 0 for long ones."""
        short = corners.astype(np.float32)
        if not (short == corners).all():
            return 0.0
        return float(np.spacing(np.float32(np.abs(short).max()))) * UNITS_MM[self.unit]


def settle_frame(raw: RawMesh, surface: Surface, declared: tuple[str | None, str | None], known: Known) -> Frame:
    """Unit and up of a scan.

    Parameters
    ----------
    raw, surface : the file, and the surface made of it. declared : unit and up as declared, None where they were not.
    known : the find, and answers to earlier questions.

    Raises
    ------
    BadInput : a unit or axis that is none. Mistakes : a question that only a person can settle.
    """
    low, high = surface.corners.min(axis=0), surface.corners.max(axis=0)
    spans = high - low
    unit, unit_why = _unit(raw, spans, _one_of(declared[0], tuple(UNITS_MM), "unit", known), known)
    up, up_why = _up(raw, surface, _one_of(declared[1], UPS, "axis", known), known)
    middle = (low + high) / 2.0
    return Frame(
        unit=unit,
        unit_why=unit_why,
        up=up,
        up_why=up_why,
        middle=(float(middle[0]), float(middle[1]), float(middle[2])),
    )


def _one_of(given: str | None, choices: tuple[str, ...], what: str, known: Known) -> str | None:
    if given is None:
        return None
    chosen = given.strip().lower().removeprefix("+")
    if chosen not in choices:
        wrong = f"{given!r} is no {what} of a scan"
        raise BadInput(wrong, where=known.find, limit=", ".join(choices), do="Choose one of them")
    return chosen


def _unit(raw: RawMesh, spans: FloatArray, declared: str | None, known: Known) -> tuple[str, str]:
    """The unit and why; asks when the size makes more than one plain, or the one declared impossible."""
    told = answered(known, "units", tuple(UNITS_MM)) or declared
    fixed = told or raw.unit
    if fixed is not None:
        size = spans * UNITS_MM[fixed]
        if float(size.max()) <= rule("size_most_mm") and float(size.max()) >= rule("size_least_mm"):
            return fixed, "declared" if told else f"{raw.kind} is in metres by its standard"
        others = [unit for unit in _likely(spans) if unit != fixed]
        said = f"in {_NAMES[fixed]} the scan is {_words(size)}"
    else:
        likely = _likely(spans)
        if len(likely) == 1:
            unit = likely[0]
            return unit, f"not declared: only in {unit} has it the size of a find, {_words(spans * UNITS_MM[unit])}"
        others = likely
        said = f"the file names no unit, and its greatest size is {float(spans.max()):.4g}"
    if not others:
        raise BadInput(
            f"{said}, which is no find in any unit",
            where=known.find,
            limit=f"{rule('likely_least_mm'):g} to {rule('likely_most_mm'):g} mm",
            do="Look at the scan's size in the program that made it, and export it in millimetres",
        )
    readings = "; ".join(f"{_NAMES[unit]}, {_words(spans * UNITS_MM[unit])}" for unit in others)
    raise ask("units", f"{known.find}: {said}. Which unit is it in: {readings}?", tuple(others))


def _likely(spans: FloatArray) -> list[str]:
    """Units in which the scan has the size of a find."""
    most = float(spans.max())
    return [unit for unit, mm in UNITS_MM.items() if rule("likely_least_mm") <= most * mm <= rule("likely_most_mm")]


def _up(raw: RawMesh, surface: Surface, declared: str | None, known: Known) -> tuple[str, str]:
    """The axis that points up and why; asks when another side is much flatter than the one taken for the base."""
    told = answered(known, "up", UPS) or declared
    if told is not None:
        return told, "declared"
    taken = raw.up or "z"
    why = f"{raw.kind} has {taken} up by its standard" if raw.up else "not declared: z is taken"
    flat = {up: _flat_base(surface, up) for up in UPS}
    best = max(UPS, key=lambda up: (flat[up], up == taken))
    if flat[best] < rule("base_flat_share") or flat[best] < rule("base_flat_ratio") * flat[taken]:
        return taken, why
    because = "its standard" if raw.up else "nobody said"
    text = (
        f"{known.find}: which way is up? With {taken} up ({because}) {flat[taken]:.0%} of the underside is flat, with "
        f"{best} up {flat[best]:.0%}: did it stand on that side?"
    )
    raise ask("up", text, (best, *(up for up in UPS if up != best)))


def _flat_base(surface: Surface, up: str) -> float:
    """How much of the plan lies on flat ground when an axis points up [fraction]."""
    axis = "xyz".index(up[-1])
    height = surface.corners[:, axis] * (-1.0 if up.startswith("-") else 1.0)
    low, high = height.min(), height.max()
    near = height <= low + rule("flat_slab") * (high - low)
    a, b, c = surface.triangles.T
    rows = surface.triangles[near[a] & near[b] & near[c]]
    if not len(rows):
        return 0.0
    plan = np.delete(surface.corners, axis, axis=1)
    p, q, r = (plan[rows[:, i]] for i in range(3))
    doubled = (q[:, 0] - p[:, 0]) * (r[:, 1] - p[:, 1]) - (r[:, 0] - p[:, 0]) * (q[:, 1] - p[:, 1])
    flat = float(np.abs(doubled).sum()) / 2.0
    around = float(np.prod(np.ptp(plan, axis=0)))
    if flat < 0.1 * around:  # a rectangle round the plan is at most twice the least one
        return flat / around if around > 0 else 0.0
    return min(1.0, flat / polygon_area(convex_hull(plan)))


def _words(size_mm: FloatArray) -> str:
    """Sizes in words, in the unit that reads best."""
    most = float(size_mm.max())
    if most >= 10_000.0:
        return " x ".join(f"{value / 1000:.3g}" for value in size_mm) + " m"
    return " x ".join(f"{value:.0f}" if value >= 100 else f"{value:.3g}" for value in size_mm) + " mm"
