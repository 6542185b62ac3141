"""Saturation pressure and dew point against printed tables and two independent libraries."""

import iapws._iapws
import iapws.iapws97
import numpy as np
import psychrolib
import pytest

from findhold.errors import BadInput
from findhold.physics.moist_air import (
    dew_point_c,
    saturation_over_ice_pa,
    saturation_over_water_pa,
    vapour_pressure_pa,
)


def test_saturation_agrees_with_the_full_1995_formulation_as_its_auxiliary_equation_should(authority):
    # Largest gap of the auxiliary equation (Wagner and Pruss 2002, eq. 2.5) at 0-40 degC: 7.2e-5, at 9-10 degC.
    rows = [row for row in authority("keeping_psat.csv") if row["psat_IAPWS95_Pa"]]
    printed = np.array([float(row["psat_IAPWS95_Pa"]) for row in rows])
    ours = saturation_over_water_pa(np.array([float(row["t_C"]) for row in rows]))
    assert len(rows) > 35
    assert np.max(np.abs(ours / printed - 1.0)) < 8e-5


def test_undercooled_water_agrees_with_murphy_and_koop(authority):
    # Murphy and Koop 2005 eq. 10 is the authority below 0.01 degC; ours extrapolates there.
    rows = [row for row in authority("keeping_psat.csv") if float(row["t_C"]) < 0.0]
    printed = np.array([float(row["psat_MurphyKoop2005_water_Pa"]) for row in rows])
    ours = saturation_over_water_pa(np.array([float(row["t_C"]) for row in rows]))
    assert np.max(np.abs(ours / printed - 1.0)) < 2e-4


@pytest.mark.parametrize(("temp_c", "printed_pa"), [(5.0, 872.6), (25.0, 3169.7), (50.0, 12351.3)])
def test_saturation_over_water_meets_the_ashrae_table(temp_c, printed_pa):
    # ASHRAE Fundamentals 2017 chapter 1 table 3; the open test suite that quotes it claims 300 ppm.
    assert float(saturation_over_water_pa(temp_c)) == pytest.approx(printed_pa, rel=3e-4)


@pytest.mark.parametrize(("temp_c", "printed_pa"), [(-20.0, 103.24), (-5.0, 401.74)])
def test_saturation_over_ice_meets_the_ashrae_table(temp_c, printed_pa):
    # ASHRAE Fundamentals 2017 chapter 1 table 3.
    assert float(saturation_over_ice_pa(temp_c)) == pytest.approx(printed_pa, rel=3e-4)


@pytest.mark.parametrize(("temp_c", "printed_kpa"), [(15.0, 1.705), (24.5, 3.075)])
def test_saturation_meets_fao_56_example_3(temp_c, printed_kpa):
    # FAO-56 example 3; it uses Tetens' formula, 1.3e-3 from the 1995 formulation at worst.
    assert float(saturation_over_water_pa(temp_c)) / 1000.0 == pytest.approx(printed_kpa, rel=1.3e-3)


def test_saturation_meets_sbi_guideline_224():
    # SBi Guideline 224 table 23: 31 degC 4492 Pa; -20 degC 103.5 Pa. A building table of a simpler formula:
    # the gap of 1.1e-3 at 31 degC is the table's.
    assert float(saturation_over_water_pa(31.0)) == pytest.approx(4492.0, rel=1.2e-3)
    assert float(saturation_over_ice_pa(-20.0)) == pytest.approx(103.5, rel=3e-3)


@pytest.mark.parametrize("temp_c", [0.01, 4.0, 6.6, 10.0, 20.0, 40.0])
def test_saturation_agrees_with_if97_in_a_library(temp_c):
    library_pa = 1e6 * iapws.iapws97._PSat_T(temp_c + 273.15)
    assert float(saturation_over_water_pa(temp_c)) == pytest.approx(library_pa, rel=1e-4)


@pytest.mark.parametrize(("kelvin", "printed_pa"), [(300.0, 3536.58941), (500.0, 2.63889776e6)])
def test_saturation_meets_the_verification_values_of_if97(kelvin, printed_pa):
    # IAPWS-IF97 release, table 35. The two formulations differ by up to 1e-4 themselves.
    assert float(saturation_over_water_pa(kelvin - 273.15)) == pytest.approx(printed_pa, rel=2e-4)


@pytest.mark.parametrize("temp_c", [0.5, 4.0, 10.0, 20.0, 40.0])
def test_saturation_agrees_with_hyland_and_wexler_in_a_library(temp_c):
    psychrolib.SetUnitSystem(psychrolib.SI)
    assert float(saturation_over_water_pa(temp_c)) == pytest.approx(psychrolib.GetSatVapPres(temp_c), rel=3e-4)


@pytest.mark.parametrize("temp_c", [-30.0, -20.0, -5.0, -1.0, 0.0])
def test_saturation_over_ice_agrees_with_a_library(temp_c):
    library_pa = 1e6 * iapws._iapws._Sublimation_Pressure(temp_c + 273.15)
    assert float(saturation_over_ice_pa(temp_c)) == pytest.approx(library_pa, rel=1e-6)


def test_water_and_ice_meet_at_the_triple_point():
    # Triple point: 0.01 degC, 611.657 Pa.
    assert float(saturation_over_water_pa(0.01)) == pytest.approx(611.657, rel=1e-6)
    assert float(saturation_over_ice_pa(0.01)) == pytest.approx(611.657, rel=1e-9)


def test_there_is_no_ice_above_the_triple_point():
    with pytest.raises(BadInput, match="no ice"):
        saturation_over_ice_pa(0.5)


def test_dew_points_above_zero_agree_with_humid_air_tables(authority):
    rows = [row for row in authority("keeping_dewpoint.csv") if float(row["tdew_CoolProp_C"]) > 0.0]
    temp_c = np.array([float(row["t_C"]) for row in rows])
    rh = np.array([float(row["RH"]) for row in rows])
    printed = np.array([float(row["tdew_CoolProp_C"]) for row in rows])
    assert len(rows) > 20
    assert np.max(np.abs(dew_point_c(vapour_pressure_pa(temp_c, rh)) - printed)) < 0.02


@pytest.mark.parametrize(
    ("temp_c", "rh", "printed_c"), [(20.0, 0.5, 9.27355), (20.0, 0.6, 12.0083), (4.0, 0.7, -0.970009)]
)
def test_dew_points_over_water_meet_the_analytic_limits(temp_c, rh, printed_c):
    # keeping_analytic_limits.csv, inverse of saturation over liquid water.
    assert float(dew_point_c(vapour_pressure_pa(temp_c, rh))) == pytest.approx(printed_c, abs=2e-3)


def test_dew_point_undoes_saturation():
    temp_c = np.linspace(-20.0, 90.0, 111)
    assert np.max(np.abs(dew_point_c(saturation_over_water_pa(temp_c)) - temp_c)) < 1e-9


def test_humidity_in_per_cent_and_zero_pressure_are_refused():
    with pytest.raises(BadInput, match="outside 0 to 1"):
        vapour_pressure_pa(20.0, 55.0)
    with pytest.raises(BadInput, match="zero or negative"):
        dew_point_c(0.0)
