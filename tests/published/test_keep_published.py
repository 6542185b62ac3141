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
    # Formula 0.09086 g; coupled model, with warm first hours and latent heat, 0.09112 g.
    loss_g = forecast(WORKED, members=20).water_loss_g.best
    assert loss_g > 0.09086
    assert loss_g == pytest.approx(0.09112, rel=2e-3)


@pytest.mark.parametrize(
    ("changes", "printed_g"), [(0.02, 0.0236), (0.3, 0.0911), (1.0, 0.260), (2.77, 0.686), (8.0, 1.95), (20.0, 4.83)]
)
def test_every_lid_of_the_worked_box_loses_as_published(changes, printed_g):
    # The worst lid is 0.7 % low: ours lets vapour through the cushion less freely than the published tissue does.
    loss_g = forecast(replace(WORKED, lid_air_changes_per_day=changes), members=20).water_loss_g.best
    assert loss_g == pytest.approx(printed_g, rel=8e-3)


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


def test_a_very_poor_lid_in_a_warm_room_cools_its_block_by_what_it_loses():
    # Coupled model 20.6 g: losing a gram a day cools the block. Without that it would be 21.8 g.
    warm = replace(WORKED, climate=replace(COLD, temp_c=20.0, rh=0.50), lid_air_changes_per_day=20.0)
    assert forecast(warm, members=20).water_loss_g.best == pytest.approx(20.6, rel=1.5e-2)


@pytest.mark.parametrize(
    ("temp_c", "printed"), [(4.0, (1.09, 0.60)), (6.6, (1.92, 0.84)), (8.0, (2.32, 0.96)), (20.0, (5.1, 1.5))]
)
def test_growth_after_21_days_is_as_published(temp_c, printed):
    got = forecast(replace(WORKED, climate=replace(COLD, temp_c=temp_c)), members=20).growth_index_by_class
    # The coupled model's block cools faster by its own evaporation, so its index is up to 0.03 lower.
    assert got["very sensitive"].best == pytest.approx(printed[0], abs=0.05)
    assert got["sensitive"].best == pytest.approx(printed[1], abs=0.03)


def test_the_block_cools_sooner_than_a_dry_lump_and_later_than_an_open_one():
    got = forecast(WORKED, members=400)
    assert got.tau_h == pytest.approx(5.58, abs=0.01)
    # A dry lump from 18 to 8 degC beside 4 degC takes tau ln(14/4) = 6.98 h; evaporation on to the lid shortens it, in
    # the published upper bound to 3 h (4.93 degC after 6 h). The band holds both.
    assert got.hours_to_below_8c.low < 3.0
    assert got.hours_to_below_8c.best < 6.0
    assert got.hours_to_below_8c.high == pytest.approx(6.98, abs=0.5)


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
    # Sealed 60 um LDPE bag: K_total 7.3e-13, 0.325 g. Its permeability at 25 degC is from memory; ours is 4 % lower.
    bag = replace(WORKED, closure="sealed PE bag")
    got = forecast(bag, members=20)
    assert got.conductance_kg_per_s_pa.total == pytest.approx(7.3e-13, rel=0.05)
    assert got.water_loss_g.best == pytest.approx(0.325, rel=0.05)


@pytest.mark.parametrize(("closure", "rh", "printed_g"), [("no lid", 0.70, 89.5), ("no lid in a fan", 0.40, 176.0)])
def test_a_box_without_a_lid_loses_nearly_what_was_published(closure, rh, printed_g):
    # Published with block and tissue as two stores; ours is one, which gives 5 and 10 % more (93.8 and 193 g).
    got = forecast(replace(WORKED, closure=closure, climate=replace(COLD, rh=rh)), members=40)
    assert printed_g < got.water_loss_g.best < 1.11 * printed_g
    assert got.governing_limit == "water loss"
    assert got.water_to_lid_g.high == 0.0


def test_a_lid_kept_colder_than_its_contents_gathers_grams_and_hardly_changes_what_leaves():
    # Published: 14.2 g condensed, 0.085 g out, through a path 1.7 times as open as still air of 20 mm.
    got = forecast(replace(WORKED, climate=replace(COLD, lid_colder_k=0.3)), members=1000)
    assert got.water_loss_g.best == pytest.approx(0.085, rel=0.03)
    assert got.water_to_lid_g.low < 14.2 < 1.2 * got.water_to_lid_g.high
    assert got.drip_g.best > 0.0
    assert any("drips" in note for note in got.notes)
