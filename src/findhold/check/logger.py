"""Readings of a store's logger from any table of time, temperature and humidity; reported on, never repaired."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo

import numpy as np
from numpy.typing import NDArray

from findhold.check.logger_table import LoggerTable, read_table
from findhold.check.logger_values import check_figure, humidity, note_stuck_and_spikes, temperature
from findhold.dates.forms import DAY_FIRST, MONTH_FIRST, DateColumn, read_dates
from findhold.dates.instants import clock_changes, for_people, zone_named
from findhold.errors import BadInput, Question

Times = NDArray[np.datetime64]
Numbers = NDArray[np.float64]
_ISOS = re.compile(rb"(?:\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d)?\n)*")
_EPOCHS = re.compile(rb"(?:\d{10}(?:\d{3})?\n)*")
_OFFSET_BEHIND = re.compile(rb"\d\s*(?:Z|UTC|GMT|[+-]\d{2}:?\d{2})$", re.IGNORECASE)
_BEFORE_CLOCK = re.compile(rb"[ T,]+(?=\d{1,2}[:.h]\d{2})")
_MOST_DAYS, _MOST_CLOCKS = 20_000, 90_000  # more than these are not days and times of day
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
    _refuse_long(data, filename)
    found = read_table(data, filename, use)
    _refuse_short(found.lines, filename)
    notes = list(found.notes)
    local, at, questions = _times(found, filename, zone, order, notes)
    if at is None and local is not None and not questions:
        at, questions = _to_utc(local, _zone(found, filename, zone, notes))
    if at is not None and not questions:
        at, turn, questions = _in_order(at, found.lines, notes)
    if at is None or questions:
        return _unsettled(notes, questions)
    temp, asked = temperature(found, filename, faults, notes)
    if asked:
        return _unsettled(notes, asked)
    rh = humidity(found, filename, notes)
    temp, rh = (None if column is None else column[turn] for column in (temp, rh))
    gaps = _gaps(at, notes)
    if temp is not None:
        note_stuck_and_spikes(at, temp, "temperature", " K", check_figure("spike_k"), notes)
    if rh is not None:
        note_stuck_and_spikes(at, rh, "humidity", "", check_figure("spike_rh"), notes)
    return LoggerSeries(at=at, temp_c=temp, rh=rh, notes=tuple(notes), questions=(), gaps=gaps)


def _unsettled(notes: Sequence[str], questions: Sequence[Question]) -> LoggerSeries:
    """No readings, but what must be asked first."""
    empty = np.array([], dtype="datetime64[s]")
    return LoggerSeries(at=empty, temp_c=None, rh=None, notes=tuple(notes), questions=tuple(questions), gaps=())


def _refuse_long(data: bytes, filename: str) -> None:
    lines, most = data.count(b"\n"), check_figure("most_lines")
    if lines > most:
        raise BadInput(
            f"the file has {lines} lines",
            where=filename,
            limit=f"{most:.0f} lines",
            do="Split it by months, with the heading above each part, and import the parts: they are merged by time",
        )


def _refuse_short(lines: NDArray[np.int64], filename: str) -> None:
    least = int(check_figure("least_readings"))
    if len(lines) < least:
        raise BadInput(
            f"{len(lines)} readings do not say what a store did",
            where=filename,
            limit=f"at least {least} readings",
            do="Export the readings again, or type what you know: findhold import --failure STORE --from --to --room",
        )


def _times(
    found: LoggerTable, filename: str, zone: str | None, order: str | None, notes: list[str]
) -> tuple[Times | None, Times | None, list[Question]]:
    """Local times without zone, or UTC when the file says its offset itself, or the question of day and month."""
    if all(_EPOCHS.fullmatch(_joined(part)) for part in found.clock):
        notes.append("times are seconds or milliseconds since 1970, which are UTC")
        seconds = [np.array([int(cell[:10]) for cell in part.tolist()], dtype=np.int64) for part in found.clock]
        return None, np.concatenate(seconds).astype("datetime64[s]"), []
    if all(_ISOS.fullmatch(_joined(part)) for part in found.clock):
        try:
            return np.concatenate([part.astype("datetime64[s]") for part in found.clock]), None, []
        except ValueError:
            pass  # read one by one below, so that the error names the line
    quick = _by_days(found, order)
    if quick is None:
        return _one_by_one(found, filename, zone, order, notes)
    utc, why, own_offset = quick
    notes.extend(why)
    return (None, utc, []) if own_offset else (utc, None, [])


def _joined(part: NDArray[np.bytes_]) -> bytes:
    return b"\n".join(part.tolist()) + b"\n"


def _by_days(found: LoggerTable, order: str | None) -> tuple[Times, tuple[str, ...], bool] | None:
    """Times from their few days and few times of day, each read once, and whether all carry their offset.

    None when they are not plainly that: no day apart, an order to be asked for, offsets here and there.
    """
    days: dict[bytes, int] = {}
    clocks: dict[bytes, int] = {}
    places: list[tuple[int, int]] = []
    for part in found.clock:
        for cell in part.tolist():
            cut = _BEFORE_CLOCK.search(cell)
            if cut is None:
                return None
            day, clock = cell[: cut.start()], cell[cut.end() :]
            places.append((days.setdefault(day, len(days)), clocks.setdefault(clock, len(clocks))))
        if len(days) > _MOST_DAYS or len(clocks) > _MOST_CLOCKS:
            return None
    offsets = {_OFFSET_BEHIND.search(b"0" + clock) is not None for clock in clocks}
    if len(offsets) > 1:
        return None
    own_offset = offsets.pop()
    read = read_dates([f"{day.decode()} 12:00" for day in days], "UTC", order)
    if read.question is not None or read.bad:
        return None
    first = next(iter(days)).decode()
    timed = read_dates([f"{first} {clock.decode()}" for clock in clocks], None if own_offset else "UTC", read.order)
    if timed.question is not None or timed.bad:
        return None
    noons, moments = (_as_utc(column) for column in (read, timed))
    if noons is None or moments is None:
        return None
    turn = np.array(places, dtype=np.int64)
    why = tuple(note.replace(" 12:00'", "'") for note in read.notes)
    return noons[turn[:, 0]] + (moments - noons[0])[turn[:, 1]], why, own_offset


def _as_utc(column: DateColumn) -> Times | None:
    moments = [value for value in column.values if isinstance(value, datetime)]
    if len(moments) < len(column.values):
        return None
    return np.array([value.astimezone(UTC).replace(tzinfo=None) for value in moments], dtype="datetime64[s]")


def _one_by_one(
    found: LoggerTable, filename: str, zone: str | None, order: str | None, notes: list[str]
) -> tuple[Times | None, Times | None, list[Question]]:
    """Times read each for itself: forms of their own, mixed offsets, and what must be asked or refused."""
    texts = [cell.decode() for part in found.clock for cell in part.tolist()]
    own_offset = any(_OFFSET_BEHIND.search(text.encode()) for text in texts)
    if own_offset and zone is None:
        _refuse_mixed(texts, found, filename)
    column = read_dates(texts, (zone if own_offset else "UTC"), order)
    if column.question is not None:
        column, why = _order_from_steps(texts, zone if own_offset else "UTC", column)
        notes.extend(why)
    if column.question is not None:
        return None, None, [Question(about="dates", text=column.question, choices=column.choices)]
    _refuse_bad(column, texts, found, filename)
    notes.extend(column.notes)
    utc = _as_utc(column)
    return (None, utc, []) if own_offset else (utc, None, [])


def _refuse_mixed(texts: Sequence[str], found: LoggerTable, filename: str) -> None:
    """Some times with their offset and some without: what the others mean must be said."""
    bare = [index for index, text in enumerate(texts) if not _OFFSET_BEHIND.search(text.encode())]
    if bare:
        raise BadInput(
            f"{len(bare)} times have no time zone and {len(texts) - len(bare)} have one",
            where=f"{filename}, line {found.lines[bare[0]]}",
            do="Give the zone of those without as well, for example Europe/London, or correct the file",
        )


def _refuse_bad(column: DateColumn, texts: Sequence[str], found: LoggerTable, filename: str) -> None:
    bad = dict(column.bad)
    for index, value in enumerate(column.values):
        if not isinstance(value, datetime) and index not in bad:
            bad[index] = f"{texts[index]!r} has no time of day."
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
            f"nothing says in which time zone the logger's clock ran; its first reading is {found.first_clock()!r}",
            where=filename,
            do="Give the zone, for example Europe/London, or UTC+00:00 for a clock that never changes",
        )
    return zone_named(zone, filename)


def _to_utc(local: Times, zone: tzinfo) -> tuple[Times, list[Question]]:
    """Local times to UTC; the repeated hour of autumn by the order of the readings, else a question."""
    quarters, which = np.unique(local.astype("int64") // _QUARTER_S, return_inverse=True)
    starts = [datetime.fromtimestamp(int(q) * _QUARTER_S, UTC).replace(tzinfo=None) for q in quarters]
    early, late = (np.array([_offset_s(start.replace(tzinfo=zone, fold=f)) for start in starts]) for f in (0, 1))
    kinds = [clock_changes(start, zone) for start in starts]
    odd = np.flatnonzero(np.array([kind != "" for kind in kinds])[which])
    after = np.zeros(len(local), dtype=bool)
    for rows in np.split(odd, np.flatnonzero(np.diff(odd) != 1) + 1) if odd.size else ():
        kind = kinds[int(which[rows[0]])]
        back = rows[1:][local[rows[1:]] < local[rows[:-1]]]
        if kind == "never" or len(back) != 1:
            return local, [_clock_question(starts[int(which[rows[0]])], zone, kind)]
        after[back[0] : rows[-1] + 1] = True
    offset = np.where(after, late[which], early[which])
    return local - offset.astype("timedelta64[s]"), []


def _offset_s(moment: datetime) -> int:
    offset = moment.utcoffset()
    return 0 if offset is None else int(offset.total_seconds())


def _clock_question(start: datetime, zone: tzinfo, kind: str) -> Question:
    """Asks how the logger's clock ran when its readings do not follow the change of the clocks."""
    choices = tuple(_as_zone(_offset_s(start.replace(tzinfo=zone, fold=fold))) for fold in (0, 1))
    word = "do not go back" if kind == "twice" else "do not go forward"
    text = (
        f"The clocks of {zone} change on {start:%Y-%m-%d}, but the readings {word}. "
        f"At which fixed offset did the logger's clock run?"
    )
    return Question(about="clock", text=text, choices=choices)


def _as_zone(offset_s: int) -> str:
    hours, minutes = divmod(abs(offset_s) // 60, 60)
    return f"UTC{'-' if offset_s < 0 else '+'}{hours:02d}:{minutes:02d}"


def _in_order(at: Times, lines: NDArray[np.int64], notes: list[str]) -> tuple[Times, slice, list[Question]]:
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
    where = np.flatnonzero(steps.astype("int64") > check_figure("gap_steps") * usual)
    gaps = tuple(Gap(begins=_instant(at[i]), ends=_instant(at[i + 1])) for i in where)
    if gaps:
        longest = max(gaps, key=lambda gap: gap.hours)
        notes.append(
            f"{len(gaps)} gaps in the readings, the longest {longest.hours:.1f} h"
            f" from {for_people(longest.begins, 'UTC')} UTC"
        )
    return gaps


def _instant(moment: np.datetime64) -> datetime:
    return datetime.fromtimestamp(int(moment.astype("datetime64[s]").astype("int64")), UTC)
