"""Cushions against the one printed worked example, the sheet of check values derived from it, and printed tables."""

import math

import numpy as np
import pytest

from findhold.cushion.curve import shipped_curve
from findhold.physics import cushioning
from findhold.tables.cushions import drop_of, fragility_bands, shipped_curves, truck_spectrum

PE = shipped_curve("polyethylene foam")
PSI_PA = 6894.757
INCH_M = 0.0254


def test_the_printed_example_is_found_again_at_both_its_points():
    # Repco, "How to use dynamic cushion curves": 24 in drop, 2 in of foam, 40 G from 0.4 to 1.2 psi.
    low, high = cushioning.usable_stress_pa(PE.law, 40.0, 24 * INCH_M, 2 * INCH_M)
    assert low / PSI_PA == pytest.approx(0.4, rel=1e-6)
    assert high / PSI_PA == pytest.approx(1.2, rel=1e-6)
    for psi in (0.4, 1.2):
        assert float(cushioning.peak_g(PE.law, psi * PSI_PA, 24 * INCH_M, 2 * INCH_M)) == pytest.approx(40.0, rel=1e-6)


def test_the_printed_area_of_a_face_is_found_again():
    # 36 lb on 1.2 psi is 30 in2; 193.5 cm2 in SI.
    weight_n = 36 * 0.45359237 * cushioning.G0
    _, high = cushioning.usable_stress_pa(PE.law, 40.0, 24 * INCH_M, 2 * INCH_M)
    assert weight_n / high / INCH_M**2 == pytest.approx(30.0, rel=1e-6)
    assert weight_n / high * 1e4 == pytest.approx(193.5, abs=0.05)


def test_the_derived_constants_are_those_of_the_check_sheet():
    assert PE.law.a_pa == pytest.approx(63_691.0, abs=0.5)
    assert PE.law.b_per_pa == pytest.approx(1.65979e-5, abs=5e-11)
    assert PE.law.least_factor == pytest.approx(2.87360, abs=1e-5)
    assert PE.r2 is None
    assert PE.scatter is None
    assert PE.seen == "computed"


def test_every_row_of_the_check_sheet(authority):
    # Computed with another program from the same two points; figures as printed, so to their last digit.
    for row in authority("packing_cushion_pe22_check.csv"):
        t, h = float(row["thickness_m"]), float(row["drop_m"])
        assert float(cushioning.best_stress_pa(PE.law, h, t)) == pytest.approx(float(row["s_opt_Pa"]), abs=0.1)
        assert float(cushioning.least_g(PE.law, h, t)) == pytest.approx(float(row["G_min"]), abs=0.001)
        for limit in (40, 25):
            printed = row[f"s_low_Pa_{limit}G"], row[f"s_high_Pa_{limit}G"]
            found = cushioning.usable_stress_pa(PE.law, float(limit), h, t)
            if printed == ("", ""):
                assert all(math.isnan(edge) for edge in found)
            else:
                # printed to 0.1 Pa; at the largest loadings the rounded constants of the sheet show
                edges = tuple(float(text) for text in printed)
                assert found == pytest.approx(edges, rel=1e-5, abs=0.06)


def test_one_inch_of_this_foam_never_reaches_40_g():
    # The example names the 2 and 3 in curves only; 1 in lies above 40 G everywhere.
    assert [round(float(cushioning.least_g(PE.law, 24 * INCH_M, n * INCH_M)), 1) for n in range(1, 6)] == [
        69.0,
        34.5,
        23.0,
        17.2,
        13.8,
    ]


@pytest.mark.parametrize(("drop_m", "printed_mm"), [(0.15, 17.2), (0.3, 34.5), (0.45, 51.7), (0.6, 69.0), (0.75, 86.2)])
def test_the_drop_height_drives_the_thickness_as_printed(drop_m, printed_mm):
    # Worked example of the check sheet, 25 G.
    found = float(cushioning.least_thickness_m(PE.law, drop_m, 25.0)) * 1000.0
    assert round(found, 1) == printed_mm


