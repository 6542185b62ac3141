"""The days on which each check may be made, what was missed, and who is told of it."""

from datetime import date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.check.rounds import check_dates, unattended
from findhold.check.visits.missed import MissedBox, escalate, worst_first
from findhold.check.visits.windows import BETWEEN, LAST_LOOK, UNSETTLED, BoxDays, CheckDay, check_windows
from findhold.dates.closures import Closure, WorkingCalendar

SUMMER = timezone(timedelta(hours=1))
NOW = datetime(2026, 8, 3, 8, 30, tzinfo=SUMMER)
SHUTDOWN = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown")


def at(month, day, hour=9):
    return datetime(2026, month, day, hour, tzinfo=SUMMER)


def box(*checks, **facts):
    days = tuple(CheckDay(at=when, reason=reason) for when, reason in checks)
    return BoxDays(**{"box_id": "WCR26-B1-U", "store": "Fridge 1", "checks": days, **facts})


def windows(one, until=date(2026, 9, 30)):
    return check_windows(one, now=NOW, until=until)


@pytest.mark.parametrize(
    ("reason", "first"),
    [
        ("the day after packing", 12),
        ("first week, every 2 to 3 days", 11),
        ("every 7 days", 10),
        ("last open day before works shutdown", 11),
        ("first open day after works shutdown", 12),
    ],
)
def test_a_check_may_be_early_by_its_kind_and_never_late(reason, first):
    # Table check_rounds.csv: 1 day in the first week, 2 days weekly, 1 day before a closure, 0 else.
    (window,) = windows(box((at(8, 12), reason)))
    assert (window.earliest, window.latest) == (date(2026, 8, first), date(2026, 8, 12))


def test_checks_missed_are_one_for_today():
    found = windows(box((at(7, 29), "a"), (at(7, 31), "b"), (at(8, 3), "c"), (at(8, 10), "every 7 days")))
    assert [(one.earliest, one.missed) for one in found] == [(date(2026, 8, 3), True), (date(2026, 8, 8), False)]
    assert found[0].reason == "2 checks missed"


def test_what_was_weighed_since_is_not_missed():
    found = windows(box((at(7, 29), "a"), (at(7, 31), "b"), checked_at=at(7, 31, 16)))
    assert found == ()


def test_a_reading_that_waits_and_what_was_seen_ask_for_a_look_today():
    (again,) = windows(box(checked_at=at(8, 2), unsettled=True))
    assert (again.reason, again.latest) == (UNSETTLED, NOW.date())
    (seen,) = windows(box(checked_at=at(8, 2), alarm="mould"))
    assert seen.reason == "mould was seen"
    assert windows(box(checked_at=at(8, 3, 8), alarm="mould")) == ()


def test_no_check_that_can_be_made_before_the_limit_is_put_after_it():
    # Due on the 12th, may be made from the 10th; the limit is the 11th.
    (window,) = windows(box((at(8, 12), "every 7 days"), keep_until=at(8, 11)))
    assert (window.earliest, window.latest) == (date(2026, 8, 10), date(2026, 8, 11))


def test_a_last_look_is_asked_for_before_the_limit_where_nothing_else_is_due():
    (window,) = windows(box(keep_until=at(8, 20)))
    assert (window.reason, window.earliest, window.latest) == (LAST_LOOK, date(2026, 8, 18), date(2026, 8, 20))
    assert windows(box(keep_until=at(8, 20), open_at=at(8, 19))) == ()


def test_weekly_checks_left_out_over_a_closure_are_asked_for_again():
    # The rule reports the same days as unattended: 14 and 21 August.
    packed, opening = at(7, 29, 16), at(9, 2)
    made = check_dates(packed_at=packed, until=opening, zone="Europe/London", closed=[SHUTDOWN])
    found = windows(box(*((one.at, one.reason) for one in made), open_at=opening, checked_at=at(8, 3, 8)))
    between = [one.latest for one in found if one.reason == BETWEEN]
    (gap,) = unattended(packed_at=packed, until=opening, zone="Europe/London", closed=[SHUTDOWN])
    assert tuple(between) == gap.due == (date(2026, 8, 14), date(2026, 8, 21))


def test_a_closure_that_names_who_comes_keeps_the_weekly_checks():
    named = Closure(first_day=SHUTDOWN.first_day, last_day=SHUTDOWN.last_day, reason="works", who="Idris Penhale")
    asked = {"packed_at": at(7, 29, 16), "until": at(9, 2), "zone": "Europe/London", "closed": [named]}
    inside = [one for one in check_dates(**asked) if named.holds(one.at.date())]
    assert [one.at.date() for one in inside] == [date(2026, 8, 14), date(2026, 8, 21)]
    assert all(one.needs_duty_holder for one in inside)
    assert unattended(**asked) == ()


@given(st.lists(st.integers(-20, 40), max_size=8, unique=True), st.integers(-5, 40), st.integers(-20, 0))
def test_every_window_lies_from_today_to_its_due_day_and_none_is_lost(offsets, limit, checked):
    today = NOW.date()
    planned = sorted(today + timedelta(days=n) for n in offsets)
    days = tuple((datetime(d.year, d.month, d.day, 9, tzinfo=SUMMER), "every 7 days") for d in planned)
    keep = NOW + timedelta(days=limit)
    one = box(*days, keep_until=keep, checked_at=NOW + timedelta(days=checked, hours=-1))
    found = windows(one)
    assert all(today <= window.earliest <= window.latest for window in found)
    ahead = [day for day in planned if day > today]
    assert {window.due for window in found} >= set(ahead)
    for window in found:
        if window.reason == "every 7 days":
            assert window.latest <= window.due
            assert window.latest <= keep.date() or window.earliest > keep.date() or keep.date() < today


OPEN = WorkingCalendar()


def missed(*days, **facts):
    return MissedBox(**{"box_id": "WCR26-B1-U", "alarm": "", "keep_until": at(9, 20), "missed": days, **facts})


@pytest.mark.parametrize(
    ("day", "tell", "then"),
    # Due on Friday 31 July: working days after it are Monday 3, Tuesday 4 and Wednesday 5 August.
    [(1, "duty", 3), (3, "cover", 4), (4, "officer", 5), (5, "conservator", None), (9, "conservator", None)],
)
def test_a_missed_round_is_told_further_after_each_working_day(day, tell, then):
    found = escalate([missed(date(2026, 7, 31))], OPEN, at(8, day))
    assert found.now.tell == tell
    assert (found.then.on if found.then else None) == (date(2026, 8, then) if then else None)


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        ({"alarm": "mould"}, "mould was seen"),
        ({"keep_until": at(8, 1)}, "has passed"),
        ({"keep_until": at(8, 3, 20)}, "is near"),
    ],
)
def test_what_was_seen_and_a_limit_near_go_to_the_last_step_at_once(facts, why):
    found = escalate([missed(date(2026, 7, 31), **facts)], OPEN, at(8, 2))
    assert found.now.tell == "conservator"
    assert why in found.hurried


def test_the_worst_box_is_the_one_seen_amiss_then_the_nearest_limit():
    a = missed(date(2026, 7, 31), box_id="a")
    b = missed(date(2026, 7, 31), box_id="b", keep_until=at(8, 10))
    c = missed(date(2026, 8, 1), box_id="c", alarm="dripping", keep_until=at(9, 30))
    assert [one.box_id for one in sorted([a, b, c], key=worst_first)] == ["c", "b", "a"]


def test_nothing_missed_is_told_to_nobody():
    with pytest.raises(ValueError, match="nothing was missed"):
        escalate([missed()], OPEN, NOW)
