"""The newest entries and corrections of a few things, looked up by their streams."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, desc, select

from findhold.record.events import Event
from findhold.store import schema
from findhold.store.ledger import event_of


def newest_of(connection: Connection, streams: Sequence[str], words: Sequence[str], limit: int) -> list[Event]:
    """Events of some streams that have one of these words, newest first."""
    event = schema.event.c
    query = select(schema.event).where(event.stream.in_(streams), event.word.in_(words))
    rows = connection.execute(query.order_by(desc(event.seq)).limit(limit)).mappings()
    return [event_of(row) for row in rows]
