"""Walls, lid, bed, fill, wrapping and block of a packed box as marks on the paper."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.draw.marks import FILM, INK, Circle, Mark, Path, Pen, Point, Text
from findhold.errors import BadInput
from findhold.paper.dimensions import round_ratio
from findhold.paper.packed import SectionLayer, SectionSpec

CUT_PEN = Pen(width_mm=0.3)
EDGE_PEN = Pen(width_mm=0.14)
_BARRIER_PEN = Pen(width_mm=0.34, dash_mm=(1.7, 0.9))
_AXIS_PEN = Pen(width_mm=0.16, dash_mm=(3.4, 0.9, 0.5, 0.9))
_THIN_MM = 0.55
"""On the paper: a thinner layer is drawn as a solid line, because no hatch can be seen in it."""
_LEAST_WALL_MM = 0.35
"""On the paper: a thinner wall is drawn this thick, outwards, so that the inside keeps its size."""
_SOLID_WALL_MM = 1.1
"""On the paper: a thinner wall is filled with ink, a thicker one hatched."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What the writing round the box leaves free on the paper [mm]."""

    left_mm: float
    right_mm: float
    top_mm: float
    bottom_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """Where a box stands on the paper and at which scale 1:ratio."""

    ratio: int
    left_mm: float
    """Inside face of the left wall."""
    floor_mm: float
    """Inside face of the floor; in plan, of the near long wall."""
    inside_mm: Point
    """Length and height (in plan: width) of the inside, in the box's own millimetres."""
    wall_mm: float
    """The wall on the paper."""

    def at(self, x: float, z: float) -> Point:
        """A point in the box, in its own millimetres from the inside left corner, on the paper."""
        return (self.left_mm + x / self.ratio, self.floor_mm - z / self.ratio)

    def area(self, x0: float, z0: float, x1: float, z1: float) -> tuple[Point, ...]:
        """The corners of an upright rectangle in the box, on the paper."""
        return (self.at(x0, z0), self.at(x1, z0), self.at(x1, z1), self.at(x0, z1))

    @property
    def right_mm(self) -> float:
        """Inside face of the right wall."""
        return self.left_mm + self.inside_mm[0] / self.ratio

    @property
    def rim_mm(self) -> float:
        """The rim; in plan, the inside face of the far long wall."""
        return self.floor_mm - self.inside_mm[1] / self.ratio


def stand_in(room: Room, inside_mm: Point, wall_mm: float, *, where: str) -> Stand:
    """Stand a box in the room left on the paper, at the largest round scale that fits.

    Raises
    ------
    BadInput : the box does not fit at 1:100 or there is no room at all.
    """
    wide, high = room.right_mm - room.left_mm, room.bottom_mm - room.top_mm
    walls = 2 * max(wall_mm, 0.0)
    ratio = round_ratio((inside_mm[0] + walls, inside_mm[1] + walls), (wide - 4.0, high - 3.0))
    if wide <= 4.0 or high <= 3.0 or ratio is None:
        raise BadInput(
            f"no round scale fits {inside_mm[0]:g} x {inside_mm[1]:g} mm into {wide:.0f} x {high:.0f} mm of paper",
            where=where,
            do="Draw on a larger sheet or with shorter names",
        )
    length, height = inside_mm[0] / ratio, inside_mm[1] / ratio
    return Stand(
        ratio=ratio,
        left_mm=room.left_mm + (wide - length) / 2,
        floor_mm=room.bottom_mm - (high - height) / 2,
        inside_mm=inside_mm,
        wall_mm=max(wall_mm / ratio, _LEAST_WALL_MM),
    )


def layer_mark(corners: tuple[Point, ...], hatch: str) -> Path:
    """One layer: hatched, or solid ink where it is too thin for a hatch."""
    high = abs(corners[2][1] - corners[0][1])
    wide = abs(corners[1][0] - corners[0][0])
    if min(high, wide) < _THIN_MM:
        return Path(points=corners, closed=True, pen=Pen(width_mm=0.2), fill=INK)
    return Path(points=corners, closed=True, pen=EDGE_PEN, hatch=hatch)


