"""All holds across a closure as one strip of time: a row for each, worst first, closed days shaded through all rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import Literal

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import ACCENT, FILM, INK, Circle, Drawing, Mark, Path, Pen, Text
from findhold.draw.spacing import LINE, RISE, wrapped
from findhold.draw.timeaxis import DATES_DEPTH_MM, TimeRuler, day_ticks, day_words
from findhold.errors import BadInput
from findhold.paper.strip import Closure, KeepBand, Kind, keep_marks, moment_sign

MOST_ROWS = 60
_ROW_MM = 8.4
_LEFT, _RIGHT = 46.0, 54.0
_SIZE, _SMALL = 2.4, 2.1
_FINE = Pen(width_mm=0.1, colour="#8a8d8f")
_WAIT = Pen(width_mm=0.45)
_NOW = Pen(width_mm=0.3, dash_mm=(1.4, 0.6))
LEGEND: tuple[tuple[Kind, str], ...] = (
    ("exposed", "exposed"),
    ("packed", "packed"),
    ("open", "planned opening"),
    ("keep_until", "keep until, with its band"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldRow:
    """One hold: its dates as recorded, and its verdict. Instants are aware; None where there is none."""

    number: str
    what: str
    kind: Literal["act", "watch", "right", "none"]
    word: str
    until_words: str
    exposed_at: datetime | None = None
    packed_at: datetime | None = None
    open_at: datetime | None = None
    keep_until: datetime | None = None
    band: KeepBand = (None, None, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldsStripArgs:
    """What the strip shows, from `start` to `end`; rows in the order they are drawn."""

    title: str
    start: datetime
    end: datetime
    now: datetime
    zone: tzinfo
    closures: tuple[Closure, ...]
    rows: tuple[HoldRow, ...]


def holds_strip(args: HoldsStripArgs, *, width_mm: float = 212.0) -> Drawing:
    """Draw all holds across a closure.

    Parameters
    ----------
    args : what it shows; dates outside its ends are told with an arrow at the end.
    width_mm : of the paper, at least 150 mm.

    Returns
    -------
    The drawing, as high as its rows need; rows do not overlap and no sign stands outside the strip.

    Raises
    ------
    BadInput : it ends before it starts, has no rows or too many, or the paper is too narrow.
    """
    _check(args, width_mm)
    ruler = TimeRuler(
        start=args.start.astimezone(UTC),
        end=args.end.astimezone(UTC),
        zone=args.zone,
        left_mm=_LEFT,
        right_mm=width_mm - _RIGHT,
    )
    names, top = _closure_names(args.closures, ruler, width_mm)
    foot = top + _ROW_MM * len(args.rows)
    marks: list[Mark] = [*_closed(args.closures, ruler, top, foot), *names]
    for number, row in enumerate(args.rows):
        marks += _row_marks(row, ruler, top + _ROW_MM * number, width_mm)
    marks.append(Path(points=((1.0, foot), (width_mm - 1.0, foot)), pen=Pen(width_mm=0.3)))
    marks += day_ticks(ruler, foot)
    marks += _now_marks(args.now, ruler, top, foot)
    marks += _legend(foot + DATES_DEPTH_MM + 4.5)
    return Drawing(
        width_mm=width_mm,
        height_mm=foot + DATES_DEPTH_MM + 8.0,
        marks=tuple(marks),
        title=args.title,
        description=_spoken(args),
    )


def _check(args: HoldsStripArgs, width_mm: float) -> None:
    where = "strip of holds"
    if not args.end > args.start:
        raise BadInput("the strip ends before it starts", where=where, do="Give a later end")
    if not 1 <= len(args.rows) <= MOST_ROWS:
        raise BadInput(
            f"{len(args.rows)} holds are to be drawn", where=where, limit=f"1 to {MOST_ROWS}", do="Draw them in parts"
        )
    if width_mm < 150.0:
        raise BadInput(f"the paper is {width_mm:.0f} mm wide", where=where, limit="150 mm", do="Draw it wider")


def _closed(closures: Sequence[Closure], ruler: TimeRuler, top: float, foot: float) -> list[Mark]:
    """Closed days hatched through all rows."""
    marks: list[Mark] = []
    for first, last, _ in closures:
        left, right = ruler.day(first), ruler.day(last + timedelta(days=1))
        if right > left:
            corners = ((left, top), (right, top), (right, foot), (left, foot))
            marks.append(Path(points=corners, closed=True, pen=Pen(width_mm=0.13), hatch="days 14"))
    return marks


def _closure_names(closures: Sequence[Closure], ruler: TimeRuler, width_mm: float) -> tuple[list[Mark], float]:
    """Each closure's days and reason above its shading, in as many lines as are needed; and where the rows begin."""
    rows: list[tuple[float, float, list[str]]] = []
    for first, last, name in sorted(closures):
        left, right = ruler.day(first), ruler.day(last + timedelta(days=1))
        if right > left:
            lines = [f"closed {_span(first, last)}", *wrapped(name, max(right - left, 44.0), _SMALL)]
            wide = max(text_width_mm(line, _SMALL) for line in lines)
            rows.append((min(max((left + right) / 2, wide / 2 + 1.0), width_mm - wide / 2 - 1.0), wide, lines))
    marks: list[Mark] = []
    y, ends = 1.0, -1e9
    height = 0.0
    for middle, wide, lines in rows:
        if middle - wide / 2 < ends + 3.0:  # beside the name before there is no room: below it
            y, height = y + height + 0.6, 0.0
        for line in lines[:3]:
            at = (middle, y + (RISE + lines.index(line) * LINE) * _SMALL)
            marks.append(Text(at=at, text=line, size_mm=_SMALL, anchor="middle", bold=line == lines[0]))
        height = max(height, len(lines[:3]) * LINE * _SMALL)
        ends = middle + wide / 2
    return marks, y + height + 5.2


