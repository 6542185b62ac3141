"""A good plan quickly: job by job by date and weight, then small parts of it planned anew, one after the other."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic

import numpy as np
from scipy.sparse import csc_array

from findhold.book.columns import NOBODY, Array, Columns
from findhold.book.rows import Rows

Planner = Callable[[np.ndarray, Array], Array | None]
"""Given the columns that may change and the plan so far, a plan at least as good, or None."""
SLOTS_AT_ONCE = 8
TIRED_AFTER = 12
"""Parts planned anew in a row without a better plan before the parts become larger."""
LARGEST_PART = 24


def by_hand(columns: Columns, rows: Rows, urgency: Array) -> Array:
    """A plan made as by hand: what was promised where it still fits, then the most urgent job first, each as it fits.

    Parameters
    ----------
    urgency : of each job; the smallest is placed first, unless a rule of order makes it wait [1].
    """
    width = rows.matrix.shape[1]
    by_column = csc_array(rows.matrix)
    room = rows.high.copy()
    ways: list[list[int]] = [[] for _ in range(int(columns.job.max(initial=-1)) + 1)]
    for column in np.lexsort((columns.first, columns.late_days)):
        ways[columns.job[column]].append(int(column))
    chosen = np.zeros(width)
    promises = _promised_ways(columns)
    kept = sorted(promises, key=lambda job: int(columns.first[promises[job]]))
    done: set[int] = set()
    for _ in range(2):
        # Twice, because of two jobs in one half-day the later may come up before the one it waits for.
        left = [job for job in kept if job not in done]
        done |= {job for job in left if _placed([promises[job]], columns, (by_column, room), chosen, False)}
    waiting = [int(job) for job in np.argsort(urgency, kind="stable") if int(job) not in done]
    for forced in (False, True):
        # A job whose earlier one has no place yet comes round again; at last what is left finds no place.
        while waiting:
            still = [job for job in waiting if not _placed(ways[job], columns, (by_column, room), chosen, forced)]
            if len(still) == len(waiting):
                break
            waiting = still
    for job in waiting:
        _take(ways[job][0], by_column, room, chosen)
    _switch_on(columns, rows, chosen)
    return chosen


def _promised_ways(columns: Columns) -> dict[int, int]:
    """For each job with a promise that can be kept, the first way that keeps it."""
    kept: dict[int, int] = {}
    asked = {int(job) for job in np.unique(columns.job[columns.moved > 0])}
    for column in np.flatnonzero(columns.moved == 0):
        job = int(columns.job[column])
        if job in asked:
            kept.setdefault(job, int(column))
    return kept


def _placed(ways: list[int], columns: Columns, state: tuple[csc_array, Array], chosen: Array, forced: bool) -> bool:
    by_column, room = state
    for column in ways:
        if columns.who[column] == NOBODY and not forced:
            continue
        lo, hi = by_column.indptr[column], by_column.indptr[column + 1]
        at, value = by_column.indices[lo:hi], by_column.data[lo:hi]
        if np.all(room[at] - value >= -1e-9):
            _take(column, by_column, room, chosen)
            return True
    return False


def _take(column: int, by_column: csc_array, room: Array, chosen: Array) -> None:
    lo, hi = by_column.indptr[column], by_column.indptr[column + 1]
    room[by_column.indices[lo:hi]] -= by_column.data[lo:hi]
    chosen[column] = 1.0


def _switch_on(columns: Columns, rows: Rows, chosen: Array) -> None:
    """Turn on the switches of the rules that the chosen columns break."""
    for row in np.flatnonzero(rows.matrix @ chosen > rows.high + 1e-9):
        at = rows.matrix.indices[rows.matrix.indptr[row] : rows.matrix.indptr[row + 1]]
        chosen[at[at >= len(columns.job)]] = 1.0


def set_up(rows: Rows, plan: Array) -> Array:
    """The plan (columns chosen, [0 or 1]) with the switches on of just the groups that it sets up."""
    made = plan.copy()
    width = len(plan)
    made[width - rows.setups :] = 0.0
    needed = np.flatnonzero(rows.setup_rows @ made > 0.5)
    part = rows.setup_rows[needed].tocoo()
    switches = part.coords[1][part.coords[1] >= width - rows.setups]
    made[switches] = 1.0
    return made


def is_kept(rows: Rows, chosen: Array) -> bool:
    """True when a plan (columns chosen, [0 or 1]) keeps every row."""
    got = rows.matrix @ chosen
    return bool(np.all(got <= rows.high + 1e-6) and np.all(got >= rows.low - 1e-6))


def improve(columns: Columns, cost: Array, plan: Array, planner: Planner, limits: tuple[float, float, int]) -> Array:
    """Plan parts anew until the bound is reached, nothing gets better, or the time is up.

    Parameters
    ----------
    plan : columns chosen [0 or 1].
    cost : of each column [any unit]. limits : (bound that cannot be beaten, instant to stop at [s], seed).
    """
    bound, end, seed = limits
    draw = np.random.default_rng(seed)
    value = float(cost @ plan)
    tired, size = 0, SLOTS_AT_ONCE
    while monotonic() < end and value > bound + 1e-6 * max(1.0, abs(bound)):
        better = planner(_part(columns, cost, plan, size, draw), plan)
        got = value if better is None else float(cost @ better)
        if better is not None and got < value - 1e-9:
            plan, value, tired = better, got, 0
            continue
        if better is not None:
            plan = better
        tired += 1
        if tired >= TIRED_AFTER:
            tired, size = 0, size + 4
            if size > min(LARGEST_PART, len(columns.slots)):
                break
    return plan


def _part(columns: Columns, cost: Array, plan: Array, size: int, draw: np.random.Generator) -> np.ndarray:
    """The columns of the jobs that stand in some slots now, within those slots: slots that a costly job could use."""
    count = len(columns.job)
    now = np.flatnonzero(plan[:count] > 0.5)
    slot_of = np.full(count, NOBODY, dtype=np.int64)
    slot_of[columns.use_column] = columns.use_slot
    price = cost[now] + 1e-3
    worst = now[draw.choice(len(now), p=price / price.sum())]
    usable = np.unique(slot_of[(columns.job == columns.job[worst]) & (slot_of >= 0)])
    others = np.unique(slot_of[now][slot_of[now] >= 0])
    near = usable if len(usable) else others
    picked = {int(slot_of[worst])} | {int(k) for k in draw.permutation(near)[: size // 2]}
    picked |= {int(k) for k in draw.permutation(others)[: max(0, size - len(picked))]}
    inside = np.isin(slot_of, sorted(picked - {NOBODY}))
    jobs = np.unique(np.append(columns.job[now[inside[now] | (columns.who[now] == NOBODY)]], columns.job[worst]))
    free = np.zeros(len(plan), dtype=bool)
    free[:count] = np.isin(columns.job, jobs) & (inside | (columns.who == NOBODY))
    free[count:] = True
    stays = np.append(np.isin(columns.job, jobs), np.zeros(len(plan) - count, dtype=bool))
    part: np.ndarray = free | ((plan > 0.5) & stays)
    return part
