"""A label drawn on any size of stock: what fits, at what size, and what had to be left out.

The number stands in its symbol top left, the speaking code top right, the short code bottom left. Text flows in the
room between, as large as it fits; only when the smallest readable size does not fit is a fact left out, in the
order of `wording.LEAVING_OUT`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from findhold.draw.marks import Drawing, Mark
from findhold.errors import BadInput, UnknownName
from findhold.label.codes import DM_QUIET, QR_QUIET, code_marks, code_side_mm, short_modules, speaking_modules
from findhold.label.flow import Fit, Icons, Room, flow, likely_text_mm
from findhold.label.payload import short_text, speaking_text
from findhold.label.wording import LEAVING_OUT, LabelFacts, Line, Part, label_texts
from findhold.tables.load import number, table

SMALLEST_TEXT_MM = 1.9
LARGEST_TEXT_MM = 4.6
TEXT_STEP_MM = 0.15
QR_MODULES_MM = (0.6, 0.55, 0.5, 0.45, 0.4)
DM_MODULES_MM = (1.4, 1.2, 1.0, 0.9, 0.8, 0.7)
"""Modules are never smaller than the last of these: 0.4 mm is what a hand-held telephone reads; working choices."""
EDGE_MM = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelStock:
    """A size of label: on a roll (no sheet), or columns by rows on a sheet with its margins."""

    name: str
    width_mm: float
    height_mm: float
    sheet_width_mm: float | None = None
    sheet_height_mm: float | None = None
    columns: int = 1
    rows: int = 1
    left_mm: float = 0.0
    top_mm: float = 0.0
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0

    def __post_init__(self) -> None:
        if not (10 <= self.width_mm <= 1000 and 10 <= self.height_mm <= 1000):
            raise BadInput(
                f"a label of {self.width_mm:g} by {self.height_mm:g} mm cannot be",
                where=f"label stock {self.name}",
                limit="10 to 1000 mm each way",
                do="Give width and height in millimetres, the width along the text",
            )
        if (self.sheet_width_mm is None) != (self.sheet_height_mm is None):
            raise BadInput("a sheet needs both its sizes", where=f"label stock {self.name}", do="Give both or neither")
        if self.sheet_width_mm is not None and self.sheet_height_mm is not None:
            right = self.left_mm + self.columns * self.width_mm + (self.columns - 1) * self.gap_x_mm
            bottom = self.top_mm + self.rows * self.height_mm + (self.rows - 1) * self.gap_y_mm
            if right > self.sheet_width_mm + 0.01 or bottom > self.sheet_height_mm + 0.01:
                raise BadInput(
                    f"{self.columns} by {self.rows} labels need {right:g} by {bottom:g} mm",
                    where=f"label stock {self.name}",
                    limit=f"the sheet, {self.sheet_width_mm:g} by {self.sheet_height_mm:g} mm",
                    do="Measure the sheet again: margins, gaps, label size",
                )

    def places(self) -> Iterator[tuple[float, float]]:
        """Top left corners of the labels on one page, row by row [mm]."""
        for row in range(self.rows):
            for column in range(self.columns):
                yield (
                    self.left_mm + column * (self.width_mm + self.gap_x_mm),
                    self.top_mm + row * (self.height_mm + self.gap_y_mm),
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidOut:
    """A drawn label with what it could not hold and the sizes used."""

    drawing: Drawing
    dropped: tuple[str, ...]
    text_mm: float
    qr_module_mm: float | None
    dm_module_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sizes:
    qr_module_mm: float | None
    dm_module_mm: float


def stock_named(name: str) -> LabelStock:
    """One stock from the table label_stock; raises UnknownName with near names."""
    known = table("label_stock").by("name")
    if name not in known:
        raise UnknownName("label stock", name, list(known))
    row = known[name]
    sizes = {key: number(row[key]) for key in row if key.endswith("_mm")}
    return LabelStock(
        name=name,
        width_mm=sizes["width_mm"] or 0.0,
        height_mm=sizes["height_mm"] or 0.0,
        sheet_width_mm=sizes["sheet_width_mm"],
        sheet_height_mm=sizes["sheet_height_mm"],
        columns=int(row["columns"]),
        rows=int(row["rows"]),
        **{key: sizes[key] or 0.0 for key in ("left_mm", "top_mm", "gap_x_mm", "gap_y_mm")},
    )


def all_stock() -> tuple[LabelStock, ...]:
    """Every stock of the table, smallest label first."""
    stocks = [stock_named(row["name"]) for row in table("label_stock").rows]
    return tuple(sorted(stocks, key=lambda s: (s.width_mm * s.height_mm, s.name)))


def draw_label(facts: LabelFacts, part: Part, stock: LabelStock) -> Drawing:
    """One label as a drawing; see `lay_out` for what it had to leave out."""
    return lay_out(facts, part, stock).drawing


def lay_out(facts: LabelFacts, part: Part, stock: LabelStock) -> LaidOut:
    """Fit one label on to its stock.

    Parameters
    ----------
    facts : the find and its box.
    part : inside, lid, end or block.
    stock : the label's size.

    Returns
    -------
    The drawing, with the facts left out (in the order of LEAVING_OUT) and the sizes used.

    Raises
    ------
    BadInput: the stock cannot hold what a label must say; names the smallest stock of the table that can.

    Source
    ------
    Sizes are working choices: text never under 1.9 mm, QR modules never under 0.4 mm.
    """
    made = _try(facts, part, stock)
    if made is None:
        fits = next((s for s in all_stock() if _try(facts, part, s) is not None), None)
        advice = f"Use {fits.name!r} or larger" if fits else "Shorten the texts: no stock in the table holds them"
        raise BadInput(
            f"the {part} label does not fit on {stock.width_mm:g} by {stock.height_mm:g} mm",
            where=f"find {facts.find_number}, {facts.find_id}",
            limit=f"text of {SMALLEST_TEXT_MM:g} mm and one code must fit",
            do=advice,
        )
    return made


def _try(facts: LabelFacts, part: Part, stock: LabelStock) -> LaidOut | None:
    """Leave out nothing, then one thing after another, until the rest fits; None when it never does."""
    lines = label_texts(facts, part)
    roles = {line.role for line in lines} | {"marks", "speaking code", "site name"}
    if not marks_of(facts, part):
        roles.discard("marks")
    if not facts.site_name.strip():
        roles.discard("site name")
    order = [role for role in LEAVING_OUT if role in roles]
    for count in range(len(order) + 1):
        dropped = tuple(order[:count])
        kept = tuple(left for line in lines if (left := line.without(dropped)))
        for sizes in _code_sizes(facts, part, stock, with_speaking="speaking code" not in dropped):
            made = _largest(facts, part, stock, kept, sizes, dropped)
            if made is not None:
                return made
    return None


def _code_sizes(facts: LabelFacts, part: Part, stock: LabelStock, *, with_speaking: bool) -> list[_Sizes]:
    """Pairs of module sizes to try: comfortable for this stock, then the smallest allowed."""
    short = len(short_modules(short_text(facts, part))) + 2 * DM_QUIET
    dm_room = min(0.48 * stock.height_mm, 0.24 * stock.width_mm)
    dm = next((m for m in DM_MODULES_MM if short * m <= dm_room), DM_MODULES_MM[-1])
    dms = (dm, min(dm, 1.0), DM_MODULES_MM[-1])
    if not with_speaking:
        return [_Sizes(qr_module_mm=None, dm_module_mm=m) for m in dict.fromkeys(dms)]
    speaking = len(speaking_modules(speaking_text(facts))) + 2 * QR_QUIET
    qr_room = min(0.62 * stock.height_mm, 0.36 * stock.width_mm)
    qr = next((m for m in QR_MODULES_MM if speaking * m <= qr_room), QR_MODULES_MM[-1])
    pairs = dict.fromkeys([(qr, dms[0]), (QR_MODULES_MM[-1], dms[1]), (QR_MODULES_MM[-1], dms[2])])
    return [
        _Sizes(qr_module_mm=q, dm_module_mm=d)
        for q, d in pairs
        if speaking * q <= stock.height_mm - 2 * EDGE_MM + 1e-9
        and (
            speaking * q + short * d <= stock.height_mm - 2 * EDGE_MM or speaking * q + short * d <= stock.width_mm - 4
        )
    ]


def _largest(
    facts: LabelFacts, part: Part, stock: LabelStock, lines: tuple[Line, ...], sizes: _Sizes, dropped: tuple[str, ...]
) -> LaidOut | None:
    """The label with these code sizes at the largest text size that fits; None when none does."""
    short = short_modules(short_text(facts, part))
    speaking = speaking_modules(speaking_text(facts)) if sizes.qr_module_mm else ()
    dm_side = code_side_mm(short, DM_QUIET, sizes.dm_module_mm)
    qr_side = code_side_mm(speaking, QR_QUIET, sizes.qr_module_mm) if sizes.qr_module_mm else 0.0
    room = Room(
        width_mm=stock.width_mm,
        height_mm=stock.height_mm,
        edge_mm=EDGE_MM,
        top_right_mm=qr_side,
        bottom_left_mm=dm_side,
    )
    icons = () if "marks" in dropped else marks_of(facts, part)
    found = _sought(facts, part, lines, icons, room)
    if found is None:
        return None
    text_mm, fit = found
    marks: list[Mark] = list(fit.marks)
    if sizes.qr_module_mm:
        at = (stock.width_mm - EDGE_MM - qr_side, EDGE_MM)
        marks += code_marks(speaking, QR_QUIET, sizes.qr_module_mm, at)
    marks += code_marks(short, DM_QUIET, sizes.dm_module_mm, (EDGE_MM, stock.height_mm - EDGE_MM - dm_side))
    drawing = Drawing(
        width_mm=stock.width_mm,
        height_mm=stock.height_mm,
        marks=tuple(marks),
        title=f"{part} label of find {facts.find_number}, {facts.find_id}, box {facts.box_id}",
        description=speaking_text(facts),
    )
    return LaidOut(
        drawing=drawing,
        dropped=dropped,
        text_mm=text_mm,
        qr_module_mm=sizes.qr_module_mm,
        dm_module_mm=sizes.dm_module_mm,
    )


def _sought(
    facts: LabelFacts, part: Part, lines: tuple[Line, ...], icons: Icons, room: Room
) -> tuple[float, Fit] | None:
    """The largest text size that fits, sought upwards or downwards from a likely one."""
    steps = round((LARGEST_TEXT_MM - SMALLEST_TEXT_MM) / TEXT_STEP_MM)
    step = min(max(round((likely_text_mm(lines, room) - SMALLEST_TEXT_MM) / TEXT_STEP_MM), 0), steps)
    best = flow(facts, part, lines, icons, room, SMALLEST_TEXT_MM + step * TEXT_STEP_MM)
    going = 1 if best else -1
    while 0 <= step + going <= steps:
        made = flow(facts, part, lines, icons, room, SMALLEST_TEXT_MM + (step + going) * TEXT_STEP_MM)
        if going > 0 and made is None:
            break
        step, best = step + going, made
        if going < 0 and made is not None:
            break
    return (SMALLEST_TEXT_MM + step * TEXT_STEP_MM, best) if best else None


def marks_of(facts: LabelFacts, part: Part) -> tuple[tuple[str, float | None, float | None], ...]:
    """Handling marks of one label: name, and for the temperature mark its limits [°C]."""
    kept = facts.kept or facts.state
    marks = []
    for row in table("handling_marks").rows:
        if kept in row["kept"].split("|") and part in row["parts"].split("|"):
            low, high = number(row["low_c"]), number(row["high_c"])
            if low is not None and high is not None:
                low = facts.temp_low_c if facts.temp_low_c is not None else low
                high = facts.temp_high_c if facts.temp_high_c is not None else high
            marks.append((row["name"], low, high))
    return tuple(marks)
