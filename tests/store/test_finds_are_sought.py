"""Finds by words and filters, against the same question asked of the facts in Python."""

from datetime import UTC, datetime
from itertools import product

import pytest

from findhold.record.events import NewEvent, stream_of
from findhold.store.ledger import Stamp, create
from findhold.store.lookup import FindsAsked, finds_page, finds_without_box

WHAT = ("Äxte aus Bronze", "Bronze pin", "jar, crushed", "50%_worn jar")
STATES = ("damp", "dry")


@pytest.fixture
def dug(tmp_path):
    stamp = Stamp(person="Marian Holt", device="d-test", now=datetime(2026, 8, 3, tzinfo=UTC))
    site = NewEvent(
        word="thing.entered.1", stream=stream_of("site", "S1", "S1"), body={"code": "S1", "name": "S", "zone": "UTC"}
    )
    made = create(tmp_path / "s.ledger", stamp, [site])
    with made.writing(stamp) as writing:
        for number, (what, state) in enumerate(product(WHAT, STATES), start=1):
            facts = {"number": str(number), "what": what, "state": state, "context": "216", "store": "Fridge 1"}
            writing.append([NewEvent(word="thing.entered.1", stream=stream_of("find", "S1", str(number)), body=facts)])
        hold = NewEvent(word="hold.planned.1", stream="hold/S1/B1", body={"find": "3", "box_id": "S1-B1-X"})
        writing.append([hold])
    yield made
    made.close()


@pytest.mark.parametrize(
    "words", ["bronze", "BRONZE pin", "äxte", "ÄXTE", "jar 216", "50%_", "%", "nothing like it", "pin jar"]
)
def test_words_are_found_wherever_they_stand_and_however_they_are_written(dug, words):
    facts = [thing.facts for thing in dug.states("find", "S1")]
    text = [f"{one['what']} {one['context']} {one['number']}".lower() for one in facts]
    wanted = [
        one["number"]
        for one, told in zip(facts, text, strict=True)
        if all(word in told for word in words.lower().split())
    ]
    with dug.reading() as connection:
        found = finds_page(connection, FindsAsked(site="S1", words=words))
    assert [thing.number for thing in found] == wanted


def test_filters_and_pages_take_the_finds_that_are_so(dug):
    with dug.reading() as connection:
        dry = finds_page(connection, FindsAsked(site="S1", state="dry", limit=2))
        more = finds_page(connection, FindsAsked(site="S1", state="dry", after=(4, "4")))
        boxed = finds_page(connection, FindsAsked(site="S1", held=True))
        loose = finds_without_box(connection, "S1", ("damp",), 10)
        elsewhere = finds_page(connection, FindsAsked(site="S1", store="Fridge 2"))
    assert [thing.number for thing in (*dry, *more)] == ["2", "4", "6", "8"]
    assert [thing.number for thing in boxed] == ["3"]
    assert [thing.number for thing in loose] == ["1", "5", "7"]
    assert elsewhere == []
