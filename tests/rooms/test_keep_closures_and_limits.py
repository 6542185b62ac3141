"""What the keeping room decides about closures, openings, deadlines and wet lids, and which limit governs."""

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

import numpy as np
import pytest

from findhold.errors import BadInput, UnknownName
from findhold.keep.forecast import forecast, series
from findhold.keep.inputs import Climate, HoldInputs, Policy
from findhold.keep.options import options
from findhold.tables.keeping import closures

ZONE = timezone(timedelta(hours=1))
PACKED = datetime(2026, 7, 20, 16, tzinfo=ZONE)
DAY = timedelta(days=1)
CALM = Policy(growth_time_gsd=1.0, policy_days=60.0)
JAR = HoldInputs(
    find_class="medium resistant",
    wrapping_class="sensitive",
    state="damp",
    block_m=(0.22, 0.18, 0.12),
    block_mass_kg=7.5,
    block_water_kg=1.5,
    wrapping_dry_kg=0.03,
    wrapping_water_kg=0.05,
    cushion_m=0.02,
    box_inside_m=(0.36, 0.26, 0.20),
    wall="polypropylene",
    wall_m=0.0015,
    lid_air_changes_per_day=0.5,
    climate=Climate(temp_c=5.0, rh=0.7),
    exposed_at=PACKED - 1 * DAY,
    packed_at=PACKED,
    open_at=PACKED + 20 * DAY,
    find_temp_c=16.0,
    gross_mass_kg=8.6,
    policy=CALM,
)


def limit_of(got, name):
    return next(limit for limit in got.limits if limit.name == name)


@pytest.mark.parametrize(
    ("change", "governs"),
    [
        ({"policy": Policy(policy_days=7.0)}, "policy"),
        ({}, "growth on wrapping"),
        ({"find_class": "very sensitive", "wrapping_class": None}, "growth on find"),
        ({"closure": "no lid"}, "water loss"),
        ({"climate": Climate(temp_c=5.0, rh=0.7, lid_colder_k=1.5)}, "too wet"),
        ({"climate": Climate(temp_c=12.0, rh=0.7)}, "too warm"),
        ({"climate": Climate(temp_c=-2.0, rh=0.7)}, "near freezing"),
        ({"paperwork": (("report of treasure due", date(2026, 7, 29)),)}, "report of treasure due"),
    ],
)
def test_every_limit_can_be_the_one_that_governs(change, governs):
    assert forecast(replace(JAR, **change), members=200).governing_limit == governs


def test_closures_keep_water_in_the_order_that_their_barriers_say():
    lost = {name: forecast(replace(JAR, closure=name), members=100).water_loss_g.best for name in closures()}
    order = ["foil laminate bag", "bag in box", "sealed PE bag", "open bag", "no lid", "no lid in a fan"]
    assert [lost[name] for name in order] == sorted(lost[name] for name in order)
    assert lost["bag in box"] < lost["lid"]
    assert lost["cardboard"] > lost["open bag"]


def test_an_unknown_closure_gets_the_names_that_there_are():
    with pytest.raises(UnknownName, match="foil"):
        replace(JAR, closure="foil bags")


def test_each_opening_loses_the_air_of_the_headspace_once():
    shut = forecast(JAR, members=50)
    opened = forecast(replace(JAR, openings=(PACKED + 5 * DAY, PACKED + 10 * DAY)), members=50)
    # Two headspaces of saturated air at 5 degC against 70 %: 2 V dp/(Rv T) = 2 x 13.97 l x 262 Pa / (461.5 x 278.15).
    expected_g = 2.0 * 1000.0 * JAR.headspace_m3 * 0.3 * 872.6 / (461.523 * 278.15)
    assert opened.water_loss_g.best - shut.water_loss_g.best == pytest.approx(expected_g, rel=0.02)
    after = forecast(replace(JAR, openings=(PACKED + 30 * DAY,)), members=50)
    assert after.water_loss_g.best == pytest.approx(shut.water_loss_g.best, rel=1e-6)


def test_a_check_alone_does_not_open_the_box():
    checked = forecast(replace(JAR, check_at=(PACKED + 5 * DAY,)), members=50)
    assert checked.water_loss_g.best == pytest.approx(forecast(JAR, members=50).water_loss_g.best, rel=1e-9)


def test_a_deadline_without_a_zone_is_refused_and_a_day_lasts_to_its_end():
    with pytest.raises(BadInput, match="zone"):
        replace(JAR, paperwork=(("licence", datetime(2026, 7, 29, 12)),))
    got = forecast(replace(JAR, paperwork=(("licence ends", date(2026, 7, 22)),)), members=50)
    assert got.keep_until == datetime(2026, 7, 22, 23, 59, tzinfo=ZONE)


