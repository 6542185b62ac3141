"""Dimension chains and leaders: the writing round a measured drawing, in paper millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import FILM, INK, Circle, Mark, Path, Pen, Point, Text
from findhold.draw.spacing import FALL, LINE, RISE, spread

DIMENSION_PEN = Pen(width_mm=0.13)
EXTENSION_PEN = Pen(width_mm=0.09)
LEADER_PEN = Pen(width_mm=0.11)
_TICK_MM = 1.1
_ROUND_RATIOS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100)


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One measured stretch: its two ends on the paper [mm], and what may be written at it, fullest first."""

    start_mm: float
    end_mm: float
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Lines of text and the point in the drawing that they name."""

    at: Point
    lines: tuple[str, ...]


def written_mm(value_mm: float) -> str:
    """A length as it stands at a dimension line: millimetres, with a tenth only where there is one."""
    return f"{value_mm:.1f}".removesuffix(".0")


def round_ratio(need_mm: Point, room_mm: Point) -> int | None:
    """The largest scale 1:n, n a round number, at which something fits.

    Parameters
    ----------
    need_mm : width and height of the thing [mm].
    room_mm : width and height free on the paper [mm].

    Returns
    -------
    n, or None when it does not fit even at 1:100.
    """
    for ratio in _ROUND_RATIOS:
        if need_mm[0] / ratio <= room_mm[0] and need_mm[1] / ratio <= room_mm[1]:
            return ratio
    return None


def level_dimension(spans: Sequence[Span], *, y_mm: float, from_mm: float, size_mm: float) -> list[Mark]:
    """A level chain of dimensions below a drawing, its figures over the line.

    Figures that do not fit between their ticks stand outside the two ends, or one line higher in between.

    Parameters
    ----------
    spans : stretches from left to right.
    y_mm : height of the dimension line on the paper [mm].
    from_mm : where the extension lines begin [mm].
    size_mm : lettering [mm].
    """
    marks: list[Mark] = []
    ends = sorted({end for span in spans for end in (span.start_mm, span.end_mm)})
    for x in ends:
        marks.append(Path(points=((x, from_mm), (x, y_mm + 1.0)), pen=EXTENSION_PEN))
        marks.append(_tick((x, y_mm)))
    marks.append(Path(points=((ends[0], y_mm), (ends[-1], y_mm)), pen=DIMENSION_PEN))
    for number, span in enumerate(spans):
        middle = (span.start_mm + span.end_mm) / 2
        words = _fitting(span, size_mm)
        base = y_mm - 0.25 * size_mm - 0.15
        if words is not None:
            marks.append(Text(at=(middle, base), text=words, size_mm=size_mm, anchor="middle"))
            continue
        if 0 < number < len(spans) - 1:
            at = (middle, base - LINE * size_mm)
            marks.append(Text(at=at, text=span.words[-1], size_mm=size_mm, anchor="middle", halo=True))
            continue
        first = number == 0 and len(spans) > 1
        at = (span.start_mm - 1.0 if first else span.end_mm + 1.0, y_mm + 0.36 * size_mm)
        marks.append(Text(at=at, text=span.words[-1], size_mm=size_mm, anchor="end" if first else "start"))
    return marks


def upright_total(span: Span, *, x_mm: float, from_mm: float, size_mm: float) -> list[Mark]:
    """One upright dimension at the left of a drawing, written along the line when it is long enough."""
    marks: list[Mark] = []
    for y in (span.start_mm, span.end_mm):
        marks.append(Path(points=((from_mm, y), (x_mm - 1.0, y)), pen=EXTENSION_PEN))
        marks.append(_tick((x_mm, y)))
    marks.append(Path(points=((x_mm, span.start_mm), (x_mm, span.end_mm)), pen=DIMENSION_PEN))
    middle = (span.start_mm + span.end_mm) / 2
    words = _fitting(span, size_mm)
    if words is None:
        at = (x_mm - 1.2, middle + 0.36 * size_mm)
        marks.append(Text(at=at, text=span.words[-1], size_mm=size_mm, anchor="end"))
    else:
        at = (x_mm - 0.25 * size_mm - 0.15, middle)
        marks.append(Text(at=at, text=words, size_mm=size_mm, anchor="middle", turn_deg=-90.0))
    return marks


def upright_chain(
    spans: Sequence[Span], *, x_mm: float, from_mm: float, size_mm: float, bounds_mm: Point
) -> list[Mark]:
    """An upright chain of dimensions at the left of a drawing, its words level, moved apart where they would touch.

    Parameters
    ----------
    spans : stretches from the top down; the first of each span's words is written.
    x_mm, from_mm : the dimension line, and where the extension lines begin [mm].
    bounds_mm : top and bottom between which the words stay [mm].
    """
    marks: list[Mark] = []
    ends = sorted({end for span in spans for end in (span.start_mm, span.end_mm)})
    for y in ends:
        marks.append(Path(points=((from_mm, y), (x_mm - 1.0, y)), pen=EXTENSION_PEN))
        marks.append(_tick((x_mm, y)))
    marks.append(Path(points=((x_mm, ends[0]), (x_mm, ends[-1])), pen=DIMENSION_PEN))
    middles = [(span.start_mm + span.end_mm) / 2 for span in spans]
    places = spread(middles, [LINE * size_mm] * len(spans), *bounds_mm)
    for span, middle, place in zip(spans, middles, places, strict=True):
        if abs(place - middle) > 0.3:
            marks.append(Path(points=((x_mm - 0.4, middle), (x_mm - 2.2, place)), pen=LEADER_PEN))
        at = (x_mm - 2.6, place + 0.36 * size_mm)
        marks.append(Text(at=at, text=span.words[0], size_mm=size_mm, anchor="end", halo=True))
    return marks


def leaders(labels: Sequence[Label], *, x_mm: float, size_mm: float, bounds_mm: Point) -> list[Mark]:
    """Names in a column at the right, each with a leader to a dot in the thing it names; no two leaders cross.

    Parameters
    ----------
    labels : names and the points they belong to.
    x_mm : left edge of the column [mm].
    bounds_mm : top and bottom of the column [mm].

    Raises
    ------
    BadInput : the names do not fit into the column.
    """
    order, places = _uncrossed(sorted(labels, key=lambda label: (label.at[1], label.at[0])), x_mm, size_mm, bounds_mm)
    marks: list[Mark] = []
    for label, place in zip(order, places, strict=True):
        shelf = (x_mm - 2.5, place)
        marks.append(Path(points=(label.at, shelf, (x_mm - 0.8, place)), pen=LEADER_PEN))
        marks.append(Circle(centre=label.at, radius_mm=0.42, pen=Pen(width_mm=0.12, colour=FILM), fill=INK))
        top = place - _height_mm(label, size_mm) / 2
        for number, line in enumerate(label.lines):
            at = (x_mm, top + (RISE + number * LINE) * size_mm)
            marks.append(Text(at=at, text=line, size_mm=size_mm))
    return marks


def _tick(at: Point) -> Path:
    """The short oblique stroke at the end of a dimension."""
    x, y = at
    half = _TICK_MM / 2
    return Path(points=((x - half, y + half), (x + half, y - half)), pen=Pen(width_mm=0.28))


def _fitting(span: Span, size_mm: float) -> str | None:
    """The fullest words that fit between a span's ticks."""
    room = abs(span.end_mm - span.start_mm) - _TICK_MM - 0.4
    return next((words for words in span.words if text_width_mm(words, size_mm) <= room), None)


