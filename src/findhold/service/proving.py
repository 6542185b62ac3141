"""Prove a ledger: is every event true, and does everything shown follow from the events?"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from findhold.errors import LedgerTrouble
from findhold.service import settings
from findhold.service.wire import plain
from findhold.store.ledger import open_ledger
from findhold.store.prove import Fault, Proof, prove


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofRequest:
    """Which ledger, and a hash printed on paper earlier that must still be in it."""

    ledger: str | None = None
    expect: str | None = None


def prove_ledger(request: ProofRequest) -> Proof:
    """Verify a ledger without writing to it.

    Raises
    ------
    LedgerTrouble : there is no such file. A damaged or foreign file is an answer (not whole), not an error.
    """
    path: Path = settings.ledger_path(request.ledger)
    if not path.is_file():
        open_ledger(path, read_only=True)
    try:
        ledger = open_ledger(path, read_only=True)
    except LedgerTrouble as trouble:
        fault = Fault(event_no=None, event_id="", word="", why=trouble.wrong)
        return Proof(ledger=str(path), events=0, devices=0, newest_hash="", expected_found=None, fault=fault)
    try:
        return prove(ledger, expect=request.expect)
    finally:
        ledger.close()


def proof_as_plain(proof: Proof) -> dict[str, Any]:
    """The proof with its verdict spelt out."""
    return {"whole": proof.whole, **plain(proof)}
