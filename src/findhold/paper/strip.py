"""The wait as a strip of time: exposed, packed, now, checks, opening, keep-until with its band, closures hatched."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Literal

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import ACCENT, FILM, INK, Circle, Drawing, Mark, Path, Pen, Point, Text
from findhold.errors import BadInput
from findhold.paper.lettering import LINE, RISE, wrapped

Kind = Literal["exposed", "packed", "now", "open", "keep_until", "check"]
KeepBand = tuple[datetime | None, datetime | None, datetime | None]
Closure = tuple[date, date, str]

_SIZE_MM = 2.4
_SMALL_MM = 2.1
_LEFT_MM = 4.0
_RIGHT_MM = 4.0
"""The least room kept at the right edge [mm]."""
_BAND_MM = 7.0
_FINE = Pen(width_mm=0.13)
_AXIS = Pen(width_mm=0.3)
_STEPS_DAYS = (1, 2, 7, 14, 28, 56, 112, 224, 448, 896)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ruler:
    """Instants to millimetres along the strip; in UTC, because a zone's own clock hides the hour it skips."""

    start: datetime
    end: datetime
    zone: tzinfo
    left_mm: float
    right_mm: float

    def x(self, at: datetime) -> float:
        share = (at - self.start) / (self.end - self.start)
        return self.left_mm + share * (self.right_mm - self.left_mm)

    def day(self, on: date) -> float:
        """Where a day begins, kept inside the strip."""
        return self.x(min(max(self.midnight(on), self.start), self.end))

    def midnight(self, on: date) -> datetime:
        """The instant at which a day begins at the site."""
        return datetime.combine(on, time(), self.zone).astimezone(UTC)


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
    ruler = _ruled(args, named, width_mm)
    flags = _flagged(named, ruler, width_mm)
    heights = _tier_heights(flags)
    top = 1.0 + sum(heights) + 2.2
    axis = top + _BAND_MM
    marks = _closure_marks(args.closures, ruler, top, axis)
    marks += _ticks(ruler, axis)
    marks += _keep_marks((low, best, high), ruler, (top + axis) / 2)
    marks.append(Path(points=((ruler.left_mm, axis), (ruler.right_mm, axis)), pen=_AXIS))
    marks += _check_marks([moment for moment in shown if moment.kind == "check"], ruler, axis)
    marks += _flag_marks(flags, heights, top, axis)
    names, height = _closure_names(args.closures, ruler, axis + 5.2, width_mm)
    first, last = (_day(at.astimezone(args.zone), year=True) for at in (args.start, args.end))
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
    text = f"{moment.name} {_day(moment.at.astimezone(zone))}"
    lines = wrapped(text, 0.4 * width_mm, _SIZE_MM, bold=bold)
    return lines, max(text_width_mm(line, _SIZE_MM, bold=bold) for line in lines)


def _ruled(args: StripArgs, named: list[StripMoment], width_mm: float) -> _Ruler:
    """The ruler, its right end drawn in as far as the last words need."""
    start, end = args.start.astimezone(UTC), args.end.astimezone(UTC)
    margin = _RIGHT_MM
    for moment in named:
        share = (moment.at - start) / (end - start)
        need = _words(moment, args.zone, width_mm)[1] + 2.2
        if share > 0:
            margin = max(margin, (_LEFT_MM + share * (width_mm - _LEFT_MM) + need - width_mm) / share)
    return _Ruler(start=start, end=end, zone=args.zone, left_mm=_LEFT_MM, right_mm=width_mm - margin)


def _flagged(named: list[StripMoment], ruler: _Ruler, width_mm: float) -> list[_Flag]:
    """Words from the last to the first: each one tier above every stem that its words would meet."""
    flags: list[_Flag] = []
    for moment in reversed(named):
        lines, width = _words(moment, ruler.zone, width_mm)
        x = ruler.x(moment.at)
        met = [flag.tier for flag in flags if flag.x_mm <= x + width + 2.0]
        tier = 1 + max(met) if met else 0
        flags.append(_Flag(moment=moment, x_mm=x, lines=lines, width_mm=width, tier=tier))
    return flags


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
        marks += _sign(kind, (flag.x_mm, axis))
    return marks


def _sign(kind: Kind, at: Point) -> list[Mark]:
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
    if kind == "open":
        return [Path(points=diamond, closed=True, pen=_AXIS, fill=FILM)]
    return [Path(points=diamond, closed=True, pen=Pen(width_mm=0.3, colour=ACCENT), fill=ACCENT)]


def _check_marks(checks: list[StripMoment], ruler: _Ruler, axis: float) -> list[Mark]:
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


