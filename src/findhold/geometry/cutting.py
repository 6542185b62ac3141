"""Lay rectangular pieces on the fewest sheets by cuts from edge to edge, and tell the offcuts. Lengths in mm."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from findhold.errors import BadInput

Rectangle = tuple[float, float, float, float]
"""Left, lower edge, length, width [mm]."""
_HAIR = 1e-9
_LEAST_OFFCUT_MM = 20.0
"""Narrower than this is waste, not an offcut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece to cut [mm]; it may be turned by a right angle."""

    name: str
    length_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A piece in its place: sheet counted from 0, its corner, and its sides as they lie [mm]."""

    name: str
    sheet: int
    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcut:
    """What is left of a sheet in one rectangle [mm]."""

    sheet: int
    length_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """Sheets used, pieces laid, offcuts from the largest down; `proved` = no layout can do with fewer sheets."""

    sheets: int
    laid: tuple[Laid, ...]
    offcuts: tuple[Offcut, ...]
    proved: bool


def cut(pieces: Sequence[Piece], sheet_mm: tuple[float, float], kerf_mm: float = 0.0) -> Cutting:
    """Lay pieces on equal sheets, cut from edge to edge.

    Not for pieces with a grain that must run one way: every piece may be turned.

    Parameters
    ----------
    pieces : what to cut. sheet_mm : length and width of one sheet. kerf_mm : width of a cut.

    Returns
    -------
    Cutting: of several orders and rules of splitting the one with fewest sheets, then the largest offcut.

    Raises
    ------
    BadInput : a piece is larger than a sheet in both turns.

    Source: own constructive search; the bound is area, and pieces of which no two share a sheet.
    """
    length, width = sheet_mm
    for piece in pieces:
        if not _goes(piece, sheet_mm):
            raise BadInput(
                f"{piece.name} of {piece.length_mm:g} x {piece.width_mm:g} mm is larger than a sheet",
                where="cut list",
                limit=f"{length:g} x {width:g} mm",
                do="Take a larger sheet, or join it from two pieces",
            )
    tries = itertools.product(_ORDERS, _FITS, (True, False))
    made = [_lay(sorted(pieces, key=order), sheet_mm, kerf_mm, fit, split) for order, fit, split in tries]
    best = min(made, key=lambda one: (one.sheets, -_largest(one)))
    return Cutting(
        sheets=best.sheets,
        laid=best.laid,
        offcuts=best.offcuts,
        proved=best.sheets <= least_sheets(pieces, sheet_mm, kerf_mm),
    )


def least_sheets(pieces: Sequence[Piece], sheet_mm: tuple[float, float], kerf_mm: float = 0.0) -> int:
    """Sheets below which no layout can go: by area with the cuts, and by pieces wider than half a sheet both ways."""
    length, width = (side + kerf_mm for side in sheet_mm)
    area = sum((piece.length_mm + kerf_mm) * (piece.width_mm + kerf_mm) for piece in pieces)
    big = sum(min(p.length_mm, p.width_mm) + kerf_mm > max(length, width) / 2 + _HAIR for p in pieces)
    return max(math.ceil(area / (length * width) - _HAIR), big)


_ORDERS: tuple[Callable[[Piece], tuple[float, ...]], ...] = (
    lambda p: (-p.length_mm * p.width_mm, -max(p.length_mm, p.width_mm)),
    lambda p: (-max(p.length_mm, p.width_mm), -p.length_mm * p.width_mm),
    lambda p: (-min(p.length_mm, p.width_mm), -max(p.length_mm, p.width_mm)),
    lambda p: (-(p.length_mm + p.width_mm), -p.length_mm * p.width_mm),
)
_FITS: tuple[Callable[[float, float], tuple[float, ...]], ...] = (
    lambda along, across: (min(along, across), max(along, across)),
    lambda along, across: (max(along, across), min(along, across)),
)
"""What is better of two places, from what a piece leaves over along and across."""


def _goes(piece: Piece, sheet_mm: tuple[float, float]) -> bool:
    return any(
        along <= sheet_mm[0] + _HAIR and across <= sheet_mm[1] + _HAIR
        for along, across in ((piece.length_mm, piece.width_mm), (piece.width_mm, piece.length_mm))
    )


def _lay(
    pieces: Sequence[Piece],
    sheet_mm: tuple[float, float],
    kerf_mm: float,
    fit: Callable[[float, float], tuple[float, ...]],
    split_long: bool,
) -> Cutting:
    """One greedy layout: each piece into the free rectangle it suits best, a new sheet when it suits none."""
    whole = (0.0, 0.0, sheet_mm[0] + kerf_mm, sheet_mm[1] + kerf_mm)
    free: list[tuple[int, Rectangle]] = []
    laid, sheets = [], 0
    for piece in pieces:
        sizes = {
            (piece.length_mm + kerf_mm, piece.width_mm + kerf_mm),
            (piece.width_mm + kerf_mm, piece.length_mm + kerf_mm),
        }
        where = _best(free, sizes, fit)
        if where is None:
            free.append((sheets, whole))
            sheets += 1
            where = _best(free, sizes, fit)
            if where is None:
                raise ValueError(f"{piece.name} passed its check and goes into no sheet")
        place, (along, across) = where
        sheet, (x, y, length, width) = free.pop(place)
        laid.append(
            Laid(name=piece.name, sheet=sheet, x_mm=x, y_mm=y, length_mm=along - kerf_mm, width_mm=across - kerf_mm)
        )
        right, above = length - along, width - across
        if (right > above) == split_long:
            cuts = ((x + along, y, right, width), (x, y + across, along, above))
        else:
            cuts = ((x + along, y, right, across), (x, y + across, length, above))
        free += [(sheet, one) for one in cuts if one[2] > _HAIR and one[3] > _HAIR]
    return Cutting(sheets=sheets, laid=tuple(laid), offcuts=_offcuts(free, kerf_mm), proved=False)


def _best(
    free: list[tuple[int, Rectangle]],
    sizes: set[tuple[float, float]],
    fit: Callable[[float, float], tuple[float, ...]],
) -> tuple[int, tuple[float, float]] | None:
    """The free rectangle and the turn a piece suits best, on the earliest sheet of equals; None when none takes it."""
    found = [
        (fit(length - along, width - across), sheet, place, (along, across))
        for place, (sheet, (_, _, length, width)) in enumerate(free)
        for along, across in sizes
        if along <= length + _HAIR and across <= width + _HAIR
    ]
    if not found:
        return None
    _, _, place, size = min(found)
    return place, size


def _offcuts(free: list[tuple[int, Rectangle]], kerf_mm: float) -> tuple[Offcut, ...]:
    left = [
        Offcut(sheet=sheet, length_mm=max(length, width) - kerf_mm, width_mm=min(length, width) - kerf_mm)
        for sheet, (_, _, length, width) in free
        if min(length, width) - kerf_mm >= _LEAST_OFFCUT_MM
    ]
    return tuple(sorted(left, key=lambda one: (-one.length_mm * one.width_mm, one.sheet)))


def _largest(made: Cutting) -> float:
    return max((one.length_mm * one.width_mm for one in made.offcuts), default=0.0)
