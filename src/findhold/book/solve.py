"""The least harmful plan, level by level: lateness, then moves, then cost; each proved, or with its gap.

A plan made as by hand is improved part by part, then proved or bettered over a core. A way whose reduced cost in the
linear relaxation exceeds the gap between plan and bound can be in no better plan: the core is what is left.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from time import monotonic

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csc_array, csr_array, vstack

from findhold.book.columns import Array, Columns
from findhold.book.exchange import exchanged
from findhold.book.rows import Rows
from findhold.book.search import by_hand, improve

BROKEN_RULE_DAYS = 10_000.0
"""A rule of order broken counts as so many weighted days late: only appointments that nobody may move break one."""
REL_TOLERANCE = 1e-6
LEAST_SECONDS = 0.2
SEARCH_SHARE = 0.5
"""The part of a level's time given to the search; the rest is for the proof (measured: see the model's page)."""
PART_SECONDS, PART_NODES = 2.0, 200
"""A part that takes longer is left for another (measured)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """What may be spent: seconds [s] on all levels together, nodes of the tree in a level (None: any), a seed."""

    seconds: float = 20.0
    nodes: int | None = None
    seed: int = 1


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
    by_column: csc_array
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
    aims = _aims(columns, rows, setup_cost)
    program = _Program(
        cost=aims["lateness"],
        matrix=rows.matrix,
        by_column=csc_array(rows.matrix),
        low=rows.low,
        high=rows.high,
        open_=np.ones(rows.matrix.shape[1], dtype=bool),
    )
    chosen = by_hand(columns, rows, _urgency(columns))
    saved = np.zeros(len(columns.slots))
    levels = []
    for share, (aim, cost) in zip((0.6, 0.4, 1.0), aims.items(), strict=True):
        program = replace(program, cost=cost)
        seconds = max(LEAST_SECONDS, share * (end - monotonic()))
        chosen, level, relaxed = _level(aim, program, chosen, (columns, rows, replace(effort, seconds=seconds)))
        levels.append(level)
        if aim == "lateness":
            saved = np.maximum(0.0, -relaxed.row_price[rows.capacity_row])
        program = _held(program, level, relaxed, chosen)
    return Solved(chosen=chosen, levels=tuple(levels), saved_by_hour=saved)


def _aims(columns: Columns, rows: Rows, setup_cost: float) -> dict[str, Array]:
    """The cost of every column and switch, level by level."""
    switches = len(rows.broken)
    broken = np.full(switches, BROKEN_RULE_DAYS)
    return {
        "lateness": np.concatenate([columns.late_days, broken, np.zeros(rows.setups)]),
        "moves": np.concatenate([columns.moved, np.zeros(switches + rows.setups)]),
        "cost": np.concatenate([columns.cost, np.zeros(switches), np.full(rows.setups, setup_cost)]),
    }


def _urgency(columns: Columns) -> Array:
    """Jobs that lose most by finding no place come first."""
    worst = np.zeros(int(columns.job.max(initial=-1)) + 1)
    np.maximum.at(worst, columns.job, columns.late_days)
    return -worst


def _held(program: _Program, level: Level, relaxed: _Relaxed, chosen: Array) -> _Program:
    """The program with what this level reached held for the levels after it, without the ways that would undo it."""
    slack = REL_TOLERANCE * max(1.0, level.value)
    open_ = program.open_ & ((relaxed.reduced <= level.value - relaxed.bound + slack) | (chosen > 0.5))
    matrix = vstack([program.matrix, csr_array(program.cost[None, :])], format="csr")
    return replace(
        program,
        matrix=matrix,
        by_column=csc_array(matrix),
        low=np.append(program.low, -np.inf),
        high=np.append(program.high, level.value + slack),
        open_=open_,
    )


def _level(
    aim: str, program: _Program, plan: Array, means: tuple[Columns, Rows, Effort]
) -> tuple[Array, Level, _Relaxed]:
    """The best plan for one level: improved part by part, then proved over a core that holds every better plan."""
    columns, rows, effort = means
    begun = monotonic()
    relaxed = _relaxed(program)
    slack = REL_TOLERANCE * max(1.0, abs(relaxed.bound))
    part_end = begun + SEARCH_SHARE * effort.seconds
    if aim == "lateness":
        plan = exchanged(columns, rows, program.cost, plan)
    plan = improve(columns, program.cost, plan, partial(_replanned, program), (relaxed.bound, part_end, effort.seed))
    value, bound = float(program.cost @ plan), relaxed.bound
    while value > bound + slack:
        core = program.open_ & ((relaxed.reduced <= value - relaxed.bound + slack) | (plan > 0.5))
        left = begun + effort.seconds - monotonic()
        if left <= 0:
            break
        found, low, done = _whole(program, core, replace(effort, seconds=max(LEAST_SECONDS, left)))
        if found is not None and float(program.cost @ found) < value:
            plan, value = found, float(program.cost @ found)
        bound = max(bound, value if done else min(low, value))
        break
    proved = value <= bound + slack
    return plan, Level(aim=aim, value=value, bound=value if proved else bound, proved=proved), relaxed


def _replanned(program: _Program, free: np.ndarray, plan: Array) -> Array | None:
    """The best plan in which only the free columns may change; None when none is found quickly."""
    free = free & program.open_
    part = program.by_column[:, np.flatnonzero(free)]
    touched = np.unique(part.indices)
    held = np.where(free, 0.0, plan)
    used = program.matrix[touched] @ held
    at = np.flatnonzero(free)
    result = milp(
        program.cost[at],
        integrality=np.ones(len(at)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(
            csr_array(part)[touched], program.low[touched] - used, program.high[touched] - used
        ),
        options={"time_limit": PART_SECONDS, "mip_rel_gap": REL_TOLERANCE, "node_limit": PART_NODES},
    )
    if result.x is None:
        return None
    found = held
    found[at] = np.round(result.x)
    return found


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
