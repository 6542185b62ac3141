"""The least harmful plan, level by level: lateness, then moves, then cost; each proved, or with its gap.

A plan made as by hand is improved part by part, then proved or bettered over a core. A way whose reduced cost in the
linear relaxation exceeds the gap between plan and bound can be in no better plan: the core is what is left.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from math import gcd
from time import monotonic

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csc_array, csr_array, vstack

from findhold.book.columns import Array, Columns
from findhold.book.exchange import exchanged
from findhold.book.rows import Rows
from findhold.book.search import by_hand, improve, set_up

BROKEN_RULE_DAYS = 10_000.0
"""A rule of order broken counts as so many weighted days late: only appointments that nobody may move break one."""
REL_TOLERANCE = 1e-6
LEAST_SECONDS = 0.2
LP_SHARE, LP_LEAST_SECONDS, OUT_OF_TIME = 0.4, 1.0, 1
"""The part of a level's time for its relaxation, the least [s], and what the solver says when that was too short."""
SEARCH_SHARE = 0.7
"""The part of a level's time after which the search ends and the proof begins (measured)."""
SMALL, SMALL_SECONDS = 2000, 2.0
"""Up to so many ways the proof is tried at once, where there is so much time [s] for it (measured)."""
DIVE_SHARE, DIVE_PART = 0.4, 6
"""The part of a level's time, and one in how many of the ways, for the first whole plan (measured)."""
PART_SECONDS, PART_NODES = 2.0, 200
"""A part that takes longer is left for another (measured)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """What may be spent: seconds [s] on all levels together, nodes of the tree in a level (None: any), a seed."""

    seconds: float = 20.0
    nodes: int | None = None
    seed: int = 1
    levels: int = 3
    """How many levels are solved; those after them are left as they come."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing:
    """Cost of a set-up of one group on one half-day [the unit's money]; whether moves come before lateness."""

    setup_cost: float = 0.0
    """[the unit's money]"""
    few_moves: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One level of the aim: what was reached, what cannot be beaten, and whether that is the same.

    value, bound : [weighted days of lateness, moves, or money], as `aim` says.
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
    """The chosen columns ([1 or 0] each, switches after them), the levels, and what an hour more of a slot saves."""

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


def solve(columns: Columns, rows: Rows, weighing: Weighing, effort: Effort) -> Solved:
    """Choose a way for every job, level by level.

    Parameters
    ----------
    weighing : cost of a set-up, and which level comes first. effort : time and nodes allowed.

    Returns
    -------
    Solved. A level that ran out of time has the best plan found and the bound proved by then.

    Source: the levels one after the other (lexicographic); reduced-cost fixing is a textbook step of branch and bound.
    """
    end = monotonic() + effort.seconds
    aims = _aims(columns, rows, weighing)
    program = _Program(
        cost=np.zeros(rows.matrix.shape[1]),
        matrix=rows.matrix,
        by_column=csc_array(rows.matrix),
        low=rows.low,
        high=rows.high,
        open_=np.ones(rows.matrix.shape[1], dtype=bool),
    )
    program.open_[len(columns.job) + len(rows.broken) :] = False
    chosen = by_hand(columns, rows, _urgency(columns))
    saved = np.zeros(len(columns.slots))
    levels: list[Level] = []
    for share, (aim, cost) in list(zip((0.6, 0.4, 1.0), aims.items(), strict=True))[: effort.levels]:
        tie = _tie(columns, cost) if aim == "lateness" and not levels else np.zeros(len(cost))
        program = replace(program, cost=cost + tie)
        floor = 0.0
        if aim == "cost" and rows.setups:
            # No set-up costs less than nothing, so the bound without any is a bound.
            floor = _relaxed(program, LP_SHARE * effort.seconds).bound
            program, chosen = _with_setup(program, rows), set_up(rows, chosen)
        seconds = max(LEAST_SECONDS, share * (end - monotonic()))
        chosen, level, relaxed = _level(aim, program, chosen, (columns, rows, replace(effort, seconds=seconds)))
        most = float(tie.max(initial=0.0)) * (1 + int(columns.job.max(initial=-1)))
        level = replace(level, bound=max(level.bound, floor))
        level = _without_tie(level, float(cost @ chosen), most, _grain(cost))
        levels.append(level)
        if aim == "lateness":
            saved = np.maximum(0.0, -relaxed.row_price[rows.capacity_row])
        spare = level.value + most - relaxed.bound
        program = _held(replace(program, cost=cost), level.value, spare, (relaxed, chosen))
    return Solved(chosen=chosen, levels=tuple(levels), saved_by_hour=saved)


def _aims(columns: Columns, rows: Rows, weighing: Weighing) -> dict[str, Array]:
    """The cost of every column and switch, level by level."""
    switches = len(rows.broken)
    broken = np.full(switches, BROKEN_RULE_DAYS)
    no_setup = np.zeros(rows.setups)
    late = ("lateness", np.concatenate([columns.late_days, broken, no_setup]))
    moves = ("moves", np.concatenate([columns.moved, broken * weighing.few_moves, no_setup]))
    cost = ("cost", np.concatenate([columns.cost, np.zeros(switches), np.full(rows.setups, weighing.setup_cost)]))
    return dict((moves, late, cost) if weighing.few_moves else (late, moves, cost))


def _urgency(columns: Columns) -> Array:
    """Jobs that lose most by finding no place come first."""
    worst = np.zeros(int(columns.job.max(initial=-1)) + 1)
    np.maximum.at(worst, columns.job, columns.late_days)
    return -worst


