"""A box that was packed anew: the time it stood in its store before counts at the store's warmth, failures included."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import numpy as np
import pytest

from findhold.keep.forecast import forecast
from findhold.keep.inputs import Climate, HoldInputs
from findhold.keep.place import before_packing
from findhold.keep.surface import surface_of_find
from findhold.physics.mould import first_growth_days

DAY = 86400.0
PACKED = datetime(2026, 7, 20, 10, tzinfo=timezone(timedelta(hours=1)))
STEADY = Climate(temp_c=4.0, rh=0.70)
ANEW = HoldInputs(
    find_class="very sensitive",
    wrapping_class="sensitive",
    state="damp",
    block_m=(0.12, 0.10, 0.06),
    block_mass_kg=1.2,
    block_water_kg=0.24,
    wrapping_dry_kg=0.02,
    wrapping_water_kg=0.03,
    cushion_m=0.02,
    box_inside_m=(0.30, 0.20, 0.10),
    wall="PP",
    wall_m=0.0012,
    lid_air_changes_per_day=2.0,
    climate=STEADY,
    exposed_at=PACKED - timedelta(days=6),
    packed_at=PACKED,
    open_at=PACKED + timedelta(days=21),
    find_temp_c=16.0,
    gross_mass_kg=2.0,
)
STOOD = replace(ANEW, climate=replace(STEADY, stood_s=-5.0 * DAY))


def limit(told, name):
    return next(one for one in told.limits if one.name == name)


def test_without_standing_anywhere_the_whole_time_counts_as_warm_as_at_packing():
    assert surface_of_find(ANEW, "very sensitive").exposed_s == 6.0 * DAY


def test_days_in_the_store_count_by_the_clock_of_growth_at_its_warmth():
    """One day at 16 °C and five at 4 °C, by the time to first growth at both (saturated air)."""
    share = float(first_growth_days(16.0, 1.0)) / float(first_growth_days(4.0, 1.0))
    assert surface_of_find(STOOD, "very sensitive").exposed_s == pytest.approx(DAY * (1.0 + 5.0 * share), rel=1e-12)


def test_a_store_as_warm_as_the_find_changes_nothing():
    same = replace(STOOD, climate=replace(STOOD.climate, temp_c=ANEW.find_temp_c))
    assert surface_of_find(same, "very sensitive").exposed_s == pytest.approx(6.0 * DAY, rel=1e-12)


def test_the_time_before_packing_adds_up_whatever_the_series():
    series_s = np.arange(-7.0 * DAY, 7.0 * DAY, 5000.0)
    climate = replace(STOOD.climate, series_s=series_s, series_temp_c=np.full(series_s.shape, 4.0))
    long_s, warm_c = before_packing(replace(STOOD, climate=climate))
    assert long_s.sum() == pytest.approx(6.0 * DAY)
    assert long_s[-1] == pytest.approx(1.0 * DAY)
    assert (set(warm_c[:-1]), warm_c[-1]) == ({4.0}, 16.0)


def test_growth_on_the_find_is_later_than_if_it_had_lain_about_and_a_failure_then_still_counts():
    lain, stood = (limit(forecast(one, members=50), "growth on find") for one in (ANEW, STOOD))
    assert stood.date_best > lain.date_best + timedelta(days=5)
    series_s = np.arange(-7.0 * DAY, 30.0 * DAY, 3600.0)
    off = (series_s > -3.0 * DAY) & (series_s < -2.0 * DAY)
    failed = replace(STOOD.climate, series_s=series_s, series_temp_c=np.where(off, 20.0, 4.0))
    told = limit(forecast(replace(STOOD, climate=failed), members=50), "too warm")
    assert abs(told.date_best - (PACKED - timedelta(days=3))) < timedelta(hours=1)
    forgotten = replace(failed, stood_s=0.0)
    assert limit(forecast(replace(STOOD, climate=forgotten), members=50), "too warm").date_best is None
