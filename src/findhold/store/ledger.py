"""The ledger: append events, read states; every write is one transaction that reads, decides and appends."""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, desc, insert, select
from sqlalchemy.dialects.sqlite import insert as upsert

from findhold.errors import LedgerTrouble
from findhold.record import chain, fold, uuid7
from findhold.record.canonical import canonical_json
from findhold.record.clock import Reading, tick
from findhold.record.events import NO_HASH, Event, NewEvent, number_of, utc_text
from findhold.store import schema
from findhold.store.beside.kept import all_kept, keep_all
from findhold.store.engine import plain_troubles, sqlite_engine


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """Who writes, on which device, and when (an aware instant with the offset that the person sees)."""

    person: str
    device: str
    now: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """One thing as it stands: its stream ("kind/SITE/number"), its facts, and the last event that touched it."""

    stream: str
    facts: dict[str, Any]
    seq: int

    @property
    def kind(self) -> str:
        return self.stream.split("/", 1)[0]

    @property
    def number(self) -> str:
        return number_of(self.stream)


class Writing:
    """One transaction on the ledger: read what is so, decide, append; all or nothing."""

    def __init__(self, connection: Connection, stamp: Stamp) -> None:
        self.connection = connection
        self._stamp = stamp
        newest = connection.execute(
            select(schema.event.c.seq, schema.event.c.wall_ms, schema.event.c["count"])
            .order_by(desc(schema.event.c.seq))
            .limit(1)
        ).first()
        self._seq: int = newest[0] if newest else 0
        self._clock = Reading(newest[1], newest[2]) if newest else Reading(0, 0)
        mine = connection.execute(
            select(schema.event.c.device_seq, schema.event.c.hash)
            .where(schema.event.c.device == stamp.device)
            .order_by(desc(schema.event.c.device_seq))
            .limit(1)
        ).first()
        self._device_seq: int = mine[0] if mine else 0
        self._hash: str = mine[1] if mine else NO_HASH

    def states(self, kind: str, site: str | None = None) -> list[Thing]:
        """Things of a kind as they stand inside this transaction."""
        return read_states(self.connection, kind, site)

    def state(self, stream: str) -> Thing | None:
        """One thing as it stands inside this transaction."""
        return read_state(self.connection, stream)

    def append(self, new: Sequence[NewEvent]) -> list[Event]:
        """Append events in order and fold them into the read tables.

        Raises
        ------
        LedgerTrouble : the file refuses (see engine.plain_troubles); the whole transaction is then undone.
        """
        known = self._known({item.stream for item in new})
        events = []
        for item in new:
            event = self._seal(item)
            known[item.stream] = (fold.apply(known[item.stream][0], event), self._seq)
            events.append(event)
        if events:
            first = self._seq - len(events) + 1
            rows = [_event_row(event, first + index) for index, event in enumerate(events)]
            self.connection.execute(insert(schema.event), rows)
            self._keep(known)
        return events

    def _known(self, streams: set[str]) -> dict[str, tuple[dict[str, Any] | None, int]]:
        found: dict[str, tuple[dict[str, Any] | None, int]] = dict.fromkeys(streams, (None, 0))
        ordered = sorted(streams)
        for start in range(0, len(ordered), 500):
            part = ordered[start : start + 500]
            query = select(schema.state.c.stream, schema.state.c.body, schema.state.c.seq)
            for row in self.connection.execute(query.where(schema.state.c.stream.in_(part))):
                found[row[0]] = (json.loads(row[1]), row[2])
        return found

    def _keep(self, known: dict[str, tuple[dict[str, Any] | None, int]]) -> None:
        statement = upsert(schema.state)
        statement = statement.on_conflict_do_update(
            index_elements=["stream"], set_={"body": statement.excluded.body, "seq": statement.excluded.seq}
        )
        rows = [state_row(stream, facts, seq) for stream, (facts, seq) in known.items() if facts is not None]
        self.connection.execute(statement, rows)

    def _seal(self, item: NewEvent) -> Event:
        now = self._stamp.now
        now_ms = int(now.timestamp() * 1000)
        self._clock = tick(self._clock, now_ms)
        self._device_seq += 1
        self._seq += 1
        offset = now.utcoffset()
        bare: dict[str, Any] = {
            "id": str(uuid7.make(now_ms, secrets.randbits(74))),
            "word": item.word,
            "stream": item.stream,
            "at": now.astimezone(UTC),
            "offset_min": int(offset.total_seconds() // 60) if offset is not None else 0,
            "clock": self._clock,
            "person": self._stamp.person,
            "device": self._stamp.device,
            "device_seq": self._device_seq,
            "body": item.body,
            "prev": self._hash,
        }
        unsealed = Event(**bare, hash="")
        self._hash = chain.seal(self._hash, unsealed.entry())
        return Event(**bare, hash=self._hash)


class Ledger:
    """One ledger file, open."""

    def __init__(self, path: Path, engine: Engine) -> None:
        self.path = path
        self._engine = engine

    @contextmanager
    def writing(self, stamp: Stamp) -> Iterator[Writing]:
        """One transaction: leaving with an error undoes everything in it."""
        with (
            plain_troubles(self.path),
            self._engine.connect().execution_options(writing=True) as connection,
            connection.begin(),
        ):
            yield Writing(connection, stamp)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One consistent view for reading."""
        with plain_troubles(self.path), self._engine.connect() as connection, connection.begin():
            yield connection

    def states(self, kind: str, site: str | None = None) -> list[Thing]:
        """Things of a kind, in the order their numbers are counted."""
        with self.reading() as connection:
            return read_states(connection, kind, site)

    def state(self, stream: str) -> Thing | None:
        """One thing by its stream; None when it was never entered."""
        with self.reading() as connection:
            return read_state(connection, stream)

    def story(self, stream: str) -> list[Event]:
        """The events of one thing, oldest first."""
        with self.reading() as connection:
            query = select(schema.event).where(schema.event.c.stream == stream).order_by(schema.event.c.seq)
            return [event_of(row) for row in connection.execute(query).mappings()]

    def streams_told(self, word: str, kind: str, site: str, *, about: str) -> list[str]:
        """Streams of a kind and site in which an event of this word speaks of one field."""
        first = f"{kind}/{site}/"
        column = schema.event.c
        query = (
            select(column.stream)
            .where(column.stream >= first, column.stream < first[:-1] + "0", column.word == word)
            .where(column.body.contains(f'"{about}":', autoescape=True))
            .distinct()
        )
        with self.reading() as connection:
            return [row[0] for row in connection.execute(query)]

    def head(self) -> tuple[int, str]:
        """How many events there are and the newest hash (64 zeros when there is none)."""
        with self.reading() as connection:
            row = connection.execute(
                select(schema.event.c.seq, schema.event.c.hash).order_by(desc(schema.event.c.seq)).limit(1)
            ).first()
            return (row[0], row[1]) if row else (0, NO_HASH)

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()


def create(path: Path, stamp: Stamp, first: Sequence[NewEvent]) -> Ledger:
    """Begin a new ledger file with its first events.

    Raises
    ------
    LedgerTrouble : the file exists already, or the folder cannot be written.
    """
    if path.exists():
        raise LedgerTrouble(
            "there is a file of this name already",
            where=str(path),
            do="Choose another name, or use the one there: a ledger is never overwritten",
        )
    if not path.parent.is_dir():
        raise LedgerTrouble(
            "the folder does not exist", where=str(path.parent), do="Make the folder first, then run this again"
        )
    # Built under another name and moved into place whole, so a killed process leaves no half-made ledger behind.
    building = path.with_name(f".{path.name}.{secrets.token_hex(4)}.new")
    try:
        with plain_troubles(path):
            building.touch(exist_ok=False)
            engine = sqlite_engine(building)
            with engine.connect().execution_options(writing=True) as connection, connection.begin():
                schema.metadata.create_all(connection)
                for text in (*schema.SQLITE_TRIGGERS.values(), *schema.SQLITE_INDEXES.values()):
                    connection.exec_driver_sql(text)
                keep_all(connection)
                connection.exec_driver_sql(f"PRAGMA application_id = {schema.APPLICATION_ID}")
                connection.exec_driver_sql(f"PRAGMA user_version = {schema.FORMAT}")
                Writing(connection, stamp).append(first)
            engine.dispose()
            building.rename(path)
    except OSError as error:
        raise LedgerTrouble(
            f"the ledger cannot be written here ({error.strerror})",
            where=str(path),
            do="Choose a folder you may write to, with some free space",
        ) from error
    finally:
        building.unlink(missing_ok=True)
    return open_ledger(path)


def open_ledger(path: Path, *, read_only: bool = False) -> Ledger:
    """Open a ledger file.

    Raises
    ------
    LedgerTrouble : no such file, not a ledger, damaged, or written by a newer version.
    """
    if not path.is_file():
        raise LedgerTrouble(
            "there is no ledger here",
            where=str(path),
            do="Check the path, or begin one with: findhold new FILE --site CODE --name NAME",
        )
    engine = sqlite_engine(path, read_only=read_only)
    with plain_troubles(path), engine.connect() as connection:
        identity = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
        version = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
    if identity != schema.APPLICATION_ID:
        raise LedgerTrouble(
            "this file is not a findhold ledger", where=str(path), do="Give the file that `findhold new` made"
        )
    if version > schema.FORMAT:
        raise LedgerTrouble(
            f"this ledger has format {version}; this version reads up to {schema.FORMAT}",
            where=str(path),
            do="Install the version of findhold that wrote it, or a newer one",
        )
    if not read_only:
        _index(path, engine)
    return Ledger(path, engine)


def _index(path: Path, engine: Engine) -> None:
    """Give an older ledger the look-ups that pages need; one that has them is only read."""
    with plain_troubles(path), engine.connect() as connection:
        if not _lacking(connection) and all_kept(connection):
            return
    with plain_troubles(path), engine.connect().execution_options(writing=True) as connection, connection.begin():
        for name, text in _lacking(connection).items():
            connection.exec_driver_sql(f"DROP INDEX IF EXISTS {name}")
            connection.exec_driver_sql(text)
        keep_all(connection)


def _lacking(connection: Connection) -> dict[str, str]:
    """Look-ups that the file has not, or has as an older version made them."""
    rows = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE type = 'index'").all()
    present = {row[0]: row[1] for row in rows}
    return {name: text for name, text in schema.SQLITE_INDEXES.items() if present.get(name) != text}


def read_states(connection: Connection, kind: str, site: str | None = None) -> list[Thing]:
    """Things of a kind in counting order (2 before 10)."""
    query = select(schema.state.c.stream, schema.state.c.body, schema.state.c.seq).where(schema.state.c.kind == kind)
    if site is not None:
        query = query.where(schema.state.c.site == site)
    things = [Thing(stream=row[0], facts=json.loads(row[1]), seq=row[2]) for row in connection.execute(query)]
    return sorted(things, key=lambda thing: counting_order(thing.stream))


def read_state(connection: Connection, stream: str) -> Thing | None:
    """One thing by its stream."""
    query = select(schema.state.c.body, schema.state.c.seq).where(schema.state.c.stream == stream)
    row = connection.execute(query).first()
    return Thing(stream=stream, facts=json.loads(row[0]), seq=row[1]) if row else None


def event_of(row: Any) -> Event:
    """An event from its row."""
    return Event(
        id=row["id"],
        word=row["word"],
        stream=row["stream"],
        at=datetime.fromisoformat(row["at"]),
        offset_min=row["offset_min"],
        clock=Reading(row["wall_ms"], row["count"]),
        person=row["person"],
        device=row["device"],
        device_seq=row["device_seq"],
        prev=row["prev"],
        hash=row["hash"],
        body=json.loads(row["body"]),
    )


def state_row(stream: str, facts: dict[str, Any], seq: int) -> dict[str, Any]:
    """The read table's row of one thing."""
    parts = stream.split("/")
    site = parts[1] if len(parts) == 3 else ""
    body = canonical_json(facts).decode()
    return {"stream": stream, "kind": parts[0], "site": site, "body": body, "seq": seq}


def counting_order(text: str) -> list[tuple[int, int, str]]:
    """Sort key that counts: 2 before 10, 37 before 37A."""
    return [(0, int(part), "") if part.isdigit() else (1, 0, part.casefold()) for part in re.findall(r"\d+|\D+", text)]


def _event_row(event: Event, seq: int) -> dict[str, Any]:
    return {
        "seq": seq,
        "id": event.id,
        "word": event.word,
        "stream": event.stream,
        "at": utc_text(event.at),
        "offset_min": event.offset_min,
        "wall_ms": event.clock.wall_ms,
        "count": event.clock.count,
        "person": event.person,
        "device": event.device,
        "device_seq": event.device_seq,
        "prev": event.prev,
        "hash": event.hash,
        "body": canonical_json(event.body).decode(),
    }


def all_events(connection: Connection, batch: int = 2000) -> Iterable[Event]:
    """Every event in order, read in batches."""
    result = connection.execution_options(yield_per=batch).execute(select(schema.event).order_by(schema.event.c.seq))
    for row in result.mappings():
        yield event_of(row)
