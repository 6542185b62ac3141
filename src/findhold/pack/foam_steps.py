"""The steps that lay foam and board, from the cut list: under the block, round it, over it, and the checks between."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from findhold.pack.asked import Asked
from findhold.pack.bed import pad_place
from findhold.pack.cut import BOARD_MATERIAL, PACKING, SHEET, CutPiece, FoamCut, off_words

Said = Iterator[tuple[str, str]]
_LEANS_MM = 5.0
"""A foot nearer the middle than this is in the middle (judgement)."""
_SHOWN = 4
"""So many holes are written out in a step; with more the list on the sheet has them."""


def cutting(pieces: Sequence[CutPiece]) -> Said:
    """Cut first, where there is more to cut than a plank and strips."""
    many = sum(piece.many for piece in pieces)
    if any(piece.hole_mm or piece.name == PACKING or piece.where == "top" for piece in pieces):
        yield (
            f"Cut foam and board by the cut list ({many} pieces), write on each where it goes.",
            "before anything is wet",
        )


def under(asked: Asked, pieces: Sequence[CutPiece], box: str) -> Said:
    """Foam and board on the floor."""
    cushion = asked.inputs.cushion
    if cushion is None or not asked.cushioned:
        (plank,) = [piece for piece in pieces if piece.where == "bed" and piece.is_foam]
        yield (
            f"Lay a foam plank of {plank.thickness_mm:g} mm over the floor of {box}.",
            "dry, closed-cell polyethylene",
        )
        return
    for piece in _of(pieces, "base"):
        if piece.name == PACKING:
            yield (f"Lay the packing sheet of {piece.sizes} on the floor of {box}.", "the pads keep their thickness")
        elif piece.material == BOARD_MATERIAL:
            yield (f"Lay the spreader board of {piece.sizes} on the foam, in the middle.", "it spreads the load evenly")
        else:
            yield (f"{_lay(piece, asked)} on the floor of {box}.", cushion.why)


def round_block(asked: Asked, pieces: Sequence[CutPiece], clear_words: str) -> Said:
    """Sheets with holes, then strips, or boards and pads, between the block and the walls."""
    holes = [piece for piece in pieces if piece.name == SHEET]
    if holes:
        yield (_holes_words(holes), "the overhang is carried, no wall spans")
    if not asked.cushioned:
        how = "as high as the water will stand" if asked.submerged else "not tight"
        yield (f"Fill the sides with foam strips, {how} ({clear_words}).", "it must not slide, nor be squeezed")
        return
    for where, name in (("ends", "end"), ("sides", "side")):
        yield (
            f"At each {name}, the block still held, block to wall: {_face_words(pieces, where, asked)}.",
            "snug, nothing pressed in; let go of it when all four stand",
        )
    yield (
        "Leave the room beside the pads empty; pack out behind a pad, never beside it.",
        "more foam makes the cushion too stiff; dry tissue would draw the water",
    )


def over_block(asked: Asked, foam: FoamCut) -> Said:
    """Board, pads and packing sheet over the block, and the check that nothing presses and nothing is loose."""
    cushion = asked.inputs.cushion
    if cushion is None or not asked.cushioned:
        return
    yield (f"Lay over it, block to lid: {_face_words(foam.pieces, 'top', asked)}.", cushion.why)
    yield (
        f"Check again: {foam.over_foam_mm:g} mm free over the foam, at most {foam.over_foam_most_mm:g}; the lid does "
        "not press.",
        "no lid load, and no room to fly up",
    )


def lean_words(pieces: Sequence[CutPiece]) -> str:
    """Where the foot of a leaning block lies, for the hands that lower it; empty for one that stands upright."""
    lowest = next((piece for piece in pieces if piece.hole_mm is not None), None)
    if lowest is None or max(abs(off) for off in lowest.hole_off_mm) < _LEANS_MM:
        return ""
    return f"its foot, in mm off the middle, {off_words(lowest.hole_off_mm)} (mark them on box and block)"


def _holes_words(holes: Sequence[CutPiece]) -> str:
    first, last = holes[0], holes[-1]
    many = f"{len(holes)} foam sheets" if len(holes) > 1 else "1 foam sheet"
    said = f"Round the block: {many} of {first.thickness_mm:g} mm, {first.note}"
    if len(holes) <= _SHOWN:
        return f"{said}, from below: {'; '.join(piece.hole for piece in holes)}."
    return f"{said}, number 1 lowest: 1 {first.hole}; {len(holes)} {last.hole}; the others by the cut list."


def _face_words(pieces: Sequence[CutPiece], where: str, asked: Asked) -> str:
    """Board, foam and packing sheet of a face, from the block outwards."""
    said = []
    for piece in _of(pieces, where):
        if piece.material == BOARD_MATERIAL:
            said.append(f"board {piece.thickness_mm:g} mm")
        elif piece.name == PACKING:
            said.append(f"packing sheet {piece.thickness_mm:g} mm {'at the lid' if where == 'top' else 'at the wall'}")
        else:
            said.append(_pads_words(piece, asked))
    return ", ".join(said)


def _pads_words(piece: CutPiece, asked: Asked) -> str:
    cushion = asked.inputs.cushion
    pads = 0 if cushion is None else cushion.face(piece.where).pads
    if pads == 0:
        return f"foam {piece.thickness_mm:g} mm on the whole face"
    many, tied = (
        ("foam pad", "tied to its middle") if pads == 1 else (f"{pads} foam pads", f"tied on {pad_place(pads)}")
    )
    return f"{many} {piece.thickness_mm:g} mm {tied}"


def _lay(piece: CutPiece, asked: Asked) -> str:
    cushion = asked.inputs.cushion
    pads = 0 if cushion is None else cushion.face(piece.where).pads
    if pads == 0:
        return f"Lay foam of {piece.sizes} under the whole block"
    many = f"{pads} foam pad{'' if pads == 1 else 's'} of {piece.sizes}"
    return f"Lay {many} where the block will stand, {pad_place(pads)},"


def _of(pieces: Sequence[CutPiece], where: str) -> list[CutPiece]:
    return [piece for piece in pieces if piece.where == where]
