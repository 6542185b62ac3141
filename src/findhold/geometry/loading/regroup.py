"""Pieces joined face to face into one whole block: the way back from a crate that was cut by straight through cuts.

Two blocks join when they share a whole face, upright or level; so every joint is flush, every top level, and support
complete. Found by trying joints, those that look least like chance first, and going back where it does not come out;
after so many states it begins again with its preferences shaken, which helps more than patience.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from findhold.geometry.loading.parts import Piece, Placed, Size

STATES_EACH, STARTS = 300, 40
"""So many half-joined states are looked at from each start; then the search gives up, which proves nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Block:
    """A block by its two plan edges, the longer first, and its height; what it is joined of, by which edge or up."""

    size: Size
    piece: int = -1
    parts: tuple[_Block, ...] = ()
    shared: int = 0
    """The plan edge that both parts share; 0 = one stands on the other."""


def join_whole(pieces: Sequence[Piece], numbers: Sequence[int], inside: Size) -> tuple[Placed, ...] | None:
    """Pieces as one whole block that goes into a space; None when none was found, which is no proof that none exists.

    Parameters
    ----------
    pieces, numbers : which of the pieces, each with both plan turns of one upright.
    inside : the space [mm].
    """
    if not numbers or any(len(pieces[n].turns) > 2 or not _both_turns(pieces[n]) for n in numbers):
        return None
    if sum(pieces[n].volume_mm3 for n in numbers) > inside[0] * inside[1] * inside[2]:
        return None
    start = [_Block(size=_level(*pieces[n].turns[0]), piece=n) for n in numbers]
    draw = random.Random(0)  # noqa: S311  (a search, not a secret)
    for attempt in range(STARTS):
        search = _Search(inside, draw if attempt else None)
        whole = search.joined(start)
        if whole is not None:
            along, across, _ = whole.size
            if along > inside[0] or across > inside[1]:
                along, across = across, along
            return tuple(_laid(whole, (0, 0, 0), (along, across)))
        if len(search.seen) < STATES_EACH:
            return None
    return None


class _Search:
    """States seen, and how the preferences are shaken."""

    def __init__(self, inside: Size, draw: random.Random | None) -> None:
        self.inside = _level(*inside)
        self.draw = draw
        self.seen: set[tuple[Size, ...]] = set()

    def joined(self, blocks: Sequence[_Block]) -> _Block | None:
        """One block out of all, or None."""
        if len(blocks) == 1:
            return blocks[0]
        state = tuple(sorted(block.size for block in blocks))
        if state in self.seen or len(self.seen) >= STATES_EACH:
            return None
        self.seen.add(state)
        joins = [
            (i, j, join)
            for i in range(len(blocks))
            for j in range(i)
            for join in _joins(blocks[i], blocks[j])
            if all(join.size[k] <= self.inside[k] for k in range(3))
        ]
        # A block that joins with one other only is most likely its other half: such joints come first.
        partners = Counter(n for pair in {(i, j) for i, j, _ in joins} for n in pair)
        ranked = [((min(partners[i], partners[j]), self._size(join)), n) for n, (i, j, join) in enumerate(joins)]
        for _, n in sorted(ranked):
            i, j, join = joins[n]
            whole = self.joined([*(block for k, block in enumerate(blocks) if k not in (i, j)), join])
            if whole is not None:
                return whole
        return None

    def _size(self, join: _Block) -> float:
        """Small joints first, more or less."""
        volume = float(join.size[0] * join.size[1] * join.size[2])
        return volume if self.draw is None else volume * self.draw.uniform(0.4, 1.6)


def _level(length: int, width: int, height: int) -> Size:
    """A size with its longer plan edge first."""
    return (max(length, width), min(length, width), height)


def _joins(one: _Block, other: _Block) -> Iterator[_Block]:
    """Every way to join two blocks by a whole face."""
    (a, b, height), (c, d, rise) = one.size, other.size
    if height == rise:
        for edge, beyond in ((a, b), (b, a)) if a != b else ((a, b),):
            for same, further in ((c, d), (d, c)) if c != d else ((c, d),):
                if edge == same:
                    yield _Block(size=_level(beyond + further, edge, height), parts=(one, other), shared=edge)
    if (a, b) == (c, d):
        yield _Block(size=(a, b, height + rise), parts=(one, other))


def _laid(block: _Block, at: Size, plan: tuple[int, int]) -> Iterator[Placed]:
    """The pieces of a block with its corner and its plan given."""
    if not block.parts:
        yield Placed(piece=block.piece, at=at, size=(*plan, block.size[2]))
        return
    first, second = block.parts
    if not block.shared:
        yield from _laid(first, at, plan)
        yield from _laid(second, (at[0], at[1], at[2] + first.size[2]), plan)
        return
    run = first.size[0] + first.size[1] - block.shared
    rest = second.size[0] + second.size[1] - block.shared
    if plan == (run + rest, block.shared):
        yield from _laid(first, at, (run, block.shared))
        yield from _laid(second, (at[0] + run, at[1], at[2]), (rest, block.shared))
    else:
        yield from _laid(first, at, (block.shared, run))
        yield from _laid(second, (at[0], at[1] + run, at[2]), (block.shared, rest))


def _both_turns(piece: Piece) -> bool:
    length, width, height = piece.turns[0]
    return (width, length, height) in piece.turns
