"""The looks that a box asks for beside its planned checks: its store failed, or something was seen amiss in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from itertools import pairwise
from typing import Any

from findhold.check.rounds import Check, looks_asked
from findhold.service.ledger_case import Shelves, stays_of_find
from findhold.store.ledger import Thing


def looks_of(find: Thing, shelf: Shelves, facts: Mapping[str, Any]) -> tuple[Check, ...]:
    """The looks that failures and sights ask for of a hold, by its facts; those that a visit made are left out."""
    if not facts.get("packed_at"):
        return ()
    packed_at = datetime.fromisoformat(facts["packed_at"])
    visits = [datetime.fromisoformat(row["at"]) for name in ("weighings", "looks") for row in facts.get(name, ())]
    store = find.facts.get("store")
    return looks_asked(
        failures=tuple(_failures(find, shelf, packed_at)),
        alarm=str(facts.get("alarm") or ""),
        visits=[at for at in visits if at >= packed_at],
        zone=str(shelf.site.facts["zone"]),
        closed=tuple(closure for name, closure in shelf.closures if name in (None, store)),
    )


def _failures(find: Thing, shelf: Shelves, packed_at: datetime) -> Iterator[tuple[str, datetime]]:
    """Failures typed by hand of the stores in which a box stood then, in words, and when each became known."""
    stays = stays_of_find(find, shelf)
    ends = [after.since for _, after in pairwise(stays)] + [None]
    for stay, left in zip(stays, ends, strict=True):
        begun = packed_at if stay.since is None else max(packed_at, stay.since)
        for failure in shelf.records[stay.store].failures if stay.store in shelf.records else ():
            known_at = failure.known_at or shelf.now
            stood = (failure.ends is None or failure.ends > begun) and (left is None or left > failure.begins)
            if stood and known_at >= packed_at:
                yield f"{stay.store} {'is' if failure.ends is None else 'was'} off", known_at
