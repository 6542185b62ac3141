"""Mould seen stands before any date: the same words on the sheet, in the stores and after a failure."""

from findhold.service.seen_amiss import seen_amiss
from findhold.service.showing.held import held_seen
from findhold.store.ledger import Thing


def facts(look, alarm):
    return {
        "box_id": "WCR26-B1-U",
        "alarm": alarm,
        "forecast": {"keep_until": "2026-08-25T10:00:00+01:00", "governing_limit": "policy"},
        "weighings": [{"at": "2026-08-12T23:30:00+00:00", "look": look, "mass_kg": 1.0}],
    }


def test_after_mould_the_date_of_the_forecast_no_longer_counts():
    told = seen_amiss(facts("mould", "mould"), "Europe/London")
    assert told.act == "mould seen 13 Aug: act today"
    assert told.date_words == "The date of the forecast, 25 Aug, no longer counts."
    assert seen_amiss(facts("mould", "mould"), "UTC").act == "mould seen 12 Aug: act today"


def test_what_can_be_mended_leaves_the_date_and_says_so():
    assert seen_amiss(facts("dry", "dry"), "UTC").date_words.endswith("does not allow for it.")
    assert seen_amiss(facts("right", ""), "UTC") is None


def test_a_store_shows_a_box_with_mould_as_one_to_act_on_today_and_not_as_one_with_time_left():
    from datetime import UTC, datetime

    find = Thing(stream="find/WCR26/37", facts={}, seq=1)
    hold = Thing(stream="hold/WCR26/B1", facts=facts("mould", "mould"), seq=2)
    seen = held_seen(find, hold, datetime(2026, 8, 13, tzinfo=UTC))
    assert (seen.kind, seen.word, seen.left_words) == ("act", "mould seen", "act today")
    assert seen.left_days < 0
