"""Pieces joined face to face into one whole block: the way back from a crate that was cut by straight through cuts.

Two blocks join when they share a whole face, upright or level; so every joint is flush, every top level, and support
complete. Found by trying joints, the smallest result first, and going back where it does not come out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from findhold.geometry.loading.parts import Piece, Placed, Size

MOST_NODES = 2_000
"""So many half-joined states are looked at; then the search gives up, which proves nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Block:
    """A joined block; its plan may be turned with all that is in it."""

    size: Size
    parts: tuple[Placed, ...]

    def turned(self) -> _Block:
        """The block turned by a right angle in plan."""
        length, width, height = self.size
        return _Block(size=(width, length, height), parts=tuple(_turned(part) for part in self.parts))


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
    start = []
    for n in numbers:
        size = pieces[n].turns[0]
        start.append(_Block(size=size, parts=(Placed(piece=n, at=(0, 0, 0), size=size),)))
    search = _Search(inside)
    whole = search.joined(start)
    return None if whole is None else whole.parts


class _Search:
    """States seen, and the count of them."""

    def __init__(self, inside: Size) -> None:
        self.inside = inside
        self.seen: set[tuple[tuple[int, int, int], ...]] = set()

    def fits(self, size: Size) -> bool:
        """True when a block goes into the space in one of its plan turns."""
        length, width, height = self.inside
        plan = (size[0] <= length and size[1] <= width) or (size[1] <= length and size[0] <= width)
        return plan and size[2] <= height

    def joined(self, blocks: Sequence[_Block]) -> _Block | None:
        """One block out of all, or None."""
        if len(blocks) == 1:
            one = blocks[0]
            length, width, _ = self.inside
            return one if one.size[0] <= length and one.size[1] <= width else one.turned()
        state = tuple(sorted((min(b.size[:2]), max(b.size[:2]), b.size[2]) for b in blocks))
        if state in self.seen or len(self.seen) >= MOST_NODES:
            return None
        self.seen.add(state)
        ways = [
            (join.size[0] * join.size[1] * join.size[2], i, j, place, join)
            for i in range(len(blocks))
            for j in range(i)
            for place, join in enumerate(_joins(blocks[i], blocks[j]))
            if self.fits(join.size)
        ]
        ways.sort(key=lambda way: way[:4])
        for _, i, j, _, join in ways:
            rest = [block for n, block in enumerate(blocks) if n not in (i, j)]
            whole = self.joined([*rest, join])
            if whole is not None:
                return whole
        return None


def _joins(one: _Block, other: _Block) -> Iterator[_Block]:
    """Every way to join two blocks by a whole face."""
    for a in (one, one.turned()):
        for b in (other, other.turned()):
            if a.size[1:] == b.size[1:]:
                size = (a.size[0] + b.size[0], a.size[1], a.size[2])
                yield _Block(size=size, parts=(*a.parts, *(_moved(part, (a.size[0], 0, 0)) for part in b.parts)))
        b = other if other.size[:2] == a.size[:2] else other.turned()
        if a is one and a.size[:2] == b.size[:2]:
            size = (a.size[0], a.size[1], a.size[2] + b.size[2])
            yield _Block(size=size, parts=(*a.parts, *(_moved(part, (0, 0, a.size[2])) for part in b.parts)))
            up = (0, 0, b.size[2])
            yield _Block(size=size, parts=(*b.parts, *(_moved(part, up) for part in a.parts)))


def _both_turns(piece: Piece) -> bool:
    length, width, height = piece.turns[0]
    return (width, length, height) in piece.turns


def _turned(part: Placed) -> Placed:
    (x, y, z), (length, width, height) = part.at, part.size
    return Placed(piece=part.piece, at=(y, x, z), size=(width, length, height))


def _moved(part: Placed, by: Size) -> Placed:
    x, y, z = part.at
    return Placed(piece=part.piece, at=(x + by[0], y + by[1], z + by[2]), size=part.size)
