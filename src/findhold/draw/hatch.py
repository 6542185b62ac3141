"""Hatches: each material's pattern as real lines clipped to its area, the same on screen, in PDF, in print.

Told apart by direction, spacing and kind of mark, never by colour, so that they survive a greyscale copier.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.draw.marks import Point
from findhold.errors import UnknownName

Polyline = tuple[Point, ...]
Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruling:
    """One family of parallel lines, whole, broken or waved."""

    angle_deg: float
    gap_mm: float
    shift_mm: float = 0.0
    dash_mm: float = 0.0
    """Length of each stroke; 0 for whole lines."""
    space_mm: float = 0.0
    stagger_mm: float = 0.0
    """How far the strokes move along from one line to the next."""
    wave_mm: float = 0.0
    """Height of the wave; 0 for straight lines."""
    wave_length_mm: float = 2.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatch:
    """A material's pattern: its rulings, its pen, and the words for a legend."""

    rulings: tuple[Ruling, ...]
    pen_mm: float = 0.13
    looks: str


HATCHES: dict[str, Hatch] = {
    "plain": Hatch(rulings=(), looks="left blank"),
    "foam": Hatch(
        rulings=(Ruling(angle_deg=0, gap_mm=1.1, dash_mm=0.02, space_mm=1.88, stagger_mm=0.95),),
        pen_mm=0.42,
        looks="dots in staggered rows",
    ),
    "tissue": Hatch(rulings=(Ruling(angle_deg=0, gap_mm=1.2, wave_mm=0.3),), looks="waved lines"),
    "soil": Hatch(
        rulings=(
            Ruling(angle_deg=60, gap_mm=1.7, dash_mm=1.1, space_mm=2.3, stagger_mm=1.3),
            Ruling(angle_deg=-20, gap_mm=2.9, dash_mm=0.02, space_mm=2.2, stagger_mm=0.9),
        ),
        pen_mm=0.2,
        looks="short slanted strokes and specks",
    ),
    "wood": Hatch(
        rulings=(
            Ruling(angle_deg=0, gap_mm=1.8, dash_mm=14, space_mm=1.2, stagger_mm=5),
            Ruling(angle_deg=0, gap_mm=1.8, shift_mm=0.45, dash_mm=5, space_mm=3.5, stagger_mm=3.1),
        ),
        looks="grain: long level strokes in pairs",
    ),
    "metal": Hatch(
        rulings=(Ruling(angle_deg=45, gap_mm=2.0), Ruling(angle_deg=45, gap_mm=2.0, shift_mm=0.5)),
        looks="slanted lines in close pairs",
    ),
    "film": Hatch(
        rulings=(Ruling(angle_deg=45, gap_mm=0.7), Ruling(angle_deg=-45, gap_mm=0.7)),
        pen_mm=0.1,
        looks="close crossed lines",
    ),
    "board": Hatch(rulings=(Ruling(angle_deg=90, gap_mm=0.8),), looks="close upright lines"),
    "ceramic": Hatch(rulings=(Ruling(angle_deg=-45, gap_mm=1.0),), looks="slanted lines"),
    "water": Hatch(
        rulings=(Ruling(angle_deg=0, gap_mm=0.9, dash_mm=2.2, space_mm=1.4, stagger_mm=1.8),),
        looks="level dashes in staggered rows",
    ),
    "absorbent": Hatch(
        rulings=(
            Ruling(angle_deg=0, gap_mm=1.3, wave_mm=0.3, wave_length_mm=1.3),
            Ruling(angle_deg=0, gap_mm=1.3, shift_mm=0.65, dash_mm=0.02, space_mm=1.28),
        ),
        pen_mm=0.16,
        looks="close waves with dots between",
    ),
    "gel": Hatch(
        rulings=(
            Ruling(angle_deg=45, gap_mm=1.3, dash_mm=0.45, space_mm=1.39, stagger_mm=0.92),
            Ruling(angle_deg=-45, gap_mm=1.3, dash_mm=0.45, space_mm=1.39, stagger_mm=0.92),
        ),
        pen_mm=0.22,
        looks="small crosses and strokes",
    ),
    "days 14": Hatch(rulings=(Ruling(angle_deg=45, gap_mm=3.2),), pen_mm=0.11, looks="slanted lines far apart"),
    "days 7": Hatch(rulings=(Ruling(angle_deg=45, gap_mm=1.7),), pen_mm=0.12, looks="slanted lines"),
    "days 3": Hatch(rulings=(Ruling(angle_deg=45, gap_mm=0.95),), pen_mm=0.14, looks="close slanted lines"),
    "days 0": Hatch(
        rulings=(Ruling(angle_deg=45, gap_mm=0.85), Ruling(angle_deg=-45, gap_mm=0.85)),
        pen_mm=0.14,
        looks="close crossed lines, both ways",
    ),
    "band": Hatch(rulings=(Ruling(angle_deg=70, gap_mm=0.75),), pen_mm=0.09, looks="fine steep lines leaning right"),
    "other band": Hatch(
        rulings=(Ruling(angle_deg=-70, gap_mm=1.25),), pen_mm=0.09, looks="fine steep lines leaning left, wider apart"
    ),
}


