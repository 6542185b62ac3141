"""The order of one specialist's queue: the least weighted tardiness of jobs done one after the other.

Up to a dozen jobs every order is weighed (proved). Longer queues are searched: in each pass the best set of moves that
do not overlap is made, a move being a swap of two jobs or one job taken out and put in elsewhere; when no set helps, a
few jobs are shuffled and the search goes on from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from findhold.errors import BadInput

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
EXACT_UP_TO = 12
KICKS = 300
SHUFFLED = 5
"""Swaps of neighbours in one kick (measured)."""
PATIENCE = 100
"""Kicks without a better order before the search goes back to the best one (measured)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Queue:
    """An order of jobs by index, its weighted tardiness [weighted h], and whether no order can be better."""

    order: tuple[int, ...]
    tardiness_h: float
    proved: bool


def order_queue(
    hours: Sequence[float],
    due_h: Sequence[float],
    weights: Sequence[float],
    *,
    before: Sequence[tuple[int, int]] = (),
    kicks: int = KICKS,
    seed: int = 1,
) -> Queue:
    """Order the jobs of one queue that begins at hour 0.

    Parameters
    ----------
    hours : how long each takes, 0 or more [h]. due_h : when each should be done, from the beginning of the queue [h].
    weights : what an hour late costs [1]. before : pairs (earlier, later) by index. kicks, seed : of the search.

    Returns
    -------
    Queue. Proved for up to a dozen jobs, and where nothing is late.

    Raises
    ------
    BadInput : lists of different lengths, negative times or weights, pairs that close a circle.

    Valid for: jobs that can all begin at hour 0 and are not interrupted.
    """
    p, d, w = (np.asarray(values, dtype=float) for values in (hours, due_h, weights))
    if not len(p) == len(d) == len(w):
        raise BadInput("the lists of the queue differ in length", do="Give hours, limit and weight of every job")
    if (p < 0).any() or (w < 0).any() or not np.isfinite(np.concatenate([p, d, w])).all():
        raise BadInput("a duration or a weight of the queue is below 0 or no number", do="Correct it")
    nearest = _Order(len(p), before).sorted_by(d)
    if tardiness_h(nearest, p, d, w) == 0:
        return Queue(order=tuple(int(job) for job in nearest), tardiness_h=0.0, proved=True)
    if len(p) <= EXACT_UP_TO:
        return _exact((p, d, w), before)
    return _searched((p, d, w), before, kicks, np.random.default_rng(seed))


def tardiness_h(order: Sequence[int] | Whole, hours: Array, due_h: Array, weights: Array) -> float:
    """Weighted tardiness of an order [weighted h]; hours and due_h in hours [h], weights as they are [1]."""
    at = np.asarray(order, dtype=np.int64)
    return float((weights[at] * np.maximum(0.0, np.cumsum(hours[at]) - due_h[at])).sum())


def _exact(jobs: tuple[Array, Array, Array], before: Sequence[tuple[int, int]]) -> Queue:
    """Every set of jobs done first, with the least tardiness of any order of it; then the way back."""
    p, d, w = jobs
    count = len(p)
    first_of = [0] * count
    for earlier, later in before:
        first_of[later] |= 1 << earlier
    best = [np.inf] * (1 << count)
    came_by = [-1] * (1 << count)
    best[0] = 0.0
    for done in range(1 << count):
        if best[done] == np.inf:
            continue
        clock = sum(p[k] for k in range(count) if done >> k & 1)
        for job in range(count):
            if done >> job & 1 or first_of[job] & ~done:
                continue
            cost = best[done] + w[job] * max(0.0, clock + p[job] - d[job])
            if cost < best[done | 1 << job]:
                best[done | 1 << job], came_by[done | 1 << job] = cost, job
    left = (1 << count) - 1
    if best[left] == np.inf:
        raise BadInput("the pairs of the queue close a circle", do="Let one of them come later")
    total, order = float(best[left]), []
    while left:
        order.append(came_by[left])
        left ^= 1 << came_by[left]
    return Queue(order=tuple(reversed(order)), tardiness_h=total, proved=True)


def _searched(
    jobs: tuple[Array, Array, Array], before: Sequence[tuple[int, int]], kicks: int, draw: np.random.Generator
) -> Queue:
    due_h = jobs[1]
    allowed = _Order(len(due_h), before)
    now = _descended(allowed.sorted_by(due_h), jobs, allowed)
    best, value, base = now, tardiness_h(now, *jobs), now
    base_value, stale = value, 0
    for _ in range(kicks):
        if value <= 0:
            break
        now = _descended(_shuffled(base, allowed, draw), jobs, allowed)
        got = tardiness_h(now, *jobs)
        if got <= base_value:
            base, base_value = now, got
        stale += 1
        if got < value - 1e-9:
            best, value, stale = now, got, 0
        elif stale % PATIENCE == 0:
            base, base_value = best, value
    return Queue(order=tuple(int(job) for job in best), tardiness_h=value, proved=value <= 0)


