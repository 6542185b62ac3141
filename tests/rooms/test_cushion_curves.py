"""A unit's own cushion curve: read with any units, fitted with its uncertainty, and refused where it is no curve."""

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from findhold.cushion import said
from findhold.cushion.curve import fit_curve, shipped_curve
from findhold.cushion.inputs import CushionInputs, Declared
from findhold.cushion.plan import plan_cushion
from findhold.errors import BadInput, Mistakes
from findhold.physics.cushioning import StressEnergy, peak_g
from findhold.service.packing.curve_file import read_curve
from findhold.tables.cushions import CurvePoint

LAW = StressEnergy(a_pa=15_000.0, b_per_pa=7.0e-5)
"""SYNTHETIC: the drops below are made from it, never measured."""


def drops(noise=0.0, seed=1, thick=(50.0, 100.0), heights=(0.3, 0.6)):
    generator = np.random.default_rng(seed)
    made = []
    for t in thick:
        for h in heights:
            for kpa in (1.0, 2.0, 4.0):
                g = float(peak_g(LAW, kpa * 1000, h, t / 1000)) * math.exp(noise * generator.standard_normal())
                made.append(CurvePoint(static_stress_kpa=kpa, peak_g=g, drop_m=h, thickness_mm=t))
    return made


def written(tmp_path, points, head="static stress (kPa),G,drop height (m),thickness (mm)", scale=(1.0, 1.0, 1.0, 1.0)):
    rows = [
        ",".join(
            f"{value * factor:.9g}"
            for value, factor in zip((p.static_stress_kpa, p.peak_g, p.drop_m, p.thickness_mm), scale, strict=True)
        )
        for p in points
    ]
    file = tmp_path / "foam.csv"
    file.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return file


def test_drops_on_a_line_give_the_line_back():
    curve = fit_curve(drops(), name="foam.csv", foam="polyethylene foam")
    assert curve.law.a_pa == pytest.approx(LAW.a_pa, rel=1e-9)
    assert curve.law.b_per_pa == pytest.approx(LAW.b_per_pa, rel=1e-9)
    assert curve.r2 == pytest.approx(1.0)
    assert curve.points == 12
    assert curve.own


def test_the_fit_is_that_of_an_independent_least_squares():
    points = drops(noise=0.1)
    curve = fit_curve(points, name="foam.csv", foam="polyethylene foam")
    x = np.array([p.static_stress_kpa * 1000 * p.drop_m / (p.thickness_mm / 1000) for p in points])
    y = np.log([p.peak_g * p.static_stress_kpa * 1000 for p in points])
    (b, ln_a), covariance = np.polyfit(x, y, 1, cov=True)
    assert curve.law.b_per_pa == pytest.approx(b, rel=1e-9)
    assert math.log(curve.law.a_pa) == pytest.approx(ln_a, rel=1e-9)
    # polyfit orders slope first.
    assert curve.scatter.covariance[0][0] == pytest.approx(covariance[1, 1], rel=1e-6)
    assert curve.scatter.covariance[1][1] == pytest.approx(covariance[0, 0], rel=1e-6)
    assert curve.r2 == pytest.approx(np.corrcoef(x, y)[0, 1] ** 2, rel=1e-9)


def test_students_factor_is_the_printed_one():
    # Student's table, one side 5 %, 10 degrees of freedom: 1.812.
    assert fit_curve(drops(noise=0.1), name="f", foam="x").scatter.t_factor == pytest.approx(1.812, abs=5e-4)


def test_the_band_holds_nine_of_ten_new_drops():
    inside = total = 0
    for seed in range(60):
        curve = fit_curve(drops(noise=0.15, seed=seed), name="f", foam="x")
        for point in drops(noise=0.15, seed=1000 + seed):
            x = point.static_stress_kpa * 1000 * point.drop_m / (point.thickness_mm / 1000)
            low, high = curve.band(x, 0.1)
            ratio = point.peak_g / float(
                peak_g(curve.law, point.static_stress_kpa * 1000, point.drop_m, point.thickness_mm / 1000)
            )
            inside += float(low) <= ratio <= float(high)
            total += 1
    # 720 drops: nine tenths with a standard error of 0.011, and fits shared by twelve each.
    assert inside / total == pytest.approx(0.90, abs=0.05)


def test_scatter_widens_the_band_away_from_the_middle():
    curve = fit_curve(drops(noise=0.1), name="f", foam="x")
    low_kpa, high_kpa = curve.energy_low_kpa, curve.energy_high_kpa
    _, over = curve.band(np.array([low_kpa, (low_kpa + high_kpa) / 3, high_kpa]) * 1000, 0.1)
    assert over[2] > over[1]
    assert (over > 1).all()


def test_a_curve_without_an_error_estimate_takes_the_stated_scatter():
    low, high = shipped_curve("polyethylene foam").band(5e4, 0.1)
    assert (float(low), float(high)) == (0.9, 1.1)


