"""The least harmful plan, level by level: lateness, then moves, then cost; each proved, or with its gap.

Each level is solved over a core first: the ways whose reduced cost, from the linear relaxation, is small. A way whose
reduced cost exceeds the gap between the best plan and the bound can be in no better plan, so the answer over the core is
the answer over all when the gap lies within it; otherwise the core grows to the gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import monotonic

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array, vstack

from findhold.book.columns import Array, Columns
from findhold.book.rows import Rows

BROKEN_RULE_DAYS = 10_000.0
"""A rule of order broken counts as so many weighted days late: only appointments that nobody may move break one."""
REL_TOLERANCE = 1e-6
LEAST_SECONDS = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How long may be tried, all levels together [s], and how many nodes of the search tree a level (None: any)."""

    seconds: float = 20.0
    nodes: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One level of the aim: what was reached, what cannot be beaten, and whether that is the same.

    value, bound : weighted days of lateness, moves, or money, as `aim` says.
    """

    aim: str
    value: float
    bound: float
    proved: bool

    @property
    def gap(self) -> float:
        """The distance from the bound as a fraction of the value; 0 when proved."""
        return 0.0 if self.proved or self.value <= 0 else (self.value - self.bound) / self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """The chosen columns (1 or 0 each, switches after them), the levels, and what one more hour of each slot saves."""

    chosen: Array
    levels: tuple[Level, ...]
    saved_by_hour: Array
    """Weighted days of lateness that one more hour of a slot saves at the margin [days/h], by slot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Program:
    """One level as a linear program over whole numbers."""

    cost: Array
    matrix: csr_array
    low: Array
    high: Array
    open_: np.ndarray
    """The columns that may still be chosen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Relaxed:
    bound: float
    reduced: Array
    row_price: Array


def solve(columns: Columns, rows: Rows, setup_cost: float, effort: Effort) -> Solved:
    """Choose a way for every job, level by level.

    Parameters
    ----------
    setup_cost : of one group on one half-day [the unit's money]. effort : time and nodes allowed.

    Returns
    -------
    Solved. A level that ran out of time has the best plan found and the bound proved by then.

    Source: the levels one after the other (lexicographic); reduced-cost fixing is a textbook step of branch and bound.
    """
    end = monotonic() + effort.seconds
    switches = len(rows.broken)
    aims = {
        "lateness": np.concatenate([columns.late_days, np.full(switches, BROKEN_RULE_DAYS), np.zeros(rows.setups)]),
        "moves": np.concatenate([columns.moved, np.zeros(switches + rows.setups)]),
        "cost": np.concatenate([columns.cost, np.zeros(switches), np.full(rows.setups, setup_cost)]),
    }
    matrix, low, high = rows.matrix, rows.low, rows.high
    open_ = np.ones(matrix.shape[1], dtype=bool)
    chosen: Array | None = None
    saved = np.zeros(len(columns.slots))
    levels = []
    for left, (aim, cost) in zip((3, 2, 1), aims.items(), strict=True):
        program = _Program(cost=cost, matrix=matrix, low=low, high=high, open_=open_)
        if chosen is not None and not cost[open_].any():
            levels.append(Level(aim=aim, value=0.0, bound=0.0, proved=True))
            continue
        seconds = max(LEAST_SECONDS, (end - monotonic()) * (0.6 if left > 1 else 1.0))
        chosen, level, relaxed = _level(aim, program, chosen, Effort(seconds=seconds, nodes=effort.nodes))
        levels.append(level)
        if aim == "lateness":
            saved = np.maximum(0.0, -relaxed.row_price[rows.capacity_row])
        slack = REL_TOLERANCE * max(1.0, level.value)
        open_ = open_ & ((relaxed.reduced <= level.value - relaxed.bound + slack) | (chosen > 0.5))
        matrix = vstack([matrix, csr_array(cost[None, :])], format="csr")
        low, high = np.append(low, -np.inf), np.append(high, level.value + slack)
    if chosen is None:
        raise RuntimeError("no level was solved")
    return Solved(chosen=chosen, levels=tuple(levels), saved_by_hour=saved)


def _level(aim: str, program: _Program, start: Array | None, effort: Effort) -> tuple[Array, Level, _Relaxed]:
    """The best choice for one level: over a growing core, until the gap lies within it."""
    end = monotonic() + effort.seconds
    relaxed = _relaxed(program)
    best = start
    value = np.inf if start is None else float(program.cost @ start)
    slack = REL_TOLERANCE * max(1.0, abs(relaxed.bound))
    if start is not None and value <= relaxed.bound + slack:
        return start, Level(aim=aim, value=value, bound=value, proved=True), relaxed
    spread = np.sort(relaxed.reduced[program.open_])
    width = float(spread[min(len(spread) - 1, max(400, len(spread) // 8))]) + slack
    bound = relaxed.bound
    while True:
        whole = value - relaxed.bound <= width
        core = program.open_ & (relaxed.reduced <= width)
        if best is not None:
            core |= best > 0.5
        left = max(LEAST_SECONDS, end - monotonic())
        found, low, done = _whole(program, core, Effort(seconds=left, nodes=effort.nodes))
        if found is not None and (got := float(program.cost @ found)) < value - slack:
            best, value = found, got
        whole = whole or value - relaxed.bound <= width or bool(core[program.open_].all())
        if whole:
            bound = max(bound, value if done else min(low, value))
            break
        if monotonic() >= end or not (done or found is not None):
            if found is None and best is None:
                width = float(spread[-1]) + slack
                if monotonic() < end + effort.seconds:
                    continue
            break
        width = min(float(spread[-1]), value - relaxed.bound) + slack
    if best is None:
        raise RuntimeError("the relaxed plan is feasible and no whole plan was found in the time given")
    proved = value - bound <= slack
    return best, Level(aim=aim, value=value, bound=value if proved else bound, proved=proved), relaxed


def _relaxed(program: _Program) -> _Relaxed:
    """The linear relaxation over the open columns: its bound, and the reduced cost of every column."""
    at = np.flatnonzero(program.open_)
    matrix = program.matrix[:, at]
    equal = program.low == program.high
    result = linprog(
        program.cost[at],
        A_ub=matrix[~equal],
        b_ub=program.high[~equal],
        A_eq=matrix[equal],
        b_eq=program.high[equal],
        bounds=(0, 1),
        method="highs",
    )
    if result.x is None:
        raise RuntimeError(f"the relaxed plan has no solution ({result.message})")
    reduced = np.full(len(program.cost), np.inf)
    # At the upper bound the price is negative: leaving the way out costs, taking it does not.
    reduced[at] = np.maximum(0.0, result.lower.marginals)
    price = np.zeros(len(program.high))
    price[~equal] = result.ineqlin.marginals
    return _Relaxed(bound=float(result.fun), reduced=reduced, row_price=price)


def _whole(program: _Program, core: np.ndarray, effort: Effort) -> tuple[Array | None, float, bool]:
    """A whole-number plan over the core: (plan or None, its lower bound, whether it is proved best of the core)."""
    at = np.flatnonzero(core)
    options: dict[str, float] = {"time_limit": effort.seconds, "mip_rel_gap": REL_TOLERANCE / 10}
    if effort.nodes is not None:
        options["node_limit"] = effort.nodes
    result = milp(
        program.cost[at],
        integrality=np.ones(len(at)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(program.matrix[:, at], program.low, program.high),
        options=options,
    )
    low = -np.inf if result.mip_dual_bound is None else float(result.mip_dual_bound)
    if result.x is None:
        return None, low, result.status == 2
    found = np.zeros(len(program.cost))
    found[at] = np.round(result.x)
    return found, low, result.status == 0
