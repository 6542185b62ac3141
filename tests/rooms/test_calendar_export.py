"""What the calendar file refuses, and that exporting again updates."""

from datetime import UTC, date, datetime

import pytest
import vobject

from findhold.dates.calendar_file import CalendarEvent, write_calendar
from findhold.errors import BadInput

STAMP = datetime(2026, 7, 29, 12, tzinfo=UTC)
START = datetime(2026, 7, 30, 9, tzinfo=UTC)


def event(**changes):
    return CalendarEvent(**{"uid": "a@findhold", "start": START, "end": None, "summary": "Check", **changes})


def written(*events, zone="Europe/London"):
    return write_calendar(events, name="Withy Carr", zone=zone, stamp=STAMP)


def test_the_same_events_give_the_same_bytes():
    assert written(event(), event(uid="b@findhold")) == written(event(), event(uid="b@findhold"))


def test_a_withdrawn_event_says_so_and_rings_no_alarm():
    read = vobject.readOne(written(event(cancelled=True, sequence=3, alarm_hours=1)).decode())
    assert read.vevent.status.value == "CANCELLED"
    assert "valarm" not in read.vevent.contents


def test_a_fixed_offset_is_written_in_utc_without_zone_rules():
    text = written(event(), zone="UTC+01:00").decode()
    assert "DTSTART:20260730T090000Z" in text
    assert "VTIMEZONE" not in text


@pytest.mark.parametrize(
    ("events", "says"),
    [
        ([event(), event()], "identity"),
        ([event(uid=" ")], "no identity"),
        ([event(end=datetime(2026, 7, 30, 8, tzinfo=UTC))], "ends before"),
        ([event(start=datetime(2026, 7, 30, 9))], "no time zone"),
        ([event(end=date(2026, 7, 31))], "whole day"),
    ],
)
def test_events_that_no_calendar_could_hold_are_refused(events, says):
    with pytest.raises(BadInput, match=says):
        written(*events)
