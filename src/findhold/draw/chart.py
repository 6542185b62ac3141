"""A chart of bands over time as marks: axes in ink, round ticks, hatched bands, labelled thresholds, words apart.

Readable in greyscale: bands are told apart by the lean of their hatch and lines by their dashes. The warm accent
stands only on what is to be acted on.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from itertools import pairwise

import numpy as np

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import ACCENT, INK, Drawing, Mark, Path, Pen, Point, Text
from findhold.draw.series import Array, Curve, cut_to, runs, thinned
from findhold.draw.spacing import FALL, LINE, RISE, spread, wrapped
from findhold.draw.timeaxis import DATES_DEPTH_MM, TimeRuler, day_ticks, day_words, right_room_mm, tiers
from findhold.draw.valueaxis import ValueAxis, value_axis
from findhold.errors import BadInput

_TITLE_MM, _SMALL_MM = 2.6, 2.1
_HEAD_MM = 4.6
"""The heading's row [mm]."""
_TIER_MM = LINE * _SMALL_MM + 0.2
_AXIS = Pen(width_mm=0.25)
_FINE = Pen(width_mm=0.13)
_EDGE = Pen(width_mm=0.11)
_RESTLESS = 3.0
"""Millimetres climbed for each millimetre of length, above which a line is drawn with the finest pen."""
_KEY_MM = 6.0
LINES: dict[str, Pen] = {
    "firm": Pen(width_mm=0.42),
    "dashed": Pen(width_mm=0.35, dash_mm=(1.6, 0.9)),
    "fine": Pen(width_mm=0.16),
}
_THRESHOLD = Pen(width_mm=0.18, dash_mm=(0.5, 0.7))


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold:
    """A level line with its words; one beyond the axis is said with an arrow and does not stretch the axis."""

    value: float
    words: str
    wanted: bool = False
    """True stretches the axis so that the line is always seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Upright:
    """An instant marked over the height of the chart; words may be empty where something above says them."""

    at: datetime
    words: str = ""
    act: bool = False
    """True for the date to act on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch of time shaded over the height of the chart."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartArgs:
    """What a chart shows; floor [the chart's unit], least_span [the chart's unit]."""

    title: str
    unit: str
    start: datetime
    end: datetime
    zone: tzinfo
    """In which days begin and dates are written."""
    origin: datetime
    """The instant of time_s = 0."""
    curves: tuple[Curve, ...]
    thresholds: tuple[Threshold, ...] = ()
    uprights: tuple[Upright, ...] = ()
    spans: tuple[Span, ...] = ()
    """Shaded; their words stand at an upright."""
    floor: float | None = None
    """A value that the axis always reaches, such as 0."""
    least_span: float = 1.0
    """The axis is never shorter than this, in the chart's unit."""
    note: str = ""
    """A few words at the right of the heading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The chart's paper and the least room beside its axes; charts with one frame stand under each other."""

    width_mm: float
    height_mm: float
    left_mm: float = 13.0
    right_mm: float = 38.0


def chart_drawing(args: ChartArgs, frame: Frame) -> Drawing:
    """A chart of bands over time.

    Parameters
    ----------
    args : what it shows; points outside start and end are left out, the lines run to the edge.
    frame : the paper; the right room grows when the words of an upright need it.

    Returns
    -------
    The drawing. No two labels overlap; long series keep the extremes of every column of 0.1 mm.

    Raises
    ------
    BadInput : an instant has no zone, the chart ends before it starts, a curve's arrays differ in length or are
        not in order, or the labels do not fit the height.
    """
    _check(args)
    ruler = _ruler(args, frame)
    inside = [one for one in args.uprights if ruler.start <= one.at.astimezone(UTC) <= ruler.end]
    shown = sorted(inside, key=lambda one: one.at.astimezone(UTC))
    rows = _flag_rows(shown, ruler)
    top = _HEAD_MM + (1 + max(rows) if rows else 0) * _TIER_MM + 0.6
    curves = _shown_curves(args)
    axis = value_axis(
        _values(args, curves),
        least_span=args.least_span,
        top_mm=top,
        foot_mm=frame.height_mm - DATES_DEPTH_MM,
        where=args.title,
    )
    marks: list[Mark] = _span_marks(args.spans, ruler, axis)
    for curve in curves:
        marks += _band_marks(curve, args, ruler, axis)
    marks += _threshold_marks(args, ruler, axis)
    marks += _upright_marks(shown, rows, ruler, axis)
    for curve in curves:
        marks += _line_marks(curve, args, ruler, axis)
    marks += _axes(args, ruler, axis)
    marks += _labels(args, curves, ruler, axis, frame)
    return Drawing(
        width_mm=frame.width_mm,
        height_mm=frame.height_mm,
        marks=tuple(marks),
        title=f"{args.title} over time",
        description=_spoken(args, curves),
    )


