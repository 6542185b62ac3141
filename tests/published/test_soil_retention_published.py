"""Retention of twelve soils and the phases of a block, against printed and independently computed tables."""

import pytest

from findhold.physics.soil import DryTail, soil_phases, van_genuchten_1980, water_content, water_potential
from findhold.physics.sorption import kelvin_rh
from findhold.tables.soils import find_soil, soil_constants

TAIL = DryTail(start_pa=1.5e6, end_pa=1e9)
CLASSES = (
    "sand", "loamy sand", "sandy loam", "loam", "silt", "silt loam",
    "sandy clay loam", "clay loam", "silty clay loam", "sandy clay", "silty clay", "clay",
)  # fmt: skip


def row_of(authority, soil):
    return next(row for row in authority("keeping_soil_carsel_parrish.csv") if row["class"] == soil)


@pytest.mark.parametrize("soil", CLASSES)
def test_class_means_are_those_printed(authority, soil):
    """Carsel and Parrish 1988, Water Resources Research 24:755-769, class means (as carried in open code)."""
    printed = row_of(authority, soil)
    curve = find_soil(soil).retention
    typed = (curve.theta_r, curve.theta_s, curve.alpha_per_cm, curve.n, curve.ks_cm_per_day)
    keys = ("theta_r", "theta_s", "alpha_per_cm", "n", "Ks_cm_d")
    assert typed == tuple(float(printed[key]) for key in keys)


@pytest.mark.parametrize("soil", CLASSES)
@pytest.mark.parametrize(("column", "psi_pa"), [("theta_33kPa", -33e3), ("theta_1500kPa", -1.5e6)])
def test_water_at_field_capacity_and_wilting_point(authority, soil, column, psi_pa):
    """Table computed apart from this code from the class means; printed to five digits."""
    computed = float(water_content(psi_pa, find_soil(soil).retention, TAIL))
    assert computed == pytest.approx(float(row_of(authority, soil)[column]), abs=6e-6)


@pytest.mark.parametrize("soil", CLASSES)
@pytest.mark.parametrize("head_cm", [0, 10, 100, 330, 1000, 15000])
def test_water_at_heads_of_water(authority, soil, head_cm):
    """Same table, heads in centimetres of water; printed to five digits."""
    printed = row_of(authority, soil)["theta_h0" if head_cm == 0 else f"theta_h{head_cm}cm"]
    computed = float(van_genuchten_1980(-98.0665 * head_cm, find_soil(soil).retention))
    assert computed == pytest.approx(float(printed), abs=6e-6)


@pytest.mark.parametrize("soil", CLASSES)
def test_dry_density_follows_from_the_pores(authority, soil):
    """2650 kg/m3 grains and pores theta_s, same table, printed to 0.1 kg/m3."""
    printed = float(row_of(authority, soil)["dry_bulk_density_kg_m3"])
    assert find_soil(soil).retention.dry_density_kg_per_m3 == pytest.approx(printed, abs=0.06)


def test_potential_and_humidity_of_drying_soils(authority):
    """Independently computed drying table (sand, sandy loam, loam, silt loam, clay ...), rows marked valid."""
    rows = [row for row in authority("keeping_soil_rh_drying.csv") if row["validity"] == "valid"]
    assert len(rows) > 30
    for row in rows:
        psi = float(water_potential(float(row["theta"]), find_soil(row["class"]).retention, TAIL))
        assert psi == pytest.approx(float(row["psi_Pa"]), rel=6e-4), row  # theta itself is printed to 4-5 digits
        assert float(kelvin_rh(psi, 4.0)) == pytest.approx(float(row["RH_4C"]), abs=2e-5), row


def test_phases_of_a_block(authority):
    """Five blocks worked by hand from the phase identities, grains 2650 kg/m3."""
    grains = soil_constants().particle_density_kg_per_m3
    for row in authority("packing_soil_phase_check.csv"):
        phases = soil_phases(float(row["dry_density_kg_m3"]), float(row["water_by_mass"]), grains)
        assert phases.bulk_kg_per_m3 == pytest.approx(float(row["bulk_kg_m3"]), abs=0.01)
        assert phases.void_ratio == pytest.approx(float(row["void_ratio"]), abs=6e-6)
        assert phases.porosity == pytest.approx(float(row["porosity"]), abs=6e-6)
        assert phases.saturation == pytest.approx(float(row["saturation"]), abs=6e-6)
        assert phases.saturated_kg_per_m3 == pytest.approx(float(row["saturated_kg_m3"]), abs=1e-4)
        assert phases.theta == pytest.approx(float(row["theta_v"]), abs=1e-9)


def test_unit_weights_are_those_printed(authority):
    """Geotechnics of Organic Soils and Peat, Table 3.5 (kg/m3 columns are rounded to whole numbers)."""
    for row in authority("packing_soil_unit_weight.csv"):
        density = find_soil(row["soil"]).density
        if density.group != row["soil"]:
            continue  # silt and clay as texture classes share the row of their own name
        assert density.moist_low_kg_per_m3 == pytest.approx(float(row["kg_m3_low"]), abs=0.51)
        assert density.moist_high_kg_per_m3 == pytest.approx(float(row["kg_m3_high"]), abs=0.51)
        if row["sat_kg_m3_high"]:
            assert density.wet_high_kg_per_m3 == pytest.approx(float(row["sat_kg_m3_high"]), abs=0.51)
