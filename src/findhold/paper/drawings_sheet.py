"""The drawings of a packed box on A4: sections, plan with cut list and masses, order of work; each page says whose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from importlib import resources
from typing import Any

from findhold.draw.marks import Drawing
from findhold.draw.pdf import compile_pdf, refuse_missing_letters
from findhold.draw.svg import to_svg
from findhold.paper.pages import check_letters, kept_lines
from findhold.paper.section import SectionSpec, plan_drawing, section_drawing
from findhold.paper.steps import StepGrid, StepPicture, steps_drawing

ALWAYS = ("this way up", "never tilt it", "nothing on top")
"""What every box asks for, besides its own flags."""
_WIDE_MM = 186.0
_PAGE_MM = 232.0
"""Height that a page has for its drawing under the head [mm]."""
_GRIDS = tuple(
    StepGrid(width_mm=_WIDE_MM, per_row=row, letters_mm=letters, picture_mm=high)
    for row, letters, high in ((3, 2.4, 38.0), (4, 2.2, 34.0), (4, 2.0, 28.0), (4, 1.8, 20.0))
)
"""How the pictures of the order of work stand on their page; it takes the first it has room for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawingsSheet:
    """What the pages say besides the drawings; texts as they are printed.

    what : the find in words. place : its number, site and box. matter : material and how it is kept. flags : its own.
    cut, masses : one piece, one part a line. date_words : the day the drawings are of.
    """

    what: str
    place: str
    matter: str
    flags: tuple[str, ...]
    cut: tuple[str, ...]
    masses: tuple[tuple[str, str], ...]
    date_words: str


def drawings_pdf(
    sheet: DrawingsSheet, spec: SectionSpec, pictures: tuple[StepPicture, ...], *, date: datetime
) -> bytes:
    """Both sections on one page, plan with cut list and masses on the next, the order of work on the last.

    Parameters
    ----------
    sheet, spec, pictures : the words, the packed box, and every step of the work.
    date : the document's date with its zone.

    Raises
    ------
    BadInput : the parts do not add up, or a letter is not in the fonts.
    """
    pages = (
        (
            section_drawing(spec, width_mm=_WIDE_MM, height_mm=114.0),
            section_drawing(spec, width_mm=_WIDE_MM, height_mm=114.0, across=True),
        ),
        (plan_drawing(spec, width_mm=_WIDE_MM, height_mm=114.0),),
        (_steps(spec, pictures),),
    )
    names = ("Sections", "Plan, cut list, masses", "Order of work")
    rows: list[dict[str, Any]] = []
    figures: dict[str, str] = {}
    for number, (name, drawings) in enumerate(zip(names, pages, strict=True)):
        refuse_missing_letters(drawings)
        named = {f"{number}-{place}": drawing for place, drawing in enumerate(drawings)}
        figures |= {key: to_svg(drawing, paper=True) for key, drawing in named.items()}
        drawn = [_placed(key, drawing) for key, drawing in named.items()]
        over_mm = max(sum(drawing.height_mm for drawing in drawings) - _PAGE_MM, 0.0)
        lists = number == 1
        rows.append(
            {"name": name, "drawn": drawn, "over": over_mm, "lists": lists, "number": f"{number + 1} of {len(names)}"}
        )
    data: Mapping[str, Any] = {
        "title": f"Drawings of {sheet.what}",
        "what": sheet.what,
        "under": kept_lines((sheet.place, sheet.matter)),
        "date": sheet.date_words,
        "flags": " · ".join(flag.upper() for flag in dict.fromkeys((*sheet.flags, *ALWAYS))),
        "cut": list(sheet.cut),
        "masses": [list(row) for row in sheet.masses],
        "pages": rows,
    }
    check_letters(data)
    parts = [resources.files("findhold.paper").joinpath(name) for name in ("house.typ", "drawings_sheet.typ")]
    return compile_pdf("\n".join(part.read_text(encoding="utf-8") for part in parts), data, figures=figures, date=date)


def _steps(spec: SectionSpec, pictures: tuple[StepPicture, ...]) -> Drawing:
    """The order of work at the largest letters that the page has room for; the page grows for the smallest."""
    drawn = (steps_drawing(spec, pictures, grid) for grid in _GRIDS)
    last = None
    for last in drawn:
        if last.height_mm <= _PAGE_MM:
            break
    if last is None:
        raise ValueError("there is no grid to draw the steps on")
    return last


def _placed(name: str, drawing: Drawing) -> dict[str, Any]:
    return {"name": name, "width": drawing.width_mm, "height": drawing.height_mm, "alt": drawing.title}
