"""The packing sheet: one A4 page a box, read at arm's length, ticked and signed; on its back the order of work."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any, Literal

from findhold.draw.marks import Drawing, Text
from findhold.draw.svg import to_svg
from findhold.errors import BadInput
from findhold.paper.cautions import sheet_cautions
from findhold.paper.dimensions import written_mm
from findhold.paper.pages import PageKind, foot_words, joined, kept_lines, pages_pdf
from findhold.paper.section import SectionSpec, plan_drawing, section_drawing
from findhold.paper.steps import StepGrid, StepPicture, steps_drawing
from findhold.paper.strip import StripArgs, strip_drawing
from findhold.rounding import band_places, mass_places, told_band, told_mass, told_parts, told_span

__all__ = ["CheckRow", "LimitRow", "PackingSheet", "StripArgs", "packing_sheet_pdf"]

STEP_GRIDS = (
    StepGrid(width_mm=186.0, letters_mm=2.25, picture_mm=30.0),
    StepGrid(width_mm=186.0, letters_mm=2.1, picture_mm=26.0),
    StepGrid(width_mm=186.0, letters_mm=1.9, picture_mm=22.0),
    StepGrid(width_mm=186.0, letters_mm=1.8, picture_mm=15.0),
    StepGrid(width_mm=186.0, letters_mm=1.8, picture_mm=10.0),
)
"""How the pictures of the order of work stand on the back; it takes the first it has room for."""
BACK_MM = {"large": (120.0, 76.0), "medium": (120.0, 64.0), "small": (120.0, 54.0)}
"""The sizes of cross section and plan on the back [mm]."""
SECTION_MM = {"large": (120.0, 88.0), "medium": (120.0, 72.0), "small": (120.0, 60.0)}
"""The sizes of the section on the sheet [mm], all at true scale; the sheet takes the largest it has room for."""
STRIP_MM = 186.0
MOST_ASSUMPTIONS = 4
"""So many assumptions stand on the first page of a sheet with a back."""
_LEAST_SECTION_MM = 36.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """One limit of the wait: dates as they are to be read, and where the limit comes from."""

    name: str
    low: str
    best: str
    high: str
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRow:
    """One planned check: its day as it is to be read, and the mass to expect."""

    on: str
    low_kg: float | None = None
    best_kg: float | None = None
    high_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PackingSheet:
    """All that stands on one box's sheet. Texts are printed as they are; numbers are rounded here."""

    site_code: str
    site_name: str
    find_number: str
    find_id: str
    box_id: str
    context: str
    what: str
    material: str
    state: str
    box_name: str
    box_n: int
    box_of: int
    layers: tuple[str, ...]
    """The packing from the floor up, one row each, as it is to be laid."""
    sheets: int
    dose_g_per_sheet: float
    dose_g: float
    dose_by_hand: bool = False
    """The wrapping is to be damp and no dose can be computed for it."""
    dose_note: str
    masses: tuple[tuple[str, float | None], ...]
    """What the packed box is made up of, in words with its mass [kg]; None = not known, left to be weighed."""
    packed_kg: float | None
    packed_spread_kg: tuple[float, float] = (0.0, 0.0)
    """How much less and how much more it may weigh as packed, by the water filled in; the masses of the checks hold
    that too, what a box loses after it was weighed does not."""
    weighed: bool = False
    """Whether the box was weighed: until then only how much lighter it becomes is known well, not its mass."""
    steps: tuple[str, ...]
    conflicts: tuple[str, ...]
    controls: tuple[str, ...]
    overrides: tuple[str, ...]
    """Each with the person who overrode and the reason."""
    limits: tuple[LimitRow, ...]
    keep_until: str
    governing: str
    can_keep: str
    what_to_do: str
    checks: tuple[CheckRow, ...]
    cautions: tuple[str, ...]
    flags: tuple[str, ...]
    assumptions: tuple[str, ...]
    """The most telling first."""
    sources: tuple[str, ...]
    ledger_seal: str
    printed_at: datetime
    person: str
    section: SectionSpec
    strip: StripArgs | None = None
    analyses: tuple[str, ...] = ()
    symbol: Literal["triangle", "circle", "diamond", "square", "none"] = "triangle"
    pictures: tuple[StepPicture, ...] = ()
    """The order of work; with pictures, or with lines on lift, cushion or first aid, the sheet has a back."""
    lift: tuple[str, ...] = ()
    cushion: tuple[str, ...] = ()
    cut: tuple[str, ...] = ()
    """The cut list of foam and board."""
    first_aid: tuple[str, ...] = ()

    @property
    def has_back(self) -> bool:
        """Whether there is a second page."""
        return bool(self.pictures or self.lift or self.cushion or self.cut or self.first_aid)


