"""Papers and drawings: labels, packing sheet, forecast sheet, section, plan of a feature, calendar, proof."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal
from urllib.parse import quote

from fastapi import APIRouter, File, Query, Response, UploadFile
from pydantic import Field

from findhold.api.desk import Desk, Signed
from findhold.api.words import Answer, Number, Short, Words
from findhold.errors import BadInput
from findhold.service import diary, files_out, labelling, plotting, proving
from findhold.service.holds import HoldRequest
from findhold.service.office import Office
from findhold.service.pictures_in import take_picture
from findhold.service.sheets import find_sheet
from findhold.service.wire import plain

router = APIRouter(tags=["papers"])
Site = Annotated[str | None, Query(max_length=16, description="The site, when the ledger holds several.")]
Part = Literal["inside", "lid", "end", "block"]
PDF_ANSWER: dict[int | str, dict[str, Any]] = {200: {"content": {"application/pdf": {}}, "description": "A PDF."}}
SVG_ANSWER: dict[int | str, dict[str, Any]] = {
    200: {"content": {"image/svg+xml": {}}, "description": "A drawing, at true size."}
}


class LabelAsked(Words):
    """Which finds (none: every planned one), which parts, and the stock."""

    finds: tuple[Number, ...] = Field(default=(), max_length=500, strict=False)
    site: str | None = Field(default=None, max_length=16)
    parts: tuple[Part, ...] = Field(default=("inside", "lid", "end", "block"), min_length=1, max_length=4, strict=False)
    stock: Short | None = Field(default=None, description="Label stock by name, or a roll as WIDTHxHEIGHT in mm.")


@router.post("/labels")
def label(words: LabelAsked, desk: Signed) -> Answer:
    """Make labels, read each back and record it; as `findhold label --json`. The file: GET /labels.pdf."""
    request = labelling.LabelRequest(finds=words.finds, site=words.site, parts=words.parts, stock=words.stock)
    return desk.record("label", words.model_dump(), lambda office: files_out.label_file(office, request).shape)


@router.get("/labels.pdf", response_class=Response, responses=PDF_ANSWER)
def label_pdf(
    desk: Signed,
    find: Annotated[list[str] | None, Query(max_length=500)] = None,
    site: Site = None,
    stock: Annotated[str | None, Query(max_length=200)] = None,
) -> Response:
    """The labels of finds as they stand; nothing is recorded."""
    request = labelling.LabelRequest(finds=tuple(find or ()), site=site, stock=stock, record=False)
    with desk.doorway.reading(desk.visit.person) as office:
        return _file(files_out.label_file(office, request))


@router.post("/labels/read")
def read(desk: Signed, picture: Annotated[UploadFile, File(description="A photograph of a label.")]) -> Answer:
    """Read a photographed label beside its record; as `findhold read --json`. The picture is not kept."""
    made = take_picture(picture.file.read())
    with files_out.brought(made.data, made.ending) as path:
        return desk.look(lambda office: _seen(office, path))


@router.get("/finds/{number}/packing-sheet.pdf", response_class=Response, responses=PDF_ANSWER)
def packing_sheet(number: str, desk: Signed, site: Site = None) -> Response:
    """The packing sheet of a planned find."""
    with desk.doorway.reading(desk.visit.person) as office:
        return _file(files_out.packing_sheet_file(office, HoldRequest(finds=(number,), site=site)))


@router.get("/finds/{number}/section.svg", response_class=Response, responses=SVG_ANSWER)
def section(number: str, desk: Signed, site: Site = None) -> Response:
    """The measured section through the packed box, as planned."""
    with desk.doorway.reading(desk.visit.person) as office:
        sheet = find_sheet(office, number, site)
    if sheet.section_svg is None:
        raise BadInput(
            sheet.section_trouble or "no box is planned for it yet", where=f"find {number}", do="Plan its box"
        )
    return Response(sheet.section_svg, media_type="image/svg+xml")


@router.get("/plot")
def plot(
    desk: Signed,
    feature: Annotated[str | None, Query(max_length=64, description="A cut or context; none means all.")] = None,
    site: Site = None,
    scale: Annotated[int | None, Query(ge=1, le=10_000, description="20 for 1:20.")] = None,
    paper: Literal["A4", "A3"] = "A4",
    distance: Annotated[list[str] | None, Query(max_length=50, description="Two numbers: 37,44")] = None,
) -> Answer:
    """Points, distances and the drawing of a feature's plan; as `findhold plot --json`, with the SVG beside it."""
    request = plotting.PlotRequest(
        feature=feature.strip("[]() ") if feature else None,
        site=site,
        scale=scale,
        paper=paper,
        pairs=tuple(_pair(text) for text in distance or ()),
    )
    made = _plan(desk, request, ".svg")
    return {**made.shape, "svg": made.data.decode()}


@router.get("/plot.pdf", response_class=Response, responses=PDF_ANSWER)
def plot_pdf(
    desk: Signed,
    feature: Annotated[str | None, Query(max_length=64)] = None,
    site: Site = None,
    scale: Annotated[int | None, Query(ge=1, le=10_000)] = None,
    paper: Literal["A4", "A3"] = "A4",
) -> Response:
    """The plan of a feature, to print."""
    feature = feature.strip("[]() ") if feature else None
    request = plotting.PlotRequest(feature=feature, site=site, scale=scale, paper=paper)
    return _file(_plan(desk, request, ".pdf"))


@router.get(
    "/due.ics",
    response_class=Response,
    responses={200: {"content": {"text/calendar": {}}, "description": "A calendar."}},
)
def calendar(desk: Signed, site: Site = None) -> Response:
    """Checks, openings and keep-until dates as a calendar; a later one updates it."""
    with desk.doorway.reading(desk.visit.person) as office:
        return _file(files_out.calendar_file(office, diary.DueRequest(site=site)))


@router.get("/proof")
def proof(
    desk: Signed,
    expect: Annotated[str | None, Query(max_length=64, pattern="^[0-9A-Fa-f]*$", description="A printed seal.")] = None,
) -> Answer:
    """Whether every event is true; as `findhold prove --json`. Reads the whole ledger."""
    request = proving.ProofRequest(ledger=desk.doorway.ledger, expect=expect or None)
    return proving.proof_as_plain(proving.prove_ledger(request))


def _plan(desk: Desk, request: plotting.PlotRequest, ending: str) -> files_out.FileOut:
    with desk.doorway.reading(desk.visit.person) as office:
        return files_out.plan_file(office, request, ending)


def _pair(text: str) -> tuple[str, str]:
    first, comma, second = text.partition(",")
    if not comma or not first.strip() or not second.strip():
        raise BadInput(f"{text!r} names no two finds", where="distance", do="Write two numbers, for example 37,44")
    return first.strip(), second.strip()


def _seen(office: Office, path: Path) -> Answer:
    seen: Answer = plain(labelling.read_label(office, path))
    return seen


def _file(made: files_out.FileOut) -> Response:
    return Response(
        made.data,
        media_type=made.media_type,
        headers={"content-disposition": f"inline; filename*=UTF-8''{quote(made.name)}"},
    )
