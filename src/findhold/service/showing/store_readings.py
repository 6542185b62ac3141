"""A store's readings as a chart: the newest days, the limit, the set-point, and shaded where it was too warm or off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from findhold.dates.instants import zone_named
from findhold.draw.chart import ChartArgs, Frame, Span, Threshold, Upright, chart_drawing
from findhold.draw.series import Curve
from findhold.draw.svg import to_svg
from findhold.draw.timeaxis import day_words
from findhold.record.events import Event
from findhold.service.choices import read_choices
from findhold.service.office import Office
from findhold.service.store_record import StoreRecord, curve_of, record_of, silences
from findhold.service.store_words import failure_words, spell_lines
from findhold.service.stores import find_store
from findhold.store.ledger import Thing
from findhold.store.lookup import story_tail

Array = NDArray[np.float64]
NEWEST = 24
"""So many of a store's newest events are looked at; a file a week makes this half a year."""
FRAME = Frame(width_mm=186.0, height_mm=72.0, right_mm=36.0)
DAYS = (3, 14, 42)
"""Lengths of the chart that can be chosen [days]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """A store's newest readings: the chart (None when nothing was read or typed in that time) and what they say."""

    svg: str | None
    first: datetime | None
    last: datetime | None
    days: int
    said: tuple[str, ...]
    """What the newest file and the failures say, a sentence each."""


def store_readings(office: Office, name: str, days: int = DAYS[1]) -> Readings:
    """The chart of a store's newest readings and failures.

    Parameters
    ----------
    name : of the store. days : how far back from the newest reading or failure.

    Raises
    ------
    UnknownName : no such store.
    """
    store = find_store(office, name)
    with office.ledger.reading() as connection:
        tail = [event for _, event in story_tail(connection, [store.stream], limit=NEWEST)]
    record = record_of(store.facts, _bodies(tail))
    zone = _zone(office)
    window = _window(record, days, office.now())
    if window is None:
        return Readings(svg=None, first=None, last=None, days=days, said=())
    first, last = window
    return Readings(
        svg=_chart(store, record, (first, last), zone),
        first=first,
        last=last,
        days=days,
        said=_said(store, zone),
    )


def _bodies(tail: list[Event]) -> list[dict[str, Any]]:
    """Bodies of the logged files among a store's newest events, oldest first."""
    return [event.body for event in reversed(tail) if event.word == "store.logged.1"]


def _zone(office: Office) -> str:
    sites = office.ledger.states("site")
    return str(sites[0].facts["zone"]) if sites else "UTC"


def _window(record: StoreRecord, days: int, now: datetime) -> tuple[datetime, datetime] | None:
    """The days of the chart: up to the newest reading, or the end of the newest failure, whichever is later."""
    at_s = record.temp.at_s
    ends = [datetime.fromtimestamp(float(at_s[-1]), UTC)] if at_s.size else []
    begins = [datetime.fromtimestamp(float(at_s[0]), UTC)] if at_s.size else []
    for failure in record.failures:
        begins.append(failure.begins.astimezone(UTC) - timedelta(hours=12))
        ends.append(max((failure.ends or now).astimezone(UTC), failure.begins.astimezone(UTC) + timedelta(hours=1)))
        ends[-1] += timedelta(hours=24)
    if not ends:
        return None
    last = max(ends)
    return max(min(begins), last - timedelta(days=days)), last


def _chart(store: Thing, record: StoreRecord, window: tuple[datetime, datetime], zone: str) -> str:
    first, last = window
    policy, set_c = read_choices().policy, store.facts.get("temp_c")
    levels = [Threshold(value=policy.warm_c, words=f"{policy.warm_c:g} °C, too warm above", wanted=True)]
    levels.append(Threshold(value=policy.freeze_c, words=f"{policy.freeze_c:g} °C, never colder", wanted=True))
    if set_c is not None:
        levels.append(Threshold(value=float(set_c), words=f"set to {set_c:g} °C"))
    spans, uprights = _shaded(store, record, window, zone)
    args = ChartArgs(
        title=f"{store.number}, temperature",
        unit="°C",
        start=first,
        end=last,
        zone=zone_named(zone),
        origin=first,
        curves=tuple(_curves(store, record, first)),
        thresholds=tuple(levels),
        uprights=tuple(uprights),
        spans=tuple(spans),
        least_span=10.0,
        note="shaded: off or too warm; readings as hourly means",
    )
    return to_svg(chart_drawing(args, FRAME))


def _curves(store: Thing, record: StoreRecord, origin: datetime) -> list[Curve]:
    """What was read, and where nothing was read but a failure was typed, what is reckoned from it."""
    curves = []
    if record.temp.at.size:
        at_s, value = _gapped(record)
        curves.append(Curve(name="read by the logger", time_s=at_s - origin.timestamp(), best=value))
    if record.failures:
        curve = curve_of(store.facts, record)
        if curve is not None:
            taken = curve.temp_c.copy()
            if record.temp.at.size:
                covered = (curve.at_s >= record.temp.at_s[0]) & (curve.at_s <= record.temp.at_s[-1])
                taken[covered] = np.nan
            if np.isfinite(taken).any():
                name = "reckoned from the failure typed"
                curves.append(Curve(name=name, time_s=curve.at_s - origin.timestamp(), best=taken, line="dashed"))
    return curves


def _gapped(record: StoreRecord) -> tuple[Array, Array]:
    """Readings with a gap where the logger was silent."""
    at_s, value = record.temp.at_s, record.temp.value
    for begin, _ in reversed(silences(record.temp)):
        place = int(np.searchsorted(at_s, begin, side="right"))
        at_s, value = np.insert(at_s, place, begin + 1.0), np.insert(value, place, np.nan)
    return at_s, value


def _shaded(
    store: Thing, record: StoreRecord, window: tuple[datetime, datetime], zone: str
) -> tuple[list[Span], list[Upright]]:
    """Failures as typed and spells found in the readings, each with its beginning named."""
    first, last = window
    found = [(failure.begins, failure.ends or last, "off, as typed") for failure in record.failures]
    for log in store.facts.get("logs", ()):
        for spell in (log.get("spells") or {}).get("spells", ()):
            begins = datetime.fromisoformat(spell.get("failed_from") or spell["begins"])
            found.append((begins, datetime.fromisoformat(spell["ends"]), str(spell["kind"])))
    shown = [(begins, ends, words) for begins, ends, words in found if ends > first and begins < last]
    spans = [Span(start=begins, end=ends) for begins, ends, _ in shown]
    local = zone_named(zone)
    uprights = [
        Upright(at=begins, words=f"{words}, {day_words(begins.astimezone(local).date())}", act=True)
        for begins, _, words in shown
        if begins >= first
    ]
    return spans, uprights


def _said(store: Thing, zone: str) -> tuple[str, ...]:
    """The newest file's spells and every failure typed, as sentences."""
    lines = [failure_words(failure, zone) for failure in store.facts.get("failures", ())]
    newest = max(store.facts.get("logs", ()), key=lambda log: str(log["last"]), default=None)
    if newest and newest.get("spells"):
        lines += spell_lines(newest["spells"], newest["limits"]["warm_c"], zone)
    return tuple(lines)
