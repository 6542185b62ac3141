"""Is the ledger true? Every event re-hashed, every link checked, every read table folded again and compared."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from findhold.errors import LedgerTrouble
from findhold.record import chain, fold
from findhold.record.events import NO_HASH, Event
from findhold.store import schema
from findhold.store.beside.kept import wrong_beside
from findhold.store.filebox import kept_fault
from findhold.store.ledger import Ledger, Stamp, all_events, state_row

KEEPS_A_FILE = ("store.logged.1", "find.measured.1", "photo.kept.1")
"""Words whose body names, by its checksum, a file kept beside the ledger; one measured by tape names none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """Something that does not hold: the event it shows at (None for the file as a whole) and why."""

    event_no: int | None
    event_id: str
    word: str
    why: str
    only_folding: bool = False
    """The events are sound, and what is shown does not follow from them: fold it again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What was checked and what was found; `fault` is the first bad event, None when the ledger proves whole."""

    ledger: str
    events: int
    devices: int
    newest_hash: str
    expected_found: bool | None
    fault: Fault | None

    @property
    def whole(self) -> bool:
        return self.fault is None


def prove(ledger: Ledger, *, expect: str | None = None) -> Proof:
    """Verify the whole ledger.

    Parameters
    ----------
    ledger : an open ledger.
    expect : a hash (or its first digits, 8 or more) printed on paper earlier; its event must still be in the ledger.

    Returns
    -------
    Proof : with the first fault. A chain shows inner consistency; a hash kept outside shows that nothing was cut off.
    """
    walk = _Walk(expect=expect)
    try:
        with ledger.reading() as connection:
            fault = _triggers_fault(connection) or walk.events(connection) or _state_fault(connection, walk.states)
        fault = fault or _kept_fault(ledger, walk.kept)
    except (LedgerTrouble, json.JSONDecodeError, ValueError) as error:
        why = error.wrong if isinstance(error, LedgerTrouble) else str(error)
        fault = Fault(event_no=walk.count + 1, event_id="", word="", why=f"it cannot be read ({why})")
    if fault is None and expect is not None and not walk.found:
        why = f"no event has the hash {expect}: events were cut off or replaced"
        fault = Fault(event_no=None, event_id="", word="", why=why)
    return Proof(
        ledger=str(ledger.path),
        events=walk.count,
        devices=len(walk.heads),
        newest_hash=walk.newest,
        expected_found=walk.found if expect is not None else None,
        fault=fault,
    )


class _Walk:
    """One pass over all events: how far it came, each device's newest link, and every thing folded."""

    def __init__(self, *, expect: str | None) -> None:
        self.count = 0
        self.newest = NO_HASH
        self.found = False
        self.heads: dict[str, tuple[int, str]] = {}
        self.states: dict[str, tuple[dict[str, Any], int]] = {}
        self.kept: list[tuple[int, Event]] = []
        """Events that speak of a file kept beside the ledger."""
        self._expect = expect.lower() if expect is not None else None

    def events(self, connection: Connection) -> Fault | None:
        """Check every event in order; returns the first fault."""
        for event in all_events(connection):
            fault = _event_fault(self.count + 1, event, self.heads.get(event.device, (0, NO_HASH)))
            if fault is not None:
                return fault
            self.count += 1
            self.newest = event.hash
            if event.word in KEEPS_A_FILE and event.body.get("sha256"):
                self.kept.append((self.count, event))
            self.heads[event.device] = (event.device_seq, event.hash)
            before = self.states.get(event.stream)
            self.states[event.stream] = (fold.apply(before[0] if before else None, event), self.count)
            if self._expect is not None and event.hash.startswith(self._expect):
                self.found = True
        return None


def rebuild(ledger: Ledger, stamp: Stamp) -> int:
    """Fold the read tables again from the events; returns how many things there are."""
    states: dict[str, tuple[dict[str, Any], int]] = {}
    with ledger.writing(stamp) as writing:
        connection = writing.connection
        for number, event in enumerate(all_events(connection), 1):
            states[event.stream] = (fold.apply(states.get(event.stream, (None, 0))[0], event), number)
        connection.execute(delete(schema.state))
        rows = [state_row(stream, facts, seq) for stream, (facts, seq) in states.items()]
        if rows:
            connection.execute(insert(schema.state), rows)
    return len(states)


def _event_fault(number: int, event: Event, head: tuple[int, str]) -> Fault | None:
    """Why this event is not the true next one of its device, or None."""
    last_seq, last_hash = head
    if event.device_seq != last_seq + 1:
        why = f"it is number {event.device_seq} of its device where {last_seq + 1} was due: an event is missing"
    elif event.prev != last_hash:
        why = "it is not sealed onto the event before it: an event was changed, removed or added"
    elif chain.seal(event.prev, event.entry()) != event.hash:
        why = "its content does not match its hash: it was changed after it was written"
    else:
        return None
    return Fault(event_no=number, event_id=event.id, word=event.word, why=why)


def _kept_fault(ledger: Ledger, kept: list[tuple[int, Event]]) -> Fault | None:
    """The first file beside the ledger that is missing or changed; the events themselves are sound then."""
    for number, event in kept:
        why = kept_fault(ledger.path, event.body["sha256"])
        if why is not None:
            return Fault(event_no=number, event_id=event.id, word=event.word, why=f"{why}; the events are sound")
    return None


def _triggers_fault(connection: Connection) -> Fault | None:
    rows = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").all()
    present = {row[0]: row[1] for row in rows}
    for name, text in schema.SQLITE_TRIGGERS.items():
        if present.get(name) != text:
            why = f"the rule {name} that keeps the ledger append-only is missing or changed"
            return Fault(event_no=None, event_id="", word="", why=why)
    return None


def _state_fault(connection: Connection, states: dict[str, tuple[dict[str, Any], int]]) -> Fault | None:
    query = select(schema.state.c.stream, schema.state.c.body, schema.state.c.seq)
    stored = {row[0]: (row[1], row[2]) for row in connection.execute(query)}
    for stream, (facts, seq) in states.items():
        body = state_row(stream, facts, seq)["body"]
        if stored.pop(stream, None) != (body, seq):
            why = f"the read table for {stream} does not follow from the events; the events are sound"
            return Fault(event_no=None, event_id="", word="", why=why, only_folding=True)
    if stored:
        why = f"the read table holds {next(iter(stored))}, which no event entered; the events are sound"
        return Fault(event_no=None, event_id="", word="", why=why, only_folding=True)
    wrong = wrong_beside(connection)
    if wrong is not None:
        why = f"the table {wrong[0]} does not follow from the state of {wrong[1]}; the events are sound"
        return Fault(event_no=None, event_id="", word="", why=why, only_folding=True)
    return None
