"""Jobs moved and swapped between half-days while that makes the plan better: quick, for jobs only hours bind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csc_array

from findhold.book.columns import NOBODY, Array, Columns, Whole
from findhold.book.rows import Rows

ROUNDS = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Jobs that only hours bind, against the half-days: what each pairing costs, and which column it is.

    hours : of each job [h].
    cost [any unit] : jobs x (slots + 1), infinite where there is no such way; the last column is no place at all.
    """

    jobs: Whole
    column: Whole
    cost: Array
    hours: Array


def exchanged(columns: Columns, rows: Rows, cost: Array, plan: Array) -> Array:
    """The plan with jobs moved to free half-days and swapped in pairs until neither makes it cheaper.

    Parameters
    ----------
    plan : columns chosen [0 or 1]. cost : of each column [any unit]; switches keep their places.
    """
    table = _table(columns, rows, cost)
    if not len(table.jobs):
        return plan
    slots = table.cost.shape[1] - 1
    now = _standing(table, plan)
    taken = np.zeros(slots + 1)
    others = plan[: len(columns.job)] > 0.5
    others[table.column[table.column >= 0]] = False
    used = others[columns.use_column]
    fixed = np.bincount(columns.use_slot[used], weights=columns.use_hours[used], minlength=slots)
    np.add.at(taken, now, table.hours)
    high = rows.high[rows.capacity_row]
    # Hours of appointments are out of the row's limit already; the others that stay put are in it.
    room = np.append(high - np.minimum(fixed, high), np.inf) - taken
    for _ in range(ROUNDS):
        if not (_moved(table, now, room) or _swapped(table, now, room)):
            break
    better = plan.copy()
    better[table.column[table.column >= 0]] = 0.0
    better[table.column[np.arange(len(now)), now]] = 1.0
    got, mended = rows.matrix @ better, float(cost @ better) <= float(cost @ plan)
    return better if mended and np.all(got <= rows.high + 1e-6) else plan


def _table(columns: Columns, rows: Rows, cost: Array) -> Table:
    """Jobs whose every way is one half-day and stands in no row but their own and that half-day's hours."""
    by_column = csc_array(rows.matrix)
    in_rows = np.diff(by_column.indptr)[: len(columns.job)]
    plain = in_rows <= np.where(columns.who == NOBODY, 1, 2)
    jobs = int(columns.job.max(initial=-1)) + 1
    has_way_out = np.zeros(jobs, dtype=bool)
    has_way_out[columns.job[columns.who == NOBODY]] = True
    bound = np.zeros(jobs, dtype=bool)
    bound[columns.job[~plain]] = True
    picked = np.flatnonzero(has_way_out & ~bound)
    number = np.full(jobs, -1, dtype=np.int64)
    number[picked] = np.arange(len(picked))
    slot_of = np.full(len(columns.job), len(columns.slots), dtype=np.int64)
    slot_of[columns.use_column] = columns.use_slot
    hours_of = np.zeros(len(columns.job))
    hours_of[columns.use_column] = columns.use_hours
    mine = np.flatnonzero(number[columns.job] >= 0)
    shape = (len(picked), len(columns.slots) + 1)
    column, price = np.full(shape, -1, dtype=np.int64), np.full(shape, np.inf)
    hours = np.zeros(len(picked))
    column[number[columns.job[mine]], slot_of[mine]] = mine
    price[number[columns.job[mine]], slot_of[mine]] = cost[mine]
    np.maximum.at(hours, number[columns.job[mine]], hours_of[mine])
    return Table(jobs=picked, column=column, cost=price, hours=hours)


def _standing(table: Table, plan: Array) -> Whole:
    chosen = (table.column >= 0) & (plan[np.maximum(table.column, 0)] > 0.5)
    standing: Whole = np.argmax(chosen, axis=1)
    return standing


def _moved(table: Table, now: Whole, room: Array) -> bool:
    """Move jobs to half-days with room, best first, as long as each still fits; True when one was moved."""
    at = np.arange(len(now))
    gain = table.cost[at, now][:, None] - table.cost
    gain[table.hours[:, None] > room[None, :] + 1e-9] = 0.0
    best = np.argmax(gain, axis=1)
    done = False
    for job in np.argsort(-gain[at, best], kind="stable"):
        to = best[job]
        if gain[job, to] <= 1e-9:
            break
        if table.hours[job] <= room[to] + 1e-9:
            _put(table, now, room, int(job), int(to))
            done = True
    return done


def _swapped(table: Table, now: Whole, room: Array) -> bool:
    """Swap pairs of jobs, best first, as long as both still fit; True when a pair was swapped."""
    at = np.arange(len(now))
    own = table.cost[at, now]
    there = table.cost[:, now]
    gain = own[:, None] + own[None, :] - there - there.T
    more = table.hours[:, None] - table.hours[None, :]
    fits = (more <= room[now][None, :] + 1e-9) & (-more <= room[now][:, None] + 1e-9)
    gain = np.where(fits & np.isfinite(gain), gain, 0.0)
    best = np.argmax(gain, axis=1)
    order = [int(job) for job in np.argsort(-gain[at, best], kind="stable") if gain[job, best[job]] > 1e-9]
    touched: set[int] = set()
    for job in order:
        other = int(best[job])
        here, far = int(now[job]), int(now[other])
        if {here, far} & touched:
            continue
        touched |= {here, far}
        _put(table, now, room, job, far)
        _put(table, now, room, other, here)
    return bool(order)


def _put(table: Table, now: Whole, room: Array, job: int, to: int) -> None:
    room[now[job]] += table.hours[job]
    room[to] -= table.hours[job]
    now[job] = to
