"""The standard calendar exchange file (RFC 5545): events with stable identities, zone rules and alarms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from findhold.dates.instants import require_aware, zone_named
from findhold.errors import BadInput

if TYPE_CHECKING:
    from icalendar import Alarm, Event, Timezone

_PRODUCT = "-//findhold//checks and openings//EN"
_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarEvent:
    """One event: a whole day (start is a date; end is the last day) or a span of time (aware datetimes).

    The same `uid` with a higher `sequence` replaces the event in a calendar that has it already.
    """

    uid: str
    start: datetime | date
    end: datetime | date | None
    summary: str
    description: str = ""
    location: str = ""
    sequence: int = 0
    alarm_hours: float | None = None
    """Hours before the start at which the calendar reminds; None for no alarm."""
    cancelled: bool = False
    """True withdraws an event that an earlier file held."""


def write_calendar(events: Sequence[CalendarEvent], *, name: str, zone: str, stamp: datetime) -> bytes:
    """A calendar file that common calendar programs open; importing it again updates instead of doubling.

    Parameters
    ----------
    events : the events; identities must differ.
    name : the calendar's name as programs show it.
    zone : the zone whose clock times the events are written in (Europe/London or a fixed offset).
    stamp : aware instant of making, DTSTAMP of every event.

    Returns
    -------
    Bytes: UTF-8, lines of at most 75 octets ended by CR LF, one VTIMEZONE when the zone has rules.

    Raises
    ------
    BadInput : two events with one identity, an event that ends before it starts, a time without zone, no identity.

    Source
    ------
    [rfc5545] sections 3.1 (folding), 3.6.1, 3.6.5, 3.6.6, 3.8.7.4 (sequence); [rfc7986] for NAME.
    """
    from icalendar import Calendar

    _check(events)
    require_aware(stamp, "stamp")
    rules = zone_named(zone)
    calendar = Calendar()
    calendar.add("prodid", _PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)
    if isinstance(rules, ZoneInfo):
        calendar.add("x-wr-timezone", zone)
    for event in events:
        calendar.add_component(_component(event, rules if isinstance(rules, ZoneInfo) else UTC, stamp))
    if isinstance(rules, ZoneInfo) and any(isinstance(event.start, datetime) for event in events):
        days = [_day(moment) for event in events for moment in (event.start, event.end) if moment is not None]
        calendar.add_component(_zone_rules(zone, rules, min(days).year - 1, max(days).year + 2))
    return bytes(calendar.to_ical())


def _check(events: Sequence[CalendarEvent]) -> None:
    seen: set[str] = set()
    for event in events:
        if not event.uid.strip() or event.uid in seen:
            wrong = "no identity" if not event.uid.strip() else f"the identity {event.uid} of an earlier event"
            raise BadInput(
                f"an event has {wrong}", where=event.summary, do="Give every event its own identity that never changes"
            )
        seen.add(event.uid)
        if isinstance(event.start, datetime):
            require_aware(event.start, event.summary)
        if event.end is None:
            continue
        if isinstance(event.end, datetime):
            require_aware(event.end, event.summary)
        if isinstance(event.start, datetime) != isinstance(event.end, datetime):
            raise BadInput(
                "an event has a time at one end and a whole day at the other",
                where=event.summary,
                do="Give both ends a time, or neither",
            )
        if event.end < event.start:
            raise BadInput("an event ends before it starts", where=event.summary, do="Correct its start or its end")


def _component(event: CalendarEvent, rules: ZoneInfo | timezone, stamp: datetime) -> Event:
    """One VEVENT; the end of whole days is written exclusive, as the standard counts it."""
    from icalendar import Event

    component = Event()
    component.add("uid", event.uid)
    component.add("dtstamp", stamp.astimezone(UTC))
    component.add("last-modified", stamp.astimezone(UTC))
    component.add("sequence", event.sequence)
    component.add("status", "CANCELLED" if event.cancelled else "CONFIRMED")
    if isinstance(event.start, datetime):
        component.add("dtstart", event.start.astimezone(rules))
        if isinstance(event.end, datetime):
            component.add("dtend", event.end.astimezone(rules))
    else:
        component.add("dtstart", event.start)
        component.add("dtend", (event.end or event.start) + _ONE_DAY)
        component.add("transp", "TRANSPARENT")
    component.add("summary", event.summary)
    if event.description:
        component.add("description", event.description)
    if event.location:
        component.add("location", event.location)
    if event.alarm_hours is not None and not event.cancelled:
        component.add_component(_alarm(event))
    return component


def _alarm(event: CalendarEvent) -> Alarm:
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", -timedelta(hours=event.alarm_hours or 0.0))
    alarm.add("description", event.summary)
    return alarm


def _zone_rules(name: str, rules: ZoneInfo, first_year: int, last_year: int) -> Timezone:
    """The zone's offsets and clock changes in these years as a VTIMEZONE.

    Written here and not by the calendar library, whose spring onsets are an hour late: the standard wants the clock
    time before the change.
    """
    from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

    start = datetime(first_year, 1, 1, tzinfo=UTC)
    changes = [start, *_changes(rules, start, datetime(last_year, 1, 1, tzinfo=UTC))]
    groups: dict[tuple[timedelta, timedelta, str, bool], list[datetime]] = {}
    for change in changes:
        after = change.astimezone(rules)
        before = after if change == start else (change - timedelta(seconds=1)).astimezone(rules)
        key = (_offset(before), _offset(after), after.tzname() or name, bool(after.dst()))
        groups.setdefault(key, []).append((change + key[0]).replace(tzinfo=None))
    zone = Timezone()
    zone.add("tzid", name)
    for (before_offset, after_offset, short_name, daylight), onsets in groups.items():
        part = TimezoneDaylight() if daylight else TimezoneStandard()
        part.add("dtstart", onsets[0])
        part.add("tzoffsetfrom", before_offset)
        part.add("tzoffsetto", after_offset)
        part.add("tzname", short_name)
        if len(onsets) > 1:
            part.add("rdate", onsets[1:])
        zone.add_component(part)
    return zone


def _changes(rules: ZoneInfo, start: datetime, end: datetime) -> list[datetime]:
    """Every instant between two at which the zone's offset changes, to the second."""
    found = []
    day = start
    while day < end:
        low, high = day, day + _ONE_DAY
        if _offset(low.astimezone(rules)) != _offset(high.astimezone(rules)):
            while high - low > timedelta(seconds=1):
                middle = low + timedelta(seconds=(high - low) // timedelta(seconds=2))
                same = _offset(middle.astimezone(rules)) == _offset(low.astimezone(rules))
                low, high = (middle, high) if same else (low, middle)
            found.append(high)
        day += _ONE_DAY
    return found


def _offset(moment: datetime) -> timedelta:
    return moment.utcoffset() or timedelta(0)


def _day(moment: datetime | date) -> date:
    return moment.date() if isinstance(moment, datetime) else moment
