"""Bookings as a calendar file and as rows of what is due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from findhold.dates.calendar_file import CalendarEvent, write_calendar
from findhold.dates.instants import zone_named
from findhold.record.events import stream_of
from findhold.service.folder import write_file
from findhold.service.office import Office
from findhold.store.ledger import Thing

if TYPE_CHECKING:
    from findhold.service.bookings.answer import BookAnswer


@dataclass(frozen=True, slots=True, kw_only=True)
class Appointment:
    """A booking that stands in the ledger. status : fixed, promised, or cancelled. no : how often it was changed."""

    find: str
    what: str
    with_: str
    starts_at: datetime
    status: str
    no: int


def appointments(office: Office, site: Thing) -> tuple[Appointment, ...]:
    """Every appointment ever recorded for a site, in order of time; those cancelled say so.

    For lists of what is due: they show what was recorded, not what a new plan would be.
    """
    things = office.ledger.states("booking", site.number)
    if not things:
        return ()
    from findhold.book.inputs import STARTS
    from findhold.service.bookings.ledger_inputs import place_told

    zone = zone_named(site.facts["zone"])
    found = []
    for thing in things:
        facts = thing.facts
        if "day" not in facts:
            continue
        place = place_told(facts)
        starts = datetime.combine(place.at.day, STARTS[place.at.half], tzinfo=zone)
        found.append(
            Appointment(
                find=place.find,
                what=place.what,
                with_=place.with_,
                starts_at=starts,
                status=facts["status"],
                no=int(facts.get("no", 0)),
            )
        )
    return tuple(sorted(found, key=lambda item: (item.starts_at, item.find, item.what)))


def appointment_events(office: Office, site: Thing, with_: str = "") -> list[CalendarEvent]:
    """The appointments, all or those with one person, as calendar events that replace those of an earlier file."""
    return [
        CalendarEvent(
            uid=_uid(site.number, item.find, item.what),
            start=item.starts_at,
            end=item.starts_at + timedelta(hours=1),
            summary=f"{item.what.capitalize()} of find {item.find} with {item.with_}",
            description=f"{site.number}, {item.status}",
            sequence=item.no,
            cancelled=item.status == "cancelled",
            alarm_hours=18.0,
        )
        for item in appointments(office, site)
        if with_ in ("", item.with_)
    ]


def write_bookings(office: Office, site: Thing, answer: BookAnswer, path: Path) -> str:
    """The plan as a calendar file; importing a later one moves what was moved, and takes back what was cancelled.

    Raises
    ------
    BadInput : the file cannot be written.
    """
    stamp = office.now()
    number = {_uid(site.number, item.find, item.what): item.no for item in appointments(office, site)}
    made = {
        _uid(site.number, row.find, row.what): CalendarEvent(
            uid=_uid(site.number, row.find, row.what),
            start=row.starts_at,
            end=row.starts_at + timedelta(hours=row.hours),
            summary=f"{row.what.capitalize()} of find {row.find}" + (" LATE" if row.late_days else ""),
            description=_words(row.due, row.late_days, row.fixed),
            location=row.with_,
            sequence=number.get(_uid(site.number, row.find, row.what), 0),
            alarm_hours=18.0,
        )
        for row in answer.bookings
    }
    gone = [event for event in appointment_events(office, site) if event.cancelled and event.uid not in made]
    name = f"{site.number} bookings"
    data = write_calendar([*made.values(), *gone], name=name, zone=site.facts["zone"], stamp=stamp)
    return str(write_file(path, data))


def _uid(site: str, find: str, what: str) -> str:
    return stream_of("booking", site, f"{find} {what}").replace("/", "-").replace(" ", "-") + "@findhold"


def _words(due: datetime | None, late_days: float, fixed: bool) -> str:
    parts = ["fixed" if fixed else "planned"]
    if due is not None:
        parts.append(f"keep until {due:%a} {due.day} {due:%b} {due:%H:%M}")
    if late_days:
        parts.append(f"{late_days:g} days late")
    return "; ".join(parts)
