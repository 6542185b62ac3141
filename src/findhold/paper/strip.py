"""The wait as a strip of time: exposed, packed, now, checks, opening, keep-until with its band, closures hatched."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import Literal

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import ACCENT, FILM, INK, Circle, Drawing, Mark, Path, Pen, Point, Text
from findhold.draw.spacing import LINE, RISE, wrapped
from findhold.draw.timeaxis import TimeRuler, day_ticks, day_words, right_room_mm, tiers
from findhold.errors import BadInput

Kind = Literal["exposed", "packed", "now", "open", "keep_until", "void", "check"]
KeepBand = tuple[datetime | None, datetime | None, datetime | None]
Closure = tuple[date, date, str]

_SIZE_MM = 2.4
_SMALL_MM = 2.1
_BAND_MM = 7.0
_FINE = Pen(width_mm=0.13)
_AXIS = Pen(width_mm=0.3)


@dataclass(frozen=True, slots=True, kw_only=True)
class StripMoment:
    """Something that happened or is due: when, what it is called on the strip, and of which kind."""

    at: datetime
    name: str
    kind: Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class StripArgs:
    """What a strip shows: its first and last instant, and what lies between."""

    start: datetime
    end: datetime
    zone: tzinfo
    """The site's zone, in which days begin and dates are written."""
    moments: tuple[StripMoment, ...] = ()
    """What is marked; checks are numbered in order, all others are named."""
    keep_band: KeepBand = (None, None, None)
    """Keep-until low, best and high; None where there is none."""
    closures: tuple[Closure, ...] = ()
    """First day, last day (both closed) and name."""
    left_mm: float = 4.0
    right_mm: float = 4.0
    """The least room kept beside the line, so that it can stand over charts of the same days [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Flag:
    """A moment's words at the right of its stem, in the lowest tier where they touch nothing."""

    moment: StripMoment
    x_mm: float
    lines: tuple[str, ...]
    width_mm: float
    tier: int


def strip_drawing(args: StripArgs, *, width_mm: float) -> Drawing:
    """The wait drawn as a strip of time; as high as its words need.

    Not for reading hours off: a day is a few millimetres.

    Parameters
    ----------
    args : what the strip shows; a keep-until band that lies outside runs off the strip.
    width_mm : on the paper [mm].

    Returns
    -------
    The drawing. No two words overlap and no stem runs through a word.

    Raises
    ------
    BadInput : an instant has no zone, the strip ends before it starts, a moment lies outside it, or a closure
        ends before it begins.
    """
    _check(args)
    utc = [replace(moment, at=moment.at.astimezone(UTC)) for moment in args.moments]
    shown = sorted(utc, key=lambda moment: moment.at)
    named = [moment for moment in shown if moment.kind != "check"]
    low, best, high = (at.astimezone(UTC) if at else None for at in args.keep_band)
    ruler = _ruled(args, width_mm)
    flags = _flagged(named, ruler, width_mm)
    heights = _tier_heights(flags)
    top = 1.0 + sum(heights) + 2.2
    axis = top + _BAND_MM
    marks = _closure_marks(args.closures, ruler, top, axis)
    marks += day_ticks(ruler, axis)
    marks += keep_marks((low, best, high), ruler, (top + axis) / 2)
    if any(moment.kind == "void" for moment in named):
        marks += _struck((low, best, high), ruler, (top + axis) / 2)
    marks.append(Path(points=((ruler.left_mm, axis), (ruler.right_mm, axis)), pen=_AXIS))
    marks += _check_marks([moment for moment in shown if moment.kind == "check"], ruler, axis)
    marks += _flag_marks(flags, heights, top, axis)
    names, height = _closure_names(args.closures, ruler, axis + 5.2, width_mm)
    first, last = (day_words(at.astimezone(args.zone), year=True) for at in (args.start, args.end))
    return Drawing(
        width_mm=width_mm,
        height_mm=height,
        marks=tuple(marks + names),
        title=f"Strip of time from {first} to {last}",
        description=_spoken(shown, args),
    )


def _check(args: StripArgs) -> None:
    """Refuse what cannot be drawn truly."""
    where = "strip of time"
    instants = [("start", args.start), ("end", args.end), *((m.name, m.at) for m in args.moments)]
    instants += [("keep-until", at) for at in args.keep_band if at is not None]
    for name, at in instants:
        if at.tzinfo is None:
            raise BadInput(f"{name} at {at:%Y-%m-%d %H:%M} has no time zone", where=where, do="Give the site's zone")
    if not args.end > args.start:
        raise BadInput("the strip ends before it starts", where=where, do="Give a later end")
    for moment in args.moments:
        if not args.start <= moment.at <= args.end:
            raise BadInput(
                f"{moment.name} at {moment.at:%Y-%m-%d %H:%M} lies outside the strip",
                where=where,
                limit=f"{args.start:%Y-%m-%d %H:%M} to {args.end:%Y-%m-%d %H:%M}",
                do="Draw a longer strip",
            )
    for first, last, name in args.closures:
        if last < first:
            raise BadInput(f"closure {name} ends before it begins", where=where, do="Swap its two days")


