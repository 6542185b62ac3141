"""The cut list of a packed box: each piece of foam and board, how many, where it goes, its sizes and its hole.

Steps, drawings, masses and the list on the sheet are all taken from it, so that they agree.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from findhold.geometry.askew import turned_mm
from findhold.pack.asked import Asked
from findhold.pack.contour import (
    TRAY,
    TRAY_MATERIAL,
    BedStep,
    bed_steps,
    cover_mm,
    margin_mm,
    tray_mm,
    under_mm,
)
from findhold.pack.inputs import CushionNeed, FaceNeed, Size
from findhold.pack.need import Clearance, board_mm
from findhold.tables.boards import foam_plank
from findhold.tables.materials import packing_material

PLANK, PAD, PACKING, SHEET, STRIP, BOARD = (
    "foam plank",
    "foam pad",
    "packing sheet",
    "foam sheet",
    "foam strip",
    "board",
)
BOARD_MATERIAL = "wood board"
_HAIR_MM = 1e-6
_LEAST_SLICE_MM = 10.0
"""A thinner slice of foam is not cut cleanly by hand (judgement)."""
_SEEN_MM = 0.25
"""A hole nearer the middle is in the middle [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPiece:
    """One kind of piece: where it goes, how many alike, and its sizes [mm]."""

    name: str
    where: str
    """bed, under, base, ends, sides, top or round; "round 3" is the third contour sheet from below."""
    material: str
    many: int
    length_mm: float
    width_mm: float
    thickness_mm: float
    laid_of_mm: tuple[float, ...] = ()
    """Sheets it is laid up of, where that was designed [mm]."""
    hole_mm: tuple[float, float] | None = None
    """Hole along its length and its width [mm]."""
    hole_off_mm: tuple[float, float] = (0.0, 0.0)
    """The hole's middle off the sheet's, towards the right end and the far side of the box [mm]."""
    turn_deg: float = 0.0
    """How the hole is turned in the sheet: 0 but for a block that stands askew."""
    note: str = ""

    @property
    def is_foam(self) -> bool:
        """Whether it is foam, and no board or tray."""
        return self.material not in (BOARD_MATERIAL, TRAY_MATERIAL)

    @property
    def volume_m3(self) -> float:
        """Material in all of them [m3]."""
        hole = 0.0 if self.hole_mm is None else self.hole_mm[0] * self.hole_mm[1]
        return self.many * (self.length_mm * self.width_mm - hole) * self.thickness_mm * 1e-9

    @property
    def sizes(self) -> str:
        """Length x width x thickness in words, with the sheets it is laid up of."""
        laid = f" ({' + '.join(f'{mm:g}' for mm in self.laid_of_mm)})" if len(self.laid_of_mm) > 1 else ""
        if self.is_foam and self.name != STRIP and not self.laid_of_mm:
            laid = _built_words(self.thickness_mm)
        return f"{_whole(self.length_mm)} x {_whole(self.width_mm)} x {self.thickness_mm:g} mm{laid}"

    @property
    def hole(self) -> str:
        """The hole in words; empty for a piece without one."""
        if self.hole_mm is None:
            return ""
        turned = f", turned {self.turn_deg:.0f}°" if self.turn_deg else ""
        return f"hole {self.hole_mm[0]:g} x {self.hole_mm[1]:g} mm{turned}, {off_words(self.hole_off_mm)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stood:
    """How a block stands in its box: inside of the box [mm], turn, room round the bare block, sheets of tissue."""

    inside_mm: Size
    turn_deg: float
    clearance: Clearance
    sheets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FoamCut:
    """The cut list, and the room it leaves [mm].

    margin_mm : wrapping, or water and bag, between the block and its foam or boards. under_mm : bag and tray under a
    submerged find. packing_mm : packing sheets behind the pads of ends, sides and top, empty without a cushion.
    over_wrapped_mm : from the wrapped block to the rim, never less than over_least_mm. over_foam_mm : from a cushion's
    foam to the rim, never more than over_foam_most_mm; both 0 without a cushion.
    """

    pieces: tuple[CutPiece, ...]
    margin_mm: float
    under_mm: float
    packing_mm: dict[str, float]
    over_wrapped_mm: float
    over_least_mm: float
    over_foam_mm: float
    over_foam_most_mm: float


def built_of(thickness_mm: float) -> tuple[float, ...]:
    """Sheets of plank that a thickness is laid up of [mm]: whole ones, and what has to be sliced.

    Parameters
    ----------
    thickness_mm : wanted. A rest too thin to slice is shared with one more plank: 27 mm is 14 and 13 mm.

    Source: the thinnest plank of the table board_stock; computed.
    """
    thick = foam_plank().thickness_mm
    whole = int((thickness_mm + _HAIR_MM) // thick)
    rest = thickness_mm - whole * thick
    if rest <= _HAIR_MM:
        return (thick,) * whole
    if rest >= _LEAST_SLICE_MM or whole == 0:
        return (*(thick,) * whole, rest)
    upper = math.ceil((thick + rest) / 2.0)
    return (*(thick,) * (whole - 1), float(upper), thick + rest - upper)


def _built_words(thickness_mm: float) -> str:
    """The planks of a piece of foam in words; nothing for a plank as it is sold."""
    thick, parts = foam_plank().thickness_mm, built_of(thickness_mm)
    if parts == (thick,):
        return ""
    if len(parts) == 1:
        return f" ({thick:g} sliced to {parts[0]:g})"
    return f" ({' + '.join(f'{mm:g}' if mm == thick else f'{mm:g} sliced' for mm in parts)})"


def off_words(off_mm: tuple[float, float]) -> str:
    """How far and where to something lies off the middle of the box.

    Parameters
    ----------
    off_mm : towards the right end and towards the far side [mm], written without a unit.
    """
    along, across = off_mm
    said = [f"{abs(along):g} to the {'RIGHT' if along > 0 else 'LEFT'} end"] if abs(along) > _SEEN_MM else []
    if abs(across) > _SEEN_MM:
        said.append(f"{abs(across):g} to the {'FAR' if across > 0 else 'NEAR'} side")
    return ", ".join(said) or "in the middle"


def foam_cut(asked: Asked, foam_mm: float, stood: Stood) -> FoamCut:
    """Every piece of foam and board in the order of laying, and the room they leave.

    Parameters
    ----------
    asked : the request. foam_mm : foam under the block [mm], board left out. stood : the block in its box.

    Returns
    -------
    FoamCut. With a cushion each face has its pads or its whole-face foam, and packing sheets take up what is left to
    floor, walls and lid; sheets with holes then end at the boards. Without one, strips fill up to the walls.

    Source: layers and clearances of the plan; packing sheets lie in line with the pads over their whole size, so that
    they can only soften the stop; computed.
    """
    cushion, defaults, gap = asked.inputs.cushion, asked.inputs.defaults, stood.clearance.lid_gap
    over, margin = round(gap - face_margin_mm(asked, stood), 1), face_margin_mm(asked, stood)
    if cushion is None or not asked.cushioned:
        return FoamCut(
            pieces=_seat(asked, foam_mm, stood),
            margin_mm=margin,
            under_mm=under_mm(asked),
            packing_mm={},
            over_wrapped_mm=over,
            over_least_mm=round(_over_mm(asked, stood) - margin + defaults.lid_sag_mm + defaults.tissue_swell_mm, 1),
            over_foam_mm=0.0,
            over_foam_most_mm=0.0,
        )
    laid = [*_base(asked, cushion, foam_mm, stood), *_sheets(asked, stood)]
    packing = _packing_mm(asked, cushion, stood)
    stack = _over_mm(asked, stood) + _stack_mm(cushion.face("top")) + packing["top"]
    return FoamCut(
        pieces=(
            *laid,
            *_walls(asked, cushion, stood, packing),
            *_tray(asked),
            *_top(asked, cushion, stood, packing),
        ),
        margin_mm=margin,
        under_mm=under_mm(asked),
        packing_mm=packing,
        over_wrapped_mm=over,
        over_least_mm=round(stack - margin + defaults.lid_sag_mm + defaults.tissue_swell_mm, 1),
        over_foam_mm=round(gap - stack, 1),
        over_foam_most_mm=defaults.lid_sag_mm + defaults.tissue_swell_mm + 1.0,
    )


def _seat(asked: Asked, foam_mm: float, stood: Stood) -> tuple[CutPiece, ...]:
    """Plank, carrying board, sheets with holes and strips of a block without a cushion."""
    plank = CutPiece(
        name=PLANK,
        where="bed",
        material=_foam(asked),
        many=1,
        length_mm=stood.inside_mm[0],
        width_mm=stood.inside_mm[1],
        thickness_mm=foam_mm,
    )
    board = [_board("bed", 1, asked.block_mm[:2], board_mm(asked))] if board_mm(asked) > 0 else []
    return (plank, *board, *_sheets(asked, stood), *_strips(asked, stood), *_tray(asked))


def _tray(asked: Asked) -> Iterator[CutPiece]:
    """The tray in the bag of a submerged find."""
    if asked.submerged:
        x0, y0, x1, y1 = tray_mm(asked)
        yield CutPiece(
            name=TRAY,
            where="under",
            material=TRAY_MATERIAL,
            many=1,
            length_mm=x1 - x0,
            width_mm=y1 - y0,
            thickness_mm=cover_mm(asked),
            note="feet down, edges smooth",
        )


def face_margin_mm(asked: Asked, stood: Stood) -> float:
    """What lies round the block inside its foam or boards: wrapping as laid, or water, and the folds of a bag [mm]."""
    tissue = asked.inputs.defaults.wrap_tissue_mm
    return margin_mm(asked) - (tissue if not stood.sheets and not asked.submerged else 0.0)


def _packing_mm(asked: Asked, cushion: CushionNeed, stood: Stood) -> dict[str, float]:
    """Packing sheets behind the pads of ends, sides and top, in whole millimetres [mm].

    Over the block a lid that sags and tissue that swells keep their room.
    """
    along, across = stood.clearance.side_l, stood.clearance.side_w
    room = {"ends": along, "sides": across} if stood.turn_deg != 90 else {"ends": across, "sides": along}
    margin, defaults = face_margin_mm(asked, stood), asked.inputs.defaults
    left = {face: _floor(room[face] - margin - _stack_mm(cushion.face(face))) for face in room}
    over = _over_mm(asked, stood) + _stack_mm(cushion.face("top")) + defaults.lid_sag_mm + defaults.tissue_swell_mm
    return {**left, "top": _floor(stood.clearance.lid_gap - over)}


def _over_mm(asked: Asked, stood: Stood) -> float:
    """Wrapping, water, top tissue and absorbent over the block [mm]."""
    defaults = asked.inputs.defaults
    tissue = defaults.top_tissue_mm if stood.sheets else 0.0
    return face_margin_mm(asked, stood) + tissue + (defaults.lid_absorbent_mm if asked.inputs.lid_water_g else 0.0)


def _base(asked: Asked, cushion: CushionNeed, foam_mm: float, stood: Stood) -> Iterator[CutPiece]:
    """Packing sheet on the floor where the bed is higher than the cushion asks, pads, spreader board."""
    base = cushion.face("base")
    rest = foam_mm - base.foam_mm
    if rest > _HAIR_MM:
        yield _packing(asked, "base", 1, (*stood.inside_mm[:2], rest))
    yield _foam_piece(asked, base)
    if board_mm(asked) > 0:
        yield _board("base", 1, (base.length_mm, base.width_mm), board_mm(asked))


def _walls(asked: Asked, cushion: CushionNeed, stood: Stood, behind: dict[str, float]) -> Iterator[CutPiece]:
    """Boards, pads and packing sheets of ends and sides; packing sheets stand on the floor and hold themselves."""
    high = stood.clearance.bed + asked.block_mm[2]
    long_walls = "sides" if stood.turn_deg != 90 else "ends"
    for name in ("ends", "sides"):
        face = cushion.face(name)
        if face.board_mm > 0:
            yield _board(name, face.many, (face.length_mm, face.width_mm), face.board_mm)
        yield _foam_piece(asked, face)
        if behind[name] > 0:
            long = stood.inside_mm[0] if name == long_walls else stood.inside_mm[1] - 2.0 * behind[long_walls]
            yield _packing(asked, name, face.many, (long, high, behind[name]))


def _top(asked: Asked, cushion: CushionNeed, stood: Stood, packing: dict[str, float]) -> Iterator[CutPiece]:
    face = cushion.face("top")
    if face.board_mm > 0:
        yield _board("top", 1, (face.length_mm, face.width_mm), face.board_mm)
    yield _foam_piece(asked, face)
    if packing["top"] > 0:
        yield _packing(asked, "top", 1, (*stood.inside_mm[:2], packing["top"]))


def _sheets(asked: Asked, stood: Stood) -> Iterator[CutPiece]:
    """The sheets with holes: from wall to wall, or inside the boards of a cushion."""
    size = stood.inside_mm[:2]
    if asked.cushioned:
        margin = face_margin_mm(asked, stood)
        length, width = (side + 2.0 * margin for side in asked.block_mm[:2])
        size = (length, width) if stood.turn_deg != 90 else (width, length)
    for number, step in enumerate(bed_steps(asked), 1):
        hole = (step.open_l_mm, step.open_w_mm)
        yield CutPiece(
            name=SHEET,
            where=f"round {number}",
            material=_foam(asked),
            many=1,
            length_mm=size[0],
            width_mm=size[1],
            thickness_mm=step.to_mm - step.from_mm,
            hole_mm=hole if stood.turn_deg != 90 else (hole[1], hole[0]),
            hole_off_mm=off_in_box_mm(asked, step, stood.turn_deg),
            turn_deg=0.0 if stood.turn_deg in (0, 90) else stood.turn_deg,
            note="whole" if asked.submerged else "in halves",
        )


def off_in_box_mm(asked: Asked, step: BedStep, turn_deg: float) -> tuple[float, float]:
    """The middle of a sheet's hole off the middle of the box, towards its right end and its far side [mm]."""
    length, width, _ = asked.block_mm
    outline = asked.inputs.plan_outline_mm or ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    if turn_deg in (0, 90):
        outline = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    around = turned_mm(outline, turn_deg)
    at = turned_mm([(length / 2.0 + step.off_l_mm, width / 2.0 + step.off_w_mm)], turn_deg)[0]
    middle = (around.min(axis=0) + around.max(axis=0)) / 2.0
    along, across = (round(2.0 * float(one)) / 2.0 for one in at - middle)
    return along, across


def _strips(asked: Asked, stood: Stood) -> Iterator[CutPiece]:
    """Strips beside the block over the sheets with holes, not tight: along the long walls, and between these.

    Each is laid up of bars cut off the plank, whole ones: they end under the block's top. Round a find under water they
    hold its bag, and are at least as high as the water where the rim lets them.
    """
    steps, margin = bed_steps(asked), margin_mm(asked)
    low = steps[-1].to_mm if steps else -under_mm(asked)
    high = asked.block_mm[2] + cover_mm(asked) - low
    bars, rim = _bars(asked, high), stood.clearance.lid_gap + asked.block_mm[2] - low
    high = min(bars * foam_plank().thickness_mm, rim - asked.inputs.defaults.lid_sag_mm) if bars else high
    along, across = (_floor(room - margin) for room in (stood.clearance.side_l, stood.clearance.side_w))
    reach = stood.inside_mm[1] - 2.0 * across
    if high < 1.0:
        return
    for where, long, thick in (("sides", stood.inside_mm[0], across), ("ends", reach, along)):
        if thick > 0:
            yield CutPiece(
                name=STRIP,
                where=where,
                material=_foam(asked),
                many=2,
                length_mm=long,
                width_mm=high,
                thickness_mm=thick,
                note=f"each of {max(bars, 1)} bars off the {foam_plank().thickness_mm:g} mm plank, one on the other"
                if bars > 1
                else "a bar off the plank",
            )


def _bars(asked: Asked, high_mm: float) -> int:
    """Whole bars of a strip: down to the block's height, up to that of the water; 0 where one is too high."""
    whole = high_mm / foam_plank().thickness_mm
    return math.ceil(whole - _HAIR_MM) if asked.submerged else int(whole + _HAIR_MM)


def _foam_piece(asked: Asked, face: FaceNeed) -> CutPiece:
    whole = face.pads == 0
    return CutPiece(
        name="foam on the whole face" if whole else PAD,
        where=face.face,
        material=_foam(asked),
        many=face.many * max(face.pads, 1),
        length_mm=face.length_mm if whole else face.pad_mm,
        width_mm=face.width_mm if whole else face.pad_mm,
        thickness_mm=face.foam_mm,
        laid_of_mm=face.sheets_mm,
        note="" if whole or face.many == 1 else f"{face.pads} on each",
    )


def _packing(asked: Asked, where: str, many: int, size_mm: Size) -> CutPiece:
    length, width, thick = size_mm
    return CutPiece(
        name=PACKING,
        where=where,
        material=_foam(asked),
        many=many,
        length_mm=length,
        width_mm=width,
        thickness_mm=thick,
        note={"base": "on the floor", "top": "over the pads, under the lid"}.get(where, "between pads and wall"),
    )


def _board(where: str, many: int, size_mm: tuple[float, ...], thickness_mm: float) -> CutPiece:
    return CutPiece(
        name={"bed": "carrying board", "base": "spreader board"}.get(where, BOARD),
        where=where,
        material=BOARD_MATERIAL,
        many=many,
        length_mm=size_mm[0],
        width_mm=size_mm[1],
        thickness_mm=thickness_mm,
    )


def _stack_mm(face: FaceNeed) -> float:
    """Board and foam of a face beside or over the block [mm]."""
    return face.foam_mm + face.board_mm


def _foam(asked: Asked) -> str:
    cushion = asked.inputs.cushion
    return packing_material("polyethylene foam" if cushion is None else cushion.material).name


def _floor(room_mm: float) -> float:
    return float(max(math.floor(room_mm + _HAIR_MM), 0))


def _whole(size_mm: float) -> str:
    return f"{round(size_mm, 1):g}"
