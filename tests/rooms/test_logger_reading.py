"""Logger exports of many makes of table: read to the same series, or asked, or refused; never repaired."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from findhold.check.logger import read_logger
from findhold.errors import BadInput, UnknownName

LONDON = ZoneInfo("Europe/London")
START = datetime(2026, 7, 24, 8, 0, tzinfo=UTC)
MOMENTS = [START + timedelta(minutes=10 * n) for n in range(40)]
TEMPS = [4.0 + (n % 7) * 0.3 for n in range(40)]
HUMIDS = [75 + n % 4 for n in range(40)]


def rows(form, *, temp="{:.1f}", rh="{}", sep=",", zone=UTC, temps=None):
    values = zip(MOMENTS, temps or TEMPS, HUMIDS, strict=True)
    return "\n".join(sep.join((m.astimezone(zone).strftime(form), temp.format(t), rh.format(h))) for m, t, h in values)


def same_as_made(series):
    assert series.questions == ()
    assert series.at.tolist() == [m.replace(tzinfo=None) for m in MOMENTS]
    assert series.temp_c == pytest.approx(TEMPS, abs=0.06)
    assert series.rh == pytest.approx(np.array(HUMIDS) / 100)


EXPORTS = {
    "iso and commas": ("Time,Temperature (°C),Humidity (%RH)\n" + rows("%Y-%m-%d %H:%M:%S")).encode(),
    "semicolons in Windows-1252": (
        "Datum und Uhrzeit;Temperatur [°C];Rel. Feuchte [%]\n" + rows("%d.%m.%Y %H:%M", sep=";")
    ).encode("cp1252"),
    "tabs in UTF-16": ("Date Time\tTemp (C)\tRH (%)\n" + rows("%d/%m/%Y %H:%M", sep="\t")).encode("utf-16"),
    "preamble with quoted heading": (
        'Serial;"A 123"\nStore;"Fridge 2"\n\n"Date";"Time";"Temperature °C";"Humidity %"\n'
        + rows("%d/%m/%Y;%H:%M:%S", sep=";", temp='"{:.1f}"')
    ).encode("utf-8-sig"),
    "bars": ("Timestamp|Temperature °C|Humidity %\n" + rows("%Y-%m-%dT%H:%M:%S", sep="|")).encode(),
    "fixed columns": ("Date        Time      Temp (°C)   RH (%)\n" + rows("%Y-%m-%d  %H:%M", sep="   ")).encode(),
    "units in a row of their own": ("Time,Temperature,Humidity\n,°C,%\n" + rows("%Y-%m-%d %H:%M:%S")).encode(),
    "twelve-hour clock": ("Date/Time,Temp °C,% RH\n" + rows("%d/%m/%Y %I:%M %p")).encode(),
    "words for the month": ("Time,Temp °C,% RH\n" + rows("%d %b %Y %H:%M")).encode(),
    "units in the cells": ("Time,Temp,Hum\n" + rows("%Y-%m-%d %H:%M", temp="{:.1f} °C", rh="{} %")).encode(),
    "a percent sign nowhere": ("Time,Temp (°C),Relative humidity\n" + rows("%Y-%m-%d %H:%M")).encode(),
    "offset behind the time": ("Time,Temp (°C),RH (%)\n" + rows("%Y-%m-%dT%H:%M:%S%z", zone=LONDON)).encode(),
}


@pytest.mark.parametrize("export", EXPORTS)
def test_each_kind_of_export_gives_the_same_series(export):
    same_as_made(read_logger(EXPORTS[export], "fridge.csv", zone="UTC"))


def test_decimal_commas_are_read_as_points():
    text = "Zeit;Temp (°C);Feuchte (%)\n" + rows("%d.%m.%Y %H:%M", sep=";", temp="{:.1f}").replace(
        ";4.", ";4,"
    ).replace(";5.", ";5,")
    assert ";4,0;" in text
    same_as_made(read_logger(text.encode("cp1252"), "fridge.csv", zone="UTC"))


def test_fahrenheit_and_kelvin_become_celsius_by_the_definition_of_the_scales():
    for heading, temps in (("Temp (°F)", [t * 1.8 + 32 for t in TEMPS]), ("Temp (K)", [t + 273.15 for t in TEMPS])):
        text = f"Time,{heading},RH (%)\n" + rows("%Y-%m-%d %H:%M", temp="{:.2f}", temps=temps)
        same_as_made(read_logger(text.encode(), "fridge.csv", zone="UTC"))


def test_seconds_since_1970_are_utc():
    text = "epoch,Temp (°C),RH (%)\n" + "\n".join(
        f"{int(m.timestamp())},{t:.1f},{h}" for m, t, h in zip(MOMENTS, TEMPS, HUMIDS, strict=True)
    )
    same_as_made(read_logger(text.encode(), "fridge.csv", zone=None))


def test_local_times_need_a_zone_and_a_zone_in_the_heading_comes_first():
    local = rows("%Y-%m-%d %H:%M", zone=LONDON)
    with pytest.raises(BadInput, match="time zone"):
        read_logger(f"Time,Temp (°C),RH (%)\n{local}".encode(), "fridge.csv", zone=None)
    same_as_made(read_logger(f"Time,Temp (°C),RH (%)\n{local}".encode(), "fridge.csv", zone="Europe/London"))
    same_as_made(read_logger(f"Time (UTC+01:00),Temp (°C),RH (%)\n{local}".encode(), "fridge.csv", zone="Asia/Tokyo"))
    with pytest.raises(UnknownName, match="Europe/London"):
        read_logger(f"Time,Temp (°C),RH (%)\n{local}".encode(), "fridge.csv", zone="Europe/Londn")


def test_temperature_alone_and_humidity_alone():
    one = "\n".join(f"{m:%Y-%m-%d %H:%M},{t}" for m, t in zip(MOMENTS, TEMPS, strict=True))
    series = read_logger(f"Time,Temp (°C)\n{one}".encode(), "f.csv", zone="UTC")
    assert series.rh is None
    other = "\n".join(f"{m:%Y-%m-%d %H:%M},{h}" for m, h in zip(MOMENTS, HUMIDS, strict=True))
    series = read_logger(f"Time,RH %\n{other}".encode(), "f.csv", zone="UTC")
    assert series.temp_c is None
    assert series.rh[0] == 0.75


def test_a_day_and_month_that_nothing_decides_is_a_question_and_its_answer_is_taken():
    text = "Time,Temp (°C)\n" + "\n".join(f"03/04/2026 {8 + n // 6:02d}:{n % 6}0,{4 + n % 3}" for n in range(30))
    series = read_logger(text.encode(), "f.csv", zone="UTC")
    assert series.at.size == 0
    assert series.questions[0].choices == ("day first", "month first")
    assert read_logger(text.encode(), "f.csv", zone="UTC", order="month first").at[0] == np.datetime64(
        "2026-03-04T08:00"
    )


def test_a_steady_step_over_midnight_decides_the_day_and_month():
    moments = [datetime(2026, 2, 3, 22) + timedelta(minutes=10 * n) for n in range(300)]
    text = "Time,Temp (°C)\n" + "\n".join(f"{m:%d/%m/%Y %H:%M},{4 + n % 3}" for n, m in enumerate(moments))
    series = read_logger(text.encode(), "f.csv", zone="UTC")
    assert series.at[0] == np.datetime64("2026-02-03T22:00")
    assert any("day first" in note for note in series.notes)


def _autumn(moments, zone):
    text = "Time,Temp (°C)\n" + "\n".join(f"{m:%Y-%m-%d %H:%M},{4 + n % 3}" for n, m in enumerate(moments))
    return read_logger(text.encode(), "f.csv", zone=zone)


def test_the_repeated_hour_is_told_apart_by_the_order_of_the_readings():
    utc = [datetime(2026, 10, 24, 22, tzinfo=UTC) + timedelta(minutes=30 * n) for n in range(14)]
    series = _autumn([m.astimezone(LONDON) for m in utc], "Europe/London")
    assert series.at.tolist() == [m.replace(tzinfo=None) for m in utc]


def test_a_logger_that_does_not_change_its_clock_is_asked_about():
    autumn = [datetime(2026, 10, 24, 22) + timedelta(minutes=30 * n) for n in range(14)]
    series = _autumn(autumn, "Europe/London")
    assert series.questions[0].choices == ("UTC+01:00", "UTC+00:00")
    assert _autumn(autumn, "UTC+01:00").at[0] == np.datetime64("2026-10-24T21:00")
    spring = [datetime(2026, 3, 28, 22) + timedelta(minutes=30 * n) for n in range(14)]
    assert _autumn(spring, "Europe/London").questions[0].choices == ("UTC+00:00", "UTC+01:00")


def _noted(lines, word):
    series = read_logger(("Time,Temp (°C)\n" + "\n".join(lines)).encode(), "f.csv", zone="UTC")
    assert any(word in note for note in series.notes), series.notes
    return series


def _lines(temps=None):
    return [f"{m:%Y-%m-%d %H:%M},{t:.1f}" for m, t in zip(MOMENTS, temps or TEMPS, strict=True)]


def test_a_gap_is_reported_with_its_length_and_not_filled():
    series = _noted(_lines()[:10] + _lines()[22:], "gaps")
    assert series.at.size == 28
    assert [gap.hours for gap in series.gaps] == [pytest.approx(13 / 6)]


def test_repeated_times_stuck_stretches_and_spikes_are_noted_and_kept():
    assert _noted([*_lines()[:6], *_lines()[5:]], "time of the reading before").at.size == 41
    assert _noted(_lines([4.2] * 40), "stuck").at.size == 40
    spiked = [*TEMPS[:20], 21.0, *TEMPS[21:]]
    assert _noted(_lines(spiked), "stand out").temp_c[20] == 21.0


def test_the_newest_first_is_turned_round_and_a_clock_that_runs_back_is_asked_about():
    assert _noted(_lines()[::-1], "newest first").at[0] == np.datetime64("2026-07-24T08:00")
    series = read_logger(("Time,Temp (°C)\n" + "\n".join(_lines()[20:] + _lines()[:20])).encode(), "f.csv", zone="UTC")
    assert series.at.size == 0
    assert series.questions[0].row == 22


def test_lines_that_hold_no_reading_are_counted_with_their_lines():
    lines = _lines()
    lines.insert(10, "# download")
    assert "line 12" in next(note for note in _noted(lines, "no reading").notes if "no reading" in note)


def test_an_empty_cell_is_a_missing_reading_and_noted():
    lines = [line if n != 7 else line.split(",")[0] + ",err,70" for n, line in enumerate(f"{x},70" for x in _lines())]
    series = read_logger(("Time,Temp (°C),RH (%)\n" + "\n".join(lines)).encode(), "f.csv", zone="UTC")
    assert np.isnan(series.temp_c[7])
    assert any("line 9" in note for note in series.notes)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("hello\nworld\n", "no table"),
        ("\n".join(_lines()), "no heading row"),
        ("Time,Temp\n" + "\n".join(_lines()), "no unit"),
        ("Time,Weight (g)\n" + "\n".join(_lines()), "no column is headed"),
        ("Time,Temp (°C)\n" + "\n".join(_lines([-999.0, *TEMPS[1:]])), "cannot have been measured"),
        ("Time,RH (%)\n" + "\n".join(_lines([0.5] * 40)), "says percent"),
        ("Time,Temp (°C),Temp 2 (°C)\n" + "\n".join(f"{x},5.0" for x in _lines()), "2 columns could be"),
        ("Time,Temp (°C)\n" + "\n".join([*_lines()[:8], "2026-02-31 08:00,4.0", *_lines()[8:]]), "no day 31"),
        ("Time,Temp (°C)\n" + "\n".join(line.replace(".", ",") for line in _lines()), "columns"),
    ],
)
def test_what_cannot_be_trusted_is_refused_with_what_to_do(text, says):
    with pytest.raises(BadInput, match=says) as caught:
        read_logger(text.encode(), "f.csv", zone="UTC")
    assert caught.value.do


def test_a_workbook_given_as_text_is_refused_and_a_column_can_be_named():
    with pytest.raises(BadInput, match="Save the readings as CSV"):
        read_logger(b"PK\x03\x04rest", "f.xlsx", zone="UTC")
    text = "Time,Temp (°C),Temp 2 (°C)\n" + "\n".join(f"{x},5.5" for x in _lines())
    series = read_logger(text.encode(), "f.csv", zone="UTC", use={"temperature": "Temp 2 (°C)"})
    assert set(series.temp_c.tolist()) == {5.5}
    with pytest.raises(UnknownName):
        read_logger(text.encode(), "f.csv", zone="UTC", use={"temperature": "Temp 3 (°C)"})