@pytest.mark.parametrize(
    ("head", "scale"),
    [
        ("static stress (kPa),G,drop height (m),thickness (mm)", (1, 1, 1, 1)),
        ("Static Stress [psi],Peak G,drop height [in],thickness [in]", (1 / 6.894757293168, 1, 1 / 0.0254, 1 / 25.4)),
        ("static_loading_Pa,peak deceleration,drop_cm,foam thickness_cm", (1000, 1, 100, 0.1)),
        ("s (N/cm²),g,h (mm),t (m)", (0.1, 1, 1000, 0.001)),
        ("stress kN/m2,shock,fall height ft,cushion thickness inches", (1, 1, 1 / 0.3048, 1 / 25.4)),
    ],
)
def test_any_unit_words_in_the_headings_give_the_same_curve(tmp_path, head, scale):
    curve = read_curve(written(tmp_path, drops(), head, scale), "polyethylene foam")
    assert curve.law.a_pa == pytest.approx(LAW.a_pa, rel=1e-6)
    assert curve.law.b_per_pa == pytest.approx(LAW.b_per_pa, rel=1e-6)
    assert (curve.thickness_low_mm, curve.thickness_high_mm) == pytest.approx((50.0, 100.0))
    assert (curve.drop_low_m, curve.drop_high_m) == pytest.approx((0.3, 0.6))


def test_a_semicolon_file_with_decimal_commas_gives_the_same_curve(tmp_path):
    text = written(tmp_path, drops()).read_text(encoding="utf-8").replace(",", ";").replace(".", ",")
    file = tmp_path / "mousse.csv"
    file.write_text(text, encoding="cp1252")
    assert read_curve(file, "polyethylene foam").law.a_pa == pytest.approx(LAW.a_pa, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("G,drop height (m),thickness (mm)\n40,0.6,50\n", "no column for the static stress"),
        ("static stress,G,drop height (m),thickness (mm)\n2,40,0.6,50\n", "does not say its unit"),
        ("static stress (bar),G,drop height (m),thickness (mm)\n2,40,0.6,50\n", "unit 'bar' is not known"),
        ("static stress (kPa),G,drop height (m),thickness (furlong)\n2,40,0.6,50\n", "furlong"),
        ("static stress (kPa),G,drop height (m),thickness (mm)\n2,40,0.6,50\n3,35,0.6,50\n", "2 drops are too few"),
    ],
)
def test_a_file_that_is_no_curve_is_told_what_is_wrong(tmp_path, text, words):
    file = tmp_path / "bad.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=words) as caught:
        read_curve(file, "polyethylene foam")
    assert caught.value.do
    assert "bad.csv" in str(caught.value)


def test_a_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(BadInput, match="cannot be read"):
        read_curve(tmp_path / "nowhere.csv", "polyethylene foam")


def test_every_bad_cell_is_told_at_once(tmp_path):
    file = tmp_path / "cells.csv"
    rows = ["2,-40,0.6,50", "two,35,0.6,50", "3,30,,50", "4,28,0.6,0", '"1,500",30,0.6,50']
    file.write_text("\n".join(["static stress (kPa),G,drop height (m),thickness (mm)", *rows]), encoding="utf-8")
    with pytest.raises(Mistakes) as caught:
        read_curve(file, "polyethylene foam")
    told = [mistake.line() for mistake in caught.value.mistakes]
    assert [mistake.row for mistake in caught.value.mistakes] == [2, 3, 4, 5, 6]
    for line, words in zip(told, ("negative", "plain figure", "empty", "not above 0", "thousands"), strict=True):
        assert words in line


def test_drops_on_thin_foam_are_refused():
    with pytest.raises(BadInput, match="12 mm of foam"):
        fit_curve(drops(thick=(12.0, 50.0)), name="foam.csv", foam="x")


def test_drops_of_one_energy_make_no_curve():
    points = [CurvePoint(static_stress_kpa=2.0, peak_g=30.0 + n, drop_m=0.6, thickness_mm=50.0) for n in range(6)]
    with pytest.raises(BadInput, match="only 1 different energies"):
        fit_curve(points, name="foam.csv", foam="x")


def test_a_line_that_falls_is_no_cushion():
    points = [
        CurvePoint(static_stress_kpa=kpa, peak_g=400.0 / kpa**1.5, drop_m=0.6, thickness_mm=50.0)
        for kpa in (1.0, 2.0, 3.0, 4.0, 5.0)
    ]
    with pytest.raises(BadInput, match="does not rise"):
        fit_curve(points, name="foam.csv", foam="x")


def test_a_peak_under_one_g_is_no_drop():
    bad = [*drops(), CurvePoint(static_stress_kpa=2.0, peak_g=0.8, drop_m=0.6, thickness_mm=50.0)]
    with pytest.raises(BadInput, match="drop 13"):
        fit_curve(bad, name="foam.csv", foam="x")


def test_few_or_crooked_drops_of_an_own_curve_are_told():
    few = fit_curve(drops(noise=0.1), name="foam.csv", foam="polyethylene foam")
    crooked = fit_curve(drops(noise=0.9, seed=4), name="foam.csv", foam="polyethylene foam")
    asked = CushionInputs(
        block_mm=(200.0, 180.0, 150.0),
        mass_kg=8.0,
        declared=Declared(fragility_g=40.0, person="Marian Holt", day=date(2026, 7, 28)),
        drop_m=0.3,
        foam_mm=(50.0, 100.0),
    )
    told = " ".join(said.warnings(plan_cushion(replace(asked, curve=few))))
    assert "foam.csv has 12 drops; 15" in told
    assert "badly on one line" not in told
    assert crooked.r2 < 0.8
    assert "badly on one line" in " ".join(said.warnings(plan_cushion(replace(asked, curve=crooked))))
