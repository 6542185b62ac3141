"""Once: a request sent twice under one key is recorded once and answered alike.

A page that was tapped twice, a tablet that lost the answer on its way back, a list of things done without a connection:
each request has a key made where it was made. The key's receipt is written in the same transaction as the events, so
two requests at the same moment take turns and the second finds the first one's answer.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from findhold.errors import BadInput
from findhold.record.canonical import canonical_json
from findhold.service.office import Office
from findhold.service.wire import plain
from findhold.store.joined import joined
from findhold.store.receipts import Receipt, find_receipt, keep_receipt

KEY = re.compile(r"^[0-9A-Fa-f]{8}-[0-9A-Fa-f]{4}-[0-9A-Fa-f]{4}-[0-9A-Fa-f]{4}-[0-9A-Fa-f]{12}$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A request that writes: what it wants done, its words as plain data, and its key (None: it is not repeatable)."""

    operation: str
    words: Mapping[str, Any]
    key: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """The answer in its public shape; `again` when it was recorded by an earlier request with the same key."""

    shape: dict[str, Any]
    again: bool


class KeyUsedError(BadInput):
    """A key that stands for another request."""

    code = "key_used"


def once(office: Office, asked: Asked, act: Callable[[Office], dict[str, Any]]) -> Answered:
    """Do what is asked, or give the answer that was given before under the same key.

    Parameters
    ----------
    office : the office, open for writing.
    asked : the request with its key.
    act : does it and returns its public shape; everything it writes through the office it is given is one transaction.

    Raises
    ------
    BadInput : the key is no UUID.
    KeyUsedError : the key was used for another request. Whatever `act` raises; then nothing is recorded.
    """
    if asked.key is None:
        return Answered(shape=act(office), again=False)
    key = _checked(asked.key)
    digest = hashlib.sha256(canonical_json({"operation": asked.operation, "words": plain(asked.words)})).hexdigest()
    with office.ledger.reading() as connection:
        known = find_receipt(connection, key)
    if known is not None:
        return _again(known, asked, digest)
    stamp = office.stamp()
    with joined(office.ledger, stamp) as inside, inside.reading() as connection:
        known = find_receipt(connection, key)
        if known is not None:
            return _again(known, asked, digest)
        shape = act(replace(office, ledger=inside))
        answer = json.dumps(shape, ensure_ascii=False, separators=(",", ":"))
        kept = Receipt(
            key=key,
            operation=asked.operation,
            digest=digest,
            answer=answer,
            person=office.person,
            at=plain(stamp.now),
        )
        keep_receipt(connection, kept)
    # The first answer is the stored one read back, so that both are alike to the last digit.
    return Answered(shape=json.loads(answer), again=False)


def answer_of(office: Office, key: str) -> dict[str, Any] | None:
    """What was recorded under a key: operation, person, instant and answer; None when nothing was."""
    with office.ledger.reading() as connection:
        known = find_receipt(connection, _checked(key))
    if known is None:
        return None
    return {
        "key": known.key,
        "operation": known.operation,
        "person": known.person,
        "at": known.at,
        "answer": json.loads(known.answer),
    }


def _checked(key: str) -> str:
    if not KEY.match(key):
        raise BadInput(
            f"{key!r} is no key",
            where="Idempotency-Key",
            limit="a UUID: 8-4-4-4-12 hexadecimal digits",
            do="Make a new UUID for each thing done, and send the same one when it is sent again",
        )
    return key.lower()


def _again(known: Receipt, asked: Asked, digest: str) -> Answered:
    if (known.operation, known.digest) != (asked.operation, digest):
        raise KeyUsedError(
            f"this key was used for another request ({known.operation}, {known.at}, {known.person})",
            where=f"Idempotency-Key {known.key}",
            limit="one key for one request",
            do="Make a new key; what was recorded under the old one stands",
        )
    return Answered(shape=json.loads(known.answer), again=True)
