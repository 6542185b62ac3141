"""What helps is told as of now: a day that has passed is never offered as being in time."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from findhold.keep.options import EARLIER, Option
from findhold.service.showing.closures_seen import _way_told

NOW = datetime(2026, 8, 12, 9, tzinfo=UTC)
LID = Option(
    name="better lid",
    text="Tape the lid: keeps 3.0 days longer.",
    keep_until=NOW + timedelta(days=3),
    gain_days=3.0,
    can_keep=True,
    work="5 minutes",
    governing_limit="growth on find",
)


def test_a_way_that_still_lies_ahead_is_told_as_it_is():
    told = _way_told(LID, NOW, opening_gone=False)
    assert (told["helps"], told["can_keep"], told["text"]) == (True, True, LID.text)


@pytest.mark.parametrize(
    "way",
    [
        replace(LID, on=NOW - timedelta(days=1)),
        replace(LID, keep_until=NOW - timedelta(hours=1)),
        replace(LID, on=NOW, keep_until=NOW + timedelta(days=9)),
    ],
)
def test_a_day_that_has_passed_neither_helps_nor_is_in_time(way):
    told = _way_told(way, NOW, opening_gone=False)
    assert (told["helps"], told["can_keep"]) == (False, None)
    assert told["text"] != way.text


def test_opening_by_a_date_that_has_passed_is_opening_today():
    way = replace(LID, name=EARLIER, text="Open it by 7 August 2026, 19:16.", keep_until=NOW - timedelta(days=5))
    told = _way_told(replace(way, on=way.keep_until, gain_days=0.0), NOW, opening_gone=False)
    assert told["text"].startswith("Open it today")
    assert told["can_keep"] is None


def test_an_opening_that_was_planned_for_a_past_day_is_in_time_for_nothing():
    assert _way_told(LID, NOW, opening_gone=True)["can_keep"] is None
