"""Prove a ledger: is every event true, and does everything shown follow from the events?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from findhold.errors import LedgerTrouble
from findhold.service import settings
from findhold.service.office import office
from findhold.service.rounds.calendar import unit_calendar
from findhold.service.rounds.telling_whom import not_to_be_called
from findhold.service.wire import plain
from findhold.store.ledger import open_ledger
from findhold.store.prove import Fault, Proof, prove, rebuild


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofRequest:
    """Which ledger, and a hash printed on paper earlier that must still be in it."""

    ledger: str | None = None
    expect: str | None = None
    fold_again: bool = False
    """Fold what is shown again from the events, when they are sound and only that does not follow from them."""


def prove_ledger(request: ProofRequest) -> Proof:
    """Verify a ledger without writing to it, or fold its read tables again when that is asked for and needed.

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
        proof = prove(ledger, expect=request.expect)
    finally:
        ledger.close()
    if request.fold_again and proof.fault is not None and proof.fault.only_folding:
        with office(str(path)) as desk:
            rebuild(desk.ledger, desk.stamp())
        return prove_ledger(replace(request, fold_again=False))
    return proof


def not_to_be_called_in(request: ProofRequest) -> tuple[str, ...]:
    """Duty holders and conservators of a whole ledger without a telephone number, in sentences."""
    with office(str(settings.ledger_path(request.ledger)), read_only=True) as desk:
        return not_to_be_called(unit_calendar(desk, desk.now().date()).roster)


def proof_as_plain(proof: Proof) -> dict[str, Any]:
    """The proof with its verdict spelt out."""
    return {"whole": proof.whole, **plain(proof)}
