"""Where a find stood, and the air it stood in: the records of its stores, one behind the other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from findhold.dates.instants import for_people
from findhold.keep.inputs import Climate
from findhold.record.events import UNIT, Event, number_of, stream_of
from findhold.service.office import Office
from findhold.service.store_record import Curve, StoreRecord, curve_of, record_of, silences

Array = NDArray[np.float64]
_TELL_A_STORE = ("thing.entered.1", "thing.corrected.1", "box.shelved.1")
_LEAD = timedelta(days=1)  # a curve is cut this long before packing


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """A find in a store since an instant; None: from the beginning. stated: the time of the move was told."""

    store: str
    since: datetime | None
    stated: bool = False


def store_at(stays: Sequence[Stay], at: datetime) -> str:
    """The store in which a find stood at an instant, by its stays in order of time."""
    begun = [stay.store for stay in stays if stay.since is None or stay.since <= at]
    return begun[-1] if begun else stays[0].store


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """The time a box is told of.

    packed_at : when the lid was closed; the series counts from here. stood_since : when it was put into its store, if
    that was before (packed anew). until : the planned opening; only readings all the way to it count as measured.
    """

    packed_at: datetime
    stood_since: datetime | None = None
    until: datetime | None = None


def store_records(office: Office) -> dict[str, StoreRecord]:
    """Readings and failures of every store that has any, by name."""
    found = {}
    for thing in office.ledger.states("store", UNIT):
        if thing.facts.get("logs") or thing.facts.get("failures"):
            bodies = [event.body for event in office.ledger.story(thing.stream) if event.word == "store.logged.1"]
            found[thing.number] = record_of(thing.facts, bodies)
    return found


def stays_of(office: Office, site: str) -> dict[str, tuple[Stay, ...]]:
    """Finds whose store was changed, by number; a change without a stated time counts from when it was recorded."""
    moved: dict[str, tuple[Stay, ...]] = {}
    streams = office.ledger.streams_told("thing.corrected.1", "find", site, about="store")
    holds = {str(hold.facts["find"]): hold.stream for hold in office.ledger.states("hold", site)} if streams else {}
    for stream in streams:
        hold = holds.get(number_of(stream))
        stays = stays_told([*office.ledger.story(stream), *(office.ledger.story(hold) if hold else ())])
        if len(stays) > 1:
            moved[number_of(stream)] = stays
    return moved


def stays_told(events: Sequence[Event]) -> tuple[Stay, ...]:
    """Where a find stood, by its events and those of its box: in the order of the moves, however late each was told.

    The first store counts from the beginning.
    """
    first: list[Stay] = []
    moves: list[Stay] = []
    for event in events:
        facts = event.body.get("fields", {}) if event.word == "thing.corrected.1" else event.body
        if event.word not in _TELL_A_STORE or not facts.get("store"):
            continue
        told = event.body.get("at")
        if first:
            since = datetime.fromisoformat(told) if told else event.at
            moves.append(Stay(store=facts["store"], since=since, stated=bool(told)))
        else:
            first.append(Stay(store=facts["store"], since=None))
    stays: list[Stay] = []
    for stay in (*first, *sorted(moves, key=lambda one: one.since.timestamp() if one.since else 0.0)):
        if not stays or stays[-1].store != stay.store:
            stays.append(stay)
    return tuple(stays)


def store_events(office: Office, stays: Sequence[Stay], packed_at: datetime, until: datetime | None) -> list[Event]:
    """Logs and failures of the stores a box stood in, as far as they are of the time it stood there."""
    found: list[Event] = []
    for number, stay in enumerate(stays):
        begin = max(packed_at, stay.since or packed_at)
        end = stays[number + 1].since if number + 1 < len(stays) else until
        names: set[str] = set()
        for event in office.ledger.story(stream_of("store", UNIT, stay.store)):
            key, first, last = _span(event)
            if event.word == "store.retracted.1":
                found += [event] if key in names else []
            elif key and (end is None or first <= end) and (last is None or last >= begin):
                names.add(key)
                found.append(event)
    return found


def _span(event: Event) -> tuple[str, datetime, datetime | None]:
    """What a store's event is known by, and the time it speaks of; '' for an event of another kind."""
    body = event.body
    if event.word == "store.logged.1":
        return body["sha256"], datetime.fromisoformat(body["first"]), datetime.fromisoformat(body["last"])
    if event.word == "store.failed.1":
        ends = body["to"]
        return (
            body["from"],
            datetime.fromisoformat(body["from"]),
            None if ends is None else datetime.fromisoformat(ends),
        )
    if event.word == "store.retracted.1":
        return body.get("sha256") or body.get("from", ""), event.at, event.at
    return "", event.at, event.at


