"""Receipts: what was answered to a request that carried a key, so that the same request twice is recorded once.

A receipt is no event: it says nothing about a find. It stands in the ledger's file because it must be written in the
same transaction as the events it answers for; a ledger without the table is complete without it.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, insert, select

from findhold.store.schema import receipt


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """A key, what was asked under it (operation and SHA-256 of the request), and the answer as JSON text."""

    key: str
    operation: str
    digest: str
    answer: str
    person: str
    at: str


def find_receipt(connection: Connection, key: str) -> Receipt | None:
    """The receipt of a key; None when nothing was recorded under it."""
    if not connection.dialect.has_table(connection, receipt.name):
        return None
    row = connection.execute(select(receipt).where(receipt.c.key == key)).mappings().first()
    return Receipt(**row) if row else None


def keep_receipt(connection: Connection, kept: Receipt) -> None:
    """Write a receipt inside the transaction it answers for; the table is made when the ledger is older than it."""
    receipt.create(connection, checkfirst=True)
    row = {name: getattr(kept, name) for name in ("key", "operation", "digest", "answer", "person", "at")}
    connection.execute(insert(receipt).values(row))
