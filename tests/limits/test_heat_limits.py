"""The lump against a general solver, and resistances in their limits."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from findhold.physics.heat import (
    HeatPath,
    biot_number,
    ellipsoid_area_m2,
    lumped_c,
    lumped_response_c,
    resistance,
    rounded_axes_m,
)

PATH = HeatPath(
    block_m=(0.20, 0.15, 0.08),
    cushion_m=0.02,
    box_area_m2=0.3,
    wall_m=0.0012,
    k_cushion=0.045,
    k_wall=0.22,
    film_inside=6.0,
    film_outside=8.0,
)


def test_a_lump_behind_a_logged_climate_is_the_solution_of_newtons_law():
    time_s = np.arange(0.0, 5.0 * 86400.0, 3600.0)
    outside = 4.0 + 2.0 * np.sin(time_s / 7000.0) + np.where(time_s > 2e5, 10.0, 0.0)
    tau_s = 20088.0
    solved = solve_ivp(
        lambda t, y: [(np.interp(t, time_s, outside) - y[0]) / tau_s],
        (0.0, time_s[-1]),
        [18.0],
        t_eval=time_s,
        rtol=1e-9,
        atol=1e-9,
        max_step=600.0,
    ).y[0]
    assert np.max(np.abs(lumped_response_c(time_s, outside, 18.0, tau_s) - solved)) < 1e-4


@given(start=st.floats(-5.0, 40.0), outside=st.floats(-5.0, 40.0), tau_h=st.floats(0.1, 50.0))
def test_in_a_steady_place_the_response_is_newtons_cooling(start, outside, tau_h):
    time_s = np.linspace(0.0, 3e5, 50)
    response = lumped_response_c(time_s, np.full(50, outside), start, 3600.0 * tau_h)
    assert np.max(np.abs(response - lumped_c(time_s, start, outside, 3600.0 * tau_h))) < 1e-9


def test_many_lumps_at_once_are_each_alone():
    time_s = np.linspace(0.0, 1e5, 60)
    outside = 5.0 + np.sin(time_s / 9000.0)
    taus = np.array([3000.0, 20000.0, 90000.0])
    together = lumped_response_c(time_s, outside, 18.0, taus)
    assert together.shape == (3, 60)
    for row, tau_s in zip(together, taus, strict=True):
        assert np.max(np.abs(row - lumped_response_c(time_s, outside, 18.0, float(tau_s)))) < 1e-12


def test_a_steady_offset_of_the_place_is_answered_by_the_offset_times_the_lag():
    time_s = np.linspace(0.0, 2e5, 300)
    outside, tau_s = 5.0 + 3.0 * np.sin(time_s / 9000.0), 20000.0
    moved = lumped_response_c(time_s, outside + 1.5, 18.0, tau_s) - lumped_response_c(time_s, outside, 18.0, tau_s)
    assert np.max(np.abs(moved - 1.5 * (1.0 - np.exp(-time_s / tau_s)))) < 1e-10


def test_the_shell_of_a_sphere_conducts_as_the_closed_form():
    # (1/r1 - 1/r2) / (4 pi k) for concentric spheres.
    side = 0.1
    radius = side * (3.0 / (4.0 * math.pi)) ** (1.0 / 3.0)
    got = resistance(replace(PATH, block_m=(side, side, side), cushion_m=0.03)).cushion
    assert got == pytest.approx((1.0 / radius - 1.0 / (radius + 0.03)) / (4.0 * math.pi * 0.045), rel=1e-12)


def test_a_thin_cushion_is_a_plane_wall_and_none_is_none():
    thin = resistance(replace(PATH, cushion_m=1e-6)).cushion
    area = ellipsoid_area_m2(rounded_axes_m(PATH.block_m))
    assert thin == pytest.approx(1e-6 / (0.045 * area), rel=1e-4)
    assert resistance(replace(PATH, cushion_m=0.0)).cushion == 0.0


def test_the_rounded_body_has_the_blocks_volume():
    a, b, c = rounded_axes_m(PATH.block_m)
    assert 4.0 / 3.0 * math.pi * a * b * c == pytest.approx(math.prod(PATH.block_m), rel=1e-12)


def test_the_area_of_a_flat_spheroid_meets_its_closed_form_within_its_claim():
    # Oblate spheroid: 2 pi a^2 (1 + (1-e^2)/e artanh e). The approximation claims 1.1 %.
    a, c = 0.10, 0.03
    e = math.sqrt(1.0 - (c / a) ** 2)
    exact = 2.0 * math.pi * a**2 * (1.0 + (1.0 - e**2) / e * math.atanh(e))
    integral = quad(lambda z: 2.0 * math.pi * a * math.sqrt(1.0 + (a**2 - c**2) * z**2 / c**4), -c, c)[0]
    assert integral == pytest.approx(exact, rel=1e-9)
    assert ellipsoid_area_m2((a, a, c)) == pytest.approx(exact, rel=0.011)


def test_a_flat_block_cools_faster_than_a_round_one_of_its_volume_and_a_thick_cushion_slows_it():
    side = math.prod(PATH.block_m) ** (1.0 / 3.0)
    round_one = resistance(replace(PATH, block_m=(side, side, side)))
    flat = resistance(PATH)
    assert flat.total < round_one.total
    assert resistance(replace(PATH, cushion_m=0.04)).total > flat.total
    assert 0.0 < flat.wall_share < 0.2
    assert biot_number(PATH.block_m, flat.total, 1.2) < biot_number(PATH.block_m, flat.total, 0.3)
