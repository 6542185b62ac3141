"""What ends a hold: policy, growth on wrapping and on the find, loss of water, a place too warm or too cold."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from findhold.keep.inputs import Array, HoldInputs, seconds_between
from findhold.keep.place import Surroundings
from findhold.physics.band import band_edges, first_spell_s
from findhold.physics.vapour import SECONDS_PER_DAY

POLICY, ON_WRAPPING, ON_FIND = "policy", "growth on wrapping", "growth on find"
WATER, TOO_WARM, TOO_COLD, TOO_WET = "water loss", "too warm", "near freezing", "too wet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit: the band of its date (None: not within the horizon), its source key and what it means."""

    name: str
    date_low: datetime | None
    date_best: datetime | None
    date_high: datetime | None
    source: str
    note: str


def instant(inputs: HoldInputs, since_packing_s: float) -> datetime | None:
    """The instant a number of seconds after packing, in the zone of packed_at; None for never.

    Counted in elapsed time, so that a change of the clocks in between moves the wall time and not the hold.
    """
    if not np.isfinite(since_packing_s):
        return None
    moved = inputs.packed_at.astimezone(UTC) + timedelta(seconds=round(since_packing_s))
    return moved.astimezone(inputs.packed_at.tzinfo)


def policy_limit(inputs: HoldInputs) -> Limit:
    """The unit's longest hold, counted from first exposure."""
    days = inputs.policy.policy_days
    when = instant(inputs, days * SECONDS_PER_DAY - seconds_between(inputs.exposed_at, inputs.packed_at))
    note = f"{days:g} days from first exposure; the unit's own rule, no published limit was found"
    return Limit(name=POLICY, date_low=when, date_best=when, date_high=when, source="common-practice", note=note)


def ensemble_limit(inputs: HoldInputs, name: str, reached_s: Array, source: str, note: str) -> tuple[Limit, bool]:
    """A limit from the times at which all runs meet it, best run first.

    Parameters
    ----------
    inputs : the hold.
    name, source, note : of the limit.
    reached_s : time since packing, shape (runs,), infinite for never [s].

    Returns
    -------
    The limit, and whether an edge had to be moved out to hold the best run.
    """
    best = float(reached_s[0])
    horizon_s = inputs.policy.horizon_days * SECONDS_PER_DAY
    low, high = band_edges(reached_s[1:])
    moved = not low <= best <= high
    edges = [np.inf if edge > horizon_s else edge for edge in (min(low, best), best, max(high, best))]
    dates = [instant(inputs, edge) for edge in edges]
    limit = Limit(name=name, date_low=dates[0], date_best=dates[1], date_high=dates[2], source=source, note=note)
    return limit, moved


def place_limits(inputs: HoldInputs, place: Surroundings) -> tuple[Limit, ...]:
    """Limits of the place itself, from its stated or logged temperature; none for a dry find.

    The stated temperature is taken as it stands: its uncertainty is reported as a note and not as an earlier date,
    or no refrigerator could ever be used.
    """
    if inputs.state == "dry":
        return ()
    policy = inputs.policy
    spell_s = policy.warm_spell_h * 3600.0
    time_s, temp_c = _since_it_stood(inputs, place)
    warm_s = first_spell_s(time_s, temp_c, policy.warm_c, spell_s)
    cold_s = first_spell_s(time_s, -temp_c, -policy.freeze_c, spell_s)
    warm_note = f"the place is warmer than {policy.warm_c:g} °C for {policy.warm_spell_h:g} h or more"
    cold_note = f"the place is colder than {policy.freeze_c:g} °C for {policy.warm_spell_h:g} h or more; never freeze"
    return (
        _place_limit(inputs, TOO_WARM, warm_s, "findhold-judgement", warm_note),
        _place_limit(inputs, TOO_COLD, cold_s, "nas-2009", cold_note),
    )


def _since_it_stood(inputs: HoldInputs, place: Surroundings) -> tuple[Array, Array]:
    """Time [s] and temperature of the place, from when the find stood there: before packing when it was packed anew."""
    climate = inputs.climate
    if climate.series_s is None or climate.series_temp_c is None or climate.stood_s >= 0.0:
        return place.time_s, place.temp_c
    inner = climate.series_s[(climate.series_s > climate.stood_s) & (climate.series_s < 0.0)]
    before = np.concatenate(([climate.stood_s], inner))
    earlier = np.interp(before, climate.series_s, climate.series_temp_c)
    return np.concatenate((before, place.time_s)), np.concatenate((earlier, place.temp_c))


def paperwork_limits(inputs: HoldInputs) -> tuple[Limit, ...]:
    """Deadlines of law and booking, as they were entered; a day lasts to its end where the box is."""
    return tuple(_paper(inputs, name, when) for name, when in inputs.paperwork)


def governing(limits: tuple[Limit, ...]) -> tuple[datetime, str]:
    """The earliest low edge and its limit's name; the policy limit always has one."""
    dated = [(limit.date_low, limit.name) for limit in limits if limit.date_low is not None]
    return min(dated, key=lambda pair: pair[0].astimezone(UTC))


def _place_limit(inputs: HoldInputs, name: str, start_s: float, source: str, note: str) -> Limit:
    """A limit whose date has no band, because the place is taken as stated or logged."""
    when = instant(inputs, start_s)
    return Limit(name=name, date_low=when, date_best=when, date_high=when, source=source, note=note)


def _paper(inputs: HoldInputs, name: str, when: date | datetime) -> Limit:
    """One deadline."""
    ends = when if isinstance(when, datetime) else datetime.combine(when, time(23, 59), tzinfo=inputs.packed_at.tzinfo)
    note = f"{name}: a deadline as entered; whoever set it can say what it means"
    return Limit(name=name, date_low=ends, date_best=ends, date_high=ends, source="stated", note=note)
