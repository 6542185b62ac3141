"""The loading as a constraint model: where each piece stands, in which bay, over which others, and what holds it up.

A pair of pieces is apart along the length, apart across, or one is over the other. The bays stand in a row along the
length, so that pieces in different bays are apart by themselves. On whole ground a piece over another is carried by
it, directly or through others; so "over" is what the rules about loads need, and no friction or tilting enters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from findhold.geometry.loading.parts import Bay, Loaded, Piece, Placed, Rules, Size


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """The solver's model and its variables: by piece (turns, corner, size), by piece and bay, by pair."""

    cp: Any
    pieces: tuple[Piece, ...]
    bays: tuple[tuple[int, Bay], ...]
    """The number of its kind, and each bay in the row."""
    turn: list[list[Any]]
    at: list[list[Any]]
    size: list[list[Any]]
    inside: list[list[Any]]
    used: list[Any]
    over: dict[tuple[int, int], Any] = field(default_factory=dict)

    @property
    def starts_mm(self) -> list[int]:
        """Where each bay begins along the row [mm]."""
        starts, x = [], 0
        for _, bay in self.bays:
            starts.append(x)
            x += bay.size[0]
        return starts


def build_model(pieces: Sequence[Piece], bays: Sequence[tuple[int, Bay]], rules: Rules, *, supported: bool) -> Model:
    """The model of some pieces in a row of bays.

    Parameters
    ----------
    pieces : all to be loaded.
    bays : kinds by number, one entry for each bay.
    rules : companies, heavy below.
    supported : True asks for whole ground under every piece; False leaves that out, so that no answer to this model
        means that there is none to the whole one either.
    """
    from ortools.sat.python import cp_model

    cp = cp_model.CpModel()
    model = Model(
        cp=cp,
        pieces=tuple(pieces),
        bays=tuple(bays),
        turn=[[cp.new_bool_var(f"turn{n}_{t}") for t in range(len(piece.turns))] for n, piece in enumerate(pieces)],
        at=[[cp.new_int_var(0, _longest(bays, k), f"at{n}_{k}") for k in range(3)] for n in range(len(pieces))],
        size=[[_side(cp, piece, n, k) for k in range(3)] for n, piece in enumerate(pieces)],
        inside=[[cp.new_bool_var(f"in{n}_{b}") for b in range(len(bays))] for n in range(len(pieces))],
        used=[cp.new_bool_var(f"used{b}") for b in range(len(bays))],
    )
    _places(model)
    _bays(model, rules)
    _pairs(model, rules)
    _loads(model)
    _profiles(model)
    if supported:
        _support(model)
    return model


def placed_by(model: Model, solver: Any) -> tuple[Loaded, ...]:
    """The loading that a solver found, bays without pieces left out."""
    loaded = []
    for b, (kind, _) in enumerate(model.bays):
        placed = []
        for n in range(len(model.pieces)):
            if solver.boolean_value(model.inside[n][b]):
                x, y, z = (int(solver.value(model.at[n][k])) for k in range(3))
                size: Size = (
                    int(solver.value(model.size[n][0])),
                    int(solver.value(model.size[n][1])),
                    int(solver.value(model.size[n][2])),
                )
                placed.append(Placed(piece=n, at=(x - model.starts_mm[b], y, z), size=size))
        if placed:
            loaded.append(Loaded(bay=kind, placed=tuple(placed)))
    return tuple(loaded)


def hint(model: Model, loaded: Sequence[Loaded]) -> None:
    """Tell the solver a loading to start from; its bays must be in the row, kind by kind."""
    free = list(range(len(model.bays)))
    for one in loaded:
        b = next(k for k in free if model.bays[k][0] == one.bay)
        free.remove(b)
        model.cp.add_hint(model.used[b], 1)
        for placed in one.placed:
            n = placed.piece
            for k in range(len(model.bays)):
                model.cp.add_hint(model.inside[n][k], int(k == b))
            for t, turn in enumerate(model.pieces[n].turns):
                model.cp.add_hint(model.turn[n][t], int(turn == placed.size))
            for k in range(3):
                model.cp.add_hint(model.at[n][k], placed.at[k] + (model.starts_mm[b] if k == 0 else 0))


def _longest(bays: Sequence[tuple[int, Bay]], k: int) -> int:
    sides = [bay.size[k] for _, bay in bays]
    return sum(sides) if k == 0 else max(sides)


def _side(cp: Any, piece: Piece, n: int, k: int) -> Any:
    sides = sorted({turn[k] for turn in piece.turns})
    return cp.new_int_var(sides[0], sides[-1], f"side{n}_{k}")


def _places(model: Model) -> None:
    """One turn and one bay for each piece, and the piece inside it."""
    cp, starts = model.cp, model.starts_mm
    for n, piece in enumerate(model.pieces):
        cp.add_exactly_one(model.turn[n])
        cp.add_exactly_one(model.inside[n])
        for k in range(3):
            cp.add(model.size[n][k] == sum(turn[k] * on for turn, on in zip(piece.turns, model.turn[n], strict=True)))
        for b, (_, bay) in enumerate(model.bays):
            here = model.inside[n][b]
            cp.add_implication(here, model.used[b])
            cp.add(model.at[n][0] >= starts[b]).only_enforce_if(here)
            cp.add(model.at[n][0] + model.size[n][0] <= starts[b] + bay.size[0]).only_enforce_if(here)
            for k in (1, 2):
                cp.add(model.at[n][k] + model.size[n][k] <= bay.size[k]).only_enforce_if(here)


