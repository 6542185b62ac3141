"""The packed box as it is to be drawn, and the refusal to draw one whose parts do not add up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from findhold.errors import BadInput

Place = Literal["bed", "under", "neck", "contour", "round", "side", "top", "barrier", "lid"]
Outline = tuple[tuple[float, float], ...]
Piece = tuple[float, float, float, float]
"""A piece of a bed layer in the block's own frame: from x, y to x, y [mm]."""
LEANS_MM = 2.0
"""Ends and sides are named on the plan from this offset of an opening on (judgement) [mm]."""
_SLACK_MM = 0.6
"""Rounding allowed when parts are added up [mm]: two figures each rounded to half a millimetre, and a little."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionLayer:
    """One layer of the packing: bed layers from the floor up, round layers from the block outwards.

    An under layer is the tray in the bag of a find under water, a neck layer what fills the room over the widest part.
    A contour layer stands beside the lower part of the block, a side layer is a board, a pad or a packing sheet beside
    it (drawn from `beside`), a lid layer hangs under the lid.
    """

    name: str
    material: str
    thickness_mm: float
    """As laid. A layer round the block goes over its top as well; one with 0 fills the sides up to the wall."""
    hatch: str
    place: Place
    pieces_mm: tuple[Piece, ...] = ()
    """Pads, boards or sheets of a bed or top layer, in the block's frame; empty = from wall to wall in the bed, over
    the wrapped block on top."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContourSheet:
    """One sheet of a contour bed: from and to which height over the block's base, and the opening cut into it [mm]."""

    low_mm: float
    high_mm: float
    opening_mm: tuple[float, float]
    """Along and across the block."""
    off_mm: tuple[float, float] = (0.0, 0.0)
    """The opening's middle off the block's, along and across it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """A board, pad or packing sheet beside the block: its place in the block's frame, heights over its base [mm]."""

    name: str
    material: str
    hatch: str
    face: Literal["ends", "sides"]
    piece_mm: Piece
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftPoint:
    """Where a hand or a sling goes, in the block's own frame [mm]."""

    at_mm: tuple[float, float, float]
    by: Literal["hand", "sling"] = "hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionSpec:
    """A packed box as it is drawn: sizes in millimetres, the clearances as planned.

    bed_mm lies between the floor and the underside of the block, lid_gap_mm between the top of the block and the
    rim. The wrapping and the top layers lie inside the lid gap and the side clearances. Outlines, profile, centre of
    gravity and lifting points stand in the block's own frame: x along its length, y across, z up, from the lower
    corner of its bounding prism. turn_deg turns it anticlockwise as seen from above.
    """

    box_name: str
    inside_mm: tuple[float, float, float]
    wall_mm: float
    turn_deg: float
    block_mm: tuple[float, float, float]
    block_label: str
    block_hatch: str
    layers: tuple[SectionLayer, ...]
    side_l_mm: float
    side_w_mm: float
    bed_mm: float
    lid_gap_mm: float
    wrapping_mm: float = 0.0
    barrier: str | None = None
    centre_of_gravity: bool = False
    """True draws it in the middle of the block where cog_mm is not known, and says that it is taken there."""
    wall_hatch: str = "board"
    side_outline_mm: Outline = ()
    """Silhouette (x, z) of the block from its side; empty = the profile, or else a rectangle."""
    end_outline_mm: Outline = ()
    """Silhouette (y, z) of the block from its end."""
    plan_outline_mm: Outline = ()
    """Outline (x, y) of the block from above."""
    profile_mm: tuple[tuple[float, float, float], ...] = ()
    """By tape: height over the base, length and width there, from the base up."""
    cog_mm: tuple[float, float, float] | None = None
    lifts: tuple[LiftPoint, ...] = ()
    contour: tuple[ContourSheet, ...] = ()
    beside: tuple[Beside, ...] = ()
    """Boards, pads and packing sheets of a cushion at ends and sides."""
    inner_mm: float | None = None
    """With boards round the block: how far sheets and strips reach beyond its prism; None = to the walls."""
    margin_mm: float = 0.0
    """What lies over and beside the block as it is lowered: wrapping, or water and the folds of a bag."""
    fill_over_mm: float = 0.0
    """How much higher than the block the strips beside it stand."""
    under_mm: float = 0.0
    """What lies under the block inside the bed, besides the bed's layers (a bag of water and the tray in it)."""
    base_mm: tuple[float, float] | None = None
    """Inside length and width at the floor of a box whose walls taper; None = walls upright."""

    def laid(self, place: Place) -> tuple[SectionLayer, ...]:
        """The layers of one place, in order."""
        return tuple(layer for layer in self.layers if layer.place == place)

    def block_as_laid_mm(self) -> tuple[float, float, float]:
        """The block along the box's length, along its width, and upwards [mm]."""
        length, width, height = self.block_mm
        if self.turn_deg in (0, 90):
            return (width, length, height) if self.turn_deg == 90 else (length, width, height)
        (left, near), (right, far) = self._reach()
        return (right - left, far - near, height)

    def laid_in_plan(self, points: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
        """Points (x, y) of the block's frame as they stand in the box, from the inside's near left corner [mm]."""
        left, near = self._reach()[0]
        return tuple((u - left + self.side_l_mm, v - near + self.side_w_mm) for u, v in self._turned(points))

    def _turned(self, points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        angle = math.radians(self.turn_deg)
        cos, sin = (0.0, 1.0) if self.turn_deg == 90 else (math.cos(angle), math.sin(angle))
        return [(x * cos - y * sin, x * sin + y * cos) for x, y in points]

    def _reach(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Least and greatest of the turned block: its prism when square to the box, its outline when askew."""
        length, width, _ = self.block_mm
        prism: Outline = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
        us, vs = zip(*self._turned(prism if self.turn_deg in (0, 90) else self.plan_outline_mm or prism), strict=True)
        return (min(us), min(vs)), (max(us), max(vs))

    def wrapping(self) -> SectionLayer | None:
        """The damp wrapping: the first tissue layer round the block, when a wrapping is to be drawn."""
        if self.wrapping_mm <= 0:
            return None
        unnamed = SectionLayer(
            name="damp wrapping", material="tissue", thickness_mm=self.wrapping_mm, hatch="tissue", place="round"
        )
        return next((layer for layer in self.laid("round") if layer.hatch == "tissue"), unnamed)

    def wraps(self) -> tuple[tuple[SectionLayer, float, float], ...]:
        """What goes round sides and top, from the block outwards: each with where it begins and ends [mm]."""
        wrapping = self.wrapping()
        layers = list(self.laid("round"))
        if wrapping is not None and wrapping not in layers:
            layers.insert(0, wrapping)
        reaches: list[tuple[SectionLayer, float, float]] = []
        at = 0.0
        for layer in layers:
            thick = self.wrapping_mm if layer == wrapping else layer.thickness_mm
            if thick > 0:
                reaches.append((layer, at, at + thick))
                at += thick
        return tuple(reaches)

    @property
    def wrapped_mm(self) -> float:
        """Thickness of all that goes round sides and top."""
        return max((end for _, _, end in self.wraps()), default=0.0)

    def fill(self) -> SectionLayer | None:
        """What fills the sides up to the wall, to the height of the block."""
        return next((layer for layer in self.laid("round") if layer.thickness_mm == 0), None)

    def opening(self, sheet: ContourSheet) -> Piece:
        """The opening of a contour sheet in the block's own frame."""
        (length, width, _), (open_l, open_w), (off_l, off_w) = self.block_mm, sheet.opening_mm, sheet.off_mm
        x, y = length / 2 + off_l, width / 2 + off_w
        return (x - open_l / 2, y - open_w / 2, x + open_l / 2, y + open_w / 2)

    @property
    def leans(self) -> bool:
        """Whether an opening is so far off the middle that the ends of the box have to be told apart."""
        return any(max(abs(off) for off in sheet.off_mm) >= LEANS_MM for sheet in self.contour)

    def lid_layers_mm(self) -> float:
        """Thickness of all that hangs under the lid."""
        return sum(layer.thickness_mm for layer in self.laid("lid"))

    def barrier_name(self) -> str:
        """What keeps the damp wrapping off the find; empty when there is nothing."""
        return self.barrier or next((layer.name for layer in self.laid("barrier")), "")


def check_section(spec: SectionSpec) -> None:
    """Refuse a section whose parts do not add up or would stand above the rim.

    Raises
    ------
    BadInput : a size is not above zero, parts do not add up to the inside, or a layer has no room.
    """
    where = f"section of {spec.box_name}"
    for name, sizes in (("inside", spec.inside_mm), ("block", spec.block_mm), ("wall", (spec.wall_mm,))):
        if not all(0 < size < 1e5 for size in sizes):
            given = " x ".join(f"{size:g}" for size in sizes)
            limit = "every size above 0 mm and below 100 m"
            raise BadInput(f"{name} is given as {given} mm", where=where, limit=limit, do="Measure and enter it again")
    parts = (spec.bed_mm, spec.lid_gap_mm, spec.side_l_mm, spec.side_w_mm, spec.wrapping_mm)
    if not all(0 <= part < 1e5 for part in (*parts, *(layer.thickness_mm for layer in spec.layers))):
        wrong = "a bed, gap, clearance, wrapping or layer is negative or no number"
        raise BadInput(wrong, where=where, limit="0 mm or more: nothing above the rim", do="Plan the box again")
    if not 0 <= spec.turn_deg < 180:
        wrong = f"the block is turned by {spec.turn_deg:g}°"
        raise BadInput(wrong, where=where, limit="from 0 up to 180", do="Give the angle anticlockwise from above")
    _check_sums(spec, where)
    _check_room(spec, where)
    _check_measured(spec, where)


def _check_sums(spec: SectionSpec, where: str) -> None:
    """Bed, block and gap make the height; clearances and block the length and width; layers the bed."""
    along, across, height = spec.block_as_laid_mm()
    sums = (
        ("height", spec.bed_mm + height + spec.lid_gap_mm, spec.inside_mm[2]),
        ("length", 2 * spec.side_l_mm + along, spec.inside_mm[0]),
        ("width", 2 * spec.side_w_mm + across, spec.inside_mm[1]),
    )
    for name, together, inside in sums:
        if abs(together - inside) > _SLACK_MM:
            raise BadInput(
                f"the parts of the inside {name} come to {together:g} mm and the box has {inside:g} mm",
                where=where,
                limit=f"equal within {_SLACK_MM:g} mm, nothing above the rim",
                do="Plan the box again",
            )
    bed = sum(layer.thickness_mm for layer in spec.laid("bed")) + spec.under_mm
    if spec.laid("bed") and abs(bed - spec.bed_mm) > _SLACK_MM:
        raise BadInput(
            f"the bed's layers come to {bed:g} mm and the bed is planned at {spec.bed_mm:g} mm",
            where=where,
            limit=f"equal within {_SLACK_MM:g} mm",
            do="Plan the bed again",
        )


def _check_room(spec: SectionSpec, where: str) -> None:
    """What lies over and beside the block has room there."""
    over = spec.wrapped_mm + sum(layer.thickness_mm for layer in spec.laid("top"))
    over += spec.lid_layers_mm()
    if over > spec.lid_gap_mm + _SLACK_MM:
        under_lid = " and what hangs under the lid" if spec.laid("lid") else ""
        raise BadInput(
            f"wrapping and top layers{under_lid} of {over:g} mm stand in a lid gap of {spec.lid_gap_mm:g} mm",
            where=where,
            limit="nothing above the rim",
            do="Take a higher box or a thinner top",
        )
    narrow = min(spec.side_l_mm, spec.side_w_mm)
    if spec.wrapped_mm > narrow + _SLACK_MM:
        raise BadInput(
            f"wrapping of {spec.wrapped_mm:g} mm stands in a side clearance of {narrow:g} mm",
            where=where,
            limit="the wrapping fits on every side",
            do="Take a wider box or a thinner wrapping",
        )


def _check_measured(spec: SectionSpec, where: str) -> None:
    """Outlines, profile, centre of gravity and contour lie within the block's bounding prism; the base in the rim."""
    length, width, height = spec.block_mm
    outlines = (
        ("side outline", spec.side_outline_mm, (length, height)),
        ("end outline", spec.end_outline_mm, (width, height)),
        ("plan outline", spec.plan_outline_mm, (length, width)),
        ("profile's lengths", tuple((one, z) for z, one, _ in spec.profile_mm), (length, height)),
        ("profile's widths", tuple((one, z) for z, _, one in spec.profile_mm), (width, height)),
        (
            "contour's lengths",
            tuple((one.opening_mm[0], max(one.high_mm, 0)) for one in spec.contour),
            (2 * length, height),
        ),
    )
    for name, points, (wide, high) in outlines:
        low, most = -_SLACK_MM, (wide + _SLACK_MM, high + _SLACK_MM)
        if not all(low <= u <= most[0] and low <= v <= most[1] for u, v in points):
            limit = f"within {wide:g} x {high:g} mm"
            raise BadInput(
                f"the {name}: a point lies outside the block", where=where, limit=limit, do="Measure the block again"
            )
        if "outline" in name and 0 < len(points) < 3:
            raise BadInput(f"the {name} has {len(points)} corners", where=where, limit="3 or more", do="Scan it again")
    heights = [row[0] for row in spec.profile_mm]
    if heights != sorted(heights):
        wrong = "the profile's heights go up and down"
        raise BadInput(wrong, where=where, limit="from the base up", do="Put its rows in order of height")
    centre = spec.cog_mm
    if centre is not None and not all(
        -_SLACK_MM <= at <= size + _SLACK_MM for at, size in zip(centre, spec.block_mm, strict=True)
    ):
        wrong = "the centre of gravity lies outside the block"
        raise BadInput(wrong, where=where, limit="inside its length, width and height", do="Measure it again")
    if spec.base_mm is not None and not all(
        0 < base <= rim + _SLACK_MM for base, rim in zip(spec.base_mm, spec.inside_mm[:2], strict=True)
    ):
        wrong = "the box is wider at its floor than at its rim"
        raise BadInput(wrong, where=where, limit="a base no larger than the rim", do="Measure the box again")
