"""The plan: finds, samples and edges at scale on a sheet with grid, levels, north, bar scale and title block."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from findhold.dates.instants import day_for_people
from findhold.draw.lettering import CAP_HEIGHT, text_width_mm
from findhold.draw.marks import FILM, Drawing, Mark, Path, Pen, Point, Text
from findhold.draw.scale import TitleBlock, north_point, scale_bar, sheet_frame, title_block_height_mm
from findhold.errors import BadInput, Mistakes
from findhold.geometry.placing import Block, Box, Placed, place_blocks
from findhold.geometry.points import Extent, Plan, extent, grid_lines, round_scale, round_up_125
from findhold.register.plot_points import Distance, PlotOutline, PlotPoint, distances, located, position_questions
from findhold.register.plot_symbols import (
    FINE,
    known_shape,
    level_mark,
    level_size_mm,
    spot,
    symbol,
    symbol_size_mm,
)

PAPERS_MM = {"A4": (297.0, 210.0), "A3": (420.0, 297.0)}  # ISO 216, lying
STANDING_SYMBOLS: Mapping[str, str] = {
    "registered": "triangle",
    "bulk": "square",
    "sample": "diamond",
    "context": "square brackets",
    "peg": "plain",
}
_MARGIN = 10.0
_COLUMN = 78.0
_RULER = 6.0  # strip for the coordinates left of and below the plan [mm]
_PADDING = 14.0  # kept free round the points for their numbers [mm]
_TICK_SPACING = 28.0  # grid lines are no closer than this on the paper [mm]
_SINGLE_POINT_SCALE = 20  # common practice: finds are planned at 1:20
_LINE = 3.6  # line feed of the column's text [mm]
_SMALL = 2.1
_OVER_EDGE = Pen(width_mm=0.3)
_BROKEN = Pen(width_mm=0.2, dash_mm=(2.0, 1.2))
_TAPE = Pen(width_mm=0.13, dash_mm=(0.8, 0.8))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSheet:
    """What a plan says about itself, and how it is drawn."""

    title: str
    site_code: str
    sheet_no: str
    site_name: str = ""
    grid: str
    """Name of the grid with its code, such as British National Grid (EPSG:27700)."""
    vertical_datum: str
    author: str
    drawn_on: date
    scale: int | None = None
    """Denominator; None for the largest round scale that fits."""
    paper: Literal["A4", "A3"] = "A4"
    symbols: Mapping[str, str] = field(default_factory=lambda: STANDING_SYMBOLS)
    """Shape for each kind of point; kinds left out keep the standing one."""
    distances: tuple[tuple[str, str], ...] = ()
    north: str = "grid"


@dataclass(frozen=True, slots=True, kw_only=True)
class _View:
    """From metres on the grid to millimetres on the sheet."""

    window: Box
    centre: Plan
    scale: int

    def place(self, at: Plan) -> Point:
        """A grid position on the sheet [mm]; north is up."""
        per_m = 1000.0 / self.scale
        left, top, right, bottom = self.window
        return (
            (left + right) / 2 + (at[0] - self.centre[0]) * per_m,
            (top + bottom) / 2 - (at[1] - self.centre[1]) * per_m,
        )

    def reach(self) -> Extent:
        """The ground the window shows."""
        half_w = (self.window[2] - self.window[0]) / 2 * self.scale / 1000
        half_h = (self.window[3] - self.window[1]) / 2 * self.scale / 1000
        e, n = self.centre
        return Extent(west_m=e - half_w, east_m=e + half_w, south_m=n - half_h, north_m=n + half_h)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnSheet:
    """A point on a drawn plan: its spot [mm], and the box round its number: left, top, right, bottom [mm]."""

    kind: str
    number: str
    spot: Point
    box: Box


def draw_plan(points: Sequence[PlotPoint], outlines: Sequence[PlotOutline], sheet: PlanSheet) -> Drawing:
    """Draw a plan of finds and edges at scale; parameters, errors and sources as `draw_plan_with_places`."""
    return draw_plan_with_places(points, outlines, sheet)[0]


def draw_plan_with_places(
    points: Sequence[PlotPoint], outlines: Sequence[PlotOutline], sheet: PlanSheet
) -> tuple[Drawing, tuple[OnSheet, ...]]:
    """Draw a plan of finds and edges at scale; every point is on it, by its position or on its list.

    Not for points of different grids: bring them to one grid first.

    Parameters
    ----------
    points, outlines : what to draw; grid coordinates and levels in metres.
    sheet : what the sheet says, its scale and paper.

    Returns
    -------
    Drawing, A4 or A3 lying, grid north up; and where each point with a position stands on it.

    Raises
    ------
    Mistakes : positions that only a person can settle (swapped, or more than a kilometre away).
    BadInput : nothing has a position, the scale is too large for the paper, no room for the numbers.
    UnknownName : a paper or a shape that is not known, or a distance to a point that is not there.

    Source
    ------
    Symbols, grid ticks, north, bar scale, levels, author, date and sheet number: common practice [common-practice];
    identification in the upper right corner and scales of field drawings: [kna-os04].
    """
    questions = position_questions(points, outlines)
    if questions:
        raise Mistakes(questions=list(questions))
    shapes = {kind: known_shape(shape) for kind, shape in {**STANDING_SYMBOLS, **sheet.symbols}.items()}
    _check_paper(sheet.paper)
    view = _view(points, outlines, sheet)
    asked = distances(points, sheet.distances)
    tapes, tape_boxes, aside = _tapes(points, sheet.distances, asked, view)
    known = [point for point in points if point.plan is not None]
    blocks = [_block(point, shapes, view) for point in known]
    words = [*((line.name, _name_block(line, view)) for line in outlines), *aside]
    everything = [*blocks, *(block for _, block in words)]
    placed = place_blocks(everything, view.window, tape_boxes)
    marks = [*_grid(view), *_edges(outlines, view), *tapes]
    for block, place in zip(everything, placed, strict=True):
        marks.append(Path(points=(block.point, place.leader_end), pen=FINE))
    for point, block in zip(known, blocks, strict=True):
        marks.extend(spot(point.kind, block.point))
    for point, place in zip(known, placed[: len(known)], strict=True):
        marks.extend(_number(point, shapes[point.kind], place))
    for (text, _), place in zip(words, placed[len(known) :], strict=True):
        marks.extend(_written(text, place.box))
    width, height = PAPERS_MM[sheet.paper]
    corner = _title_block(sheet, view.scale)
    marks.extend(sheet_frame(width, height, corner, margin_mm=_MARGIN))
    marks.extend(_column(points, asked, sheet, view.scale, title_block_height_mm(corner)))
    drawing = Drawing(
        width_mm=width,
        height_mm=height,
        marks=tuple(marks),
        title=f"{sheet.site_code}, sheet {sheet.sheet_no}: {sheet.title}",
        description=f"Plan at 1:{view.scale} of {len(known)} points and {len(outlines)} edges, {sheet.grid}.",
    )
    places = zip(known, blocks, placed, strict=False)
    return drawing, tuple(OnSheet(kind=p.kind, number=p.number, spot=b.point, box=at.box) for p, b, at in places)


def _check_paper(paper: str) -> None:
    if paper not in PAPERS_MM:
        raise BadInput(f"there is no paper {paper!r} here", limit=" or ".join(PAPERS_MM), do="Choose one of these")


def _view(points: Sequence[PlotPoint], outlines: Sequence[PlotOutline], sheet: PlanSheet) -> _View:
    """Window, middle and scale of the plan."""
    width, height = PAPERS_MM[sheet.paper]
    window = (_MARGIN + _RULER, _MARGIN, width - _MARGIN - _COLUMN, height - _MARGIN - _RULER)
    ground = extent([p.plan for p in points if p.plan is not None] + [c for line in outlines for c in line.points])
    room_w, room_h = window[2] - window[0] - 2 * _PADDING, window[3] - window[1] - 2 * _PADDING
    fitting = round_scale(ground.width_m, ground.height_m, room_w, room_h)
    if sheet.scale is None:
        alone = ground.width_m == ground.height_m == 0
        return _View(window=window, centre=ground.centre, scale=_SINGLE_POINT_SCALE if alone else fitting)
    if sheet.scale < 1:
        raise BadInput(f"1:{sheet.scale} is not a scale", limit="1:1 or smaller", do="Give a scale such as 20 for 1:20")
    needed_w, needed_h = ground.width_m * 1000 / sheet.scale, ground.height_m * 1000 / sheet.scale
    if needed_w > room_w or needed_h > room_h:
        raise BadInput(
            f"at 1:{sheet.scale} the plan is {needed_w:.0f} × {needed_h:.0f} mm",
            where=f"sheet {sheet.sheet_no}",
            limit=f"{room_w:.0f} × {room_h:.0f} mm on {sheet.paper}",
            do=f"Draw it at 1:{fitting}" + (" or on A3" if sheet.paper == "A4" else ""),
        )
    return _View(window=window, centre=ground.centre, scale=sheet.scale)


def _grid(view: _View) -> list[Mark]:
    """Edge of the plan, crosses on round coordinates, and the coordinates on the ruler strips."""
    left, top, right, bottom = view.window
    reach = view.reach()
    step = round_up_125(_TICK_SPACING * view.scale / 1000)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    marks: list[Mark] = [Path(points=((left, _MARGIN), (left, bottom), (right, bottom), (right, _MARGIN)), pen=FINE)]
    eastings = grid_lines(reach.west_m, reach.east_m, step)
    northings = grid_lines(reach.south_m, reach.north_m, step)
    for easting in eastings:
        x, _ = view.place((easting, 0.0))
        marks.append(Path(points=((x, bottom), (x, bottom + 1.4)), pen=FINE))
        text = f"{_thousands(easting, decimals)} E"
        half = text_width_mm(text, _SMALL) / 2
        if left + half <= x <= right - half:
            marks.append(Text(at=(x, bottom + 4.2), text=text, size_mm=_SMALL, anchor="middle"))
    for northing in northings:
        _, y = view.place((0.0, northing))
        marks.append(Path(points=((left, y), (left - 1.4, y)), pen=FINE))
        text = f"{_thousands(northing, decimals)} N"
        half = text_width_mm(text, _SMALL) / 2
        if top + half <= y <= bottom - half:
            marks.append(Text(at=(left - 2.2, y), text=text, size_mm=_SMALL, anchor="middle", turn_deg=-90.0))
    for easting in eastings:
        for northing in northings:
            x, y = view.place((easting, northing))
            marks.append(Path(points=((max(x - 1.5, left), y), (min(x + 1.5, right), y)), pen=FINE))
            marks.append(Path(points=((x, max(y - 1.5, top)), (x, min(y + 1.5, bottom))), pen=FINE))
    return marks


def _thousands(value_m: float, decimals: int) -> str:
    """A coordinate with its thousands apart: 451 383.5."""
    return f"{value_m:,.{decimals}f}".replace(",", "\u00a0")


def _edges(outlines: Sequence[PlotOutline], view: _View) -> list[Mark]:
    return [
        Path(
            points=tuple(view.place(corner) for corner in line.points),
            closed=line.closed,
            pen=_BROKEN if line.broken else _OVER_EDGE,
        )
        for line in outlines
    ]


def _tapes(
    points: Sequence[PlotPoint], pairs: Sequence[tuple[str, str]], asked: Sequence[Distance], view: _View
) -> tuple[list[Mark], list[Box], list[tuple[str, Block]]]:
    """Requested distances as broken lines with their values, the values' boxes, and values to be set aside."""
    marks: list[Mark] = []
    boxes: list[Box] = []
    aside: list[tuple[str, Block]] = []
    for pair, distance in zip(pairs, asked, strict=True):
        ends = [located(points, number).plan for number in pair]
        a, b = (view.place(end) for end in ends if end is not None)
        text = f"{distance.plan_m:.2f} m"
        width, height = text_width_mm(text, _SMALL) + 0.8, _SMALL * CAP_HEIGHT + 0.8
        marks.append(Path(points=(a, b), pen=_TAPE))
        for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
            x, y = a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])
            box = (x - width / 2, y - height / 2, x + width / 2, y + height / 2)
            ends_covered = any(box[0] - 1 < p[0] < box[2] + 1 and box[1] - 1 < p[1] < box[3] + 1 for p in (a, b))
            if not ends_covered and not any(_covers(box, other) for other in boxes):
                boxes.append(box)
                marks.extend(_written(text, box))
                break
        else:
            middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
            aside.append((text, Block(point=middle, width_mm=width, height_mm=height, leader_in_mm=0.4)))
    return marks, boxes, aside


