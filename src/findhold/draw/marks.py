"""Marks: everything a drawing can hold, in millimetres on the paper (y grows downwards)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]
INK = "#1d2328"
FILM = "#fbfaf5"
ACCENT = "#b3541e"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """A stroke: width in millimetres, colour, dash lengths in millimetres (empty = solid)."""

    width_mm: float = 0.18
    colour: str = INK
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """An open line or a closed area through points, optionally filled or hatched."""

    points: tuple[Point, ...]
    closed: bool = False
    pen: Pen | None = Pen()
    fill: str | None = None
    hatch: str | None = None
    """Name of a hatch in draw.hatch; None for no hatch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A circle."""

    centre: Point
    radius_mm: float
    pen: Pen | None = Pen()
    fill: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One line of text; size_mm is the font size (the em) in millimetres; `at` is on the baseline."""

    at: Point
    text: str
    size_mm: float = 2.6
    anchor: Anchor = "start"
    bold: bool = False
    condensed: bool = False
    colour: str = INK
    turn_deg: float = 0.0
    """Clockwise turn about `at`."""
    halo: bool = False
    """Draw a film-coloured outline behind the letters so that hatching does not run through them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Matrix:
    """A code's modules (True = dark) without quiet zone, drawn as one area with crisp edges."""

    at: Point
    modules: tuple[tuple[bool, ...], ...]
    module_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """A path in SVG path syntax (absolute M, L, C, A, Z), for symbols; scaled by `scale`, moved to `at`."""

    d: str
    at: Point = (0.0, 0.0)
    scale: float = 1.0
    pen: Pen | None = Pen()
    fill: str | None = None


Mark = Path | Circle | Text | Matrix | Curve


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A sheet: its size in millimetres, its marks in drawing order, and a title for screen readers."""

    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...]
    title: str
    description: str = ""
