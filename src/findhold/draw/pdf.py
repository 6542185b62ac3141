"""Pages to PDF bytes: built to PDF/A-3b, own fonts only, the same bytes for the same data and date.

Data reaches a template only as JSON through the engine's inputs, so that no typed text can act as markup. A
template finds `data` (the dictionary handed in), `drawing(name, ...)` (a named SVG as an image) and
`lettering(texts, x, y)` (level lines of text as `text_rows` makes them) defined.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from functools import cache
from importlib import resources
from typing import Any, Literal

from findhold.draw.lettering import missing_in, text_width_mm
from findhold.draw.marks import Drawing, Text
from findhold.draw.svg import to_svg
from findhold.errors import BadInput

PRELUDE = """\
#let data = json(bytes(sys.inputs.data))
#let figures = json(bytes(sys.inputs.figures))
#let drawn-on = json(bytes(sys.inputs.date))
#let drawing(name, ..rest) = image(bytes(figures.at(name)), format: "svg", ..rest)
#set document(title: data.at("title", default: none), date: datetime(
  year: drawn-on.at(0), month: drawn-on.at(1), day: drawn-on.at(2),
  hour: drawn-on.at(3), minute: drawn-on.at(4), second: drawn-on.at(5),
))
#set text(font: "DejaVu Sans", size: 8.5pt, fill: black, lang: "en", region: "gb")
#let lettering(texts, x_mm, y_mm) = {
  set text(top-edge: "baseline", bottom-edge: "baseline", kerning: false, ligatures: false)
  for t in texts {
    place(top + left, dx: (x_mm + t.x) * 1mm, dy: (y_mm + t.y) * 1mm, text(
      size: t.size * 1mm, weight: t.weight, stretch: t.stretch * 1%, fill: rgb(t.colour), t.text))
  }
}
"""

SHEETS = """\
#set page(margin: 0mm)
#for (number, sheet) in data.sheets.enumerate() {
  page(width: sheet.width_mm * 1mm, height: sheet.height_mm * 1mm, drawing(
    str(number), width: sheet.width_mm * 1mm, height: sheet.height_mm * 1mm, alt: sheet.title))
}
"""

PDF_PAGES = """\
#let file = bytes(json(bytes(sys.inputs.pdf)))
#set page(width: auto, height: auto, margin: 0mm, fill: white)
#for number in json(bytes(sys.inputs.pages)) { page(image(file, format: "pdf", page: number)) }
"""


def compile_pdf(
    template: str,
    data: Mapping[str, Any],
    *,
    figures: Mapping[str, str] | None = None,
    date: datetime,
    tagged: bool = True,
) -> bytes:
    """Typeset a template with its data and figures.

    Parameters
    ----------
    template : typst source from the package, never built from typed text; may use `data` and `drawing(name)`.
    data : what the template prints; plain JSON values. `title`, when there, becomes the document's title.
    figures : SVG texts by name.
    date : the document's date with its zone, taken from the event; never the clock.
    tagged : with the structure that screen readers use; a sheet of labels has none.

    Returns
    -------
    PDF bytes, built to PDF/A-3b; the same for the same arguments.

    Raises
    ------
    BadInput: a letter is not in the shipped fonts.
    """
    if date.tzinfo is None:
        raise ValueError("a document's date needs its time zone")
    compiler = _compiler(PRELUDE + template, data, figures or {}, date)
    stamp = int(date.timestamp())
    return _compiled(compiler, pdf_standards=["a-3b"], format="pdf", timestamp=stamp, pdf_tags=tagged)[0]


def text_rows(texts: Iterable[Text]) -> list[dict[str, Any]]:
    """Level, unhaloed text marks as data for a template's `lettering`: smaller and faster than text within an SVG."""
    rows = []
    for t in texts:
        if t.turn_deg or t.halo:
            raise ValueError("turned or haloed text belongs in the SVG")
        width = text_width_mm(t.text, t.size_mm, bold=t.bold, condensed=t.condensed) if t.anchor != "start" else 0.0
        row = {
            "x": t.at[0] - (width if t.anchor == "end" else width / 2),
            "y": t.at[1],
            "size": t.size_mm,
            "weight": 700 if t.bold else 400,
            "stretch": 87.5 if t.condensed else 100.0,
            "colour": t.colour,
            "text": t.text,
        }
        rows.append(row)
    return rows