def _written(text: str, box: Box) -> tuple[Mark, ...]:
    """Small text on a patch of ground, so that no line runs through it."""
    left, top, right, bottom = box
    corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    return (
        Path(points=corners, closed=True, pen=None, fill=FILM),
        Text(at=(left + 0.4, bottom - 0.4), text=text, size_mm=_SMALL),
    )


def _covers(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _block(point: PlotPoint, shapes: Mapping[str, str], view: _View) -> Block:
    """The size of a point's number with its level beside it."""
    width, height = symbol_size_mm(shapes[point.kind], point.number)
    level = (0.0, 0.0) if point.level_m is None else level_size_mm(point.level_m)
    beside = level[0] + 0.6 if point.level_m is not None else 0.0
    at = view.place(point.plan or (0.0, 0.0))
    return Block(point=at, width_mm=width + beside, height_mm=max(height, level[1]), leader_in_mm=width / 2)


def _number(point: PlotPoint, shape: str, place: Placed) -> list[Mark]:
    """A point's number in its shape on the side of its spot, and its level on the other."""
    left, top, right, bottom = place.box
    width, height = symbol_size_mm(shape, point.number)
    symbol_left = right - width if place.mirrored else left
    middle = (top + bottom) / 2
    marks = list(symbol(shape, point.number, symbol_left, middle - height / 2))
    if point.level_m is not None:
        level_w, _ = level_size_mm(point.level_m)
        beside = right - width - 0.6 - level_w if place.mirrored else left + width + 0.6
        low = min(height / 2 - 1.1, 1.2) if shape == "triangle" else 0.0
        marks.extend(level_mark(point.level_m, beside, middle + low))
    return marks


def _name_block(line: PlotOutline, view: _View) -> Block:
    """The name of an edge, beside its most northerly corner."""
    corner = max(line.points, key=lambda at: (at[1], at[0]))
    width = text_width_mm(line.name, _SMALL) + 0.8
    return Block(point=view.place(corner), width_mm=width, height_mm=_SMALL * CAP_HEIGHT + 0.8, leader_in_mm=0.4)


def _title_block(sheet: PlanSheet, scale: int) -> TitleBlock:
    """Heading and lines of the title block; long values run on to a second line."""
    heading_room = _COLUMN - 5.0 - text_width_mm(f"Sheet {sheet.sheet_no}", 2.4) - 3.0
    fits = text_width_mm(sheet.title, 3.6, bold=True) <= heading_room
    facts = [] if fits else [("plan of", sheet.title)]
    facts += [
        ("site", f"{sheet.site_code} {sheet.site_name}".strip()),
        ("scale", f"1:{scale} on {sheet.paper}"),
        ("grid", sheet.grid),
        ("levels", sheet.vertical_datum),
        ("drawn by", sheet.author),
        ("date", day_for_people(sheet.drawn_on)),
    ]
    lines: list[tuple[str, str]] = []
    for name, value in facts:
        for number, part in enumerate(_wrapped(value, _COLUMN - 26.5, 2.4)):
            lines.append((name if number == 0 else "", part))
    return TitleBlock(
        heading=sheet.title if fits else sheet.site_code, lines=tuple(lines), sheet=sheet.sheet_no, width_mm=_COLUMN
    )


def _wrapped(text: str, width_mm: float, size_mm: float) -> list[str]:
    """Text cut at spaces into lines that fit; a word wider than the line stands alone."""
    lines: list[str] = [""]
    for word in text.split(" "):  # not at the firm spaces that hold a word to its number
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width_mm(longer, size_mm) > width_mm:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _column(
    points: Sequence[PlotPoint], asked: Sequence[Distance], sheet: PlanSheet, scale: int, block_mm: float
) -> list[Mark]:
    """The column beside the plan: identification, lists, north and bar scale above the title block."""
    width, height = PAPERS_MM[sheet.paper]
    left, right = width - _MARGIN - _COLUMN, width - _MARGIN
    foot = height - _MARGIN - block_mm
    marks: list[Mark] = [
        Path(points=((left, _MARGIN), (left, foot)), pen=FINE),
        Text(
            at=(right - 2.5, _MARGIN + 5.5),
            text=f"{sheet.site_code} · sheet {sheet.sheet_no}",
            size_mm=3.2,
            anchor="end",
            bold=True,
        ),
    ]
    marks.extend(scale_bar((left + 4.0, foot - 11.0), denominator=scale, longest_mm=46.0))
    marks.extend(north_point((right - 9.0, foot - 8.0), size_mm=13.0, label="GN" if sheet.north == "grid" else "N"))
    marks.append(Text(at=(right - 9.0, foot - 3.2), text=f"{sheet.north} north", size_mm=_SMALL, anchor="middle"))
    lines = _lists(points, asked)
    top, bottom = _MARGIN + 12.0, foot - 30.0
    room = int((bottom - top) / _LINE)
    if len(lines) > room:
        raise BadInput(
            f"the lists beside the plan need {len(lines)} lines",
            where=f"sheet {sheet.sheet_no}",
            limit=f"{room} lines",
            do="Ask for fewer distances, enter the missing positions, or plot fewer points on one sheet",
        )
    names = _names(points)
    if names and len(lines) + len(names) + 1 <= room:
        lines += [("", False), *names] if lines else names
    for number, (text, bold) in enumerate(lines):
        marks.append(Text(at=(left + 3.0, top + number * _LINE), text=text, size_mm=_SMALL, bold=bold))
    return marks


def _lists(points: Sequence[PlotPoint], asked: Sequence[Distance]) -> list[tuple[str, bool]]:
    """Lines (text, bold) that must be on the sheet: points without position, and the distances asked for."""
    lines: list[tuple[str, bool]] = []
    missing = [point for point in points if point.plan is None]
    if missing:
        lines.append(("Not plotted: no position", True))
        numbers = ", ".join(f"{_spoken(point)} {point.number}".replace(" ", "\u00a0") for point in missing)
        lines += [(part, False) for part in _wrapped(numbers, _COLUMN - 6.0, _SMALL)]
    if asked:
        lines += [("", False)] if lines else []
        lines.append(("Distances in plan (with the levels)", True))
    for distance in asked:
        slope = "no level" if distance.slope_m is None else f"{distance.slope_m:.2f} m"
        lines.append((f"{distance.a} to {distance.b}: {distance.plan_m:.2f} m ({slope})", False))
    return lines


def _names(points: Sequence[PlotPoint]) -> list[tuple[str, bool]]:
    """Lines naming what the numbers are; pegs need no name."""
    named = [point for point in points if point.label and point.plan is not None and point.kind != "peg"]
    if not named:
        return []
    lines = [("On the plan", True)]
    for point in named:
        whole = _wrapped(f"{_spoken(point)} {point.number}: {point.label}", _COLUMN - 6.0, _SMALL)
        lines += [(part if number == 0 else f"   {part}", False) for number, part in enumerate(whole)]
    return lines


def _spoken(point: PlotPoint) -> str:
    return {"registered": "find", "bulk": "bulk find"}.get(point.kind, point.kind)
