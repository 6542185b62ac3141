"""Sheets of one A4 page: typeset after the house template, letters checked, refused when too full to be read."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib import resources
from typing import Any

from findhold.draw.lettering import missing_letters
from findhold.draw.pdf import compile_pdf
from findhold.errors import BadInput


@dataclass(frozen=True, slots=True, kw_only=True)
class PageKind:
    """Which sheet is printed: its template, the document's title, each sheet's name, and what may be shortened."""

    template: str
    title: str
    names: tuple[str, ...]
    shorten: str


def pages_pdf(
    kind: PageKind, rows: Sequence[Mapping[str, Any]], figures: Mapping[str, str], *, date: datetime
) -> bytes:
    """Sheets as one PDF, one A4 page each, always.

    Parameters
    ----------
    kind : the sheet.
    rows : what each sheet prints, as its template takes it; texts and lists only.
    figures : SVG texts by name.
    date : the document's date with its zone; never the clock.

    Returns
    -------
    PDF bytes, built to PDF/A-3b; the same for the same arguments.

    Raises
    ------
    BadInput : a letter is not in the fonts, or a sheet has so much text that it cannot be read on one page.
    """
    check_letters(rows)
    parts = [resources.files("findhold.paper").joinpath(name) for name in ("house.typ", kind.template)]
    template = "\n".join(part.read_text(encoding="utf-8") for part in parts)
    try:
        return compile_pdf(template, {"title": kind.title, "sheets": list(rows)}, figures=figures, date=date)
    except RuntimeError as refusal:
        too_long = re.search(r"sheet-too-long:(\d+)", str(refusal))
        if too_long is None:
            raise
        raise BadInput(
            "there is more text than one page can hold and still be read",
            where=kind.names[int(too_long[1])],
            limit="one A4 page each",
            do=f"Shorten {kind.shorten}",
        ) from refusal


def foot_words(seal: str, printed_at: datetime, person: str) -> str:
    """Who printed a sheet, when, and after which event of the ledger."""
    printed = f"printed {printed_at:%Y-%m-%d %H:%M %z}".rstrip()
    words = f"ledger seal {seal}" if seal else ""
    return joined((words, f"{printed} by {person}" if person else printed), " · ")


def joined(parts: Sequence[str], between: str) -> str:
    """The parts that are not empty, with something between them."""
    return between.join(part for part in parts if part)


def kept_lines(lines: Sequence[str]) -> list[str]:
    """The lines that are not empty."""
    return [line for line in lines if line]


def check_letters(value: object) -> None:
    """Refuse letters the fonts cannot draw, before anything is typeset."""
    lacking = "".join(dict.fromkeys("".join(missing_letters(text.replace("\n", " ")) for text in _texts(value))))
    if lacking:
        raise BadInput(
            f"these letters cannot be printed with the fonts that come with the program: {lacking}",
            do="Write the text in Latin, Greek or Cyrillic letters",
        )


def _texts(value: object) -> list[str]:
    """Every text inside nested rows."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, Mapping):
        return [text for part in value.values() for text in _texts(part)]
    if isinstance(value, list | tuple):
        return [text for part in value for text in _texts(part)]
    return []
