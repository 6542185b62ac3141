"""Spells in a store's readings: too warm, failed, frozen, too cold, door open; how long, how far, worst first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from findhold.tables.load import table

Times = NDArray[np.datetime64]
Array = NDArray[np.float64]
FROZEN, FAILURE, TOO_WARM, TOO_COLD = "frozen", "failure", "too warm", "too cold"
WORST_FIRST = (FROZEN, FAILURE, TOO_WARM, TOO_COLD)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpellRules:
    """What counts as a spell."""

    warm_c: float
    """Above this it is too warm."""
    cold_c: float
    """Below this it is too cold."""
    freeze_c: float
    """Below this water freezes."""
    spell_hours: float
    """A warm spell shorter than this is a door opened or the compressor's cycle."""
    frozen_hours: float
    join_hours: float
    failure_hours: float
    failure_rise_k: float
    silent_hours: float
    silent_steps: float
    """A step is silence when it is longer than silent_hours and than this many usual steps [1]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """One stretch beyond a limit, UTC: hours [h] beyond it, and worst_c, its warmest or coldest reading."""

    kind: str
    begins: datetime
    ends: datetime
    ended: bool
    """False when the readings stop before it ends."""
    hours: float
    worst_c: float
    degree_hours: float
    """Time integral of what is beyond the limit [K h]."""
    failed_from: datetime | None = None
    """For a failure: when the store was last at its usual temperature."""
    failed_to: datetime | None = None
    """For a failure: when it began to cool again; None while it has not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Excursions:
    """All spells of a series, worst first, and its sums.

    usual_c is the median of the readings that are not too warm; degree_hours [K h] stand above the warm limit.
    """

    spells: tuple[Spell, ...]
    short_count: int
    """Warm spells too short to count: doors, or a compressor that cycles too high."""
    short_hours: float
    warm_hours: float
    degree_hours: float
    warmest_c: float
    coldest_c: float
    usual_c: float
    silent: tuple[tuple[datetime, datetime], ...]
    """Stretches without readings, in which nothing is known."""

    @property
    def still_warm(self) -> bool:
        """True when the readings stop in the middle of a warm spell."""
        return any(not spell.ended and spell.kind in (FAILURE, TOO_WARM) for spell in self.spells)


def spell_rules(*, warm_c: float, cold_c: float, freeze_c: float, spell_hours: float) -> SpellRules:
    """The rules: limits from the unit's policy, the rest from the table.

    Source
    ------
    tables/data/store_spells.csv, judgement.
    """
    rest = ("frozen_hours", "join_hours", "failure_hours", "failure_rise_k", "silent_hours", "silent_steps")
    figures = {name: spell_figure(name) for name in rest}
    return SpellRules(warm_c=warm_c, cold_c=cold_c, freeze_c=freeze_c, spell_hours=spell_hours, **figures)


def spell_figure(rule: str) -> float:
    """One figure of the table of spells, in the unit it gives there."""
    return float(table("store_spells").by("rule")[rule]["value"])


def one_by_one(at: Times, values: Array) -> tuple[Times, Array]:
    """Readings in order of time, once each: those without a value left out, those of one instant averaged."""
    known = np.isfinite(values)
    at, values = at[known], values[known]
    if at.size and bool((np.diff(at) > np.timedelta64(0, "s")).all()):
        return at, values
    once, place, count = np.unique(at, return_inverse=True, return_counts=True)
    return once, np.bincount(place, weights=values, minlength=len(once)) / np.maximum(count, 1)


