"""What the ledger knows of a store's climate: readings thinned to the hour, failures, and the curve they make.

A curve is straight between its points. Where there are readings they stand; before and after them the stated set-point
does; a failure typed by hand fills only what no reading covers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from findhold.check.excursions import one_by_one, spell_figure
from findhold.tables.load import table

Times = NDArray[np.datetime64]
Array = NDArray[np.float64]
HOUR_S = 3600
FULLER, THIS_FILE, FILES_BEFORE, WARMER = "fuller", "this file", "the files before", "the warmer"
OVERLAPS = (WARMER, THIS_FILE, FILES_BEFORE)
"""What may be taken for hours of which two files say different things."""

_SAMPLE_S = 900.0  # a drift is drawn with a point each quarter of an hour
_SETTLED = 8.0  # time constants after which a drift is over: e^-8 of 20 K is 0.007 K


@dataclass(frozen=True, slots=True, kw_only=True)
class Hourly:
    """Means of readings, at most one an hour: at (UTC, datetime64[s]), value [degC or fraction], count [1]."""

    at: Times
    value: Array
    count: NDArray[np.int64]

    @property
    def at_s(self) -> Array:
        """Seconds since 1970."""
        return np.asarray(self.at.astype("datetime64[s]").astype(np.int64), dtype=np.float64)


NOTHING = Hourly(at=np.array([], dtype="datetime64[s]"), value=np.array([]), count=np.array([], dtype=np.int64))


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """A failure typed by hand; `ends` is None while the store is still off."""

    begins: datetime
    ends: datetime | None
    room_c: float
    warming_hours: float
    cooling_hours: float
    known_at: datetime | None = None
    """When it was recorded; None: just now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreRecord:
    """All that is recorded of a store's climate."""

    temp: Hourly = NOTHING
    rh: Hourly = NOTHING
    failures: tuple[Failure, ...] = ()
    still_warm: bool = False
    """True when the newest readings stop in the middle of a warm spell."""

    @property
    def empty(self) -> bool:
        """True when nothing is recorded, or all was taken back."""
        return not (self.temp.at.size or self.rh.at.size or self.failures)


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Climate of a store: points in seconds since 1970; rh is None where nothing is known; after the end it stays."""

    at_s: Array
    temp_c: Array
    rh: Array | None
    silent: tuple[tuple[datetime, datetime], ...] = ()


def thin(at: Times, values: Array, *, scale: int) -> Hourly:
    """Readings as means of whole hours, set in the middle of the hour; a slower logger's readings stay as they are.

    Parameters
    ----------
    at : UTC, datetime64[s], shape (n,).
    values : shape (n,), nan where there is none [degC or fraction].
    scale : decimal places kept.
    """
    at, values = one_by_one(at, values)
    if not at.size:
        return NOTHING
    steps = np.diff(at).astype("timedelta64[s]").astype(np.int64)
    if steps.size and np.median(steps) > HOUR_S / 2:
        return Hourly(at=at, value=np.round(values, scale), count=np.ones(len(at), dtype=np.int64))
    hour, place, count = np.unique(at.astype(np.int64) // HOUR_S, return_inverse=True, return_counts=True)
    mean = np.bincount(place, weights=values) / count
    middle = (hour * HOUR_S + HOUR_S // 2).astype("datetime64[s]")
    return Hourly(at=middle, value=np.round(mean, scale), count=count.astype(np.int64))


def merged(before: Hourly, new: Hourly, rule: str = FULLER) -> Hourly:
    """Two records of one store as one, without an hour twice.

    `rule` says which stands in an hour that both have: the one with more readings, or what a person answered.
    """
    # A slow logger may have two readings in one hour, so whole hours are chosen, not single points.
    (old_hours, old_count, old_top), (new_hours, new_count, new_top) = _by_hour(before), _by_hour(new)
    shared, old, own = np.intersect1d(old_hours, new_hours, return_indices=True)
    wins = np.full(len(shared), rule == THIS_FILE)
    if rule == FULLER:
        wins = new_count[own] > old_count[old]
    elif rule == WARMER:
        wins = new_top[own] > old_top[old]
    keep_before = ~np.isin(_hour(before), shared[wins])
    keep_new = ~np.isin(_hour(new), shared[~wins])
    at = np.concatenate((before.at[keep_before], new.at[keep_new]))
    turn = np.argsort(at, kind="stable")
    return Hourly(
        at=at[turn],
        value=np.concatenate((before.value[keep_before], new.value[keep_new]))[turn],
        count=np.concatenate((before.count[keep_before], new.count[keep_new]))[turn],
    )


def disagreement(before: Hourly, new: Hourly) -> tuple[int, float]:
    """Hours that two records share, and the median size of their difference there [degC or fraction]."""
    shared, old, own = np.intersect1d(_hour(before), _hour(new), return_indices=True)
    if not shared.size:
        return 0, 0.0
    return len(shared), float(np.median(np.abs(before.value[old] - new.value[own])))


def packed(part: Hourly) -> dict[str, Any] | None:
    """A record as plain data for an event, hours in runs; None when it is empty."""
    if not part.at.size:
        return None
    at = part.at.astype(np.int64)
    even = bool((at % HOUR_S == HOUR_S // 2).all())
    same = bool((part.count == part.count[0]).all())
    if even:
        breaks = np.flatnonzero(np.diff(at) != HOUR_S) + 1
        runs = [[int(run[0]) // HOUR_S, len(run)] for run in np.split(at, breaks)]
    return {
        **({"hours": runs} if even else {"at_s": at.tolist()}),
        "value": [float(value) for value in part.value],
        "count": int(part.count[0]) if same else part.count.tolist(),
    }


def unpacked(told: Mapping[str, Any] | None) -> Hourly:
    """The record that `packed` made plain."""
    if told is None:
        return NOTHING
    if "hours" in told:
        hours = np.concatenate([np.arange(first, first + length) for first, length in told["hours"]])
        at = hours * HOUR_S + HOUR_S // 2
    else:
        at = np.array(told["at_s"], dtype=np.int64)
    value = np.array(told["value"], dtype=np.float64)
    count = np.broadcast_to(np.array(told["count"], dtype=np.int64), value.shape)
    return Hourly(at=at.astype("datetime64[s]"), value=value, count=count)


def record_of(facts: Mapping[str, Any], bodies: Sequence[Mapping[str, Any]]) -> StoreRecord:
    """The record of a store from its state and the bodies of its store.logged events.

    Readings that were taken back are no longer in the state, and are left out.
    """
    logs = facts.get("logs", [])
    kept = {log["sha256"] for log in logs}
    temp, rh = NOTHING, NOTHING
    for body in bodies:
        if body["sha256"] in kept:
            rule = body.get("overlap") or FULLER
            temp = merged(temp, unpacked(body["series"].get("temp_c")), rule)
            rh = merged(rh, unpacked(body["series"].get("rh")), rule)
    newest = max(logs, key=lambda log: str(log["last"]), default=None)
    return StoreRecord(
        temp=temp,
        rh=rh,
        failures=tuple(failure_of(item) for item in facts.get("failures", [])),
        still_warm=bool(newest and newest["still_warm"]),
    )


def failure_of(body: Mapping[str, Any]) -> Failure:
    """A failure as recorded."""
    ends = body.get("to")
    return Failure(
        begins=datetime.fromisoformat(body["from"]),
        ends=None if ends is None else datetime.fromisoformat(ends),
        room_c=float(body["room_c"]),
        warming_hours=float(body["warming_hours"]),
        cooling_hours=float(body["cooling_hours"]),
        known_at=datetime.fromisoformat(body["recorded_at"]) if body.get("recorded_at") else None,
    )


def drift_hours(kind: str | None) -> tuple[float, float]:
    """Time constants of a kind of store [h]: drifting to the room, and coming back.

    Source
    ------
    tables/data/store_drift.csv, judgement; a kind that is not in it drifts as the quickest row does.
    """
    rows = table("store_drift").by("kind")
    row = rows.get((kind or "").strip().casefold(), rows["other"])
    return float(row["warming_hours"]), float(row["cooling_hours"])


def curve_of(facts: Mapping[str, Any], record: StoreRecord) -> Curve | None:
    """The climate of a store over time; None when neither a set-point nor a reading is known.

    Parameters
    ----------
    facts : of the store: temp_c, rh.
    record : its readings and failures.

    Source
    ------
    Newton's law of cooling for the drift; time constants in tables/data/store_drift.csv, judgement.
    """
    set_c = facts.get("temp_c")
    if set_c is None:
        if not record.temp.at.size:
            return None
        set_c = float(np.median(record.temp.value))
    grid, covered, silent = _grid(record)
    base = _base(grid, covered, record, float(set_c))
    temp_c = _drifted(grid, base, covered, record.failures)
    return Curve(
        at_s=grid,
        temp_c=temp_c,
        rh=_humidity(grid, record.rh, facts.get("rh")),
        silent=tuple((_moment(begin), _moment(end)) for begin, end in silent),
    )


def silences(part: Hourly) -> list[tuple[float, float]]:
    """Stretches too long to be bridged by a straight line, the points before and after each [s since 1970]."""
    at_s = part.at_s
    if at_s.size < 2:
        return []
    steps = np.diff(at_s)
    longest_s = max(spell_figure("silent_hours") * HOUR_S, spell_figure("silent_steps") * float(np.median(steps)))
    return [(float(at_s[i]), float(at_s[i + 1])) for i in np.flatnonzero(steps > longest_s)]


def _hour(part: Hourly) -> NDArray[np.int64]:
    return np.asarray(part.at.astype("datetime64[s]").astype(np.int64) // HOUR_S)


def _by_hour(part: Hourly) -> tuple[NDArray[np.int64], NDArray[np.int64], Array]:
    """Hours with readings, how many, and the highest mean in each."""
    hours, first = np.unique(_hour(part), return_index=True)
    if not hours.size:
        return hours, np.array([], dtype=np.int64), np.array([])
    return hours, np.add.reduceat(part.count, first), np.maximum.reduceat(part.value, first)


def _grid(record: StoreRecord) -> tuple[Array, NDArray[np.bool_], list[tuple[float, float]]]:
    """Points of the curve, which of them readings cover, and the silences between readings."""
    at_s = record.temp.at_s
    silent = silences(record.temp)
    parts = [at_s, record.rh.at_s]
    known = [(float(part.at_s[0]), float(part.at_s[-1])) for part in (record.temp, record.rh) if part.at.size]
    ends = [edge for begin, end in silent for edge in (begin + 1.0, end - 1.0)]
    ends += [edge for first, last in known for edge in (first - 1.0, last + 1.0)]
    parts.append(np.array(ends))
    for failure in record.failures:
        begin, end = failure.begins.timestamp(), _end_s(failure)
        tail = _SETTLED * failure.cooling_hours * HOUR_S if failure.ends else 0.0
        parts.append(np.arange(begin, end + tail + _SAMPLE_S, _SAMPLE_S))
        parts.append(np.array([begin, end]))
    for begin, end in silent:
        parts.append(np.arange(begin + HOUR_S, end, HOUR_S))
    grid = np.unique(np.concatenate(parts)) if any(part.size for part in parts) else np.zeros(1)
    inside = (grid >= at_s[0]) & (grid <= at_s[-1]) if at_s.size else np.zeros(len(grid), dtype=bool)
    for begin, end in silent:
        inside &= ~((grid > begin) & (grid < end))
    return grid, inside, silent


def _end_s(failure: Failure) -> float:
    """End of a failure [s since 1970]; one still open is followed until the store is as warm as the room."""
    if failure.ends is not None:
        return failure.ends.timestamp()
    return failure.begins.timestamp() + _SETTLED * failure.warming_hours * HOUR_S


def _base(grid: Array, covered: NDArray[np.bool_], record: StoreRecord, set_c: float) -> Array:
    """The curve without failures: readings, in silences the warmer of line and set-point, else the set-point."""
    temp = record.temp
    if not temp.at.size:
        return np.full(len(grid), set_c)
    line = np.interp(grid, temp.at_s, temp.value)
    first, last = float(temp.at_s[0]), float(temp.at_s[-1])
    base = np.where(covered, line, np.maximum(line, set_c))
    base = np.where(grid < first, set_c, base)
    mended = any(failure.ends is not None and failure.ends.timestamp() > last for failure in record.failures)
    after_c = float(temp.value[-1]) if record.still_warm and not mended else set_c
    return np.asarray(np.where(grid > last, after_c, base))


def _drifted(grid: Array, base: Array, covered: NDArray[np.bool_], failures: Sequence[Failure]) -> Array:
    """The curve with its failures: the exact drift of a lump from point to point, wherever no reading is."""
    if not failures:
        return base
    ordered = sorted(failures, key=lambda failure: failure.begins)
    spans = [(failure.begins.timestamp(), _end_s(failure), failure) for failure in ordered]
    temp_c = base.copy()
    for index in range(1, len(grid)):
        if covered[index]:
            continue
        step_h = (grid[index] - grid[index - 1]) / HOUR_S
        now = grid[index]
        off = next((item for begin, end, item in spans if begin < now and (item.ends is None or now <= end)), None)
        if off is not None:
            temp_c[index] = off.room_c + (temp_c[index - 1] - off.room_c) * np.exp(-step_h / off.warming_hours)
            continue
        past = [item for _, end, item in spans if end < now]
        left = temp_c[index - 1] - base[index - 1]
        if past and left:
            temp_c[index] = base[index] + left * np.exp(-step_h / past[-1].cooling_hours)
    return temp_c


def _humidity(grid: Array, rh: Hourly, stated: float | None) -> Array | None:
    if not rh.at.size:
        return None if stated is None else np.full(len(grid), stated)
    return np.clip(np.interp(grid, rh.at_s, rh.value, left=stated, right=stated), 0.0, 1.0)


def _moment(at_s: float) -> datetime:
    return datetime.fromtimestamp(at_s, UTC)
