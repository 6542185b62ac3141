"""Soil water: ends of the curve, inverse, no step at the tail, monotone."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.physics.soil import DryTail, van_genuchten_1980, water_content, water_potential
from findhold.tables.soils import find_soil, soil_constants, soil_names

TAIL = DryTail(start_pa=soil_constants().tail_start_pa, end_pa=soil_constants().tail_end_pa)
WITH_CURVE = [name for name in soil_names() if find_soil(name).retention is not None]


@pytest.mark.parametrize("soil", WITH_CURVE)
def test_saturated_at_no_suction_and_empty_at_the_dry_end(soil):
    curve = find_soil(soil).retention
    assert float(water_content(0.0, curve, TAIL)) == pytest.approx(curve.theta_s, rel=1e-15)
    assert float(water_content(1e3, curve, TAIL)) == pytest.approx(curve.theta_s, rel=1e-15)
    assert float(water_content(-1e9, curve, TAIL)) == 0.0
    assert float(water_content(-1e12, curve, TAIL)) == 0.0
    assert float(water_potential(curve.theta_s, curve, TAIL)) == 0.0
    assert float(water_potential(0.0, curve, TAIL)) == pytest.approx(-1e9)


@pytest.mark.parametrize("soil", WITH_CURVE)
def test_the_tail_starts_where_the_curve_ends(soil):
    curve = find_soil(soil).retention
    wet, dry = water_content([-1.5e6 * (1 - 1e-9), -1.5e6 * (1 + 1e-9)], curve, TAIL)
    assert wet == pytest.approx(dry, abs=1e-9)
    assert float(van_genuchten_1980(-1.5e6, curve)) == pytest.approx(float(wet), abs=1e-9)


@pytest.mark.parametrize("soil", WITH_CURVE)
def test_water_falls_as_suction_rises(soil):
    theta = water_content(-np.logspace(0, 10, 400), find_soil(soil).retention, TAIL)
    assert (np.diff(theta) <= 0).all()
    assert (theta >= 0).all()


@given(soil=st.sampled_from(WITH_CURVE), share=st.floats(0.002, 0.999))
def test_potential_inverts_water_content(soil, share):
    curve = find_soil(soil).retention
    theta = share * curve.theta_s
    psi = water_potential(theta, curve, TAIL)
    assert float(water_content(psi, curve, TAIL)) == pytest.approx(theta, rel=1e-9)


def test_effective_saturation_of_one_half_by_hand():
    """n = 2, m = 1/2: S = (1 + (a h)^2)^-1/2, so a h = sqrt(3) gives S = 1/2 exactly."""

    class ByHand:
        theta_r, theta_s, alpha_per_cm, n = 0.1, 0.5, 0.02, 2.0

    psi = -98.0665 * np.sqrt(3.0) / 0.02
    assert float(van_genuchten_1980(psi, ByHand())) == pytest.approx(0.3, rel=1e-12)