def test_a_warm_block_sends_water_to_the_lid_and_a_cold_one_does_not():
    warm, cold = forecast(JAR), forecast(replace(JAR, find_temp_c=5.0))
    assert warm.water_to_lid_g.best > 10.0
    assert cold.water_to_lid_g.best < 0.01
    assert warm.hours_to_below_8c.best > 0.0
    assert any("move to lid and walls" in note for note in warm.notes)


def test_an_absorbent_sheet_keeps_drips_off_and_warmth_is_cooled_off_first():
    cold_lid = replace(JAR, climate=Climate(temp_c=5.0, rh=0.7, lid_colder_k=1.5))
    ways = {way.name: way for way in options(cold_lid, members=200)}
    assert ways["absorbent under the lid"].gain_days > 1.0
    assert ways["pre-cooling"].gain_days > 0.0
    dry = forecast(replace(cold_lid, absorbent_g=500.0), members=200)
    assert dry.drip_g.high == 0.0


def test_an_absorbent_takes_up_at_least_its_own_grams_of_what_would_drip_from_the_lid():
    """It hangs under the lid: water that the walls shed never reaches it; what it holds may go back to the air."""
    bare = forecast(JAR, members=200)
    some = forecast(replace(JAR, absorbent_g=2.0), members=200)
    assert bare.drip_g.high > 2.5
    assert some.drip_g.high <= bare.drip_g.high - 2.0 + 0.05
    enough = forecast(replace(JAR, absorbent_g=1.02 * bare.drip_g.high), members=200)
    assert enough.drip_g.high < 0.05


def test_options_say_plainly_when_nothing_helps():
    at_policy = replace(JAR, policy=Policy(policy_days=5.0))
    ways = options(at_policy, members=100)
    assert any(way.name == "nothing helps" for way in ways)
    assert all(way.gain_days == 0.0 for way in ways)
    assert any(way.name == "daily check" and "moves no date" in way.text for way in ways)


def test_a_dry_wrapping_takes_water_and_a_soaked_one_gives_it():
    thirsty = forecast(replace(JAR, wrapping_water_kg=0.002))
    assert thirsty.tissue_gain_g.low > 10.0
    assert forecast(JAR).tissue_gain_g.high < 0.0
    assert forecast(replace(JAR, state="waterlogged")).tissue_gain_g.best == 0.0


def test_days_of_cold_are_days_at_four_degrees_and_more_when_it_was_warmer():
    flat = replace(JAR, climate=Climate(temp_c=4.0, rh=0.7), find_temp_c=4.0)
    got = forecast(flat).cold_equivalent_days
    assert (got.low, got.best, got.high) == pytest.approx((21.0, 21.0, 21.0), rel=1e-3)
    warm = forecast(JAR).cold_equivalent_days
    assert 21.0 < warm.low < warm.best < warm.high


def test_below_two_degrees_the_forecast_says_that_it_is_extrapolation():
    assert any("below 2 °C" in note for note in forecast(replace(JAR, climate=Climate(temp_c=1.0, rh=0.7))).notes)
    assert not any("below 2 °C" in note for note in forecast(JAR).notes)


def test_air_wetter_outside_than_in_is_said():
    humid = replace(JAR, climate=Climate(temp_c=7.0, rh=0.99), find_temp_c=2.0, lid_air_changes_per_day=20.0)
    got = forecast(humid, members=50)
    assert any("water comes in" in note for note in got.notes)


def test_a_place_that_swings_by_a_wave_is_its_mean_to_the_block_and_moves_water_to_the_lid():
    swinging = replace(JAR, climate=Climate(temp_c=5.0, rh=0.7, wave_k=2.0, wave_h=24.0), find_temp_c=5.0)
    got, calm = forecast(swinging, members=50), forecast(replace(JAR, find_temp_c=5.0), members=50)
    assert got.water_to_lid_g.best > 10.0 * max(calm.water_to_lid_g.best, 0.01)
    assert got.growth_index_at_open["wrapping"].best == pytest.approx(
        calm.growth_index_at_open["wrapping"].best, rel=0.05
    )


def test_a_series_starts_at_nothing_lost_and_ends_where_the_forecast_says():
    at_s = np.array([0.0, 86400.0, 20 * 86400.0])
    got, said = series(JAR, at_s=at_s), forecast(JAR)
    assert got.water_lost_g.best[0] == 0.0
    assert got.water_lost_g.best[-1] == pytest.approx(said.water_loss_g.best)
    assert got.growth_find.high[-1] == pytest.approx(said.growth_index_at_open["find"].high)
    assert got.block_temp_c.best[0] == JAR.find_temp_c
    assert np.all(got.water_lost_g.low <= got.water_lost_g.high)
    with pytest.raises(BadInput, match="order"):
        series(JAR, at_s=at_s[::-1])