def bed_marks(spec: SectionSpec, stand: Stand) -> list[Mark]:
    """The bed's layers from the floor up, wall to wall."""
    marks: list[Mark] = []
    z = 0.0
    for layer in spec.laid("bed"):
        marks.append(layer_mark(stand.area(0, z, spec.inside_mm[0], z + layer.thickness_mm), layer.hatch))
        z += layer.thickness_mm
    return marks


def fill_marks(spec: SectionSpec, stand: Stand) -> list[Mark]:
    """The fill on both sides of the block, from the bed to the top of the block."""
    fill = spec.fill()
    if fill is None:
        return []
    along, _, height = spec.block_as_laid_mm()
    low, high, length = spec.bed_mm, spec.bed_mm + height, spec.inside_mm[0]
    left, right = spec.side_l_mm - spec.wrapped_mm, spec.side_l_mm + along + spec.wrapped_mm
    sides = [(x0, x1) for x0, x1 in ((0.0, left), (right, length)) if x1 - x0 > 0]
    return [layer_mark(stand.area(x0, low, x1, high), fill.hatch) for x0, x1 in sides]


def over_marks(spec: SectionSpec, stand: Stand) -> list[Mark]:
    """What goes round the block's sides and top, the outermost first, and the top layers on it."""
    along, _, height = spec.block_as_laid_mm()
    left, right = spec.side_l_mm, spec.side_l_mm + along
    low, top = spec.bed_mm, spec.bed_mm + height
    marks: list[Mark] = []
    for layer, begin, end in reversed(spec.wraps()):
        outer = ((left - end, low), (left - end, top + end), (right + end, top + end), (right + end, low))
        inner = ((right + begin, low), (right + begin, top + begin), (left - begin, top + begin), (left - begin, low))
        points = tuple(stand.at(*point) for point in (*outer, *inner))
        marks.append(_wrap(points, layer, (end - begin) / stand.ratio, EDGE_PEN))
    wrap = spec.wrapped_mm
    z = top + wrap
    for layer in spec.laid("top"):
        marks.append(layer_mark(stand.area(left - wrap, z, right + wrap, z + layer.thickness_mm), layer.hatch))
        z += layer.thickness_mm
    return marks


def _wrap(points: tuple[Point, ...], layer: SectionLayer, thick_mm: float, pen: Pen | None) -> Path:
    """One layer round the block: hatched when there is room for it, a solid line when it is a film."""
    if thick_mm < _LEAST_WALL_MM / 2:
        return Path(points=points, closed=True, pen=EDGE_PEN, fill=INK)
    return Path(points=points, closed=True, pen=pen, fill=FILM, hatch=layer.hatch)


def ring_marks(spec: SectionSpec, stand: Stand) -> list[Mark]:
    """Fill and wrapping round the block as seen from above, the outermost first."""
    along, across, _ = spec.block_as_laid_mm()
    rings = list(spec.wraps())
    fill = spec.fill()
    if fill is not None:
        rings.append((fill, spec.wrapped_mm, max(stand.inside_mm)))
    marks: list[Mark] = []
    for layer, begin, end in reversed(rings):
        outer, inner = (_round_block(spec, stand, (along, across), off) for off in (end, begin))
        marks.append(_wrap((*outer, outer[0], inner[0], *reversed(inner)), layer, (end - begin) / stand.ratio, None))
        marks += [Path(points=edge, closed=True, pen=EDGE_PEN) for edge in (outer, inner)]
    return marks


def _round_block(spec: SectionSpec, stand: Stand, block_mm: Point, off: float) -> tuple[Point, ...]:
    """The rectangle at a distance round the block in plan, kept inside the walls."""
    (along, across), (wide, high) = block_mm, stand.inside_mm
    left, near = spec.side_l_mm, spec.side_w_mm
    return stand.area(
        max(left - off, 0), max(near - off, 0), min(left + along + off, wide), min(near + across + off, high)
    )


def block_marks(spec: SectionSpec, corners: tuple[Point, ...]) -> list[Mark]:
    """The block and the barrier on its surface."""
    marks: list[Mark] = [Path(points=corners, closed=True, pen=CUT_PEN, hatch=spec.block_hatch)]
    if spec.barrier_name():
        marks.append(Path(points=(*corners, corners[0]), pen=_BARRIER_PEN))
    return marks


