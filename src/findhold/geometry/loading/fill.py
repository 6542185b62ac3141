"""One space as full as can be with many equal boxes: largest blocks into corner spaces, by a widening search.

Each step takes the empty space nearest a lower corner and tries blocks there, best first; how good each choice is is
found by finishing the loading greedily. The best few go on (a beam), and the beam widens from run to run. Empty spaces
are the largest upright prisms whose whole floor is the space's floor or the top of one block: support is complete.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from findhold.errors import BadInput
from findhold.geometry.loading.blocks import Blocks, IntArray, Sort, blocks_of
from findhold.geometry.loading.bounds import reach_mm
from findhold.geometry.loading.parts import Placed, Size
from findhold.geometry.loading.spaces import Prism, after_block, corner_space

WIDENING = 1.5
"""From run to run the beam is so many times as wide."""
FIRST_TASTE = (3.0, 0.05)
TASTES = ((1.0, 8.0), (0.0, 0.3))
"""Later runs draw how strongly lost room and many small boxes count against a block from these ranges."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """When the search ends: after so many finished loadings, or when it is told to stop, whichever comes first.

    With `tries` alone the answer is the same on every machine; `stop` is asked after each finished loading and is for
    somebody who waits: it holds the clock, which this toolbox has not. At least one is given.
    """

    tries: int | None = None
    stop: Callable[[], bool] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """A filled space; `Placed.piece` is the number of the sort.

    volume_mm3 : loaded. bound_mm3 : no loading holds more. tries : finished loadings looked at.
    """

    placed: tuple[Placed, ...]
    volume_mm3: int
    bound_mm3: int
    tries: int

    @property
    def gap(self) -> float:
        """How far the bound is above what was loaded, as a fraction of the bound; 0 = proved best."""
        return 1.0 - self.volume_mm3 / self.bound_mm3 if self.bound_mm3 else 0.0


_Choice = tuple[int, Prism, bool, bool]
"""Number of a block, the space it goes into, and whether it stands at the space's far end along and across."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _State:
    """A loading under way: empty spaces, boxes left of each sort, mass left [g], blocks that these still allow."""

    spaces: tuple[Prism, ...]
    left: IntArray
    left_g: float
    usable: IntArray
    volume_mm3: int
    choices: tuple[_Choice, ...]


class _Ended(Exception):
    """The budget is used up."""