def _check(args: ChartArgs) -> None:
    """Refuse what cannot be drawn truly."""
    for name, at in (("start", args.start), ("end", args.end), ("origin", args.origin), *_named(args.uprights)):
        if at.tzinfo is None:
            raise BadInput(
                f"{name} at {at:%Y-%m-%d %H:%M} has no time zone", where=args.title, do="Give the site's zone"
            )
    if not args.end.astimezone(UTC) > args.start.astimezone(UTC):
        raise BadInput("the chart ends before it starts", where=args.title, do="Give a later end")
    for curve in args.curves:
        lengths = {len(part) for part in (curve.time_s, curve.best, curve.low, curve.high) if part is not None}
        if len(lengths) != 1 or (curve.low is None) != (curve.high is None):
            raise BadInput(
                f"{curve.name}: times, best, low and high differ in length",
                where=args.title,
                do="Give one value of each for every time",
            )
        if np.any(np.diff(curve.time_s) <= 0.0):
            raise BadInput(f"{curve.name}: the times are not in order", where=args.title, do="Sort the series by time")


def _span_marks(spans: tuple[Span, ...], ruler: TimeRuler, axis: ValueAxis) -> list[Mark]:
    """Shaded stretches, cut to the chart."""
    marks: list[Mark] = []
    for span in spans:
        left, right = (ruler.x(min(max(at.astimezone(UTC), ruler.start), ruler.end)) for at in (span.start, span.end))
        if right > left:
            corners = ((left, axis.top_mm), (right, axis.top_mm), (right, axis.foot_mm), (left, axis.foot_mm))
            marks.append(Path(points=corners, closed=True, pen=None, hatch="days 7"))
    return marks


def _named(uprights: tuple[Upright, ...]) -> list[tuple[str, datetime]]:
    return [(one.words or "an instant", one.at) for one in uprights]


def _ruler(args: ChartArgs, frame: Frame) -> TimeRuler:
    start, end = _ends(args)
    told = [one for one in args.uprights if one.words and start <= one.at.astimezone(UTC) <= end]
    shares = [(one.at.astimezone(UTC) - start) / (end - start) for one in told]
    widths = [_words_mm(one) + 1.5 for one in told]
    need = right_room_mm(shares, widths, left_mm=frame.left_mm, width_mm=frame.width_mm)
    right = frame.width_mm - max(frame.right_mm, need)
    return TimeRuler(start=start, end=end, zone=args.zone, left_mm=frame.left_mm, right_mm=right)


def _words_mm(one: Upright) -> float:
    return text_width_mm(one.words, _SMALL_MM, bold=one.act)


def _flag_rows(shown: list[Upright], ruler: TimeRuler) -> list[int]:
    """Rows of the words above the plot; every upright has one as soon as any has words."""
    if not any(one.words for one in shown):
        return []
    return tiers([ruler.x(one.at.astimezone(UTC)) for one in shown], [_words_mm(one) for one in shown])


def _shown_curves(args: ChartArgs) -> list[Curve]:
    """What of each curve lies between the chart's start and end; curves without any are left out."""
    first_s, last_s = ((at - args.origin.astimezone(UTC)).total_seconds() for at in _ends(args))
    return [part for part in (cut_to(curve, first_s, last_s) for curve in args.curves) if len(part.time_s)]


def _ends(args: ChartArgs) -> tuple[datetime, datetime]:
    return args.start.astimezone(UTC), args.end.astimezone(UTC)


def _values(args: ChartArgs, curves: list[Curve]) -> list[float]:
    """Everything that must lie on the upright axis."""
    parts = [part for curve in curves for part in (curve.best, curve.low, curve.high) if part is not None]
    values = [float(edge) for part in parts for edge in (np.nanmin(part), np.nanmax(part))]
    values += [line.value for line in args.thresholds if line.wanted]
    return values + ([args.floor] if args.floor is not None else [])


