"""The sheet to carry when a store has failed: which box goes where, in what order, whom to call, blanks to write in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from importlib import resources
from typing import Any

from findhold.draw.pdf import compile_pdf
from findhold.errors import BadInput
from findhold.paper.pages import check_letters, foot_words


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryRow:
    """One box to carry; texts as they are printed. rank : the order to carry."""

    rank: str
    box: str
    box_id: str
    find: str
    registered: bool
    what: str
    signs: str
    stands: str
    to_store: str
    to_shelf: str
    spot: str
    stays: str
    keeps: str
    mass: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StayRow:
    """One box that has nowhere to go: why, and the least bad course."""

    box: str
    box_id: str
    find: str
    registered: bool
    what: str
    signs: str
    stands: str
    mass: str
    why: tuple[str, ...]
    do: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillSheet:
    """All that stands on the sheet of a failure; thermometers are the stores to be read before the first box goes."""

    store: str
    site: str
    off: str
    warm: str
    rows: tuple[CarryRow, ...]
    staying: tuple[StayRow, ...]
    staying_proof: str
    first: tuple[str, ...]
    after: tuple[str, ...]
    call_first: tuple[str, str, str]
    calls: tuple[tuple[str, str, str], ...]
    thermometers: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    printed_at: datetime
    person: str = ""
    seal: str = ""


def drill_sheet_pdf(sheet: DrillSheet, *, date: datetime) -> bytes:
    """The sheet of a failure, A4 across; as many pages as its boxes take, the headings on each.

    Parameters
    ----------
    sheet : at least one box.
    date : the document's date with its zone; never the clock.

    Raises
    ------
    BadInput : there is no box, or a letter is not in the fonts.
    """
    if not sheet.rows and not sheet.staying:
        raise BadInput(
            "no box stands in it, so there is nothing to carry", where=sheet.store, do="Choose another store"
        )
    told: dict[str, Any] = asdict(sheet)
    data: Mapping[str, Any] = {
        **{name: value for name, value in told.items() if name not in ("printed_at", "person", "seal")},
        "title": f"{sheet.store} has failed",
        "foot": foot_words(sheet.seal, sheet.printed_at, sheet.person),
    }
    check_letters(data)
    names = ("house.typ", "round_house.typ", "drill_sheet.typ")
    parts = [resources.files("findhold.paper").joinpath(name) for name in names]
    return compile_pdf("\n".join(part.read_text(encoding="utf-8") for part in parts), data, date=date)
