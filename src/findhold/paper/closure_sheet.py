"""The page of one closure, to be decided on and signed: what happens, which finds, what is chosen, what is left."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from findhold.paper.pages import PageKind, foot_words, pages_pdf


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureRow:
    """One hold; texts as they are printed.

    chosen, by : what is chosen and by whom, "" where nothing is. ways : name, what to do and its price, to be ticked.
    not_possible : ways that are not, with the reason. cost : lines. open : it still needs a decision.
    """

    find: str
    registered: bool
    what: str
    box: str
    why: str
    chosen: str
    by: str
    ways: tuple[tuple[str, str, str], ...]
    not_possible: tuple[str, ...]
    cost: tuple[str, ...]
    open: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureSheet:
    """All that stands on the page; rows in the order they are printed, what needs a decision first."""

    site: str
    closed: str
    reason: str
    again: str
    summary: str
    who: tuple[str, ...]
    rows: tuple[ClosureRow, ...]
    waits: tuple[str, ...]
    none: tuple[str, ...]
    """Ways that are not possible for any hold, with the reason."""
    questions: tuple[str, ...]
    small: str
    printed_at: datetime
    person: str = ""
    seal: str = ""


def closure_sheet_pdf(sheet: ClosureSheet, *, date: datetime) -> bytes:
    """The page of one closure as a PDF, one A4 page always; rows that do not fit are counted on it.

    Parameters
    ----------
    sheet : what it says.
    date : the document's date with its zone; never the clock.

    Raises
    ------
    BadInput : a letter is not in the fonts, or there is more text than one page can hold and still be read.
    """
    kind = PageKind(
        template="closure_sheet.typ",
        title=f"Closure {sheet.closed}",
        names=(sheet.closed,),
        shorten="the reason of the closure, or what is said of the finds",
    )
    data = {
        "site": sheet.site,
        "closed": sheet.closed,
        "reason": sheet.reason,
        "again": sheet.again,
        "summary": sheet.summary,
        "who": list(sheet.who),
        "rows": [_printed(row) for row in sheet.rows],
        "waits": list(sheet.waits),
        "none": list(sheet.none),
        "questions": list(sheet.questions),
        "small": sheet.small,
        "foot": foot_words(sheet.seal, sheet.printed_at, sheet.person),
        "back": False,
    }
    return pages_pdf(kind, [data], {}, date=date)


def _printed(row: ClosureRow) -> dict[str, object]:
    return {
        "find": row.find,
        "registered": row.registered,
        "what": row.what,
        "box": row.box,
        "why": row.why,
        "chosen": row.chosen,
        "by": row.by,
        "ways": [list(way) for way in row.ways],
        "not": list(row.not_possible),
        "cost": list(row.cost),
        "open": row.open,
    }
