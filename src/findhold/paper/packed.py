"""The packed box as it is to be drawn, and the refusal to draw one whose parts do not add up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from findhold.errors import BadInput

Place = Literal["bed", "round", "top", "barrier"]
_SLACK_MM = 0.6
"""Rounding allowed when parts are added up [mm]: two figures each rounded to half a millimetre, and a little."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionLayer:
    """One layer of the packing: bed layers from the floor up, round layers from the block outwards."""

    name: str
    material: str
    thickness_mm: float
    """As laid. A layer round the block goes over its top as well; one with 0 fills the sides up to the wall."""
    hatch: str
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionSpec:
    """A packed box as it is drawn: sizes in millimetres, the clearances as planned.

    bed_mm lies between the floor and the underside of the block, lid_gap_mm between the top of the block and the
    rim. The wrapping and the top layers lie inside the lid gap and the side clearances.
    """

    box_name: str
    inside_mm: tuple[float, float, float]
    wall_mm: float
    turn_deg: int
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
    wall_hatch: str = "board"

    def laid(self, place: Place) -> tuple[SectionLayer, ...]:
        """The layers of one place, in order."""
        return tuple(layer for layer in self.layers if layer.place == place)

    def block_as_laid_mm(self) -> tuple[float, float, float]:
        """The block along the box's length, along its width, and upwards [mm]."""
        length, width, height = self.block_mm
        return (width, length, height) if self.turn_deg == 90 else (length, width, height)

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
    if spec.turn_deg not in (0, 90):
        raise BadInput(f"the block is turned by {spec.turn_deg}°", where=where, limit="0 or 90", do="Give 0 or 90")
    _check_sums(spec, where)
    _check_room(spec, where)


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
    bed = sum(layer.thickness_mm for layer in spec.laid("bed"))
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
    if over > spec.lid_gap_mm + _SLACK_MM:
        raise BadInput(
            f"wrapping and top layers of {over:g} mm stand in a lid gap of {spec.lid_gap_mm:g} mm",
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
