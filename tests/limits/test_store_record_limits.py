"""A store's record: what thinning keeps, merging without doubling, and the curve against Newton's law."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from findhold.service.stay import Span, Stay, climate_of_stays
from findhold.service.store_record import (
    FILES_BEFORE,
    NOTHING,
    THIS_FILE,
    WARMER,
    Failure,
    StoreRecord,
    curve_of,
    disagreement,
    drift_hours,
    merged,
    packed,
    thin,
    unpacked,
)

FRIDGE = {"name": "Fridge 2", "kind": "fridge", "temp_c": 5.0, "rh": 0.75}
MIDNIGHT = datetime(2026, 7, 24, tzinfo=UTC)
START = np.datetime64("2026-07-24T00:00:00")


def readings(first_h, last_h, temp_c, step_min=10):
    minutes = np.arange(first_h * 60, last_h * 60, step_min)
    values = np.broadcast_to(np.asarray(temp_c, dtype=np.float64), minutes.shape)
    return START + minutes.astype("timedelta64[m]"), values.copy()


def hourly(first_h, last_h, temp_c, step_min=10):
    return thin(*readings(first_h, last_h, temp_c, step_min), scale=2)


def curve_at(curve, hours):
    return np.interp(MIDNIGHT.timestamp() + np.asarray(hours) * 3600.0, curve.at_s, curve.temp_c)


def off(first_h, last_h, room_c=20.0):
    return Failure(
        begins=MIDNIGHT + timedelta(hours=first_h),
        ends=None if last_h is None else MIDNIGHT + timedelta(hours=last_h),
        room_c=room_c,
        warming_hours=6.0,
        cooling_hours=2.0,
    )


def test_hourly_means_keep_the_mean_of_whole_hours():
    at, temps = readings(0, 240, 0.0)
    temps += 5.0 + 3.0 * np.sin(np.arange(len(temps)) / 17.0)
    thinned = thin(at, temps, scale=2)
    assert len(thinned.at) == 240
    assert thinned.value.mean() == pytest.approx(temps.mean(), abs=0.005)  # rounded to a hundredth
    assert set(thinned.count.tolist()) == {6}


def test_a_slow_logger_keeps_its_own_readings():
    at, temps = readings(0, 240, 4.0, step_min=480)
    thinned = thin(at, temps, scale=2)
    assert thinned.at.tolist() == at.tolist()


@pytest.mark.parametrize(
    "part",
    [hourly(0, 30, 4.123), hourly(0, 30, 4.1, 480), merged(hourly(0, 5, 4.0), hourly(9, 12, 6.0)), NOTHING],
    ids=["even", "slow", "with a gap", "empty"],
)
def test_a_record_comes_back_from_the_ledger_as_it_was(part):
    back = unpacked(packed(part))
    for name in ("at", "value", "count"):
        assert np.array_equal(getattr(back, name), getattr(part, name))


def test_files_that_overlap_have_no_hour_twice_and_their_order_does_not_matter():
    whole = hourly(0, 100, 4.0)
    first, second = hourly(0, 60, 4.0), hourly(40, 100, 4.0)
    for one, two in ((first, second), (second, first)):
        both = merged(one, two)
        assert both.at.tolist() == whole.at.tolist()
        assert both.value.tolist() == whole.value.tolist()
    assert merged(whole, first).at.tolist() == whole.at.tolist()


def test_in_a_shared_hour_the_fuller_one_stands_or_what_a_person_said():
    few, many = hourly(0, 10, 9.0, 30), hourly(0, 10, 4.0, 10)
    assert set(merged(few, many).value.tolist()) == {4.0}
    assert set(merged(many, few).value.tolist()) == {4.0}
    assert set(merged(many, few, WARMER).value.tolist()) == {9.0}
    assert set(merged(many, few, THIS_FILE).value.tolist()) == {9.0}
    assert set(merged(few, many, FILES_BEFORE).value.tolist()) == {9.0}
    assert disagreement(few, many) == (10, 5.0)
    assert disagreement(few, hourly(20, 30, 4.0)) == (0, 0.0)


def test_readings_stand_and_the_set_point_stands_before_and_after_them():
    curve = curve_of(FRIDGE, StoreRecord(temp=hourly(10, 20, 7.0)))
    assert curve_at(curve, [0.0, 10.5, 15.0, 19.5, 25.0]).tolist() == [5.0, 7.0, 7.0, 7.0, 5.0]


def test_a_silence_takes_the_warmer_of_the_line_and_the_set_point():
    temp = merged(hourly(0, 10, 4.0), hourly(30, 40, 15.0))
    curve = curve_of(FRIDGE, StoreRecord(temp=temp))
    line = 4.0 + 11.0 * (20.0 - 9.5) / (30.5 - 9.5)
    assert curve_at(curve, 20.0) == pytest.approx(line)
    assert curve_at(curve, 10.5) == pytest.approx(5.0)  # the line is at 4.5 there
    assert len(curve.silent) == 1


def test_a_failure_without_readings_follows_newtons_law_there_and_back():
    curve = curve_of(FRIDGE, StoreRecord(failures=(off(10, 41),)))
    hours = np.array([5.0, 10.0, 16.0, 41.0, 43.0, 60.0])
    peak = 20.0 - 15.0 * np.exp(-31.0 / 6.0)
    exact = [5.0, 5.0, 20.0 - 15.0 * np.exp(-1.0), peak, 5.0 + (peak - 5.0) * np.exp(-1.0), 5.0]
    assert curve_at(curve, hours) == pytest.approx(exact, abs=0.01)


def test_readings_beat_a_failure_typed_for_the_same_time_and_it_goes_on_from_the_last():
    record = StoreRecord(temp=hourly(0, 20, 5.0), failures=(off(10, 41),))
    curve = curve_of(FRIDGE, record)
    assert curve_at(curve, 15.0) == 5.0
    # From the last hourly mean, at 19.5 h, the drift begins.
    assert curve_at(curve, 25.5) == pytest.approx(20.0 - 15.0 * np.exp(-1.0), abs=0.02)


def test_a_store_still_off_goes_to_the_room_and_stays_there():
    curve = curve_of(FRIDGE, StoreRecord(failures=(off(10, None, 19.0),)))
    assert curve_at(curve, 24.0 * 30) == pytest.approx(19.0, abs=0.02)


def test_a_store_still_warm_at_its_last_reading_is_not_taken_to_be_mended():
    warm = StoreRecord(temp=hourly(0, 20, 16.0), still_warm=True)
    assert curve_at(curve_of(FRIDGE, warm), 100.0) == 16.0
    mended = StoreRecord(temp=hourly(0, 20, 16.0), still_warm=True, failures=(off(1, 30, 16.0),))
    assert curve_at(curve_of(FRIDGE, mended), 100.0) == pytest.approx(5.0, abs=0.01)


def test_a_cold_room_cools_a_store_that_is_off():
    curve = curve_of(FRIDGE, StoreRecord(failures=(off(0, 60, -3.0),)))
    assert curve_at(curve, 59.0) < -2.9


def test_a_store_of_another_kind_drifts_as_the_quickest():
    assert drift_hours("Fridge") == drift_hours("fridge ")
    assert drift_hours("shelf") == drift_hours(None)
    assert drift_hours(None)[0] <= min(drift_hours("fridge")[0], drift_hours("cool room")[0])


def test_a_move_changes_the_air_at_its_moment_and_keeps_what_went_before():
    stores = {"Fridge 1": {"name": "Fridge 1", "temp_c": 4.0, "rh": None}, "Fridge 2": FRIDGE}
    moved = MIDNIGHT + timedelta(hours=50)
    stays = (Stay(store="Fridge 2", since=None), Stay(store="Fridge 1", since=moved))
    records = {"Fridge 2": StoreRecord(failures=(off(10, 200),))}
    climate, said = climate_of_stays(stays, stores, records, Span(packed_at=MIDNIGHT), zone="Europe/London")
    temps = np.interp(np.array([5.0, 49.0, 51.0, 100.0]) * 3600.0, climate.series_s, climate.series_temp_c)
    assert temps == pytest.approx([5.0, 20.0 - 15.0 * np.exp(-39.0 / 6.0), 4.0, 4.0], abs=0.02)
    assert np.all(np.diff(climate.series_s) > 0.0)
    assert any("taken as a move" in line for line in said)


def test_a_store_without_record_is_its_set_point_and_nothing_else():
    climate, said = climate_of_stays(
        (Stay(store="Fridge 2", since=None),), {"Fridge 2": FRIDGE}, {}, Span(packed_at=MIDNIGHT), zone="UTC"
    )
    assert (climate.temp_c, climate.rh, climate.series_s, said) == (5.0, 0.75, None, [])