class _Search:
    """The lists that every step needs, the best loading so far, and the count of tries."""

    def __init__(self, space: Size, sorts: Sequence[Sort], carries_g: int | None, budget: Budget) -> None:
        self.blocks: Blocks = blocks_of(space, sorts)
        self.space = space
        self.edges = [self.blocks.sizes[:, k].copy() for k in range(3)]
        self.reach = [reach_mm(space[k], _edges(sorts, k)) for k in range(3)]
        self.left = np.array([sort.count for sort in sorts], dtype=np.int64)
        self.left_g = math.inf if carries_g is None else float(carries_g)
        sides = [[turn[k] for sort in sorts for turn in sort.turns] for k in range(3)]
        self.least: Size = (min(sides[0]), min(sides[1]), min(sides[2]))
        self.budget = budget
        self.tries = 0
        self.best: tuple[int, tuple[_Choice, ...]] = (0, ())
        self.set_taste(*FIRST_TASTE)

    def set_taste(self, loss: float, small: float) -> None:
        """How strongly lost room and many boxes count against a block."""
        self.loss = loss
        self.worth = self.blocks.volumes * self.blocks.boxes.astype(np.float64) ** -small

    def start(self) -> _State:
        """The empty space."""
        usable = self.usable(np.arange(len(self.blocks.made)), self.left, self.left_g)
        whole = ((0, 0, 0, *self.space),)
        return _State(spaces=whole, left=self.left, left_g=self.left_g, usable=usable, volume_mm3=0, choices=())

    def usable(self, blocks: IntArray, left: IntArray, left_g: float) -> IntArray:
        """Those of some blocks that the boxes and the mass left allow."""
        allowed = self.blocks.boxes[blocks] <= left[self.blocks.sorts[blocks]]
        if left_g != math.inf:
            allowed &= self.blocks.masses[blocks] <= left_g
        return blocks[allowed]

    def fitting(self, usable: IntArray, space: Prism) -> tuple[IntArray, npt.NDArray[np.float64]]:
        """The blocks that fit a space and how good each is there: its volume, less for room that nothing could fill."""
        sides = (space[3] - space[0], space[4] - space[1], space[5] - space[2])
        along, across, up = self.edges[0][usable], self.edges[1][usable], self.edges[2][usable]
        fits = (along <= sides[0]) & (across <= sides[1]) & (up <= sides[2])
        usable, along, across, up = usable[fits], along[fits], across[fits], up[fits]
        filled = along + self.reach[0][sides[0] - along]
        filled *= across + self.reach[1][sides[1] - across]
        filled *= up + self.reach[2][sides[2] - up]
        return usable, self.worth[usable] * (filled / (sides[0] * sides[1] * sides[2])) ** self.loss

    def put(self, state: _State, spaces: tuple[Prism, ...], choice: _Choice) -> _State:
        """The state after a block was put down in one of the spaces."""
        number = choice[0]
        left = state.left.copy()
        left[self.blocks.sorts[number]] -= self.blocks.boxes[number]
        left_g = state.left_g - float(self.blocks.masses[number])
        return _State(
            spaces=after_block(spaces, _stands(self.blocks, choice), self.least),
            left=left,
            left_g=left_g,
            usable=self.usable(state.usable, left, left_g),
            volume_mm3=state.volume_mm3 + int(self.blocks.volumes[number]),
            choices=(*state.choices, choice),
        )

    def branches(self, state: _State, width: int) -> list[_State]:
        """The states after each of the best few blocks in the next space that takes any."""
        spaces = state.spaces
        while spaces:
            space, far_x, far_y = corner_space(spaces, self.space)
            numbers, scores = self.fitting(state.usable, space)
            if len(numbers):
                best = _best(scores, width)
                return [self.put(state, spaces, (int(numbers[k]), space, far_x, far_y)) for k in best]
            spaces = tuple(other for other in spaces if other != space)
        return []

    def finish(self, state: _State) -> int:
        """Volume when the state is finished by the best block each time; keeps the loading when it is the best."""
        while state.spaces and len(state.usable):
            following = self.branches(state, 1)
            if not following:
                break
            state = following[0]
        self.tries += 1
        if state.volume_mm3 > self.best[0]:
            self.best = (state.volume_mm3, state.choices)
        if self._over():
            raise _Ended
        return state.volume_mm3

    def _over(self) -> bool:
        if self.budget.tries is not None and self.tries >= self.budget.tries:
            return True
        return self.budget.stop is not None and self.budget.stop()

    def run(self, width: int) -> bool:
        """One pass with a beam; False when the beam never had to leave anything out."""
        beam, narrow = [self.start()], False
        while beam:
            children = [child for state in beam for child in self.branches(state, width)]
            valued = [(self.finish(child), child) for child in children]
            valued.sort(key=lambda pair: -pair[0])
            different: dict[tuple[int, int, tuple[int, ...]], _State] = {}
            for value, child in valued:
                different.setdefault((value, child.volume_mm3, tuple(child.left.tolist())), child)
            beam = list(different.values())[:width]
            narrow = narrow or len(beam) < len(valued)
        return narrow


def fill_space(
    space: Size, sorts: Sequence[Sort], *, budget: Budget, seed: int = 0, carries_g: int | None = None
) -> Filled:
    """Fill a space with boxes of some sorts, each fully supported.

    Not for boxes that bear little or may not share a space: `drop.load_bays` knows such rules.

    Parameters
    ----------
    space : inside length, width, height [mm].
    sorts : what there is to load; counts and turns.
    budget : when to end.
    seed : of the draws between runs; the same seed and tries give the same answer.
    carries_g : mass the space carries [g]; None = any.

    Returns
    -------
    The best loading found, with a bound on the volume.

    Raises
    ------
    BadInput : no budget, or a size, count or mass that cannot be.
    """
    _check(space, sorts, budget)
    bound = bound_mm3(space, sorts, carries_g)
    if not bound:
        return Filled(placed=(), volume_mm3=0, bound_mm3=0, tries=0)
    search = _Search(space, sorts, carries_g, budget)
    draw = random.Random(seed)  # noqa: S311  (a search, not a secret)
    width = 1.0
    try:
        search.finish(search.start())
        while search.best[0] < bound:
            wider = search.run(int(width))
            if not wider and width > len(search.blocks.made):
                break
            width = max(width + 1, width * WIDENING)
            search.set_taste(draw.uniform(*TASTES[0]), draw.uniform(*TASTES[1]))
    except _Ended:
        pass
    volume, choices = search.best
    placed = tuple(one for choice in choices for one in _boxes(search.blocks, choice))
    return Filled(placed=placed, volume_mm3=volume, bound_mm3=bound, tries=search.tries)