def climate_of_stays(
    stays: Sequence[Stay],
    stores: Mapping[str, Mapping[str, Any]],
    records: Mapping[str, StoreRecord],
    span: Span,
    *,
    zone: str,
) -> tuple[Climate | None, list[str]]:
    """The air round a box that stood in these stores, and what was assumed of it.

    Parameters
    ----------
    stays : one behind the other, the first from the beginning.
    stores : facts of the stores by name.
    records : readings and failures of the stores that have any.
    span : from when to when.
    zone : the clock that times are told in.

    Returns
    -------
    A constant climate for one store without record; None when a store's temperature is not known at all.
    """
    records = {store: record for store, record in records.items() if not record.empty}
    if len(stays) == 1 and stays[0].store not in records:
        facts = stores[stays[0].store]
        known = facts.get("temp_c") is not None
        stood_s = _stood_s(span)
        return (Climate(temp_c=facts["temp_c"], rh=facts.get("rh"), stood_s=stood_s) if known else None), []
    curves = [curve_of(stores[stay.store], records.get(stay.store, StoreRecord())) for stay in stays]
    whole = [curve for curve in curves if curve is not None]
    if len(whole) < len(curves):
        return None, []
    packed_s = span.packed_at.timestamp()
    stood_s = _stood_s(span)
    start = packed_s - _LEAD.total_seconds() + stood_s
    at_s, temp_c, rh = _joined(stays, whole, start)
    words = [line for stay in stays if stay.store in records for line in _words(stay.store, stores, records, zone)]
    words += [_move_words(before, after, zone) for before, after in pairwise(stays)]
    if stood_s < 0.0 and span.stood_since is not None:
        words.append(
            f"It stood there before it was packed, since {for_people(span.stood_since, zone)}: that counts too."
        )
    since_s = at_s - packed_s
    climate = Climate(
        temp_c=float(temp_c[-1]),
        rh=None if rh is None else float(rh[-1]),
        series_s=since_s,
        series_temp_c=temp_c,
        series_rh=rh,
        stood_s=stood_s,
        measured=_measured(stays, records, span),
    )
    return climate, list(dict.fromkeys(words))


def _stood_s(span: Span) -> float:
    """Since when it stood in its store, from packing [s]; 0 where that is packing itself."""
    return 0.0 if span.stood_since is None else min(0.0, (span.stood_since - span.packed_at).total_seconds())


def _measured(stays: Sequence[Stay], records: Mapping[str, StoreRecord], span: Span) -> bool:
    """True when one store's readings go from packing to opening without a silence."""
    record = records.get(stays[0].store)
    if span.until is None or len(stays) > 1 or record is None or not record.temp.at.size:
        return False
    first, last = float(record.temp.at_s[0]), float(record.temp.at_s[-1])
    covered = first <= span.packed_at.timestamp() and last >= span.until.timestamp()
    return covered and not silences(record.temp)


def _joined(stays: Sequence[Stay], curves: Sequence[Curve], start_s: float) -> tuple[Array, Array, Array | None]:
    """One curve from several, from `start_s` on; the change from store to store takes a second."""
    begins = [start_s, *(max(start_s, stay.since.timestamp()) for stay in stays[1:] if stay.since is not None)]
    parts: list[tuple[Array, Array, Array | None]] = []
    for number, (begin, curve) in enumerate(zip(begins, curves, strict=True)):
        end = begins[number + 1] - 1.0 if number + 1 < len(begins) else max(float(curve.at_s[-1]), begin + 1.0)
        if end <= begin:
            continue
        inner = curve.at_s[(curve.at_s > begin) & (curve.at_s < end)]
        at_s = np.concatenate(([begin], inner, [end]))
        rh = None if curve.rh is None else np.interp(at_s, curve.at_s, curve.rh)
        parts.append((at_s, np.interp(at_s, curve.at_s, curve.temp_c), rh))
    humid = [part[2] for part in parts if part[2] is not None]
    rh = None
    if humid:
        # A store whose humidity nobody knows gets the mean of the others'.
        usual = float(np.concatenate(humid).mean())
        rh = np.concatenate([np.full(len(at_s), usual) if own is None else own for at_s, _, own in parts])
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts]), rh


def _words(
    store: str, stores: Mapping[str, Mapping[str, Any]], records: Mapping[str, StoreRecord], zone: str
) -> list[str]:
    """What was taken of a store's climate, in sentences."""
    record, set_c = records[store], stores[store].get("temp_c")
    said = []
    if record.temp.at.size:
        first, last = (for_people(_utc(record.temp.at_s[place]), zone) for place in (0, -1))
        rest = "their median" if set_c is None else f"its set-point, {set_c:g} °C"
        said.append(f"{store}: readings from {first} to {last} as hourly means; before and after them {rest}.")
    if record.still_warm:
        said.append(
            f"{store} was still too warm at its last reading: it is taken to stay at that until a newer reading"
            " or the end of the failure is recorded."
        )
    curve = curve_of(stores[store], record)
    for begins, ends in curve.silent if curve is not None else ():
        said.append(
            f"{store} gave no reading from {for_people(begins, zone)} to {for_people(ends, zone)}: the straight line"
            " across or the set-point is taken, whichever is warmer."
        )
    for failure in record.failures:
        until = "until further notice" if failure.ends is None else f"to {for_people(failure.ends, zone)}"
        said.append(
            f"{store} off from {for_people(failure.begins, zone)} {until}, room at {failure.room_c:g} °C: where there"
            f" are no readings it drifts there with a time constant of {failure.warming_hours:g} h and comes back with"
            f" {failure.cooling_hours:g} h (judgement)."
        )
    return said


def _move_words(before: Stay, after: Stay, zone: str) -> str:
    if after.since is None:
        return f"The change of store from {before.store} to {after.store} is taken as a move."
    when = for_people(after.since, zone)
    if after.stated:
        return f"Moved from {before.store} to {after.store}, {when}."
    change = f"The change of store from {before.store} to {after.store}"
    return f"{change} is taken as a move when that was recorded, {when}."


def _utc(at_s: float) -> datetime:
    return datetime.fromtimestamp(float(at_s), UTC)
