"""A small ledger for the store's tests."""

from datetime import datetime, timedelta, timezone

import pytest

from findhold.record.events import NewEvent
from findhold.store.ledger import Stamp, create

SUMMER = timezone(timedelta(hours=1))


def stamp(minute=0, device="d-test"):
    return Stamp(person="MH", device=device, now=datetime(2026, 7, 28, 10, minute, tzinfo=SUMMER))


def find_entered(number, **facts):
    body = {"number": number, "context": "217", "material": "ceramic_low", **facts}
    return NewEvent(word="thing.entered.1", stream=f"find/WCR26/{number}", body=body)


@pytest.fixture
def ledger(tmp_path):
    opened = NewEvent(word="ledger.opened.1", stream="ledger/main", body={"name": "test"})
    made = create(tmp_path / "test.ledger", stamp(), [opened])
    yield made
    made.close()
