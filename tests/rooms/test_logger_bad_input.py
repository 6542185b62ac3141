"""Logger files as they come on a bad day: refused with the line and what to do, or asked about; never guessed."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from findhold.check.excursions import FAILURE, find_excursions, spell_rules
from findhold.check.logger import read_logger
from findhold.errors import BadInput, UnknownName
from findhold.service.logger import logged_climate

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"
START = datetime(2026, 7, 24, 8, 0)


def made(count=40, *, form="%Y-%m-%d %H:%M", step_min=10, temps=None, behind=""):
    values = temps or [f"{4.0 + n % 7 * 0.3:.1f}" for n in range(count)]
    moments = [START + timedelta(minutes=step_min * n) for n in range(len(values))]
    return [f"{m:{form}}{behind},{t}" for m, t in zip(moments, values, strict=True)]


def read(lines, heading="Time,Temp (°C)", **given):
    given.setdefault("zone", "UTC")
    return read_logger("\n".join([heading, *lines]).encode(), "fridge.csv", **given)


def refused(lines, heading="Time,Temp (°C)", **given):
    with pytest.raises(BadInput) as caught:
        read(lines, heading, **given)
    assert caught.value.do
    return caught.value.sentence()


def test_readings_without_times_are_refused():
    said = refused([f"{n},{4 + n % 3}.0" for n in range(30)], "No.,Temp (°C)")
    assert "no table of times and readings" in said
    assert "a date, a time" in refused([f"{n:02d}:00,{4 + n % 3}.0" for n in range(20)], "Time,Temp (°C)")


@pytest.mark.parametrize("count", [1, 2])
def test_a_file_of_one_or_two_rows_says_that_it_is_too_short(count):
    said = refused(made(count))
    assert f"{count} readings do not say" in said
    assert "at least 3" in said
    assert "--failure" in said


def test_three_rows_are_read():
    assert read(made(3)).at.size == 3


def test_a_heading_alone_is_no_table():
    assert "no table" in refused([])


def test_times_with_and_without_offset_in_one_file_are_refused_with_the_first_line():
    mixed = made(20, form="%Y-%m-%dT%H:%M:%S", behind="+01:00")[:10] + made(20, form="%Y-%m-%dT%H:%M:%S")[10:]
    said = refused(mixed, zone=None)
    assert "line 12" in said
    assert "10 times have no time zone and 10 have one" in said
    # With the zone said, each is read as it is written: British summer time is +01:00 in July.
    series = read(mixed, zone="Europe/London")
    assert series.at[0] == np.datetime64("2026-07-24T07:00")
    assert set(np.diff(series.at).astype("timedelta64[m]").astype(int).tolist()) == {10}


def test_offsets_that_change_within_a_file_are_each_taken_as_written():
    one = made(20, form="%Y-%m-%dT%H:%M:%S", behind="+01:00")[:10]
    other = [line.replace("+01:00", "Z") for line in made(20, form="%Y-%m-%dT%H:%M:%S", behind="+01:00")[10:]]
    series = read([*one, *other], zone=None)
    assert (series.at[10] - series.at[9]).astype("timedelta64[m]").astype(int) == 70


@pytest.mark.parametrize("value", ["85.0", "-127.0", "-127"])
def test_the_values_of_a_failed_sensor_are_asked_about_and_left_out_only_on_answer(value):
    lines = made(temps=["4.0", "4.3", "4.6"] * 5 + [value, value] + ["4.4", "4.1"] * 5)
    series = read(lines)
    assert series.at.size == 0
    (question,) = series.questions
    assert (question.about, question.row) == ("faults", 17)
    assert question.choices == ("leave out", "refuse the file")
    answered = read(lines, faults="leave out")
    assert np.flatnonzero(np.isnan(answered.temp_c)).tolist() == [15, 16]
    assert any("line 17" in note for note in answered.notes)
    with pytest.raises(BadInput, match="line 17"):
        read(lines, faults="refuse the file")
    with pytest.raises(UnknownName):
        read(lines, faults="yes")


def test_a_sensor_fault_is_known_in_fahrenheit_too():
    # 85 degC is 185 degF.
    series = read(made(temps=["39.2", "40.1"] * 10 + ["185.0"] + ["39.9", "40.5"] * 5), "Time,Temp (°F)")
    assert series.questions[0].about == "faults"


def test_any_other_value_that_no_store_has_is_refused_with_its_line():
    said = refused(made(temps=["4.0", "4.1"] * 8 + ["327.7"] + ["4.0"] * 10))
    assert "line 18" in said
    assert "-60 to 80" in said


def test_humidity_a_little_over_100_is_kept_and_counted_as_100_and_far_over_is_refused(tmp_path):
    wet = [f"{line},{h}" for line, h in zip(made(), [97, 99, 101, 103] * 10, strict=True)]
    series = read(wet, "Time,Temp (°C),RH (%)")
    assert float(series.rh.max()) == pytest.approx(1.03)
    assert any("20 humidity readings are above 100 %" in note for note in series.notes)
    file = tmp_path / "fridge.csv"
    file.write_text("\n".join(["Time,Temp (°C),RH (%)", *wet]), encoding="utf-8")
    climate = logged_climate(file, packed_at=START.replace(tzinfo=UTC), zone="UTC", stated={})
    assert float(climate.series_rh.max()) == 1.0
    far = [f"{line},{h}" for line, h in zip(made(), [75, 140] * 20, strict=True)]
    assert "humidity 1.4" in refused(far, "Time,Temp (°C),RH (%)")


def test_repeated_times_do_not_stop_a_scenario(tmp_path):
    file = tmp_path / "fridge.csv"
    lines = made(temps=["4.0", "6.0"] * 10)
    file.write_text("\n".join(["Time,Temp (°C)", *lines[:6], lines[5].replace("6.0", "8.0"), *lines[6:]]), "utf-8")
    climate = logged_climate(file, packed_at=START.replace(tzinfo=UTC), zone="UTC", stated={"temp_c": 5.0})
    assert climate.series_s.tolist() == [600.0 * n for n in range(20)]
    assert climate.series_temp_c[5] == 7.0


def test_too_long_a_file_is_refused_before_it_is_read():
    with pytest.raises(BadInput, match="6000001 lines") as caught:
        read_logger(b"Time,Temp\n" + b"\n" * 6_000_000, "fridge.csv", zone="UTC")
    assert "merged by time" in caught.value.do


def test_a_third_of_a_million_rows_come_in_whole_whatever_their_dates():
    count = 330_000
    at = np.datetime64("2026-01-01T00:00:00") + np.arange(count) * np.timedelta64(30, "s")
    stamps = at.astype(str).tolist()
    temps = [f"{4 + n % 17 / 10:.1f}" for n in range(count)]
    slashed = [f"{s[8:10]}/{s[5:7]}/{s[:4]} {s[11:]}" for s in stamps]
    for texts in (stamps, slashed):
        series = read([f"{s},{t}" for s, t in zip(texts, temps, strict=True)])
        assert series.at.size == count
        assert (series.at == at).all()
        assert series.temp_c[-1] == float(temps[-1])


def test_lines_of_other_things_far_down_are_counted_with_their_lines():
    lines = made(count=150_000, step_min=1)
    lines.insert(120_000, "--- battery changed ---")
    series = read(lines)
    assert series.at.size == 150_000
    assert any("line 120002" in note for note in series.notes)


def test_days_and_times_read_apart_are_the_same_as_read_together():
    # Two-digit days that only the fortieth row decides, with a twelve-hour clock and a decimal comma in the numbers.
    moments = [datetime(2026, 7, 24, 8) + timedelta(hours=7 * n) for n in range(60)]
    lines = [f"{m:%d/%m/%y %I:%M %p};{n % 5},5" for n, m in enumerate(moments)]
    series = read(lines, "Time;Temp (°C)")
    assert series.at.tolist() == moments
    assert series.temp_c[3] == 3.5


def test_the_demos_failure_is_found_where_it_was_put():
    # Source: builders/build_demo.py: no power from 31 July 21:40 UTC for 31 hours; a compressor cycle of 40 minutes
    # before it, within which the beginning cannot be told.
    series = read_logger((DEMO / "fridge2_logger.csv").read_bytes(), "fridge2_logger.csv", zone=None)
    told = find_excursions(series.at, series.temp_c, spell_rules(warm_c=8.0, cold_c=2.0, freeze_c=0.0, spell_hours=1.0))
    (spell,) = told.spells
    assert spell.kind == FAILURE
    failed, mended = datetime(2026, 7, 31, 21, 40, tzinfo=UTC), datetime(2026, 8, 2, 4, 40, tzinfo=UTC)
    assert abs(spell.failed_from - failed) <= timedelta(minutes=40)
    assert abs(spell.failed_to - mended) <= timedelta(minutes=10)
    # Drift with 6.5 h to a room of 19 to 23 degC passes 8 degC 1.3 to 1.8 h after; back with 1.6 h in 2 to 2.7 h.
    assert 31.0 < spell.hours < 33.0
    assert (told.usual_c, told.still_warm) == (pytest.approx(4.6, abs=0.1), False)
