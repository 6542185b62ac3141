"""Make a box when none in stock will do: from which boards, cut into which pieces, and what is left of the sheets."""

from __future__ import annotations

from dataclasses import dataclass, replace

from findhold.geometry.cutting import Cutting, Laid, Offcut, Piece, cut
from findhold.pack.asked import Asked
from findhold.pack.choose import least_inside, least_rating_kg
from findhold.pack.contact import wall_conflicts
from findhold.pack.inputs import Size
from findhold.pack.need import Need
from findhold.tables.boards import Board, boards
from findhold.tables.materials import packing_material

_MOST_OFFCUTS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPiece:
    """Equal pieces of the cut list [mm]."""

    name: str
    length_mm: float
    width_mm: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MakeOption:
    """One board a box can be made of: its size, cut list, sheets, offcuts and empty mass."""

    board: str
    build: str
    """folded: tray and lid from one blank each, corners cut out and folded up; panels: six, butt-jointed."""
    inside_mm: Size
    outside_mm: Size
    pieces: tuple[CutPiece, ...]
    sheet_mm: tuple[float, float]
    sheets: int
    fewest: bool
    """True: no layout needs fewer sheets. False: a layout with fewer was not found, nor excluded."""
    laid: tuple[Laid, ...]
    offcuts: tuple[Offcut, ...]
    """The largest ones."""
    mass_kg: float
    text: str


def make_options(asked: Asked, need: Need, load_kg: float) -> tuple[MakeOption, ...]:
    """Boards a box for this find can be cut from, fewest sheets first, then the lightest.

    Not for how strong such a box is: what a board is offered for is a judgement; load the box before use.

    Parameters
    ----------
    asked, need : the request and what it asks for. load_kg : what the box will carry [kg].

    Returns
    -------
    Options; `declined` says which boards are left out and why.

    Source: table board_stock (common practice, its ratings judgement); computed.
    """
    inside = least_inside(need)
    made = []
    for board in boards():
        if board.use != "box" or _why_not(asked, board, inside, load_kg):
            continue
        pieces, outside = _pieces(board, inside)
        each = [Piece(name=p.name, length_mm=p.length_mm, width_mm=p.width_mm) for p in pieces for _ in range(p.count)]
        laid = cut(each, board.sheet_mm, board.kerf_mm)
        made.append(_option(board, (inside, outside), pieces, laid, load_kg))
    return tuple(sorted(made, key=lambda one: (one.sheets, one.mass_kg, one.board)))


def declined(asked: Asked, need: Need, load_kg: float) -> tuple[str, ...]:
    """Boards that no box for this find is offered of, each with the reason in a sentence.

    Parameters
    ----------
    asked, need : the request and what it asks for. load_kg : what the box will carry [kg].
    """
    inside = least_inside(need)
    whys = {board: _why_not(asked, board, inside, load_kg) for board in boards() if board.use == "box"}
    return tuple(f"No box of {board.name}: {why}." for board, why in whys.items() if why)


def _why_not(asked: Asked, board: Board, inside: Size, load_kg: float) -> str:
    """Why no box of a board is offered; empty where one is."""
    if board.rated_kg is None or load_kg > board.rated_kg:
        most = "nothing" if board.rated_kg is None else f"{board.rated_kg:g} kg at most"
        return f"it is offered for {most} ({board.rated_seen}), these contents are {load_kg:.2f} kg"
    if _refused(asked, board):
        return f"{board.material} may not wall in this find"
    if not all(_goes(piece, board) for piece in _pieces(board, inside)[0]):
        return f"a piece is larger than its sheet of {board.sheet_mm[0]:g} x {board.sheet_mm[1]:g} mm"
    return ""


def _refused(asked: Asked, board: Board) -> bool:
    """Whether the find may not be kept in a box of this board."""
    if asked.kept != "dry" and not board.damp:
        return True
    walled = replace(asked, walls={board.material: packing_material(board.material)})
    return any(conflict.stops for conflict in wall_conflicts(walled, board.material))


def _pieces(board: Board, inside: Size) -> tuple[tuple[CutPiece, ...], Size]:
    """Cut list and outside size of a box of this board."""
    length, width, height = inside
    thick = board.thickness_mm
    if board.build == "panels":
        outer_l, outer_w = length + 2 * thick, width + 2 * thick
        panels = (
            CutPiece(name="floor and lid", length_mm=outer_l, width_mm=outer_w, count=2),
            CutPiece(name="long sides", length_mm=outer_l, width_mm=height, count=2),
            CutPiece(name="short sides", length_mm=width, width_mm=height, count=2),
        )
        return panels, (outer_l, outer_w, height + 2 * thick)
    around = 2 * (thick + board.play_mm)
    lid_l, lid_w = length + 2 * thick + around, width + 2 * thick + around
    blanks = (
        CutPiece(name="tray", length_mm=length + 2 * (height + thick), width_mm=width + 2 * (height + thick), count=1),
        CutPiece(name="lid", length_mm=lid_l + 2 * board.lip_mm, width_mm=lid_w + 2 * board.lip_mm, count=1),
    )
    return blanks, (lid_l, lid_w, height + 2 * thick)


def _goes(piece: CutPiece, board: Board) -> bool:
    short, long = sorted((piece.length_mm, piece.width_mm))
    return short <= min(board.sheet_mm) and long <= max(board.sheet_mm)


def _option(
    board: Board, sizes: tuple[Size, Size], pieces: tuple[CutPiece, ...], laid: Cutting, load_kg: float
) -> MakeOption:
    area_m2 = sum(p.length_mm * p.width_mm * p.count for p in pieces) * 1e-6
    return MakeOption(
        board=board.name,
        build=board.build,
        inside_mm=sizes[0],
        outside_mm=sizes[1],
        pieces=pieces,
        sheet_mm=board.sheet_mm,
        sheets=laid.sheets,
        fewest=laid.proved,
        laid=laid.laid,
        offcuts=laid.offcuts[:_MOST_OFFCUTS],
        mass_kg=area_m2 * board.board_kg_per_m2,
        text=_words(board, pieces, laid, load_kg),
    )


def _words(board: Board, pieces: tuple[CutPiece, ...], laid: Cutting, load_kg: float) -> str:
    cuts = "; ".join(f"{p.name} {p.count} of {p.length_mm:g} x {p.width_mm:g} mm" for p in pieces)
    sheets = "1 sheet" if laid.sheets == 1 else f"{laid.sheets} sheets"
    left = laid.offcuts[0] if laid.offcuts else None
    offcut = "" if left is None else f"; largest offcut {left.length_mm:g} x {left.width_mm:g} mm"
    return (
        f"{board.name} ({board.build}): {cuts}; {sheets} of {board.sheet_mm[0]:g} x {board.sheet_mm[1]:g} mm "
        f"({board.seen}){offcut}. Offered for {board.rated_kg:g} kg at most ({board.rated_seen}): try it with "
        f"{least_rating_kg(load_kg):g} kg of something else."
    )