def packing_sheet_pdf(sheets: Sequence[PackingSheet], *, date: datetime) -> bytes:
    """The packing sheets as one PDF: one A4 page a box, and a second as its back where it has pictures; never more.

    What gives way when a page is full is stated at the head of sheet.typ; the figures keep their scale.

    Parameters
    ----------
    sheets : at least one.
    date : the document's date with its zone, from the event that planned the boxes; never the clock.

    Returns
    -------
    PDF bytes, built to PDF/A-3b; the same for the same arguments.

    Raises
    ------
    BadInput : there is no sheet; a section does not add up; a letter is not in the fonts; a sheet has so much
        text that it cannot be read on one page.
    """
    if not sheets:
        raise BadInput("there is no box to print a packing sheet for", do="Plan at least one box first")
    rows: list[dict[str, Any]] = []
    figures: dict[str, str] = {}
    for number, sheet in enumerate(sheets):
        key = f"sheet{number}"
        figures |= _figures(sheet, key)
        rows.append(_printed(sheet, key))
    codes = " ".join(dict.fromkeys(sheet.site_code for sheet in sheets))
    kind = PageKind(
        template="sheet.typ",
        title=f"Packing sheets {codes}",
        names=tuple(f"packing sheet of {sheet.box_id}" for sheet in sheets),
        shorten="steps, conflicts, cautions or the list of checks",
    )
    return pages_pdf(kind, rows, figures, date=date)


def _figures(sheet: PackingSheet, key: str) -> dict[str, str]:
    """The section at each size that it can be drawn at, and the strip."""
    figures = _at_sizes(sheet.section, f"{key}-", SECTION_MM, section_drawing)
    if sheet.strip is not None:
        figures[f"{key}-strip"] = to_svg(strip_drawing(sheet.strip, width_mm=STRIP_MM), paper=True)
    if sheet.has_back:
        across = partial(section_drawing, across=True)
        figures |= _at_sizes(sheet.section, f"{key}-across-", BACK_MM, across)
        figures |= _at_sizes(sheet.section, f"{key}-plan-", BACK_MM, plan_drawing)
    if sheet.pictures:
        for number, grid in enumerate(STEP_GRIDS):
            drawn = steps_drawing(sheet.section, sheet.pictures, grid)
            figures[f"{key}-steps-{number}"] = to_svg(drawn, paper=True)
    return figures


def _at_sizes(
    spec: SectionSpec, begin: str, sizes: Mapping[str, tuple[float, float]], draw: Callable[..., Drawing]
) -> dict[str, str]:
    """A drawing as SVG at each size that it can be drawn at; where it cannot, the smallest that it can."""
    drawn: dict[str, Drawing] = {}
    # what does not fit the largest of its sizes is drawn on more paper
    for name, (width, height) in {**sizes, "more": (sizes["large"][0], 1.4 * sizes["large"][1])}.items():
        if name == "more" and drawn:
            break
        try:
            drawn[name] = _trimmed(spec, (width, height), draw)
        except BadInput:
            if name == "more":
                raise
    smallest = list(drawn.values())[-1]
    return {f"{begin}{name}": to_svg(drawn.get(name, smallest), paper=True) for name in sizes}


def _trimmed(spec: SectionSpec, size_mm: tuple[float, float], draw: Callable[..., Drawing]) -> Drawing:
    """A drawing at the scale of a given height, on no more paper than it needs at that scale and with its letters."""
    width_mm, height_mm = size_mm
    drawing = draw(spec, width_mm=width_mm, height_mm=height_mm)
    too_low = _LEAST_SECTION_MM
    while drawing.height_mm - too_low > 2.0:
        middle = (too_low + drawing.height_mm) / 2
        try:
            lower = draw(spec, width_mm=width_mm, height_mm=middle)
        except BadInput:
            too_low = middle
            continue
        if lower.title == drawing.title and _least_letters_mm(lower) >= _least_letters_mm(drawing):
            drawing = lower
        else:
            too_low = middle
    return drawing


def _least_letters_mm(drawing: Drawing) -> float:
    return min(mark.size_mm for mark in drawing.marks if isinstance(mark, Text))


def _printed(sheet: PackingSheet, key: str) -> dict[str, Any]:
    """The sheet as the template takes it: texts and rows only."""
    return {
        "figure": key,
        "heading": "Packing sheet",
        "symbol": sheet.symbol,
        "find_number": sheet.find_number,
        "what": sheet.what,
        "matter": joined((sheet.material, sheet.state), ", "),
        "place": joined((f"context {sheet.context}" if sheet.context else "", *sheet.analyses), " · "),
        "site": joined((sheet.site_code, sheet.site_name), " "),
        "ids": joined((sheet.find_id, sheet.box_id), " · "),
        "box": sheet.box_name.replace(" × ", "\u00a0×\u00a0"),
        "box_under": [f"{sheet.box_id}, box {sheet.box_n} of {sheet.box_of}", _sides(sheet.section)],
        "dose": _dose(sheet),
        "dose_under": kept_lines((_dose_sum(sheet), sheet.dose_note)),
        "keep_until": sheet.keep_until,
        "keep_under": kept_lines((sheet.governing, sheet.can_keep)),
        "what_to_do": sheet.what_to_do,
        "flags": " · ".join(flag.upper() for flag in sheet.flags),
        "layers": list(sheet.layers),
        "masses": _masses(sheet),
        "steps": list(sheet.steps),
        "conflicts": list(sheet.conflicts),
        "controls": list(sheet.controls),
        "overrides": list(sheet.overrides),
        "limits": [[row.name, row.low, row.best, row.high, row.source] for row in sheet.limits],
        **_checks(sheet),
        "cautions": list(sheet_cautions(sheet.cautions, sheet.flags)),
        **_assumed(sheet),
        "sources": [text.rstrip(". ") for text in sheet.sources],
        "foot": foot_words(sheet.ledger_seal, sheet.printed_at, sheet.person),
        "strip": sheet.strip is not None,
        **_back(sheet),
        "strip_alt": f"Strip of time, keep until {sheet.keep_until}",
    }


