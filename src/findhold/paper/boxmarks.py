"""Walls, lid, bed, fill, wrapping and block of a packed box as marks on the paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from findhold.draw.marks import FILM, INK, Mark, Path, Pen, Point
from findhold.errors import BadInput
from findhold.paper.cut import Cut, Shape
from findhold.paper.dimensions import round_ratio
from findhold.paper.packed import SectionLayer, SectionSpec

CUT_PEN = Pen(width_mm=0.3)
EDGE_PEN = Pen(width_mm=0.14)
_BARRIER_PEN = Pen(width_mm=0.34, dash_mm=(1.7, 0.9))
HIDDEN_PEN = Pen(width_mm=0.2, dash_mm=(1.2, 0.8))
_THIN_MM = 0.55
"""On the paper: a thinner layer is drawn as a solid line, because no hatch can be seen in it."""
LEAST_WALL_MM = 0.35
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

    def all_at(self, points: Sequence[Point]) -> tuple[Point, ...]:
        """Points in the box on the paper."""
        return tuple(self.at(*point) for point in points)

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
        wall_mm=max(wall_mm / ratio, LEAST_WALL_MM),
    )


def layer_mark(corners: tuple[Point, ...], hatch: str) -> Path:
    """One layer: hatched, or solid ink where it is too thin for a hatch."""
    spans = [max(along) - min(along) for along in zip(*corners, strict=True)]
    if min(spans) < _THIN_MM:
        return Path(points=corners, closed=True, pen=Pen(width_mm=0.2), fill=INK)
    return Path(points=corners, closed=True, pen=EDGE_PEN, hatch=hatch)


def bed_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """The bed's layers from the floor up: from wall to wall, or as pads and boards under the block."""
    marks: list[Mark] = []
    z = 0.0
    for layer in cut.spec.laid("bed"):
        pieces = cut.pieces(layer, z, z + layer.thickness_mm)
        marks += [layer_mark(stand.all_at(corners), layer.hatch) for corners in pieces]
        z += layer.thickness_mm
    return marks


def tray_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """The tray in the bag of a find under water, up to the underside of the find."""
    top = cut.corner_mm[1]
    return [
        Path(points=stand.all_at(corners), closed=True, pen=EDGE_PEN, fill=FILM, hatch=layer.hatch)
        for layer in cut.spec.laid("under")
        for corners in cut.pieces(layer, top - layer.thickness_mm, top)
    ]


def open_bag_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """A bag laid open against its foam, its edges over the rim."""
    spec, (left, low) = cut.spec, cut.corner_mm
    sides = [(left - spec.margin_mm, left + cut.block_mm[0] + spec.margin_mm)]
    heights = [(low - spec.under_mm, cut.inside_mm[1])]
    if spec.contour:
        holes = [[u for u, _ in cut.piece(spec.opening(sheet))] for sheet in spec.contour]
        sides = [*((min(hole), max(hole)) for hole in holes), *sides]
        heights = [(low + sheet.low_mm, low + sheet.high_mm) for sheet in spec.contour]
        heights.append((heights[-1][1], cut.inside_mm[1]))
    levels = [(side, z) for side, pair in zip(sides, heights, strict=True) for z in pair]
    right = [stand.at(side[1], z) for side, z in levels]
    far = [stand.at(side[0], z) for side, z in reversed(levels)]
    over = [(stand.left_mm - 1.5, stand.rim_mm + 3.0), (stand.left_mm - 0.8, stand.rim_mm - 0.6)]
    back = [(stand.right_mm + 0.8, stand.rim_mm - 0.6), (stand.right_mm + 1.5, stand.rim_mm + 3.0)]
    return [Path(points=(*over, *far, *right, *back), pen=Pen(width_mm=0.3))]


def fill_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """The fill beside the block, up to the top of the block."""
    fill = cut.spec.fill()
    return [] if fill is None else [mark for shape in cut.fill() for mark in _shape_marks(shape, stand, fill.hatch)]


def neck_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """What fills the room round a neck."""
    return [mark for shape in cut.neck() for mark in _shape_marks(shape, stand, cut.spec.laid("neck")[0].hatch)]


def contour_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """The sheets of a contour bed beside the lower part of the block."""
    layers = cut.spec.laid("contour")
    hatch = layers[0].hatch if layers else "foam"
    return [mark for shape in cut.contour() for mark in _shape_marks(shape, stand, hatch)]


def over_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """What goes round the block's sides and top, the outermost first, and the top layers on it."""
    return wrap_marks(cut, stand) + top_marks(cut, stand)


def wrap_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """What goes round the block's sides and top, the outermost first."""
    marks: list[Mark] = []
    for layer, begin, end in reversed(cut.spec.wraps()):
        for shape in cut.ring(begin, end):
            marks += _wrap_marks(shape, stand, layer, (end - begin) / stand.ratio)
    return marks


def top_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """The layers on top of the wrapped block."""
    spec, wrap = cut.spec, cut.spec.wrapped_mm
    left, right = cut.corner_mm[0] - wrap, cut.corner_mm[0] + cut.block_mm[0] + wrap
    z = cut.corner_mm[1] + cut.block_mm[1] + wrap
    marks: list[Mark] = []
    for layer in spec.laid("top"):
        over = z + layer.thickness_mm
        pieces = (
            cut.pieces(layer, z, over) if layer.pieces_mm else (((left, z), (right, z), (right, over), (left, over)),)
        )
        marks += [layer_mark(stand.all_at(corners), layer.hatch) for corners in pieces]
        z = over
    return marks


