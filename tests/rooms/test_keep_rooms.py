"""What the keeping room decides about example finds, and what it refuses."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from findhold.errors import BadInput, UnknownName
from findhold.keep.forecast import forecast
from findhold.keep.inputs import Climate, HoldInputs, Policy, seconds_between
from findhold.keep.options import options
from findhold.sources import bibliography
from findhold.tables.keeping import lid_class, thermal, wall

ZONE = timezone(timedelta(hours=1))
PACKED = datetime(2026, 7, 20, 16, tzinfo=ZONE)
DAY = timedelta(days=1)
# A hand-made jar crushed in its soil block, in damp tissue, in a refrigerator that shows 5 degC.
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
    lid_air_changes_per_day=None,
    climate=Climate(temp_c=5.0, rh=None),
    exposed_at=PACKED - 1 * DAY,
    packed_at=PACKED,
    open_at=PACKED + 10 * DAY,
    find_temp_c=16.0,
    gross_mass_kg=8.6,
    check_at=(PACKED + 3 * DAY, PACKED + 7 * DAY),
)
CALM = Policy(growth_time_gsd=1.0)


def limit_of(got, name):
    return next(limit for limit in got.limits if limit.name == name)


def with_series(temp_c, hours=24 * 30, **more):
    time_s = 3600.0 * np.arange(hours)
    series = np.broadcast_to(np.asarray(temp_c, dtype=float), time_s.shape).copy()
    return Climate(temp_c=5.0, rh=0.7, series_s=time_s, series_temp_c=series, **more)


def test_a_jar_in_a_refrigerator_loses_little_and_is_ended_by_growth_on_its_tissue():
    got = forecast(JAR)
    assert got.governing_limit == "growth on wrapping"
    assert got.keep_until == limit_of(got, "growth on wrapping").date_low
    assert limit_of(got, "water loss").date_best is None
    assert got.water_loss_g.high < 5.0
    assert got.dominant.startswith("how fast growth really is")
    assert any("lid unknown" in line for line in got.assumptions)
    assert any("humidity of the place unknown" in line for line in got.assumptions)


def test_the_policy_counts_from_first_exposure_and_governs_when_growth_is_taken_at_its_word():
    got = forecast(replace(JAR, policy=CALM))
    assert got.governing_limit == "policy"
    assert got.keep_until == JAR.exposed_at + 14 * DAY
    assert got.can_keep is True
    assert forecast(replace(JAR, policy=CALM, open_at=JAR.exposed_at + 14 * DAY)).can_keep is True
    assert forecast(replace(JAR, policy=CALM, open_at=JAR.exposed_at + 14.01 * DAY)).can_keep is False
    assert forecast(replace(JAR, policy=replace(CALM, policy_days=5.0))).keep_until == JAR.exposed_at + 5 * DAY


def test_without_an_opening_the_figures_are_those_of_the_keep_until_date():
    got = forecast(replace(JAR, open_at=None))
    assert got.can_keep is None
    assert got.figures_at == got.keep_until


def test_growth_of_the_find_counts_the_time_before_packing_and_that_of_the_wrapping_does_not():
    late = forecast(replace(JAR, exposed_at=PACKED - 3 * DAY))
    soon = forecast(replace(JAR, exposed_at=PACKED))
    assert late.growth_index_at_open["find"].best > soon.growth_index_at_open["find"].best
    assert late.growth_index_at_open["wrapping"] == soon.growth_index_at_open["wrapping"]


def test_a_find_that_lay_warm_and_open_for_weeks_had_reached_its_limit_before_packing():
    # Very sensitive at 20 degC: index 1 after 6.8 days; thirty days lay between exposure and packing.
    old = replace(JAR, find_class="very sensitive", exposed_at=PACKED - 30 * DAY, find_temp_c=20.0, policy=CALM)
    got = forecast(old)
    reached = limit_of(got, "growth on find").date_best
    assert (reached - old.exposed_at).total_seconds() / 86400.0 == pytest.approx(6.8, abs=0.05)
    assert got.can_keep is False


def test_without_wrapping_that_feeds_growth_there_is_no_such_limit():
    got = forecast(replace(JAR, wrapping_class=None))
    assert "wrapping" not in got.growth_index_at_open
    assert "growth on wrapping" not in {limit.name for limit in got.limits}
    assert got.growth_index_at_open["find"] == got.growth_index_by_class["medium resistant"]


def test_a_warm_room_is_too_warm_from_the_start():
    got = forecast(replace(JAR, climate=Climate(temp_c=20.0, rh=0.5)))
    assert got.governing_limit == "too warm"
    assert got.keep_until == PACKED
    assert got.hours_to_below_8c.best is None


def test_a_refrigerator_that_fails_is_too_warm_from_the_hour_it_fails_and_a_door_opened_is_not():
    hours = np.arange(24 * 30)
    failed = with_series(np.where((hours >= 120) & (hours < 151), 14.0, 4.0))
    got = forecast(replace(JAR, climate=failed))
    when = limit_of(got, "too warm").date_best
    # Between the readings of 119 h and 120 h the line passes 8 degC after 0.4 h.
    assert when == PACKED + timedelta(hours=119.4)
    assert any("above 8 °C for 31 h" in note for note in got.notes)
    door_s = np.array([0.0, 3600.0, 3700.0, 5400.0, 5500.0, 30 * 86400.0])
    door = Climate(temp_c=5.0, rh=0.7, series_s=door_s, series_temp_c=np.array([4.0, 4.0, 12.0, 12.0, 4.0, 4.0]))
    assert limit_of(forecast(replace(JAR, climate=door)), "too warm").date_best is None


def test_frost_ends_a_hold_and_cold_is_warned_of():
    frost = forecast(replace(JAR, climate=Climate(temp_c=-1.0, rh=0.7)))
    assert frost.governing_limit == "near freezing"
    assert frost.keep_until == PACKED
    cold = forecast(replace(JAR, climate=Climate(temp_c=1.0, rh=0.7)))
    assert limit_of(cold, "near freezing").date_best is None
    assert any("frost destroys wet finds" in note for note in cold.notes)


def test_a_place_that_may_be_too_warm_is_a_note_and_not_a_date():
    got = forecast(replace(JAR, climate=Climate(temp_c=7.0, rh=0.7)))
    assert limit_of(got, "too warm").date_low is None
    assert any("chance that the place is warmer than 8 °C" in note for note in got.notes)


def test_a_dry_find_loses_no_water_and_grows_nothing_in_dry_air_but_does_in_damp_air():
    dry = replace(
        JAR, state="dry", block_water_kg=0.1, wrapping_water_kg=0.0, climate=Climate(temp_c=18.0, rh=0.5), policy=CALM
    )
    got = forecast(dry)
    assert got.water_loss_g.high == 0.0
    assert {limit.name for limit in got.limits} == {"policy", "growth on wrapping", "growth on find"}
    assert got.growth_index_at_open["wrapping"].high == 0.0
    assert got.governing_limit == "policy"
    damp_cellar = forecast(replace(dry, climate=Climate(temp_c=18.0, rh=0.95)))
    assert damp_cellar.growth_index_at_open["wrapping"].best > 0.1
    assert any("a dry find" in note for note in got.notes)


def test_growth_in_a_dry_spell_falls_again_a_little():
    hours = np.arange(24 * 30)
    humid = np.where(hours < 240, 0.97, 0.40)
    climate = Climate(temp_c=18.0, rh=0.4, series_s=3600.0 * hours, series_temp_c=np.full(720, 18.0), series_rh=humid)
    dry = replace(JAR, state="dry", block_water_kg=0.1, wrapping_water_kg=0.0, climate=climate, policy=CALM)
    after_wet = forecast(replace(dry, open_at=PACKED + 10 * DAY)).growth_index_at_open["wrapping"].best
    after_dry = forecast(replace(dry, open_at=PACKED + 25 * DAY)).growth_index_at_open["wrapping"].best
    assert 0.0 < after_dry < after_wet


def test_a_waterlogged_find_says_that_the_growth_model_is_stretched():
    got = forecast(replace(JAR, state="waterlogged"))
    assert any("under water it is an extrapolation" in note for note in got.notes)


def test_mass_bands_hold_the_weighing_error_and_sink_with_time():
    got = forecast(JAR)
    first, second = got.mass_band
    assert (first.at, second.at) == JAR.check_at
    assert first.best_kg > second.best_kg
    # Two weighings of 0.3 g each: 5 to 95 % is 1.645 * sqrt(2) * 0.3 g either way.
    exact = forecast(replace(JAR, lid_air_changes_per_day=0.0, wall_m=10.0, climate=replace(JAR.climate, swing_k=0.0)))
    spread_g = 1000.0 * (exact.mass_band[0].high_kg - exact.mass_band[0].low_kg)
    assert spread_g == pytest.approx(2.0 * 1.645 * 2.0**0.5 * 0.3, rel=0.05)


def test_every_source_and_every_limits_source_is_in_the_bibliography():
    got = forecast(JAR)
    keys = {*got.sources, *(limit.source for limit in got.limits)}
    assert keys <= set(bibliography())
    assert {limit.source for limit in got.limits} <= set(got.sources)


def test_dates_are_elapsed_time_in_the_zone_of_packing_across_a_change_of_clocks():
    london = ZoneInfo("Europe/London")
    packed = datetime(2026, 10, 20, 12, tzinfo=london)
    autumn = replace(JAR, exposed_at=packed, packed_at=packed, open_at=None, check_at=(), policy=CALM)
    got = forecast(autumn)
    assert seconds_between(packed, got.keep_until) == 14 * 86400.0
    assert got.keep_until.tzinfo is london
    # The clocks went back one hour on 25 October, so fourteen days later the wall shows an hour less.
    assert got.keep_until.hour == 11


# --- options ----------------------------------------------------------------------------------------------------


def test_options_are_ranked_by_gain_and_say_plainly_when_they_do_not_help():
    ways = options(replace(JAR, open_at=PACKED + 12 * DAY, climate=Climate(temp_c=7.0, rh=0.7)))
    by_name = {way.name: way for way in ways}
    gains = [way.gain_days for way in ways]
    assert gains == sorted(gains, reverse=True)
    assert by_name["colder place"].gain_days > 0.0
    assert "4 °C" in by_name["colder place"].text
    assert by_name["better lid"].gain_days == 0.0
    assert "does not help" in by_name["better lid"].text
    assert by_name["renew the tissue"].gain_days > 0.0
    assert by_name["inert wrapping"].gain_days > 0.0
    assert by_name["earlier opening"].can_keep is True
    assert ways[0].gain_days >= max(by_name[name].gain_days for name in ("colder place", "inert wrapping"))


def test_measures_together_are_offered_only_when_they_bring_more_than_the_best_alone():
    long_policy = replace(JAR, policy=Policy(policy_days=60.0), climate=Climate(temp_c=7.0, rh=0.7))
    together = options(replace(long_policy, open_at=PACKED + 50 * DAY))
    assert together[0].name == "all that help"
    assert "polyester" in together[0].text
    assert "fresh damp tissue" not in together[0].text
    short_policy = replace(long_policy, policy=Policy(policy_days=9.0), open_at=PACKED + 50 * DAY)
    assert "all that help" not in {way.name for way in options(short_policy)}


def test_no_option_moves_the_policy_limit():
    at_policy = replace(JAR, policy=CALM, open_at=PACKED + 40 * DAY)
    assert forecast(at_policy).governing_limit == "policy"
    ways = options(at_policy)
    assert len(ways) >= 4
    assert all(way.keep_until <= JAR.exposed_at + 14 * DAY for way in ways)
    assert all(way.gain_days == 0.0 for way in ways)
    assert any("the unit's policy ends the hold" in way.text for way in ways)


def test_a_place_is_never_made_colder_than_two_degrees():
    for temp_c in (2.0, 2.5, 3.0, 3.5, 4.0, 6.0, 20.0):
        for way in options(replace(JAR, climate=Climate(temp_c=temp_c, rh=0.7)), members=50):
            if way.name == "colder place":
                assert "at 3 °C" in way.text or "at 4 °C" in way.text
                assert temp_c > 3.0


def test_renewing_the_tissue_starts_its_clock_again_and_not_that_of_the_find():
    renewed = replace(JAR, wrapping_renewed_at=PACKED + 7 * DAY)
    before, after = forecast(JAR), forecast(renewed)
    assert limit_of(after, "growth on wrapping").date_best > limit_of(before, "growth on wrapping").date_best
    assert limit_of(after, "growth on find") == limit_of(before, "growth on find")
    assert after.growth_index_at_open["wrapping"].best < before.growth_index_at_open["wrapping"].best


def test_a_hold_met_from_the_start_is_to_be_opened_now():
    ways = options(replace(JAR, climate=Climate(temp_c=20.0, rh=0.5)))
    earlier = next(way for way in ways if way.name == "earlier opening")
    assert "Open it now" in earlier.text
    assert next(way for way in ways if way.name == "colder place").gain_days > 1.0


# --- refusals ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"block_m": (0.0, 0.1, 0.1)}, "block_m is 0"),
        ({"block_mass_kg": -1.0}, "block_mass_kg is -1"),
        ({"block_water_kg": 8.0}, "holds 8 kg of water but weighs 7.5 kg"),
        ({"gross_mass_kg": 1.0}, "less than what is in it"),
        ({"box_inside_m": (0.2, 0.2, 0.2)}, "does not go into the box"),
        ({"packing_m3": 0.02}, "leave no air in the box"),
        ({"packed_at": PACKED - 2 * DAY}, "packed before it was exposed"),
        ({"open_at": PACKED - 1 * DAY}, "before the packing"),
        ({"check_at": (PACKED - 0.5 * DAY,)}, "check_at 1"),
        ({"open_at": datetime(2026, 7, 30, 16)}, "has no zone"),
        ({"find_temp_c": 200.0}, "find_temp_c is 200"),
        ({"state": "dry"}, "dry find is packed in damp wrapping"),
        ({"block_water_kg": 0.0, "wrapping_water_kg": 0.0}, "damp find with no water"),
        ({"headspace_rh": 99.0}, "did you mean 0.99"),
        ({"lid_air_changes_per_day": float("nan")}, "lid_air_changes_per_day is nan"),
        ({"wall": "cardboard"}, "lets vapour through freely"),
        ({"wall_m": 0.0}, "wall_m is 0"),
    ],
)
def test_what_cannot_be_is_refused_with_the_limit_and_what_to_do(change, words):
    with pytest.raises(BadInput) as refused:
        replace(JAR, **change)
    assert words.lower() in refused.value.sentence().lower()
    assert refused.value.do


def test_humidity_typed_in_per_cent_is_asked_about():
    with pytest.raises(BadInput, match=r"rh is 55; it is a fraction, not per cent.*Did you mean 0\.55\?"):
        Climate(temp_c=5.0, rh=55.0)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"series_s": np.array([0.0, 1.0])}, "times but no temperatures"),
        ({"series_s": np.array([0.0, 1.0]), "series_temp_c": np.array([4.0])}, "differ in length"),
        ({"series_s": np.array([0.0, 0.0]), "series_temp_c": np.array([4.0, 4.0])}, "reading 2"),
        ({"series_s": np.array([0.0, 1.0]), "series_temp_c": np.array([4.0, 400.0])}, "series_temp_c is 400"),
        ({"swing_k": -1.0}, "swing_k is -1"),
    ],
)
def test_a_bad_climate_is_refused(more, words):
    with pytest.raises(BadInput) as refused:
        Climate(temp_c=5.0, rh=0.7, **more)
    assert words in refused.value.sentence()


def test_a_series_in_per_cent_is_asked_about():
    with pytest.raises(BadInput, match=r"Did you mean 0\.7\?"):
        with_series(4.0, hours=10, series_rh=np.full(10, 70.0))


def test_a_place_without_any_temperature_is_refused():
    with pytest.raises(BadInput, match="no temperature of the place"):
        Climate(temp_c=None, rh=0.7)


@pytest.mark.parametrize(
    ("change", "near"),
    [
        ({"wall": "polypropilene"}, "polypropylene"),
        ({"find_class": "sensitiv"}, "sensitive"),
        ({"wrapping_class": "resistent"}, "resistant"),
        ({"state": "waterloged"}, "waterlogged"),
    ],
)
def test_unknown_names_get_near_names_and_are_never_taken(change, near):
    with pytest.raises(UnknownName) as refused:
        replace(JAR, **change)
    assert near in refused.value.near


def test_unknown_lids_and_heat_properties_are_refused_by_name():
    assert wall("PP").p25 == wall("Polypropylene").p25
    assert lid_class("well sealed").air_changes_per_day == 0.3
    with pytest.raises(UnknownName, match="lid class"):
        lid_class("tight")
    with pytest.raises(UnknownName, match="heat property"):
        thermal("colour")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"growth_time_gsd": 0.5}, "growth_time_gsd is 0.5"),
        ({"policy_days": 0.0}, "policy_days is 0"),
        ({"water_loss_fraction": 2.0}, "did you mean 0.02"),
        ({"warm_c": 1.0}, "out of order"),
    ],
)
def test_a_policy_that_cannot_be_is_refused(change, words):
    with pytest.raises(BadInput) as refused:
        Policy(**change)
    assert words in refused.value.sentence().lower()


def test_an_ensemble_too_small_for_its_edges_is_refused():
    with pytest.raises(BadInput, match="ensemble of 5 members"):
        forecast(JAR, members=5)


# --- loggers ----------------------------------------------------------------------------------------------------


def test_a_logger_that_fell_silent_or_began_late_is_mentioned():
    time_s = 3600.0 * np.concatenate((np.arange(10, 60), np.arange(100, 200)))
    for temp_c, words in ((None, "as at its first reading"), (5.0, "the stated temperature is taken")):
        climate = Climate(temp_c=temp_c, rh=None, series_s=time_s, series_temp_c=np.full(150, 4.0))
        notes = " ".join(forecast(replace(JAR, climate=climate)).notes)
        assert "silent for 41 h" in notes
        assert "begins 10 h after packing" in notes
        assert words in notes


def test_after_the_last_reading_the_mean_is_carried_on_and_said():
    climate = Climate(temp_c=None, rh=None, series_s=3600.0 * np.arange(100), series_temp_c=np.full(100, 4.0))
    got = forecast(replace(JAR, climate=climate))
    assert any("stays at the mean of the readings" in line for line in got.assumptions)
    steady = forecast(replace(JAR, climate=Climate(temp_c=4.0, rh=None)))
    assert got.water_loss_g.best == pytest.approx(steady.water_loss_g.best, rel=1e-4)


def test_a_place_above_forty_degrees_says_that_the_growth_model_is_stretched():
    notes = forecast(replace(JAR, climate=Climate(temp_c=45.0, rh=0.5))).notes
    assert any("growth above 40 °C" in note for note in notes)
