"""Scale bar, north point, dimension lines, sheet frame and title block, as marks."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import FILM, INK, Mark, Path, Pen, Point, Text
from findhold.errors import BadInput

FINE = Pen(width_mm=0.13)
FIRM = Pen(width_mm=0.35)


@dataclass(frozen=True, slots=True, kw_only=True)
class TitleBlock:
    """What the corner of a sheet says: a heading, then lines of (name, value)."""

    heading: str
    lines: tuple[tuple[str, str], ...] = ()
    sheet: str = ""
    """Sheet number, such as "1 of 2"; empty for a single sheet."""
    width_mm: float = 78.0


def scale_bar(at: Point, *, denominator: float, longest_mm: float = 60.0) -> tuple[Mark, ...]:
    """A bar scale in round units: alternating black and white fields with figures, and the ratio in words.

    Parameters
    ----------
    at : top left corner of the bar [mm].
    denominator : 20 for a drawing at 1:20.
    longest_mm : the bar may be no longer than this on the paper [mm].

    Returns
    -------
    Marks about 9 mm high.

    Raises
    ------
    BadInput: the denominator is not above zero.
    """
    if not denominator > 0:
        raise BadInput(f"a scale of 1:{denominator:g} cannot be drawn", do="Give a scale such as 1:20")
    field_mm, count = _round_field(longest_mm * denominator)
    unit, per_unit = ("m", 1000.0) if field_mm * count >= 1000 else ("cm", 10.0)
    unit, per_unit = ("mm", 1.0) if field_mm * count < 100 else (unit, per_unit)
    x, y = at
    side = field_mm / denominator
    marks: list[Mark] = []
    for i in range(count):
        left, right = x + i * side, x + (i + 1) * side
        fill = INK if i % 2 == 0 else FILM
        marks.append(Path(points=((left, y), (right, y), (right, y + 1.6), (left, y + 1.6)), closed=True, fill=fill))
    for i in range(count + 1):
        label = f"{i * field_mm / per_unit:g}" + (f" {unit}" if i == count else "")
        anchor_x = x + i * side
        if i == count:
            anchor_x -= text_width_mm(f"{i * field_mm / per_unit:g}", 2.2) / 2
        marks.append(Text(at=(anchor_x, y + 4.4), text=label, size_mm=2.2, anchor="start" if i == count else "middle"))
    marks.append(Text(at=(x, y + 8.2), text=f"Scale 1:{denominator:g}", size_mm=2.4))
    return tuple(marks)


def _round_field(reach_mm: float) -> tuple[float, int]:
    """The longest bar of 4 or 5 round fields within reach: fields of 1, 2 or 5 times a power of ten."""
    best = (0.0, 4)
    for power in range(-2, 7):
        for step in (1.0, 2.0, 5.0):
            for count in (4, 5):
                field = step * 10.0**power
                if field * count <= reach_mm and field * count > best[0] * best[1]:
                    best = (field, count)
    return best


def north_point(at: Point, *, size_mm: float = 14.0, turn_deg: float = 0.0, label: str = "GN") -> tuple[Mark, ...]:
    """A north point: a slim arrow, half filled, with its letters (GN is grid north).

    Parameters
    ----------
    at : the arrow's foot [mm].
    size_mm : its length [mm].
    turn_deg : clockwise turn of north from the top of the sheet.
    label : which north it is; never leave it open.
    """
    half = size_mm * 0.14
    tip, foot, notch = (0.0, -size_mm), (half, 0.0), (0.0, -size_mm * 0.22)
    place = _turner(at, turn_deg)
    left, right = place((-half, 0.0)), place(foot)
    marks: list[Mark] = [
        Path(points=(place(tip), right, place(notch)), closed=True, fill=INK, pen=FINE),
        Path(points=(place(tip), left, place(notch)), closed=True, pen=FINE),
    ]
    lx, ly = place((0.0, -size_mm - 2.6))
    marks.append(Text(at=(lx, ly + 1.0), text=label, size_mm=2.8, anchor="middle", bold=True))
    return tuple(marks)


def _turner(at: Point, turn_deg: float) -> Callable[[Point], Point]:
    """Places points given from `at` with y downwards, turned clockwise."""
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return lambda p: (at[0] + p[0] * cos - p[1] * sin, at[1] + p[0] * sin + p[1] * cos)


def dimension(a: Point, b: Point, text: str, *, away_mm: float = 6.0, size_mm: float = 2.4) -> tuple[Mark, ...]:
    """A dimension line between two points, with extension lines, slanted ticks and the figure above it.

    Parameters
    ----------
    a, b : the two ends measured [mm].
    text : the figure with its unit.
    away_mm : how far the line stands off, to the left when looking from a to b; negative for the right.
    """
    length = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    nx, ny = uy, -ux
    side = math.copysign(1.0, away_mm)
    p = (a[0] + nx * away_mm, a[1] + ny * away_mm)
    q = (b[0] + nx * away_mm, b[1] + ny * away_mm)
    marks: list[Mark] = []
    for end, foot in ((a, p), (b, q)):
        gap = (end[0] + nx * side * 0.8, end[1] + ny * side * 0.8)
        over = (foot[0] + nx * side * 1.0, foot[1] + ny * side * 1.0)
        marks.append(Path(points=(gap, over), pen=FINE))
        tick = (ux + nx, uy + ny)
        marks.append(
            Path(
                points=(
                    (foot[0] - tick[0] * 0.7, foot[1] - tick[1] * 0.7),
                    (foot[0] + tick[0] * 0.7, foot[1] + tick[1] * 0.7),
                ),
                pen=FIRM,
            )
        )
    marks.append(Path(points=(p, q), pen=FINE))
    turn = math.degrees(math.atan2(uy, ux))
    turn = turn - 180 if turn > 90 - 1e-9 else turn + 180 if turn < -90 - 1e-9 else turn
    tx, ty = math.sin(math.radians(turn)), -math.cos(math.radians(turn))
    middle = ((p[0] + q[0]) / 2 + tx * 0.9, (p[1] + q[1]) / 2 + ty * 0.9)
    marks.append(Text(at=middle, text=text, size_mm=size_mm, anchor="middle", turn_deg=turn, halo=True))
    return tuple(marks)


def sheet_frame(width_mm: float, height_mm: float, block: TitleBlock, *, margin_mm: float = 10.0) -> tuple[Mark, ...]:
    """A drawing sheet's frame with its title block in the lower right corner.

    Parameters
    ----------
    width_mm, height_mm : the sheet [mm].
    block : what the corner says.
    margin_mm : frame line from the sheet's edge [mm].

    Returns
    -------
    Marks; the block is `title_block_height_mm(block)` high and stands inside the frame.
    """
    right, bottom = width_mm - margin_mm, height_mm - margin_mm
    frame = Path(points=_box(margin_mm, margin_mm, right, bottom), closed=True, pen=FIRM)
    left, top = right - block.width_mm, bottom - title_block_height_mm(block)
    marks: list[Mark] = [
        frame,
        Path(points=_box(left, top, right, bottom), closed=True, pen=FIRM, fill=FILM),
        Text(at=(left + 2.5, top + 5.6), text=block.heading, size_mm=3.6, bold=True),
    ]
    if block.sheet:
        marks.append(Text(at=(right - 2.5, top + 5.6), text=f"Sheet {block.sheet}", size_mm=2.4, anchor="end"))
    y = top + 8.0
    for name, value in block.lines:
        marks.append(Path(points=((left, y), (right, y)), pen=FINE))
        marks.append(Text(at=(left + 2.5, y + 3.5), text=name, size_mm=2.1))
        marks.append(Text(at=(left + 24.0, y + 3.5), text=value, size_mm=2.4))
        y += 5.0
    return tuple(marks)


def title_block_height_mm(block: TitleBlock) -> float:
    """Height of the title block [mm]."""
    return 8.0 + 5.0 * len(block.lines) + 0.5


def _box(left: float, top: float, right: float, bottom: float) -> tuple[Point, ...]:
    return ((left, top), (right, top), (right, bottom), (left, bottom))