def _bays(model: Model, rules: Rules) -> None:
    """Volume and mass of each bay, companies apart, and equal bays used in their order."""
    cp = model.cp
    names = sorted({piece.company for piece in model.pieces})
    for b, (kind, bay) in enumerate(model.bays):
        there = [row[b] for row in model.inside]
        cp.add(sum(p.volume_mm3 * on for p, on in zip(model.pieces, there, strict=True)) <= bay.volume_mm3)
        if bay.carries_g is not None:
            cp.add(sum(p.mass_g * on for p, on in zip(model.pieces, there, strict=True)) <= bay.carries_g)
        cp.add(sum(there) >= model.used[b])
        company = {name: cp.new_bool_var(f"company{b}_{name}") for name in names}
        for piece, on in zip(model.pieces, there, strict=True):
            cp.add_implication(on, company[piece.company])
        for name in names:
            for other in names:
                if name < other and rules.conflict(name, other):
                    cp.add_bool_or([~company[name], ~company[other]])
        if b and model.bays[b - 1][0] == kind:
            cp.add_implication(model.used[b], model.used[b - 1])


def _pairs(model: Model, rules: Rules) -> None:
    """Each pair apart along, apart across, or one over the other; a heavy piece never right on a light one."""
    cp = model.cp
    ends = [[model.at[n][k] + model.size[n][k] for k in range(3)] for n in range(len(model.pieces))]
    for i in range(len(model.pieces)):
        for j in range(i):
            ways = []
            for first, second in ((i, j), (j, i)):
                for k in (0, 1):
                    beside = cp.new_bool_var("")
                    cp.add(ends[first][k] <= model.at[second][k]).only_enforce_if(beside)
                    ways.append(beside)
                upper, lower = model.pieces[second], model.pieces[first]
                if lower.bears_g is not None and upper.mass_g > lower.bears_g:
                    continue
                over = cp.new_bool_var(f"over{second}_{first}")
                gap = 0 if rules.may_rest(upper.mass_g, lower.mass_g) else 1
                cp.add(ends[first][2] + gap <= model.at[second][2]).only_enforce_if(over)
                model.over[second, first] = over
                ways.append(over)
            cp.add_bool_or(ways)


def _loads(model: Model) -> None:
    """What each piece bears: all over it, and all over what is over it, in full."""
    cp, count = model.cp, len(model.pieces)
    for low in range(count):
        bears_g = model.pieces[low].bears_g
        if bears_g is None or not any((n, low) in model.over for n in range(count)):
            continue
        counted = {n: cp.new_bool_var(f"counted{n}_{low}") for n in range(count) if n != low}
        for n, on in counted.items():
            if (n, low) in model.over:
                cp.add_implication(model.over[n, low], on)
            for middle, through in counted.items():
                if (n, middle) in model.over:
                    cp.add_bool_or([~model.over[n, middle], ~through, on])
        cp.add(sum(model.pieces[n].mass_g * on for n, on in counted.items()) <= bears_g)


def _profiles(model: Model) -> None:
    """Not needed, but it helps: the floor areas met by any level never exceed the floors of the bays."""
    cp = model.cp
    if any(
        piece.turns[0][0] * piece.turns[0][1] != turn[0] * turn[1] for piece in model.pieces for turn in piece.turns
    ):
        return
    floors = sum(bay.size[0] * bay.size[1] for _, bay in model.bays)
    spans = [
        cp.new_fixed_size_interval_var(model.at[n][2], piece.turns[0][2], f"span{n}")
        for n, piece in enumerate(model.pieces)
        if len({turn[2] for turn in piece.turns}) == 1
    ]
    if len(spans) == len(model.pieces):
        cp.add_cumulative(spans, [piece.turns[0][0] * piece.turns[0][1] for piece in model.pieces], floors)


def _support(model: Model) -> None:
    """Whole ground: on the floor, or the areas on which a piece rests make up its base."""
    cp = model.cp
    for n, piece in enumerate(model.pieces):
        floor = cp.new_bool_var(f"floor{n}")
        cp.add(model.at[n][2] == 0).only_enforce_if(floor)
        areas = [_contact(model, n, low) for low in range(len(model.pieces)) if (n, low) in model.over]
        for turn, on in zip(piece.turns, model.turn[n], strict=True):
            cp.add(sum(areas) >= turn[0] * turn[1]).only_enforce_if([on, ~floor])


def _contact(model: Model, upper: int, lower: int) -> Any:
    """A variable that is at most the area on which one piece rests on another."""
    cp = model.cp
    touch = cp.new_bool_var(f"touch{upper}_{lower}")
    cp.add_implication(touch, model.over[upper, lower])
    cp.add(model.at[upper][2] == model.at[lower][2] + model.size[lower][2]).only_enforce_if(touch)
    sides, longest = [], []
    for k in (0, 1):
        most = min(max(turn[k] for turn in model.pieces[n].turns) for n in (upper, lower))
        shared = cp.new_int_var(0, most, f"shared{upper}_{lower}_{k}")
        cp.add(shared == 0).only_enforce_if(~touch)
        for one, other in ((upper, lower), (lower, upper)):
            cp.add(shared <= model.at[one][k] + model.size[one][k] - model.at[other][k]).only_enforce_if(touch)
            cp.add(shared <= model.size[one][k])
        sides.append(shared)
        longest.append(most)
    area = cp.new_int_var(0, longest[0] * longest[1], f"area{upper}_{lower}")
    cp.add_multiplication_equality(area, sides)
    return area
