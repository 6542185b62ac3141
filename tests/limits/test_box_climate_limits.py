"""The coupled box: conservation to rounding, closed forms, symmetry, and a stiff solver on the same equations."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from iapws import IAPWS97
from scipy.integrate import solve_ivp

from findhold.physics.box_climate import (
    Box,
    Contents,
    Outside,
    box_over_time,
    film_conductance,
    latent_heat_j_per_kg,
)
from findhold.physics.moist_air import saturation_over_water_pa
from findhold.physics.vapour import air_permeability

CAPACITY, RESISTANCE, SHARE = 1484.0, 13.53, 0.0436
DAY = 86400.0


def edges(days, step_s=3600.0):
    return np.unique(np.concatenate((np.linspace(0.0, 0.2 * DAY, 60), np.arange(0.2 * DAY, days * DAY + 1.0, step_s))))


def course(temp_c, rh, days=5.0, *, contents=None, step_s=3600.0, **box):
    """A box in a place given by functions of time in seconds, or constants."""
    time_s = edges(days, step_s)
    middle = 0.5 * (time_s[1:] + time_s[:-1])
    air_c = np.broadcast_to(temp_c(middle) if callable(temp_c) else temp_c, middle.shape)[:, None]
    facts = {"inner": 4.07e-10, "film": 3e-9, "out": 1e-12, "holds_kg": 0.011, "colder_k": 0.0, **box}
    made = Box(
        heat_capacity_j_per_k=CAPACITY,
        resistance_k_per_w=np.array([RESISTANCE]),
        wall_share=SHARE,
        inner_kg_per_s_pa=np.array([facts["inner"]]),
        film_kg_per_s_pa=np.array([facts["film"]]),
        lid_holds_kg=facts["holds_kg"],
        lid_colder_k=facts["colder_k"],
    )
    outside = Outside(
        step_s=np.diff(time_s),
        temp_c=air_c,
        pressure_pa=rh * saturation_over_water_pa(air_c),
        way_out_kg_per_s_pa=np.full_like(air_c, facts["out"]),
    )
    return time_s, outside, box_over_time(made, outside, contents or Contents(temp_c=np.array([18.0])))


def wave(time_s):
    return 6.0 + 3.0 * np.sin(2.0 * np.pi * time_s / DAY)


@pytest.mark.parametrize("temp_c", [4.0, wave])
@pytest.mark.parametrize("holds_kg", [0.001, 0.011])
def test_water_is_conserved_to_rounding(temp_c, holds_kg):
    # What left the contents is on the lid, dripped back, or outside.
    _, _, got = course(temp_c, 0.7, holds_kg=holds_kg)
    given_kg = got.left_kg.sum()
    found_kg = got.out_kg.sum() + got.lid_kg[-1, 0] + got.drip_kg[-1, 0]
    assert found_kg == pytest.approx(given_kg, rel=1e-12)
    assert got.lid_kg.min() >= 0.0
    assert got.lid_kg.max() <= holds_kg


@pytest.mark.parametrize("temp_c", [4.0, wave])
def test_heat_is_conserved_to_rounding(temp_c):
    # Heat the block lost = heat through the insulation + latent heat of what left, less what condensing gave the lid.
    time_s, outside, got = course(temp_c, 0.7)
    step_s = np.diff(time_s)
    through_j = ((got.block_mean_c - outside.temp_c)[:, 0] / RESISTANCE) @ step_s
    latent = latent_heat_j_per_kg(outside.temp_c)[:, 0]
    to_lid_kg = (got.left_kg - got.out_kg)[:, 0]
    moved_j = latent @ (got.left_kg[:, 0] - SHARE * to_lid_kg)
    lost_j = CAPACITY * (got.block_c[0, 0] - got.block_c[-1, 0])
    assert through_j + moved_j == pytest.approx(lost_j, rel=1e-10)


def test_contents_that_run_out_lose_what_they_had_and_no_more():
    dry = Contents(
        temp_c=np.array([18.0]),
        water_kg=np.array([0.05]),
        drying_kg=np.array([0.0, 0.01, 0.2]),
        drying_activity=np.array([0.0, 0.98, 1.0]),
    )
    _, _, got = course(15.0, 0.0, days=60.0, contents=dry, out=5e-9, film=0.0)
    assert got.out_kg.sum() == pytest.approx(0.05, rel=1e-3)
    assert got.out_kg.sum() <= 0.05 * (1.0 + 1e-12)
    # Dry at last, the block is as warm as its place.
    assert got.block_c[-1, 0] == pytest.approx(15.0, abs=0.01)


def test_without_vapour_the_block_cools_by_newtons_law():
    time_s, _, got = course(4.0, 0.7, inner=0.0, film=0.0, out=0.0)
    expected = 4.0 + 14.0 * np.exp(-time_s / (CAPACITY * RESISTANCE))
    assert np.abs(got.block_c[:, 0] - expected).max() < 1e-9


def test_a_tight_box_loses_nothing_and_a_place_as_wet_as_the_box_takes_nothing():
    _, _, tight = course(4.0, 0.7, out=0.0)
    assert abs(tight.out_kg.sum()) < 1e-15
    _, _, wet = course(4.0, 1.0, contents=Contents(temp_c=np.array([4.0])))
    assert np.abs(wet.out_kg).max() < 1e-15


def test_a_steady_leak_lies_behind_the_cushion_and_behind_its_own_cooling():
    # dp = m (1/K_in + 1/K_out + s L R), all at the block: the balances of vapour and heat in the steady state.
    _, _, got = course(4.0, 0.7, days=30.0, film=0.0, out=2e-10, contents=Contents(temp_c=np.array([4.0])))
    block_c = got.block_c[-1, 0]
    flow = got.out_kg[-1, 0] / 3600.0
    inner = 4.07e-10
    pressure_pa = saturation_over_water_pa(block_c) - 0.7 * saturation_over_water_pa(4.0)
    assert flow == pytest.approx(float(pressure_pa) / (1.0 / inner + 1.0 / 2e-10), rel=1e-9)
    assert 4.0 - block_c == pytest.approx(flow * float(latent_heat_j_per_kg(4.0)) * RESISTANCE, rel=1e-9)


def test_the_box_agrees_with_a_stiff_solver_in_a_place_that_swings():
    # The same balances typed again; the lid's own temperature solved by the solver's function and not eliminated.
    time_s, _, got = course(wave, 0.7, days=10.0, inner=6e-10, film=3e-9, out=1e-11)
    inner4, film, out = 6e-10, 3e-9, 1e-11
    wall_k_per_w = SHARE * RESISTANCE

    def rates(t, state):
        block_c, lid_kg = state[0], state[1]
        air_c = wave(t)
        inner = inner4 * float(air_permeability(air_c) / air_permeability(4.0))
        latent = 1000.0 * (2501.0 - 2.361 * air_c)
        lid_c = air_c + SHARE * (block_c - air_c)
        for _ in range(6):
            lid_pa, out_pa = saturation_over_water_pa(lid_c), 0.7 * saturation_over_water_pa(air_c)
            over_pa = (inner * saturation_over_water_pa(block_c) + out * out_pa + film * lid_pa) / (inner + out + film)
            to_lid = film * (over_pa - lid_pa)
            to_lid = to_lid if to_lid > 0.0 else to_lid * max(lid_kg, 0.0) / (max(lid_kg, 0.0) + 1e-7)
            lid_c = air_c + SHARE * (block_c - air_c) + wall_k_per_w * (1.0 - SHARE) * latent * to_lid
        over_pa = (inner * saturation_over_water_pa(block_c) + out * out_pa - to_lid) / (inner + out)
        gone = inner * (saturation_over_water_pa(block_c) - over_pa)
        heat = (block_c - lid_c) / (RESISTANCE * (1.0 - SHARE)) + latent * gone
        return [-heat / CAPACITY, to_lid, gone - to_lid]

    truth = solve_ivp(
        rates, (0.0, 10.0 * DAY), [18.0, 0.0, 0.0], "Radau", t_eval=time_s[-1:], rtol=1e-7, atol=1e-10, max_step=3600.0
    )
    assert got.out_kg.sum() == pytest.approx(truth.y[2, -1], rel=5e-3)
    assert got.block_c[-1, 0] == pytest.approx(truth.y[0, -1], abs=0.03)
    assert got.lid_kg[-1, 0] == pytest.approx(truth.y[1, -1], rel=0.03, abs=1e-5)


def test_halving_the_steps_quarters_the_error():
    def end(step_s):
        time_s = np.arange(0.0, 12.0 * 3600.0 + 1.0, step_s)
        box = Box(
            heat_capacity_j_per_k=CAPACITY,
            resistance_k_per_w=np.array([RESISTANCE]),
            wall_share=SHARE,
            inner_kg_per_s_pa=np.array([4e-10]),
            film_kg_per_s_pa=np.array([3e-9]),
            lid_holds_kg=1.0,
        )
        outside = Outside(
            step_s=np.diff(time_s),
            temp_c=np.array([[4.0]]),
            pressure_pa=np.array([[570.0]]),
            way_out_kg_per_s_pa=np.array([[1e-12]]),
        )
        return box_over_time(box, outside, Contents(temp_c=np.array([18.0]))).moved_kg[-1, 0]

    exact = end(10.0)
    ratio = (end(3600.0) - exact) / (end(1800.0) - exact)
    assert 3.0 < ratio < 6.0


@settings(deadline=None, max_examples=60)
@given(
    place_c=st.floats(-5.0, 30.0),
    start_c=st.floats(-5.0, 30.0),
    rh=st.floats(0.0, 1.0),
    inner=st.floats(1e-12, 1e-8),
    film=st.floats(0.0, 1e-6),
    out=st.floats(0.0, 1e-8),
)
def test_any_box_stays_between_its_bounds(place_c, start_c, rh, inner, film, out):
    start = Contents(temp_c=np.array([start_c]))
    _, _, got = course(place_c, rh, contents=start, inner=inner, film=film, out=out, step_s=6.0 * 3600.0)
    assert np.all(np.isfinite(got.block_c))
    # Wet-bulb below, warmest of start and place above; a dry wind cools by no more than 40 K.
    assert got.block_c.max() <= max(place_c, start_c) + 3.0
    assert got.block_c.min() >= min(place_c, start_c) - 40.0
    assert got.out_kg.sum() + got.lid_kg[-1, 0] + got.drip_kg[-1, 0] == pytest.approx(
        got.left_kg.sum(), abs=1e-12 + 1e-10 * np.abs(got.left_kg).sum()
    )


def test_runs_side_by_side_are_the_runs_alone_in_any_order():
    time_s = edges(3.0)
    outs = np.array([1e-13, 1e-11, 1e-9, 3e-12])

    def together(order):
        box = Box(
            heat_capacity_j_per_k=CAPACITY,
            resistance_k_per_w=np.full(4, RESISTANCE),
            wall_share=SHARE,
            inner_kg_per_s_pa=np.full(4, 4e-10),
            film_kg_per_s_pa=np.full(4, 3e-9),
            lid_holds_kg=0.011,
        )
        outside = Outside(
            step_s=np.diff(time_s),
            temp_c=np.array([[4.0]]),
            pressure_pa=np.array([[570.0]]),
            way_out_kg_per_s_pa=outs[order][None, :],
        )
        return box_over_time(box, outside, Contents(temp_c=np.full(4, 18.0))).out_kg.sum(axis=0)

    straight, turned = together(np.arange(4)), together(np.array([2, 0, 3, 1]))
    assert np.array_equal(turned, straight[[2, 0, 3, 1]])
    assert np.all(np.diff(straight[[0, 3, 1, 2]]) > 0.0)


@pytest.mark.parametrize("temp_c", [1.0, 4.0, 10.0, 20.0, 40.0])
def test_latent_heat_agrees_with_an_independent_library(temp_c):
    vapour, liquid = IAPWS97(T=temp_c + 273.15, x=1.0), IAPWS97(T=temp_c + 273.15, x=0.0)
    assert float(latent_heat_j_per_kg(temp_c)) == pytest.approx(1000.0 * (vapour.h - liquid.h), rel=3e-4)


def test_a_film_of_moving_air_passes_what_was_computed():
    # 0.06 m2, h_c 4 W/(m2 K): 1.63665e-9 at 4 degC and 1.54732e-9 kg/(s Pa) at 20 degC, Chilton-Colburn.
    assert float(film_conductance(4.0, 0.06, 4.0)) == pytest.approx(1.63665e-9, rel=5e-3)
    assert float(film_conductance(4.0, 0.06, 20.0)) == pytest.approx(1.54732e-9, rel=0.06)
