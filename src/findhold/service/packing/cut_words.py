"""The cut list of a planned box in short lines, for the packing sheet and the screen."""

from __future__ import annotations

from collections.abc import Sequence

from findhold.pack.cut import SHEET, CutPiece, off_words
from findhold.pack.plan import Plan

_WHERE = {"bed": "on the floor", "base": "under the block", "ends": "ends", "sides": "sides", "top": "over the block"}


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
            said += _hole_lines(holes)
    return tuple(said)


def _hole_lines(holes: Sequence[CutPiece]) -> list[str]:
    """The sheets round the block, their holes numbered from below."""
    first, many = holes[0], len(holes)
    head = f"Round the block: {many} × foam sheet {first.sizes}, in halves; holes, 1 lowest"
    middle = off_words((0.0, 0.0))
    if all(off_words(piece.hole_off_mm) == middle and not piece.turn_deg for piece in holes):
        sizes = "; ".join(
            f"{n}) {piece.hole_mm[0]:g} x {piece.hole_mm[1]:g}" for n, piece in enumerate(holes, 1) if piece.hole_mm
        )
        return [f"{head}, in its middle: {sizes} mm"]
    said = [f"{head}, their middles off the sheet's:"]
    for number, piece in enumerate(holes, 1):
        length, width = piece.hole_mm or (0.0, 0.0)
        off = off_words(piece.hole_off_mm)
        turned = f", turned {piece.turn_deg:.0f}°" if piece.turn_deg else ""
        said.append(f"{number}: {length:g} x {width:g} mm{turned}{'' if off == middle else f', {off}'}")
    return said
