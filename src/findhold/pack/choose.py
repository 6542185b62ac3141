"""Choose the box: every box in stock, the block square to it or askew, nothing above the rim.

Of boxes that will do the least outside volume is taken, then the least empty mass, then the name. A box can fail for
two kinds of reasons: it would not do, or it is not free (none left, or another box was asked for).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
import numpy.typing as npt

from findhold.geometry.askew import extents_mm, may_go_in, roomiest_turn, turned_mm
from findhold.geometry.fit import TURNS_DEG, better_turn, corner_spare_mm, rooms_mm
from findhold.pack.inputs import Size, StockBox
from findhold.pack.need import Clearance, Need
from findhold.pack.proof import Bounds, Rejected, Tried, binding_words, place_short, try_box, why_none

FloatArray = npt.NDArray[np.float64]
TIE_RULE = (
    "least outside volume, then least empty mass, then name; in one box square before askew, and of two turns the one "
    "with the wider narrowest side"
)
_MAKE_STEP_MM = 5
_RATING_STEP_KG = 0.5
_HAIR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The box taken (None when none will do), how the block stands in it, and what was passed over."""

    index: int | None
    turn_deg: float
    """0 or 90 square to the box; any other angle is askew, anticlockwise seen from above."""
    laid_mm: Size | None
    """Extents of the block as it stands: along the box's length, across it, upright."""
    clearance: Clearance | None
    runner_up: int | None
    also_fit: tuple[int, ...]
    """All boxes that will do, best first, the chosen one among them."""
    rejected: tuple[Rejected, ...]
    binding: str
    would_do: tuple[int, ...] = ()
    """Boxes that would do but are not free: none left, or another was asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """How the block would stand in each box: arrays of one row per box.

    spare : shape (n, 4) [mm] along length, width, height and in the rounded corners, for the better quarter turn or,
    where neither goes in and another angle does, for that angle. turn_deg : shape (n,).
    """

    spare: FloatArray
    turn_deg: FloatArray


def turn_words(turn_deg: float) -> str:
    """The turn in words."""
    if turn_deg == 0:
        return "block length along box length"
    if turn_deg == 90:
        return "block length across the box"
    return f"askew: block length turned {turn_deg:.0f}° anticlockwise from the box length, seen from above"


def turned_words(need: Need, choice: Choice) -> str:
    """Where the lowest corner of a block laid askew comes, for the hands; empty for one square to the box."""
    if choice.turn_deg in TURNS_DEG or choice.clearance is None:
        return ""
    points = turned_mm(need.outline_mm, choice.turn_deg)
    corner = float(points[np.argmin(points[:, 1]), 0] - points[:, 0].min()) + choice.clearance.side_l
    near = choice.clearance.side_w
    return f"its corner nearest you comes {round(corner, 1):g} mm from the left end and {near:g} mm from the near side"


def choose_box(stock: tuple[StockBox, ...], need: Need, load_kg: FloatArray, bounds: Bounds) -> Choice:
    """Try every box and take the smallest that will do.

    Parameters
    ----------
    stock : the boxes; may be empty.
    need : least inside and clearances [mm].
    load_kg : shape (n,), what each box would carry [kg].
    bounds : walls, place and wish.

    Returns
    -------
    Choice. Of boxes that will do, the order is outside volume, tare, name; the runner-up is the second.

    Source: exhaustive over the stock, both quarter turns and all angles; computed.
    """
    if not stock:
        return _no_box((), "there is no stock to choose from")
    stand = stand_in(stock, need)
    tried = [
        try_box(box, need, stand.spare[i], float(stand.turn_deg[i]), float(load_kg[i]), bounds)
        for i, box in enumerate(stock)
    ]
    _add_place(tried, stock, bounds)
    ranked = sorted(
        (i for i, one in enumerate(tried) if not one.fails),
        key=lambda i: (_volume(stock[i]), stock[i].tare_kg, stock[i].name),
    )
    waiting = tuple(i for i in ranked if tried[i].taken)
    ranked = [i for i in ranked if not tried[i].taken]
    rejected = tuple(
        Rejected(box=box.name, why="; ".join(one.whys), short=tuple(one.short))
        for box, one in zip(stock, tried, strict=True)
        if one.whys
    )
    if not ranked:
        return _no_box(rejected, why_none(stock, tried, load_kg, bounds), waiting)
    best = ranked[0]
    spare, turn = stand.spare[best], float(stand.turn_deg[best])
    laid = laid_mm(need, turn)
    clearance = _clearance(need, spare, laid, stock[best])
    return Choice(
        index=best,
        turn_deg=int(turn) if turn in TURNS_DEG else turn,
        laid_mm=laid,
        clearance=clearance,
        runner_up=ranked[1] if len(ranked) > 1 else None,
        also_fit=tuple(ranked),
        rejected=rejected,
        binding=binding_words(need, clearance),
        would_do=waiting,
    )


def stand_in(stock: tuple[StockBox, ...], need: Need) -> Stand:
    """The better quarter turn in each box and, where neither goes in, the roomiest angle when that does.

    Parameters
    ----------
    stock : n boxes. need : the block and its clearances.

    Returns
    -------
    Stand. In tapered boxes every slice of the block is set against the box at its own height, slices taken as
    centred; askew, the whole outline is set against the narrowest of these, and against the straight part of sides
    that end in rounded corners, which is on the safe side.
    """
    inside = np.array([box.inside_mm for box in stock], dtype=np.float64)
    base = np.array([box.base_mm or box.inside_mm[:2] for box in stock], dtype=np.float64)
    slices = np.array(need.slices_mm, dtype=np.float64)
    rooms = rooms_mm(inside[:, :2], base, inside[:, 2], need.bed_mm + slices[:, 0])
    # a corner rounded no more than the clearance is wide cannot reach the block
    radius = np.maximum(np.array([box.corner_mm for box in stock]) - need.side_mm, 0.0)
    spare = np.empty((len(stock), 2, 4))
    for quarter, order in enumerate(((1, 2), (2, 1))):
        spare[:, quarter, :2] = (rooms - slices[:, order] - 2 * need.side_mm).min(axis=1)
    spare[:, :, 2] = (inside[:, 2] - need.inside_mm[2])[:, None]
    spare[:, :, 3] = np.where(radius[:, None] > 0, corner_spare_mm(spare[:, :, :2], radius[:, None]), np.inf)
    rows = np.arange(len(stock))
    turn = better_turn(spare)
    chosen, angle = spare[rows, turn], np.array(TURNS_DEG, dtype=np.float64)[turn]
    square = (chosen[:, (0, 1, 3)] >= 0).all(axis=1)
    askew = np.flatnonzero(~square)
    if need.square:
        askew = askew[:0]
    if askew.size:
        inset = radius[askew] * (1.0 - np.sqrt(0.5))
        room = rooms[askew].min(axis=1) - 2 * (need.side_mm + inset)[:, None]
        hopeful = may_go_in(need.outline_mm, room)
        askew, room = askew[hopeful], room[hopeful]
    if askew.size:
        turned, left = roomiest_turn(need.outline_mm, room)
        goes = (left >= -_HAIR).all(axis=1)
        chosen[askew[goes], :2], chosen[askew[goes], 3] = np.maximum(left[goes], 0.0), np.inf
        angle[askew[goes]] = turned[goes]
    return Stand(spare=chosen, turn_deg=angle)


def laid_mm(need: Need, turn_deg: float) -> Size:
    """Extents of the block along the box's length, across it and upright, at a turn [mm]."""
    length, width, height = need.block_mm
    if turn_deg in TURNS_DEG:
        return (length, width, height) if turn_deg == 0 else (width, length, height)
    along, across = extents_mm(need.outline_mm, turn_deg)
    return (float(along), float(across), height)


