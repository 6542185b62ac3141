"""Spells of a series against closed forms: pulses, triangles, straight edges; sums that cannot depend on order."""

from datetime import UTC, datetime

import numpy as np
import pytest

from findhold.check.excursions import (
    FAILURE,
    FROZEN,
    TOO_COLD,
    TOO_WARM,
    find_excursions,
    one_by_one,
    spell_rules,
)

RULES = spell_rules(warm_c=8.0, cold_c=2.0, freeze_c=0.0, spell_hours=1.0)
START = np.datetime64("2026-07-24T00:00:00")


def series(minutes, temps):
    return START + np.array(minutes).astype("timedelta64[m]"), np.array(temps, dtype=np.float64)


def found(minutes, temps):
    return find_excursions(*series(minutes, temps), RULES)


def at(hours):
    return datetime(2026, 7, 24, tzinfo=UTC).timestamp() + hours * 3600.0


def test_a_square_pulse_has_its_width_and_its_height_times_its_width():
    # 4 degC, then 10 h at 14 degC, one minute for each edge. Above 8 degC: the flat 10 h, and of each edge the part
    # above 8, (14-8)/(14-4) of a minute; degree-hours 6 K x 10 h and a triangle of 6 K over 0.6 min at each side.
    temps = found([0, 599, 600, 1200, 1201, 2400], [4, 4, 14, 14, 4, 4])
    (spell,) = temps.spells
    edge_h = 0.6 / 60.0
    assert spell.hours == pytest.approx(10.0 + 2 * edge_h)
    assert spell.degree_hours == pytest.approx(60.0 + 2 * 6.0 * edge_h / 2.0)
    assert (temps.warm_hours, temps.degree_hours) == (pytest.approx(spell.hours), pytest.approx(spell.degree_hours))
    assert spell.begins.timestamp() == pytest.approx(at(10.0 - edge_h), abs=1.0)
    assert spell.ends.timestamp() == pytest.approx(at(20.0 + edge_h), abs=1.0)
    assert (spell.worst_c, spell.ended) == (14.0, True)


def test_a_triangle_has_half_its_height_times_its_base():
    # From 8 degC up to 12 and back in 4 h: 4 K x 4 h / 2.
    (spell,) = found([0, 60, 180, 300, 360], [6, 8, 12, 8, 6]).spells
    assert (spell.kind, spell.hours) == (TOO_WARM, pytest.approx(4.0))
    assert spell.degree_hours == pytest.approx(8.0)


