"""Several writings as one: a use case that writes in steps runs whole inside one transaction, or not at all."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection

from findhold.store.engine import plain_troubles
from findhold.store.ledger import Ledger, Stamp, Writing


class JoinedLedger(Ledger):
    """A ledger seen from inside one open transaction; what is read includes what was written in it."""

    def __init__(self, path: Path, connection: Connection) -> None:
        self.path = path
        self._connection = connection

    @contextmanager
    def writing(self, stamp: Stamp) -> Iterator[Writing]:
        """A part of the transaction: leaving with an error undoes this part, and the whole if nobody catches it."""
        with plain_troubles(self.path), self._connection.begin_nested():
            yield Writing(self._connection, stamp)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """The view of the transaction."""
        with plain_troubles(self.path):
            yield self._connection

    def close(self) -> None:
        """Nothing: the transaction belongs to whoever opened it."""


@contextmanager
def joined(ledger: Ledger, stamp: Stamp) -> Iterator[JoinedLedger]:
    """One transaction in which reading, deciding and every writing of a use case happen together."""
    with ledger.writing(stamp) as writing:
        yield JoinedLedger(ledger.path, writing.connection)
