"""Exposure of a lid against the constant place, and the way of a taught lid into the forecast's draws."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import numpy as np
import pytest

from findhold.errors import BadInput
from findhold.keep.draws import draw
from findhold.keep.exposure import exposure
from findhold.keep.forecast import forecast
from findhold.keep.inputs import Climate, HoldInputs
from findhold.physics.moist_air import saturation_over_water_pa

PACKED = datetime(2026, 7, 20, 10, tzinfo=timezone(timedelta(hours=1)))
RV = 8.314462618 / 0.018015268
DAYS = (0, 3, 7, 14)
AT = tuple(PACKED + timedelta(days=days) for days in DAYS)
HOLD = HoldInputs(
    find_class="medium resistant",
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
    lid_air_changes_per_day=2.77,
    climate=Climate(temp_c=4.0, rh=0.70, swing_k=0.6, cycles_per_day=32.0, barometric_pa_per_day=800.0),
    exposed_at=PACKED,
    packed_at=PACKED,
    open_at=PACKED + timedelta(days=21),
    find_temp_c=4.0,
    gross_mass_kg=2.0,
)


def test_in_a_steady_place_the_exposure_is_pressure_difference_times_time():
    # K x = N V dp t / (86400 Rv T), whatever temperature K is told at; dp = psat(4) (1 - 0.70) = 244.06 Pa. The air in
    # a box that leaks stands a little below saturation, so 1 % is allowed.
    found = exposure(HOLD, AT)
    dp = float(saturation_over_water_pa(4.0)) * 0.30
    wanted = 2.77 * 0.006 * dp * np.array(DAYS) / (RV * 277.15)
    assert found.lid_conductance * found.pa_s == pytest.approx(wanted, rel=0.01, abs=1e-9)
    assert found.lid_conductance == pytest.approx(2.77 * 0.006 / (86400.0 * RV * 278.15), rel=1e-12)
    assert found.one_change * 2.77 == pytest.approx(found.lid_conductance)


def test_exposure_does_not_depend_on_the_lid():
    # Water lost past the lid is its conductance times the exposure, so the exposure is the same for every good lid, but
    # for the little that a leaky box stands below saturation.
    tight, loose = (exposure(replace(HOLD, lid_air_changes_per_day=lid), AT) for lid in (0.05, 2.77))
    assert tight.pa_s == pytest.approx(loose.pa_s, rel=0.01, abs=1.0)
    assert tight.other_kg == pytest.approx(loose.other_kg, rel=0.005, abs=1e-12)


@pytest.mark.parametrize("stated", [None, 0.0])
def test_an_unknown_lid_is_the_prior_s(stated):
    # Source: the prior's median is 0.5 air changes a day.
    found = exposure(replace(HOLD, lid_air_changes_per_day=stated), AT)
    assert found.lid_conductance == pytest.approx(0.5 * found.one_change)
    assert found.pa_s == pytest.approx(exposure(HOLD, AT).pa_s, rel=0.01, abs=1.0)


def test_lid_and_other_ways_make_up_the_loss_of_the_forecast():
    found = exposure(HOLD, AT)
    told = forecast(replace(HOLD, check_at=AT), members=20)
    lost = [2.0 - band.best_kg for band in told.mass_band]
    assert found.lid_conductance * found.pa_s + found.other_kg == pytest.approx(lost, abs=1e-12)


def test_an_instant_before_packing_is_refused():
    with pytest.raises(BadInput, match="before the packing"):
        exposure(HOLD, (PACKED - timedelta(hours=1),))


def test_the_forecast_draws_the_lid_as_it_was_taught():
    factors = (0.5, 0.8, 1.0, 1.1, 1.4)
    drawn = draw(replace(HOLD, lid_air_changes_per_day=1.5, lid_spread=factors), 1000, 1).lid_air_changes
    assert drawn[0] == 1.5
    # Five evenly spaced shares: 10, 30, 50, 70, 90 %.
    assert np.quantile(drawn[1:], (0.1, 0.3, 0.5, 0.7, 0.9)) == pytest.approx(1.5 * np.array(factors), rel=0.01)


def test_a_lid_known_better_makes_a_narrower_loss():
    free = forecast(HOLD, members=400).water_loss_g
    known = forecast(replace(HOLD, lid_spread=(0.95, 1.0, 1.05)), members=400).water_loss_g
    assert known.high - known.low < 0.5 * (free.high - free.low)
    assert known.best == free.best


@pytest.mark.parametrize("factors", [(), (1.0,), (1.2, 1.0), (-0.1, 1.0), (1.0, float("inf")), (1.0, float("nan"))])
def test_a_spread_that_cannot_be_is_refused(factors):
    with pytest.raises(BadInput, match="spread"):
        replace(HOLD, lid_spread=factors)
