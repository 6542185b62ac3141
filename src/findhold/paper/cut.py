"""One view of a packed box: lengthwise section, cross section or plan, with the shapes that stand in it.

Shapes are polygons in the box's own millimetres from the inside left corner (of the rim, where walls taper), up from
the floor; in plan from the near long wall. A block without outline or profile is a rectangle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from findhold.draw.marks import Point
from findhold.errors import BadInput
from findhold.paper.packed import Beside, Outline, Piece, SectionLayer, SectionSpec

View = Literal["along", "across", "plan"]
_MITRE = {"join_style": "mitre", "mitre_limit": 2.0}
_NOTHING_MM2 = 1e-6
"""A smaller piece of a shape is a leftover of rounding [mm2]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A piece of material: its outer ring and the rings of its holes [mm]."""

    ring: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A packed box in one view: u to the right, v up, both in the box's own millimetres."""

    spec: SectionSpec
    view: View
    inside_mm: Point
    base_mm: float
    """Inside length at the floor; as at the rim where the walls are upright."""
    block_mm: Point
    corner_mm: Point
    """Lower left corner of the block's bounding rectangle."""
    outline: Outline
    """The block in the view, in the box's millimetres."""
    plain: bool
    """True for a rectangle."""

    def laid_at(self, at_mm: tuple[float, float, float]) -> Point:
        """A point of the block's own frame in the view."""
        x, y, z = at_mm
        ((along, across),) = self.spec.laid_in_plan([(x, y)])
        over = self.spec.bed_mm + z
        return {"along": (along, over), "across": (across, over), "plan": (along, across)}[self.view]

    def walls_at(self, v: float) -> Point:
        """Left and right inside face of the walls at a height v [mm] over the floor [mm]."""
        if self.view == "plan":
            return (0.0, self.inside_mm[0])
        inset = (self.inside_mm[0] - self.base_mm) / 2 * (1 - v / self.inside_mm[1])
        return (inset, self.inside_mm[0] - inset)

    def between(self, low: float, high: float) -> tuple[Point, ...]:
        """From wall to wall between two heights low and high [mm]: the corners from the lower left, anticlockwise."""
        (left, right), (far_left, far_right) = self.walls_at(low), self.walls_at(high)
        return ((left, low), (right, low), (far_right, high), (far_left, high))

    def ring(self, begin: float, end: float) -> tuple[Shape, ...]:
        """What lies between two distances begin and end [mm] from the block: beside and over it, not under it."""
        outer = self._grown(end)
        return _shapes(outer.difference(self._grown(begin)))

    def fill(self) -> tuple[Shape, ...]:
        """The strips beside the block as they are cut: straight, from the walls to what is lowered between them.

        They stand on the bed, or on the sheets with holes, and are as high as the block, or as the water over it.
        Inside the boards of a cushion there are none.
        """
        from shapely import Polygon, box

        if self.spec.inner_mm is not None:
            return ()
        reach = max(self.spec.margin_mm, self.spec.wrapped_mm)
        (left, near), (along, across) = self.corner_mm, self.block_mm

        if self.view == "plan":
            room = Polygon(self.between(0.0, self.inside_mm[1]))
        else:
            under = -self.spec.under_mm
            low = self.corner_mm[1] + max((sheet.high_mm for sheet in self.spec.contour), default=under)
            high = self.corner_mm[1] + self.block_mm[1] + self.spec.fill_over_mm
            if high <= low:
                return ()
            return _shapes(
                Polygon(self.between(low, high)).difference(box(left - reach, low - 1, left + along + reach, high + 1))
            )
        hole = box(left - reach, near - reach, left + along + reach, near + across + reach)
        return _shapes(room.difference(hole))

    def neck(self) -> tuple[Shape, ...]:
        """The room over the sheets with holes, between strips or boards and a block narrower than its widest."""
        from shapely import box

        if self.view == "plan" or not self.spec.laid("neck"):
            return ()
        reach = max(self.spec.margin_mm, self.spec.wrapped_mm)
        (left, base), (along, height) = self.corner_mm, self.block_mm
        low = base + max((sheet.high_mm for sheet in self.spec.contour), default=0.0)
        room = box(left - reach, low, left + along + reach, base + height)
        return _shapes(room.difference(self._grown(self.spec.wrapped_mm)))

    def contour(self) -> tuple[Shape, ...]:
        """The sheets of a contour bed, each from wall to its opening, what of it the wrapping leaves."""
        from shapely import Polygon

        floor = self.corner_mm[1]
        block = self._grown(self.spec.wrapped_mm)
        shapes: list[Shape] = []
        for sheet in self.spec.contour:
            across = [u for u, _ in self.piece(self.spec.opening(sheet))]
            low, high = floor + sheet.low_mm, floor + sheet.high_mm
            hole = Polygon(_rectangle(min(across), low - 1, max(across), high + 1))
            shapes += _shapes(self._inner(Polygon(self.between(low, high))).difference(hole).difference(block))
        return tuple(shapes)

    def beside(self) -> tuple[tuple[Beside, tuple[Point, ...]], ...]:
        """Boards, pads and sheets beside the block that this view cuts, each with its corners; in plan all of them."""
        if self.view == "plan":
            return tuple((one, self.piece(one.piece_mm)) for one in self.spec.beside)
        shown = "ends" if (self.view == "along") == (self.spec.turn_deg != 90) else "sides"
        found = []
        for one in self.spec.beside:
            if one.face == shown:
                us = [u for u, _ in self.piece(one.piece_mm)]
                low, high = self.corner_mm[1] + one.low_mm, self.corner_mm[1] + one.high_mm
                found.append((one, _rectangle(min(us), low, max(us), high)))
        # pads behind each other are one
        return tuple({(one.name, corners): (one, corners) for one, corners in found}.values())

    def _inner(self, room: Any) -> Any:
        """What of a room lies inside the boards of a cushion; all of it without one."""
        from shapely import box

        reach = self.spec.inner_mm
        if reach is None:
            return room
        (left, low), (along, _) = self.corner_mm, self.block_mm
        if self.view == "plan":
            return room.intersection(
                box(left - reach, low - reach, left + along + reach, low + self.block_mm[1] + reach)
            )
        return room.intersection(box(left - reach, -1e6, left + along + reach, 1e6))

    def pieces(self, layer: SectionLayer, low: float, high: float) -> tuple[tuple[Point, ...], ...]:
        """A bed layer from low to high [mm]: from wall to wall, or its pads, those behind each other as one."""
        if not layer.pieces_mm:
            return (self.between(low, high),)
        corners = [self.piece(piece) for piece in layer.pieces_mm]
        ends = sorted({(min(u for u, _ in four), max(u for u, _ in four)) for four in corners})
        merged: list[list[float]] = []
        for left, right in ends:
            if merged and left <= merged[-1][1]:
                merged[-1][1] = max(merged[-1][1], right)
            else:
                merged.append([left, right])
        return tuple(_rectangle(left, low, right, high) for left, right in merged)

    def piece(self, piece: Piece) -> tuple[Point, ...]:
        """The corners of a pad or a board in the view."""
        x0, y0, x1, y1 = piece
        return tuple(self.laid_at((x, y, 0.0)) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)))

    def _grown(self, by_mm: float) -> Any:
        """The block grown to all sides but downwards, and kept within the walls."""
        from shapely import Polygon, box

        grown = Polygon(self.outline).buffer(by_mm, **_MITRE) if by_mm > 0 else Polygon(self.outline)
        if self.view == "plan":
            return grown.intersection(box(0, 0, *self.inside_mm)) if by_mm > 0 else grown
        low = self.corner_mm[1] - min(by_mm, self.spec.wrapped_mm if self.spec.under_mm else 0.0)
        return grown.intersection(box(-1e6, low, 1e6, 1e6))


