"""The forecast of the worked box against its published figures."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest

from findhold.keep.forecast import forecast
from findhold.keep.inputs import Climate, HoldInputs, Policy

PACKED = datetime(2026, 7, 20, 10, tzinfo=timezone(timedelta(hours=1)))
SIDE_M = (0.72 / 1400.0) ** (1.0 / 3.0)
COLD = Climate(temp_c=4.0, rh=0.70, swing_k=0.6, cycles_per_day=32.0, barometric_pa_per_day=800.0)
# The 900 g loam block in the 6 litre polypropylene box: 21 days at 4 degC beside air of 70 %.
WORKED = HoldInputs(
    find_class="very sensitive",
    wrapping_class="sensitive",
    state="damp",
    block_m=(SIDE_M, SIDE_M, SIDE_M),
    block_mass_kg=0.900,
    block_water_kg=0.180,
    wrapping_dry_kg=0.02025,
    wrapping_water_kg=0.030375,
    cushion_m=0.020,
    box_inside_m=(0.30, 0.20, 0.10),
    wall="PP",
    wall_m=0.0012,
    lid_air_changes_per_day=0.3,
    climate=COLD,
    exposed_at=PACKED,
    packed_at=PACKED,
    open_at=PACKED + timedelta(days=21),
    find_temp_c=18.0,
    gross_mass_kg=1.45,
    packing_m3=0.001,
)


def test_the_worked_box_conducts_as_published():
    conductance = forecast(WORKED, members=20).conductance_kg_per_s_pa
    assert conductance.wall == pytest.approx(1.099e-14, rel=1e-3)
    assert conductance.lid == pytest.approx(1.629e-13, rel=1e-3)
    assert conductance.breathing == pytest.approx(3.13e-14, rel=2e-3)
    assert conductance.total == pytest.approx(2.0519e-13, rel=1e-4)


def test_the_worked_box_loses_what_the_coupled_model_says():
    # Formula 0.09086 g; coupled model, with warm first hours and latent heat, 0.09112 g. Ours leaves out the latent
    # heat, which warms the lid a little more: 0.1 % low.
    loss_g = forecast(WORKED, members=20).water_loss_g.best
    assert loss_g > 0.09086
    assert loss_g == pytest.approx(0.09112, rel=2e-3)


@pytest.mark.parametrize(
    ("changes", "printed_g"), [(0.02, 0.0236), (0.3, 0.0911), (1.0, 0.260), (2.77, 0.686), (8.0, 1.95), (20.0, 4.83)]
)
def test_every_lid_of_the_worked_box_loses_as_published(changes, printed_g):
    loss_g = forecast(replace(WORKED, lid_air_changes_per_day=changes), members=20).water_loss_g.best
    assert loss_g == pytest.approx(printed_g, rel=5e-3)


@pytest.mark.parametrize(
    ("temp_c", "rh", "changes", "printed_g"),
    [
        (4.0, 0.40, 0.3, 0.182),
        (4.0, 0.40, 2.77, 1.37),
        (6.6, 0.70, 0.3, 0.109),
        (8.0, 0.70, 0.3, 0.119),
        (20.0, 0.50, 0.3, 0.433),
        (20.0, 0.50, 2.77, 3.10),
    ],
)
def test_every_place_of_the_worked_box_loses_as_published(temp_c, rh, changes, printed_g):
    place = replace(COLD, temp_c=temp_c, rh=rh)
    loss_g = forecast(replace(WORKED, climate=place, lid_air_changes_per_day=changes), members=20).water_loss_g.best
    # Three figures are printed; evaporation cools the coupled model's block a little, 1 % at the larger losses.
    assert loss_g == pytest.approx(printed_g, rel=1.5e-2)


def test_a_very_poor_lid_in_a_warm_room_is_overstated_on_the_safe_side():
    # Coupled model 20.6 g: losing a gram a day cools the block and dries the headspace. Ours leaves both out and says
    # 21.8 g, 6 % more; below a gram in three weeks the gap is under 1 %.
    warm = replace(WORKED, climate=replace(COLD, temp_c=20.0, rh=0.50), lid_air_changes_per_day=20.0)
    assert 1.0 < forecast(warm, members=20).water_loss_g.best / 20.6 < 1.07


@pytest.mark.parametrize(
    ("temp_c", "printed"), [(4.0, (1.09, 0.60)), (6.6, (1.92, 0.84)), (8.0, (2.32, 0.96)), (20.0, (5.1, 1.5))]
)
def test_growth_after_21_days_is_as_published(temp_c, printed):
    got = forecast(replace(WORKED, climate=replace(COLD, temp_c=temp_c)), members=20).growth_index_by_class
    # The coupled model's block cools faster by its own evaporation, so its index is up to 0.03 lower.
    assert got["very sensitive"].best == pytest.approx(printed[0], abs=0.05)
    assert got["sensitive"].best == pytest.approx(printed[1], abs=0.03)


def test_the_block_cools_with_the_published_time_constant():
    got = forecast(WORKED, members=20)
    # 18 -> 8 degC in surroundings of 4: tau ln(14/4).
    assert got.tau_h == pytest.approx(5.58, abs=0.01)
    assert got.hours_to_below_8c.best == pytest.approx(5.5726 * 1.252763, abs=0.01)


def test_the_ensemble_over_the_priors_spreads_as_published():
    # 6 litre box, 21 days, nothing known of lid, humidity and swings, place 5 +- 1.5 degC: 0.045 / 0.17 / 0.88 g;
    # days to index 1, growth model taken at its word: very sensitive 13.3 / 17.5 / 27.6, sensitive 23 / 30 / 48.
    unknown = Climate(temp_c=5.0, rh=None)
    hold = replace(
        WORKED,
        climate=unknown,
        lid_air_changes_per_day=None,
        find_temp_c=5.0,
        policy=Policy(growth_time_gsd=1.0),
    )
    got = forecast(hold, members=4000)
    assert got.water_loss_g.low == pytest.approx(0.045, rel=0.15)
    assert got.water_loss_g.best == pytest.approx(0.17, rel=0.15)
    assert got.water_loss_g.high == pytest.approx(0.88, rel=0.15)
    for name, printed_days in (("growth on find", (13.3, 17.5, 27.6)), ("growth on wrapping", (23.0, 30.0, 48.0))):
        limit = next(limit for limit in got.limits if limit.name == name)
        dates = (limit.date_low, limit.date_best, limit.date_high)
        days = [(when - PACKED).total_seconds() / 86400.0 for when in dates]
        assert days == pytest.approx(printed_days, rel=0.04)


def test_the_lid_drives_the_loss_and_the_outside_humidity_comes_second():
    # Squared rank correlation with the loss: lid 0.75, humidity outside 0.17, swing 0.02, temperature 0.01.
    hold = replace(WORKED, climate=Climate(temp_c=5.0, rh=None), lid_air_changes_per_day=None, find_temp_c=5.0)
    drivers = [driver for driver in forecast(hold, members=4000).drivers if driver.result == "water lost"]
    assert drivers[0].input == "air changes past the lid"
    assert drivers[0].share == pytest.approx(0.75, abs=0.08)
    assert drivers[1].input == "humidity outside the box"
    assert drivers[1].share == pytest.approx(0.17, abs=0.06)
    assert all(driver.share < 0.05 for driver in drivers[2:])


def test_a_thin_bag_of_ldpe_is_as_leaky_as_published():
    # Sealed 60 um LDPE bag: K_total 7.3e-13, 0.325 g. Its permeability at 25 degC is from memory, so 10 % here.
    bag = replace(WORKED, wall="LDPE", wall_m=60e-6, lid_air_changes_per_day=0.0)
    got = forecast(bag, members=20)
    assert got.conductance_kg_per_s_pa.total == pytest.approx(7.3e-13, rel=0.10)
    assert got.water_loss_g.best == pytest.approx(0.325, rel=0.10)
