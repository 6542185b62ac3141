"""Cooling against the printed checks and the worked box."""

import numpy as np
import pytest

from findhold.physics.heat import HeatPath, biot_number, lumped_c, lumped_response_c, resistance
from findhold.tables.keeping import thermal

SIDE_M = (0.72 / 1400.0) ** (1.0 / 3.0)
WORKED = HeatPath(
    block_m=(SIDE_M, SIDE_M, SIDE_M),
    cushion_m=0.02,
    box_area_m2=0.22,
    wall_m=0.0012,
    k_cushion=0.045,
    k_wall=0.22,
    film_inside=6.0,
    film_outside=8.0,
)


@pytest.mark.parametrize(("hours", "printed_c"), [(1, 15.74175), (6, 8.87255), (24, 4.205419)])
def test_lumped_cooling_meets_the_analytic_limits(hours, printed_c):
    # R 13.8 K/W, C 1483 J/K, 18 -> 4 degC.
    assert float(lumped_c(np.array(3600.0 * hours), 18.0, 4.0, 13.8 * 1483.0)) == pytest.approx(printed_c, abs=1e-5)


@pytest.mark.parametrize(
    ("amplitude_k", "period_s", "tau_s", "printed_k"),
    [(1.5, 2700.0, 20000.0, 0.0322214), (1.5, 2700.0, 600.0, 0.8734), (2.0, 86400.0, 20000.0, 1.13311)],
)
def test_a_refrigerators_swing_is_damped_as_printed(amplitude_k, period_s, tau_s, printed_k):
    # Amplitude behind the lump: A / sqrt(1 + (w tau)^2).
    time_s = np.linspace(0.0, 12.0 * tau_s + 4.0 * period_s, 40001)
    lump = lumped_response_c(time_s, amplitude_k * np.sin(2.0 * np.pi * time_s / period_s), 0.0, tau_s)
    settled = lump[time_s > time_s[-1] - period_s]
    assert float(np.ptp(settled)) / 2.0 == pytest.approx(printed_k, rel=2e-3)


def test_the_worked_boxs_resistance_capacity_and_biot_number():
    # Worked box: R 13.53 K/W, C 1484 J/K, tau 5.58 h, Bi 0.0986.
    total = resistance(WORKED).total
    capacity = 0.72 * thermal("specific heat mineral") + 0.02025 * thermal("specific heat tissue")
    capacity += (0.18 + 0.030375) * thermal("specific heat water")
    assert total == pytest.approx(13.53, abs=0.005)
    assert capacity == pytest.approx(1484.0, rel=1.5e-3)
    assert total * capacity / 3600.0 == pytest.approx(5.58, abs=0.01)
    assert biot_number(WORKED.block_m, total, thermal("conductivity block")) == pytest.approx(0.0986, abs=5e-5)