class _Order:
    """The pairs that have to be kept, with all that follows from them."""

    def __init__(self, count: int, before: Sequence[tuple[int, int]]) -> None:
        self.first = np.zeros((count, count), dtype=bool)
        for earlier, later in before:
            self.first[earlier, later] = True
        for middle in range(count):
            self.first |= self.first[:, middle][:, None] & self.first[middle][None, :]
        if self.first.diagonal().any():
            raise BadInput("the pairs of the queue close a circle", do="Let one of them come later")
        self.any = bool(self.first.any())

    def sorted_by(self, due_h: Array) -> Whole:
        """Nearest limit first, each after what must come before it."""
        left, order = set(range(len(due_h))), []
        while left:
            ready = [job for job in left if not any(self.first[k, job] for k in left)]
            job = min(ready, key=lambda k: (due_h[k], k))
            order.append(job)
            left.discard(job)
        return np.array(order, dtype=np.int64)


def _shuffled(order: Whole, allowed: _Order, draw: np.random.Generator) -> Whole:
    """A few swaps of places not far from each other."""
    made = order.copy()
    for _ in range(SHUFFLED):
        i = int(draw.integers(0, len(made) - 1))
        j = min(len(made) - 1, i + int(draw.integers(1, 9)))
        swapped = made.copy()
        swapped[[i, j]] = swapped[[j, i]]
        if (
            not allowed.any
            or not allowed.first[swapped[:, None], swapped[None, :]][np.tril_indices(len(made), -1)].any()
        ):
            made = swapped
    return made


def _descended(order: Whole, jobs: tuple[Array, Array, Array], allowed: _Order) -> Whole:
    """Make the best set of moves that do not overlap, again and again, until none helps."""
    for _ in range(200):
        gain, kind = _gains(order, jobs, allowed)
        moves = _best_set(gain)
        if not moves:
            return order
        order = order.copy()
        for i, j in moves:
            part = order[i : j + 1].copy()
            if kind[i, j] == 0:
                order[i], order[j] = part[-1], part[0]
            elif kind[i, j] == 1:
                order[i : j + 1] = np.roll(part, -1)
            else:
                order[i : j + 1] = np.roll(part, 1)
    return order


def _gains(order: Whole, jobs: tuple[Array, Array, Array], allowed: _Order) -> tuple[Array, Whole]:
    """What the best move on each stretch i..j saves, and which: swap its ends, first to the end, last to the front.

    Between the ends every job shifts by one time, so the cost of a stretch is a sum over jobs of one shifted curve.
    """
    p, d, w = (values[order] for values in jobs)
    count = len(p)
    end = np.cumsum(p)
    late = w * np.maximum(0.0, end - d)
    before = np.concatenate([[0.0], np.cumsum(late)])
    own = before[None, 1:] - before[:-1, None]
    # shifted[s, k]: cost of job k when it ends s later, for the three kinds of shift that the stretch i..j makes.
    first_out = _stretch(w * np.maximum(0.0, end[None, :] - p[:, None] - d))
    last_in = _stretch(w * np.maximum(0.0, end[None, :] + p[:, None] - d))
    at = np.arange(count)
    start = end - p
    first_last = w[:, None] * np.maximum(0.0, end[None, :] - d[:, None])
    last_first = w[None, :] * np.maximum(0.0, start[:, None] + p[None, :] - d[None, :])
    out = (first_out[:, 1:] - first_out[at, at + 1][:, None]) + first_last
    into = (last_in[:, :-1][at[None, :], at[:, None]] * -1 + last_in[at, at][None, :]) + last_first
    shift = p[None, :] - p[:, None]
    curve = w * np.maximum(0.0, end + shift[:, :, None] - d)
    inside = (at[None, None, :] > at[:, None, None]) & (at[None, None, :] < at[None, :, None])
    swap = np.einsum("ijk,ijk->ij", curve, inside) + first_last + last_first
    stack = np.stack([own - swap, own - out, own - into])
    stack[:, at[:, None] >= at[None, :]] = 0.0
    if allowed.any:
        _forbid(stack, allowed.first[order[:, None], order[None, :]])
    kind = np.argmax(stack, axis=0)
    return stack.max(axis=0), kind


def _stretch(cost: Array) -> Array:
    """Running sums along each row, with a zero in front."""
    return np.concatenate([np.zeros((len(cost), 1)), np.cumsum(cost, axis=1)], axis=1)


def _forbid(stack: Array, first: NDArray[np.bool_]) -> None:
    """No gain for moves that would turn a pair round: a job past one that it must precede, or that must precede it."""
    count = len(first)
    none = np.zeros((count, 1), dtype=np.int64)
    after = np.concatenate([none, np.cumsum(first, axis=1)], axis=1)
    behind = np.concatenate([none, np.cumsum(first.T, axis=1)], axis=1)
    at = np.arange(count)
    blocks_out = (after[:, 1:] - after[at, at + 1][:, None]) > 0
    blocks_in = (behind[at, at][None, :] - behind[:, :-1].T) > 0
    stack[1][blocks_out] = 0.0
    stack[2][blocks_in] = 0.0
    stack[0][blocks_out | blocks_in] = 0.0


def _best_set(gain: Array) -> list[tuple[int, int]]:
    """The stretches that do not overlap and save most together."""
    count = len(gain)
    saved = np.zeros(count + 1)
    begins = np.full(count, -1, dtype=np.int64)
    for j in range(count):
        total = saved[: j + 1] + gain[: j + 1, j]
        i = int(np.argmax(total))
        if total[i] > saved[j] + 1e-9 and i < j:
            saved[j + 1], begins[j] = total[i], i
        else:
            saved[j + 1] = saved[j]
    moves, j = [], count - 1
    while j >= 0:
        if begins[j] >= 0:
            moves.append((int(begins[j]), j))
            j = int(begins[j]) - 1
        else:
            j -= 1
    return moves