def _words(moment: StripMoment, zone: tzinfo, width_mm: float) -> tuple[tuple[str, ...], float]:
    """A moment's lines and their width."""
    bold = moment.kind == "keep_until"
    text = f"{moment.name} {day_words(moment.at.astimezone(zone))}"
    lines = wrapped(text, 0.4 * width_mm, _SIZE_MM, bold=bold)
    return lines, max(text_width_mm(line, _SIZE_MM, bold=bold) for line in lines)


def strip_room_mm(args: StripArgs, *, width_mm: float) -> float:
    """The room at the right of the line that the strip's words need, or what was asked for when that is more [mm]."""
    utc = [replace(moment, at=moment.at.astimezone(UTC)) for moment in args.moments if moment.kind != "check"]
    start, end = args.start.astimezone(UTC), args.end.astimezone(UTC)
    shares = [(moment.at - start) / (end - start) for moment in utc]
    widths = [_words(moment, args.zone, width_mm)[1] + 2.2 for moment in utc]
    return max(args.right_mm, right_room_mm(shares, widths, left_mm=args.left_mm, width_mm=width_mm))


def _ruled(args: StripArgs, width_mm: float) -> TimeRuler:
    """The ruler, its right end drawn in as far as the last words need."""
    return TimeRuler(
        start=args.start.astimezone(UTC),
        end=args.end.astimezone(UTC),
        zone=args.zone,
        left_mm=args.left_mm,
        right_mm=width_mm - strip_room_mm(args, width_mm=width_mm),
    )


def _flagged(named: list[StripMoment], ruler: TimeRuler, width_mm: float) -> list[_Flag]:
    """Words from the last to the first: each one tier above every stem that its words would meet."""
    flags: list[_Flag] = []
    lines = [_words(moment, ruler.zone, width_mm) for moment in named]
    stems = [ruler.x(moment.at) for moment in named]
    placed = tiers(stems, [width for _, width in lines])
    for moment, x, (words, width), tier in zip(named, stems, lines, placed, strict=True):
        flags.append(_Flag(moment=moment, x_mm=x, lines=words, width_mm=width, tier=tier))
    return flags[::-1]


def _tier_heights(flags: list[_Flag]) -> list[float]:
    """How high each tier is, the lowest first."""
    heights = [0.0] * (1 + max((flag.tier for flag in flags), default=-1))
    for flag in flags:
        heights[flag.tier] = max(heights[flag.tier], (len(flag.lines) * LINE + 0.2) * _SIZE_MM)
    return heights


def _flag_marks(flags: list[_Flag], heights: list[float], top: float, axis: float) -> list[Mark]:
    """Stems, words, and a sign of its own for each kind."""
    marks: list[Mark] = []
    for flag in flags:
        kind = flag.moment.kind
        act = kind == "keep_until"
        colour = ACCENT if act else INK
        head = top - 2.2 - sum(heights[: flag.tier + 1])
        pen = Pen(width_mm=0.32 if kind in ("now", "keep_until") else 0.11, colour=colour)
        marks.append(Path(points=((flag.x_mm, head + 0.3), (flag.x_mm, axis)), pen=pen))
        for number, line in enumerate(flag.lines):
            at = (flag.x_mm + 0.9, head + (RISE + number * LINE) * _SIZE_MM)
            marks.append(Text(at=at, text=line, size_mm=_SIZE_MM, bold=act, colour=colour))
        marks += moment_sign(kind, (flag.x_mm, axis))
    return marks


def moment_sign(kind: Kind, at: Point) -> list[Mark]:
    """The sign on the line: told apart by form, not by colour."""
    x, y = at
    r = 1.15
    diamond = ((x, y - r), (x + r, y), (x, y + r), (x - r, y))
    if kind == "exposed":
        return [Circle(centre=at, radius_mm=0.9, pen=_AXIS, fill=FILM)]
    if kind == "packed":
        square = ((x - 0.85, y - 0.85), (x + 0.85, y - 0.85), (x + 0.85, y + 0.85), (x - 0.85, y + 0.85))
        return [Path(points=square, closed=True, pen=_AXIS, fill=INK)]
    if kind == "now":
        return [Path(points=((x, y), (x + 1.1, y + 2.0), (x - 1.1, y + 2.0)), closed=True, pen=_FINE, fill=INK)]
    if kind == "void":
        ends = (((x - r, y - r), (x + r, y + r)), ((x - r, y + r), (x + r, y - r)))
        return [Path(points=line, pen=_AXIS) for line in ends]
    if kind == "open":
        return [Path(points=diamond, closed=True, pen=_AXIS, fill=FILM)]
    return [Path(points=diamond, closed=True, pen=Pen(width_mm=0.3, colour=ACCENT), fill=ACCENT)]