def _grain(cost: Array) -> float:
    """The step in which whole plans differ, to a thousandth; 0 when there is none so coarse."""
    steps = np.unique(np.round(cost * 1000))
    if np.abs(cost * 1000 - np.round(cost * 1000)).max(initial=0.0) > 1e-6:
        return 0.0
    return gcd(*steps.astype(int).tolist()) / 1000


def _tie(columns: Columns, cost: Array) -> Array:
    """So little for each move that all of them together are less than one step of lateness: ties keep promises."""
    tie = np.zeros(len(cost))
    jobs = int(columns.job.max(initial=-1)) + 1
    tie[: len(columns.moved)] = columns.moved * _grain(cost) / (2 * jobs)
    return tie


def _without_tie(level: Level, value: float, most: float, grain: float) -> Level:
    """The level as it is without what broke its ties; its bound rounded up to the next value that a plan can have."""
    slack = REL_TOLERANCE * max(1.0, value)
    bound = level.bound - most
    if grain > 0:
        bound = float(np.ceil((bound - slack) / grain)) * grain
    proved = bound >= value - slack
    return Level(aim=level.aim, value=value, bound=value if proved else max(0.0, bound), proved=proved)


def _held(program: _Program, value: float, spare: float, found: tuple[_Relaxed, Array]) -> _Program:
    """The program with what this level reached held for the levels after it, without the ways that would undo it."""
    relaxed, chosen = found
    slack = REL_TOLERANCE * max(1.0, value)
    open_ = program.open_ & ((relaxed.reduced <= spare + slack) | (chosen > 0.5))
    matrix = vstack([program.matrix, csr_array(program.cost[None, :])], format="csr")
    return replace(
        program,
        matrix=matrix,
        by_column=csc_array(matrix),
        low=np.append(program.low, -np.inf),
        high=np.append(program.high, value + slack),
        open_=open_,
    )


def _with_setup(program: _Program, rows: Rows) -> _Program:
    """The program with the switches of the groups open."""
    matrix = vstack([program.matrix, rows.setup_rows], format="csr")
    count = rows.setup_rows.shape[0]
    open_ = program.open_.copy()
    open_[matrix.shape[1] - rows.setups :] = True
    return replace(
        program,
        matrix=matrix,
        by_column=csc_array(matrix),
        low=np.append(program.low, np.full(count, -np.inf)),
        high=np.append(program.high, np.zeros(count)),
        open_=open_,
    )


def _level(
    aim: str, program: _Program, plan: Array, means: tuple[Columns, Rows, Effort]
) -> tuple[Array, Level, _Relaxed]:
    """The best plan for one level: improved part by part, then proved over a core that holds every better plan."""
    columns, rows, effort = means
    begun = monotonic()
    relaxed = _relaxed(program, LP_SHARE * effort.seconds)
    slack = REL_TOLERANCE * max(1.0, abs(relaxed.bound))
    if program.matrix.shape[0] == rows.matrix.shape[0]:
        # Exchanges know hours only, so they come before any level is held.
        plan = exchanged(columns, rows, program.cost, plan)
    value = float(program.cost @ plan)
    small = int(program.open_.sum()) <= SMALL
    if value > relaxed.bound + slack and not small:
        plan = _dived(program, relaxed, plan, effort)
        value = float(program.cost @ plan)
    if value > relaxed.bound + slack and (not small or effort.seconds < SMALL_SECONDS):
        part_end = begun + SEARCH_SHARE * effort.seconds
        replanned = partial(_replanned, program)
        plan = improve(columns, program.cost, plan, replanned, (relaxed.bound, part_end, effort.seed))
    value, bound = float(program.cost @ plan), relaxed.bound
    left = begun + effort.seconds - monotonic()
    if value > bound + slack and left > 0:
        core = program.open_ & ((relaxed.reduced <= value - relaxed.bound + slack) | (plan > 0.5))
        found, low, done = _whole(program, core, replace(effort, seconds=max(LEAST_SECONDS, left)))
        if found is not None and float(program.cost @ found) < value:
            plan, value = found, float(program.cost @ found)
        bound = max(bound, value if done else min(low, value))
    proved = value <= bound + slack
    return plan, Level(aim=aim, value=value, bound=value if proved else bound, proved=proved), relaxed


def _dived(program: _Program, relaxed: _Relaxed, plan: Array, effort: Effort) -> Array:
    """The plan, or a better one from the ways that the relaxation likes best."""
    liked = np.sort(relaxed.reduced[program.open_])
    width = float(liked[min(len(liked) - 1, max(SMALL, len(liked) // DIVE_PART))])
    core = program.open_ & ((relaxed.reduced <= width) | (plan > 0.5))
    found, _, _ = _whole(program, core, replace(effort, seconds=max(LEAST_SECONDS, DIVE_SHARE * effort.seconds)))
    return found if found is not None and program.cost @ found < program.cost @ plan else plan


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


def _relaxed(program: _Program, seconds: float) -> _Relaxed:
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
        options={"time_limit": max(LP_LEAST_SECONDS, seconds)},
    )
    if result.status == OUT_OF_TIME:
        # No cost is below 0, so 0 is a bound, and no way can be left out.
        none = np.where(program.open_, 0.0, np.inf)
        return _Relaxed(bound=0.0, reduced=none, row_price=np.zeros(len(program.high)))
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
