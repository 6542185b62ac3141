"""The cut list of a planned box in short lines, for the packing sheet and the screen."""

from __future__ import annotations

from collections.abc import Sequence

from findhold.pack.cut import SHEET, CutPiece, off_words
from findhold.pack.plan import Plan

_WHERE = {
    "bed": "on the floor",
    "under": "in the bag",
    "base": "under the block",
    "ends": "ends",
    "sides": "sides",
    "top": "over the block",
}


def cut_lines(plan: Plan) -> tuple[str, ...]:
    """Each kind of piece in one line, the sheets with holes with a line for every hole; none without a box."""
    if plan.foam is None:
        return ()
    said = []
    holes = [piece for piece in plan.foam.pieces if piece.name == SHEET]
    for piece in plan.foam.pieces:
        if piece.name != SHEET:
            note = f", {piece.note}" if piece.note else ""
            many = f"{piece.many} × " if piece.many > 1 else ""
            where = _WHERE.get(piece.where, piece.where)
            said.append(f"{where[:1].upper()}{where[1:]}: {many}{piece.name} {piece.sizes}{note}")
        elif piece is holes[0]:
            said.append(_hole_line(holes))
    return tuple(said)


def _hole_line(holes: Sequence[CutPiece]) -> str:
    """The sheets round the block, their holes numbered from below."""
    middle = off_words((0.0, 0.0))
    turned = f", turned {holes[0].turn_deg:.0f}°" if holes[0].turn_deg else ""
    said = []
    for number, piece in enumerate(holes, 1):
        length, width = piece.hole_mm or (0.0, 0.0)
        off = off_words(piece.hole_off_mm)
        said.append(f"{number}) {length:g} x {width:g}{'' if off == middle else f', {off}'}")
    head = f"Round the block: {len(holes)} × foam sheet {holes[0].sizes}, {holes[0].note}; holes from below, mm{turned}"
    return f"{head}, in the middle unless said: {'; '.join(said)}"
