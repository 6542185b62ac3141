"""Where a find stood since when, from its events and its box's: the order of the moves, not that of their telling."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise, permutations

from hypothesis import given
from hypothesis import strategies as st

from findhold.record.clock import Reading
from findhold.record.events import Event
from findhold.record.fold import apply
from findhold.service.stay import stays_told

DAWN = datetime(2026, 8, 1, 6, tzinfo=UTC)


def event(word, body, hour, stream="find/WCR26/48"):
    at = DAWN + timedelta(hours=hour)
    return Event(
        id=f"{hour}",
        word=word,
        stream=stream,
        at=at,
        offset_min=60,
        clock=Reading(wall_ms=int(at.timestamp() * 1000), count=0),
        person="MH",
        device="d",
        device_seq=1,
        prev="0" * 64,
        hash="0" * 64,
        body=body,
    )


def entered(store):
    return event("thing.entered.1", {"number": "48", "store": store}, 0)


def moved(store, hour, told):
    body = {"fields": {"store": store}, "at": (DAWN + timedelta(hours=hour)).isoformat(), "reason": "put there"}
    return event("thing.corrected.1", body, told)


def test_a_stated_time_counts_and_not_that_of_telling():
    first, second = stays_told([entered("Fridge 2"), moved("Fridge 1", 3, told=40)])
    assert (first.store, first.since) == ("Fridge 2", None)
    assert (second.store, second.since, second.stated) == ("Fridge 1", DAWN + timedelta(hours=3), True)


def test_a_change_of_the_register_without_a_time_counts_from_when_it_was_recorded():
    changed = event("thing.corrected.1", {"fields": {"store": "Fridge 1"}, "reason": "typed wrong"}, 40)
    _, second = stays_told([entered("Fridge 2"), changed])
    assert (second.since, second.stated) == (DAWN + timedelta(hours=40), False)


def test_the_box_tells_when_it_was_put_there_also_where_the_correction_did_not():
    """As the bench recorded it before: the correction at 40 h has no time of its own, the shelving says 3 h."""
    changed = event("thing.corrected.1", {"fields": {"store": "Fridge 1"}, "reason": "box B7 was put there"}, 40)
    put = {"store": "Fridge 1", "shelf": "2", "how": "scanned", "at": (DAWN + timedelta(hours=3)).isoformat()}
    stays = stays_told([entered("Fridge 2"), changed, event("box.shelved.1", put, 40, "hold/WCR26/B7")])
    assert [(stay.store, stay.since) for stay in stays] == [("Fridge 2", None), ("Fridge 1", DAWN + timedelta(hours=3))]


def test_any_order_of_telling_gives_the_same_stays_and_the_same_store_now():
    moves = [("Fridge 1", 3), ("Cool room", 5), ("Fridge 2", 9)]
    wanted = [("Fridge 2", None), *((store, DAWN + timedelta(hours=hour)) for store, hour in moves)]
    for order in permutations(moves):
        events = [entered("Fridge 2"), *(moved(*move, told=40 + n) for n, move in enumerate(order))]
        assert [(stay.store, stay.since) for stay in stays_told(events)] == wanted
        state = None
        for one in events:
            state = apply(state, one)
        assert state["store"] == "Fridge 2"


@given(st.lists(st.tuples(st.sampled_from(["A", "B", "C"]), st.integers(1, 30)), max_size=6, unique_by=lambda m: m[1]))
def test_stays_follow_each_other_and_never_repeat_a_store(moves):
    stays = stays_told([entered("A"), *(moved(*move, told=50 + n) for n, move in enumerate(moves))])
    assert stays[0].since is None
    times = [stay.since for stay in stays[1:]]
    assert times == sorted(times)
    assert all(one.store != other.store for one, other in pairwise(stays))


def test_the_shelf_that_stands_is_that_of_the_last_move_however_late_an_earlier_one_is_told():
    def put(store, hour, told):
        at = (DAWN + timedelta(hours=hour)).isoformat()
        return event("box.shelved.1", {"store": store, "shelf": "1", "how": "typed", "at": at}, told, "hold/WCR26/B7")

    state = apply(apply(None, put("Fridge 1", 9, 40)), put("Cool room", 3, 41))
    assert state["shelved"]["store"] == "Fridge 1"
