"""Cushions: identities of the law, both branches of the usable loading, what grows with what, and closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.cushion.foot import feet, underside_mm
from findhold.physics import cushioning
from findhold.physics.cushioning import StressEnergy

stiffness = st.floats(5e3, 2e5)
growth = st.floats(5e-6, 2e-4)
drops = st.floats(0.1, 1.5)
thick = st.floats(0.025, 0.2)


def law_of(a, b):
    return StressEnergy(a_pa=a, b_per_pa=b)


@given(a=stiffness, b=growth, h=drops, t=thick)
def test_the_lowest_point_is_flat_and_lowest(a, b, h, t):
    law = law_of(a, b)
    best = float(cushioning.best_stress_pa(law, h, t))
    near = cushioning.peak_g(law, best * np.array([0.999, 1.0, 1.001]), h, t)
    # Second order: moving by a thousandth changes G by half a millionth of itself.
    assert abs(near[2] - near[0]) < 1e-6 * near[1]
    assert near[1] <= min(near[0], near[2])
    assert float(cushioning.least_g(law, h, t)) == pytest.approx(near[1], rel=1e-12)


@given(a=stiffness, b=growth, h=drops, t=thick, over=st.floats(1.0001, 50.0))
def test_both_edges_of_the_usable_loading_give_the_limit(a, b, h, t, over):
    law = law_of(a, b)
    limit = float(cushioning.least_g(law, h, t)) * over
    low, high = cushioning.usable_stress_pa(law, limit, h, t)
    assert low <= float(cushioning.best_stress_pa(law, h, t)) <= high
    assert np.allclose(cushioning.peak_g(law, [low, high], h, t), limit, rtol=1e-7)


@given(a=stiffness, b=growth, h=drops, t=thick, under=st.floats(0.05, 0.9999))
def test_no_loading_is_usable_under_the_lowest_point(a, b, h, t, under):
    law = law_of(a, b)
    found = cushioning.usable_stress_pa(law, float(cushioning.least_g(law, h, t)) * under, h, t)
    assert all(math.isnan(edge) for edge in found)


def test_the_edges_meet_where_the_limit_touches_the_curve():
    law = law_of(63_691.0, 1.65979e-5)
    limit = float(cushioning.least_g(law, 0.6, 0.075))
    low, high = cushioning.usable_stress_pa(law, limit, 0.6, 0.075)
    assert low == pytest.approx(high, rel=1e-5)
    assert low == pytest.approx(float(cushioning.best_stress_pa(law, 0.6, 0.075)), rel=1e-5)


@given(a=stiffness, b=growth, h=drops, s=st.floats(200.0, 5e4), over=st.floats(1.01, 40.0))
def test_the_thickness_for_a_loading_gives_back_its_limit(a, b, h, s, over):
    law = law_of(a, b)
    limit = over * a / s
    t = float(cushioning.thickness_at_stress_m(law, s, h, limit))
    assert float(cushioning.peak_g(law, s, h, t)) == pytest.approx(limit, rel=1e-9)
    assert t >= float(cushioning.least_thickness_m(law, h, limit)) * (1 - 1e-12)


@given(a=stiffness, b=growth, h=drops, s=st.floats(200.0, 5e4), share=st.floats(0.01, 1.0))
def test_a_foam_too_stiff_for_its_loading_has_no_thickness(a, b, h, s, share):
    assert math.isnan(float(cushioning.thickness_at_stress_m(law_of(a, b), s, h, share * a / s)))


@given(s=st.floats(200.0, 5e4), limit=st.floats(5.0, 100.0), h=drops, factor=st.floats(1.5, 6.0))
def test_the_suiting_stiffness_makes_a_loading_the_best_one(s, limit, h, factor):
    a = float(cushioning.suiting_stiffness_pa(s, limit))
    law = law_of(a, factor / (a * math.e))
    t = float(cushioning.least_thickness_m(law, h, limit))
    assert float(cushioning.best_stress_pa(law, h, t)) == pytest.approx(s, rel=1e-9)


@given(a=stiffness, b=growth, h=drops, t=thick, s=st.floats(200.0, 5e4))
def test_peaks_fall_with_thickness_and_rise_with_the_drop(a, b, h, t, s):
    law = law_of(a, b)
    here = float(cushioning.peak_g(law, s, h, t))
    assert float(cushioning.peak_g(law, s, h, t * 1.1)) < here
    assert float(cushioning.peak_g(law, s, h * 1.1, t)) > here


@given(h=drops, limit=st.floats(1.5, 200.0))
def test_a_constant_force_over_the_bound_takes_up_the_whole_fall(h, limit):
    travel = float(cushioning.constant_force_travel_m(h, limit))
    assert h + travel == pytest.approx(limit * travel, rel=1e-9)


@given(h=drops, limit=st.floats(2.5, 200.0))
def test_a_linear_spring_that_keeps_a_limit_gives_it_back(h, limit):
    sink = float(cushioning.linear_spring_sink_m(h, limit))
    assert float(cushioning.linear_spring_g(h, sink)) == pytest.approx(limit, rel=1e-9)


def test_a_load_laid_on_a_spring_without_falling_feels_twice_its_weight():
    assert float(cushioning.linear_spring_g(0.0, 0.005)) == pytest.approx(2.0)


def test_a_half_sine_takes_up_its_change_of_speed():
    # The area under G g sin(pi t / T) is 2 G g T / pi.
    duration = float(cushioning.half_sine_s(3.43, 25.0))
    assert 2.0 * 25.0 * cushioning.G0 * duration / math.pi == pytest.approx(3.43, rel=1e-12)


@given(zeta=st.floats(0.01, 1.0))
def test_every_damping_passes_the_same_motion_at_root_two(zeta):
    assert float(cushioning.transmissibility(math.sqrt(2.0), zeta)) == pytest.approx(1.0, rel=1e-12)
    assert float(cushioning.transmissibility(0.0, zeta)) == 1.0


def test_a_flat_spectrum_adds_up_to_height_times_width():
    corners, heights = np.array([10.0, 20.0, 60.0]), np.full(3, 0.02)
    assert cushioning.spectrum_grms(corners, heights) == pytest.approx(math.sqrt(0.02 * 50.0), rel=1e-12)


def test_a_spectrum_falling_as_one_over_f_adds_up_by_its_logarithm():
    corners = np.array([10.0, 40.0])
    assert cushioning.spectrum_grms(corners, 0.2 / corners) == pytest.approx(math.sqrt(0.2 * math.log(4.0)), rel=1e-9)


def test_a_spectrum_is_nothing_outside_its_corners():
    corners, heights = np.array([4.0, 16.0]), np.array([0.01, 0.01])
    assert list(cushioning.density_at([3.9, 8.0, 16.1], corners, heights)) == [0.0, pytest.approx(0.01), 0.0]


def test_boards_sag_as_the_closed_forms_say():
    # 100 N/m, 0.3 m, E I 50 N m2: 5 w L^4 / 384 E I between, w c^4 / 8 E I at a free end.
    assert cushioning.board_sag_m(100.0, 0.3, 50.0, overhang=False) == pytest.approx(5 * 100 * 0.3**4 / (384 * 50))
    assert cushioning.board_sag_m(100.0, 0.3, 50.0, overhang=True) == pytest.approx(100 * 0.3**4 / (8 * 50))


def test_a_prism_of_a_density_presses_like_its_weight_on_its_base():
    mass = 1800 * 0.26 * 0.22 * 0.18
    assert float(cushioning.bearing_pressure_pa(mass, 0.26 * 0.22)) == pytest.approx(
        float(cushioning.prism_pressure_pa(1800, 0.18)), rel=1e-12
    )


def test_the_underside_of_a_triangle_standing_on_its_point_is_two_slopes():
    point_down = [(50.0, 0.0), (100.0, 40.0), (0.0, 40.0)]
    found = underside_mm(point_down, [0.0, 25.0, 50.0, 75.0, 100.0, 120.0])
    assert list(found[:5]) == pytest.approx([40.0, 20.0, 0.0, 20.0, 40.0])
    assert math.isnan(found[5])


def test_a_prism_bears_along_all_its_sides_and_hangs_nowhere():
    box = [(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0)]
    along, across = feet(box, box, (), (100.0, 100.0, 50.0))
    assert (along.bears_mm, along.overhang_mm, across.off_middle_mm) == pytest.approx((100.0, 0.0, 0.0))


def test_a_foot_off_the_middle_is_told_with_its_side():
    # Foot from 10 to 60 of 100: its middle lies at 35, 15 before the block's.
    leaning = [(10.0, 0.0), (60.0, 0.0), (100.0, 30.0), (100.0, 50.0), (0.0, 50.0), (0.0, 30.0)]
    along, _ = feet(leaning, leaning, (), (100.0, 100.0, 50.0))
    # Within one millimetre of height the slopes still touch: 1/30 of 40 mm on one side and of 10 mm on the other.
    assert along.off_middle_mm == pytest.approx(-15.0, abs=0.8)
    assert along.overhang_mm == pytest.approx(40.0, abs=1.6)


def test_an_arched_base_bears_on_its_two_ends_only():
    arch = [(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (80.0, 10.0), (80.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0)]
    along, _ = feet(arch, arch, (), (100.0, 100.0, 50.0))
    assert along.bears_mm == pytest.approx(40.0, abs=0.5)
    assert (along.from_mm, along.to_mm) == pytest.approx((0.0, 100.0))
