"""The sheet of one round, to be filled in at the store, and the sheet for the store's door; read at arm's length."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from importlib import resources
from typing import Any

from findhold.draw.pdf import compile_pdf
from findhold.errors import BadInput
from findhold.paper.pages import check_letters, foot_words


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """One box of a round, in walking order; texts as they are printed.

    right, act : masses that are right, and beyond which to act, or that this weighing sets the mass. kept_words : what
    its state forbids, "" for nothing. looks : the words to tick.
    """

    where: str
    box: str
    box_id: str
    find: str
    registered: bool
    what: str
    why: str
    right: str
    act: str
    last: str
    keep_until: str
    kept_words: str
    looks: tuple[str, ...]
    urgent: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundSheet:
    """All that stands on the sheet of a round; `do` are pairs of what is found and what to do."""

    store: str
    site: str
    on: str
    who: str
    set_to: str
    wrong: tuple[str, ...]
    rows: tuple[SheetRow, ...]
    not_due: str
    do: tuple[tuple[str, str], ...]
    calls: tuple[tuple[str, str, str], ...]
    """Name, role, number."""
    cautions: tuple[str, ...]
    printed_at: datetime
    person: str = ""
    seal: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorRow:
    """One box on the door's sheet, the earliest keep-until date first."""

    box: str
    find: str
    registered: bool
    what: str
    where: str
    keep_until: str
    limit: str
    opening: str
    looks: str
    """The days of its next looks."""
    kept_words: str
    urgent: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorSheet:
    """All that stands on a store's door: what waits until when, who comes next, whom to call."""

    store: str
    site: str
    set_to: str
    rows: tuple[DoorRow, ...]
    visits: tuple[tuple[str, str, str, str], ...]
    """Day, who, number, boxes."""
    wrong: tuple[str, ...]
    do: tuple[tuple[str, str], ...]
    calls: tuple[tuple[str, str, str], ...]
    cautions: tuple[str, ...]
    printed_at: datetime
    person: str = ""
    seal: str = ""


def round_sheet_pdf(sheet: RoundSheet, *, date: datetime) -> bytes:
    """The sheet of a round, A4 across; as many pages as its boxes take, the headings on each.

    Parameters
    ----------
    sheet : at least one box.
    date : the document's date with its zone; never the clock.

    Raises
    ------
    BadInput : there is no box, or a letter is not in the fonts.
    """
    if not sheet.rows:
        raise BadInput("there is no box to look at", where=sheet.store, do="Print the sheet for another day")
    return _pdf("round_sheet.typ", {"title": f"Round of {sheet.store}", **_printed(sheet)}, date)


def door_sheet_pdf(sheet: DoorSheet, *, date: datetime) -> bytes:
    """The sheet for a store's door, A4 upright.

    Parameters
    ----------
    sheet : at least one box.
    date : the document's date with its zone; never the clock.

    Raises
    ------
    BadInput : there is no box, or a letter is not in the fonts.
    """
    if not sheet.rows:
        raise BadInput("there is no box in this store", where=sheet.store, do="Choose another store")
    data = {
        "title": f"Door sheet of {sheet.store}",
        "heading": sheet.store,
        "site": sheet.site,
        "set_to": sheet.set_to,
        "rows": [
            {
                "box": row.box,
                "find": row.find,
                "registered": row.registered,
                "what": row.what,
                "where": row.where,
                "keep": row.keep_until,
                "limit": row.limit,
                "opening": row.opening,
                "looks": row.looks,
                "kept_words": row.kept_words,
                "urgent": row.urgent,
            }
            for row in sheet.rows
        ],
        "visits": [list(row) for row in sheet.visits],
        **_below(sheet),
    }
    return _pdf("door_sheet.typ", data, date)


def _printed(sheet: RoundSheet) -> dict[str, Any]:
    return {
        "heading": sheet.store,
        "site": sheet.site,
        "on": sheet.on,
        "who": sheet.who,
        "set_to": sheet.set_to,
        "rows": [
            {
                "where": row.where,
                "box": row.box,
                "box_id": row.box_id,
                "find": row.find,
                "registered": row.registered,
                "what": row.what,
                "why": row.why,
                "right": row.right,
                "act": row.act,
                "last": row.last,
                "keep": row.keep_until,
                "kept_words": row.kept_words,
                "looks": list(row.looks),
                "urgent": row.urgent,
            }
            for row in sheet.rows
        ],
        "not_due": sheet.not_due,
        **_below(sheet),
    }


def _below(sheet: RoundSheet | DoorSheet) -> dict[str, Any]:
    return {
        "wrong": list(sheet.wrong),
        "do": [list(pair) for pair in sheet.do],
        "calls": [list(row) for row in sheet.calls],
        "cautions": list(sheet.cautions),
        "foot": foot_words(sheet.seal, sheet.printed_at, sheet.person),
    }


def _pdf(template: str, data: dict[str, Any], date: datetime) -> bytes:
    check_letters(data)
    parts = [resources.files("findhold.paper").joinpath(name) for name in ("house.typ", "round_house.typ", template)]
    return compile_pdf("\n".join(part.read_text(encoding="utf-8") for part in parts), data, date=date)
