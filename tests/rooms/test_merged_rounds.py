"""Checks merged into visits: as few as enumeration finds, within their days, never when nobody comes."""

from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.check.visits.merged import Window, merge_checks
from findhold.errors import BadInput

MONDAY = date(2026, 8, 3)


def day(offset):
    return MONDAY + timedelta(days=offset)


def window(box, first, last, store="Fridge 1"):
    return Window(box_id=box, store=store, due=day(last), earliest=day(first), latest=day(last))


def always(_store, _day):
    return "Idris"


def fewest_by_enumeration(checks, comes):
    """The size of the smallest set of (day, person) that makes every check that can be made."""
    points = {}
    for check in checks:
        days = [check.earliest + timedelta(days=n) for n in range((check.latest - check.earliest).days + 1)]
        points[check] = {(one, comes(check.store, one)) for one in days if comes(check.store, one) is not None}
    wanted = [found for found in points.values() if found]
    every = sorted(set().union(*wanted)) if wanted else []
    for size in range(len(every) + 1):
        for chosen in combinations(every, size):
            if all(found & set(chosen) for found in wanted):
                return size
    raise AssertionError("the whole set always does")


def test_three_boxes_with_a_day_in_common_are_one_visit_on_the_last_day_that_serves_all():
    merged = merge_checks([window("B1", 0, 2), window("B2", 1, 3), window("B3", 2, 5)], always, MONDAY)
    (visit,) = merged.visits
    assert visit.day == day(2)
    assert [check.box_id for check in visit.checks] == ["B1", "B2", "B3"]


def test_two_stores_of_one_person_are_one_visit_and_of_two_persons_two():
    checks = [window("B1", 0, 2), window("B2", 0, 2, store="Cool room")]
    assert len(merge_checks(checks, always, MONDAY).visits) == 1
    each = {"Fridge 1": "Idris", "Cool room": "Marian"}
    assert len(merge_checks(checks, lambda store, _: each[store], MONDAY).visits) == 2


def test_a_check_is_never_put_on_a_day_when_nobody_comes_and_is_told_with_the_nearest_days():
    def comes(_store, when):
        return "Idris" if when.weekday() < 5 else None

    merged = merge_checks([window("B1", 5, 6)], comes, MONDAY)  # Saturday and Sunday
    assert merged.visits == ()
    (lost,) = merged.not_made
    assert (lost.before, lost.after) == ((day(4), "Idris"), (day(7), "Idris"))


def test_what_was_missed_is_made_today():
    late = Window(box_id="B1", store="Fridge 1", due=day(-3), earliest=day(-4), latest=day(-3), missed=True)
    (visit,) = merge_checks([late], always, MONDAY).visits
    assert visit.day == MONDAY


def test_a_window_that_ends_before_it_begins_is_refused():
    with pytest.raises(BadInput, match="no day"):
        window("B1", 3, 2)


WINDOWS = st.lists(
    st.tuples(st.integers(0, 8), st.integers(0, 4), st.sampled_from(["a", "b", "c"])), min_size=1, max_size=7
)


@given(WINDOWS, st.sets(st.integers(0, 13), max_size=6))
def test_one_store_takes_as_few_visits_as_enumeration_finds(spans, shut):
    checks = [window(f"B{n}", first, first + long) for n, (first, long, _) in enumerate(spans)]

    def comes(_store, when):
        return None if (when - MONDAY).days in shut else "Idris"

    merged = merge_checks(checks, comes, MONDAY)
    assert len(merged.visits) == fewest_by_enumeration(checks, comes)


@given(WINDOWS, st.lists(st.sampled_from(["x", "y", None]), min_size=39, max_size=39))
def test_several_stores_and_people_take_as_few_visits_as_enumeration_finds(spans, people):
    checks = [window(f"B{n}", first, first + long, store) for n, (first, long, store) in enumerate(spans)]

    def comes(store, when):
        offset = (when - MONDAY).days
        return people["abc".index(store) * 13 + offset] if 0 <= offset < 13 else None

    merged = merge_checks(checks, comes, MONDAY)
    assert len(merged.visits) == fewest_by_enumeration(checks, comes)
    made = [check for visit in merged.visits for check in visit.checks]
    assert sorted(check.box_id for check in [*made, *(lost.check for lost in merged.not_made)]) == sorted(
        check.box_id for check in checks
    )
    for visit in merged.visits:
        for check in visit.checks:
            assert check.earliest <= visit.day <= check.latest
            assert comes(check.store, visit.day) == visit.who
    for lost in merged.not_made:
        days = (lost.check.latest - lost.check.earliest).days
        assert all(comes(lost.check.store, lost.check.earliest + timedelta(days=n)) is None for n in range(days + 1))
