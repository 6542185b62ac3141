"""Whether a hold is provided for across a closure: what it lacks against what the way that was chosen brings."""

from datetime import date, datetime, timedelta, timezone

import pytest

from findhold.check.over_closure import HoldDates, open_again, wait_over
from findhold.check.provided import Brings, Lack, enough, lack_of, provided
from findhold.dates.closures import Closure

ZONE = "Europe/London"
BST = timezone(timedelta(hours=1))
CLOSED = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown")
AGAIN = open_again(CLOSED, (), ZONE)
NOW = datetime(2026, 8, 3, 9, tzinfo=BST)
BEFORE, AFTER = AGAIN - timedelta(days=3), AGAIN + timedelta(hours=1)


def wait(keep_until, *, alarm="", open_at=None):
    dates = HoldDates(keep_until=keep_until, governing="growth on find", open_at=open_at, alarm=alarm)
    return wait_over(dates, CLOSED, AGAIN, now=NOW, zone=ZONE)


@pytest.mark.parametrize(
    ("verdict", "lack"),
    [
        (wait(BEFORE), Lack(ends=True)),
        (wait(AFTER), Lack()),
        (wait(None), Lack(unknown=True)),
        # Past its limit, or something seen: no measure brings back what was, only an opening helps.
        (wait(NOW - timedelta(days=1)), Lack(ends=True, opened_only=True)),
        (wait(AFTER, alarm="mould"), Lack(ends=True, opened_only=True)),
    ],
)
def test_what_a_hold_lacks_follows_from_its_verdict(verdict, lack):
    assert lack_of(verdict) == lack


def test_a_hold_that_nobody_can_look_at_lacks_that_look():
    days = (date(2026, 8, 14),)
    assert lack_of(wait(AFTER), days) == Lack(unchecked=days)
    assert not lack_of(wait(AFTER), days).nothing


@pytest.mark.parametrize(
    ("brings", "is_enough"),
    [
        (Brings(ends_hold=True), True),
        (Brings(secures=True), True),
        (Brings(looked_at=True), False),
        (Brings(keep_until=BEFORE), False),
        (Brings(keep_until=AGAIN), True),
        (Brings(keep_until=AFTER), True),
    ],
)
def test_a_limit_that_comes_too_early_wants_an_opening_the_residue_or_a_later_limit(brings, is_enough):
    assert enough(Lack(ends=True), brings, AGAIN) is is_enough


@pytest.mark.parametrize("brings", [Brings(keep_until=AFTER), Brings(looked_at=True), Brings(secures=True)])
def test_past_its_limit_only_an_opening_is_enough(brings):
    lack = Lack(ends=True, opened_only=True)
    assert not enough(lack, brings, AGAIN)
    assert enough(lack, Brings(ends_hold=True), AGAIN)


def test_a_check_that_nobody_makes_is_made_good_by_somebody_who_comes_and_not_by_a_later_limit():
    lack = Lack(unchecked=(date(2026, 8, 14),))
    assert not enough(lack, Brings(keep_until=AFTER), AGAIN)
    assert enough(lack, Brings(looked_at=True), AGAIN)
    assert not enough(Lack(unknown=True), Brings(looked_at=True), AGAIN)


def test_a_way_that_is_too_short_is_told_with_the_days_it_lacks():
    told = provided(Lack(ends=True), Brings(keep_until=BEFORE), AGAIN, done=False, zone=ZONE)
    assert (told.state, told.enough, told.short_days) == ("short", False, 3.0)
    assert "Fri 21 Aug" in told.why


@pytest.mark.parametrize(
    ("lack", "chosen", "done", "state"),
    [
        (Lack(), None, False, "waits"),
        (Lack(ends=True), None, False, "open"),
        (Lack(ends=True), Brings(ends_hold=True), False, "chosen"),
        (Lack(ends=True), Brings(ends_hold=True), True, "done"),
        # Done, and still not enough: that it was done changes nothing.
        (Lack(ends=True), Brings(keep_until=BEFORE), True, "short"),
    ],
)
def test_open_chosen_done_and_short_are_told_apart(lack, chosen, done, state):
    assert provided(lack, chosen, AGAIN, done=done, zone=ZONE).state == state


def test_an_opening_planned_for_the_closed_days_is_told():
    told = wait(AFTER + timedelta(days=9), open_at=datetime(2026, 8, 12, 9, tzinfo=BST))
    assert told.word == "can wait, opening falls in it"
    assert "Wed 12 Aug, when nobody is there" in told.why
