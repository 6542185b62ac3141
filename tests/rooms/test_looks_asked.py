"""Looks asked for beside the planned checks: after a failure of the store, and after something was seen amiss."""

from datetime import datetime
from zoneinfo import ZoneInfo

from findhold.check.rounds import LOOK, Check, looks_asked, with_looks

LONDON = "Europe/London"


def at(text):
    return datetime.fromisoformat(f"2026-08-{text}").replace(tzinfo=ZoneInfo(LONDON))


def asked(failures=(), alarm="", visits=()):
    return looks_asked(failures=failures, alarm=alarm, visits=visits, zone=LONDON)


def test_a_failure_asks_for_a_look_on_the_day_it_is_known_and_the_day_after():
    off = [("Fridge 1 was off", at("04T14:10"))]
    assert [one.at for one in asked(off)] == [at("04T14:10"), at("05T09:00")]
    assert {one.reason for one in asked(off)} == {f"{LOOK}Fridge 1 was off", f"{LOOK}Fridge 1 was off, the day after"}
    assert [one.at for one in asked([("Fridge 1 was off", at("04T03:00"))])] == [at("04T09:00"), at("05T09:00")]


def test_a_visit_makes_the_look_of_its_day_and_no_later_one():
    off = [("Fridge 1 was off", at("04T14:10"))]
    assert [one.at for one in asked(off, visits=[at("04T14:00")])] == [at("04T14:10"), at("05T09:00")]
    assert [one.at for one in asked(off, visits=[at("04T15:00")])] == [at("05T09:00")]
    assert asked(off, visits=[at("05T08:00")]) == ()


def test_what_was_seen_amiss_is_seen_again_the_day_after_the_last_visit_until_it_is_right():
    assert [one.at for one in asked(alarm="mould", visits=[at("04T15:00")])] == [at("05T09:00")]
    assert [one.at for one in asked(alarm="mould", visits=[at("04T15:00"), at("06T10:00")])] == [at("07T09:00")]
    assert asked(alarm="", visits=[at("04T15:00")]) == ()


def test_a_planned_check_later_on_the_day_of_a_look_is_made_with_it_and_none_after_the_opening():
    weekly = Check(at=at("05T09:00"), reason="every 7 days", needs_duty_holder=False)
    early = Check(at=at("04T09:00"), reason="first week", needs_duty_holder=False)
    looks = asked([("Fridge 1 was off", at("04T14:10"))])
    found = with_looks([early, weekly], looks, at("12T14:00"), LONDON)
    assert [one.at for one in found] == [at("04T09:00"), at("04T14:10"), at("05T09:00")]
    assert found[-1].reason == f"{LOOK}Fridge 1 was off, the day after; every 7 days"
    assert [one.at for one in with_looks([], looks, at("05T08:00"), LONDON)] == [at("04T14:10")]