def _assumed(sheet: PackingSheet) -> dict[str, Any]:
    """Assumptions, the most telling on the first page; the rest on its back, where it has one."""
    said = [text.rstrip(". ") for text in sheet.assumptions]
    front = MOST_ASSUMPTIONS if sheet.has_back else len(said)
    return {"assumptions": said[:front], "more_assumptions": said[front:]}


def _back(sheet: PackingSheet) -> dict[str, Any]:
    """What the second page prints besides what stands on the first."""
    return {
        "section_alt": f"Section through {sheet.box_name}",
        "back": sheet.has_back,
        "steps_drawn": bool(sheet.pictures),
        "lift": list(sheet.lift),
        "cushion": list(sheet.cushion),
        "cut": list(sheet.cut),
        "first_aid": list(sheet.first_aid),
    }


def _sides(section: SectionSpec) -> str:
    """The room kept free beside the block, in words."""
    return f"{written_mm(section.side_l_mm)} mm clear at the ends, {written_mm(section.side_w_mm)} at the sides"


def _dose(sheet: PackingSheet) -> str:
    """The dose in the words that are read from afar."""
    if sheet.sheets and sheet.dose_g_per_sheet > 0:
        return f"{_grams(sheet.dose_g_per_sheet)} g a sheet"
    if sheet.dose_by_hand:
        return "by hand"
    return f"{_grams(sheet.dose_g)} g water" if sheet.dose_g > 0 else "no water"


def _dose_sum(sheet: PackingSheet) -> str:
    """How many sheets, and the water in all; empty where there are no sheets."""
    word = "sheet" if sheet.sheets == 1 else "sheets"
    if sheet.sheets and sheet.dose_g > 0:
        return f"{sheet.sheets} {word}, {_grams(sheet.dose_g)} g of water in all"
    return f"{sheet.sheets} {word}" if sheet.sheets else ""


def _grams(value: float) -> str:
    """Grams as a bench balance shows them: a tenth below 100 g, whole above."""
    return f"{value:.1f}" if value < 100 else f"{value:.0f}"


def _masses(sheet: PackingSheet) -> list[list[str]]:
    """The parts and their total, as printed adding up exactly; nothing beside what is not known."""
    known = [mass_kg for _, mass_kg in sheet.masses if mass_kg is not None]
    told = iter(told_parts(known, mass_places(sheet.packed_kg or sum(known))))
    rows = [[name, "" if mass_kg is None else f"{next(told)} kg"] for name, mass_kg in sheet.masses]
    return [*rows, ["packed, lid on", _packed_words(sheet)]]


def _packed_words(sheet: PackingSheet) -> str:
    """The packed mass as planned, with its edges where the water filled in is not known before."""
    if sheet.packed_kg is None:
        return ""
    less, more = sheet.packed_spread_kg
    edges = f" ({told_span(sheet.packed_kg - less, sheet.packed_kg + more)})" if less or more else ""
    return f"{told_mass(sheet.packed_kg)}{edges}"


def _checks(sheet: PackingSheet) -> dict[str, Any]:
    """The checks: masses to expect, or how much lighter than it will be weighed at packing."""
    if sheet.weighed or sheet.packed_kg is None:
        return {
            "checks_head": "on; low · best · high, kg",
            "checks": [[row.on, _band(row)] for row in sheet.checks],
        }
    return {
        "checks_head": "on; grams lighter than weighed at packing: least · best · most",
        "checks": [[row.on, _lighter(row, sheet.packed_kg, sheet.packed_spread_kg)] for row in sheet.checks],
    }


def _lighter(row: CheckRow, packed_kg: float, spread_kg: tuple[float, float]) -> str:
    """How many grams lighter than weighed at packing a check finds it: least, best and most, by loss and balance."""
    if row.low_kg is None or row.best_kg is None or row.high_kg is None:
        return ""
    low_kg, high_kg = row.low_kg + spread_kg[0], row.high_kg - spread_kg[1]
    places = max(band_places(low_kg, high_kg) - 3, 0)
    lost_g = (1000.0 * (packed_kg - mass_kg) for mass_kg in (high_kg, row.best_kg, low_kg))
    return " · ".join(f"{round(grams, places) + 0.0:.{places}f}" for grams in lost_g)


def _band(row: CheckRow) -> str:
    """A check's masses: low, best and high, or the best alone."""
    if row.best_kg is None:
        return ""
    if row.low_kg is None or row.high_kg is None:
        return f"{row.best_kg:.3f}"
    return " · ".join(told_band(row.low_kg, row.best_kg, row.high_kg))