def hatch_named(name: str) -> Hatch:
    """One hatch by its name; raises UnknownName with near names."""
    if name not in HATCHES:
        raise UnknownName("hatch", name, list(HATCHES))
    return HATCHES[name]


def hatch_lines(name: str, outline: Sequence[Point]) -> tuple[Polyline, ...]:
    """The lines of a hatch inside a closed outline.

    Parameters
    ----------
    name : a key of HATCHES.
    outline : corners of the area [mm], not repeated at the end; may be concave (even-odd rule).

    Returns
    -------
    Polylines [mm], all inside the outline; the pattern is fixed to the paper, so areas side by side match.

    Raises
    ------
    UnknownName: there is no such hatch.
    """
    hatch = hatch_named(name)
    return tuple(line for ruling in hatch.rulings for line in _ruled(ruling, outline))


def _ruled(ruling: Ruling, outline: Sequence[Point]) -> list[Polyline]:
    """Turn the outline so that the ruling is level, cut each line to it, and turn the pieces back."""
    cos, sin = math.cos(math.radians(ruling.angle_deg)), math.sin(math.radians(ruling.angle_deg))
    turned = [(x * cos + y * sin, y * cos - x * sin) for x, y in outline]
    low, high = min(y for _, y in turned), max(y for _, y in turned)
    corners = np.array(turned, dtype=np.float64)
    edges = np.hstack([corners, np.roll(corners, -1, axis=0)])
    row = math.ceil((low - ruling.shift_mm) / ruling.gap_mm)
    pieces: list[Polyline] = []
    while (level := row * ruling.gap_mm + ruling.shift_mm) < high:
        if ruling.wave_mm:
            pieces += _waved(ruling, turned, level)
        else:
            for left, right in _spans(edges, level):
                pieces += [((a, level), (b, level)) for a, b in _dashed(ruling, row, left, right)]
        row += 1
    return [tuple((x * cos - y * sin, x * sin + y * cos) for x, y in piece) for piece in pieces]


def _spans(edges: Array, level: float) -> list[tuple[float, float]]:
    """Where a level line runs inside the outline (even-odd); edges as rows of x0, y0, x1, y1."""
    crossed = edges[(edges[:, 1] <= level) != (edges[:, 3] <= level)]
    x0, y0, x1, y1 = crossed.T
    crossings = np.sort(x0 + (level - y0) / (y1 - y0) * (x1 - x0)).tolist()
    return list(zip(crossings[::2], crossings[1::2], strict=True))


def _dashed(ruling: Ruling, row: int, left: float, right: float) -> list[tuple[float, float]]:
    """The strokes of one span: the whole span, or the dashes that fall inside it."""
    if not ruling.dash_mm:
        return [(left, right)]
    period = ruling.dash_mm + ruling.space_mm
    start = (row * ruling.stagger_mm) % period
    at = math.floor((left - start) / period) * period + start
    strokes = []
    while at < right:
        a, b = max(at, left), min(at + ruling.dash_mm, right)
        if b - a > min(0.3, 0.9 * ruling.dash_mm):
            strokes.append((a, b))
        at += period
    return strokes


def _waved(ruling: Ruling, outline: Sequence[Point], level: float) -> list[Polyline]:
    """One waved line, kept where it lies inside the outline (even-odd)."""
    step = ruling.wave_length_mm / 8
    starts = np.asarray(outline, dtype=np.float64)
    ends = np.roll(starts, -1, axis=0)
    near = (np.minimum(starts[:, 1], ends[:, 1]) <= level + ruling.wave_mm) & (
        np.maximum(starts[:, 1], ends[:, 1]) >= level - ruling.wave_mm
    )
    numbers = np.arange(math.floor(starts[:, 0].min() / step), math.ceil(starts[:, 0].max() / step) + 1)
    x = numbers * step
    y = level + ruling.wave_mm * np.sin(2 * math.pi * x / ruling.wave_length_mm)
    inside = np.zeros(len(x), dtype=bool)
    for (x0, y0), (x1, y1) in zip(starts[near], ends[near], strict=True):
        if y0 != y1:
            inside ^= ((y0 <= y) != (y1 <= y)) & (x0 + (y - y0) / (y1 - y0) * (x1 - x0) < x)
    # a run begins and ends where the state changes
    changes = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(np.int8)))
    runs = zip(changes[::2], changes[1::2], strict=True)
    return [tuple(zip(x[a:b].tolist(), y[a:b].tolist(), strict=True)) for a, b in runs if b - a > 1]
