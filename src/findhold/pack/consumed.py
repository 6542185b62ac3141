"""What one plan takes from the shelves: sheets, film, bags, foam, board, gel, water, gloves."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from findhold.geometry.cutting import Piece
from findhold.pack.care.dark import COVER, COVER_LAYERS
from findhold.pack.contour import TRAY
from findhold.pack.cut import BOARD_MATERIAL, STRIP
from findhold.pack.inputs import PackDefaults
from findhold.pack.kept import NO_LIGHT
from findhold.pack.plan import Plan
from findhold.tables.boards import Board, boards
from findhold.tables.materials import packing_material

WATER = "deionised water"
GEL, CARD, GLOVES = "silica gel", "humidity card", "gloves"


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """amount [unit of the item] of one item of the table shopping_items."""

    item: str
    amount: float


def consumed(plan: Plan, defaults: PackDefaults) -> tuple[Used, ...]:
    """What is used up for one planned box, boards and foam left out: they are cut (`foam_pieces`, `board_pieces`).

    Parameters
    ----------
    plan : of one find. defaults : the figures it was planned with.

    Returns
    -------
    Amounts by item; nothing for a plan without a box. Water that is best taken from the find's own context, in bags,
    is counted too: it is wanted when the context gives none.

    Source: the plan; areas as in pack.bed; computed.
    """
    if plan.box is None:
        return ()
    amounts: dict[str, float] = {}
    for one in _used(plan, defaults):
        amounts[one.item] = amounts.get(one.item, 0.0) + one.amount
    return tuple(Used(item=item, amount=amount) for item, amount in amounts.items() if amount > 0)


def _used(plan: Plan, defaults: PackDefaults) -> Iterator[Used]:
    length, width, height = plan.block_mm
    face_m2 = 2.0 * (length * width + length * height + width * height) * 1e-6
    for layer in plan.layers:
        if layer.sheets:
            yield Used(item=layer.material, amount=layer.sheets)
    if plan.barrier is not None:
        yield Used(item=plan.barrier, amount=face_m2 * defaults.wrap_overlap)
    if NO_LIGHT in plan.flags:
        cover_m2 = face_m2 * defaults.wrap_overlap * COVER_LAYERS
        yield Used(item=COVER, amount=cover_m2)
    bags = defaults.bag_layers if plan.dose_way in ("bag", "submerged") else 1
    for layer in plan.layers:
        if layer.place == "round" and layer.material not in ("water", GEL) and _is_bag(layer.material):
            yield Used(item=layer.material, amount=bags)
    if plan.dose_way == "submerged":
        yield Used(item=TRAY, amount=1)
    yield Used(item=WATER, amount=plan.dose_g / 1000.0)
    if plan.silica_gel_g > 0:
        yield Used(item=GEL, amount=plan.silica_gel_g)
        yield Used(item=CARD, amount=1)
        # the gel lies in a perforated bag of its own
        yield Used(item="perforated polyethylene bag", amount=1)
    spare = sum(control.what == "one unused glove" for control in plan.controls)
    yield Used(item=GLOVES, amount=1 + spare)


def carrying_sheet() -> Board:
    """The sheet that carrying boards are cut from."""
    return next(board for board in boards() if board.use == "carrying board")


def foam_pieces(plan: Plan, plank: Board) -> tuple[Piece, ...]:
    """Pieces of one plank thickness for bed, side strips and top of a planned box [mm], thicker ones from several.

    Source: the plan's cut list; computed. A sheet with a hole is cut from a whole one.
    """
    if plan.foam is None:
        return ()
    pieces: list[Piece] = []
    for cut in plan.foam.pieces:
        if cut.is_foam:
            # strips are bars cut off the plank, one on the other: what is sliced elsewhere is their width
            wide, high = cut.width_mm, cut.thickness_mm
            wide, high = (high, wide) if cut.name == STRIP else (wide, high)
            piece = Piece(name=f"{cut.name}, {cut.where}", length_mm=cut.length_mm, width_mm=wide)
            pieces += [piece] * (cut.many * _thicknesses(high, plank))
    return tuple(pieces)


def board_pieces(plan: Plan) -> tuple[Piece, ...]:
    """The carrying board of a planned box, or the boards of its cushion [mm]."""
    if plan.foam is None:
        return ()
    boards = [cut for cut in plan.foam.pieces if cut.material == BOARD_MATERIAL]
    return tuple(
        Piece(name=cut.name, length_mm=cut.length_mm, width_mm=cut.width_mm) for cut in boards for _ in range(cut.many)
    )


def _thicknesses(wanted_mm: float, plank: Board) -> int:
    return math.ceil(wanted_mm / plank.thickness_mm - 1e-9)


def _is_bag(material: str) -> bool:
    known = packing_material(material)
    return known.closure in ("perforated", "sealed")
