"""Readings of a store's logger from any table of time, temperature and humidity; reported on, never repaired."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from findhold.check.logger_table import LoggerTable, read_table
from findhold.dates.forms import DAY_FIRST, MONTH_FIRST, DateColumn, read_dates
from findhold.dates.instants import clock_changes, for_people, zone_named
from findhold.errors import BadInput, Question
from findhold.tables.load import table

Times = NDArray[np.datetime64]
Numbers = NDArray[np.float64]
_ISO = re.compile(r"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d)?$")
_OFFSET_BEHIND = re.compile(r"\d\s*(?:Z|UTC|GMT|[+-]\d{2}:?\d{2})$", re.IGNORECASE)
_ZONE_IN_HEADING = re.compile(r"\b(?:UTC|GMT)\s*(?:[+-]\s*\d{1,2}(?::?\d{2})?)?", re.IGNORECASE)
_ONE_DAY = np.timedelta64(1, "D")
_MONTHS_APART = np.timedelta64(20, "D")  # swapping day and month moves midnight's step to about a month
_QUARTER_S = 900  # zones change their clocks on a quarter of an hour


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A stretch without readings: the reading before and the reading after it, UTC."""

    begins: datetime
    ends: datetime

    @property
    def hours(self) -> float:
        """Length of the stretch [h]."""
        return (self.ends - self.begins) / timedelta(hours=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerSeries:
    """Readings in order of time; while there are questions the arrays are empty, so nothing is used unsettled."""

    at: Times
    """UTC, datetime64[s], shape (n,)."""
    temp_c: Numbers | None
    """Temperature [°C], shape (n,), nan where the logger gave none; None when it measures none."""
    rh: Numbers | None
    """Relative humidity as a fraction, shape (n,), nan where none was given; None when it measures none."""
    notes: tuple[str, ...]
    questions: tuple[Question, ...]
    gaps: tuple[Gap, ...]


def read_logger(
    data: bytes,
    filename: str,
    *,
    zone: str | None,
    order: str | None = None,
    use: Mapping[str, str] | None = None,
    faults: str | None = None,
) -> LoggerSeries:
    """Read a logger's export: times to UTC, temperature to °C, humidity to a fraction.

    Gaps, repeated times, stuck stretches and spikes are reported in the notes; no reading is changed or invented.

    Parameters
    ----------
    data, filename : the file's bytes, and its name for errors.
    zone : zone of the logger's clock (Europe/London, UTC+01:00); a zone in the heading or behind the times comes first.
    order : 'day first' or 'month first' when a person has answered that question.
    use : headings to take when several fit, see `logger_table.read_table`.
    faults : 'leave out' when a person has answered that readings with a sensor's fault value are none.

    Raises
    ------
    BadInput : no table, no unit, no zone, a value that cannot have been measured; with the lines.

    Source
    ------
    Thresholds of the notes: tables/data/logger_checks.csv, judgement.
    """
    found = read_table(data, filename, use)
    notes = list(found.notes)
    local, at, questions = _times(found, filename, zone, order, notes)
    if at is None and local is not None and not questions:
        at, questions = _to_utc(local, _zone(found, filename, zone, notes), filename)
    if at is not None and not questions:
        at, turn, questions = _in_order(at, found.lines, notes)
    if at is None or questions:
        empty = np.array([], dtype="datetime64[s]")
        return LoggerSeries(at=empty, temp_c=None, rh=None, notes=tuple(notes), questions=tuple(questions), gaps=())
    temp = _temperature(found, filename, notes)
    rh = _humidity(found, filename, notes)
    temp, rh = (None if column is None else column[turn] for column in (temp, rh))
    gaps = _gaps(at, notes)
    if temp is not None:
        _stuck_and_spikes(at, temp, "temperature", " K", _limit("spike_k"), notes)
    if rh is not None:
        _stuck_and_spikes(at, rh, "humidity", "", _limit("spike_rh"), notes)
    return LoggerSeries(at=at, temp_c=temp, rh=rh, notes=tuple(notes), questions=(), gaps=gaps)


def _limit(check: str) -> float:
    return float(table("logger_checks").by("check")[check]["value"])


def _times(
    found: LoggerTable, filename: str, zone: str | None, order: str | None, notes: list[str]
) -> tuple[Times | None, Times | None, list[Question]]:
    """Local times without zone, or UTC when the file says its offset itself, or the question of day and month."""
    texts = found.clock
    if all(re.fullmatch(r"\d{10}(?:\d{3})?", text) for text in texts):
        notes.append("times are seconds or milliseconds since 1970, which are UTC")
        return None, np.array([int(text[:10]) for text in texts], dtype="datetime64[s]"), []
    if all(_ISO.match(text) for text in texts):
        try:
            return np.array([text.replace(" ", "T") for text in texts], dtype="datetime64[s]"), None, []
        except ValueError:
            pass  # read one by one below, so that the error names the line
    own_offset = any(_OFFSET_BEHIND.search(text) for text in texts)
    column = read_dates(texts, (zone if own_offset else "UTC"), order)
    if column.question is not None:
        column, why = _order_from_steps(texts, zone if own_offset else "UTC", column)
        notes.extend(why)
    if column.question is not None:
        return None, None, [Question(about=f"{filename}: dates", text=column.question, choices=column.choices)]
    _refuse_bad(column, found, filename)
    notes.extend(column.notes)
    instants = [value for value in column.values if isinstance(value, datetime)]
    utc = np.array([value.astimezone(UTC).replace(tzinfo=None) for value in instants], dtype="datetime64[s]")
    return (None, utc, []) if own_offset else (utc, None, [])


def _refuse_bad(column: DateColumn, found: LoggerTable, filename: str) -> None:
    bad = dict(column.bad)
    for index, value in enumerate(column.values):
        if not isinstance(value, datetime) and index not in bad:
            bad[index] = f"{found.clock[index]!r} has no time of day."
    if bad:
        first = min(bad)
        more = f" ({len(bad) - 1} more lines have such a fault)" if len(bad) > 1 else ""
        raise BadInput(
            f"{bad[first].rstrip('.')}{more}",
            where=f"{filename}, line {found.lines[first]}",
            do="Correct the times in the file, or export it again",
        )


def _order_from_steps(texts: Sequence[str], zone: str | None, asked: DateColumn) -> tuple[DateColumn, list[str]]:
    """Day and month settled by the logger's steady step: under the wrong reading every midnight jumps a month."""
    fits = []
    for order in (DAY_FIRST, MONTH_FIRST):
        column = read_dates(texts, zone, order)
        moments = [value for value in column.values if isinstance(value, datetime)]
        if column.bad or len(moments) < 2:
            continue
        steps = np.diff(np.array([m.astimezone(UTC).replace(tzinfo=None) for m in moments], dtype="datetime64[s]"))
        fits.append((np.abs(steps).max(), order, column))
    if len(fits) < 2:
        return asked, []
    fits.sort(key=lambda fit: fit[0])
    if fits[0][0] < _ONE_DAY and fits[1][0] > _MONTHS_APART:
        note = f"dates read {fits[0][1]}: only so do the readings follow each other within a day"
        return fits[0][2], [note]
    return asked, []


def _zone(found: LoggerTable, filename: str, zone: str | None, notes: list[str]) -> tzinfo:
    """The zone of the logger's clock: from the heading of the time column, else the one given; none is an error."""
    stated = _ZONE_IN_HEADING.search(found.clock_heading)
    if stated:
        own = stated[0].replace(" ", "")
        notes.append(f"times are {own.upper()}, as the heading {found.clock_heading!r} says")
        return zone_named("UTC" if own.upper() == "GMT" else own)
    if zone is None:
        raise BadInput(
            f"nothing says in which time zone the logger's clock ran; its first reading is {found.clock[0]!r}",
            where=filename,
            do="Give the zone, for example Europe/London, or UTC+00:00 for a clock that never changes",
        )
    return zone_named(zone, filename)


def _to_utc(local: Times, zone: tzinfo, filename: str) -> tuple[Times, list[Question]]:
    """Local times to UTC; the repeated hour of autumn by the order of the readings, else a question."""
    quarters, which = np.unique(local.astype("int64") // _QUARTER_S, return_inverse=True)
    starts = [datetime.fromtimestamp(int(q) * _QUARTER_S, UTC).replace(tzinfo=None) for q in quarters]
    early, late = (np.array([_offset_s(start.replace(tzinfo=zone, fold=f)) for start in starts]) for f in (0, 1))
    change = np.array([clock_changes(start, zone) for start in starts])[which]
    after = np.zeros(len(local), dtype=bool)
    for kind, run in groupby(range(len(local)), key=lambda i: str(change[i])):
        rows = list(run)
        back = [i for i in rows[1:] if local[i] < local[i - 1]]
        if kind == "never" or (kind == "twice" and len(back) != 1):
            return local, [_clock_question(starts[int(which[rows[0]])], zone, kind, filename)]
        if kind == "twice":
            after[back[0] : rows[-1] + 1] = True
    offset = np.where(after, late[which], early[which])
    return local - offset.astype("timedelta64[s]"), []


def _offset_s(moment: datetime) -> int:
    offset = moment.utcoffset()
    return 0 if offset is None else int(offset.total_seconds())


def _clock_question(start: datetime, zone: tzinfo, kind: str, filename: str) -> Question:
    """Asks how the logger's clock ran when its readings do not follow the change of the clocks."""
    choices = tuple(_as_zone(_offset_s(start.replace(tzinfo=zone, fold=fold))) for fold in (0, 1))
    word = "do not go back" if kind == "twice" else "do not go forward"
    text = (
        f"The clocks of {zone} change on {start:%Y-%m-%d}, but the readings {word}. "
        f"At which fixed offset did the logger's clock run? Give it as the zone."
    )
    return Question(about=f"{filename}: clock", text=text, choices=choices)


def _as_zone(offset_s: int) -> str:
    hours, minutes = divmod(abs(offset_s) // 60, 60)
    return f"UTC{'-' if offset_s < 0 else '+'}{hours:02d}:{minutes:02d}"


def _in_order(at: Times, lines: tuple[int, ...], notes: list[str]) -> tuple[Times, slice, list[Question]]:
    """Oldest first; repeated times are noted, a clock that runs back is a question."""
    steps = np.diff(at)
    turn = slice(None)
    if len(at) > 1 and (steps <= np.timedelta64(0, "s")).all() and at[0] > at[-1]:
        notes.append("the file is newest first; it was read from its end")
        turn = slice(None, None, -1)
        at, steps, lines = at[turn], -steps[::-1], lines[::-1]
    back = np.flatnonzero(steps < np.timedelta64(0, "s"))
    if back.size:
        where = int(back[0]) + 1
        text = (
            f"The logger's clock goes back on line {lines[where]}, from {at[where - 1]} to {at[where]} UTC"
            f" ({back.size} times in the file). Which part is right? Give the file split at that line."
        )
        return at, turn, [Question(about="logger clock", text=text, row=lines[where])]
    same = np.flatnonzero(steps == np.timedelta64(0, "s"))
    if same.size:
        notes.append(
            f"{same.size} readings have the time of the reading before, first on line {lines[int(same[0]) + 1]}; kept"
        )
    return at, turn, []


def _temperature(found: LoggerTable, filename: str, notes: list[str]) -> Numbers | None:
    """Temperatures in °C by the unit in the heading or in the cells; no unit is an error."""
    if found.temp is None:
        return None
    unit = _unit(found.temp_heading) or _unit_of_cells(found.temp)
    if not unit:
        raise BadInput(
            f"the heading {found.temp_heading!r} has no unit",
            where=filename,
            limit="°C, °F or K",
            do="Write the unit in the heading, for example Temperature (°C)",
        )
    read = _numbers(found.temp, found, "temperature", notes)
    temp = {"C": read, "F": (read - 32.0) / 1.8, "K": read - 273.15}[unit]  # definitions of the scales
    if unit != "C":
        notes.append(f"temperatures converted from {'°F' if unit == 'F' else 'K'} to °C")
    _refuse_outside(temp, (_limit("least_temp_c"), _limit("most_temp_c")), found.lines, filename, ("temperature", "°C"))
    return temp


def _humidity(found: LoggerTable, filename: str, notes: list[str]) -> Numbers | None:
    """Humidities as a fraction: percent by heading, cell or size."""
    if found.rh is None:
        return None
    read = _numbers(found.rh, found, "humidity", notes)
    if np.isnan(read).all():
        return read
    percent = "%" in found.rh_heading or any("%" in cell for cell in found.rh[:20])
    most = float(np.nanmax(read))
    if percent and most <= 1.0:
        raise BadInput(
            f"the heading {found.rh_heading!r} says percent, but no reading is above {most:g}",
            where=filename,
            do="Correct the heading if the readings are fractions (leave out the % sign)",
        )
    if not percent and most > _limit("most_rh"):
        notes.append(f"humidity read as percent: {found.rh_heading!r} goes up to {most:g}")
        percent = True
    rh = read / 100.0 if percent else read
    _refuse_outside(rh, (0.0, _limit("most_rh")), found.lines, filename, ("humidity", "as a fraction"))
    over = int(np.count_nonzero(rh > 1.0))
    if over:
        notes.append(f"{over} humidity readings are above 100 %; kept as read (a wet sensor reads high)")
    return rh


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


def _numbers(cells: Sequence[str], found: LoggerTable, what: str, notes: list[str]) -> Numbers:
    """Cells as numbers; a decimal comma counts as a point, a cell without number becomes nan and is noted."""
    if any("," in cell for cell in cells[:2000]):
        cells = [cell.replace(",", ".") for cell in cells]
    try:
        return np.array(cells, dtype=np.float64)
    except ValueError:
        pass  # some cells hold a unit or no number: read one by one
    numbers = np.full(len(cells), np.nan)
    missing = []
    for index, cell in enumerate(cells):
        number = re.fullmatch(r"([+-]?\d+(?:\.\d+)?)\s*(?:°?\s?[CFK]|%.*)?", cell.strip(), re.IGNORECASE)
        if number:
            numbers[index] = float(number[1])
        else:
            missing.append(index)
    if missing:
        first = missing[0]
        notes.append(
            f"{len(missing)} {what} cells hold no number, first on line {found.lines[first]}"
            f" ({cells[first]!r}); left empty"
        )
    return numbers


def _refuse_outside(
    values: Numbers, limits: tuple[float, float], lines: Sequence[int], filename: str, named: tuple[str, str]
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


def _gaps(at: Times, notes: list[str]) -> tuple[Gap, ...]:
    """Stretches longer than the usual step."""
    if len(at) < 3:
        return ()
    steps = np.diff(at)
    usual = (
        np.median(steps[steps > np.timedelta64(0, "s")].astype("int64"))
        if (steps > np.timedelta64(0, "s")).any()
        else 0
    )
    if not usual:
        return ()
    where = np.flatnonzero(steps.astype("int64") > _limit("gap_steps") * usual)
    gaps = tuple(Gap(begins=_instant(at[i]), ends=_instant(at[i + 1])) for i in where)
    if gaps:
        longest = max(gaps, key=lambda gap: gap.hours)
        notes.append(
            f"{len(gaps)} gaps in the readings, the longest {longest.hours:.1f} h"
            f" from {for_people(longest.begins, 'UTC')} UTC"
        )
    return gaps


def _stuck_and_spikes(at: Times, values: Numbers, what: str, unit: str, spike: float, notes: list[str]) -> None:
    """Notes on readings that do not change for hours, and on single ones far from both neighbours."""
    edges = np.flatnonzero(np.diff(values) != 0)
    starts, ends = np.r_[0, edges + 1], np.r_[edges, len(values) - 1]
    hours = (at[ends] - at[starts]) / np.timedelta64(1, "h")
    stuck = (hours >= _limit("stuck_hours")) & (ends - starts + 1 >= _limit("stuck_readings"))
    if stuck.any():
        first = int(np.flatnonzero(stuck)[np.argmax(hours[stuck])])
        begin = for_people(_instant(at[starts[first]]), "UTC")
        notes.append(f"{what} does not change for {hours[first]:.1f} h from {begin} UTC: is the sensor stuck?")
    inner, before, after = values[1:-1], values[:-2], values[2:]
    beyond = np.minimum(np.abs(inner - before), np.abs(inner - after))
    same_side = np.sign(inner - before) == np.sign(inner - after)
    spikes = np.flatnonzero((beyond > spike) & same_side) + 1
    if spikes.size:
        worst = int(spikes[np.argmax(beyond[spikes - 1])])
        moment = for_people(_instant(at[worst]), "UTC")
        height = f"{beyond[worst - 1]:.1f}{unit}" if unit else f"{100 * beyond[worst - 1]:.0f} % RH"
        notes.append(f"{spikes.size} single {what} readings stand out, the worst by {height} at {moment} UTC; kept")


def _instant(moment: np.datetime64) -> datetime:
    return datetime.fromtimestamp(int(moment.astype("datetime64[s]").astype("int64")), UTC)
