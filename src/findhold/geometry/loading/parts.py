"""Pieces, bays, rules and finished loadings, and the check that a loading keeps them: whole millimetres and grams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Size = tuple[int, int, int]
"""Length, width, height [mm]."""
Pair = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One thing to be loaded: how it may stand, its mass and what it bears.

    turns : sizes [mm] as it may stand, the last of each the upright; two for a piece with a top. bears_g : all that
    may rest on it, and on what rests on it [g]; None = anything. company : pieces of some companies may not share a
    bay. family : pieces of one family are wished together.
    """

    turns: tuple[Size, ...]
    mass_g: int
    bears_g: int | None = None
    company: str = ""
    family: str = ""

    @property
    def volume_mm3(self) -> int:
        """The volume of its outside [mm3]."""
        length, width, height = self.turns[0]
        return length * width * height


@dataclass(frozen=True, slots=True, kw_only=True)
class Bay:
    """A kind of space: inside size, what it carries [g] (None = anything) and how many there are (None = enough)."""

    size: Size
    carries_g: int | None = None
    count: int | None = 1

    @property
    def volume_mm3(self) -> int:
        """The volume of its inside [mm3]."""
        length, width, height = self.size
        return length * width * height


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What holds for all pieces: companies never in one bay, and how heavy on how light.

    heavier : a piece rests only on pieces whose mass is at least its own divided by this [1]; None = no such rule.
    """

    apart: frozenset[Pair] = frozenset()
    heavier: float | None = None

    def conflict(self, one: str, other: str) -> bool:
        """True when two companies may not share a bay."""
        return (one, other) in self.apart or (other, one) in self.apart

    def may_rest(self, upper_g: int, lower_g: int) -> bool:
        """True when a piece may rest on another as far as their masses go."""
        return self.heavier is None or upper_g <= lower_g * self.heavier


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A piece in its place: number of the piece, lowest corner and size as it stands [mm]."""

    piece: int
    at: Size
    size: Size

    @property
    def end(self) -> Size:
        """The corner opposite to `at` [mm]."""
        return (self.at[0] + self.size[0], self.at[1] + self.size[1], self.at[2] + self.size[2])

    @property
    def volume_mm3(self) -> int:
        """Its volume [mm3]."""
        length, width, height = self.size
        return length * width * height


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """One bay with what stands in it; `bay` is the number of its kind."""

    bay: int
    placed: tuple[Placed, ...]


def touching_mm2(upper: Placed, lower: Placed) -> int:
    """Area on which one piece rests on another; 0 when it does not [mm2]."""
    if upper.at[2] != lower.end[2]:
        return 0
    sides = [min(upper.end[k], lower.end[k]) - max(upper.at[k], lower.at[k]) for k in (0, 1)]
    return sides[0] * sides[1] if min(sides) > 0 else 0


def overlap(one: Placed, other: Placed) -> bool:
    """True when two pieces share space; touching is not sharing."""
    return all(one.at[k] < other.end[k] and other.at[k] < one.end[k] for k in range(3))


def resting(placed: Sequence[Placed]) -> tuple[tuple[int, ...], ...]:
    """For each placed piece, on which others (places in the sequence) it rests directly."""
    return tuple(
        tuple(k for k, lower in enumerate(placed) if k != n and touching_mm2(upper, lower))
        for n, upper in enumerate(placed)
    )


def below(placed: Sequence[Placed]) -> tuple[frozenset[int], ...]:
    """For each placed piece, all that carry it, directly or through others."""
    on = resting(placed)
    found: dict[int, frozenset[int]] = {}
    for n in sorted(range(len(placed)), key=lambda k: placed[k].at[2]):
        found[n] = frozenset(on[n]).union(*(found[k] for k in on[n]))
    return tuple(found[n] for n in range(len(placed)))


def layers(placed: Sequence[Placed]) -> tuple[int, ...]:
    """For each placed piece its layer: 1 on the floor, else one more than the highest layer it rests on.

    Pieces of one layer never lie over each other, so each layer can be drawn in plan.
    """
    on = resting(placed)
    found: dict[int, int] = {}
    for n in sorted(range(len(placed)), key=lambda k: placed[k].at[2]):
        found[n] = 1 + max((found[k] for k in on[n]), default=0)
    return tuple(found[n] for n in range(len(placed)))


def carried_g(placed: Sequence[Placed], pieces: Sequence[Piece]) -> tuple[int, ...]:
    """What each placed piece carries in the worst case [g].

    Each piece counts in full on everything under it, however many share the load: who carries how much of a stack on
    uneven boxes cannot be known.
    """
    carried = [0] * len(placed)
    for n, under in enumerate(below(placed)):
        for k in under:
            carried[k] += pieces[placed[n].piece].mass_g
    return tuple(carried)


def faults(loaded: Loaded, pieces: Sequence[Piece], bay: Bay, rules: Rules) -> tuple[str, ...]:
    """What a loading breaks, in words; empty when it keeps everything.

    Checked afresh from the positions alone: inside, no overlap, whole base supported, turn allowed, mass, what each
    piece bears, heavy below, companies apart.
    """
    placed, found = loaded.placed, []
    for n, one in enumerate(placed):
        if min(one.at) < 0 or any(one.end[k] > bay.size[k] for k in range(3)):
            found.append(f"piece {one.piece} is not inside")
        if one.size not in pieces[one.piece].turns:
            found.append(f"piece {one.piece} stands in a turn that is not allowed")
        held = sum(touching_mm2(one, lower) for k, lower in enumerate(placed) if k != n)
        if one.at[2] > 0 and held < one.size[0] * one.size[1]:
            found.append(f"piece {one.piece} hangs over")
        found += [f"pieces {one.piece} and {other.piece} overlap" for other in placed[n + 1 :] if overlap(one, other)]
    return (*found, *_broken_rules(placed, pieces, bay, rules))


def _broken_rules(placed: Sequence[Placed], pieces: Sequence[Piece], bay: Bay, rules: Rules) -> list[str]:
    """The rules about masses and companies."""
    found = []
    mass_g = sum(pieces[one.piece].mass_g for one in placed)
    if bay.carries_g is not None and mass_g > bay.carries_g:
        found.append(f"{mass_g} g where {bay.carries_g} g are allowed")
    for n, load_g in enumerate(carried_g(placed, pieces)):
        bears_g = pieces[placed[n].piece].bears_g
        if bears_g is not None and load_g > bears_g:
            found.append(f"piece {placed[n].piece} carries {load_g} g and bears {bears_g} g")
    for n, on in enumerate(resting(placed)):
        upper = pieces[placed[n].piece].mass_g
        found += [
            f"piece {placed[n].piece} is heavier than piece {placed[k].piece} under it"
            for k in on
            if not rules.may_rest(upper, pieces[placed[k].piece].mass_g)
        ]
    companies = sorted({pieces[one.piece].company for one in placed})
    found += [f"{a} and {b} in one bay" for a in companies for b in companies if a < b and rules.conflict(a, b)]
    return found


def moment_g_mm(placed: Sequence[Placed], pieces: Sequence[Piece]) -> int:
    """Twice the sum of mass times height of centre above the floor [g mm]: the lower, the steadier."""
    return sum(pieces[one.piece].mass_g * (2 * one.at[2] + one.size[2]) for one in placed)


def height_mm(placed: Sequence[Placed]) -> int:
    """The top of the highest piece [mm]."""
    return max((one.end[2] for one in placed), default=0)
