"""Choose the box: every box in stock, both turns, nothing above the rim; least outside volume, then tare, then name.

A box can fail for two kinds of reasons: it would not do, or it is not free (none left, or another box was asked for).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
import numpy.typing as npt

from findhold.geometry.fit import TURNS_DEG, better_turn, outside_mm, spare_mm
from findhold.pack.bed import Clearance, Need
from findhold.pack.inputs import Size, StockBox
from findhold.tables.naming import plain_name

FloatArray = npt.NDArray[np.float64]
TURN_WORDS = {0: "block length along box length", 90: "block length across the box"}
_SIDES = ("length", "width", "height")
_MAKE_STEP_MM = 5
_HAIR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejected:
    """A box that will not do, and why, with every figure that fails."""

    box: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The box taken (None when none will do), how the block stands in it, and what was passed over."""

    index: int | None
    turn_deg: int
    clearance: Clearance | None
    runner_up: int | None
    also_fit: tuple[int, ...]
    """All boxes that will do, best first, the chosen one among them."""
    rejected: tuple[Rejected, ...]
    binding: str
    would_do: tuple[int, ...] = ()
    """Boxes that would do but are not free: none left, or another was asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What a choice is bound by besides size and load: walls refused, the fridge's inside, the box asked for."""

    refused: dict[str, str]
    """Sentence by wall name, for walls this find may not be kept in."""
    fridge_mm: Size | None = None
    """Inside of the shelf space the closed box must go into, upright; None = not asked."""
    wanted: str | None = None
    """Name of the only box to be taken; None = any."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tried:
    """One box tried: why it would not do, and why it is not free."""

    fails: list[str]
    taken: list[str]

    @property
    def whys(self) -> list[str]:
        return [*self.fails, *self.taken]


def choose_box(stock: tuple[StockBox, ...], need: Need, load_kg: FloatArray, bounds: Bounds) -> Choice:
    """Try every box and take the smallest that will do.

    Parameters
    ----------
    stock : the boxes; may be empty.
    need : least inside and clearances [mm].
    load_kg : shape (n,), what each box would carry [kg].
    bounds : walls, fridge and wish.

    Returns
    -------
    Choice. Of boxes that will do, the order is outside volume, tare, name; the runner-up is the second.

    Source: exhaustive over the stock and both turns; computed.
    """
    if not stock:
        return _no_box((), "there is no stock to choose from")
    inside = np.array([box.inside_mm for box in stock], dtype=np.float64)
    outside = outside_mm(inside, [box.wall_mm for box in stock])
    spare = spare_mm(inside, need.inside_mm)
    turn = better_turn(spare)
    tried = [
        _Tried(fails=_fails(box, spare[i, turn[i]], float(load_kg[i]), bounds.refused), taken=_taken(box, bounds))
        for i, box in enumerate(stock)
    ]
    if bounds.fridge_mm is not None:
        _add_fridge(tried, outside, bounds.fridge_mm)
    ranked = sorted(
        (i for i, one in enumerate(tried) if not one.fails),
        key=lambda i: (float(outside[i].prod()), stock[i].tare_kg, stock[i].name),
    )
    waiting = tuple(i for i in ranked if tried[i].taken)
    ranked = [i for i in ranked if not tried[i].taken]
    rejected = tuple(
        Rejected(box=box.name, why="; ".join(one.whys)) for box, one in zip(stock, tried, strict=True) if one.whys
    )
    if not ranked:
        missing = [-float(np.minimum(spare[i, turn[i]], 0.0).sum()) for i in range(len(stock))]
        return _no_box(rejected, _why_none(stock, tried, missing, bounds), waiting)
    best = ranked[0]
    laid = spare[best, turn[best]]
    return Choice(
        index=best,
        turn_deg=TURNS_DEG[int(turn[best])],
        clearance=_clearance(need, laid),
        runner_up=ranked[1] if len(ranked) > 1 else None,
        also_fit=tuple(ranked),
        rejected=rejected,
        binding=_binding(need, laid),
        would_do=waiting,
    )


def what_to_make(need: Need, load_kg: float, wall_mm: float, fridge_mm: Size | None) -> str:
    """The inside a box would need, rounded up, and whether such a box would go into the fridge."""
    inside = [ceil(round(side / _MAKE_STEP_MM, 6)) * _MAKE_STEP_MM for side in need.inside_mm]
    size = " x ".join(str(side) for side in inside)
    words = f"Make or buy a box of at least {size} mm inside (length x width x height), rated for {load_kg:.1f} kg"
    if fridge_mm is None:
        return words + "."
    outside = np.array([[side + 2 * wall_mm for side in inside]])
    short = _fridge_short(outside, fridge_mm)[0]
    if short is None:
        return words + "."
    return f"{words}; no such box goes into this fridge ({short}): choose another store or part the block."


def _no_box(rejected: tuple[Rejected, ...], why: str, would_do: tuple[int, ...] = ()) -> Choice:
    return Choice(
        index=None,
        turn_deg=0,
        clearance=None,
        runner_up=None,
        also_fit=(),
        rejected=rejected,
        binding=why,
        would_do=would_do,
    )


def _fails(box: StockBox, laid: FloatArray, load_kg: float, refused: dict[str, str]) -> list[str]:
    """Every reason why a box would not do, without the fridge."""
    why = [
        f"inside {side} {-gap:.4g} mm short (needs {size + -gap:.4g}, has {size:.4g})"
        for side, gap, size in zip(_SIDES, laid, box.inside_mm, strict=True)
        if gap < 0
    ]
    if box.max_load_kg is not None and load_kg > box.max_load_kg + _HAIR:
        over = load_kg - box.max_load_kg
        why.append(f"load {load_kg:.2f} kg passes its {box.max_load_kg:g} kg by {over:.2f} kg")
    if box.wall in refused:
        why.append(f"wall of {box.wall}: {refused[box.wall]}")
    return why


def _taken(box: StockBox, bounds: Bounds) -> list[str]:
    """Why a box is not free although it may do."""
    why = []
    if box.count == 0:
        why.append("none left in stock" + (f" ({_planned(box)})" if box.planned else ""))
    if bounds.wanted is not None and not _is_wanted(box, bounds.wanted):
        why.append("another box was asked for")
    return why


def _is_wanted(box: StockBox, wanted: str) -> bool:
    return plain_name(box.name) == plain_name(wanted)


def _planned(box: StockBox) -> str:
    """Where the boxes of a kind went, in words."""
    kind = box.name if "box" in box.name.casefold() else f"{box.name} box"
    if box.planned == 1:
        return f"the only {kind} is planned for another find"
    plural = f"{kind}es" if kind.endswith("box") else kind
    return f"{'both' if box.planned == 2 else f'all {box.planned}'} {plural} are planned for other finds"


def _add_fridge(tried: list[_Tried], outside: FloatArray, fridge_mm: Size) -> None:
    for one, short in zip(tried, _fridge_short(outside, fridge_mm), strict=True):
        if short is not None:
            one.fails.append(short)


def _fridge_short(outside: FloatArray, fridge_mm: Size) -> list[str | None]:
    """For each box, by how much it is too big for the fridge; None when it goes in."""
    room = np.asarray(fridge_mm, dtype=np.float64)
    turned = np.stack([room - outside, room - outside[:, (1, 0, 2)]], axis=1)
    turn = better_turn(turned)
    sentences: list[str | None] = []
    for i, box in enumerate(outside):
        laid = turned[i, turn[i]]
        over = ", ".join(f"{side} {-gap:.4g} mm too big" for side, gap in zip(_SIDES, laid, strict=True) if gap < 0)
        size = " x ".join(f"{side:.4g}" for side in box)
        sentences.append(f"outside {size} mm does not go into the fridge: {over}" if over else None)
    return sentences


def _clearance(need: Need, laid: FloatArray) -> Clearance:
    """Leftover length and width are shared by both sides; the bed keeps its thickness; leftover height is lid gap."""
    return Clearance(
        side_l=need.side_mm + float(laid[0]) / 2,
        side_w=need.side_mm + float(laid[1]) / 2,
        bed=need.bed_mm,
        lid_gap=need.lid_gap_mm + float(laid[2]),
    )


def _binding(need: Need, laid: FloatArray) -> str:
    """The dimension with least to spare over its clearance, in words."""
    over = {"length": float(laid[0]) / 2, "width": float(laid[1]) / 2, "height": float(laid[2])}
    side = min(over, key=lambda name: over[name])
    least = need.lid_gap_mm if side == "height" else need.side_mm
    free = {"length": "at each end", "width": "at each side", "height": "under the lid"}[side]
    more = f"{over[side]:.4g} mm more than needed" if over[side] > 0 else "exactly what is needed"
    return f"{side}: {least + over[side]:.4g} mm free {free}, {more}"


def _why_none(stock: tuple[StockBox, ...], tried: list[_Tried], missing: list[float], bounds: Bounds) -> str:
    """Why no box is taken: the one asked for, else those that would do but are gone, else the nearest miss."""
    order = sorted(range(len(stock)), key=lambda i: (missing[i], len(tried[i].whys), stock[i].name))
    if bounds.wanted is not None:
        first = next(i for i in order if _is_wanted(stock[i], bounds.wanted))
        fails, taken = tried[first].fails, tried[first].taken
        why = f"will not do: {'; '.join(fails)}" if fails else f"is not free: {'; '.join(taken)}"
        free = [stock[i].name for i in order if not tried[i].fails and stock[i].count != 0]
        others = f"; {' or '.join(free[:3])} would do" if free else ""
        return f"{stock[first].called}, which was asked for, {why}{others}"
    gone = [i for i in order if not tried[i].fails]
    if gone:
        return "; ".join(f"{stock[i].name} would do: {'; '.join(tried[i].taken)}" for i in gone[:3])
    return f"{stock[order[0]].name} is nearest: {'; '.join(tried[order[0]].whys)}"
