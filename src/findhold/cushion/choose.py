"""Foam for one face: thickness from the sheets in stock, whole face or pads behind a board, with low, best and high.

A design stands when its best figure keeps the declared limit; one whose high edge keeps it too is taken first. The
curve is never used outside its fitted energies, and never on foam thinner than was tested.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations_with_replacement

import numpy as np
import numpy.typing as npt

from findhold.cushion.curve import Curve
from findhold.cushion.inputs import Spread
from findhold.physics.cushioning import G0, energy_density_pa, peak_g, usable_stress_pa
from findhold.tables.cushions import CushionRules

Array = npt.NDArray[np.float64]
PADS = (4, 2, 1)
"""Pads behind a board, steadiest first; a block stands on four of them or on foam under its whole base, on no fewer."""
BASE = "base"
_HAIR = 1e-9
_PAD_STEP_MM = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """A face of the block: which, how many of its kind, and its sides [mm]."""

    name: str
    many: int
    length_mm: float
    width_mm: float

    @property
    def area_m2(self) -> float:
        """Whole area [m2]."""
        return self.length_mm * self.width_mm * 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """What every face is asked to do: mass [kg], drop [m], limit_g [1], with the curve and the sheets at hand."""

    mass_kg: Spread
    drop_m: Spread
    limit_g: float
    """Declared limit [1]."""
    curve: Curve
    foam_mm: tuple[float, ...]
    rules: CushionRules

    @property
    def weight_n(self) -> float:
        """Weight of the block at its best figure [N]."""
        return self.mass_kg.best * G0


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Foam for one face. way: "full" (whole face) or "pads" (square pieces behind a stiff board)."""

    way: str
    thickness_mm: float
    sheets_mm: tuple[float, ...]
    """What it is laid up of, thickest first."""
    area_cm2: float
    pads: int
    pad_mm: float
    """Side of a square pad [mm]; 0 for the whole face."""
    static_stress_kpa: float
    g: Spread
    """Peak deceleration [1]."""
    holds_high: bool
    """Whether the high edge keeps the limit too."""


def faces_of(block_mm: tuple[float, float, float]) -> tuple[Face, ...]:
    """The four kinds of face of a block: base, top, sides (two) and ends (two)."""
    length, width, height = block_mm
    return (
        Face(name="base", many=1, length_mm=length, width_mm=width),
        Face(name="sides", many=2, length_mm=length, width_mm=height),
        Face(name="ends", many=2, length_mm=width, width_mm=height),
        Face(name="top", many=1, length_mm=length, width_mm=width),
    )


def layups(foam_mm: tuple[float, ...], rules: CushionRules, least_mm: float) -> tuple[tuple[float, ...], ...]:
    """Thicknesses the stock can be laid up to, thinnest first; of two ways to one thickness, the fewer sheets.

    Parameters
    ----------
    foam_mm : sheets in stock [mm]. rules : most sheets and greatest thickness. least_mm : thinner is not offered [mm].
    """
    best: dict[float, tuple[float, ...]] = {}
    for count in range(1, rules.most_layers + 1):
        for sheets in combinations_with_replacement(sorted(set(foam_mm), reverse=True), count):
            thick = sum(sheets)
            if least_mm - _HAIR <= thick <= rules.largest_thickness_mm + _HAIR:
                best.setdefault(round(thick, 6), sheets)
    return tuple(best[thick] for thick in sorted(best))


def g_spread(stop: Stop, area_m2: npt.ArrayLike, thickness_mm: float) -> tuple[Array, Array, Array]:
    """Low, best and high of the peak deceleration for bearing areas; nan where the curve does not reach.

    Parameters
    ----------
    stop : what is asked. area_m2 : shape (n,) [m2]. thickness_mm : as laid, before creep [mm].

    Returns
    -------
    (low, best, high), each shape (n,) [1]. best is nan when its own energy is outside the fitted range; high is nan
    when a combination of mass, drop and creep on the unsafe side is. The low edge leaves such combinations out.
    """
    area = np.asarray(area_m2, dtype=np.float64).reshape(-1, 1, 1, 1)
    mass = np.array([stop.mass_kg.low, stop.mass_kg.best, stop.mass_kg.high]).reshape(1, 3, 1, 1)
    drop = np.array([stop.drop_m.low, stop.drop_m.best, stop.drop_m.high]).reshape(1, 1, 3, 1)
    thick = thickness_mm / 1000.0 * np.array([1.0, 1.0 - stop.rules.creep_fraction]).reshape(1, 1, 1, 2)
    stress = mass * G0 / area
    energy = energy_density_pa(stress, drop, thick)
    low_pa, high_pa = stop.curve.energy_low_kpa * 1000.0, stop.curve.energy_high_kpa * 1000.0
    held = (energy >= low_pa * (1.0 - _HAIR)) & (energy <= high_pa * (1.0 + _HAIR))
    middle = peak_g(stop.curve.law, stress, drop, thick)
    under, over = stop.curve.band(energy, stop.rules.unknown_scatter_fraction)
    best = np.where(held[:, 1, 1, 0], middle[:, 1, 1, 0], np.nan)
    unsafe = held[:, :, 1:, :].all(axis=(1, 2, 3))
    worst = np.where(unsafe, (middle * over)[:, :, 1:, :].max(axis=(1, 2, 3)), np.nan)
    least = np.where(held, middle * under, np.inf).min(axis=(1, 2, 3))
    return np.where(np.isinf(least), np.nan, least), best, worst