def _points(curve: Curve, values: Array, args: ChartArgs, ruler: TimeRuler, axis: ValueAxis) -> list[tuple[Point, ...]]:
    """A series as lines on the paper, thinned, one for each stretch without a gap."""
    begin_s = (ruler.start - args.origin.astimezone(UTC)).total_seconds()
    length_s = (ruler.end - ruler.start).total_seconds()
    x_mm = ruler.left_mm + (curve.time_s - begin_s) / length_s * (ruler.right_mm - ruler.left_mm)
    lines = []
    for run in runs(np.isfinite(values)):
        x, value = x_mm[run], values[run]
        kept = thinned(x, value)
        lines.append(tuple((float(a), axis.y(float(b))) for a, b in zip(x[kept], value[kept], strict=True)))
    return lines


def _band_marks(curve: Curve, args: ChartArgs, ruler: TimeRuler, axis: ValueAxis) -> list[Mark]:
    """The hatched band with its two fine edges."""
    if curve.low is None or curve.high is None:
        return []
    known = np.isfinite(curve.low) & np.isfinite(curve.high)
    low, high = (np.where(known, part, np.nan) for part in (curve.low, curve.high))
    marks: list[Mark] = []
    feet, heads = (_points(curve, part, args, ruler, axis) for part in (low, high))
    for foot, head in zip(feet, heads, strict=True):
        if len(foot) < 2:
            continue
        if curve.hatch is not None:
            marks.append(Path(points=(*foot, *reversed(head)), closed=True, pen=None, hatch=curve.hatch))
        marks += [Path(points=edge, pen=_EDGE) for edge in (foot, head) if not restless(edge)]
    return marks


def restless(line: tuple[Point, ...]) -> bool:
    """True for a line that goes up and down so often that its own width would ink the chart shut."""
    climbed = sum(abs(b[1] - a[1]) for a, b in pairwise(line))
    return climbed > _RESTLESS * (line[-1][0] - line[0][0])


def _line_marks(curve: Curve, args: ChartArgs, ruler: TimeRuler, axis: ValueAxis) -> list[Mark]:
    lines = _points(curve, curve.best, args, ruler, axis)
    return [Path(points=line, pen=_EDGE if restless(line) else LINES[curve.line]) for line in lines if len(line) > 1]


def _threshold_marks(args: ChartArgs, ruler: TimeRuler, axis: ValueAxis) -> list[Mark]:
    return [
        Path(points=((ruler.left_mm, axis.y(line.value)), (ruler.right_mm, axis.y(line.value))), pen=_THRESHOLD)
        for line in args.thresholds
        if axis.low <= line.value <= axis.high
    ]


def _upright_marks(shown: list[Upright], rows: list[int], ruler: TimeRuler, axis: ValueAxis) -> list[Mark]:
    """Upright lines with their words in rows above the plot."""
    marks: list[Mark] = []
    for place, one in enumerate(shown):
        x, head = ruler.x(one.at.astimezone(UTC)), axis.top_mm
        colour = ACCENT if one.act else INK
        if one.words:
            head -= (rows[place] + 1) * _TIER_MM
            foot = head + RISE * _SMALL_MM
            marks.append(Text(at=(x + 0.9, foot), text=one.words, size_mm=_SMALL_MM, bold=one.act, colour=colour))
        pen = Pen(width_mm=0.35, colour=colour) if one.act else Pen(width_mm=0.13, colour=colour)
        marks.append(Path(points=((x, head), (x, axis.foot_mm)), pen=pen))
    return marks


def _axes(args: ChartArgs, ruler: TimeRuler, axis: ValueAxis) -> list[Mark]:
    """Both axes with ticks and figures, and the heading."""
    left, foot = ruler.left_mm, axis.foot_mm
    marks: list[Mark] = [
        Path(points=((left, axis.top_mm), (left, foot), (ruler.right_mm, foot)), pen=_AXIS),
        Text(at=(1.0, RISE * _TITLE_MM + 0.6), text=f"{args.title}, {args.unit}", size_mm=_TITLE_MM, bold=True),
    ]
    for value in axis.ticks:
        y = axis.y(value)
        marks.append(Path(points=((left - 1.0, y), (left, y)), pen=_FINE))
        at = (left - 1.6, y + 0.36 * _SMALL_MM)
        marks.append(Text(at=at, text=axis.words(value), size_mm=_SMALL_MM, anchor="end"))
    if args.note:
        begin = 1.0 + text_width_mm(f"{args.title}, {args.unit}", _TITLE_MM, bold=True) + 4.0
        marks.append(Text(at=(begin, RISE * _TITLE_MM + 0.6), text=args.note, size_mm=_SMALL_MM))
    return marks + day_ticks(ruler, foot)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Label:
    """Words beside the plot: the height they point to, their lines, and what stands before them."""

    y_mm: float
    lines: tuple[str, ...]
    curve: Curve | None = None

    @property
    def height_mm(self) -> float:
        return (len(self.lines) - 1) * LINE * _SMALL_MM + (RISE + FALL) * _SMALL_MM + 0.5


