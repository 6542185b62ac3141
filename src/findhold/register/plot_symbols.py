"""Symbols of the plan: a find's number in its shape, the level mark, the peg; sizes known before they are drawn."""

from __future__ import annotations

import math

from findhold.draw.lettering import CAP_HEIGHT, text_width_mm
from findhold.draw.marks import FILM, INK, Circle, Mark, Path, Pen, Point, Text
from findhold.errors import UnknownName

NUMBER_MM = 2.3
LEVEL_MM = 1.9
SHAPES = ("triangle", "square", "diamond", "circle", "square brackets", "round brackets", "plain")
OUTLINE = Pen(width_mm=0.25)
FINE = Pen(width_mm=0.13)
DOT_MM = 0.45
_CAP = NUMBER_MM * CAP_HEIGHT
_AIR = 0.55  # between a number and the line round it [mm]
_BRACKETS = {"square brackets": "[]", "round brackets": "()"}
_LEVEL_SIDE = 1.5  # side of the level's triangle [mm]


def known_shape(shape: str) -> str:
    """The shape itself; raises UnknownName with near names when it is none of SHAPES."""
    if shape not in SHAPES:
        raise UnknownName("symbol", shape, list(SHAPES))
    return shape


def shown_number(shape: str, number: str) -> str:
    """The number as written in its shape: brackets are added where the shape is brackets and the number has none."""
    if shape in _BRACKETS and not number.startswith(("[", "(")):
        return f"{_BRACKETS[shape][0]}{number}{_BRACKETS[shape][1]}"
    return number


def symbol_size_mm(shape: str, number: str) -> tuple[float, float]:
    """Width and height of the box round a symbol [mm]."""
    wide = text_width_mm(shown_number(shape, number), NUMBER_MM) + 2 * _AIR
    high = _CAP + 2 * _AIR
    if shape == "triangle":
        side = (wide + 2 * high / math.sqrt(3)) * 1.0
        return side, side * math.sqrt(3) / 2
    if shape == "square":
        return max(wide, high), high
    if shape == "circle":
        across = math.hypot(wide - _AIR, high - _AIR) + _AIR
        return across, across
    if shape == "diamond":
        return wide + high * 1.4, high / (1 - wide / (wide + high * 1.4))
    return wide, high


def symbol(shape: str, number: str, left: float, top: float) -> tuple[Mark, ...]:
    """A number in its shape, filled with the ground so that lines do not run through it.

    Parameters
    ----------
    shape : one of SHAPES.
    number : as in the register.
    left, top : corner of the box round the symbol [mm].
    """
    width, height = symbol_size_mm(shape, number)
    right, bottom, x, y = left + width, top + height, left + width / 2, top + height / 2
    baseline = y + _CAP / 2
    outline: Mark | None = None
    if shape == "triangle":
        outline = _area((x, top), (right, bottom), (left, bottom))
        baseline = bottom - _AIR
    elif shape == "square":
        outline = _area((left, top), (right, top), (right, bottom), (left, bottom))
    elif shape == "diamond":
        outline = _area((x, top), (right, y), (x, bottom), (left, y))
    elif shape == "circle":
        outline = Circle(centre=(x, y), radius_mm=width / 2, pen=OUTLINE, fill=FILM)
    text = Text(at=(x, baseline), text=shown_number(shape, number), size_mm=NUMBER_MM, anchor="middle", halo=True)
    return (text,) if outline is None else (outline, text)


def level_size_mm(level_m: float) -> tuple[float, float]:
    """Width and height of a level mark with its value [mm]."""
    return _LEVEL_SIDE + 0.7 + text_width_mm(level_text(level_m), LEVEL_MM), LEVEL_MM * CAP_HEIGHT + 2 * _AIR


def level_text(level_m: float) -> str:
    """A level to the centimetre, as levels are read."""
    return f"{level_m:.2f}"


def level_mark(level_m: float, left: float, middle: float) -> tuple[Mark, ...]:
    """A level: a triangle standing on its point on a short line, and the value [m] beside it.

    Parameters
    ----------
    level_m : the level [m]. left, middle : left edge and middle height of the mark on the sheet [mm].
    """
    foot = middle + _LEVEL_SIDE / 2
    x = left + _LEVEL_SIDE / 2
    head = foot - _LEVEL_SIDE * 0.8
    width, height = level_size_mm(level_m)
    top, right = middle - height / 2 + 0.2, left + width
    patch = ((left, top), (right, top), (right, middle + height / 2 - 0.2), (left, middle + height / 2 - 0.2))
    return (
        Path(points=patch, closed=True, pen=None, fill=FILM),
        Path(points=((left, head), (left + _LEVEL_SIDE, head), (x, foot)), closed=True, pen=FINE, fill=FILM),
        Path(points=((left - 0.1, foot), (left + _LEVEL_SIDE + 0.1, foot)), pen=FINE),
        Text(
            at=(left + _LEVEL_SIDE + 0.7, middle + LEVEL_MM * CAP_HEIGHT / 2),
            text=level_text(level_m),
            size_mm=LEVEL_MM,
            halo=True,
        ),
    )


def spot(kind: str, at: Point) -> tuple[Mark, ...]:
    """The exact spot: a dot, or for a peg a cross in a ring."""
    if kind != "peg":
        return (Circle(centre=at, radius_mm=DOT_MM, pen=None, fill=INK),)
    x, y = at
    return (
        Circle(centre=at, radius_mm=1.1, pen=FINE),
        Path(points=((x - 1.8, y), (x + 1.8, y)), pen=FINE),
        Path(points=((x, y - 1.8), (x, y + 1.8)), pen=FINE),
    )


def _area(*points: Point) -> Path:
    return Path(points=points, closed=True, pen=OUTLINE, fill=FILM)
