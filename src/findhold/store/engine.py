"""Open a ledger file: connection settings, and SQLite's troubles as sentences."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine
from sqlalchemy import event as hooks
from sqlalchemy.exc import DatabaseError, DBAPIError, OperationalError

from findhold.errors import FindholdError, LedgerTrouble

BUSY_WAIT_S = 20


def sqlite_engine(path: Path, *, read_only: bool = False) -> Engine:
    """An engine on one ledger file; transactions that write begin IMMEDIATE, so two programs take turns."""
    mode = "ro" if read_only else "rw"
    uri = f"file:{_escaped(path)}?mode={mode}&uri=true"
    engine = create_engine(f"sqlite+pysqlite:///{uri}", connect_args={"timeout": BUSY_WAIT_S})

    @hooks.listens_for(engine, "connect")
    def _settings(connection: Any, _record: Any) -> None:
        # The driver's own transaction handling is off: BEGIN is ours, so that reading and deciding share the lock.
        connection.isolation_level = None
        if not read_only:
            # FULL: an acknowledged event is on the disk, also when the power goes.
            connection.execute("PRAGMA synchronous = FULL")

    @hooks.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


@contextmanager
def plain_troubles(path: Path) -> Iterator[None]:
    """Turn the database's own errors into sentences with a next step."""
    try:
        yield
    except FindholdError:
        raise
    except DBAPIError as error:
        raise _trouble(path, error) from error


def _trouble(path: Path, error: DBAPIError) -> LedgerTrouble:
    text = str(error.orig)
    where = str(path)
    if "append-only" in text:
        return LedgerTrouble(text, where=where, do="Write a new event that corrects the old one; the ledger keeps both")
    if "locked" in text or "busy" in text:
        return LedgerTrouble(
            f"another program has been writing to this ledger for more than {BUSY_WAIT_S} s",
            where=where,
            do="Wait until it has finished and run the same command again; nothing was recorded",
        )
    if "readonly" in text or "read-only" in text:
        return LedgerTrouble(
            "the ledger or its folder cannot be written",
            where=where,
            do="Ask for write permission on the folder, or copy the ledger to one you may write; nothing was recorded",
        )
    if "full" in text or "disk I/O" in text:
        return LedgerTrouble(
            "the disk is full or failing",
            where=where,
            do="Free some space and run the same command again; nothing was recorded and earlier events are safe",
        )
    if "unable to open" in text:
        return LedgerTrouble(
            "the file cannot be opened",
            where=where,
            do="Check the path and the permissions, or begin a ledger with: findhold new FILE --site CODE --name NAME",
        )
    if isinstance(error, OperationalError | DatabaseError):
        return LedgerTrouble(
            f"the file is damaged or is not a ledger ({text})",
            where=where,
            do="Do not write to it. Keep it, take the newest copy that proves whole (findhold prove FILE), and say so",
        )
    return LedgerTrouble(text, where=where, do="Keep the file as it is and ask for help with this message")


def _escaped(path: Path) -> str:
    from urllib.parse import quote

    return quote(str(path.resolve()))