def _height_mm(label: Label, size_mm: float) -> float:
    """Height of a label's lines, ascender of the first to descender of the last."""
    return (RISE + FALL + (len(label.lines) - 1) * LINE) * size_mm


def _uncrossed(labels: list[Label], x_mm: float, size_mm: float, bounds_mm: Point) -> tuple[list[Label], list[float]]:
    """The order and heights of labels at which no leader crosses the next one."""
    order = list(labels)

    def placed() -> list[float]:
        wanted = [label.at[1] for label in order]
        return spread(wanted, [_height_mm(label, size_mm) + 0.5 * size_mm for label in order], *bounds_mm)

    places = placed()
    for _ in range(len(order) ** 2):
        crossing = next(
            (
                number
                for number in range(len(order) - 1)
                if _cross(
                    (order[number].at, (x_mm - 2.5, places[number])),
                    (order[number + 1].at, (x_mm - 2.5, places[number + 1])),
                )
            ),
            None,
        )
        if crossing is None:
            break
        order[crossing], order[crossing + 1] = order[crossing + 1], order[crossing]
        places = placed()
    return order, places


def _cross(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    """Whether two straight lines between points cross inside their lengths."""

    def side(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    return side(*one, other[0]) * side(*one, other[1]) < 0 and side(*other, one[0]) * side(*other, one[1]) < 0
