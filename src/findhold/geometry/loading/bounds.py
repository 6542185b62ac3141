"""What no loading can beat: the room that edges can fill at all, and the fewest bays for a volume and a mass."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from findhold.geometry.loading.parts import Bay, Piece, Rules

IntArray = npt.NDArray[np.int64]


def reach_mm(length_mm: int, edges: Iterable[tuple[tuple[int, ...], int]]) -> IntArray:
    """How much of each length can be filled by edges laid end to end.

    Parameters
    ----------
    length_mm : the longest length asked for.
    edges : for each sort of box, the edges it can lay along this direction and how many boxes there are.

    Returns
    -------
    shape (length_mm + 1,) [mm]: the largest sum of edges not above each length.
    """
    possible = 1
    within = (1 << (length_mm + 1)) - 1
    for sides, count in edges:
        for _ in range(min(count, length_mm // max(1, min(sides, default=1)))):
            more = possible
            for side in sides:
                more |= (possible << side) & within
            if more == possible:
                break
            possible = more
    marks = np.frombuffer(np.binary_repr(possible, length_mm + 1)[::-1].encode("ascii"), dtype=np.uint8) == ord("1")
    return np.maximum.accumulate(np.where(marks, np.arange(length_mm + 1), 0)).astype(np.int64)


def fewest_bays(pieces: Sequence[Piece], bays: Sequence[Bay], rules: Rules) -> int:
    """A number of bays below which the pieces cannot go, by volume, mass and companies kept apart.

    Companies that may not share a bay with each other are counted one by one and added; the largest such sum stands.
    More bays than there are is a valid answer: then something must be left over.
    """
    companies = sorted({piece.company for piece in pieces})
    by_company = {name: [piece for piece in pieces if piece.company == name] for name in companies}
    best = _for_all(pieces, bays)
    for first in companies:
        clique = [first]
        for other in companies:
            if other != first and all(rules.conflict(other, one) for one in clique):
                clique.append(other)
        best = max(best, sum(_for_all(by_company[name], bays) for name in clique))
    alone = [n for n, name in enumerate(companies) if all(rules.conflict(name, o) for o in companies if o != name)]
    if alone and len(alone) < len(companies):
        rest = [piece for piece in pieces if companies.index(piece.company) not in alone]
        best = max(best, sum(_for_all(by_company[companies[n]], bays) for n in alone) + fewest_bays(rest, bays, rules))
    return best


def _for_all(pieces: Sequence[Piece], bays: Sequence[Bay]) -> int:
    """Bays for a volume and a mass, the roomiest and the strongest first."""
    if not pieces:
        return 0
    volumes = [(bay.volume_mm3, bay.count) for bay in bays]
    masses = [(math.inf if bay.carries_g is None else bay.carries_g, bay.count) for bay in bays]
    need_mm3, need_g = sum(piece.volume_mm3 for piece in pieces), sum(piece.mass_g for piece in pieces)
    return max(1, _counted(need_mm3, volumes), _counted(need_g, masses))


def _counted(need: float, offers: Sequence[tuple[float, int | None]]) -> int:
    """How many offers cover a need, the largest first; one more than there are when all do not."""
    used = 0
    for size, count in sorted(offers, key=lambda offer: -offer[0]):
        if need <= 0:
            break
        if size <= 0:
            continue
        wanted = 1 if size == math.inf else math.ceil(need / size)
        taken = wanted if count is None else min(wanted, count)
        used, need = used + taken, need - taken * size
    return used + (1 if need > 0 else 0)
