"""All tables beside the states at once: make them, and see whether they are true."""

from __future__ import annotations

from sqlalchemy import Connection

from findhold.store.beside.find_words import FIND_WORDS
from findhold.store.beside.hold_days import HOLD_DAYS

TABLES = (HOLD_DAYS, FIND_WORDS)


def all_kept(connection: Connection) -> bool:
    """True when every table is there, with this version's triggers."""
    return all(table.kept(connection) for table in TABLES)


def keep_all(connection: Connection) -> None:
    """Make what is missing or of another version, and fill it from the states."""
    for table in TABLES:
        table.keep(connection)


def wrong_beside(connection: Connection) -> tuple[str, str] | None:
    """The first table and thing whose row does not follow from its state; None when all do."""
    for table in TABLES:
        stream = table.wrong(connection)
        if stream is not None:
            return table.name, stream
    return None
