"""The forecast sheet: one A4 page a hold; the answer first, then how it comes about, what helps, what it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from findhold.draw.svg import to_svg
from findhold.errors import BadInput
from findhold.paper.charts import HoldCurves, stacked
from findhold.paper.pages import PageKind, foot_words, joined, pages_pdf
from findhold.paper.sheet import LimitRow
from findhold.paper.strip import StripArgs

WIDTH_MM = 186.0
CHART_MM = {"tall": 42.0, "medium": 36.0, "low": 30.0}
"""Heights of one chart on the sheet [mm]; the sheet takes the largest it has room for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionRow:
    """One way out, as it is to be read."""

    do: str
    gain_days: float
    keep_until: str
    work: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastSheet:
    """All that stands on one hold's sheet. Texts are printed as they are; a scenario has no site, find or seal."""

    what: str
    answer: str
    """The answer in one sentence."""
    what_to_do: str
    curves: HoldCurves
    strip: StripArgs
    limits: tuple[LimitRow, ...]
    options: tuple[OptionRow, ...]
    options_note: str
    """Said under the options, or instead of them when there are none."""
    decides: str
    """The assumption that dominates."""
    figures: tuple[str, ...]
    """Water lost and growth at the opening."""
    notes: tuple[str, ...]
    assumptions: tuple[str, ...]
    sources: tuple[str, ...]
    printed_at: datetime
    material: str = ""
    state: str = ""
    place: str = ""
    site_code: str = ""
    site_name: str = ""
    find_number: str = ""
    find_id: str = ""
    box_id: str = ""
    ledger_seal: str = ""
    person: str = ""
    symbol: Literal["triangle", "circle", "diamond", "square", "none"] = "none"


def forecast_sheet_pdf(sheets: Sequence[ForecastSheet], *, date: datetime) -> bytes:
    """The forecast sheets as one PDF, one A4 page a hold, always.

    What gives way when a page is full is stated at the head of forecast_sheet.typ.

    Parameters
    ----------
    sheets : at least one.
    date : the document's date with its zone, from the event of the forecast.

    Returns
    -------
    PDF bytes, built to PDF/A-3b; the same for the same arguments.

    Raises
    ------
    BadInput : there is no sheet; a letter is not in the fonts; a sheet has so much text that it cannot be read on
        one page.
    """
    if not sheets:
        raise BadInput("there is no hold to print a forecast sheet for", do="Forecast at least one hold first")
    rows: list[dict[str, Any]] = []
    figures: dict[str, str] = {}
    for number, sheet in enumerate(sheets):
        key = f"sheet{number}"
        drawn = {
            size: stacked(sheet.curves, sheet.strip, width_mm=WIDTH_MM, height_mm=height)
            for size, height in CHART_MM.items()
        }
        figures |= {
            f"{key}-{size}-{name}": to_svg(drawing, paper=True)
            for size, parts in drawn.items()
            for name, drawing in parts.items()
        }
        charts = [[name, f"{drawing.title}. {drawing.description}"] for name, drawing in drawn["tall"].items()]
        rows.append({**_printed(sheet), "figure": key, "charts": charts})
    kind = PageKind(
        template="forecast_sheet.typ",
        title=joined(("Forecast sheets", *dict.fromkeys(sheet.site_code for sheet in sheets)), " "),
        names=tuple(f"forecast sheet of {sheet.box_id or sheet.what}" for sheet in sheets),
        shorten="the title, the assumptions or the notes",
    )
    return pages_pdf(kind, rows, figures, date=date)


def _printed(sheet: ForecastSheet) -> dict[str, Any]:
    """The sheet as the template takes it: texts and rows only."""
    return {
        "heading": "Forecast sheet",
        "symbol": sheet.symbol,
        "find_number": sheet.find_number,
        "what": sheet.what,
        "matter": joined((sheet.material, sheet.state), ", "),
        "place": sheet.place,
        "site": joined((sheet.site_code, sheet.site_name), " "),
        "ids": joined((sheet.find_id, sheet.box_id), " · "),
        "answer": sheet.answer,
        "what_to_do": sheet.what_to_do,
        "limits": [[row.name, row.low, row.best, row.high, row.source] for row in sheet.limits],
        "options": [[row.do, _gain(row.gain_days), row.keep_until, row.work] for row in sheet.options],
        "options_note": sheet.options_note,
        "decides": sheet.decides,
        "figures": list(sheet.figures),
        "notes": list(sheet.notes),
        "assumptions": [text.rstrip(". ") for text in sheet.assumptions],
        "sources": [text.rstrip(". ") for text in sheet.sources],
        "foot": foot_words(sheet.ledger_seal, sheet.printed_at, sheet.person),
    }


def _gain(days: float) -> str:
    """Days gained: a tenth below 10, whole above, and plainly none."""
    if days < 0.05:
        return "none"
    return f"{days:.1f}" if days < 9.95 else f"{days:.0f}"