def _check_marks(checks: list[StripMoment], ruler: TimeRuler, axis: float) -> list[Mark]:
    """A small ring on the line for each check, numbered where the numbers have room."""
    marks: list[Mark] = []
    free_from = -1e9
    for number, check in enumerate(checks, start=1):
        x = ruler.x(check.at)
        marks.append(Circle(centre=(x, axis), radius_mm=0.6, pen=_FINE, fill=FILM))
        half = text_width_mm(str(number), 1.7) / 2
        if x - half >= free_from:
            at = (x, axis - 1.1)
            marks.append(Text(at=at, text=str(number), size_mm=1.7, anchor="middle", halo=True))
            free_from = x + half + 0.5
    return marks


def keep_marks(band: KeepBand, ruler: TimeRuler, y: float) -> list[Mark]:
    """The band of the keep-until date: a lens, widest at the best figure, open where it runs off the strip."""
    low, best, high = band
    begin = low or best
    if begin is None or begin > ruler.end:
        return []
    half = 1.5
    left = ruler.x(max(begin, ruler.start))
    open_end = high is None or high > ruler.end or best is None
    right = ruler.right_mm if high is None or high > ruler.end else ruler.x(max(high, ruler.start))
    middle = ruler.x(min(max(best, ruler.start), ruler.end)) if best is not None else ruler.right_mm
    tail = ((right, y - half), (right, y + half)) if open_end else ((right, y),)
    outline = ((left, y), (middle, y - half), *tail, (middle, y + half))
    pen = Pen(width_mm=0.22, colour=ACCENT)
    marks: list[Mark] = [Path(points=outline, closed=True, pen=pen, fill=FILM)]
    if best is not None and ruler.start <= best <= ruler.end:
        marks.append(Path(points=((middle, y - half), (middle, y + half)), pen=Pen(width_mm=0.5, colour=ACCENT)))
    return marks


def _struck(band: KeepBand, ruler: TimeRuler, y: float) -> list[Mark]:
    """Two lines across the band of a date that no longer counts."""
    begin, high = band[0] or band[1], band[2]
    if begin is None or begin > ruler.end:
        return []
    left = ruler.x(max(begin, ruler.start)) - 1.0
    right = 1.0 + (ruler.right_mm if high is None or high > ruler.end else ruler.x(max(high, ruler.start)))
    lines = (((left, y - 2.0), (right, y + 2.0)), ((left, y + 2.0), (right, y - 2.0)))
    return [Path(points=line, pen=_AXIS) for line in lines]


def _closure_marks(closures: Sequence[Closure], ruler: TimeRuler, top: float, axis: float) -> list[Mark]:
    """Closed days hatched over the height of the band."""
    marks: list[Mark] = []
    for first, last, _ in closures:
        left, right = ruler.day(first), ruler.day(last + timedelta(days=1))
        if right > left:
            corners = ((left, top), (right, top), (right, axis), (left, axis))
            marks.append(Path(points=corners, closed=True, pen=_FINE, hatch="ceramic"))
    return marks


def _closure_names(
    closures: Sequence[Closure], ruler: TimeRuler, top: float, width_mm: float
) -> tuple[list[Mark], float]:
    """Each closure's name and days under its hatching, in as many rows as are needed; and the strip's height."""
    marks: list[Mark] = []
    rows: list[float] = []
    for first, last, name in sorted(closures):
        left, right = ruler.day(first), ruler.day(last + timedelta(days=1))
        if right <= left:
            continue
        days = day_words(first) if first == last else f"{day_words(first)} to {day_words(last)}"
        for line in wrapped(f"closed {days}: {name}", width_mm - 2.0, _SMALL_MM):
            width = text_width_mm(line, _SMALL_MM)
            x = min(max((left + right - width) / 2, 1.0), width_mm - width - 1.0)
            row = next((n for n, end in enumerate(rows) if end + 2.0 <= x), len(rows))
            rows[row : row + 1] = [x + width]
            marks.append(Text(at=(x, top + (RISE + row * LINE) * _SMALL_MM), text=line, size_mm=_SMALL_MM))
    return marks, top + len(rows) * LINE * _SMALL_MM + 1.0


def _spoken(shown: list[StripMoment], args: StripArgs) -> str:
    """The strip in words."""
    said = [f"{moment.name} {day_words(moment.at.astimezone(args.zone), year=True)}" for moment in shown]
    for name, at in zip(("low", "best", "high"), args.keep_band, strict=True):
        said.append(f"keep-until {name} {day_words(at.astimezone(args.zone), year=True) if at else 'none'}")
    for first, last, name in args.closures:
        said.append(f"closed {day_words(first, year=True)} to {day_words(last, year=True)}: {name}")
    return "; ".join(said) + "."