@pytest.mark.parametrize("cuts", [2, 5, 31])
def test_readings_put_in_between_change_no_sum(cuts):
    minutes = np.array([0, 120, 240, 400, 900, 1000, 1500])
    temps = np.array([4.0, 9.0, 21.0, 7.0, 3.0, 12.0, 5.0])
    finer = np.linspace(0, 1500, 1500 // 20 * cuts + 1)
    finer = np.unique(np.concatenate((np.round(finer * 60), minutes * 60.0)))
    fine = find_excursions(START + finer.astype("timedelta64[s]"), np.interp(finer / 60.0, minutes, temps), RULES)
    # A silence is longer than three hours only in the coarse series, so it is made finer by hand first.
    hourly = np.unique(np.concatenate((minutes, np.arange(0, 1501, 60))))
    coarse = found(hourly, np.interp(hourly, minutes, temps))
    assert fine.degree_hours == pytest.approx(coarse.degree_hours, rel=1e-3)
    assert fine.warm_hours == pytest.approx(coarse.warm_hours, rel=1e-3)
    assert [spell.kind for spell in fine.spells] == [spell.kind for spell in coarse.spells]


def test_a_failure_is_told_from_its_drift_and_its_turn():
    # Newton's law to 20 degC with 6 h for 30 h, then back with 2 h; the store is usually at 4 degC exactly.
    minutes = np.arange(0, 72 * 60 + 1, 10)
    hours = minutes / 60.0
    peak = 20.0 - 16.0 * np.exp(-30.0 / 6.0)
    temps = np.where(hours <= 10, 4.0, 20.0 - 16.0 * np.exp(-(hours - 10.0) / 6.0))
    temps = np.where(hours > 40, 4.0 + (peak - 4.0) * np.exp(-(hours - 40.0) / 2.0), temps)
    (spell,) = found(minutes, temps).spells
    assert spell.kind == FAILURE
    assert spell.failed_from.timestamp() == at(10.0)
    assert spell.failed_to.timestamp() == at(40.0)
    # 20 - 16 exp(-t/6) = 8 at t = 6 ln(16/12); 4 + (peak-4) exp(-t/2) = 8 at t = 2 ln((peak-4)/4).
    rises, falls = 10.0 + 6.0 * np.log(16.0 / 12.0), 40.0 + 2.0 * np.log((peak - 4.0) / 4.0)
    assert spell.hours == pytest.approx(falls - rises, abs=0.01)


def test_a_spell_that_the_readings_do_not_see_end_is_not_ended():
    told = found(range(0, 601, 10), [4.0] * 30 + [15.0] * 31)
    assert told.still_warm
    assert not told.spells[0].ended
    assert not found(range(0, 601, 10), [15.0] * 31 + [4.0] * 30).still_warm


def test_a_short_warm_spell_is_a_door_and_only_counted():
    told = found(range(0, 601, 10), [4.0] * 20 + [12.0] * 3 + [4.0] * 38)
    assert told.spells == ()
    assert told.short_count == 1
    # 12 degC for 20 min, and of each edge of 10 min the half above 8.
    assert told.short_hours == pytest.approx(0.5)


def test_two_spells_close_together_are_one_and_the_gap_between_does_not_count():
    # 2 h warm, 20 min at 6 degC, 2 h warm.
    minutes = np.arange(0, 601, 10)
    temps = np.where((minutes >= 60) & (minutes <= 300), 10.0, 4.0)
    temps[(minutes > 170) & (minutes < 200)] = 6.0
    (spell,) = found(minutes, temps).spells
    assert (spell.ends - spell.begins).total_seconds() / 3600 > spell.hours > 3.0


def test_frost_is_worse_than_any_warmth_and_is_not_told_twice_as_cold():
    minutes = np.arange(0, 3001, 10)
    temps = np.where(minutes < 1500, 20.0, np.where(minutes < 1800, -2.0, 4.0))
    told = found(minutes, temps)
    assert [spell.kind for spell in told.spells] == [FROZEN, FAILURE]
    assert told.spells[0].worst_c == -2.0
    only_cold = found(minutes, np.where((minutes > 600) & (minutes < 900), 1.0, 4.0))
    assert [spell.kind for spell in only_cold.spells] == [TOO_COLD]


def test_below_a_limit_is_the_mirror_of_above_it():
    minutes, temps = np.arange(0, 1001, 10), 5.0 + 9.0 * np.sin(np.arange(101) / 11.0)
    rules = spell_rules(warm_c=8.0, cold_c=2.0, freeze_c=-90.0, spell_hours=1.0)
    warm = find_excursions(*series(minutes, temps), rules)
    mirrored = find_excursions(*series(minutes, 10.0 - temps), rules)
    cold = [spell for spell in mirrored.spells if spell.kind == TOO_COLD]
    above = [spell for spell in warm.spells if spell.kind != TOO_COLD]
    assert sum(spell.degree_hours for spell in cold) == pytest.approx(sum(spell.degree_hours for spell in above))


def test_a_silence_is_listed_and_no_spell_is_drawn_across_it():
    minutes = [*range(0, 301, 10), *range(2000, 2301, 10)]
    told = found(minutes, [4.0] * 31 + [15.0] * 31)
    assert [(begin.timestamp(), end.timestamp()) for begin, end in told.silent] == [(at(5.0), at(2000 / 60))]
    assert told.spells[0].begins.timestamp() == at(2000 / 60)
    assert told.warm_hours == pytest.approx(5.0)


def test_a_logger_that_reads_twice_a_day_has_no_silence():
    assert found(range(0, 7201, 720), [4.0] * 11).silent == ()


def test_readings_without_value_and_of_one_instant_are_put_right():
    when, temps = series([10, 0, 10, 20], [6.0, 4.0, 8.0, np.nan])
    once, mean = one_by_one(when, temps)
    assert once.tolist() == [START.astype(datetime), (START + np.timedelta64(10, "m")).astype(datetime)]
    assert mean.tolist() == [4.0, 7.0]
    with pytest.raises(ValueError, match="two readings"):
        find_excursions(when[1:2], temps[1:2], RULES)