def drawing_pdf(drawings: Sequence[Drawing], *, title: str, date: datetime) -> bytes:
    """Drawings as a PDF, each on a page of its own size at true scale, text as text.

    Parameters
    ----------
    drawings : at least one.
    title : the document's title.
    date : the document's date with its zone.

    Raises
    ------
    BadInput: there is no drawing, or a letter is not in the shipped fonts.
    """
    if not drawings:
        raise BadInput("there is nothing to draw, so there is no PDF", do="Choose at least one thing to print")
    refuse_missing_letters(drawings)
    sheets = [{"width_mm": d.width_mm, "height_mm": d.height_mm, "title": d.title} for d in drawings]
    figures = {str(number): to_svg(drawing, paper=True) for number, drawing in enumerate(drawings)}
    return compile_pdf(SHEETS, {"title": title, "sheets": sheets}, figures=figures, date=date)


def drawing_png(drawing: Drawing, *, dots_per_mm: float = 8.0, paper: bool = False) -> bytes:
    """One drawing as a PNG picture, for looking at it and for reading codes back.

    Parameters
    ----------
    drawing : the sheet.
    dots_per_mm : how fine; 8 is about 203 dots to the inch.
    paper : white ground.
    """
    refuse_missing_letters([drawing])
    data = {"sheets": [{"width_mm": drawing.width_mm, "height_mm": drawing.height_mm, "title": drawing.title}]}
    compiler = _compiler(PRELUDE + SHEETS, data, {"0": to_svg(drawing, paper=paper)}, None)
    return _compiled(compiler, format="png", ppi=dots_per_mm * 25.4)[0]


def png_pages(pdf: bytes, pages: Sequence[int], *, dots_per_mm: float = 8.0) -> tuple[bytes, ...]:
    """Pages of a finished PDF file, any PDF file, as PNG pictures.

    Parameters
    ----------
    pdf : the file.
    pages : page numbers, the first is 1.
    dots_per_mm : how fine.

    Raises
    ------
    BadInput: the file is not a PDF that can be drawn, or has no such page.
    """
    import typst

    inputs = {"pdf": json.dumps(list(pdf)), "pages": json.dumps(list(pages))}
    compiler = typst.Compiler(PDF_PAGES.encode(), font_paths=_fonts(), sys_inputs=inputs)
    try:
        drawn = compiler.compile(format="png", ppi=dots_per_mm * 25.4)
    except typst.TypstError as error:
        raise BadInput(
            f"the PDF cannot be drawn ({error.message})",
            do="Check that the file opens in a PDF reader and has the page",
        ) from error
    return tuple(drawn) if isinstance(drawn, list) else (bytes(drawn or b""),)


def refuse_missing_letters(drawings: Sequence[Drawing]) -> None:
    """Raise BadInput when any text holds a letter that the shipped fonts cannot draw."""
    lacking = missing_in(mark for drawing in drawings for mark in drawing.marks if isinstance(mark, Text))
    if lacking:
        raise _not_in_fonts(lacking)


@cache
def _fonts() -> Any:
    """The four shipped faces and nothing else."""
    import typst

    folder = resources.files("findhold.draw").joinpath("fonts")
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(folder)])


def _compiler(source: str, data: Mapping[str, Any], figures: Mapping[str, str], date: datetime | None) -> Any:
    import typst

    stamp = [date.year, date.month, date.day, date.hour, date.minute, date.second] if date else [2000, 1, 1, 0, 0, 0]
    inputs = {
        "data": json.dumps(data, ensure_ascii=False),
        "figures": json.dumps(figures, ensure_ascii=False),
        "date": json.dumps(stamp),
    }
    return typst.Compiler(source.encode(), font_paths=_fonts(), sys_inputs=inputs)


def _compiled(compiler: Any, *, format: Literal["pdf", "png"], **options: Any) -> tuple[bytes, ...]:  # noqa: A002
    """Run the engine; letters it cannot draw are a person's matter, any other refusal is ours."""
    import typst

    try:
        made = compiler.compile(format=format, **options)
    except typst.TypstError as error:
        if "could not be displayed" in error.message or "missing glyph" in error.message.lower():
            raise _not_in_fonts(error.message) from error
        raise
    return tuple(made) if isinstance(made, list) else (bytes(made),)


def _not_in_fonts(lacking: str) -> BadInput:
    return BadInput(
        f"these letters cannot be printed with the fonts that come with the program: {lacking}",
        do="Write the text in Latin, Greek or Cyrillic letters",
    )
