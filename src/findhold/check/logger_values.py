"""Values of a logger's file: units to °C and fractions, what no sensor measures, stuck stretches and spikes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from findhold.check.logger_table import Column, LoggerTable
from findhold.dates.instants import for_people
from findhold.errors import BadInput, Question, UnknownName
from findhold.tables.load import table

Times = NDArray[np.datetime64]
Numbers = NDArray[np.float64]
LEAVE_OUT, REFUSE = "leave out", "refuse the file"
_FAULT_K = 0.06  # a fault value as printed, after its way through another unit


def check_figure(check: str) -> float:
    """One figure of the table of logger checks, in the unit it gives there."""
    return float(table("logger_checks").by("check")[check]["value"])


def temperature(
    found: LoggerTable, filename: str, faults: str | None, notes: list[str]
) -> tuple[Numbers | None, list[Question]]:
    """Temperatures in °C by the unit in the heading or in the cells, or the question of a sensor's fault values.

    Parameters
    ----------
    found : the table.
    filename : for errors.
    faults : the answer to the question of fault values, None while it is not asked.
    notes : what was done is added here.

    Raises
    ------
    BadInput : no unit, or values that cannot have been measured.

    Source
    ------
    Definitions of the scales; fault values in tables/data/logger_faults.csv, memory.
    """
    column = found.temp
    if column is None:
        return None, []
    unit = _unit(column.heading) or _unit_of_cells(column.sample)
    if not unit:
        raise BadInput(
            f"the heading {column.heading!r} has no unit",
            where=filename,
            limit="°C, °F or K",
            do="Write the unit in the heading, for example Temperature (°C)",
        )
    _note_missing(column, "temperature", notes)
    read = column.numbers
    temp = {"C": read, "F": (read - 32.0) / 1.8, "K": read - 273.15}[unit]
    if unit != "C":
        notes.append(f"temperatures converted from {'°F' if unit == 'F' else 'K'} to °C")
    temp, questions = _without_faults(temp, found.lines, filename, faults, notes)
    if not questions:
        limits = (check_figure("least_temp_c"), check_figure("most_temp_c"))
        _refuse_outside(temp, limits, found.lines, filename, ("temperature", "°C"))
    return temp, questions


def _without_faults(
    temp: Numbers, lines: NDArray[np.int64], filename: str, answer: str | None, notes: list[str]
) -> tuple[Numbers, list[Question]]:
    """Readings without the values that a failed sensor gives; whether those are readings is asked, not guessed."""
    if answer not in (None, LEAVE_OUT, REFUSE):
        raise UnknownName("answer to faults", str(answer), [LEAVE_OUT, REFUSE])
    known = [float(row["reading"]) for row in table("logger_faults").rows]
    broken = np.zeros(len(temp), dtype=bool)
    for value_c in known:
        broken |= np.abs(temp - value_c) < _FAULT_K
    if not broken.any():
        return temp, []
    first, count = int(np.flatnonzero(broken)[0]), int(np.count_nonzero(broken))
    what = f"{count} temperatures are {' or '.join(f'{value:g}' for value in known)} °C"
    if answer == LEAVE_OUT:
        notes.append(f"{what}, first on line {lines[first]}: left out, as answered")
        return np.where(broken, np.nan, temp), []
    if answer == REFUSE:
        raise BadInput(f"{what}", where=f"{filename}, line {lines[first]}", do="Read another logger's file")
    text = (
        f"{what}, first on line {lines[first]}: the values digital sensors give when they have failed."
        " Are these readings to be left out?"
    )
    return temp, [Question(about="faults", text=text, choices=(LEAVE_OUT, REFUSE), row=int(lines[first]))]


def humidity(found: LoggerTable, filename: str, notes: list[str]) -> Numbers | None:
    """Humidities as a fraction: percent by heading, cell or size.

    Raises
    ------
    BadInput : heading and readings contradict each other, or values that cannot have been measured.
    """
    column = found.rh
    if column is None:
        return None
    _note_missing(column, "humidity", notes)
    read = column.numbers
    if np.isnan(read).all():
        return read
    percent = "%" in column.heading or any("%" in cell for cell in column.sample[:20])
    most = float(np.nanmax(read))
    if percent and most <= 1.0:
        raise BadInput(
            f"the heading {column.heading!r} says percent, but no reading is above {most:g}",
            where=filename,
            do="Correct the heading if the readings are fractions (leave out the % sign)",
        )
    if not percent and most > check_figure("most_rh"):
        notes.append(f"humidity read as percent: {column.heading!r} goes up to {most:g}")
        percent = True
    rh = read / 100.0 if percent else read
    _refuse_outside(rh, (0.0, check_figure("most_rh")), found.lines, filename, ("humidity", "as a fraction"))
    over = int(np.count_nonzero(rh > 1.0))
    if over:
        notes.append(f"{over} humidity readings are above 100 %; counted as 100 % (a wet sensor reads high)")
    return rh


def _note_missing(column: Column, what: str, notes: list[str]) -> None:
    if column.first_missing is not None:
        line, cell = column.first_missing
        notes.append(f"{column.missing} {what} cells hold no number, first on line {line} ({cell!r}); left empty")


def _unit(heading: str) -> str:
    """C, F or K from a heading, '' when it names none."""
    if re.search(r"[°º℃]\s?c\b|℃|celsius|\bdeg\s?c\b|[(\[,/_ ]\s?c\s?[)\]]?$", heading, re.IGNORECASE):
        return "C"
    if re.search(r"[°º]\s?f\b|℉|fahrenheit|\bdeg\s?f\b|[(\[,/_ ]\s?f\s?[)\]]?$", heading, re.IGNORECASE):
        return "F"
    return "K" if re.search(r"kelvin|[(\[,/_ ]\s?k\s?[)\]]?$", heading, re.IGNORECASE) else ""


def _unit_of_cells(cells: Sequence[str]) -> str:
    units = {
        found[1].upper() for cell in cells[:50] if (found := re.search(r"\d\s*°?\s?([CFK])$", cell, re.IGNORECASE))
    }
    return units.pop() if len(units) == 1 else ""


def _refuse_outside(
    values: Numbers, limits: tuple[float, float], lines: NDArray[np.int64], filename: str, named: tuple[str, str]
) -> None:
    (least, most), (what, unit) = limits, named
    outside = np.flatnonzero((values < least) | (values > most))
    if outside.size:
        first = int(outside[0])
        raise BadInput(
            f"{what} {values[first]:g} {unit} cannot have been measured in a store ({outside.size} such readings)",
            where=f"{filename}, line {lines[first]}",
            limit=f"{least:g} to {most:g} {unit}",
            do="Check the unit in the heading, or empty the cells that hold an error code",
        )


def note_stuck_and_spikes(
    at: Times, values: Numbers, what: str, unit: str, spike_rise: float, notes: list[str]
) -> None:
    """Notes on readings that do not change for hours, and on single ones far from both neighbours.

    Parameters
    ----------
    at : UTC, shape (n,).
    values : shape (n,) [K or fraction].
    what, unit : for the notes.
    spike_rise : how far from both neighbours stands out [unit of values].
    notes : they are added here.
    """
    edges = np.flatnonzero(np.diff(values) != 0)
    starts, ends = np.r_[0, edges + 1], np.r_[edges, len(values) - 1]
    hours = (at[ends] - at[starts]) / np.timedelta64(1, "h")
    stuck = (hours >= check_figure("stuck_hours")) & (ends - starts + 1 >= check_figure("stuck_readings"))
    if stuck.any():
        first = int(np.flatnonzero(stuck)[np.argmax(hours[stuck])])
        begin = for_people(_instant(at[starts[first]]), "UTC")
        notes.append(f"{what} does not change for {hours[first]:.1f} h from {begin} UTC: is the sensor stuck?")
    inner, before, after = values[1:-1], values[:-2], values[2:]
    beyond = np.minimum(np.abs(inner - before), np.abs(inner - after))
    same_side = np.sign(inner - before) == np.sign(inner - after)
    spikes = np.flatnonzero((beyond > spike_rise) & same_side) + 1
    if spikes.size:
        worst = int(spikes[np.argmax(beyond[spikes - 1])])
        moment = for_people(_instant(at[worst]), "UTC")
        height = f"{beyond[worst - 1]:.1f}{unit}" if unit else f"{100 * beyond[worst - 1]:.0f} % RH"
        notes.append(f"{spikes.size} single {what} readings stand out, the worst by {height} at {moment} UTC; kept")


def _instant(moment: np.datetime64) -> datetime:
    return datetime.fromtimestamp(int(moment.astype("datetime64[s]").astype("int64")), UTC)
