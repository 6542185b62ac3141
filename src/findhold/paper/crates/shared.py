"""The plan of a shared box: compartments with their finds, and the dividers between them, to scale from above."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from findhold.draw.handling import handling_mark
from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import FILM, Drawing, Mark, Path, Pen, Point, Text
from findhold.draw.scale import dimension, scale_bar
from findhold.errors import BadInput

SCALES = (1, 2, 5, 10, 20)
_LEFT_MM, _TOP_MM, _RIGHT_MM, _BOTTOM_MM = 4.0, 11.0, 11.0, 17.0
_THIN, _FIRM, _DASHED = Pen(width_mm=0.15), Pen(width_mm=0.35), Pen(width_mm=0.15, dash_mm=(1.2, 0.9))

Rectangle = tuple[float, float, float, float]
"""Corner along and across the box, then length and width [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedPlan:
    """A shared box to be drawn: its name, inside [mm], compartments by find, and dividers with their material's hatch.

    compartments : number, name, compartment, and length and width of the find as it stands [mm].
    """

    name: str
    inside_mm: tuple[float, float]
    compartments: tuple[tuple[str, str, Rectangle, tuple[float, float]], ...]
    dividers: tuple[Rectangle, ...]
    hatch: str


def shared_drawing(plan: SharedPlan, *, width_mm: float = 110.0) -> Drawing:
    """The plan of a shared box; finds are dashed in the middle of their compartments.

    Parameters
    ----------
    plan : what is in the box.
    width_mm : the drawing may be no wider than this [mm]; the largest usual scale is taken.

    Raises
    ------
    BadInput : the box is too long for every usual scale.
    """
    room = width_mm - _LEFT_MM - _RIGHT_MM
    scale = next((s for s in SCALES if plan.inside_mm[0] / s <= room), None)
    if scale is None:
        raise BadInput(
            f"a box {plan.inside_mm[0]:g} mm long cannot be drawn", where=plan.name, do="Check the sizes of the box"
        )
    length, width = plan.inside_mm[0] / scale, plan.inside_mm[1] / scale
    low, high = (_LEFT_MM, _TOP_MM), (_LEFT_MM + length, _TOP_MM + width)
    marks: list[Mark] = [
        Path(points=_outline(low, high), closed=True, pen=_FIRM, fill=FILM),
        *dimension((low[0], high[1]), high, f"{plan.inside_mm[0]:g}", away_mm=-4.0, size_mm=2.2),
        *dimension(high, (high[0], low[1]), f"{plan.inside_mm[1]:g}", away_mm=-4.0, size_mm=2.2),
    ]
    for divider in plan.dividers:
        corners = _outline(*_on_paper(divider, scale, width))
        marks.append(Path(points=corners, closed=True, pen=_THIN, fill=FILM, hatch=plan.hatch))
    for number, what, part, find in plan.compartments:
        marks += _compartment((number, what), part, _on_paper(part, scale, width), (find[0] / scale, find[1] / scale))
    marks += [
        *handling_mark("this way up", (_LEFT_MM, 0.8), 7.5),
        Text(at=(_LEFT_MM + 9.0, 4.4), text=plan.name, size_mm=3.2, bold=True),
        Text(at=(_LEFT_MM + 9.0, 8.2), text="seen from above, mm; dashed: the find", size_mm=2.3),
        *scale_bar((_LEFT_MM, high[1] + 7.4), denominator=scale, longest_mm=min(40.0, 0.7 * length)),
    ]
    return Drawing(
        width_mm=_LEFT_MM + max(length, 62.0) + _RIGHT_MM,
        height_mm=_TOP_MM + width + _BOTTOM_MM,
        marks=tuple(marks),
        title=f"{plan.name}, compartments, seen from above, 1:{scale}",
        description="Finds " + ", ".join(number for number, *_ in plan.compartments),
    )


def _on_paper(part: Rectangle, scale: float, width: float) -> tuple[Point, Point]:
    """Top left and bottom right on the paper; the box's front is below."""
    x, y, length, across = part
    left, bottom = _LEFT_MM + x / scale, _TOP_MM + width - y / scale
    return (left, bottom - across / scale), (left + length / scale, bottom)


def _compartment(
    words: Sequence[str], part: Rectangle, corners: tuple[Point, Point], find: tuple[float, float]
) -> list[Mark]:
    """The find dashed in the middle, its number and, where there is room, its name and the compartment's size."""
    low, high = corners
    x, y = (low[0] + high[0]) / 2, (low[1] + high[1]) / 2
    inner = ((x - find[0] / 2, y - find[1] / 2), (x + find[0] / 2, y + find[1] / 2))
    room = high[0] - low[0] - 1.6
    size = next((s for s in (4.2, 3.4, 2.6, 2.0) if text_width_mm(words[0], s, bold=True) <= room), 1.5)
    marks: list[Mark] = [
        Path(points=_outline(*inner), closed=True, pen=_DASHED),
        Text(at=(x, y + size * 0.2), text=words[0], size_mm=size, anchor="middle", bold=True, halo=True),
    ]
    if words[1] and text_width_mm(words[1], 2.1, condensed=True) <= room and high[1] - low[1] > 10:
        marks.append(Text(at=(x, y + 3.6), text=words[1], size_mm=2.1, anchor="middle", condensed=True, halo=True))
    sizes = f"{part[2]:g} x {part[3]:g}"
    fits = next((s for s in (2.1, 1.8) if text_width_mm(sizes, s, condensed=True) <= room), None)
    if fits is not None and high[1] - low[1] > 8:
        marks.append(Text(at=(x, high[1] - 0.9), text=sizes, size_mm=fits, anchor="middle", condensed=True, halo=True))
    return marks


def _outline(low: Point, high: Point) -> tuple[Point, ...]:
    return (low, (high[0], low[1]), high, (low[0], high[1]))
