"""Kelvin humidity, tissue moisture and the shared water of soil and paper, against printed figures."""

import pytest

from findhold.physics.soil import DryTail
from findhold.physics.sorption import (
    ClosedPair,
    equilibrate,
    gab_activity,
    gab_c_and_k,
    gab_moisture,
    kelvin_psi_pa,
    kelvin_rh,
    water_density_kg_per_m3,
)
from findhold.tables.materials import tissue
from findhold.tables.soils import find_soil

TAIL = DryTail(start_pa=1.5e6, end_pa=1e9)


def test_kelvin_humidity_at_4_and_20_degrees(authority):
    """Table computed with the water density of a reference equation of state."""
    rows = authority("keeping_kelvin.csv")
    assert len(rows) == 36
    for row in rows:
        rh = float(kelvin_rh(float(row["psi_Pa"]), float(row["t_C"])))
        # density to 3e-6: at RH 4e-4 the exponent is 7.8, so 3e-5 of the humidity
        assert rh == pytest.approx(float(row["RH"]), rel=4e-5), row


def test_suction_of_a_humidity(authority):
    """The inverse table, printed to six digits."""
    for row in authority("keeping_kelvin_inverse.csv"):
        psi = float(kelvin_psi_pa(float(row["RH"]), float(row["t_C"])))
        assert psi == pytest.approx(float(row["psi_Pa"]), rel=1e-5), row


def test_wilting_point_at_20_degrees_is_the_usual_98_9_percent():
    """Soil physics' usual figure: 98.9 % RH at 1.5 MPa and 20 °C."""
    assert float(kelvin_rh(-1.5e6, 20.0)) == pytest.approx(0.989, abs=5e-4)


def test_water_density_at_4_and_20_degrees():
    """999.972 kg/m3 at 4 °C (reference equation of state; we are 3 ppm away) and 998.2 kg/m3 at 20 °C (handbook)."""
    assert float(water_density_kg_per_m3(4.0)) == pytest.approx(999.972, abs=4e-3)
    assert float(water_density_kg_per_m3(20.0)) == pytest.approx(998.2, abs=0.05)


def test_tissue_moisture_at_20_degrees(authority):
    """GAB with the constants of Tryding and others 2022 after data of Leuk and others 2016; 4 °C rows are invalid."""
    rows = [row for row in authority("keeping_paper_gab.csv") if row["validity"] == "ok"]
    assert len(rows) >= 13
    for row in rows:
        moisture = float(gab_moisture(float(row["aw"]), float(row["t_C"]), tissue()))
        assert moisture == pytest.approx(float(row["moisture_kg_per_kg_dry"]), rel=5e-5), row  # five digits printed


def test_constants_of_the_isotherm_at_20_degrees():
    """C 13.679 and K 0.9131 at 20 °C, as printed."""
    c, k = gab_c_and_k(20.0, tissue())
    assert c == pytest.approx(13.679, abs=5e-4)
    assert k == pytest.approx(0.9131, abs=5e-5)


def test_the_isotherm_is_held_at_20_degrees_in_the_cold():
    """K passes 1 below 8.4 °C, so a fridge uses the 20 °C curve: 0.66 g/g at RH 1."""
    assert float(gab_moisture(1.0, 4.0, tissue())) == pytest.approx(0.6606, abs=5e-5)
    assert float(gab_activity(0.3193, 4.0, tissue())) == pytest.approx(0.9, abs=1e-4)


def test_loam_and_paper_share_their_water():
    """Analytic check 7: 720 g dry loam at 0.20, 1400 kg/m3, with 20.25 g paper at 0.08, 4 °C."""
    pair = ClosedPair(
        soil_dry_g=720.0,
        dry_density_kg_per_m3=1400.0,
        theta=0.20,
        paper_dry_g=20.25,
        paper_moisture=0.08,
        temp_c=4.0,
    )
    settled = equilibrate(pair, find_soil("loam").retention, TAIL, tissue())
    assert float(settled.rh) == pytest.approx(0.99979945, abs=1e-8)
    assert float(settled.paper_moisture) == pytest.approx(0.6592, abs=5e-5)
    assert float(settled.soil_gains_g) == pytest.approx(-11.73, abs=5e-3)
