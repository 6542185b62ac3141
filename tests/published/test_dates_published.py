"""Instants, working days and the calendar file against printed examples and independent readers."""

import io
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import vobject
from dateutil.tz import tzical

from findhold.dates.calendar_file import CalendarEvent, write_calendar
from findhold.dates.closures import Closure, WorkingCalendar
from findhold.dates.forms import read_dates
from findhold.dates.instants import parse_instant
from findhold.errors import BadInput

STAMP = datetime(2026, 7, 29, 12, 0, tzinfo=UTC)


def test_the_printed_examples_of_rfc_3339_are_read_to_the_instant(authority):
    for row in authority("records_rfc3339_examples.csv"):
        expected = datetime.fromisoformat(row["utc"])
        assert parse_instant(row["text"]) == expected, row["text"]
        assert read_dates([row["text"]], None).values == (expected,), row["text"]


def test_the_leap_second_of_rfc_3339_is_refused_with_what_to_write():
    # RFC 3339 section 5.8: 1990-12-31T23:59:60Z is legal; clocks here do not count it.
    with pytest.raises(BadInput, match="second 60"):
        parse_instant("1990-12-31T23:59:60Z")
    assert "second 60" in read_dates(["1990-12-31T23:59:60Z"], None).bad[0]


def test_working_days_over_christmas_and_easter_are_as_computed_by_hand(authority):
    for row in authority("records_working_days.csv"):
        days = [date.fromisoformat(day) for day in row["closed"].split()]
        calendar = WorkingCalendar(closures=tuple(Closure(first_day=d, last_day=d, reason="holiday") for d in days))
        start, expected = date.fromisoformat(row["start"]), date.fromisoformat(row["expected"])
        assert calendar.add(start, int(row["working_days"])) == expected
        assert calendar.count(start, expected) == int(row["working_days"])


def test_the_holidays_of_england_in_2026_leave_253_working_days():
    # 2026 has 261 weekdays, and its eight holidays (Saturday 26 December moved to the 28th) all fall on weekdays.
    printed = [(1, 1), (4, 3), (4, 6), (5, 4), (5, 25), (8, 31), (12, 25), (12, 28)]
    holidays = [date(2026, month, day) for month, day in printed]
    calendar = WorkingCalendar(closures=tuple(Closure(first_day=d, last_day=d, reason="holiday") for d in holidays))
    assert calendar.count(date(2025, 12, 31), date(2026, 12, 31)) == 261 - 8


def _sample(zone: str) -> bytes:
    rules = ZoneInfo(zone)
    return write_calendar(
        [
            CalendarEvent(
                uid="wcr26-b014-check-1@findhold",
                start=datetime(2026, 7, 30, 9, tzinfo=rules),
                end=datetime(2026, 7, 30, 9, 15, tzinfo=rules),
                summary="Check WCR26 37; box B-014, äöü – ☂",
                description="Weigh the closed box, cold and wiped dry.\nLook: dry, right, dripping; mould.\\ " * 3,
                location="Fridge 1, finds room",
                sequence=2,
                alarm_hours=1.5,
            ),
            CalendarEvent(
                uid="wcr26-closed@findhold", start=date(2026, 8, 8), end=date(2026, 8, 23), summary="Works shutdown"
            ),
            CalendarEvent(
                uid="wcr26-winter@findhold", start=datetime(2026, 12, 1, 9, tzinfo=rules), end=None, summary="Winter"
            ),
        ],
        name="Withy Carr",
        zone=zone,
        stamp=STAMP,
    )


def test_lines_end_in_cr_lf_and_hold_at_most_75_octets():
    # RFC 5545 section 3.1.
    raw = _sample("Europe/London")
    assert raw.endswith(b"\r\n")
    lines = raw.split(b"\r\n")
    assert all(len(line) <= 75 for line in lines)
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    assert any(line.startswith(b" ") for line in lines)
    raw.decode("utf-8")


def test_an_independent_reader_finds_every_event_as_it_was_given():
    read = vobject.readOne(_sample("Europe/London").decode("utf-8"))
    check, closed, _ = read.vevent_list
    assert check.uid.value == "wcr26-b014-check-1@findhold"
    assert check.sequence.value == "2"
    assert check.summary.value == "Check WCR26 37; box B-014, äöü – ☂"
    assert (
        check.description.value
        == "Weigh the closed box, cold and wiped dry.\nLook: dry, right, dripping; mould.\\ " * 3
    )
    assert check.location.value == "Fridge 1, finds room"
    assert check.dtstart.value.astimezone(UTC) == datetime(2026, 7, 30, 8, tzinfo=UTC)
    assert check.valarm.trigger.value == timedelta(hours=-1.5)
    assert closed.dtstart.value == date(2026, 8, 8)
    assert closed.dtend.value == date(2026, 8, 24), "RFC 5545 section 3.6.1: the end of whole days is not included"


@pytest.mark.parametrize(
    "zone", ["Europe/London", "Europe/Berlin", "Europe/Dublin", "Australia/Lord_Howe", "America/St_Johns", "Asia/Tokyo"]
)
def test_the_zone_rules_in_the_file_give_the_offsets_of_the_zone_database(zone):
    # python-dateutil reads the VTIMEZONE by the standard's rules; expected offsets are the zone database's.
    text = _sample(zone).decode("utf-8")
    rules_text = text[text.index("BEGIN:VTIMEZONE") : text.index("END:VTIMEZONE")] + "END:VTIMEZONE\r\n"
    ours, rules = tzical(io.StringIO(rules_text)).get(), ZoneInfo(zone)
    halves = [datetime(2026, 1, 1) + timedelta(minutes=30 * n + 7) for n in range(2 * 24 * 365)]
    plain = [half for half in halves if len({half.replace(tzinfo=rules, fold=f).utcoffset() for f in (0, 1)}) == 1]
    assert len(plain) >= len(halves) - 8
    assert all(half.replace(tzinfo=rules).utcoffset() == half.replace(tzinfo=ours).utcoffset() for half in plain)


def test_the_spring_onset_is_the_clock_time_before_the_change():
    # RFC 5545 section 3.6.5: onsets are local times of the offset before. British Summer Time 2026 begins on the last
    # Sunday of March, 29 March, at 01:00 GMT; it ends on 25 October at 02:00 summer time.
    text = _sample("Europe/London").decode("utf-8")
    assert "20260329T010000" in text
    assert "20261025T020000" in text