def beside_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """Boards, pads and packing sheets of a cushion at ends and sides, packing sheets first."""
    found = sorted(cut.beside(), key=lambda one: "packing" not in one[0].name)
    return [layer_mark(stand.all_at(corners), one.hatch) for one, corners in found]


def under_lid_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """What hangs under the lid, the lowest layer last."""
    marks: list[Mark] = []
    z = cut.inside_mm[1]
    for layer in cut.spec.laid("lid"):
        marks.append(layer_mark(stand.all_at(cut.between(z - layer.thickness_mm, z)), layer.hatch))
        z -= layer.thickness_mm
    return marks


def _shape_marks(shape: Shape, stand: Stand, hatch: str) -> list[Mark]:
    """A piece of material, hatched, or solid ink where it is too thin for a hatch."""
    points = stand.all_at(shape.ring)
    if not shape.holes and len(points) == 4:
        return [layer_mark(points, hatch)]
    edges = [Path(points=stand.all_at(ring), closed=True, pen=EDGE_PEN) for ring in shape.holes]
    if not shape.holes:
        return [Path(points=points, closed=True, pen=EDGE_PEN, hatch=hatch)]
    area = Path(points=_keyhole(shape, stand), closed=True, pen=None, hatch=hatch)
    return [area, Path(points=points, closed=True, pen=EDGE_PEN), *edges]


def _keyhole(shape: Shape, stand: Stand) -> tuple[Point, ...]:
    """A piece with holes as one line round all of it."""
    points = stand.all_at(shape.ring)
    for hole in shape.holes:
        inner = stand.all_at(hole)
        points = (*points, points[0], *inner, inner[0])
    return points


def _wrap_marks(shape: Shape, stand: Stand, layer: SectionLayer, thick_mm: float) -> list[Mark]:
    """One layer round the block: hatched when there is room for it, a line along its outside when it is a film.

    A ring is filled as one line round all of it, which joins its two edges: that line has no pen of its own.
    """
    edges = [Path(points=stand.all_at(edge), closed=True, pen=EDGE_PEN) for edge in (shape.ring, *shape.holes)]
    if thick_mm >= LEAST_WALL_MM / 2:
        area = Path(points=_keyhole(shape, stand), closed=True, pen=None, fill=FILM, hatch=layer.hatch)
        return [area, *edges]
    if shape.holes:
        return [replace(edges[0], pen=Pen(width_mm=0.2))]
    return [replace(edges[0], fill=INK)]


def ring_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """Fill and wrapping round the block as seen from above, the outermost first."""
    fill = cut.spec.fill()
    marks = [] if fill is None else [mark for shape in cut.fill() for mark in _shape_marks(shape, stand, fill.hatch)]
    return marks + wrap_marks(cut, stand)


def block_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """The block and the barrier on its surface."""
    corners = stand.all_at(cut.outline)
    marks: list[Mark] = [Path(points=corners, closed=True, pen=CUT_PEN, hatch=cut.spec.block_hatch)]
    if cut.spec.barrier_name():
        marks.append(Path(points=(*corners, corners[0]), pen=_BARRIER_PEN))
    return marks


def wall_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """Floor and side walls as cut, up to the rim."""
    left, right, floor, rim, wall = stand.left_mm, stand.right_mm, stand.floor_mm, stand.rim_mm, stand.wall_mm
    inset = (cut.inside_mm[0] - cut.base_mm) / 2 / stand.ratio
    points = (
        (left - wall, rim),
        (left, rim),
        (left + inset, floor),
        (right - inset, floor),
        (right, rim),
        (right + wall, rim),
        (right - inset + wall, floor + wall),
        (left + inset - wall, floor + wall),
    )
    return [_wall(points, cut.spec, stand)]


def lid_marks(cut: Cut, stand: Stand) -> list[Mark]:
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
    return [_wall(points, cut.spec, stand)]


def plan_wall_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """The four walls as cut, seen from above; of a box that tapers, also where its floor ends."""
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
    form = {"fill": INK} if wall < _SOLID_WALL_MM else {"hatch": cut.spec.wall_hatch}
    edges = [Path(points=edge, closed=True, pen=Pen(width_mm=0.2)) for edge in (outer, inner)]
    marks: list[Mark] = [Path(points=ring, closed=True, pen=None, **form), *edges]
    if cut.spec.base_mm is not None:
        (length, width), (base_l, base_w) = cut.inside_mm, cut.spec.base_mm
        floor = ((length - base_l) / 2, (width - base_w) / 2, (length + base_l) / 2, (width + base_w) / 2)
        marks.append(Path(points=stand.area(*floor), closed=True, pen=HIDDEN_PEN))
    return marks


def hidden_marks(cut: Cut, stand: Stand) -> list[Mark]:
    """In plan: pads and boards under the block and the opening of the lowest sheet, dashed."""
    pieces = [piece for layer in cut.spec.laid("bed") for piece in layer.pieces_mm]
    pieces += [cut.spec.opening(sheet) for sheet in cut.spec.contour[:1]]
    return [Path(points=stand.all_at(cut.piece(piece)), closed=True, pen=HIDDEN_PEN) for piece in pieces]


def _wall(points: tuple[Point, ...], spec: SectionSpec, stand: Stand) -> Path:
    """A cut wall: solid ink when thin, hatched when thick."""
    if stand.wall_mm < _SOLID_WALL_MM:
        return Path(points=points, closed=True, pen=Pen(width_mm=0.05), fill=INK)
    return Path(points=points, closed=True, pen=CUT_PEN, hatch=spec.wall_hatch)
