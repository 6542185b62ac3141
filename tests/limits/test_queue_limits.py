"""The order of one queue against every order, and the figures of its moves against reckoning anew."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.book import queue
from findhold.errors import BadInput

JOB = st.tuples(st.integers(1, 9), st.integers(0, 30), st.integers(0, 5))


def plain_tardiness(order, jobs):
    clock = total = 0
    for k in order:
        hours, due, weight = jobs[k]
        clock += hours
        total += weight * max(0, clock - due)
    return total


@settings(max_examples=120)
@given(
    st.lists(JOB, min_size=1, max_size=6),
    st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), max_size=3),
)
def test_short_queues_are_the_best_of_all_orders(jobs, pairs):
    before = sorted({(min(a, b), max(a, b)) for a, b in pairs if a != b and max(a, b) < len(jobs)})
    found = queue.order_queue(*zip(*jobs, strict=True), before=before)
    orders = [
        order
        for order in itertools.permutations(range(len(jobs)))
        if all(order.index(a) < order.index(b) for a, b in before)
    ]
    assert found.proved
    assert found.order in orders
    assert found.tardiness_h == pytest.approx(min(plain_tardiness(order, jobs) for order in orders))


@settings(max_examples=25)
@given(st.lists(JOB, min_size=7, max_size=7), st.booleans())
def test_the_search_finds_what_trying_every_order_finds(jobs, bound):
    """The search for long queues, used on short ones where every order can be tried."""
    arrays = tuple(np.array(values, dtype=float) for values in zip(*jobs, strict=True))
    before = ((0, 3), (3, 5)) if bound else ()
    searched = queue._searched(arrays, before, 60, np.random.default_rng(1))
    assert all(searched.order.index(a) < searched.order.index(b) for a, b in before)
    assert searched.tardiness_h == pytest.approx(queue._exact(arrays, before).tardiness_h)


def test_the_gain_of_every_move_is_what_reckoning_the_new_order_gives():
    draw = np.random.default_rng(4)
    jobs = (draw.integers(1, 50, 14) * 1.0, draw.integers(0, 300, 14) * 1.0, draw.integers(1, 9, 14) * 1.0)
    order = draw.permutation(14)
    gain, kind = queue._gains(order, jobs, queue._Order(14, ()))
    now = queue.tardiness_h(order, *jobs)
    for i, j in itertools.combinations(range(14), 2):
        swap, out, into = order.copy(), order.copy(), order.copy()
        swap[[i, j]] = swap[[j, i]]
        out[i : j + 1] = np.roll(order[i : j + 1], -1)
        into[i : j + 1] = np.roll(order[i : j + 1], 1)
        saved = [now - queue.tardiness_h(one, *jobs) for one in (swap, out, into)]
        assert gain[i, j] == pytest.approx(max(saved), abs=1e-9)
        assert saved[kind[i, j]] == pytest.approx(max(saved), abs=1e-9)


def test_a_long_queue_that_can_be_in_time_is_and_is_proved():
    count = 30
    found = queue.order_queue([1.0] * count, [float(count - k) for k in range(count)], [1.0] * count)
    assert (found.tardiness_h, found.proved) == (0.0, True)
    assert found.order == tuple(reversed(range(count)))


def test_the_same_seed_gives_the_same_order():
    draw = np.random.default_rng(5)
    lists = (draw.integers(1, 50, 25), draw.integers(0, 400, 25), draw.integers(1, 9, 25))
    first, second = (queue.order_queue(*lists, kicks=20, seed=3) for _ in range(2))
    assert first == second


def test_pairs_hold_in_long_queues():
    draw = np.random.default_rng(6)
    before = ((24, 0), (0, 12), (7, 3))
    found = queue.order_queue(
        draw.integers(1, 50, 25), draw.integers(0, 400, 25), draw.integers(1, 9, 25), before=before, kicks=30
    )
    assert sorted(found.order) == list(range(25))
    assert all(found.order.index(a) < found.order.index(b) for a, b in before)


@pytest.mark.parametrize(
    ("lists", "before"),
    [
        (([1.0], [1.0, 2.0], [1.0]), ()),
        (([-1.0], [1.0], [1.0]), ()),
        (([1.0], [1.0], [float("nan")]), ()),
        (([1.0, 1.0], [1.0, 1.0], [1.0, 1.0]), ((0, 1), (1, 0))),
        (([1.0] * 15, [1.0] * 15, [1.0] * 15), ((0, 1), (1, 0))),
    ],
)
def test_lists_that_cannot_be_meant_are_refused(lists, before):
    with pytest.raises(BadInput):
        queue.order_queue(*lists, before=before)
