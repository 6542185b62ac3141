"""Conductances against printed values, and the permeability table against what was printed."""

import math

import numpy as np
import pytest

from findhold.physics.vapour import (
    air_permeability,
    breathing_changes_per_day,
    exchange_conductance,
    gap_conductance,
    inside_area_m2,
    permeability_at,
    wall_conductance,
)
from findhold.tables.load import number, table

# Conversions by definition: keeping tables, unit conversions.
G_MIL = 1e-3 * 25.4e-6 / (0.064516 * 86400.0) / (0.9 * 6554.3)
BARRER = 6.02863e-18
BOX_M3 = 0.006


def test_diffusion_in_air_meets_schirmer(authority):
    rows = authority("keeping_vapour_diffusion_air.csv")
    ours = air_permeability(np.array([float(row["t_C"]) for row in rows]))
    printed = np.array([float(row["delta_air_Schirmer_kg_m_s_Pa"]) for row in rows])
    assert np.max(np.abs(ours / printed - 1.0)) < 2e-5


def test_lid_conductances_meet_the_table(authority):
    rows = [row for row in authority("keeping_box_leakage.csv") if row["kind"] == "air changes"]
    assert len(rows) > 10
    for row in rows:
        changes = float(row["case"].split("=")[1].split()[0])
        ours = float(exchange_conductance(changes, BOX_M3, float(row["t_C"])))
        assert ours == pytest.approx(float(row["K_kg_s_Pa_or_factor"]), rel=1e-5)


def test_gap_conductances_meet_the_table(authority):
    rows = [row for row in authority("keeping_box_leakage.csv") if row["kind"] == "diffusion gap"]
    assert len(rows) > 6
    for row in rows:
        gap_m = float(row["case"].split()[1]) / 1000.0
        ours = float(gap_conductance(gap_m, 1.0, 0.01, float(row["t_C"])))
        assert ours == pytest.approx(float(row["K_kg_s_Pa_or_factor"]), rel=1e-5)


def test_a_tenth_of_a_millimetre_all_round_leaks_like_the_measured_polypropylene_box():
    # 3.4 air changes a day by diffusion; 2.77 from the half-life of 0.25 day of an empty box (Kelly and Daniel 2000).
    gap = float(gap_conductance(1e-4, 1.0, 0.01, 4.0))
    assert gap / float(exchange_conductance(1.0, BOX_M3, 4.0)) == pytest.approx(3.4, abs=0.05)
    assert math.log(2.0) / 0.25 == pytest.approx(2.77, abs=0.005)


@pytest.mark.parametrize(("activation_kj", "printed"), [(11, 1.07e-16), (30, 6.00e-17), (42, 4.15e-17), (48, 3.46e-17)])
def test_polypropylene_at_4_degrees_for_each_activation_energy(activation_kj, printed):
    assert float(permeability_at(1.5e-16, 1000.0 * activation_kj, 4.0)) == pytest.approx(printed, rel=5e-3)


def test_breathing_meets_both_worked_figures():
    # 32 cycles a day of 0.6 K at 277.15 K, 800 Pa a day: 0.0693 + 0.0079 = 0.077; 3 K swings: 0.35.
    assert float(breathing_changes_per_day(32.0, 0.6, 0.0, 4.0)) == pytest.approx(0.0693, abs=5e-5)
    assert float(breathing_changes_per_day(32.0, 0.6, 800.0, 4.0)) == pytest.approx(0.077, abs=5e-4)
    assert float(breathing_changes_per_day(32.0, 3.0, 800.0, 4.0)) == pytest.approx(0.35, abs=5e-3)


def test_the_worked_box_adds_up():
    # Worked box: K_wall 1.099e-14, K_leak 1.629e-13, K_breath 3.13e-14, total 2.0519e-13 kg/(s Pa).
    area_m2 = inside_area_m2((0.30, 0.20, 0.10))
    headspace_m3 = BOX_M3 - 0.72 / 1400.0 - 0.001
    wall = float(wall_conductance(permeability_at(1.5e-16, 30e3, 4.0), area_m2, 0.0012))
    leak = float(exchange_conductance(0.3, BOX_M3, 4.0))
    breath = float(exchange_conductance(breathing_changes_per_day(32.0, 0.6, 800.0, 4.0), headspace_m3, 4.0))
    assert area_m2 == pytest.approx(0.22)
    assert wall == pytest.approx(1.099e-14, rel=1e-3)
    assert leak == pytest.approx(1.629e-13, rel=1e-3)
    assert breath == pytest.approx(3.13e-14, rel=2e-3)
    assert wall + leak + breath == pytest.approx(2.0519e-13, rel=1e-4)


def test_one_gram_mil_and_one_barrer_convert_as_printed():
    assert pytest.approx(7.725e-16, rel=1e-4) == G_MIL
    # 1 barrer = 1e-10 cm3(STP) cm/(cm2 s cmHg); 1 cm3(STP) of water vapour = 0.018015268 / 22413.97 kg.
    assert pytest.approx(BARRER, rel=1e-4) == 1e-10 * 0.018015268 / 22413.97 * 1e-2 / 1e-4 / 1333.22


@pytest.mark.parametrize("row", table("permeability").rows, ids=lambda row: row["name"])
def test_the_permeability_table_follows_from_what_was_printed(row):
    low, high = number(row["printed_low"]), number(row["printed_high"])
    if low is None or high is None:
        assert row["p25"] == ""
        return
    factor = {"k": 1.0, "b": BARRER, "g": G_MIL}[row["printed_unit"][0]]
    middle = math.sqrt(low * high) * factor
    assert float(row["p25"]) == pytest.approx(middle, rel=0.02)
