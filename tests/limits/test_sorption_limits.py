"""Tissue and shared water: inverse, conservation, no movement at balance, free water."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.physics.soil import DryTail, water_content, water_potential
from findhold.physics.sorption import ClosedPair, equilibrate, gab_activity, gab_moisture, kelvin_psi_pa, kelvin_rh
from findhold.tables.materials import tissue
from findhold.tables.soils import find_soil

TAIL = DryTail(start_pa=1.5e6, end_pa=1e9)
LOAM = find_soil("loam").retention


def pair(*, theta=0.2, paper_dry_g=20.25, paper_moisture=0.08, soil_dry_g=720.0):
    return ClosedPair(
        soil_dry_g=soil_dry_g,
        dry_density_kg_per_m3=1400.0,
        theta=theta,
        paper_dry_g=paper_dry_g,
        paper_moisture=paper_moisture,
        temp_c=4.0,
    )


@given(rh=st.floats(1e-6, 1.0), temp_c=st.floats(0, 40))
def test_activity_inverts_moisture(rh, temp_c):
    moisture = gab_moisture(rh, temp_c, tissue())
    assert float(gab_activity(moisture, temp_c, tissue())) == pytest.approx(rh, rel=1e-9)


def test_dry_paper_holds_nothing_and_free_water_stands_at_one():
    assert float(gab_moisture(0.0, 20.0, tissue())) == 0.0
    assert float(gab_activity(0.0, 20.0, tissue())) == 0.0
    assert float(gab_activity(1.5, 20.0, tissue())) == 1.0


@given(psi_pa=st.floats(-1e9, -1.0), temp_c=st.floats(0, 40))
def test_kelvin_inverts(psi_pa, temp_c):
    assert float(kelvin_psi_pa(kelvin_rh(psi_pa, temp_c), temp_c)) == pytest.approx(psi_pa, rel=1e-6, abs=1e-6)


@given(theta=st.floats(0.01, 0.43), moisture=st.floats(0.0, 3.0), paper_g=st.floats(0.1, 500.0))
def test_water_is_conserved(theta, moisture, paper_g):
    closed = pair(theta=theta, paper_moisture=moisture, paper_dry_g=paper_g)
    settled = equilibrate(closed, LOAM, TAIL, tissue())
    soil_cm3 = 720.0 / 1.4
    before = soil_cm3 * theta + paper_g * moisture
    after = soil_cm3 * float(settled.theta) + paper_g * float(settled.paper_moisture) + float(settled.free_g)
    assert after == pytest.approx(before, abs=1e-8)


@given(theta=st.floats(0.05, 0.42))
def test_paper_wetted_to_the_soil_neither_gives_nor_takes(theta):
    balanced = gab_moisture(kelvin_rh(water_potential(theta, LOAM, TAIL), 4.0), 4.0, tissue())
    settled = equilibrate(pair(theta=theta, paper_moisture=balanced), LOAM, TAIL, tissue())
    assert abs(float(settled.soil_gains_g)) < 1e-6


def test_too_much_water_stays_free():
    settled = equilibrate(pair(theta=0.43, paper_moisture=2.0), LOAM, TAIL, tissue())
    full = float(gab_moisture(1.0, 4.0, tissue()))
    assert float(settled.free_g) == pytest.approx(20.25 * (2.0 - full), abs=1e-9)
    assert float(settled.rh) == 1.0


def test_many_pairs_at_once_are_the_pairs_one_by_one():
    thetas = np.array([0.1, 0.2, 0.3])
    together = equilibrate(pair(theta=thetas), LOAM, TAIL, tissue())
    apart = [float(equilibrate(pair(theta=float(t)), LOAM, TAIL, tissue()).psi_pa) for t in thetas]
    assert together.psi_pa == pytest.approx(apart, rel=1e-12)


def test_much_soil_keeps_its_potential():
    """The limit of a block without end: the paper comes to the soil's own potential."""
    settled = equilibrate(pair(soil_dry_g=7.2e9), LOAM, TAIL, tissue())
    assert float(settled.theta) == pytest.approx(0.2, abs=1e-7)
    assert float(water_content(settled.psi_pa, LOAM, TAIL)) == pytest.approx(0.2, abs=1e-7)
