"""The tables of a ledger and the triggers that keep it append-only inside the file itself."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Column, Index, Integer, MetaData, Table, Text, UniqueConstraint, literal_column

from findhold.record.events import NO_HASH

APPLICATION_ID = 0x464E4448
"""SQLite application id, "FNDH" in ASCII: tells a ledger from any other SQLite file."""

FORMAT = 1
"""Version of these tables, stored as SQLite user_version."""

metadata = MetaData()

event = Table(
    "event",
    metadata,
    Column("seq", Integer, primary_key=True, autoincrement=True),
    Column("id", Text, nullable=False, unique=True),
    Column("word", Text, nullable=False),
    Column("stream", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("offset_min", Integer, nullable=False),
    Column("wall_ms", Integer, nullable=False),
    Column("count", Integer, nullable=False),
    Column("person", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("device_seq", Integer, nullable=False),
    Column("prev", Text, nullable=False),
    Column("hash", Text, nullable=False, unique=True),
    Column("body", Text, nullable=False),
    UniqueConstraint("device", "device_seq"),
    Index("event_by_stream", "stream", "seq"),
)

state = Table(
    "state",
    metadata,
    Column("stream", Text, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("site", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("seq", Integer, nullable=False),
    Index("state_by_kind", "kind", "site"),
)

receipt = Table(
    "receipt",
    metadata,
    Column("key", Text, primary_key=True),
    Column("operation", Text, nullable=False),
    Column("digest", Text, nullable=False),
    Column("answer", Text, nullable=False),
    Column("person", Text, nullable=False),
    Column("at", Text, nullable=False),
)
"""Answers to requests that carried a key; see store.receipts."""

FIND_OF: Any = literal_column("json_extract(state.body, '$.find')")
"""The find that a hold or a sample belongs to."""
NEXT_AT: Any = literal_column("json_extract(state.body, '$.next_at')")
"""When the earliest thing not done yet is due on a hold (UTC text)."""

# Pages look things up by what they hold; each of these keeps one such look-up from reading the whole table. They say
# nothing of their own, so a ledger that lacks them, or has older ones, is whole
# and gets them when it is next opened for writing.
SQLITE_INDEXES: dict[str, str] = {
    "hold_by_find": (
        "CREATE INDEX hold_by_find ON state (kind, site, json_extract(body, '$.find')) WHERE kind = 'hold'"
    ),
    "hold_by_due": (
        "CREATE INDEX hold_by_due ON state (kind, site, json_extract(body, '$.next_at'), json_extract(body, '$.ended'))"
        " WHERE kind = 'hold'"
    ),
    "sample_by_find": (
        "CREATE INDEX sample_by_find ON state (kind, site, json_extract(body, '$.find')) WHERE kind = 'sample'"
    ),
    "find_by_store": (
        "CREATE INDEX find_by_store ON state (kind, site, json_extract(body, '$.store')) WHERE kind = 'find'"
    ),
    "hold_at_bench": (
        "CREATE INDEX hold_at_bench ON state (kind, site, json_extract(body, '$.ended')) WHERE kind = 'hold'"
        " AND json_extract(body, '$.shelved') IS NULL AND json_extract(body, '$.weighings') IS NULL"
    ),
    "find_by_context": (
        "CREATE INDEX find_by_context ON state (kind, site, json_extract(body, '$.context')) WHERE kind = 'find'"
    ),
    "sample_by_context": (
        "CREATE INDEX sample_by_context ON state (kind, site, json_extract(body, '$.context')) WHERE kind = 'sample'"
    ),
    "context_by_cut": (
        "CREATE INDEX context_by_cut ON state (kind, site, json_extract(body, '$.cut')) WHERE kind = 'context'"
    ),
    "cut_of_site": (
        "CREATE INDEX cut_of_site ON state (kind, site) WHERE kind = 'context' AND json_extract(body, '$.type') = 'cut'"
    ),
    "hold_by_keep_until": (
        "CREATE INDEX hold_by_keep_until ON state (kind, site, "
        "json_extract(body, '$.forecast.keep_until')) WHERE kind = 'hold'"
        " AND (json_extract(body, '$.ended') IS NULL OR json_extract(body, '$.over') IS NOT NULL)"
    ),
}

# Update and delete triggers alone do not stop INSERT OR REPLACE (it deletes silently unless recursive_triggers is on,
# which is a setting of each connection). A trigger before insert runs before any conflict is resolved, so refusing
# every row that is not the next one of its device stops replacement, gaps and forks, and lives in the file.
SQLITE_TRIGGERS: dict[str, str] = {
    "event_never_changes": (
        "CREATE TRIGGER event_never_changes BEFORE UPDATE ON event BEGIN "
        "SELECT RAISE(ABORT, 'append-only: an event is never changed'); END"
    ),
    "event_never_goes": (
        "CREATE TRIGGER event_never_goes BEFORE DELETE ON event BEGIN "
        "SELECT RAISE(ABORT, 'append-only: an event is never deleted'); END"
    ),
    "event_only_next": (
        "CREATE TRIGGER event_only_next BEFORE INSERT ON event BEGIN "
        "SELECT RAISE(ABORT, 'append-only: an event is never replaced') WHERE EXISTS "
        "(SELECT 1 FROM event WHERE seq = NEW.seq OR id = NEW.id OR hash = NEW.hash); "
        "SELECT RAISE(ABORT, 'append-only: not the next event of its device') WHERE NEW.device_seq IS NOT "
        "(SELECT coalesce(max(device_seq), 0) + 1 FROM event WHERE device = NEW.device); "
        "SELECT RAISE(ABORT, 'append-only: not sealed onto the event before') WHERE NEW.prev IS NOT "
        "coalesce((SELECT hash FROM event WHERE device = NEW.device ORDER BY device_seq DESC LIMIT 1), "
        f"'{NO_HASH}'); END"
    ),
}
