"""What the inside of a box must offer: the block as it stands, and the free space round it.

Clearances are measured from the bare block: wrapping, liner folds and hand room lie inside them. A cushion against a
drop asks for more where it is thicker than that.
"""

from __future__ import annotations

from dataclasses import dataclass

from findhold.geometry.askew import rectangle
from findhold.pack.asked import Asked
from findhold.pack.contour import under_mm
from findhold.pack.damp import SheetDose
from findhold.pack.inputs import Outline, Size
from findhold.pack.slices import slices_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """Free space round the bare block: side_l [mm] each end along the box, side_w [mm] each side across it,
    bed [mm] under it, lid_gap [mm] over it.
    """

    side_l: float
    side_w: float
    bed: float
    lid_gap: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """Least inside a box must have with the block square to it, and what that rests on [mm]."""

    inside_mm: Size
    side_mm: float
    bed_mm: float
    lid_gap_mm: float
    block_mm: Size
    outline_mm: Outline
    """The block in plan: as scanned, else the rectangle of its length and width."""
    square: bool
    """It has to stand square to the box: pads bear on the walls."""
    slices_mm: tuple[Size, ...]
    """Height over the block's base, length and width there: as measured, else foot and top of a prism."""


def need_for(asked: Asked, dose: SheetDose) -> Need:
    """Least inside for the block with its clearances, bed and lid gap.

    Parameters
    ----------
    asked, dose : the request and its dose; a submerged find gets its water cover over and beside it, and bag and tray
    under it, besides.

    Returns
    -------
    Need [mm].

    Source: pack_defaults. Sides are the greater of the side clearance, of hand room with liner folds, and of the
    cushion; the lid gap is the greater of the unit's figure and of wrapping, top tissue, absorbent, swelling and sag.
    """
    inputs, defaults = asked.inputs, asked.inputs.defaults
    cover = defaults.submerged_cover_mm if dose.way == "submerged" else 0.0
    cushion = inputs.cushion
    # what lies round the block inside the boards: wrapping and folds of a bag, the water's cover besides
    margin = defaults.wrap_tissue_mm + (defaults.liner_fold_mm if asked.bag is not None else 0.0)
    side = max(defaults.side_clearance_mm, defaults.hand_room_mm + defaults.liner_fold_mm)
    bed, over = defaults.bed_mm, _over_block_mm(asked)
    if cushion is not None:
        side = max(side, cushion.side_mm + margin)
        bed, over = max(bed, cushion.bed_mm + defaults.bed_tissue_mm), over + cushion.top_mm
    side, bed, gap = side + cover, bed + board_mm(asked) + under_mm(asked), max(defaults.lid_gap_mm, over) + cover
    length, width, height = asked.block_mm
    return Need(
        inside_mm=(length + 2 * side, width + 2 * side, bed + height + gap),
        side_mm=side,
        bed_mm=bed,
        lid_gap_mm=gap,
        block_mm=asked.block_mm,
        outline_mm=inputs.plan_outline_mm or rectangle(length, width),
        square=asked.cushioned,
        slices_mm=slices_of(inputs.profile_mm, asked.block_mm),
    )


def board_mm(asked: Asked) -> float:
    """Board left under the block: the carrying board or the cushion's spreader, one serving for both.

    A find under water is moved on to its tray: no carrying board stays.
    """
    cushion = asked.inputs.cushion
    return max(0.0 if asked.submerged else asked.inputs.board_mm, 0.0 if cushion is None else cushion.board_mm)


def _over_block_mm(asked: Asked) -> float:
    """Wrapping, top tissue, absorbent, swelling and sag of the lid, one over the other."""
    defaults = asked.inputs.defaults
    absorbent = defaults.lid_absorbent_mm if asked.inputs.lid_water_g else 0.0
    tissue = defaults.wrap_tissue_mm + defaults.top_tissue_mm + defaults.tissue_swell_mm
    return tissue + absorbent + defaults.lid_sag_mm
