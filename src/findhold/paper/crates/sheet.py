"""Crate sheets: for each crate the contents list, the plan of every layer and the loading order; one PDF a load."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from importlib import resources
from typing import Any

from findhold.draw.pdf import compile_pdf
from findhold.draw.svg import to_svg
from findhold.errors import BadInput
from findhold.paper.crates.drawing import CratePlan, layer_drawing
from findhold.paper.crates.shared import SharedPlan, shared_drawing
from findhold.paper.pages import check_letters, foot_words

_WIDTHS_MM = (131.0, 90.0, 75.0)
"""Widths that layers are drawn at, the largest that keeps a crate on one page."""
_PAGE_MM, _HEAD_MM, _ROW_MM = 273.0, 58.0, 5.4
"""Height of a page inside its margins, of what stands above the layers, and of a row of the contents list."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContentRow:
    """One line of a contents list, in loading order; texts as they are printed."""

    order: int
    number: str
    what: str
    context: str
    state: str
    mass_kg: float
    layer: int
    stands_on: str
    heed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CrateSheet:
    """All that stands on one crate's sheet."""

    number: int
    of: int
    plan: CratePlan
    rows: tuple[ContentRow, ...]
    company: str
    contexts: str
    gross_kg: float
    net_kg: float
    limit_kg: float
    limit_why: str
    fill: float
    """Share of its inside that is taken up [fraction]."""
    centre: str
    """Where the centre of mass lies, in words."""
    why: str
    gaps: tuple[str, ...] = ()
    """What to fill the empty room with, a sentence for each layer that has some."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedSheet:
    """A shared box: its plan to draw, or None with the reasons; dividers to cut and finds in words."""

    name: str
    plan: SharedPlan | None
    cut: tuple[str, ...]
    finds: tuple[str, ...]
    trouble: tuple[str, ...]
    masses: tuple[str, ...] = ()
    work: tuple[str, ...] = ()
    """The order of work, numbered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CrateSheets:
    """A load: its title, its crates, what is left over (number and words), and what it rests on."""

    title: str
    place: str
    sheets: tuple[CrateSheet, ...]
    left_over: tuple[tuple[str, str, str], ...]
    shared: tuple[SharedSheet, ...] = ()
    shelves: tuple[tuple[str, str, str], ...] = ()
    """Each shelf: its name, what stands on it, and its load."""
    answer: str
    wishes: tuple[str, ...]
    remarks: tuple[str, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    printed_at: datetime
    person: str = ""
    seal: str = ""


def crate_sheets_pdf(load: CrateSheets, *, date: datetime) -> bytes:
    """The sheets of a load as one PDF: a summary page, then each crate from a page of its own.

    Parameters
    ----------
    load : at least one crate, or at least one thing left over.
    date : the document's date with its zone; never the clock.

    Raises
    ------
    BadInput : there is nothing to print, or a letter is not in the fonts.
    """
    if not (load.sheets or load.left_over or load.shared or load.shelves):
        raise BadInput("there is no crate to print", do="Load at least one thing")
    figures: dict[str, str] = {}
    for sheet in load.sheets:
        for layer in range(1, sheet.plan.layers + 1):
            drawn = layer_drawing(sheet.plan, layer, width_mm=_drawn_mm(sheet))
            figures[f"{sheet.number}-{layer}"] = to_svg(drawn, paper=True)
    for place, box in enumerate(load.shared):
        if box.plan is not None:
            figures[f"shared-{place}"] = to_svg(shared_drawing(box.plan), paper=True)
    data = _printed(load)
    check_letters(data)
    template = "\n".join(
        resources.files("findhold.paper").joinpath(*path).read_text(encoding="utf-8")
        for path in (("house.typ",), ("crates", "sheet.typ"))
    )
    return compile_pdf(template, data, figures=figures, date=date)


def _printed(load: CrateSheets) -> dict[str, Any]:
    return {
        "title": f"Crates: {load.title}",
        "heading": load.title,
        "place": load.place,
        "answer": load.answer,
        "crates": [_crate(sheet) for sheet in load.sheets],
        "shared": [_shared(place, box) for place, box in enumerate(load.shared)],
        "shelves": [list(row) for row in load.shelves],
        "left": [list(row) for row in load.left_over],
        "wishes": list(load.wishes),
        "remarks": list(load.remarks),
        "assumptions": list(load.assumptions),
        "cautions": list(load.cautions),
        "foot": foot_words(load.seal, load.printed_at, load.person),
    }


def _shared(place: int, box: SharedSheet) -> dict[str, Any]:
    drawing = None if box.plan is None else shared_drawing(box.plan)
    return {
        "name": box.name,
        "figure": "" if drawing is None else f"shared-{place}",
        "width": 0.0 if drawing is None else drawing.width_mm,
        "alt": "" if drawing is None else drawing.title,
        "cut": list(box.cut),
        "finds": list(box.finds),
        "trouble": list(box.trouble),
        "masses": list(box.masses),
        "work": list(box.work),
    }


def _drawn_mm(sheet: CrateSheet) -> float:
    """How wide the layers are drawn: as large as lets all of them stand on the crate's one page, if that can be."""
    room_mm = _PAGE_MM - _HEAD_MM - _ROW_MM * (len(sheet.rows) + 2 * len(sheet.gaps))
    for wide_mm in _WIDTHS_MM:
        if sheet.plan.layers * (layer_drawing(sheet.plan, 1, width_mm=wide_mm).height_mm + 3.0) <= room_mm:
            return wide_mm
    return _WIDTHS_MM[0]


def _crate(sheet: CrateSheet) -> dict[str, Any]:
    wide_mm = _drawn_mm(sheet)
    drawn = {layer: layer_drawing(sheet.plan, layer, width_mm=wide_mm) for layer in range(1, sheet.plan.layers + 1)}
    return {
        "number": str(sheet.number),
        "of": str(sheet.of),
        "name": sheet.plan.name,
        "company": sheet.company,
        "contexts": sheet.contexts,
        "things": _things(len(sheet.rows)),
        "gross": f"{sheet.gross_kg:.1f} kg",
        "net": f"{sheet.net_kg:.1f} kg",
        "limit": f"{sheet.limit_kg:.3g} kg, {sheet.limit_why}",
        "fill": f"{sheet.fill:.0%} of its room",
        "centre": sheet.centre,
        "why": sheet.why,
        "gaps": list(sheet.gaps),
        "rows": [_cells(row) for row in sheet.rows],
        "layers": [
            {
                "figure": f"{sheet.number}-{layer}",
                "width": drawing.width_mm,
                "alt": drawing.title,
                "rows": [_steps(row) for row in sheet.rows if row.layer == layer],
            }
            for layer, drawing in drawn.items()
        ],
    }


def _things(count: int) -> str:
    return "1 thing" if count == 1 else f"{count} things"


def _cells(row: ContentRow) -> list[str]:
    mass = f"{row.mass_kg:.2f}"
    return [str(row.order), row.number, row.what, row.context, row.state, mass, str(row.layer), row.heed]


def _steps(row: ContentRow) -> list[str]:
    return [str(row.order), row.number, row.what, f"{row.mass_kg:.1f}\u00a0kg", row.stands_on, row.heed]
