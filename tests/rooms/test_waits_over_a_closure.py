"""Which holds can wait until a closure is over: the works shutdown of the demo, 8 to 23 August 2026."""

from datetime import date, datetime, timedelta, timezone

import pytest

from findhold.check.over_closure import HoldDates, last_open_day, open_again, wait_over
from findhold.dates.closures import Closure

BST = timezone(timedelta(hours=1))
ZONE = "Europe/London"
SHUTDOWN = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown")
MONDAY = Closure(first_day=date(2026, 8, 24), last_day=date(2026, 8, 24), reason="one day more")
NOW = datetime(2026, 8, 3, 9, 0, tzinfo=BST)
AGAIN = datetime(2026, 8, 24, 9, 0, tzinfo=BST)


def day(number, hour=9, month=8):
    return datetime(2026, month, number, hour, tzinfo=BST)


def seen(until, opens=None, alarm=""):
    dates = HoldDates(keep_until=until, governing="growth on wrapping", open_at=opens, alarm=alarm)
    return wait_over(dates, SHUTDOWN, AGAIN, now=NOW, zone=ZONE)


def test_somebody_is_there_again_on_the_first_open_day_at_nine():
    assert open_again(SHUTDOWN, (), ZONE) == AGAIN
    assert open_again(SHUTDOWN, (MONDAY,), ZONE) == day(25)


def test_the_last_open_day_before_is_no_weekend():
    assert last_open_day(SHUTDOWN, ()) == date(2026, 8, 7)
    assert last_open_day(MONDAY, (SHUTDOWN,)) == date(2026, 8, 7)


@pytest.mark.parametrize(
    ("until", "opens", "can", "kind", "word"),
    [
        (day(1), None, False, "act", "kept too long"),
        (day(7), None, False, "act", "cannot wait"),
        (day(7), day(26), False, "act", "cannot wait"),
        # An opening planned before the closure, but after the keep-until date, saves nothing.
        (day(4), day(6), False, "act", "cannot wait"),
        (day(9), day(7), True, "right", "opened before"),
        # An opening in the closure, or in the past, is none.
        (day(20), day(12), False, "act", "cannot wait"),
        (day(20), day(1), False, "act", "cannot wait"),
        (AGAIN - timedelta(seconds=1), None, False, "act", "cannot wait"),
        (AGAIN, None, True, "watch", "can wait"),
        (day(30), day(26), True, "right", "can wait"),
        (day(27), day(2, month=9), True, "watch", "can wait, opening too late"),
        (None, None, None, "watch", "not forecast"),
    ],
)
def test_the_verdict_follows_the_recorded_dates(until, opens, can, kind, word):
    found = seen(until, opens)
    assert (found.can_wait, found.kind, found.word) == (can, kind, word)


def test_what_was_seen_comes_before_any_date():
    found = seen(day(30), day(26), alarm="mould")
    assert (found.can_wait, found.kind, found.word) == (False, "act", "mould seen")
    assert "Mould was seen" in found.why


def test_the_reason_names_limit_and_days():
    assert seen(day(7)).why == "Growth on wrapping ends it on Fri 7 Aug; somebody is there again on Mon 24 Aug."
