"""The finds of a site, a page at a time, with what each waits for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from findhold.errors import BadInput
from findhold.record.events import UNIT, stream_of
from findhold.service.office import Office
from findhold.store.beside.hold_days import hold_days
from findhold.store.lookup import FindsAsked, finds_page, holds_of_finds

PAGE = 50
HELD = {"": None, "boxed": True, "no box": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class FindsRequest:
    """Words to look for, filters ("" for none), and where the page begins (the number of the find before it)."""

    site: str
    words: str = ""
    store: str = ""
    state: str = ""
    held: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FindRow:
    """One find with its box, its date and what stands on it."""

    number: str
    what: str
    context: str
    material: str
    state: str
    store: str
    kind: str
    box_id: str
    keep_until: str | None
    limit: str
    can_keep: bool | None
    alarm: str
    next_at: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FindsFound:
    """One page of finds; `next_after` begins the next one, None on the last. `exact` is the find a number names."""

    rows: tuple[FindRow, ...]
    next_after: str | None
    stores: tuple[str, ...]
    states: tuple[str, ...]
    exact: str | None


def find_finds(office: Office, request: FindsRequest) -> FindsFound:
    """Finds of a site in the order their numbers are counted.

    Raises
    ------
    BadInput : a filter that there is not.
    """
    site = office.site(request.site)
    if request.held not in HELD:
        raise BadInput(
            f"{request.held!r} is no such filter", where="held", limit="boxed, no box", do="Take one of these or none"
        )
    words = request.words.strip()
    wanted = words.strip("[]()<>△").strip()
    exact = office.ledger.state(stream_of("find", site.number, wanted)) if wanted and "/" not in wanted else None
    asked = FindsAsked(
        site=site.number,
        words=words[:100],
        store=request.store,
        state=request.state,
        held=HELD[request.held],
        after=_after(request.after),
        limit=PAGE + 1,
    )
    with office.ledger.reading() as connection:
        finds = finds_page(connection, asked)
        boxed = holds_of_finds(connection, site.number, [find.number for find in finds[:PAGE]])
        holds = {str(one.facts["find"]): one.facts for one in hold_days(connection, site.number, boxed)}
    rows = tuple(_row(find.facts, find.number, holds.get(find.number, {})) for find in finds[:PAGE])
    return FindsFound(
        rows=rows,
        next_after=rows[-1].number if len(finds) > PAGE else None,
        stores=tuple(thing.number for thing in office.ledger.states("store", UNIT)),
        states=("damp", "waterlogged", "dry"),
        exact=exact.number if exact else None,
    )


def _after(number: str) -> tuple[int, str] | None:
    """A number as the index counts it: the digits it begins with, then as written."""
    if not number:
        return None
    digits = ""
    for letter in number.strip():
        if not letter.isdecimal() or not letter.isascii():
            break
        digits += letter
    return min(int(digits[:15] or "0"), 2**53), number


def _row(facts: Mapping[str, Any], number: str, held: Mapping[str, Any]) -> FindRow:
    return FindRow(
        number=number,
        what=facts.get("what") or "",
        context=facts.get("context") or "",
        material=facts.get("material") or "",
        state=facts.get("state") or "",
        store=facts.get("store") or "",
        kind=facts.get("kind") or "registered",
        box_id=held.get("box_id") or "",
        keep_until=held.get("keep_until"),
        limit=held.get("governing_limit") or "",
        can_keep=_yes_no(held.get("can_keep")),
        alarm=held.get("alarm") or "",
        next_at=held.get("next_at"),
    )


def _yes_no(kept: int | None) -> bool | None:
    """A truth as the database keeps it in a text: 1, 0 or nothing."""
    return None if kept is None else bool(kept)
