"""The calendar of one person's rounds, or of one store: imported again it updates, and what fell away is withdrawn."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from findhold.dates.calendar_file import CalendarEvent, write_calendar
from findhold.dates.instants import day_for_people
from findhold.errors import BadInput
from findhold.service.bookings.calendar_out import appointment_events
from findhold.service.folder import write_file
from findhold.service.office import Office
from findhold.service.rounds.planning import rounds, site_boxes
from findhold.service.rounds.shapes import BoxDue, Rounds, RoundsRequest, RoundVisit

BOX_MINUTES = 15
"""Length of a look at one box in the calendar, only so that a round shows as a block (judgement)."""
LONGEST_HOURS = 8
AHEAD_DAYS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarMade:
    """A calendar file: where it was written, its events, and how many of an earlier file it withdraws."""

    file: str
    events: int
    withdrawn: int


def write_rounds_calendar(office: Office, request: RoundsRequest, file: Path) -> CalendarMade:
    """Write the rounds and appointments of a person, or the rounds of a store or of all, as a calendar file.

    The identity of a round is its site, its person or store, and its day; its sequence is the number of events in the
    ledger, which only grows. An earlier file at the same place is read, and rounds ahead that are no longer planned
    are withdrawn.

    Raises
    ------
    BadInput : the earlier file is no calendar; the store or person is not known.
    """
    found = rounds(office, request)
    sequence, _ = office.ledger.head()
    made = [_round(visit, found, sequence) for visit in found.visits]
    if found.store is not None:
        boxes, _ = site_boxes(office, office.site(request.site), found.store)
        made += [
            _last_day(found, (box.box_id, box.find, box.limit), box.keep_until.date(), sequence)
            for box in boxes.values()
            if box.keep_until is not None
        ]
    if found.for_name:
        made += appointment_events(office, office.site(request.site), with_=found.for_name)
    gone = _withdrawn(file, {event.uid for event in made}, (found.now, sequence))
    name = f"{found.site} {found.for_name or found.store or 'rounds'}"
    data = write_calendar([*made, *gone], name=name, zone=found.zone, stamp=found.now)
    return CalendarMade(file=str(write_file(file, data)), events=len(made), withdrawn=len(gone))


def _round(visit: RoundVisit, found: Rounds, sequence: int) -> CalendarEvent:
    whose = found.store or visit.who or "anybody"
    minutes = min(BOX_MINUTES * len(visit.boxes), 60 * LONGEST_HOURS)
    start = visit.at.replace(second=0, microsecond=0)
    stores = ", ".join(visit.stores)
    return CalendarEvent(
        uid=f"{found.site}-round-{start.date().isoformat()}-{_slug(whose)}@findhold",
        start=start,
        end=start + timedelta(minutes=minutes),
        summary=f"Round: {stores} ({len(visit.boxes)} boxes)" if len(visit.boxes) > 1 else f"Round: {stores} (1 box)",
        description="\n".join([f"{visit.who or 'Anybody'}: {visit.why_who}.", *(_line(box) for box in visit.boxes)]),
        location=stores,
        sequence=sequence,
        alarm_hours=1,
    )


def _line(box: BoxDue) -> str:
    mass = f", {box.expect}" if box.expect else ""
    keep = "" if box.keep_until is None else f", keep until {day_for_people(box.keep_until.date())}"
    return f"{box.box}, find {box.find}{mass}{keep}. {box.reason.split(' (')[0]}"


def _last_day(found: Rounds, box: tuple[str, str, str], day: date, sequence: int) -> CalendarEvent:
    box_id, find, limit = box
    return CalendarEvent(
        uid=f"{box_id}-keep-until@findhold",
        start=day,
        end=day,
        summary=f"Keep until: {found.site} {find}, box {box_id}",
        description=f"{limit} ends the wait.",
        location=found.store or "",
        sequence=sequence,
        alarm_hours=24,
    )


def _withdrawn(file: Path, kept: set[str], when: tuple[datetime, int]) -> list[CalendarEvent]:
    """Rounds and appointments ahead of an earlier file that no longer stand, as events that withdraw them."""
    now, sequence = when
    if not file.is_file():
        return []
    found = []
    for event in _events_in(file):
        uid, start = str(event.get("uid", "")), event.get("dtstart")
        start = None if start is None else start.dt
        if (
            not ("-round-" in uid or uid.startswith("booking-"))
            or uid in kept
            or not isinstance(start, datetime)
            or start < now
        ):
            continue
        found.append(
            CalendarEvent(
                uid=uid,
                start=start,
                end=start,
                summary=f"Withdrawn: {str(event.get('summary', 'round')).removeprefix('Withdrawn: ')}",
                sequence=max(sequence, int(event.get("sequence", 0))),
                cancelled=True,
            )
        )
    return found


def _events_in(file: Path) -> list[Mapping[str, Any]]:
    from icalendar import Calendar

    try:
        return list(Calendar.from_ical(file.read_bytes()).walk("VEVENT"))
    except (ValueError, IndexError) as error:
        raise BadInput(
            "there is a file of this name that is no calendar",
            where=str(file),
            do="Choose another name: it is not written over",
        ) from error


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-") or "x"