def cut_of(spec: SectionSpec, view: View) -> Cut:
    """A checked box in one view.

    Raises
    ------
    BadInput : an outline crosses itself, or the block does not stand between walls that taper.
    """
    along, across, height = spec.block_as_laid_mm()
    length, width, inside_height = spec.inside_mm
    base = spec.base_mm or (length, width)
    if view == "plan":
        inside, block, corner = (length, width), (along, across), (spec.side_l_mm, spec.side_w_mm)
    elif view == "along":
        inside, block, corner = (length, inside_height), (along, height), (spec.side_l_mm, spec.bed_mm)
    else:
        inside, block, corner = (width, inside_height), (across, height), (spec.side_w_mm, spec.bed_mm)
    outline = _plan_outline(spec) if view == "plan" else _side_view(spec, view, corner)
    made = Cut(
        spec=spec,
        view=view,
        inside_mm=inside,
        base_mm=base[1] if view == "across" else base[0],
        block_mm=block,
        corner_mm=corner,
        outline=outline or _rectangle(*corner, corner[0] + block[0], corner[1] + block[1]),
        plain=not outline,
    )
    _check_outline(made)
    return made


def _plan_outline(spec: SectionSpec) -> Outline:
    """The block from above; a rectangle askew is an outline as well, one square to the box is plain."""
    if spec.plan_outline_mm:
        return spec.laid_in_plan(spec.plan_outline_mm)
    if spec.turn_deg in (0, 90):
        return ()
    length, width, _ = spec.block_mm
    return spec.laid_in_plan(_rectangle(0.0, 0.0, length, width))


