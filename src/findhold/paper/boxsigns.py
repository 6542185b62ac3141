"""Signs on a drawing of the packed box: centre of gravity, hands, slings, lines of cutting, labels, straight edge."""

from __future__ import annotations

from findhold.draw.marks import ACCENT, FILM, INK, Anchor, Circle, Mark, Path, Pen, Point, Text
from findhold.paper.boxmarks import Stand

_AXIS_PEN = Pen(width_mm=0.16, dash_mm=(3.4, 0.9, 0.5, 0.9))
_CENTRE_PEN = Pen(width_mm=0.11, dash_mm=(2.4, 0.7, 0.4, 0.7))
_EDGE_OF_SIGN = Pen(width_mm=0.25, colour=FILM)


def gravity_marks(at: Point, radius_mm: float) -> list[Mark]:
    """A quartered disc at the centre of gravity."""
    (x, y), r = at, radius_mm
    quarters: list[Mark] = [Circle(centre=at, radius_mm=r, pen=Pen(width_mm=0.2), fill=FILM)]
    for sx, sy in ((1, -1), (-1, 1)):
        arc = [(x, y), (x + sx * r, y), (x + sx * r * 0.924, y + sy * r * 0.383)]
        arc += [(x + sx * r * 0.707, y + sy * r * 0.707), (x + sx * r * 0.383, y + sy * r * 0.924), (x, y + sy * r)]
        quarters.append(Path(points=tuple(arc), closed=True, pen=None, fill=INK))
    return quarters


def centre_line(from_at: Point, to_at: Point) -> Path:
    """A fine chain line."""
    return Path(points=(from_at, to_at), pen=_CENTRE_PEN)


def hand_mark(tip: Point, size_mm: float = 4.6, *, down: bool = False) -> list[Mark]:
    """Where a hand lifts: a broad arrow in the colour of acts, its tip at the point; down for lowering."""
    (x, y), way = tip, -1.0 if down else 1.0
    head, half, shaft = 0.45 * size_mm, 0.32 * size_mm, 0.13 * size_mm
    outline = [(0, 0), (half, head), (shaft, head), (shaft, size_mm), (-shaft, size_mm), (-shaft, head), (-half, head)]
    points = tuple((x + dx, y + way * dy) for dx, dy in outline)
    return [Path(points=points, closed=True, pen=_EDGE_OF_SIGN, fill=ACCENT)]


def sling_mark(at: Point, size_mm: float = 4.6) -> list[Mark]:
    """Where a sling goes: an open loop under the point with two ends upwards."""
    x, y = at
    half, loop = 0.3 * size_mm, 0.35 * size_mm
    bow = ((x - half, y - size_mm), (x - half, y), (x - 0.5 * half, y + loop), (x + 0.5 * half, y + loop))
    points = (*bow, (x + half, y), (x + half, y - size_mm))
    return [
        Path(points=points, pen=Pen(width_mm=1.0, colour=FILM)),
        Path(points=points, pen=Pen(width_mm=0.6, colour=ACCENT)),
    ]


def grip_mark(at: Point) -> list[Mark]:
    """Where a hand or a sling lifts, seen from above: a ringed disc in the colour of acts."""
    return [
        Circle(centre=at, radius_mm=1.3, pen=Pen(width_mm=0.35, colour=ACCENT), fill=FILM),
        Circle(centre=at, radius_mm=0.7, pen=None, fill=ACCENT),
    ]


def end_names(stand: Stand, size_mm: float) -> list[Mark]:
    """In plan: what the ends and the far side of the box are called, written inside its walls."""
    middle = (stand.rim_mm + stand.floor_mm) / 2
    places: tuple[tuple[str, Point, Anchor], ...] = (
        ("LEFT", (stand.left_mm + 1.0 + size_mm, middle - 2.0), "start"),
        ("RIGHT", (stand.right_mm - 1.0 - size_mm, middle - 2.0), "end"),
        ("FAR", ((stand.left_mm + stand.right_mm) / 2 + 2.0, stand.rim_mm + 1.0 + size_mm), "start"),
        ("NEAR", ((stand.left_mm + stand.right_mm) / 2 + 2.0, stand.floor_mm - 1.2), "start"),
    )
    return [Text(at=at, text=word, size_mm=size_mm, anchor=anchor, bold=True, halo=True) for word, at, anchor in places]


def cutting_line(stand: Stand, size_mm: float) -> list[Mark]:
    """Where the lengthwise section is cut: a chain line through the middle, an A at each end."""
    y = (stand.floor_mm + stand.rim_mm) / 2
    left, right = stand.left_mm - stand.wall_mm - 2.6, stand.right_mm + stand.wall_mm + 2.6
    letters: list[Mark] = [
        Text(at=(x, y - 0.9), text="A", size_mm=size_mm, anchor="middle", bold=True) for x in (left + 0.9, right - 0.9)
    ]
    return [Path(points=((left, y), (right, y)), pen=_AXIS_PEN), *letters]


def crossing_line(stand: Stand, size_mm: float) -> list[Mark]:
    """Where the cross section is cut: a chain line through the middle, a B at its far end."""
    x = (stand.left_mm + stand.right_mm) / 2
    top, low = stand.rim_mm - stand.wall_mm - 2.6, stand.floor_mm + stand.wall_mm + 0.8
    letter = Text(at=(x + 0.8, top + 0.75 * size_mm), text="B", size_mm=size_mm, bold=True)
    return [Path(points=((x, top), (x, low)), pen=_AXIS_PEN), letter]


def label_mark(at: Point, wide_mm: float = 5.0) -> list[Mark]:
    """A label, its lower left corner at the point."""
    (x, y), high = at, 0.5 * wide_mm
    points = ((x, y - high), (x + wide_mm, y - high), (x + wide_mm, y), (x, y))
    lines = tuple(
        Path(points=((x + 0.6, y - share * high), (x + part * wide_mm, y - share * high)), pen=Pen(width_mm=0.2))
        for share, part in ((0.7, 0.85), (0.35, 0.6))
    )
    return [Path(points=points, closed=True, pen=Pen(width_mm=0.3), fill=FILM), *lines]


def sheets_mark(centre: Point, size_mm: float, *, wet: bool = True) -> list[Mark]:
    """Folded sheets, with a drop of water over them when they are damped; a sign, not to scale."""
    (x, y), half = centre, 0.9 * size_mm
    pen = Pen(width_mm=0.25)
    marks: list[Mark] = []
    for n in range(3):
        level, bow = y + (0.1 + 0.13 * n) * size_mm, 0.05 * size_mm
        points = ((x + half, level), (x - half, level), (x - half - bow, level + bow), (x - half, level + 2 * bow))
        marks.append(Path(points=(*points, (x + half, level + 2 * bow)), pen=pen))
    if wet:
        side = ((0.0, -0.5), (0.13, -0.27), (0.16, -0.16), (0.1, -0.05), (0.0, -0.02))
        drop = [*side, *((-u, v) for u, v in reversed(side[1:4]))]
        shape = tuple((x + u * size_mm, y + v * size_mm) for u, v in drop)
        marks.append(Path(points=shape, closed=True, pen=pen, fill=FILM))
    return marks


def straight_edge(stand: Stand) -> list[Mark]:
    """A straight edge laid across the rim."""
    over, y = stand.wall_mm + 2.0, stand.rim_mm
    return [Path(points=((stand.left_mm - over, y - 0.5), (stand.right_mm + over, y - 0.5)), pen=Pen(width_mm=1.0))]