def least_inside(need: Need) -> Size:
    """The inside a box to be made needs, rounded up [mm]."""
    length, width, height = (float(ceil(round(side / _MAKE_STEP_MM, 6)) * _MAKE_STEP_MM) for side in need.inside_mm)
    return (length, width, height)


def least_rating_kg(load_kg: float) -> float:
    """What a box to be made or bought must be rated for, rounded up so that it bears the load [kg]."""
    return ceil(round(load_kg / _RATING_STEP_KG, 6)) * _RATING_STEP_KG


def what_to_make(need: Need, load_kg: float, wall_mm: float, bounds: Bounds) -> str:
    """The inside and rating a box would need, both rounded up, and whether such a box would go into its place."""
    inside = least_inside(need)
    size = " x ".join(f"{side:g}" for side in inside)
    words = (
        f"Make or buy a box of at least {size} mm inside (length x width x height), rated for at least "
        f"{least_rating_kg(load_kg):g} kg of contents"
    )
    if bounds.place_mm is None:
        return words + "."
    outside = np.array([[side + 2 * wall_mm for side in inside]])
    short = place_short(outside, bounds)[0]
    if not short:
        return words + "."
    over = short[0].text
    return f"{words}; no such box goes into this {bounds.place_kind} ({over}): choose another store or part the block."


def _volume(box: StockBox) -> float:
    length, width, height = box.outside_mm
    return length * width * height


def _no_box(rejected: tuple[Rejected, ...], why: str, would_do: tuple[int, ...] = ()) -> Choice:
    return Choice(
        index=None,
        turn_deg=0,
        laid_mm=None,
        clearance=None,
        runner_up=None,
        also_fit=(),
        rejected=rejected,
        binding=why,
        would_do=would_do,
    )


def _add_place(tried: list[Tried], stock: tuple[StockBox, ...], bounds: Bounds) -> None:
    if bounds.place_mm is None:
        return
    outside = np.array([box.outside_mm for box in stock], dtype=np.float64)
    for one, short in zip(tried, place_short(outside, bounds), strict=True):
        one.short.extend(short)


def _clearance(need: Need, spare: FloatArray, laid: Size, box: StockBox) -> Clearance:
    """Leftover length and width are shared by both sides; the bed keeps its thickness; leftover height is lid gap.

    In a straight box that is inside less block; in a tapered one the room is told where it is narrowest.
    """
    if box.base_mm is None:
        room = tuple((inside - block) / 2 for inside, block in zip(box.inside_mm, laid, strict=True))
    else:
        room = (need.side_mm + float(spare[0]) / 2, need.side_mm + float(spare[1]) / 2)
    gap_mm = need.lid_gap_mm + float(spare[2])
    return Clearance(side_l=_told(float(room[0])), side_w=_told(float(room[1])), bed=need.bed_mm, lid_gap=_told(gap_mm))


def _told(room_mm: float) -> float:
    """Room as it is told everywhere, screen, sheet and drawing: to a tenth of a millimetre."""
    return round(room_mm, 1)
