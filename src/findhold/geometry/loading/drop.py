"""Pieces with rules into several bays: one bay after the other, many orders tried, the best kept.

Best is told by `value`: least left over, then fewest bays, then fewest wishes broken, then lowest centre of mass.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from findhold.geometry.loading.blocks import Sort
from findhold.geometry.loading.bounds import fewest_bays
from findhold.geometry.loading.fill import Budget, fill_space
from findhold.geometry.loading.heap import Heap, IntArray
from findhold.geometry.loading.parts import Bay, Loaded, Piece, Placed, Rules, Size, faults, moment_g_mm
from findhold.geometry.loading.regroup import join_whole

BLOCK_BAYS, BLOCK_TRIES = 12, 150
"""How many bays are filled by blocks, and the tries for each, where that may help."""
ENOUGH_REFUSED = 60
"""A bay is closed when so many different pieces in a row found no room in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """Pieces, the kinds of bay they go into, and the rules."""

    pieces: tuple[Piece, ...]
    bays: tuple[Bay, ...]
    rules: Rules = field(default_factory=Rules)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loading:
    """A finished loading: bays in the order they were begun, pieces left over, and the fewest bays there can be.

    proved : fewer bays are impossible, and nothing is left over that could have gone in. tries : orders tried.
    """

    bays: tuple[Loaded, ...]
    left: tuple[int, ...]
    fewest: int
    proved: bool
    tries: int


Value = tuple[int, int, int, int, int]


def value(bays: Sequence[Loaded], left: Sequence[int], task: Task) -> Value:
    """What a loading is judged by, the smaller the better: pieces left, bays, wishes broken, their room, moment."""
    room = sum(task.bays[loaded.bay].volume_mm3 for loaded in bays)
    moment = sum(moment_g_mm(loaded.placed, task.pieces) for loaded in bays)
    return (len(left), len(bays), wishes_broken(bays, task), room, moment)


def wishes_broken(bays: Sequence[Loaded], task: Task) -> int:
    """How often a family is split over one more bay."""
    homes: dict[str, int] = {}
    for loaded in bays:
        for family in {task.pieces[one.piece].family for one in loaded.placed} - {""}:
            homes[family] = homes.get(family, 0) + 1
    return sum(count - 1 for count in homes.values())


def load_bays(task: Task, *, tries: int, seed: int = 0) -> Loading:
    """Load pieces into as few bays as the search finds, keeping every rule.

    Parameters
    ----------
    task : what is to be loaded, into what, and the rules.
    tries : orders of the pieces to try, at least 1; a loading that cannot be bettered ends it sooner.
    seed : of the orders; the same seed and tries give the same loading.

    Returns
    -------
    The best loading found, and the bound.
    """
    possible = tuple(n for n in range(len(task.pieces)) if fits_any(task.pieces[n], task.bays))
    hopeless = tuple(n for n in range(len(task.pieces)) if n not in set(possible))
    fewest = fewest_bays([task.pieces[n] for n in possible], task.bays, task.rules) if possible else 0
    draw = random.Random(seed)  # noqa: S311  (a search, not a secret)
    best: tuple[Value, list[Loaded], list[int]] | None = None
    done = 0
    for order in _orders(task.pieces, possible, tries, draw):
        bays, left = _load_in_order(task, order)
        done += 1
        judged = value(bays, left, task)
        if best is None or judged < best[0]:
            best = (judged, bays, left)
        if best[0][:3] == (0, fewest, 0) and done >= min(tries, 6):
            break
    if best is None:
        return Loading(bays=(), left=hopeless, fewest=fewest, proved=True, tries=done)
    if best[0][:2] > (0, fewest):
        for bays, left in _other_ways(task, possible, (fewest, seed)):
            best = min(best, (value(bays, left, task), bays, left), key=lambda one: one[0])
    proved = not best[2] and len(best[1]) <= fewest
    over = tuple(sorted((*best[2], *hopeless)))
    return Loading(bays=tuple(best[1]), left=over, fewest=fewest, proved=proved, tries=done)


def fits_any(piece: Piece, bays: Sequence[Bay]) -> bool:
    """True when an empty bay of some kind takes the piece."""
    return any(fits(piece, bay) for bay in bays if bay.count is None or bay.count > 0)


def fits(piece: Piece, bay: Bay) -> bool:
    """True when the empty bay takes the piece by size and mass."""
    light = bay.carries_g is None or piece.mass_g <= bay.carries_g
    return light and any(all(turn[k] <= bay.size[k] for k in range(3)) for turn in piece.turns)


def _orders(
    pieces: Sequence[Piece], possible: Sequence[int], tries: int, draw: random.Random
) -> Iterator[tuple[int, ...]]:
    """Orders to load in: a few with a reason first, then those with their figures shaken."""
    families: dict[str, int] = {}
    for n in possible:
        families[pieces[n].family] = families.get(pieces[n].family, 0) + pieces[n].volume_mm3
    plain = dict.fromkeys(possible, (1.0, 1.0))

    def key(n: int, kind: int, shake: dict[int, tuple[float, float]]) -> tuple[float | str, ...]:
        piece = pieces[n]
        mass, volume = piece.mass_g * shake[n][0], piece.volume_mm3 * shake[n][1]
        family: tuple[float | str, ...] = (piece.company, -families[piece.family], piece.family)
        weight: tuple[float | str, ...] = (-mass, -volume, n)
        area = max(turn[0] * turn[1] for turn in piece.turns) * shake[n][1]
        bare = 1.0 if piece.bears_g == 0 else 0.0
        return (
            (*family, bare, *weight),
            (*family, *weight),
            (piece.company, *weight),
            (piece.company, -volume, -mass, n),
            (piece.company, bare, -area, -mass, n),
            (piece.company, -float(max(turn[2] for turn in piece.turns)), -area, n),
        )[kind]

    for attempt in range(tries):
        spread = 0.0 if attempt < 6 else draw.choice((0.1, 0.25, 0.5))
        shake = (
            plain
            if spread == 0.0
            else {n: (draw.uniform(1 - spread, 1 + spread), draw.uniform(1 - spread, 1 + spread)) for n in possible}
        )
        kind = attempt if attempt < 6 else draw.randrange(6)
        yield tuple(sorted(possible, key=lambda n, kind=kind, shake=shake: key(n, kind, shake)))  # type: ignore[misc]