def _keep_marks(band: KeepBand, ruler: _Ruler, y: float) -> list[Mark]:
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


def _closure_marks(closures: Sequence[Closure], ruler: _Ruler, top: float, axis: float) -> list[Mark]:
    """Closed days hatched over the height of the band."""
    marks: list[Mark] = []
    for first, last, _ in closures:
        left, right = ruler.day(first), ruler.day(last + timedelta(days=1))
        if right > left:
            corners = ((left, top), (right, top), (right, axis), (left, axis))
            marks.append(Path(points=corners, closed=True, pen=_FINE, hatch="ceramic"))
    return marks


def _closure_names(closures: Sequence[Closure], ruler: _Ruler, top: float, width_mm: float) -> tuple[list[Mark], float]:
    """Each closure's name and days under its hatching, in as many rows as are needed; and the strip's height."""
    marks: list[Mark] = []
    rows: list[float] = []
    for first, last, name in sorted(closures):
        left, right = ruler.day(first), ruler.day(last + timedelta(days=1))
        if right <= left:
            continue
        days = _day(first) if first == last else f"{_day(first)} to {_day(last)}"
        for line in wrapped(f"closed {days}: {name}", width_mm - 2.0, _SMALL_MM):
            width = text_width_mm(line, _SMALL_MM)
            x = min(max((left + right - width) / 2, 1.0), width_mm - width - 1.0)
            row = next((n for n, end in enumerate(rows) if end + 2.0 <= x), len(rows))
            rows[row : row + 1] = [x + width]
            marks.append(Text(at=(x, top + (RISE + row * LINE) * _SMALL_MM), text=line, size_mm=_SMALL_MM))
    return marks, top + len(rows) * LINE * _SMALL_MM + 1.0


def _ticks(ruler: _Ruler, axis: float) -> list[Mark]:
    """Weeks (days in a short strip) marked off under the line, as many of them dated as have room."""
    first, last = ruler.start.astimezone(ruler.zone).date(), ruler.end.astimezone(ruler.zone).date()
    per_day = (ruler.right_mm - ruler.left_mm) / ((ruler.end - ruler.start) / timedelta(days=1))
    wide = text_width_mm("28 Aug 2028", _SMALL_MM) + 5.0  # 5: the first and last may be moved inwards
    short = (last - first).days < 14
    step = next((days for days in _STEPS_DAYS if (short or days >= 7) and days * per_day >= wide), _STEPS_DAYS[-1])
    fine = 1 if per_day >= 1.2 else 7 if 7 * per_day >= 1.2 else step
    monday = first - timedelta(days=first.weekday())
    marks: list[Mark] = []
    year = None
    for number in range((last - monday).days + 1):
        on = monday + timedelta(days=number)
        at = ruler.midnight(on)
        dated = number % step == 0 if step >= 7 else (on - first).days % step == 0
        if not ruler.start <= at <= ruler.end or not (dated or number % fine == 0):
            continue
        x = ruler.x(at)
        long = 1.7 if dated else 1.2 if number % 7 == 0 else 0.7
        marks.append(Path(points=((x, axis), (x, axis + long)), pen=_FINE))
        if dated and ruler.left_mm - 2.0 <= x <= ruler.right_mm + 2.0:
            words = _day(on, year=on.year != year, weekday=False)
            half = text_width_mm(words, _SMALL_MM) / 2
            place = min(max(x, half + 0.5), ruler.right_mm + _RIGHT_MM - half - 0.3)
            marks.append(Text(at=(place, axis + 4.0), text=words, size_mm=_SMALL_MM, anchor="middle"))
            year = on.year
    return marks


def _day(on: date, *, year: bool = False, weekday: bool = True) -> str:
    """A day as it is said: Tue 11 Aug, with the year where it is not clear."""
    names = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    lead = f"{names[on.weekday()]} " if weekday else ""
    return f"{lead}{on.day} {months[on.month - 1]}" + (f" {on.year}" if year else "")


def _spoken(shown: list[StripMoment], args: StripArgs) -> str:
    """The strip in words."""
    said = [f"{moment.name} {_day(moment.at.astimezone(args.zone), year=True)}" for moment in shown]
    for name, at in zip(("low", "best", "high"), args.keep_band, strict=True):
        said.append(f"keep-until {name} {_day(at.astimezone(args.zone), year=True) if at else 'none'}")
    for first, last, name in args.closures:
        said.append(f"closed {_day(first, year=True)} to {_day(last, year=True)}: {name}")
    return "; ".join(said) + "."