def design_face(face: Face, stop: Stop) -> Design | None:
    """The foam for one face: the steadiest of the thin ones whose high edge keeps the limit.

    Whole faces come before four, two and one pad as long as they cost no more than one sheet of thickness; the base
    gets four pads at least. Where no high edge keeps the limit, the design whose high edge is lowest is taken.

    Parameters
    ----------
    face : the face. stop : mass, drop, limit, curve and sheets.

    Returns
    -------
    Design, or None where no sheet and no area keeps the limit even at its best figure; `refusals` says why.
    """
    least_mm = stop.curve.least_thickness_mm
    found: list[Design] = []
    for sheets in layups(stop.foam_mm, stop.rules, least_mm):
        sure_mm = min((design.thickness_mm for design in found if design.holds_high), default=math.inf)
        if sum(sheets) > sure_mm + stop.rules.steady_extra_mm + _HAIR:
            break
        here = (_full(face, stop, sheets), _pads(face, stop, sheets))
        found += [design for design in here if design is not None]
    sure = [design for design in found if design.holds_high]
    if sure:
        return min(sure, key=lambda design: (design.way != "full", -design.pads, design.thickness_mm))
    return min(found, key=lambda design: (_above(design.g.high), design.thickness_mm), default=None)


def thinnest_at_best(face: Face, stop: Stop) -> Design | None:
    """The thinnest foam that keeps the limit at the best figures, whatever its high edge."""
    for sheets in layups(stop.foam_mm, stop.rules, stop.curve.least_thickness_mm):
        found = _full(face, stop, sheets) or _pads(face, stop, sheets)
        if found is not None:
            return found
    return None


def pad_floor_mm2(thickness_mm: float, rules: CushionRules) -> float:
    """Least area of one pad that does not buckle: (1.33 t)^2 [mm2] (Kersten)."""
    return (rules.buckling_ratio * thickness_mm) ** 2


def _above(high: float) -> float:
    return math.inf if math.isnan(high) else high


def _full(face: Face, stop: Stop, sheets: tuple[float, ...]) -> Design | None:
    thick = sum(sheets)
    low, best, high = (float(edge[0]) for edge in g_spread(stop, face.area_m2, thick))
    if not best <= stop.limit_g or face.area_m2 * 1e6 < pad_floor_mm2(thick, stop.rules):
        return None
    shape = _Shape(way="full", area_m2=face.area_m2, pads=1, pad_mm=0.0)
    return _design(stop, sheets, shape, Spread(low=low, best=best, high=high))


def _pads(face: Face, stop: Stop, sheets: tuple[float, ...]) -> Design | None:
    """The steadiest set of pads that does not buckle and keeps the limit; its area where the high edge is lowest."""
    thick = sum(sheets)
    for many in _counts(face):
        area = _pad_area_m2(face, stop, thick, many)
        if area is None:
            continue
        low, best, high = (float(edge[0]) for edge in g_spread(stop, area, thick))
        shape = _Shape(way="pads", area_m2=area, pads=many, pad_mm=math.sqrt(area * 1e6 / many))
        return _design(stop, sheets, shape, Spread(low=low, best=best, high=high))
    return None


def _counts(face: Face) -> tuple[int, ...]:
    """How many pads a face may have, steadiest first."""
    return PADS[:1] if face.name == BASE else PADS


def _pad_area_m2(face: Face, stop: Stop, thick: float, many: int) -> float | None:
    """Area of all pads [m2] by whole steps of their side, or None where they buckle, do not fit or do not help."""
    floor = math.sqrt(pad_floor_mm2(thick, stop.rules))
    columns, rows = {4: (2, 2), 2: (2, 1), 1: (1, 1)}[many]
    room = min(face.length_mm / columns, face.width_mm / rows)
    first = math.ceil(floor / _PAD_STEP_MM - _HAIR) * _PAD_STEP_MM
    sides = np.arange(first, room + _HAIR, _PAD_STEP_MM)
    if sides.size == 0:
        return None
    areas = many * sides**2 * 1e-6
    _, best, high = g_spread(stop, areas, thick)
    good = best <= stop.limit_g
    if not good.any():
        return None
    # A high edge that cannot be told is worse than any that can.
    rank = np.where(good, np.where(np.isnan(high), 1e6 + best, high), np.inf)
    return float(areas[int(rank.argmin())])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shape:
    way: str
    area_m2: float
    pads: int
    pad_mm: float