def _span(first: date, last: date) -> str:
    return day_words(first) if first == last else f"{day_words(first)} to {day_words(last)}"


def _row_marks(row: HoldRow, ruler: TimeRuler, top: float, width_mm: float) -> list[Mark]:
    """One hold: its number and name, its wait, and its verdict."""
    y = top + _ROW_MM / 2
    act = row.kind == "act"
    colour = ACCENT if act else INK
    marks: list[Mark] = [Path(points=((1.0, top), (width_mm - 1.0, top)), pen=_FINE)]
    marks.append(Text(at=(1.5, y + 0.9), text=row.number, size_mm=_SIZE, bold=True))
    shown = _shortened(row.what, _LEFT - 15.5)
    marks.append(Text(at=(13.0, y + 0.8), text=shown, size_mm=_SMALL))
    marks += _wait_marks(row, ruler, y)
    left = width_mm - _RIGHT + 3.5
    marks += _verdict_sign(row.kind, left + 1.1, y - 1.2)
    marks.append(Text(at=(left + 3.4, y - 0.4), text=row.word, size_mm=_SIZE, bold=act, colour=colour))
    marks.append(Text(at=(left + 3.4, y + 2.6), text=_shortened(row.until_words, _RIGHT - 8.0), size_mm=_SMALL))
    return marks


def _wait_marks(row: HoldRow, ruler: TimeRuler, y: float) -> list[Mark]:
    """The line of the wait with its signs; an arrow where it runs out of the strip."""
    marks: list[Mark] = []
    begin, until = row.exposed_at or row.packed_at, row.keep_until
    if begin is not None and until is not None:
        left, right = _x(begin, ruler), _x(until, ruler)
        if right > left:
            marks.append(Path(points=((left, y), (right, y)), pen=_WAIT))
        if begin.astimezone(UTC) < ruler.start:
            marks.append(_arrow(ruler.left_mm, y, -1.0))
    if until is not None:
        low, best, high = (None if at is None else at.astimezone(UTC) for at in row.band)
        if low is None or low <= ruler.end:
            marks += keep_marks((low, best, high), ruler, y)
    signs: list[tuple[datetime | None, Kind]] = [
        (row.exposed_at, "exposed"),
        (row.packed_at, "packed"),
        (row.open_at, "open"),
        (until, "keep_until"),
    ]
    for at, kind in signs:
        if at is not None and ruler.start <= at.astimezone(UTC) <= ruler.end:
            marks += moment_sign(kind, (ruler.x(at.astimezone(UTC)), y))
        elif at is not None and kind in ("open", "keep_until") and at.astimezone(UTC) > ruler.end:
            marks.append(_arrow(ruler.right_mm, y, 1.0))
    return marks