def _side_view(spec: SectionSpec, view: View, corner: Point) -> Outline:
    """The silhouette that faces this view; askew none does, and the block's reach is drawn."""
    if spec.turn_deg not in (0, 90):
        return ()
    from_side = (view == "along") == (spec.turn_deg == 0)
    given = spec.side_outline_mm if from_side else spec.end_outline_mm
    whole = spec.block_mm[0 if from_side else 1]
    given = given or _of_profile(spec, 1 if from_side else 2, whole)
    if view == "along" and spec.turn_deg == 90:
        given = tuple((whole - u, v) for u, v in given)
    return tuple((u + corner[0], v + corner[1]) for u, v in given)


def _of_profile(spec: SectionSpec, column: int, whole: float) -> Outline:
    """A profile by tape as an outline: straight between its heights, in the middle of the block."""
    if not spec.profile_mm:
        return ()
    rows = [(row[0], row[column]) for row in spec.profile_mm]
    rows = [(0.0, rows[0][1]), *rows] if rows[0][0] > 0 else rows
    rows = [*rows, (spec.block_mm[2], rows[-1][1])] if rows[-1][0] < spec.block_mm[2] else rows
    right = tuple((whole / 2 + wide / 2, high) for high, wide in rows)
    left = tuple((whole / 2 - wide / 2, high) for high, wide in reversed(rows))
    return right + left


def _check_outline(cut: Cut) -> None:
    """An outline is one area, and stands clear of the walls."""
    from shapely import Polygon

    where = f"section of {cut.spec.box_name}"
    if not Polygon(cut.outline).is_valid:
        raise BadInput(
            "an outline of the block crosses itself", where=where, do="Close the scan's holes; measure again"
        )
    if cut.view == "plan" or cut.base_mm == cut.inside_mm[0]:
        return
    for u, v in cut.outline:
        left, right = cut.walls_at(v)
        if not left - 1e-9 <= u <= right + 1e-9:
            raise BadInput(
                f"the block meets the wall {v:.0f} mm over the floor, where the box is {right - left:.0f} mm wide",
                where=where,
                limit="walls that taper leave room for the block at every height",
                do="Take a wider box or a higher bed",
            )


def _rectangle(left: float, low: float, right: float, high: float) -> tuple[Point, ...]:
    return ((left, low), (right, low), (right, high), (left, high))


def _shapes(geometry: Any) -> tuple[Shape, ...]:
    """The polygons of a geometry, leftovers of rounding left out, from left to right."""
    parts = [part for part in getattr(geometry, "geoms", (geometry,)) if part.geom_type == "Polygon"]
    parts = sorted((part for part in parts if part.area > _NOTHING_MM2), key=lambda part: part.bounds)
    return tuple(
        Shape(ring=tuple(part.exterior.coords)[:-1], holes=tuple(tuple(hole.coords)[:-1] for hole in part.interiors))
        for part in parts
    )
