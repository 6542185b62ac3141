"""Working-day arithmetic: inverses, order and merged closures."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.dates.closures import Closure, WorkingCalendar, closed_days, merge_closures
from findhold.errors import BadInput

DAYS = st.dates(min_value=date(2025, 1, 1), max_value=date(2027, 12, 31))
CLOSURES = st.lists(
    st.builds(
        lambda first, length: Closure(first_day=first, last_day=first + timedelta(days=length), reason="closed"),
        DAYS,
        st.integers(min_value=0, max_value=20),
    ),
    max_size=6,
)


@settings(deadline=None)
@given(DAYS, st.integers(min_value=1, max_value=60), CLOSURES)
def test_counting_the_days_added_gives_their_number(day, n, closures):
    calendar = WorkingCalendar(closures=tuple(closures))
    later = calendar.add(day, n)
    assert calendar.is_open(later)
    assert calendar.count(day, later) == n
    earlier = calendar.add(day, -n)
    assert calendar.count(earlier - timedelta(days=1), day - timedelta(days=1)) == n


@settings(deadline=None)
@given(CLOSURES)
def test_merging_closures_keeps_every_closed_day_and_leaves_an_open_day_between(closures):
    merged = merge_closures(closures)
    assert closed_days(merged) == closed_days(closures)
    assert all(b.first_day > a.last_day + timedelta(days=1) for a, b in pairwise(merged))


def test_merged_closures_keep_both_reasons():
    one = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="shutdown")
    two = Closure(first_day=date(2026, 8, 20), last_day=date(2026, 8, 31), reason="move")
    assert merge_closures([two, one])[0].reason == "shutdown; move"


def test_a_closure_that_ends_before_it_begins_is_refused():
    with pytest.raises(BadInput, match="before it begins"):
        Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 7), reason="shutdown")


def test_a_place_that_never_opens_is_an_error_and_not_a_hang():
    with pytest.raises(BadInput, match="no open day"):
        WorkingCalendar(weekdays=frozenset()).on_or_after(date(2026, 1, 1))