def _x(at: datetime, ruler: TimeRuler) -> float:
    return ruler.x(min(max(at.astimezone(UTC), ruler.start), ruler.end))


def _arrow(x: float, y: float, way: float) -> Path:
    """A small arrow head: it goes on beyond here."""
    return Path(points=((x - 1.2 * way, y - 0.9), (x, y), (x - 1.2 * way, y + 0.9)), pen=Pen(width_mm=0.3))


def _verdict_sign(kind: str, x: float, y: float) -> list[Mark]:
    """The same shapes as on the pages: triangle, half diamond, ring with a tick, broken ring."""
    fine = Pen(width_mm=0.25)
    if kind == "act":
        return [Path(points=((x, y - 1.3), (x + 1.3, y + 1.0), (x - 1.3, y + 1.0)), closed=True, pen=None, fill=ACCENT)]
    if kind == "watch":
        whole = ((x, y - 1.3), (x + 1.3, y), (x, y + 1.3), (x - 1.3, y))
        return [
            Path(points=whole, closed=True, pen=fine),
            Path(points=((x, y - 1.3), (x + 1.3, y), (x, y + 1.3)), closed=True, pen=None, fill=INK),
        ]
    if kind == "right":
        tick = ((x - 0.6, y + 0.05), (x - 0.1, y + 0.55), (x + 0.7, y - 0.5))
        return [Circle(centre=(x, y), radius_mm=1.15, pen=fine), Path(points=tick, pen=fine)]
    return [Circle(centre=(x, y), radius_mm=1.15, pen=replace(fine, dash_mm=(0.5, 0.4)))]


def _now_marks(now: datetime, ruler: TimeRuler, top: float, foot: float) -> list[Mark]:
    """The present moment through all rows."""
    at = now.astimezone(UTC)
    if not ruler.start <= at <= ruler.end:
        return []
    x = ruler.x(at)
    words = f"now, {day_words(now.astimezone(ruler.zone))}"
    half = text_width_mm(words, _SMALL, bold=True) / 2
    patch = (
        (x - half - 0.5, top - 3.6),
        (x + half + 0.5, top - 3.6),
        (x + half + 0.5, top - 0.9),
        (x - half - 0.5, top - 0.9),
    )
    return [
        Path(points=((x, top - 0.8), (x, foot)), pen=_NOW),
        Path(points=patch, closed=True, pen=None, fill=FILM),
        Text(at=(x, top - 1.5), text=words, size_mm=_SMALL, anchor="middle", bold=True),
    ]


def _legend(y: float) -> list[Mark]:
    marks: list[Mark] = []
    x = 3.0
    for kind, words in LEGEND:
        marks += moment_sign(kind, (x, y - 0.8))
        marks.append(Text(at=(x + 2.2, y), text=words, size_mm=_SMALL))
        x += text_width_mm(words, _SMALL) + 8.0
    box = ((x - 1.2, y - 2.0), (x + 3.0, y - 2.0), (x + 3.0, y + 0.6), (x - 1.2, y + 0.6))
    marks.append(Path(points=box, closed=True, pen=Pen(width_mm=0.13), hatch="days 14"))
    marks.append(Text(at=(x + 4.2, y), text="closed, nobody comes", size_mm=_SMALL))
    return marks


def _shortened(text: str, width_mm: float) -> str:
    """Words that fit, with dots where some are left out."""
    if text_width_mm(text, _SMALL) <= width_mm:
        return text
    while text and text_width_mm(text.rstrip(" ,") + "…", _SMALL) > width_mm:
        text = text[:-1]
    return text.rstrip(" ,") + "…"


def _spoken(args: HoldsStripArgs) -> str:
    """The strip in words."""
    said = [f"closed {_span(first, last)}: {name}" for first, last, name in args.closures]
    said += [f"{row.number}: {row.word}, {row.until_words}" for row in args.rows]
    return "; ".join(said) + "."