def _load_in_order(task: Task, order: Sequence[int]) -> tuple[list[Loaded], list[int]]:
    """Bay after bay, each of the kind that takes most of what is left."""
    masses = np.array([piece.mass_g for piece in task.pieces], dtype=np.int64)
    volumes = np.array([piece.volume_mm3 for piece in task.pieces], dtype=np.int64)
    waiting = np.array(order, dtype=np.int64)
    counts = [bay.count for bay in task.bays]
    done: list[Loaded] = []
    while len(waiting):
        kinds = [n for n, count in enumerate(counts) if count is None or count > 0]
        filled = [(n, _fill_one(task, n, waiting, (masses, volumes))) for n in _distinct(kinds, task)]
        filled = [(n, heap) for n, heap in filled if heap.placed]
        if not filled:
            break
        kind, heap = min(filled, key=lambda pair: _worth(pair[1], len(waiting)))
        done.append(Loaded(bay=kind, placed=tuple(heap.placed)))
        count = counts[kind]
        counts[kind] = None if count is None else count - 1
        waiting = waiting[~np.isin(waiting, [one.piece for one in heap.placed])]
    return done, sorted(waiting.tolist())


def _distinct(kinds: Sequence[int], task: Task) -> list[int]:
    """One of each kind of bay that is the same."""
    return list({(task.bays[n].size, task.bays[n].carries_g): n for n in reversed(kinds)}.values())[::-1]


def _worth(heap: Heap, waiting: int) -> tuple[int, float]:
    """Of bays that take all the smallest; else the one that takes most, by volume."""
    if len(heap.placed) == waiting:
        return (0, float(heap.bay.volume_mm3))
    return (1, -float(heap.volume_mm3))


def _other_ways(task: Task, possible: Sequence[int], more: tuple[int, int]) -> Iterator[tuple[list[Loaded], list[int]]]:
    """Loadings that know nothing of the rules, taken only where they keep them: joined whole, and filled by blocks."""
    fewest, seed = more
    if fewest == 1:
        for kind, bay in enumerate(task.bays):
            whole = join_whole(task.pieces, possible, bay.size)
            if whole is not None and _kept(task, kind, whole):
                yield [Loaded(bay=kind, placed=whole)], []
    if len({piece.company for piece in task.pieces}) == 1 and len(task.bays) == 1:
        yield _by_blocks(task, possible, seed)


def _by_blocks(task: Task, possible: Sequence[int], seed: int) -> tuple[list[Loaded], list[int]]:
    """Bay after bay filled by blocks of equal pieces; a bay that breaks a rule ends it."""
    bay = task.bays[0]
    waiting = list(possible)
    done: list[Loaded] = []
    while waiting and len(done) < (BLOCK_BAYS if bay.count is None else min(bay.count, BLOCK_BAYS)):
        alike: dict[tuple[tuple[Size, ...], int], list[int]] = {}
        for n in waiting:
            alike.setdefault((task.pieces[n].turns, task.pieces[n].mass_g), []).append(n)
        sorts = [Sort(turns=turns, count=len(found), mass_g=mass) for (turns, mass), found in alike.items()]
        filled = fill_space(bay.size, sorts, budget=Budget(tries=BLOCK_TRIES), seed=seed, carries_g=bay.carries_g)
        pools = [list(found) for found in alike.values()]
        placed = tuple(Placed(piece=pools[one.piece].pop(), at=one.at, size=one.size) for one in filled.placed)
        if not placed or not _kept(task, 0, placed):
            break
        done.append(Loaded(bay=0, placed=placed))
        gone = {one.piece for one in placed}
        waiting = [n for n in waiting if n not in gone]
    return done, waiting


def _kept(task: Task, kind: int, placed: tuple[Placed, ...]) -> bool:
    return not faults(Loaded(bay=kind, placed=placed), task.pieces, task.bays[kind], task.rules)


def _fill_one(task: Task, kind: int, waiting: IntArray, all_figures: tuple[IntArray, IntArray]) -> Heap:
    """One bay filled with what goes in, in order; the figures are the masses and volumes of all pieces."""
    heap = Heap(task.bays[kind], task.pieces, task.rules)
    refused: set[Piece] = set()
    masses, volumes = (figures[waiting] for figures in all_figures)
    at, rest = 0, np.nonzero(heap.light_enough(masses, volumes))[0]
    while at < len(rest):
        place, at = int(rest[at]), at + 1
        piece = task.pieces[int(waiting[place])]
        if piece in refused or not heap.takes(piece):
            continue
        found = heap.best_place(int(waiting[place]))
        if found is None:
            refused.add(piece)
            if len(refused) >= ENOUGH_REFUSED:
                break
            continue
        heap.put(*found)
        refused.clear()
        later = rest[at:]
        at, rest = 0, later[heap.light_enough(masses[later], volumes[later])]
    return heap
