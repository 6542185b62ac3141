"""Step pictures: the order of work in small pictures to one scale; each shows what is laid so far, the new thing firm.

A picture is told by its part of the work, its numbers on the list of steps, and the sentences of these steps.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import FILM, INK, Circle, Drawing, Mark, Path, Pen, Point, Text
from findhold.draw.spacing import LINE, RISE, wrapped
from findhold.errors import BadInput
from findhold.paper import boxmarks, boxsigns
from findhold.paper.boxmarks import Stand
from findhold.paper.cut import Cut, cut_of
from findhold.paper.dimensions import round_ratio, written_mm
from findhold.paper.packed import SectionSpec, check_section

Part = Literal["before", "box", "bed", "damp", "wrap", "lower", "sides", "water", "top", "lid"]
PARTS: tuple[Part, ...] = ("before", "box", "bed", "damp", "wrap", "lower", "sides", "top", "lid")
WET_PARTS: tuple[Part, ...] = ("before", "box", "bed", "sides", "damp", "wrap", "lower", "water", "top", "lid")
"""The order for a find under water: the foam first, then the open bag, the find, the water."""
TITLES: dict[Part, str] = {
    "before": "Before the box",
    "box": "Empty box",
    "bed": "Bed",
    "damp": "Sheets and water",
    "wrap": "Wrap the block",
    "lower": "Lower it",
    "sides": "Check the gap, fill the sides",
    "water": "Water, seal the bag",
    "top": "Cover",
    "lid": "Lid, labels, mass",
}
_WET_TITLES: dict[Part, str] = {"sides": "Foam round it", "wrap": "Open bag, tray", "lower": "Lower it, check the gap"}
_NEW_PEN_MM = 0.45
_THIN_MM = 2.0
_OLD_PEN = Pen(width_mm=0.12)
_TITLE_MM = 2.5
_FIGURE_MM = 2.1
_GUTTER_MM = 4.0
_HEAD_MM = 4.6
"""Number and title of a picture [mm]."""
_FIGURE_ROW_MM = 3.4
_OVER_MM = 6.6
"""Room over the rim for hands, lid and label [mm]."""
_UNDER_MM = 2.6
_LEAST_SIGN_MM = 4.5
_TIE = "\x01"
_FIGURE_AND_UNIT = re.compile(r"(\d) (g|kg|mg|ml|mL|mm|cm|L|%|°C)(?!\w)")
"""A figure is not parted from its unit at the end of a line."""
LEAST_LETTERS_MM = 1.8


@dataclass(frozen=True, slots=True, kw_only=True)
class StepPicture:
    """One picture: its part of the work, what is written in it, and the steps of the list that it shows."""

    part: Part
    figure: str = ""
    """Quantities of what is new: "3 sheets, 4.4 g each", "22 mm"."""
    steps: tuple[tuple[int, str], ...] = ()
    """Number and sentence of each step."""
    water: bool = True
    """Whether water goes on to the sheets."""
    under_water: bool = False
    """Whether the find lies under water in its bag."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepGrid:
    """How pictures stand on the paper: width [mm], pictures in a row, letters of the sentences [mm]."""

    width_mm: float
    per_row: int = 4
    letters_mm: float = 2.1
    picture_mm: float = 34.0
    """The most a picture of the box may be high [mm], without the room over and under it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cells:
    """What all cells share: width [mm], scale 1:ratio, lines of figures over the picture, letters [mm]."""

    wide_mm: float
    ratio: int
    figure_rows: int
    letters_mm: float

    @property
    def over_mm(self) -> float:
        """From the top of a cell to the rim of its box [mm]."""
        return _HEAD_MM + self.figure_rows * LINE * _FIGURE_MM + _OVER_MM

    def depth_mm(self, cut: Cut, part: Part) -> float:
        """From the top of a cell to its first sentence [mm]; what comes before the box has no picture."""
        if part == "before":
            return _HEAD_MM + 0.8
        return self.over_mm + cut.inside_mm[1] / self.ratio + _UNDER_MM


def steps_drawing(spec: SectionSpec, pictures: Sequence[StepPicture], grid: StepGrid) -> Drawing:
    """All pictures in rows, at the largest round scale that fits, on as much height as their sentences need.

    Parameters
    ----------
    spec : the packed box [mm].
    pictures : in the order of work.
    grid : the paper.

    Returns
    -------
    The drawing; its height is what it takes.

    Raises
    ------
    BadInput : there is no picture, the parts do not add up, letters below 1.8 mm, or cells too narrow for the box.
    """
    check_section(spec)
    where = f"steps of {spec.box_name}"
    if not pictures:
        raise BadInput("there is no step to draw", where=where, do="Plan the box first")
    if grid.letters_mm < LEAST_LETTERS_MM:
        limit = f"at least {LEAST_LETTERS_MM:g} mm"
        raise BadInput(f"letters of {grid.letters_mm:g} mm", where=where, limit=limit, do="Give it more paper")
    cut = cut_of(spec, "along")
    wide = (grid.width_mm - (grid.per_row - 1) * _GUTTER_MM) / grid.per_row
    rows = max(len(wrapped(picture.figure, wide, _FIGURE_MM)) for picture in pictures)
    ratio = _ratio(cut, (wide, grid.picture_mm))
    cells = _Cells(wide_mm=wide, ratio=ratio, figure_rows=rows, letters_mm=grid.letters_mm)
    marks: list[Mark] = []
    y = 0.0
    for start in range(0, len(pictures), grid.per_row):
        row = pictures[start : start + grid.per_row]
        for place, picture in enumerate(row):
            at = (place * (wide + _GUTTER_MM), y)
            marks += _cell(cut, picture, cells, at) + _heading(picture, cells, at, start + place + 1)
        lines = LINE * grid.letters_mm
        y += max(cells.depth_mm(cut, one.part) + len(_sentences(one, cells)) * lines for one in row) + 3.0
    words = f"Pictures at 1:{ratio}, section along the box. Firm and hatched: what is new. Numbers: the list of steps."
    marks += [
        Text(at=(0.0, y + 1.0 + n * 2.4), text=line, size_mm=1.9)
        for n, line in enumerate(wrapped(words, grid.width_mm, 1.9))
    ]
    return Drawing(
        width_mm=grid.width_mm,
        height_mm=y + 2.2 + 2.4 * (len(wrapped(words, grid.width_mm, 1.9)) - 1),
        marks=tuple(marks),
        title=f"Order of work for {spec.block_label} in {spec.box_name}, scale 1:{ratio}",
        description=" ".join(f"{n}. {_title(one)}: {_spoken(one)}" for n, one in enumerate(pictures, 1)),
    )


def step_drawing(spec: SectionSpec, picture: StepPicture, *, width_mm: float, height_mm: float) -> Drawing:
    """One picture alone, without its sentences, as large as it goes.

    Parameters
    ----------
    spec : the packed box [mm]. picture : the step. width_mm, height_mm : the paper [mm], at least about 40 x 40.

    Raises
    ------
    BadInput : the parts do not add up, or the box does not fit the paper.
    """
    check_section(spec)
    cut = cut_of(spec, "along")
    rows = len(wrapped(picture.figure, width_mm, _FIGURE_MM))
    free = height_mm - _HEAD_MM - rows * LINE * _FIGURE_MM - _OVER_MM - _UNDER_MM
    cells = _Cells(wide_mm=width_mm, ratio=_ratio(cut, (width_mm, free)), figure_rows=rows, letters_mm=2.1)
    alone = replace(picture, steps=())
    return Drawing(
        width_mm=width_mm,
        height_mm=height_mm,
        marks=tuple(_cell(cut, alone, cells, (0.0, 0.0)) + _heading(alone, cells, (0.0, 0.0), None)),
        title=f"{_title(picture)}: {spec.block_label} in {spec.box_name}, scale 1:{cells.ratio}",
        description=_spoken(picture),
    )


def _title(picture: StepPicture) -> str:
    if picture.under_water and picture.part in _WET_TITLES:
        return _WET_TITLES[picture.part]
    return "Dry tissue" if picture.part == "damp" and not picture.water else TITLES[picture.part]


def _spoken(picture: StepPicture) -> str:
    return " ".join([f"{picture.figure}." if picture.figure else "", *(text for _, text in picture.steps)]).strip()


def _ratio(cut: Cut, room_mm: Point) -> int:
    """The largest round scale at which the box and its lid fit a cell."""
    walls = 2 * cut.spec.wall_mm
    room = (room_mm[0] - 4.0, room_mm[1])
    ratio = round_ratio((cut.inside_mm[0] + walls, cut.inside_mm[1] + walls), room) if min(room) > 0 else None
    if ratio is None:
        raise BadInput(
            f"no round scale fits the box into {room_mm[0]:.0f} x {room_mm[1]:.0f} mm",
            where=f"steps of {cut.spec.box_name}",
            do="Draw on a larger sheet or fewer pictures in a row",
        )
    return ratio


def _sentences(picture: StepPicture, cells: _Cells) -> tuple[tuple[str, str], ...]:
    """The sentences broken into lines, each with the number that stands before it."""
    lines: list[tuple[str, str]] = []
    for number, text in picture.steps:
        tied = _FIGURE_AND_UNIT.sub(rf"\1{_TIE}\2", text)
        broken = wrapped(tied, cells.wide_mm - _indent_mm(cells), cells.letters_mm)
        lines += [(str(number) if n == 0 else "", line.replace(_TIE, " ")) for n, line in enumerate(broken)]
    return tuple(lines)


def _indent_mm(cells: _Cells) -> float:
    return text_width_mm("88", cells.letters_mm, bold=True) + 0.8


def _heading(picture: StepPicture, cells: _Cells, at: Point, number: int | None) -> list[Mark]:
    """Number, title and quantities over a picture."""
    x, y = at
    marks: list[Mark] = []
    begin = x
    if number is not None:
        marks += [
            Circle(centre=(x + 2.0, y + 2.1), radius_mm=1.9, pen=None, fill=INK),
            Text(at=(x + 2.0, y + 2.95), text=str(number), size_mm=_TITLE_MM, anchor="middle", bold=True, colour=FILM),
        ]
        begin += 5.0
    marks.append(Text(at=(begin, y + 3.0), text=_title(picture), size_mm=_TITLE_MM, bold=True))
    for n, line in enumerate(wrapped(picture.figure, cells.wide_mm, _FIGURE_MM)):
        marks.append(Text(at=(x, y + _HEAD_MM + (RISE + n * LINE) * _FIGURE_MM), text=line, size_mm=_FIGURE_MM))
    return marks


def _cell(cut: Cut, picture: StepPicture, cells: _Cells, at: Point) -> list[Mark]:
    """One picture with its sentences."""
    (x, y), size = at, cells.letters_mm
    marks = _picture(cut, _stand(cut, at, cells), picture)
    top, text_x = y + cells.depth_mm(cut, picture.part), x + _indent_mm(cells)
    for n, (lead, line) in enumerate(_sentences(picture, cells)):
        base = top + (RISE + n * LINE) * size
        if lead:
            marks.append(Text(at=(text_x - 0.8, base), text=lead, size_mm=size, anchor="end", bold=True))
        marks.append(Text(at=(text_x, base), text=line, size_mm=size))
    return marks


def _stand(cut: Cut, at: Point, cells: _Cells) -> Stand:
    """The box in the middle of its cell."""
    length, height = cut.inside_mm[0] / cells.ratio, cut.inside_mm[1] / cells.ratio
    return Stand(
        ratio=cells.ratio,
        left_mm=at[0] + (cells.wide_mm - length) / 2,
        floor_mm=at[1] + cells.over_mm + height,
        inside_mm=cut.inside_mm,
        wall_mm=max(cut.spec.wall_mm / cells.ratio, boxmarks.LEAST_WALL_MM),
    )


def _picture(cut: Cut, stand: Stand, picture: StepPicture) -> list[Mark]:
    """What is laid so far in thin lines, and the new thing firm."""
    wet = picture.under_water
    if picture.part == "wrap" and not wet:
        return [*_firm(_wrapped_block(cut, stand)), _bench(stand)]
    marks: list[Mark] = []
    order = WET_PARTS if wet else PARTS
    if wet and order.index(picture.part) > order.index("water"):
        order = tuple(part for part in order if part != "wrap")  # the bag is sealed and folded
    for part in order[: order.index(picture.part) + 1]:
        drawn = _wet_layers(cut, stand, part) if wet and part in _IN_BAG else _layers(cut, stand, part)
        marks += _firm(drawn) if part == picture.part else _faint(drawn)
    return marks + _signs(cut, stand, picture)


_IN_BAG: tuple[Part, ...] = ("wrap", "lower", "water")


def _wet_layers(cut: Cut, stand: Stand, part: Part) -> list[Mark]:
    """The marks of what happens in the bag of a find under water."""
    if part == "wrap":
        return boxmarks.open_bag_marks(cut, stand) + boxmarks.tray_marks(cut, stand)
    block = boxmarks.block_marks(cut, stand)
    if part == "lower":
        return block
    return boxmarks.wrap_marks(cut, stand) + boxmarks.tray_marks(cut, stand) + block


def _layers(cut: Cut, stand: Stand, part: Part) -> list[Mark]:
    """The marks of one part of the packing."""
    spec = cut.spec
    if part in ("bed", "damp"):
        laid = boxmarks.bed_marks(cut, stand)
        damp = [layer.hatch == "tissue" for layer in spec.laid("bed") for _ in cut.pieces(layer, 0.0, 1.0)]
        return [mark for mark, is_damp in zip(laid, damp, strict=True) if is_damp == (part == "damp")]
    if part == "lower":
        return boxmarks.wrap_marks(cut, stand) + boxmarks.block_marks(cut, stand)
    if part == "sides":
        laid = boxmarks.contour_marks(cut, stand) + boxmarks.fill_marks(cut, stand)
        return laid + boxmarks.neck_marks(cut, stand) + boxmarks.beside_marks(cut, stand)
    if part == "top":
        return boxmarks.top_marks(cut, stand)
    if part == "lid":
        return boxmarks.under_lid_marks(cut, stand) + boxmarks.lid_marks(cut, stand)
    return boxmarks.wall_marks(cut, stand) if part == "box" else []


def _wrapped_block(cut: Cut, stand: Stand) -> list[Mark]:
    """The wrapped block on the bench, without its box: at the place in the picture that it will have."""
    lowered = replace(stand, floor_mm=stand.floor_mm + cut.corner_mm[1] / stand.ratio)
    return boxmarks.wrap_marks(cut, lowered) + boxmarks.block_marks(cut, lowered)


def _bench(stand: Stand) -> Path:
    """The bench under a block that is not yet in its box."""
    y = stand.floor_mm + 0.2
    return Path(points=((stand.left_mm, y), (stand.right_mm, y)), pen=Pen(width_mm=0.25))


def _firm(marks: Sequence[Mark]) -> list[Mark]:
    """The new thing: its lines firm, its hatch kept; lines of thin layers less so, that they do not run together."""
    firm: list[Mark] = []
    for mark in marks:
        if isinstance(mark, Path) and mark.pen is not None and not mark.pen.dash_mm:
            spans = [max(along) - min(along) for along in zip(*mark.points, strict=True)]
            least = _NEW_PEN_MM if min(spans) >= _THIN_MM else _NEW_PEN_MM / 2
            firm.append(replace(mark, pen=replace(mark.pen, width_mm=max(mark.pen.width_mm, least))))
        else:
            firm.append(mark)
    return firm


def _faint(marks: Sequence[Mark]) -> list[Mark]:
    """What is there already: outlines without a hatch; what is too thin for a hatch stays a thin solid line."""
    return [
        replace(mark, hatch=None, fill=mark.fill or FILM if mark.hatch else mark.fill, pen=mark.pen and _OLD_PEN)
        if isinstance(mark, Path)
        else mark
        for mark in marks
    ]


def _signs(cut: Cut, stand: Stand, picture: StepPicture) -> list[Mark]:
    """Hands, straight edge, labels, sheets and water: what is done besides laying."""
    (left, low), (along, height) = cut.corner_mm, cut.block_mm
    inside = stand.at(left + along / 2, low + height)
    if picture.part == "damp":
        room = stand.at(0.0, cut.spec.bed_mm)[1] - stand.rim_mm
        size = min(9.0, 0.5 * room, 0.4 * (stand.right_mm - stand.left_mm))
        if size < _LEAST_SIGN_MM:
            size, room = _LEAST_SIGN_MM, -1.35 * _LEAST_SIGN_MM
        return boxsigns.sheets_mark((inside[0], stand.rim_mm + 0.45 * room), size, wet=picture.water)
    if picture.part == "lower":
        return _hand_signs(cut, stand)
    if picture.part == "sides" and not picture.under_water:
        return _gap_signs(cut, stand)
    if picture.part == "lid":
        on_lid = (stand.left_mm + 1.0, stand.rim_mm - stand.wall_mm - 0.3)
        on_end = (stand.right_mm + stand.wall_mm - 1.6, (stand.rim_mm + 2 * stand.floor_mm) / 3)
        marks = [*boxsigns.label_mark(on_lid), *boxsigns.label_mark(on_end, 3.4)]
        if inside[1] - stand.rim_mm < 2.6:
            return marks
        return [*marks, *boxsigns.label_mark((inside[0] - 1.9, inside[1] - 0.3), 3.8)]
    return []


def _hand_signs(cut: Cut, stand: Stand) -> list[Mark]:
    """Hands over both ends of the block, or over its lifting points, going down."""
    tip, spec = stand.rim_mm - 0.8, cut.spec
    (left, _), (along, _) = cut.corner_mm, cut.block_mm
    ends = sorted({round(cut.laid_at(lift.at_mm)[0], 1) for lift in spec.lifts}) or [
        left + 0.1 * along,
        left + 0.9 * along,
    ]
    places = [stand.at(u, 0)[0] for u in ends]
    middle = stand.at(left + along / 2, 0)[0]
    wide = text_width_mm("TOP", 2.0, bold=True) / 2 + 2.2
    if len(places) < 2 or any(abs(x - middle) < wide for x in places):
        places = [middle - wide, middle + wide]
    hands = [mark for x in places for mark in boxsigns.hand_mark((x, tip), down=True)]
    return [*hands, Text(at=(middle, stand.rim_mm - 2.2), text="TOP", size_mm=2.0, anchor="middle", bold=True)]


def _gap_signs(cut: Cut, stand: Stand) -> list[Mark]:
    """The straight edge on the rim and the gap under it."""
    wrapped = cut.spec.margin_mm
    x, top = stand.at(cut.corner_mm[0] + 0.5 * cut.block_mm[0], cut.corner_mm[1] + cut.block_mm[1] + wrapped)
    marks: list[Mark] = boxsigns.straight_edge(stand)
    pen = Pen(width_mm=0.18)
    marks.append(Path(points=((x, stand.rim_mm), (x, top)), pen=pen))
    for y, way in ((stand.rim_mm, 1.0), (top, -1.0)):
        marks.append(Path(points=((x - 0.6, y + way * 0.9), (x, y), (x + 0.6, y + way * 0.9)), pen=pen))
    words = f"{written_mm(cut.spec.lid_gap_mm - wrapped)} free"
    marks.append(Text(at=(x, stand.rim_mm - 1.6), text=words, size_mm=2.0, anchor="middle"))
    return marks
