"""A planned check is made by a weighing on its day; what was missed is the same for the answer and for the sheet."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from findhold.service.checks_made import days_weighed, missed_before, missed_days

LONDON = ZoneInfo("Europe/London")


def facts(*weighed):
    checks = [{"at": f"2026-08-0{day}T09:00:00+01:00"} for day in (1, 2, 3, 4, 5)]
    rows = [{"at": text, "mass_kg": number} for number, text in enumerate(weighed)]
    return {"packed_at": "2026-08-01T08:00:00+01:00", "forecast": {"checks": checks}, "weighings": rows}


def days(*numbers):
    return tuple(date(2026, 8, number) for number in numbers)


def test_a_weighing_on_a_later_day_makes_up_for_checks_and_leaves_them_missed():
    told = facts("2026-08-03T17:00:00+01:00")
    assert missed_days(told, LONDON) == days(2, 4, 5)
    assert missed_before(told, datetime(2026, 8, 5, 9, tzinfo=LONDON)) == days(4)
    assert missed_before(facts(), datetime(2026, 8, 5, 9, tzinfo=LONDON)) == days(2, 3, 4)


def test_the_day_is_the_sites_day():
    told = facts("2026-08-02T23:30:00+00:00")
    assert list(days_weighed(told, LONDON)) == list(days(3))
    assert list(days_weighed(told, UTC)) == list(days(2))


def test_a_weighing_put_before_all_others_tells_of_nothing_missed():
    assert missed_before(facts("2026-08-04T09:00:00+01:00"), datetime(2026, 8, 3, 9, tzinfo=LONDON)) == ()
