"""Why each box was passed over: every figure that fails, by how much, and in one line."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from findhold.geometry.fit import better_turn
from findhold.pack.inputs import Size, StockBox
from findhold.pack.need import Clearance, Need
from findhold.tables.naming import plain_name

FloatArray = npt.NDArray[np.float64]
_SIDES = ("length", "width", "height")
_HAIR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Short:
    """One figure of a box that fails: what, by [unit] how much (None where nothing can be measured), in which unit."""

    what: str
    by: float | None
    unit: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejected:
    """A box that will not do or is not free, why in one line, and every figure that fails."""

    box: str
    why: str
    short: tuple[Short, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What a choice is bound by besides size and rating."""

    refused: dict[str, str]
    """Sentence by wall name, for walls this find may not be kept in."""
    place_mm: Size | None = None
    """Inside of the place the closed box must go into, upright; None = not asked."""
    place_kind: str = "fridge"
    place_clear_mm: float = 0.0
    """Air to be left over the box in it."""
    place_left_kg: float | None = None
    """What the place may still carry; None = not rated."""
    wanted: str | None = None
    """Name of the only box to be taken; None = any."""
    unrated_kg: float | None = None
    """Load above which a box without a rating is declined; None = never."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """One box tried: the figures that fail, and why it is not free."""

    short: list[Short] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)

    @property
    def fails(self) -> list[str]:
        """Why it would not do."""
        return [one.text for one in self.short]

    @property
    def whys(self) -> list[str]:
        """Why it is not taken."""
        return [*self.fails, *self.taken]


def try_box(box: StockBox, need: Need, spare: FloatArray, turn_deg: float, load_kg: float, bounds: Bounds) -> Tried:
    """Every reason why a box would not do or is not free, without the size of its place.

    Parameters
    ----------
    box : the box. need : what the block asks for. spare : shape (4,), as it would stand best [mm].
    turn_deg : that turn. load_kg : what the box would carry [kg]. bounds : walls, place and wish.
    """
    short = [*_sizes_short(box, need, spare, turn_deg)]
    if box.max_load_kg is not None and load_kg > box.max_load_kg + _HAIR:
        over = load_kg - box.max_load_kg
        text = f"load {load_kg:.2f} kg passes its {box.max_load_kg:g} kg by {over:.2f} kg"
        short.append(Short(what="load", by=over, unit="kg", text=text))
    if box.max_load_kg is None and bounds.unrated_kg is not None and load_kg > bounds.unrated_kg:
        over = load_kg - bounds.unrated_kg
        most = f"over {bounds.unrated_kg:g} kg it is not offered, the load is {load_kg:.2f} kg"
        text = f"no rated load is entered for it: {most}"
        short.append(Short(what="load", by=over, unit="kg", text=text))
    left = bounds.place_left_kg
    if left is not None and load_kg + box.tare_kg > left + _HAIR:
        over = load_kg + box.tare_kg - left
        text = (
            f"closed box of {load_kg + box.tare_kg:.2f} kg passes the {max(left, 0.0):.4g} kg the {bounds.place_kind}"
        )
        short.append(Short(what="place load", by=over, unit="kg", text=f"{text} may still carry by {over:.2f} kg"))
    if box.wall in bounds.refused:
        text = f"wall of {box.wall}: {bounds.refused[box.wall]}"
        short.append(Short(what="wall", by=None, unit="", text=text))
    return Tried(short=short, taken=_taken(box, bounds))


def place_short(outside_mm: FloatArray, bounds: Bounds) -> list[list[Short]]:
    """For each closed box (shape (n, 3) [mm]) by how much it is too big for its place; empty when it goes in."""
    if bounds.place_mm is None:
        return [[] for _ in outside_mm]
    room = np.asarray(bounds.place_mm, dtype=np.float64) - (0.0, 0.0, bounds.place_clear_mm)
    turned = np.stack([room - outside_mm, room - outside_mm[:, (1, 0, 2)]], axis=1)
    turn = better_turn(turned)
    found: list[list[Short]] = [[] for _ in outside_mm]
    laid_all = turned[np.arange(len(turn)), turn]
    for i in np.flatnonzero((laid_all < 0).any(axis=1)):
        box, laid = outside_mm[i], laid_all[i]
        over = {side: -float(gap) for side, gap in zip(_SIDES, laid, strict=True) if gap < 0}
        size = " x ".join(f"{side:.4g}" for side in box)
        sides = ", ".join(f"{side} {by:.4g} mm too big" for side, by in over.items())
        air = f" with {bounds.place_clear_mm:g} mm of air over it" if bounds.place_clear_mm else ""
        text = f"outside {size} mm does not go into the {bounds.place_kind}{air}: {sides}"
        found[i] = [Short(what=bounds.place_kind, by=max(over.values()), unit="mm", text=text)]
    return found


def binding_words(need: Need, room: Clearance) -> str:
    """The dimension with least to spare over its clearance, in words, from the room as it is told."""
    free = {"length": room.side_l, "width": room.side_w, "height": room.lid_gap}
    least = {"length": need.side_mm, "width": need.side_mm, "height": need.lid_gap_mm}
    over = {side: round(free[side] - least[side], 1) for side in free}
    side = min(over, key=lambda name: over[name])
    where = {"length": "at each end", "width": "at each side", "height": "under the lid"}[side]
    more = f"{over[side]:g} mm more than needed" if over[side] > 0 else "exactly what is needed"
    return f"{side}: {free[side]:g} mm free {where}, {more}"


def why_none(stock: tuple[StockBox, ...], tried: list[Tried], load_kg: FloatArray, bounds: Bounds) -> str:
    """Why no box is taken: the one asked for, else those that would do but are gone, else ratings, else the nearest."""
    missing = [sum(one.by or 0.0 for one in each.short if one.what in (*_SIDES, "corners")) for each in tried]
    order = sorted(range(len(stock)), key=lambda i: (missing[i], len(tried[i].whys), stock[i].name))
    if bounds.wanted is not None:
        return _why_not_wanted(stock, tried, order, bounds.wanted)
    gone = [i for i in order if not tried[i].fails]
    if gone:
        return "; ".join(f"{stock[i].name} would do: {'; '.join(tried[i].taken)}" for i in gone[:3])
    nearest = f"{stock[order[0]].name} is nearest: {'; '.join(tried[order[0]].whys)}"
    if all(any(one.what == "load" for one in each.short) for each in tried):
        strongest = max(range(len(stock)), key=lambda i: stock[i].max_load_kg or 0.0)
        most = stock[strongest].max_load_kg
        rated = "no box has a rated load" if most is None else f"{stock[strongest].name}, {most:g} kg"
        least = f"find and packing weigh {load_kg.min():.2f} kg, the box not in it"
        return f"{least}: more than any box is rated for ({rated}); {nearest}"
    return nearest


def _why_not_wanted(stock: tuple[StockBox, ...], tried: list[Tried], order: list[int], wanted: str) -> str:
    first = next(i for i in order if _is_wanted(stock[i], wanted))
    fails, taken = tried[first].fails, tried[first].taken
    why = f"will not do: {'; '.join(fails)}" if fails else f"is not free: {'; '.join(taken)}"
    free = [stock[i].name for i in order if not tried[i].fails and stock[i].count != 0]
    others = f"; {' or '.join(free[:3])} would do" if free else ""
    return f"{stock[first].called}, which was asked for, {why}{others}"


def _sizes_short(box: StockBox, need: Need, spare: FloatArray, turn_deg: float) -> list[Short]:
    """The sides along which the block does not go in, for its better quarter turn; no other angle helps either."""
    short = []
    where = " where it stands" if box.base_mm is not None else ""
    length, width, height = need.inside_mm
    wanted = (width, length, height) if turn_deg == 90 else (length, width, height)
    for side, gap, size in zip(_SIDES, spare[:3], wanted, strict=True):
        if gap < 0:
            has = f"has {size + gap:.4g}{where if side != 'height' else ''}"
            at = "" if side == "height" else ", at no angle enough"
            text = f"inside {side} {-gap:.4g} mm short (needs {size:.4g}, {has}{at})"
            short.append(Short(what=side, by=-float(gap), unit="mm", text=text))
    if not short and spare[3] < 0:
        text = f"inside corners rounded to {box.corner_mm:g} mm: {-spare[3]:.4g} mm too near the block"
        short.append(Short(what="corners", by=-float(spare[3]), unit="mm", text=text))
    return short


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
