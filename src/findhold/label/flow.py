"""Text poured into the room a label has beside its two codes, at one given size: fits, or does not."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import lru_cache

from findhold.draw.handling import handling_mark, top_arrow
from findhold.draw.lettering import CAP_HEIGHT, text_width_mm
from findhold.draw.marks import Circle, Mark, Path, Pen, Point, Text
from findhold.label.wording import BRACKETS, DOT, LabelFacts, Line, Part

BLACK = "#000000"
GAP_MM = 1.2
LEADING = 1.24
"""Line to line as a share of the em."""
HEAD_ROLES = ("context", "site", "identity")
Icons = tuple[tuple[str, float | None, float | None], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A label's size with what stands in its corners: codes top right and bottom left, marks bottom right [mm]."""

    width_mm: float
    height_mm: float
    edge_mm: float
    top_right_mm: float
    bottom_left_mm: float
    marks_width_mm: float = 0.0
    marks_height_mm: float = 0.0

    inset_mm: float = field(init=False)
    """Text keeps this far from the label's edge."""
    column_mm: float = field(init=False)
    """Left bound beside the bottom left code."""
    _below: tuple[float, float, float] = field(init=False)

    def __post_init__(self) -> None:
        inset = self.edge_mm + 1.3
        object.__setattr__(self, "inset_mm", inset)
        object.__setattr__(self, "column_mm", self.edge_mm + self.bottom_left_mm + GAP_MM)
        code_top = self.height_mm - self.edge_mm - self.bottom_left_mm - 0.4
        marks_top = self.height_mm - inset - self.marks_height_mm - 0.6 if self.marks_height_mm else self.height_mm
        code_foot = self.edge_mm + self.top_right_mm if self.top_right_mm else 0.0
        object.__setattr__(self, "_below", (code_top, marks_top, code_foot))

    def marks_right_mm(self, height_mm: float) -> float:
        """Right bound of marks this high in the lower right: the edge, or the code above if they would meet."""
        if self.top_right_mm and self.height_mm - self.inset_mm - height_mm < self.edge_mm + self.top_right_mm + 0.6:
            return self.width_mm - self.edge_mm - self.top_right_mm - GAP_MM
        return self.width_mm - self.inset_mm

    def above_corner(self, bottom_mm: float) -> bool:
        """Whether something that ends at this height clears the bottom left code."""
        return bottom_mm <= self._below[0]

    def across(self, top_mm: float, bottom_mm: float) -> tuple[float, float]:
        """Left and right bound for something between two heights."""
        code_top, marks_top, code_foot = self._below
        left = self.inset_mm if bottom_mm <= code_top else self.column_mm
        right = self.width_mm - self.inset_mm
        if bottom_mm > marks_top:
            right = self.marks_right_mm(self.marks_height_mm) - self.marks_width_mm - GAP_MM
        if top_mm < code_foot:
            right = min(right, self.width_mm - self.edge_mm - self.top_right_mm - 0.4)
        return left, right


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Marks of everything but the codes, and how far down they reach [mm]."""

    marks: tuple[Mark, ...]
    bottom_mm: float


def flow(
    facts: LabelFacts, part: Part, lines: tuple[Line, ...], icons: Icons, room: Room, text_mm: float
) -> Fit | None:
    """Pour number, lines and handling marks into the room at one text size; None when they do not fit.

    The marks take one row or two, whichever leaves the text room; text beside the lower code keeps one left edge.
    """
    top = part in ("end", "block")
    for rows in (1, 2) if len(icons) + top > 2 else (1,):
        corner = _corner(len(icons), room, text_mm, rows=rows, top=top)
        if corner.width_mm > room.marks_right_mm(corner.height_mm) - room.column_mm:
            continue
        free = replace(room, marks_width_mm=corner.width_mm, marks_height_mm=corner.height_mm)
        made = _poured(facts, lines, free, text_mm)
        if made is not None:
            return Fit(marks=(*made.marks, *_corner_marks(corner, icons, room)), bottom_mm=made.bottom_mm)
    return None


def likely_text_mm(lines: tuple[Line, ...], room: Room) -> float:
    """A first guess at the size that fills the room: text area grows with the square of its size."""
    area_em = 60.0 + sum((_em_width(line.text, line.bold) + 2.0) * line.scale**2 * LEADING for line in lines)
    free = room.width_mm * room.height_mm - room.top_right_mm**2 - room.bottom_left_mm**2
    return math.sqrt(0.45 * max(free, 1.0) / area_em)


def _poured(facts: LabelFacts, lines: tuple[Line, ...], room: Room, text_mm: float) -> Fit | None:
    """Head, then the lines down to the keep words, then the rest in one column."""
    made = _head(facts, [line for line in lines if line.role in HEAD_ROLES], room, text_mm)
    if made is None:
        return None
    body = [line for line in lines if line.role not in HEAD_ROLES]
    split = next((i + 1 for i, line in enumerate(body) if line.role == "keep"), 0)
    upper = _stack(body[:split], made.bottom_mm, room, text_mm)
    if upper is None:
        return None
    lower = None
    if room.above_corner(upper.bottom_mm + (len(body) - split) * text_mm * LEADING):
        lower = _stack(body[split:], upper.bottom_mm, room, text_mm)
    if lower is None or not room.above_corner(lower.bottom_mm):
        lower = _stack(body[split:], upper.bottom_mm, room, text_mm, indent_to=room.column_mm)
    if lower is None:
        return None
    return Fit(marks=(*made.marks, *upper.marks, *lower.marks), bottom_mm=lower.bottom_mm)


def _stack(lines: list[Line], y: float, room: Room, text_mm: float, *, indent_to: float = 0.0) -> Fit | None:
    """Lines one under another from height y."""
    marks: list[Mark] = []
    for line in lines:
        if line.role == "keep":
            placed = _keep_band(line, y, room, text_mm)
        else:
            placed = _pour(line, y, room, text_mm, indent_to=indent_to)
        if placed is None:
            return None
        marks += placed.marks
        y = placed.bottom_mm
    return Fit(marks=tuple(marks), bottom_mm=y)


def _head(facts: LabelFacts, head: list[Line], room: Room, text_mm: float) -> Fit | None:
    """The number in its symbol, and beside it context, site and identity."""
    top = room.inset_mm - 0.6
    height = (6.6 if room.height_mm > 45 else 5.4) * text_mm
    left, right = room.across(top, top + height)
    symbol = number_symbol(facts.find_number, facts.symbols.of(facts.find_kind), (left, top), height)
    if symbol is None or left + symbol.width_mm > right:
        return None
    x = left + symbol.width_mm + 1.0 * text_mm
    marks: list[Mark] = list(symbol.marks)
    y = top + 0.3 * text_mm
    for line in head:
        placed = _pour(line, y, room, text_mm, indent_to=x)
        if placed is None:
            return None
        marks += placed.marks
        y = placed.bottom_mm + 0.12 * text_mm
    return Fit(marks=tuple(marks), bottom_mm=max(y, top + height + 0.4 * text_mm))


def _pour(line: Line, y: float, room: Room, text_mm: float, *, indent_to: float = 0.0) -> Fit | None:
    """Break one line of text into as many rows as it needs from height y on."""
    size = text_mm * line.scale
    marks: list[Mark] = []
    pieces = list(line.pieces)
    while pieces:
        left, right = room.across(y, y + size * LEADING)
        left = max(left, indent_to)
        row = _row(pieces, (right - left) / size, bold=line.bold)
        if not row or y + size * (LEADING - 0.1) > room.height_mm - room.edge_mm:
            return None
        del pieces[: len(row)]
        text = " ".join(row).removesuffix(DOT if pieces else "").replace("\u00a0", " ")
        marks.append(Text(at=(left, y + size), text=text, size_mm=size, bold=line.bold, condensed=True, colour=BLACK))
        y += size * LEADING
    return Fit(marks=tuple(marks), bottom_mm=y)


def _row(pieces: list[str], width_em: float, *, bold: bool) -> list[str]:
    """As many pieces as stand side by side in a width."""
    space = _em_width(" ", bold)
    row: list[str] = []
    used = -space
    for piece in pieces:
        used += space + _em_width(piece, bold)
        if used > width_em:
            break
        row.append(piece)
    return row


def _keep_band(line: Line, y: float, room: Room, text_mm: float) -> Fit | None:
    """The keep words between two rules, so that they are seen first."""
    y += 0.4 * text_mm
    placed = _pour(line, y + 0.25 * text_mm, room, text_mm)
    if placed is None:
        return None
    pen = Pen(width_mm=0.1 * text_mm + 0.1, colour=BLACK)
    bottom = placed.bottom_mm + 0.15 * text_mm
    left, right = room.across(y, bottom)
    rules: list[Mark] = [Path(points=((left, at), (right, at)), pen=pen) for at in (y, bottom)]
    return Fit(marks=(*placed.marks, *rules), bottom_mm=bottom + 0.4 * text_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Corner:
    """The lower right corner with TOP and the handling marks: what each row takes, and the whole [mm]."""

    rows: tuple[tuple[float, ...], ...]
    side_mm: float
    gap_mm: float
    width_mm: float
    height_mm: float
    top: bool


def _corner(icon_count: int, room: Room, text_mm: float, *, rows: int, top: bool) -> _Corner:
    """Sizes of the corner's marks in one row or two; noughts when there are none."""
    side = max(6.5, min(3.9 * text_mm, 14.0, 0.2 * room.height_mm))
    gap = side * 0.25
    word = side * 0.75 + _em_width("TOP", True) * side * 0.45
    widths = ((word + gap,) if top else ()) + (side + gap,) * icon_count
    half = len(widths) // 2
    split = (widths,) if rows == 1 else (widths[:half], widths[half:])
    width = max(sum(row) for row in split) - gap if widths else 0.0
    height = rows * side + (rows - 1) * gap if widths else 0.0
    return _Corner(rows=split, side_mm=side, gap_mm=gap, width_mm=width, height_mm=height, top=top)


