"""Choose the box: every box in stock, both turns, nothing above the rim; least outside volume, then tare, then name."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
import numpy.typing as npt

from findhold.geometry.fit import TURNS_DEG, better_turn, outside_mm, spare_mm
from findhold.pack.bed import Clearance, Need
from findhold.pack.inputs import Size, StockBox

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


def choose_box(
    stock: tuple[StockBox, ...],
    need: Need,
    load_kg: FloatArray,
    refused: dict[str, str],
    fridge_mm: Size | None,
) -> Choice:
    """Try every box and take the smallest that will do.

    Parameters
    ----------
    stock : the boxes; may be empty.
    need : least inside and clearances [mm].
    load_kg : shape (n,), what each box would carry [kg].
    refused : sentence by wall name, for walls this find may not be kept in.
    fridge_mm : inside of the shelf space the closed box must go into, upright [mm]; None = not asked.

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
    whys = [_whys(box, spare[i, turn[i]], float(load_kg[i]), refused) for i, box in enumerate(stock)]
    if fridge_mm is not None:
        _add_fridge(whys, outside, fridge_mm)
    ranked = sorted(
        (i for i, why in enumerate(whys) if not why),
        key=lambda i: (float(outside[i].prod()), stock[i].tare_kg, stock[i].name),
    )
    rejected = tuple(Rejected(box=stock[i].name, why="; ".join(why)) for i, why in enumerate(whys) if why)
    if not ranked:
        return _no_box(rejected, _nearest_miss(stock, spare, turn, whys))
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


def _no_box(rejected: tuple[Rejected, ...], why: str) -> Choice:
    return Choice(index=None, turn_deg=0, clearance=None, runner_up=None, also_fit=(), rejected=rejected, binding=why)


def _whys(box: StockBox, laid: FloatArray, load_kg: float, refused: dict[str, str]) -> list[str]:
    """Every reason against a box, without the fridge."""
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
    if box.count == 0:
        why.append("none left in stock")
    return why


def _add_fridge(whys: list[list[str]], outside: FloatArray, fridge_mm: Size) -> None:
    for why, short in zip(whys, _fridge_short(outside, fridge_mm), strict=True):
        if short is not None:
            why.append(short)


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
    if side == "height":
        return f"height: the lid gap is {over[side]:.4g} mm over its least {need.lid_gap_mm:.4g} mm"
    return f"{side}: each side is {over[side]:.4g} mm over its least {need.side_mm:.4g} mm"


def _nearest_miss(
    stock: tuple[StockBox, ...], spare: FloatArray, turn: npt.NDArray[np.intp], whys: list[list[str]]
) -> str:
    """Of boxes that will not do, the one with least missing, and what it lacks."""
    missing = [-float(np.minimum(spare[i, turn[i]], 0.0).sum()) for i in range(len(stock))]
    nearest = min(range(len(stock)), key=lambda i: (missing[i], len(whys[i]), stock[i].name))
    return f"{stock[nearest].name} is nearest: {'; '.join(whys[nearest])}"
