"""Days of the checks: the rules of fridge practice round the closures of Withy Carr."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.check.rounds import Closure, HoldInCalendar, RoundRules, check_dates, events, unattended
from findhold.errors import BadInput

ZONE = "Europe/London"
SHUTDOWN = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown")
PACKED = datetime.fromisoformat("2026-07-29T16:30+01:00")
OPENING = datetime.fromisoformat("2026-09-02T10:00+01:00")


def days(**changes):
    asked = {"packed_at": PACKED, "until": OPENING, "zone": ZONE, "closed": [SHUTDOWN], **changes}
    return [check.at.date() for check in check_dates(**asked)]


def test_withy_carr_is_checked_after_a_day_in_the_first_week_and_on_both_sides_of_the_shutdown():
    # Rule: pack + 1 day, every 2 to 3 days in the first week, then weekly, before and after any closure. Packed on a
    # Wednesday; a check due on Sunday is made on Friday; Thursday 6 August is merged with the last open day before.
    assert days() == [
        date(2026, 7, 30),
        date(2026, 7, 31),
        date(2026, 8, 3),
        date(2026, 8, 7),
        date(2026, 8, 24),
        date(2026, 8, 31),
    ]


def test_every_day_open_gives_the_plain_rule():
    every_day = RoundRules(weekdays=frozenset(range(7)))
    offsets = [(day - PACKED.date()).days for day in days(closed=[], rules=every_day)]
    assert offsets == [1, 4, 7, 14, 21, 28]


def test_a_duty_holder_keeps_the_weekly_checks_going_and_they_are_marked():
    checks = check_dates(
        packed_at=PACKED, until=OPENING, zone=ZONE, closed=[SHUTDOWN], rules=RoundRules(duty_holder=True)
    )
    inside = [check for check in checks if SHUTDOWN.holds(check.at.date())]
    assert [check.at.date() for check in inside] == [date(2026, 8, 14), date(2026, 8, 21)]
    assert all(check.needs_duty_holder for check in inside)
    assert not any(check.needs_duty_holder for check in checks if check not in inside)


def test_a_closure_with_checks_due_and_nobody_there_is_reported():
    (gap,) = unattended(packed_at=PACKED, until=OPENING, zone=ZONE, closed=[SHUTDOWN])
    assert gap.due == (date(2026, 8, 14), date(2026, 8, 21))
    assert gap.days_between_checks == 17
    with_keys = RoundRules(duty_holder=True)
    assert unattended(packed_at=PACKED, until=OPENING, zone=ZONE, closed=[SHUTDOWN], rules=with_keys) == ()


def test_a_hold_that_ends_inside_a_closure_is_reported_too():
    (gap,) = unattended(packed_at=PACKED, until=datetime(2026, 8, 20, 12, tzinfo=UTC), zone=ZONE, closed=[SHUTDOWN])
    assert gap.due == (date(2026, 8, 14),)


def test_a_hold_that_ends_before_the_closure_is_not_reported():
    assert unattended(packed_at=PACKED, until=datetime(2026, 8, 5, 12, tzinfo=UTC), zone=ZONE, closed=[SHUTDOWN]) == ()


def test_the_hour_is_the_clock_of_the_store_on_both_sides_of_a_clock_change():
    start = datetime.fromisoformat("2026-10-20T12:00+01:00")
    checks = check_dates(packed_at=start, until=start + timedelta(days=14), zone=ZONE, closed=[], hour=9)
    assert {check.at.hour for check in checks} == {9}
    assert {check.at.utcoffset() for check in checks} == {timedelta(hours=1), timedelta(0)}


def test_the_end_must_come_after_packing():
    with pytest.raises(BadInput, match="not after packing"):
        days(until=PACKED)
    with pytest.raises(BadInput, match="no time zone"):
        days(packed_at=datetime(2026, 7, 29, 16, 30))
    with pytest.raises(BadInput, match="not an hour"):
        days(hour=24)


def test_rules_that_do_not_fit_together_are_refused():
    with pytest.raises(BadInput, match="fit together"):
        RoundRules(first_week_least_gap_days=4, first_week_most_gap_days=3)


@settings(deadline=None)
@given(
    st.integers(min_value=0, max_value=400),
    st.integers(min_value=1, max_value=90),
    st.booleans(),
    st.lists(st.tuples(st.integers(min_value=0, max_value=480), st.integers(min_value=0, max_value=25)), max_size=4),
)
def test_checks_rise_stay_inside_the_hold_and_are_never_on_a_closed_day_without_duty_holder(start, length, duty, spans):
    packed = PACKED + timedelta(days=start)
    closed = [
        Closure(
            first_day=(PACKED + timedelta(days=a)).date(), last_day=(PACKED + timedelta(days=a + n)).date(), reason="c"
        )
        for a, n in spans
    ]
    rules = RoundRules(duty_holder=duty)
    until = packed + timedelta(days=length)
    checks = check_dates(packed_at=packed, until=until, zone=ZONE, closed=closed, rules=rules)
    made = [check.at.date() for check in checks]
    assert made == sorted(set(made))
    assert all(packed.date() < day < until.date() for day in made)
    for check in checks:
        shut = any(closure.holds(check.at.date()) for closure in closed)
        assert check.needs_duty_holder == shut
        assert duty or not shut
        assert check.at.weekday() < 5
    if not closed:
        whole = [packed.date(), *made, until.date()]
        assert all((b - a).days <= rules.later_gap_days + rules.merge_days for a, b in pairwise(whole))


def test_events_keep_their_identity_when_dates_move_and_withdraw_what_is_no_longer_planned():
    checks = check_dates(packed_at=PACKED, until=OPENING, zone=ZONE, closed=[SHUTDOWN])
    asked = {"key": "b014", "what": "WCR26 37, box B-014", "location": "Fridge 1", "zone": ZONE}
    first = events(checks, HoldInCalendar(opening=OPENING, **asked))
    again = events(checks[:3], HoldInCalendar(opening=OPENING, sequence=1, previously=len(checks), **asked))
    assert {event.uid for event in first} == {event.uid for event in again}
    assert [event.uid for event in again if event.cancelled] == [f"b014-check-{n}@findhold" for n in (4, 5, 6)]
    assert {event.sequence for event in again} == {1}


def test_an_event_tells_why_and_what_to_expect():
    checks = check_dates(packed_at=PACKED, until=OPENING, zone=ZONE, closed=[SHUTDOWN])
    hold = HoldInCalendar(
        key="b014",
        what="WCR26 37",
        location="Fridge 1",
        zone=ZONE,
        opening=OPENING,
        opening_note="With the residue specialist.",
        band_lines={checks[0].at: "Expected 6.412 to 6.420 kg."},
    )
    planned = events(checks, hold)
    assert "the day after packing" in planned[0].description
    assert "Expected 6.412 to 6.420 kg." in planned[0].description
    assert "Wed 2 Sep 2026, 10:00" in planned[-1].description
    assert "residue specialist" in planned[-1].description
