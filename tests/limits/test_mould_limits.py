"""The growth law against a general solver, its inverse, and what it must never do."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from findhold.keep.surface import mould_class
from findhold.physics.mould import (
    clock_to_index,
    critical_rh,
    decline,
    first_growth_days,
    grown_index,
    growth_rate_per_s,
    index_ceiling,
)

CLASSES = ("very sensitive", "sensitive", "medium resistant", "resistant")


@pytest.mark.parametrize("name", CLASSES)
@pytest.mark.parametrize(("temp_c", "rh", "days"), [(4.0, 1.0, 60.0), (20.0, 1.0, 40.0), (15.0, 0.95, 90.0)])
def test_the_closed_form_is_the_solution_of_the_rate_law(name, temp_c, rh, days):
    kind = mould_class(name)
    ceiling = float(index_ceiling(temp_c, rh, kind))
    unit_days = float(first_growth_days(temp_c, rh))

    def rate(_, index):
        k1 = kind.k1_below if index[0] < 1.0 else kind.k1_above
        return [k1 * max(1.0 - np.exp(2.3 * (index[0] - ceiling)), 0.0) / unit_days]

    solved = solve_ivp(rate, (0.0, days), [0.0], rtol=1e-9, atol=1e-11, max_step=0.05).y[0, -1]
    assert float(grown_index(0.0, days / unit_days, kind, ceiling)) == pytest.approx(solved, rel=2e-4, abs=1e-6)


@given(
    name=st.sampled_from(CLASSES),
    start=st.floats(0.0, 0.8),
    first=st.floats(0.0, 60.0),
    second=st.floats(0.0, 60.0),
    ceiling=st.floats(0.9, 6.0),
)
def test_growing_in_two_goes_is_growing_in_one(name, start, first, second, ceiling):
    kind = mould_class(name)
    twice = grown_index(grown_index(start, first, kind, ceiling), second, kind, ceiling)
    once = grown_index(start, first + second, kind, ceiling)
    assert float(twice) == pytest.approx(float(once), rel=1e-6, abs=1e-7)


@given(name=st.sampled_from(CLASSES), start=st.floats(0.0, 2.0), target=st.floats(0.1, 2.9))
def test_the_clock_and_the_index_undo_each_other(name, start, target):
    kind = mould_class(name)
    units = float(clock_to_index(target, start, kind, 3.0))
    assert float(grown_index(start, units, kind, 3.0)) == pytest.approx(max(start, target), rel=1e-8)


@given(name=st.sampled_from(CLASSES), start=st.floats(0.0, 6.0), units=st.floats(0.0, 1e4), ceiling=st.floats(0.0, 6.0))
def test_growth_never_falls_and_never_passes_the_ceiling(name, start, units, ceiling):
    grown = float(grown_index(start, units, mould_class(name), ceiling))
    assert start <= grown <= max(start, ceiling) + 1e-9


def test_far_below_the_ceiling_growth_is_a_straight_line():
    # M = t k1 / (7 tm) below index 1, far from Mmax.
    kind = mould_class("very sensitive")
    assert float(grown_index(0.0, 0.5, kind, 6.0)) == pytest.approx(0.5 * kind.k1_below, rel=1e-4)


@pytest.mark.parametrize("name", CLASSES)
@pytest.mark.parametrize("temp_c", [2.0, 4.0, 10.0, 20.0, 25.0])
def test_just_under_the_critical_humidity_nothing_grows(name, temp_c):
    kind = mould_class(name)
    critical = float(critical_rh(temp_c, kind.rh_min))
    assert float(index_ceiling(temp_c, critical - 1e-6, kind)) == 0.0
    assert float(grown_index(0.0, 1e3, kind, index_ceiling(temp_c, critical - 1e-6, kind))) == 0.0


@pytest.mark.parametrize("name", CLASSES)
def test_in_saturated_air_the_ceiling_is_the_same_at_every_temperature(name):
    # x = 1 at RH 100 %, so Mmax = A + B - C: the reason why one clock tells the whole history.
    kind = mould_class(name)
    ceilings = index_ceiling(np.linspace(-5.0, 40.0, 91), 1.0, kind)
    assert np.max(np.abs(ceilings - (kind.a + kind.b - kind.c))) < 1e-9


def test_nothing_grows_at_or_below_zero_and_warmth_and_humidity_quicken_growth():
    rates = growth_rate_per_s(np.array([-10.0, 0.0, 2.0, 4.0, 10.0, 20.0, 40.0]), 1.0)
    assert rates[0] == rates[1] == 0.0
    assert np.all(np.diff(rates[1:]) > 0.0)
    assert np.all(np.diff(growth_rate_per_s(10.0, np.linspace(0.8, 1.0, 21))) > 0.0)


def test_decline_is_quick_then_rests_then_slow():
    # 0.032 a day for 6 h, 0 to 24 h, 0.016 a day after.
    assert float(decline(6.0)) == pytest.approx(0.008)
    assert float(decline(24.0)) == pytest.approx(0.008)
    assert float(decline(48.0)) == pytest.approx(0.024)