def test_the_simple_bounds_are_those_of_the_check_sheet():
    assert float(cushioning.impact_speed_m_per_s(0.6)) == pytest.approx(3.43045, abs=5e-6)
    assert float(cushioning.constant_force_travel_m(0.6, 25.0)) * 1000 == pytest.approx(25.0)
    speed = cushioning.impact_speed_m_per_s(0.6)
    assert float(cushioning.half_sine_s(speed, 25.0)) * 1000 == pytest.approx(21.98, abs=0.005)
    assert float(cushioning.linear_spring_g(0.6, 0.005)) == pytest.approx(16.524, abs=5e-4)
    assert float(cushioning.linear_spring_g(0.6, 0.010)) == pytest.approx(12.0, abs=1e-12)


def test_transmissibility_as_printed(authority):
    rows = authority("packing_transmissibility_check.csv")
    found = cushioning.transmissibility(
        [float(row["f_over_fn"]) for row in rows], [float(row["damping_ratio"]) for row in rows]
    )
    printed = np.array([float(row["transmissibility"]) for row in rows])
    assert np.abs(found - printed).max() < 1.5e-6


def test_natural_frequencies_of_static_sinking_as_printed(authority):
    for row in authority("packing_fn_static_deflection.csv"):
        found = float(cushioning.natural_frequency_hz(float(row["deflection_mm"]) / 1000.0))
        assert found == pytest.approx(float(row["fn_Hz"]), abs=5e-5)


def test_the_root_mean_square_of_a_spring_as_printed():
    # Miles: 20 Hz, Q 5, 0.01 G2/Hz.
    assert float(cushioning.miles_grms(20.0, 5.0, 0.01)) == pytest.approx(1.25331, abs=5e-6)


def test_the_lorry_spectrum_adds_up_to_its_overall_figure(authority):
    rows = authority("packing_truck_psd.csv")
    lorry = truck_spectrum()
    corners = [(float(row["f_Hz"]), float(row["psd_g2_per_Hz"])) for row in rows if row["f_Hz"] != "overall_Grms"]
    assert list(zip(lorry.frequency_hz, lorry.density, strict=True)) == corners
    overall = next(float(row["psd_g2_per_Hz"]) for row in rows if row["f_Hz"] == "overall_Grms")
    found = cushioning.spectrum_grms(np.array(lorry.frequency_hz), np.array(lorry.density))
    assert found == pytest.approx(overall, abs=5e-5)
    assert lorry.seen == "memory"


def test_drop_heights_as_printed(authority):
    levels = {"I": "I", "II": "II", "III": "III"}
    checked = 0
    for row in authority("packing_drop_heights.csv"):
        if not row["schedule"].startswith(("ISTA", "ASTM D4169 Schedule A")):
            continue
        schedule, _, level = row["schedule"].partition(" Schedule A manual, assurance level ")
        name = schedule if schedule.startswith("ISTA") else "ASTM D4169 manual handling"
        middle = (float(row["mass_from_kg"]) + float(row["mass_to_kg"])) / 2
        drop = drop_of(name, levels.get(level, ""), middle)
        assert drop.drop_m * 1000 == pytest.approx(float(row["drop_mm"]))
        assert (drop.seen == "memory") == (row["status"] == "MEMORY")
        checked += 1
    assert checked == 28


def test_the_classic_bands_as_printed(authority):
    printed = [row for row in authority("packing_fragility_bands.csv") if row["status"] == "MEMORY"]
    found = [(band.name, band.low, band.high) for band in fragility_bands()]
    assert found == [(r["band"], float(r["G_low"]), float(r["G_high"]) if r["G_high"] else None) for r in printed]


def test_pressures_as_printed():
    for density, printed in ((1500, 2648), (1800, 3177), (2000, 3530)):
        assert float(cushioning.prism_pressure_pa(density, 0.18)) == pytest.approx(printed, abs=0.6)
    ring = float(cushioning.ring_area_m2(0.080, 0.005))
    assert 20.0 / ring / 1000 == pytest.approx(15.9, abs=0.05)


def test_no_curve_without_a_source_is_shipped(authority):
    # The check sheet holds three invented rows for arithmetic; none of them may reach a plan.
    invented = [r for r in authority("packing_cushion_coefficients.csv") if r["status"].startswith("SYNTHETIC")]
    assert len(invented) == 3
    assert [curve.name for curve in shipped_curves()] == ["PE foam 35"]
    for foam in ("bubble film", "tissue", "foam in place", "foam rubber"):
        assert shipped_curve(foam) is None