def _labels(args: ChartArgs, curves: list[Curve], ruler: TimeRuler, axis: ValueAxis, frame: Frame) -> list[Mark]:
    """The names of lines and thresholds at the right of the plot, each near what it names, none on another."""
    labels = []
    for curve in curves:
        words = wrapped(curve.name, frame.width_mm - ruler.right_mm - _KEY_MM - 5.0, _SMALL_MM)
        ends = curve.best[np.isfinite(curve.best)]
        labels.append(_Label(y_mm=axis.y(float(ends[-1])), lines=words, curve=curve))
    for line in args.thresholds:
        beyond = "\u2191 " if line.value > axis.high else "\u2193 " if line.value < axis.low else ""
        words = wrapped(f"{beyond}{line.words}", frame.width_mm - ruler.right_mm - 4.5, _SMALL_MM)
        labels.append(_Label(y_mm=axis.y(min(max(line.value, axis.low), axis.high)), lines=words))
    labels.sort(key=lambda label: label.y_mm)
    heights = [label.height_mm for label in labels]
    # Dates and the words of uprights may hang over the end of the axis; these words stay between them.
    top = axis.top_mm if any(one.words for one in args.uprights) else _HEAD_MM - 1.0
    centres = spread([label.y_mm for label in labels], heights, top, axis.foot_mm + 0.6)
    marks: list[Mark] = []
    for label, centre in zip(labels, centres, strict=True):
        marks += _label_marks(label, centre, ruler.right_mm)
    return marks


def _label_marks(label: _Label, centre: float, right: float) -> list[Mark]:
    """A leader, for a curve its key, and the lines of words."""
    begin = right + 3.2
    marks: list[Mark] = [Path(points=((right + 0.4, label.y_mm), (begin - 0.4, centre)), pen=_EDGE)]
    if label.curve is not None:
        marks += _key(label.curve, begin, centre)
        begin += _KEY_MM + 0.8
    top = centre - label.height_mm / 2 + 0.25
    for number, line in enumerate(label.lines):
        at = (begin, top + (RISE + number * LINE) * _SMALL_MM)
        marks.append(Text(at=at, text=line, size_mm=_SMALL_MM))
    return marks


def _key(curve: Curve, left: float, y: float) -> list[Mark]:
    """A small piece of the line with its band."""
    right, half = left + _KEY_MM, 0.85
    marks: list[Mark] = []
    if curve.low is not None:
        corners = ((left, y - half), (right, y - half), (right, y + half), (left, y + half))
        marks.append(Path(points=corners, closed=True, pen=None, hatch=curve.hatch))
        marks += [Path(points=corners[:2], pen=_EDGE), Path(points=corners[2:], pen=_EDGE)]
    return [*marks, Path(points=((left, y), (right, y)), pen=LINES[curve.line])]


def _spoken(args: ChartArgs, curves: list[Curve]) -> str:
    """The chart in words: where each line ends, the thresholds, the instants."""
    said = []
    for curve in curves:
        known = np.flatnonzero(np.isfinite(curve.best))
        text = f"{curve.name}: {curve.best[known[-1]]:.3g} {args.unit} at the end"
        if curve.low is not None and curve.high is not None:
            text += f" ({curve.low[known[-1]]:.3g} to {curve.high[known[-1]]:.3g})"
        said.append(text)
    said += [f"line at {line.value:g} {args.unit}: {line.words}" for line in args.thresholds]
    said += [
        f"{one.words} {day_words(one.at.astimezone(args.zone).date(), year=True)}" for one in args.uprights if one.words
    ]
    return "; ".join(said) + "." if said else "Nothing to draw."
