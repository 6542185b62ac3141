"""Where the pads, boards and packing sheets of a cushion lie in the box, for its drawings."""

from __future__ import annotations

import math
from collections.abc import Iterator

from findhold.errors import BadInput
from findhold.pack.bed import Layer
from findhold.pack.inputs import FaceNeed
from findhold.pack.plan import Plan
from findhold.paper.packed import Beside, Piece


def pieces_of(plan: Plan, layer: Layer) -> tuple[Piece, ...]:
    """Where the pieces of a bed or top layer lie, in the block's frame; empty for what has no place of its own."""
    length, width, _ = plan.block_mm
    if layer.place not in ("bed", "top"):
        return ()
    if "board" in layer.name or (layer.place == "bed" and layer.hatch == "tissue" and plan.cushion is not None):
        return ((0.0, 0.0, length, width),)
    if layer.name == "packing sheet":
        return (_inside(plan),) if layer.place == "top" else ()
    cushion = plan.cushion
    if cushion is None or not cushion.faces or layer.hatch != "foam" or layer.name == "foam plank":
        return ()
    face = cushion.face("base" if layer.place == "bed" else "top")
    return face_places(face)


def beside_block(plan: Plan) -> tuple[Beside, ...]:
    """Boards, pads and packing sheets at ends and sides of the block; none without a cushion."""
    cushion = plan.cushion
    if cushion is None or not cushion.faces or plan.foam is None or plan.clearance_mm is None:
        return ()
    return (*_beside(plan, cushion.face("ends")), *_beside(plan, cushion.face("sides")))


def face_places(face: FaceNeed) -> tuple[Piece, ...]:
    """Pads on a face, along and across it; one piece for a whole face."""
    size = (face.length_mm, face.width_mm)
    if face.pads == 0:
        return ((0.0, 0.0, *size),)
    return pad_places(size, face.pads, face.pads * face.pad_mm**2)


def pad_places(under_mm: tuple[float, float], count: int, area_mm2: float) -> tuple[Piece, ...]:
    """Pads on a face: at its corners, at its ends, or in its middle, with a given area together.

    Parameters
    ----------
    under_mm : length and width of the face [mm]. count : 1, 2 or 4 pads. area_mm2 : of all of them.

    Returns
    -------
    Each pad from x, y to x, y [mm]: square where there is room, else as long as its area asks for.

    Raises
    ------
    BadInput : the pads are larger than the face, or another number of them is asked for.
    """
    length, width = under_mm
    if count not in (1, 2, 4) or area_mm2 > length * width * (1 + 1e-9):
        wrong = f"{count} pads of {area_mm2:g} mm2 together"
        raise BadInput(wrong, limit=f"1, 2 or 4 pads on at most {length * width:g} mm2", do="Plan the cushion again")
    rows, columns = {1: (1, 1), 2: (1, 2), 4: (2, 2)}[count]
    each, side = area_mm2 / count, math.sqrt(area_mm2 / count)
    deep = min(side, width / rows)
    long = min(each / deep, length / columns)
    deep = each / long
    xs = [(length - long) / 2] if columns == 1 else [0.0, length - long]
    ys = [(width - deep) / 2] if rows == 1 else [0.0, width - deep]
    return tuple((x, y, x + long, y + deep) for y in ys for x in xs)


def _inside(plan: Plan) -> Piece:
    """The inside of the box in the block's frame."""
    gap, (length, width, _) = plan.clearance_mm, plan.block_mm
    if gap is None:
        return (0.0, 0.0, length, width)
    along, across = (gap.side_w, gap.side_l) if plan.turn_deg == 90 else (gap.side_l, gap.side_w)
    return (-along, -across, length + along, width + across)


def _beside(plan: Plan, face: FaceNeed) -> Iterator[Beside]:
    """Both faces of one kind: board, pads and packing sheet from the block outwards."""
    foam, gap, cushion = plan.foam, plan.clearance_mm, plan.cushion
    if foam is None or gap is None or cushion is None:
        return
    axis = 0 if face.face == "ends" else 1
    along, height = face.length_mm, plan.block_mm[2]
    for side in (-1, 1):
        start = 0.0 if side < 0 else plan.block_mm[axis]
        at = foam.margin_mm

        def placed(
            reach: tuple[float, float], begin: float, thick: float, start: float = start, side: int = side
        ) -> Piece:
            ends = sorted((start + side * begin, start + side * (begin + thick)))
            across = (ends[0], reach[0], ends[1], reach[1])
            return across if axis == 0 else (reach[0], ends[0], reach[1], ends[1])

        if face.board_mm > 0:
            yield _one("board", face, placed((0.0, along), at, face.board_mm), (0.0, height))
            at += face.board_mm
        for x0, low, x1, high in face_places(face):
            yield _one(cushion.material, face, placed((x0, x1), at, face.foam_mm), (low, high))
        at += face.foam_mm
        packing = foam.packing_mm[face.face]
        if packing > 0:
            x0, y0, x1, y1 = _inside(plan)
            long = (y0, y1) if axis == 0 else (x0, x1)
            short = _is_short(plan, face)
            inset = foam.packing_mm["sides" if face.face == "ends" else "ends"] if short else 0.0
            yield _one(
                "packing sheet", face, placed((long[0] + inset, long[1] - inset), at, packing), (-gap.bed, height)
            )


def _is_short(plan: Plan, face: FaceNeed) -> bool:
    """Whether a face looks at the box's end walls: its packing sheets stand between those of the long walls."""
    return (face.face == "ends") == (plan.turn_deg != 90)


def _one(what: str, face: FaceNeed, piece: Piece, high_mm: tuple[float, float]) -> Beside:
    board = what == "board"
    foam = "foam on the whole face" if face.pads == 0 else "foam pad" if face.pads == 1 else "foam pads"
    name = f"{what if board or what == 'packing sheet' else foam} at the {face.face}"
    return Beside(
        name=name,
        material="wood board" if board else "polyethylene foam",
        hatch="board" if board else "foam",
        face="ends" if face.face == "ends" else "sides",
        piece_mm=piece,
        low_mm=high_mm[0],
        high_mm=high_mm[1],
    )
