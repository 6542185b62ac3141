"""Bands, crossings, spells, even draws and ranks."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from findhold.physics.band import (
    band,
    band_edges,
    even_normal,
    even_uniform,
    first_crossing_s,
    first_spell_s,
    rank_shares,
    ranks,
    time_above_s,
)


@given(values=arrays(float, st.integers(1, 200), elements=st.floats(-1e6, 1e6)), best=st.floats(-1e6, 1e6))
def test_a_band_always_holds_the_best_run_and_says_when_it_was_moved(values, best):
    edges, moved = band(values, best)
    low, high = band_edges(values)
    assert edges.low <= edges.best <= edges.high
    assert moved == (not low <= best <= high)
    assert edges.low <= low
    assert edges.high >= high


def test_edges_leave_a_twentieth_on_each_side():
    low, high = band_edges(np.arange(1.0, 1002.0))
    assert (low, high) == (51.0, 951.0)


def test_never_is_an_allowed_edge():
    assert band_edges(np.array([1.0] * 10 + [np.inf] * 10)) == (1.0, np.inf)


def test_draws_have_the_median_and_spread_asked_for_at_any_size():
    rng = np.random.default_rng(5)
    for count in (20, 101, 5000):
        normal, uniform = even_normal(rng, count), even_uniform(rng, count)
        assert abs(float(np.median(normal))) < 1e-9
        assert float(np.mean(uniform)) == pytest.approx(0.5)
        assert np.array_equal(np.floor(np.sort(uniform) * count), np.arange(count))
    assert float(np.std(normal)) == pytest.approx(1.0, abs=2e-3)


def test_normal_draws_are_the_normal_quantiles():
    drawn = np.sort(even_normal(np.random.default_rng(1), 200))
    assert np.max(np.abs(drawn - stats.norm.ppf((np.arange(200) + 0.5) / 200))) < 1e-9


@given(values=arrays(float, 40, elements=st.sampled_from([0.0, 1.0, 2.0, 3.0, np.inf])))
def test_ranks_share_ties(values):
    assert np.array_equal(ranks(values), stats.rankdata(values))


def test_rank_shares_agree_with_spearman():
    rng = np.random.default_rng(3)
    given_rows = rng.normal(size=(3, 500))
    results = np.array([given_rows[0] ** 3 + rng.normal(size=500), np.full(500, 2.0)])
    shares = rank_shares(given_rows, results)
    for row in range(3):
        expected = stats.spearmanr(given_rows[row], results[0]).statistic ** 2
        assert shares[row, 0] == pytest.approx(expected, rel=1e-9)
    assert np.array_equal(shares[:, 1], np.zeros(3))


def test_the_first_crossing_is_straight_between_points():
    time_s = np.array([0.0, 10.0, 20.0])
    rows = np.array([[18.0, 8.0, 4.0], [18.0, 10.0, 6.0], [7.0, 9.0, 9.0], [18.0, 12.0, 9.0]])
    got = first_crossing_s(time_s, rows, 8.0)
    assert got.tolist() == [10.0, 15.0, 0.0, np.inf]


def test_a_spell_must_last_long_enough_to_count():
    time_s = np.arange(0.0, 100.0, 10.0)
    values = np.array([0.0, 20.0, 0.0, 0.0, 10.0, 20.0, 20.0, 10.0, 0.0, 0.0])
    assert first_spell_s(time_s, values, 5.0, 0.0) == pytest.approx(2.5)
    assert first_spell_s(time_s, values, 5.0, 30.0) == pytest.approx(35.0)
    assert first_spell_s(time_s, values, 5.0, 60.0) == np.inf
    assert first_spell_s(time_s, values + 10.0, 5.0, 1e9) == 0.0


def test_time_above_a_level_counts_parts_of_steps():
    time_s = np.array([0.0, 10.0, 20.0, 30.0, 40.0])
    assert time_above_s(time_s, np.array([0.0, 20.0, 20.0, 0.0, 0.0]), 5.0) == pytest.approx(7.5 + 10.0 + 7.5)
    assert time_above_s(time_s, np.full(5, 5.0), 5.0) == 0.0
