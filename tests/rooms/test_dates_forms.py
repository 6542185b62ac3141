"""Dates as people type them: every form, the order of day and month, clock changes, and what is refused."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.dates.forms import DAY_FIRST, MONTH_FIRST, YEAR_FIRST, read_dates
from findhold.dates.instants import for_people, iso, join_utc, parse_instant, split_utc, zone_named
from findhold.errors import BadInput, UnknownName

DAY = date(2026, 7, 29)
SUMMER = timezone(timedelta(hours=1))


@pytest.mark.parametrize(
    "text",
    [
        "2026-07-29",
        "2026/7/29",
        "29/07/2026",
        "29.07.2026",
        "29.7.26",
        "29-7-26",
        "29 July 2026",
        "29 Jul 26",
        "29th July 2026",
        "29. Juli 2026",
        "29 juillet 2026",
        "July 29, 2026",
        "Wed 29 Jul 2026",
        " 29-Jul-2026 ",
    ],
)
def test_each_form_of_a_day_is_read(text):
    assert read_dates([text], None).values == (DAY,)


@pytest.mark.parametrize(
    "text",
    [
        "2026-07-29 14:05",
        "2026-07-29T14:05:00",
        "29/07/2026 14:05",
        "29/07/2026 2.05pm",
        "29.07.2026, 14.05 Uhr",
        "29 July 2026 at 2:05 p.m.",
        "2026-07-29T13:05Z",
        "2026-07-29T15:05+02:00",
        "29/07/2026 13:05 UTC",
    ],
)
def test_each_form_of_a_time_is_the_same_instant(text):
    column = read_dates([text], "Europe/London")
    assert column.values == (datetime(2026, 7, 29, 14, 5, tzinfo=SUMMER),)
    assert column.bad == {}


def test_midday_and_midnight_with_am_and_pm():
    column = read_dates(["29/07/2026 12.00pm", "29/07/2026 12.00am", "29/07/2026 13pm"], "UTC")
    assert [value.hour for value in column.values[:2]] == [12, 0]
    assert "1 to 12" in column.bad[2]


def test_the_whole_column_decides_the_order_and_says_by_what():
    column = read_dates(["03/04/2026", "", "13/04/2026"], None)
    assert column.values == (date(2026, 4, 3), None, date(2026, 4, 13))
    assert column.order == DAY_FIRST
    assert "'13/04/2026'" in column.notes[0]
    assert read_dates(["03/04/2026", "04/13/2026"], None).values == (date(2026, 3, 4), date(2026, 4, 13))


def test_an_ambiguous_column_is_a_question_with_both_readings_and_never_a_guess():
    column = read_dates(["03/04/2026", "05/06/2026"], None)
    assert column.values == (None, None)
    assert column.choices == (DAY_FIRST, MONTH_FIRST)
    assert "Fri 3 Apr 2026" in column.question
    assert "Wed 4 Mar 2026" in column.question
    assert read_dates(["03/04/2026"], None, DAY_FIRST).values == (date(2026, 4, 3),)
    assert read_dates(["03/04/2026"], None, MONTH_FIRST).values == (date(2026, 3, 4),)


def test_a_column_that_mixes_two_orders_is_a_question_and_its_answer_marks_the_others_bad():
    column = read_dates(["13/03/2026", "03/14/2026"], None)
    assert "mixes" in column.question
    answered = read_dates(["13/03/2026", "03/14/2026"], None, DAY_FIRST)
    assert answered.values == (date(2026, 3, 13), None)
    assert list(answered.bad) == [1]


def test_years_of_two_digits_are_noted_and_old_ones_are_refused():
    column = read_dates(["29/7/26", "29/7/98"], None)
    assert column.values == (DAY, None)
    assert any("20yy" in note for note in column.notes)
    assert "1998 or 2098" in column.bad[1]


def test_a_column_that_may_begin_with_the_year_is_a_question():
    column = read_dates(["26-07-29", "26-07-30"], None)
    assert column.choices == (DAY_FIRST, YEAR_FIRST)
    assert read_dates(["26-07-29"], None, YEAR_FIRST).values == (DAY,)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("31/02/2026", "no day 31"),
        ("soon", "not a date"),
        ("Tue 29 Jul 2026", "weekday"),
        ("29 Jly 2026", "month"),
        ("29/07/2026 24:00", "next day"),
        ("29/07/2026 25:00", "no such time"),
        ("29/07/2026 14", "without minutes"),
        ("31/12/2026 23:59:60", "second 60"),
        ("25/10/2026 01:30", "happens twice"),
        ("29/03/2026 01:30", "does not exist"),
    ],
)
def test_what_cannot_be_read_says_why_and_what_to_write(text, says):
    column = read_dates([text], "Europe/London")
    assert column.values == (None,)
    assert says in column.bad[0]


def test_the_repeated_hour_is_offered_with_both_offsets_and_each_is_read_back():
    message = read_dates(["2026-10-25 01:30"], "Europe/London").bad[0]
    assert "2026-10-25T01:30+01:00" in message
    assert "2026-10-25T01:30+00:00" in message
    both = read_dates(["2026-10-25T01:30+01:00", "2026-10-25T01:30+00:00"], "Europe/London").values
    assert both[1] - both[0] == timedelta(hours=1)


def test_a_time_without_zone_asks_for_the_zone():
    assert "Europe/London" in read_dates(["29/07/2026 14:05"], None).bad[0]
    with pytest.raises(BadInput, match=r"2026-07-29T16:30\+01:00"):
        parse_instant("2026-07-29 16:30", "packed_at")


def test_unknown_zones_and_orders_offer_near_names():
    with pytest.raises(UnknownName, match="Europe/London"):
        read_dates([], "Europe/Londn")
    with pytest.raises(UnknownName, match="day first"):
        read_dates([], None, "day frst")
    with pytest.raises(BadInput, match="14:00"):
        zone_named("UTC+25:00")


def test_an_empty_column_is_empty():
    column = read_dates([], None)
    assert (column.values, column.question, column.bad) == ((), None, {})


def test_people_read_the_time_on_the_clock_of_the_zone():
    moment = parse_instant("2026-07-29T15:30Z")
    assert for_people(moment, "Europe/London") == "Wed 29 Jul 2026, 16:30"
    assert iso(moment) == "2026-07-29T15:30+00:00"


@settings(deadline=None)
@given(
    st.datetimes(min_value=datetime(2000, 1, 1), max_value=datetime(2060, 1, 1)).map(
        lambda d: d.replace(microsecond=0)
    ),
    st.integers(min_value=-14 * 60, max_value=14 * 60),
)
def test_utc_and_offset_give_the_instant_back(utc, minutes):
    seen = utc.replace(tzinfo=UTC).astimezone(timezone(timedelta(minutes=minutes)))
    assert split_utc(seen) == (utc.replace(tzinfo=UTC), minutes)
    assert join_utc(*split_utc(seen)).isoformat() == seen.isoformat()
    assert parse_instant(seen.isoformat()) == seen


@settings(deadline=None)
@given(st.lists(st.dates(min_value=date(2000, 1, 1), max_value=date(2068, 12, 31)), min_size=1, max_size=8))
def test_day_first_columns_come_back_or_are_asked(days):
    column = read_dates([f"{d.day}/{d.month}/{d.year}" for d in days], None)
    if column.question is None:
        assert column.values == tuple(days)
    else:
        assert all(d.day <= 12 for d in days)
        assert column.values == (None,) * len(days)
