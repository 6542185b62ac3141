"""Labels to a PDF that is given out only when every code on its pages was read back.

Each code is read from a picture of the finished PDF's own pages, by a decoder that encoded neither of the two codes.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from findhold.draw.marks import Drawing, Matrix, Text
from findhold.draw.pdf import compile_pdf, png_pages, refuse_missing_letters, text_rows
from findhold.draw.svg import to_svg
from findhold.errors import BadInput, FindholdError
from findhold.label.layout import LabelStock, LaidOut, lay_out
from findhold.label.payload import short_text, speaking_text
from findhold.label.readback import Decoded, decode_picture
from findhold.label.wording import LabelFacts, Part

if TYPE_CHECKING:
    from PIL.Image import Image

Order = tuple[LabelFacts, Part]
PICTURE_DOTS_PER_MM = 6.0
"""Enough for 2.4 dots in the smallest module; the decoder needs 2."""
PAGES_AT_ONCE = 64
PAGES = """\
#set page(width: data.width_mm * 1mm, height: data.height_mm * 1mm, margin: 0mm)
#for sheet in data.sheets {
  page({
    for label in sheet {
      place(top + left, dx: label.x_mm * 1mm, dy: label.y_mm * 1mm, drawing(
        label.figure, width: data.label_width_mm * 1mm, height: data.label_height_mm * 1mm, alt: label.alt))
      lettering(label.texts, label.x_mm, label.y_mm)
      for code in label.codes {
        place(top + left, dx: code.x_mm * 1mm, dy: code.y_mm * 1mm, drawing(
          code.figure, width: code.side_mm * 1mm, height: code.side_mm * 1mm, alt: "code"))
      }
    }
  })
}
"""


class UnreadableLabelError(FindholdError):
    """A code on the finished pages does not read, or reads differently; nothing is given out."""

    code = "unreadable_label"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadBack:
    """One label as it was read from the finished page: its page, its texts; None for a code left out."""

    name: str
    page: int
    speaking: str | None
    short: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Released:
    """The labels' PDF with the proof that its codes read.

    `names` are "F37 lid" and so on in printing order; `dropped` holds, label by label, the facts that its stock
    could not take (nearly always none).
    """

    pdf: bytes
    names: tuple[str, ...]
    count: int
    read_back: tuple[ReadBack, ...]
    dropped: tuple[tuple[str, ...], ...]
    pages: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Typeset:
    """Labels laid out and typeset, not yet read back."""

    pdf: bytes
    laid_out: tuple[LaidOut, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    number: int
    picture: Image
    found: tuple[Decoded, ...]


def release(labels: Sequence[Order], stock: LabelStock, *, date: datetime) -> Released:
    """Draw labels, typeset them, read every code back from the pages, and only then give the file out.

    Parameters
    ----------
    labels : facts and part of each label, in printing order; at least one.
    stock : the label stock; on a sheet the places are filled row by row.
    date : the document's date with its zone, from the event.

    Returns
    -------
    The PDF with its proof.

    Raises
    ------
    BadInput: there is no label, or one does not fit its stock.
    UnreadableLabelError: a code on a page does not read, or reads differently.
    """
    made = typeset(labels, stock, date=date)
    read = read_back(made.pdf, labels, stock, made.laid_out)
    return Released(
        pdf=made.pdf,
        names=tuple(_name(order) for order in labels),
        count=len(labels),
        read_back=read,
        dropped=tuple(laid.dropped for laid in made.laid_out),
        pages=read[-1].page,
    )


def typeset(labels: Sequence[Order], stock: LabelStock, *, date: datetime) -> Typeset:
    """Labels laid out and typeset as a PDF, without the reading back that `release` insists on."""
    if not labels:
        raise BadInput("there is no label to print", do="Choose at least one box or find")
    laid = tuple(lay_out(facts, part, stock) for facts, part in labels)
    refuse_missing_letters([label.drawing for label in laid])
    figures: dict[str, str] = {}
    places = list(stock.places())
    sheets = []
    for first in range(0, len(laid), len(places)):
        batch = zip(laid[first : first + len(places)], places, strict=False)
        sheets.append([_on_sheet(label.drawing, place, figures) for label, place in batch])
    data = {
        "title": f"{len(labels)} labels, {stock.name}",
        "width_mm": stock.sheet_width_mm or stock.width_mm,
        "height_mm": stock.sheet_height_mm or stock.height_mm,
        "label_width_mm": stock.width_mm,
        "label_height_mm": stock.height_mm,
        "sheets": sheets,
    }
    return Typeset(pdf=compile_pdf(PAGES, data, figures=figures, date=date, tagged=False), laid_out=laid)


def _on_sheet(drawing: Drawing, place: tuple[float, float], figures: dict[str, str]) -> dict[str, Any]:
    """One label's place on the sheet; its codes are figures of their own, stored once however often printed."""
    rest = replace(drawing, marks=tuple(m for m in drawing.marks if not isinstance(m, Matrix | Text)))
    codes = []
    for mark in drawing.marks:
        if isinstance(mark, Matrix):
            count = len(mark.modules)
            bare = Drawing(
                width_mm=count, height_mm=count, marks=(replace(mark, at=(0.0, 0.0), module_mm=1.0),), title="code"
            )
            codes.append(
                {
                    "figure": _stored(to_svg(bare, paper=True), figures),
                    "x_mm": place[0] + mark.at[0],
                    "y_mm": place[1] + mark.at[1],
                    "side_mm": count * mark.module_mm,
                }
            )
    return {
        "figure": _stored(to_svg(rest, paper=True), figures),
        "x_mm": place[0],
        "y_mm": place[1],
        "alt": drawing.title,
        "texts": text_rows(mark for mark in drawing.marks if isinstance(mark, Text)),
        "codes": codes,
    }