def wall_marks(spec: SectionSpec, stand: Stand) -> list[Mark]:
    """Floor and side walls as cut, up to the rim."""
    left, right, floor, rim, wall = stand.left_mm, stand.right_mm, stand.floor_mm, stand.rim_mm, stand.wall_mm
    points = (
        (left - wall, rim),
        (left, rim),
        (left, floor),
        (right, floor),
        (right, rim),
        (right + wall, rim),
        (right + wall, floor + wall),
        (left - wall, floor + wall),
    )
    return [_wall(points, spec, stand)]


def lid_marks(spec: SectionSpec, stand: Stand) -> list[Mark]:
    """The lid on the rim, its lip outside the walls; only its underside is to measure."""
    slack, wall = 0.3, stand.wall_mm
    left, right = stand.left_mm - wall - slack, stand.right_mm + wall + slack
    rim = stand.rim_mm - 0.02
    lip = rim + min(3.2, 0.3 * (stand.floor_mm - stand.rim_mm))
    points = (
        (left - wall, rim - wall),
        (right + wall, rim - wall),
        (right + wall, lip),
        (right, lip),
        (right, rim),
        (left, rim),
        (left, lip),
        (left - wall, lip),
    )
    return [_wall(points, spec, stand)]


def plan_wall_marks(spec: SectionSpec, stand: Stand) -> list[Mark]:
    """The four walls as cut, seen from above."""
    wall = stand.wall_mm
    left, right, near, far = stand.left_mm, stand.right_mm, stand.floor_mm, stand.rim_mm
    outer = (
        (left - wall, far - wall),
        (right + wall, far - wall),
        (right + wall, near + wall),
        (left - wall, near + wall),
    )
    inner = ((left, far), (right, far), (right, near), (left, near))
    ring = (*outer, outer[0], inner[0], *reversed(inner))
    form = {"fill": INK} if wall < _SOLID_WALL_MM else {"hatch": spec.wall_hatch}
    edges = [Path(points=edge, closed=True, pen=Pen(width_mm=0.2)) for edge in (outer, inner)]
    return [Path(points=ring, closed=True, pen=None, **form), *edges]


def _wall(points: tuple[Point, ...], spec: SectionSpec, stand: Stand) -> Path:
    """A cut wall: solid ink when thin, hatched when thick."""
    if stand.wall_mm < _SOLID_WALL_MM:
        return Path(points=points, closed=True, pen=Pen(width_mm=0.05), fill=INK)
    return Path(points=points, closed=True, pen=CUT_PEN, hatch=spec.wall_hatch)


def gravity_marks(at: Point, radius_mm: float) -> list[Mark]:
    """A quartered disc where the centre of gravity is taken to be."""
    (x, y), r = at, radius_mm
    quarters: list[Mark] = [Circle(centre=at, radius_mm=r, pen=Pen(width_mm=0.2), fill=FILM)]
    for sx, sy in ((1, -1), (-1, 1)):
        arc = [(x, y), (x + sx * r, y), (x + sx * r * 0.924, y + sy * r * 0.383)]
        arc += [(x + sx * r * 0.707, y + sy * r * 0.707), (x + sx * r * 0.383, y + sy * r * 0.924), (x, y + sy * r)]
        quarters.append(Path(points=tuple(arc), closed=True, pen=None, fill=INK))
    return quarters


def cutting_line(stand: Stand, size_mm: float) -> list[Mark]:
    """Where the section is cut: a chain line through the middle, an A at each end."""
    y = (stand.floor_mm + stand.rim_mm) / 2
    left, right = stand.left_mm - stand.wall_mm - 2.6, stand.right_mm + stand.wall_mm + 2.6
    letters: list[Mark] = [
        Text(at=(x, y - 0.9), text="A", size_mm=size_mm, anchor="middle", bold=True) for x in (left + 0.9, right - 0.9)
    ]
    return [Path(points=((left, y), (right, y)), pen=_AXIS_PEN), *letters]