def bound_mm3(space: Size, sorts: Sequence[Sort], carries_g: int | None = None) -> int:
    """Volume that no loading exceeds [mm3]: all boxes, the room their edges can fill, or the mass carried.

    Boxes pushed to one side end at sums of edges, so a space may be shortened to the longest such sums.
    """
    fitting = [sort for sort in sorts if sort.count and _any_fits(sort, space)]
    boxes = [(turn[0] * turn[1] * turn[2], sort) for sort in fitting for turn in sort.turns[:1]]
    total = sum(volume * sort.count for volume, sort in boxes)
    room = 1
    for k in range(3):
        room *= int(reach_mm(space[k], _edges(fitting, k))[-1]) if fitting else 0
    bound = min(total, room)
    if carries_g is None:
        return bound
    left, heavy = float(carries_g), 0.0
    for volume, sort in sorted(boxes, key=lambda pair: -pair[0] / max(pair[1].mass_g, 1e-9)):
        number = sort.count if sort.mass_g == 0 else min(sort.count, left / sort.mass_g)
        heavy, left = heavy + number * volume, left - number * sort.mass_g
    return min(bound, int(heavy))


def _edges(sorts: Sequence[Sort], k: int) -> list[tuple[tuple[int, ...], int]]:
    return [(tuple(sorted({turn[k] for turn in sort.turns})), sort.count) for sort in sorts]


def _any_fits(sort: Sort, space: Size) -> bool:
    return any(all(turn[k] <= space[k] for k in range(3)) for turn in sort.turns)


def _best(scores: npt.NDArray[np.float64], width: int) -> npt.NDArray[np.intp]:
    """Places of the highest scores, best first; equal ones in their order."""
    if width == 1:
        return np.array([scores.argmax()])
    if len(scores) > width:
        some = np.sort(np.argpartition(-scores, width - 1)[:width])
        return np.asarray(some[np.argsort(-scores[some], kind="stable")])
    return np.argsort(-scores, kind="stable")


def _stands(blocks: Blocks, choice: _Choice) -> Prism:
    """The prism that a block takes up in its space."""
    number, space, far_x, far_y = choice
    _, size, grid = blocks.made[number]
    along, across, up = size[0] * grid[0], size[1] * grid[1], size[2] * grid[2]
    x = space[3] - along if far_x else space[0]
    y = space[4] - across if far_y else space[1]
    return (x, y, space[2], x + along, y + across, space[2] + up)


def _boxes(blocks: Blocks, choice: _Choice) -> list[Placed]:
    """The single boxes of a block."""
    x, y, z = _stands(blocks, choice)[:3]
    sort, size, grid = blocks.made[choice[0]]
    return [
        Placed(piece=sort, at=(x + i * size[0], y + j * size[1], z + k * size[2]), size=size)
        for k in range(grid[2])
        for j in range(grid[1])
        for i in range(grid[0])
    ]


def _check(space: Size, sorts: Sequence[Sort], budget: Budget) -> None:
    if budget.tries is None and budget.stop is None:
        raise BadInput("the search has no end", where="budget", do="Give tries, or something that stops it")
    if min(space) <= 0:
        raise BadInput(f"the space {space} has a side that is zero or negative", do="Give three sizes above 0 mm")
    for number, sort in enumerate(sorts):
        if not sort.turns or any(min(turn) <= 0 for turn in sort.turns) or sort.count < 0 or sort.mass_g < 0:
            raise BadInput(
                "a size, count or mass is zero or negative where it cannot be",
                where=f"sort {number}",
                limit="sizes above 0 mm, counts and masses not negative",
                do="Correct the list",
            )