def _design(stop: Stop, sheets: tuple[float, ...], shape: _Shape, g: Spread) -> Design:
    return Design(
        way=shape.way,
        thickness_mm=sum(sheets),
        sheets_mm=sheets,
        area_cm2=shape.area_m2 * 1e4,
        pads=shape.pads,
        pad_mm=shape.pad_mm,
        static_stress_kpa=stop.weight_n / shape.area_m2 / 1000.0,
        g=g,
        holds_high=g.high <= stop.limit_g,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """Why a face gets no foam: code, the sentence that holds for every face, and this face's own figure in it."""

    code: str
    """unsteady, presses, too stiff, too thin, buckles, outside, no foam."""
    text: str
    figure: str


def refusals(face: Face, stop: Stop) -> tuple[Refusal, ...]:
    """Why no foam in stock will do for a face: each reason with the figure it rests on.

    Not for a face that has a design. "Too stiff at any thickness" and "too thin at any area" are different findings
    and call for different things: a softer foam, or a thicker one.
    """
    law, said = stop.curve.law, _unsteady(face, stop)
    pressed_pa = stop.limit_g * stop.weight_n / face.area_m2
    if pressed_pa <= law.a_pa:
        most_cm2 = stop.limit_g * stop.weight_n / law.a_pa * 1e4
        text = (
            f"too stiff at any thickness on the whole face: G x s would have to pass {law.a_pa / 1000:.1f} kPa, so the "
            f"foam may bear on {most_cm2:.0f} cm² at most"
        )
        said.append(Refusal(code="too stiff", text=text, figure=f"G x s {pressed_pa / 1000:.1f} kPa"))
    offered = layups(stop.foam_mm, stop.rules, stop.curve.least_thickness_mm)
    least_mm = law.least_factor * stop.drop_m.best / stop.limit_g * 1000.0
    if not offered:
        return (*said, _nothing_offered(stop))
    thick = sum(offered[-1])
    if least_mm <= thick + _HAIR:
        return (*said, _pad_refusal(face, stop, next(sum(s) for s in offered if sum(s) >= least_mm - _HAIR)))
    text = (
        f"too thin at any area: the best loading of this foam needs {least_mm:.0f} mm, and the stock can be laid up to "
        f"{thick:g} mm"
    )
    return (*said, Refusal(code="too thin", text=text, figure=""))


def _unsteady(face: Face, stop: Stop) -> list[Refusal]:
    """Fewer pads would keep the limit, but a block does not stand on them."""
    if face.name != BASE or thinnest_at_best(replace(face, name="top"), stop) is None:
        return []
    text = (
        "only one pad, or two in line, would keep the limit, and a block does not stand on those: it wants four under "
        "its board, or foam under its whole base"
    )
    return [Refusal(code="unsteady", text=text, figure="")]


def _nothing_offered(stop: Stop) -> Refusal:
    least = stop.curve.least_thickness_mm
    stock = ", ".join(f"{mm:g}" for mm in stop.foam_mm) or "none"
    text = f"no sheet in stock ({stock} mm) can be used: curves do not hold for less than {least:g} mm of foam"
    return Refusal(code="no foam", text=text, figure="")


def _pad_refusal(face: Face, stop: Stop, thick: float) -> Refusal:
    """Thick enough, and still nothing: pads buckle, or the curve does not reach that loading."""
    floor_cm2 = pad_floor_mm2(thick, stop.rules) / 100.0
    most_cm2 = min(usable_area_cm2(stop, thick)[1], min(face.length_mm, face.width_mm) ** 2 / 100.0)
    if not math.isnan(most_cm2) and floor_cm2 > most_cm2:
        text = f"pads of {thick:g} mm would buckle: one needs {floor_cm2:.0f} cm², more than may bear"
        return Refusal(code="buckles", text=text, figure=f"at most {most_cm2:.0f} cm²")
    low, high = stop.curve.energy_low_kpa, stop.curve.energy_high_kpa
    text = f"the loadings that would do lie outside the curve's fitted energies ({low:.0f} to {high:.0f} kPa)"
    return Refusal(code="outside", text=text, figure="")


def usable_area_cm2(stop: Stop, thickness_mm: float) -> tuple[float, float]:
    """Least and greatest bearing area that keep the limit at best figures, inside the fitted range; nan for none."""
    low, high = usable_stress_pa(stop.curve.law, stop.limit_g, stop.drop_m.best, thickness_mm / 1000.0)
    if math.isnan(low):
        return math.nan, math.nan
    per = thickness_mm / stop.drop_m.best  # Pa of stress for each kPa of energy
    low, high = max(low, stop.curve.energy_low_kpa * per), min(high, stop.curve.energy_high_kpa * per)
    if low > high:
        return math.nan, math.nan
    return stop.weight_n / high * 1e4, stop.weight_n / low * 1e4