def _stored(svg: str, figures: dict[str, str]) -> str:
    """The name of a figure, by its content."""
    name = hashlib.sha256(svg.encode()).hexdigest()[:24]
    figures[name] = svg
    return name


def read_back(
    pdf: bytes, labels: Sequence[Order], stock: LabelStock, laid_out: Sequence[LaidOut]
) -> tuple[ReadBack, ...]:
    """Read every code from pictures of the PDF's pages and compare it with what it should say.

    Raises
    ------
    UnreadableLabelError: a code does not read, or reads differently.
    """
    from PIL import Image

    places = list(stock.places())
    page_count = -(-len(labels) // len(places))
    proofs = []
    for start in range(0, page_count, PAGES_AT_ONCE):
        numbers = list(range(start + 1, min(start + PAGES_AT_ONCE, page_count) + 1))
        for page, png in zip(numbers, png_pages(pdf, numbers, dots_per_mm=PICTURE_DOTS_PER_MM), strict=True):
            picture = Image.open(io.BytesIO(png)).convert("L")
            seen = _Page(number=page, picture=picture, found=decode_picture(picture))
            first = (page - 1) * len(places)
            last = first + len(places)
            for place, order, laid in zip(places, labels[first:last], laid_out[first:last], strict=False):
                proofs.append(_proof(seen, place, stock, order, laid))
    return tuple(proofs)


def _proof(page: _Page, place: tuple[float, float], stock: LabelStock, order: Order, laid: LaidOut) -> ReadBack:
    """Compare the codes that lie on one label with what they should say; look closer before giving up."""
    facts, part = order
    wanted = {"short": short_text(facts, part)}
    if "speaking code" not in laid.dropped:
        wanted["speaking"] = speaking_text(facts)
    left, top = place
    box = (left, top, left + stock.width_mm, top + stock.height_mm)
    dots = tuple(round(side * PICTURE_DOTS_PER_MM) for side in box)
    here = [c for c in page.found if dots[0] <= c.position[0] <= dots[2] and dots[1] <= c.position[1] <= dots[3]]
    if sorted(code.text for code in here) != sorted(wanted.values()):
        here = list(decode_picture(page.picture.crop((dots[0], dots[1], dots[2], dots[3]))))
    read = sorted(code.text for code in here)
    if read != sorted(wanted.values()):
        missing = [kind for kind, text in wanted.items() if text not in read]
        shown = "; ".join(text.replace("\n", " / ") for text in read) or "nothing"
        raise UnreadableLabelError(
            f"the {' and '.join(missing) or 'label'} code does not read back as written (read: {shown})",
            where=f"{_name(order)} label, page {page.number}",
            do="Nothing was given out: use a larger stock or shorter texts, and print again",
        )
    return ReadBack(name=_name(order), page=page.number, speaking=wanted.get("speaking"), short=wanted["short"])


def _name(order: Order) -> str:
    facts, part = order
    middle = facts.find_id.removeprefix(f"{facts.site_code.upper()}-").rpartition("-")[0]
    return f"{middle} {part}"