def _corner_marks(corner: _Corner, icons: Icons, room: Room) -> tuple[Mark, ...]:
    """TOP with its arrow first, then the handling marks, rows flush right."""
    marks: list[Mark] = []
    names = iter(icons)
    y = room.height_mm - room.inset_mm - corner.height_mm
    for number, row in enumerate(corner.rows):
        x = room.marks_right_mm(corner.height_mm) - (sum(row) - corner.gap_mm)
        for i, step in enumerate(row):
            if corner.top and number == i == 0:
                marks += _top(x, y, corner.side_mm)
            else:
                name, low_c, high_c = next(names)
                marks += handling_mark(name, (x, y), corner.side_mm, low_c=low_c, high_c=high_c)
            x += step
        y += corner.side_mm + corner.gap_mm
    return tuple(marks)


def _top(x: float, y: float, side: float) -> tuple[Mark, ...]:
    size = side * 0.45
    at = (x + side * 0.75, y + (side + size * CAP_HEIGHT) / 2)
    word = Text(at=at, text="TOP", size_mm=size, bold=True, condensed=True, colour=BLACK)
    return (*top_arrow((x, y), side), word)


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """A number in its symbol and how wide it came out [mm]."""

    marks: tuple[Mark, ...]
    width_mm: float


def number_symbol(number: str, shape: str, at: Point, height_mm: float) -> Symbol | None:
    """A number in a triangle, diamond, circle, box or brackets of a given height.

    Returns
    -------
    Marks and the width; None when the number would be unreadably small in the shape (under 2.4 mm).
    """
    x, y = at
    em = _em_width(number, bold=True)
    pen = Pen(width_mm=max(0.35, height_mm * 0.035), colour=BLACK)
    h = height_mm
    if shape in BRACKETS or shape == "plain":
        left, right = BRACKETS[shape]
        size = h * 0.62
        text = f"{left}{number}{right}"
        mark = Text(at=(x, y + h * 0.72), text=text, size_mm=size, bold=True, condensed=True, colour=BLACK)
        return Symbol(marks=(mark,), width_mm=_em_width(text, bold=True) * size)
    outline: Mark
    if shape == "triangle":
        base = h / 0.866
        size = base * 0.84 * 0.87 / (em + 2 * CAP_HEIGHT * 0.577)
        outline = Path(points=((x, y + h), (x + base, y + h), (x + base / 2, y)), closed=True, pen=pen)
        width, foot = base, y + h - h * 0.11
    elif shape == "diamond":
        size = h * 0.86 / (em + CAP_HEIGHT)
        middle = y + h / 2
        outline = Path(points=((x, middle), (x + h / 2, y), (x + h, middle), (x + h / 2, y + h)), closed=True, pen=pen)
        width, foot = h, middle + size * CAP_HEIGHT / 2
    elif shape == "circle":
        size = h * 0.84 / (em**2 + CAP_HEIGHT**2) ** 0.5
        outline = Circle(centre=(x + h / 2, y + h / 2), radius_mm=h / 2, pen=pen)
        width, foot = h, y + h / 2 + size * CAP_HEIGHT / 2
    else:
        size = h * 0.6
        width = em * size + h * 0.3
        outline = Path(points=((x, y), (x + width, y), (x + width, y + h), (x, y + h)), closed=True, pen=pen)
        foot = y + h / 2 + size * CAP_HEIGHT / 2
    size = min(size, h * 0.62)
    if size < 2.4:
        return None
    text_mark = Text(
        at=(x + width / 2, foot), text=number, size_mm=size, anchor="middle", bold=True, condensed=True, colour=BLACK
    )
    return Symbol(marks=(outline, text_mark), width_mm=width)


@lru_cache(maxsize=65536)
def _em_width(text: str, bold: bool) -> float:
    return text_width_mm(text, 1.0, bold=bold, condensed=True)
