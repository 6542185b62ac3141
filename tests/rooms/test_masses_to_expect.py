"""The mass to expect at a check, in the same words at every door, before and after the first weighing."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone

from findhold.service.diary import DueRow

CHECK = DueRow(
    at=datetime(2026, 8, 7, 9, tzinfo=timezone(timedelta(hours=1))),
    what="check",
    box_id="WCR26-B1-U",
    find="37",
    store="Fridge 1",
    low_kg=13.0514,
    best_kg=13.0521,
    high_kg=13.0529,
    note="",
    late=False,
)


def test_a_box_that_was_never_weighed_promises_no_grams():
    assert CHECK.expect == "not weighed yet, planned about 13.05 kg"
    assert replace(CHECK, weighed=True).expect == "13.0514 to 13.0529 kg"


def test_where_no_mass_is_known_nothing_is_said():
    assert replace(CHECK, low_kg=None).expect == ""