def find_excursions(at: Times, temp_c: Array, rules: SpellRules) -> Excursions:
    """Find the spells in a store's temperatures.

    Not for the temperature of a find: a block follows the air hours later, and the forecast works that out.

    Parameters
    ----------
    at : UTC, datetime64[s], shape (n,), n at least 2.
    temp_c : shape (n,), nan where there is none [degC].
    rules : limits and thresholds.

    Returns
    -------
    Spells straight between readings, worst first: frozen, then failures, too warm, too cold; longest sums first.

    Raises
    ------
    ValueError : fewer than two readings.

    Valid for
    ---------
    Readings close enough that a straight line between them is true; silences are left out and listed.
    Source
    ------
    Linear interpolation; thresholds in tables/data/store_spells.csv.
    """
    at, temp_c = one_by_one(at, temp_c)
    if len(at) < 2:
        raise ValueError("two readings are needed")
    time_s = (at - at[0]).astype("timedelta64[s]").astype(np.float64)
    warm = temp_c > rules.warm_c
    usual_c = float(np.median(temp_c[~warm] if not warm.all() else temp_c))
    parts, silent = _pieces(time_s, rules)
    spells: list[Spell] = []
    short: list[float] = []
    warm_h = degree_h = 0.0
    for part in parts:
        piece = _Piece(start=at[0], time_s=time_s[part], temp_c=temp_c[part])
        beyond = _beyond(piece, rules.warm_c, 1.0)
        warm_h, degree_h = warm_h + float(beyond.hours[-1]), degree_h + float(beyond.degree_hours[-1])
        for run in _runs(beyond, rules.join_hours):
            hours = beyond.between(run)[0]
            if hours < rules.spell_hours:
                short.append(hours)
            else:
                spells.append(_warm_spell(piece, beyond, run, rules, usual_c))
        spells += _cold_spells(piece, rules)
    return Excursions(
        spells=tuple(sorted(spells, key=lambda spell: (WORST_FIRST.index(spell.kind), -spell.degree_hours))),
        short_count=len(short),
        short_hours=sum(short),
        warm_hours=warm_h,
        degree_hours=degree_h,
        warmest_c=float(temp_c.max()),
        coldest_c=float(temp_c.min()),
        usual_c=usual_c,
        silent=tuple((_moment(at[0], begin), _moment(at[0], end)) for begin, end in silent),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """Readings without a silence: seconds since `start`."""

    start: np.datetime64
    time_s: Array
    temp_c: Array

    def within(self, begin_s: float, end_s: float) -> slice:
        """The readings from one time to another."""
        first, last = np.searchsorted(self.time_s, begin_s), np.searchsorted(self.time_s, end_s, side="right")
        return slice(int(first), int(last))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Beyond:
    """What is beyond a limit: edges of its runs [s], whether the piece's ends cut them, and sums up to each edge."""

    begin_s: Array
    end_s: Array
    cut_end: bool
    time_s: Array
    hours: Array
    degree_hours: Array

    def between(self, run: tuple[int, int]) -> tuple[float, float]:
        """Hours and degree-hours from the begin of one run to the end of another."""
        first = int(np.searchsorted(self.time_s, self.begin_s[run[0]], side="right")) - 1
        last = int(np.searchsorted(self.time_s, self.end_s[run[1]], side="left"))
        return float(self.hours[last] - self.hours[first]), float(self.degree_hours[last] - self.degree_hours[first])


def _pieces(time_s: Array, rules: SpellRules) -> tuple[list[slice], list[tuple[float, float]]]:
    """The series cut at its silences; single readings between two silences tell nothing and are left out."""
    steps = np.diff(time_s)
    longest_s = max(rules.silent_hours * 3600.0, rules.silent_steps * float(np.median(steps)))
    cuts = np.flatnonzero(steps > longest_s)
    edges = [0, *(cuts + 1).tolist(), len(time_s)]
    parts = [slice(first, last) for first, last in pairwise(edges) if last - first > 1]
    return parts, [(float(time_s[cut]), float(time_s[cut + 1])) for cut in cuts]


def _beyond(piece: _Piece, limit_c: float, sign: float) -> _Beyond:
    """Runs above a limit (sign 1) or below it (sign -1), straight between readings."""
    time_s, over = piece.time_s, sign * (piece.temp_c - limit_c)
    above = over > 0.0
    before, after, step_h = over[:-1], over[1:], np.diff(time_s) / 3600.0
    rise = np.where(above[1:] != above[:-1], after - before, 1.0)
    cross = time_s[:-1] - before / rise * np.diff(time_s)
    begins, ends = cross[above[1:] & ~above[:-1]], cross[above[:-1] & ~above[1:]]
    if above[0]:
        begins = np.concatenate((time_s[:1], begins))
    if above[-1]:
        ends = np.concatenate((ends, time_s[-1:]))
    top, low = np.maximum(np.maximum(before, after), 0.0), np.minimum(before, after)
    share = np.where(low < 0.0, top / np.where(low < 0.0, top - low, 1.0), np.where(top > 0.0, 1.0, 0.0))
    mean = np.where(low < 0.0, top / 2.0, (top + low) / 2.0)
    return _Beyond(
        begin_s=begins,
        end_s=ends,
        cut_end=bool(above[-1]),
        time_s=time_s,
        hours=np.concatenate(([0.0], np.cumsum(share * step_h))),
        degree_hours=np.concatenate(([0.0], np.cumsum(share * mean * step_h))),
    )


def _runs(beyond: _Beyond, join_hours: float) -> list[tuple[int, int]]:
    """First and last run of each group of runs that lie close together."""
    if not beyond.begin_s.size:
        return []
    apart = np.flatnonzero(beyond.begin_s[1:] - beyond.end_s[:-1] > join_hours * 3600.0)
    firsts, lasts = [0, *(apart + 1).tolist()], [*apart.tolist(), len(beyond.begin_s) - 1]
    return list(zip(firsts, lasts, strict=True))


def _spell(piece: _Piece, beyond: _Beyond, run: tuple[int, int], kind: str, sign: float) -> Spell:
    begin_s, end_s = float(beyond.begin_s[run[0]]), float(beyond.end_s[run[1]])
    inside = piece.temp_c[piece.within(begin_s, end_s)]
    hours, degree_hours = beyond.between(run)
    return Spell(
        kind=kind,
        begins=_moment(piece.start, begin_s),
        ends=_moment(piece.start, end_s),
        ended=not (beyond.cut_end and run[1] == len(beyond.end_s) - 1),
        hours=hours,
        worst_c=float(sign * np.max(sign * inside)),
        degree_hours=degree_hours,
    )


def _warm_spell(piece: _Piece, beyond: _Beyond, run: tuple[int, int], rules: SpellRules, usual_c: float) -> Spell:
    """A warm spell, told as a failure when it was long and far above the usual."""
    plain = _spell(piece, beyond, run, TOO_WARM, 1.0)
    if plain.hours < rules.failure_hours or plain.worst_c < usual_c + rules.failure_rise_k:
        return plain
    begin_s, end_s = float(beyond.begin_s[run[0]]), float(beyond.end_s[run[1]])
    return Spell(
        kind=FAILURE,
        begins=plain.begins,
        ends=plain.ends,
        ended=plain.ended,
        hours=plain.hours,
        worst_c=plain.worst_c,
        degree_hours=plain.degree_hours,
        failed_from=_moment(piece.start, _last_usual_s(piece, begin_s, usual_c)),
        failed_to=_moment(piece.start, _turned_s(piece, begin_s, end_s)) if plain.ended else None,
    )


def _last_usual_s(piece: _Piece, begin_s: float, usual_c: float) -> float:
    """The last reading at or below the usual temperature before the limit was passed."""
    before = np.flatnonzero((piece.time_s <= begin_s) & (piece.temp_c <= usual_c))
    return float(piece.time_s[before[-1]] if before.size else piece.time_s[0])


def _turned_s(piece: _Piece, begin_s: float, end_s: float) -> float:
    """When the cooling began: the reading farthest above the straight line from the peak to the spell's end."""
    inside = piece.within(begin_s, end_s)
    time_s, temp_c = piece.time_s[inside], piece.temp_c[inside]
    peak = int(np.argmax(temp_c))
    time_s, temp_c = time_s[peak:], temp_c[peak:]
    line = np.interp(time_s, [time_s[0], time_s[-1]], [temp_c[0], temp_c[-1]])
    return float(time_s[int(np.argmax(temp_c - line))])


def _cold_spells(piece: _Piece, rules: SpellRules) -> list[Spell]:
    """Frozen spells, and cold ones that hold no frozen one."""
    frost, cold = _beyond(piece, rules.freeze_c, -1.0), _beyond(piece, rules.cold_c, -1.0)
    frozen = [_spell(piece, frost, run, FROZEN, -1.0) for run in _runs(frost, rules.join_hours)]
    frozen = [spell for spell in frozen if spell.hours >= rules.frozen_hours]
    chilled = [_spell(piece, cold, run, TOO_COLD, -1.0) for run in _runs(cold, rules.join_hours)]
    return frozen + [
        spell
        for spell in chilled
        if spell.hours >= rules.spell_hours and not any(spell.begins <= worse.begins <= spell.ends for worse in frozen)
    ]


def _moment(start: np.datetime64, after_s: float) -> datetime:
    began = datetime.fromtimestamp(int(start.astype("datetime64[s]").astype("int64")), UTC)
    return began + timedelta(seconds=round(after_s))
