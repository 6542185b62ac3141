"""A find's sheet: its packed box, how long it may wait, what to do next, its story; prints as one page."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.service import files_out
from findhold.service.holds import HoldRequest
from findhold.service.labelling import LabelRequest
from findhold.service.sheets import find_sheet
from findhold.web.desk import Signed, handed_out

router = APIRouter()


@router.get("/finds/{number}")
def sheet_page(number: str, desk: Signed, before: Annotated[int | None, Query(ge=1, le=2**53)] = None) -> Response:
    """One find."""
    with desk.looking() as office:
        sheet = find_sheet(office, number, desk.site(office), before=before)
    return desk.page("sheet.html", sheet=sheet)


@router.get("/finds/{number}/packing-sheet.pdf")
def packing_sheet(number: str, desk: Signed) -> Response:
    """The packing sheet, to print."""
    with desk.looking() as office:
        made = files_out.packing_sheet_file(office, HoldRequest(finds=(number,), site=desk.site(office)))
    return handed_out(made)


@router.get("/finds/{number}/forecast-sheet.pdf")
def forecast_sheet(number: str, desk: Signed) -> Response:
    """The forecast with its curves and what would help, to print."""
    with desk.looking() as office:
        made = files_out.forecast_sheet_file(office, HoldRequest(finds=(number,), site=desk.site(office)))
    return handed_out(made)


@router.post("/finds/{number}/labels")
def make_labels(number: str, desk: Signed) -> Response:
    """Make the labels and record it; the file itself comes from the address after it."""
    with desk.looking() as office:
        site = desk.site(office)
    request = LabelRequest(finds=(number,), site=site)
    words = {"finds": [number], "site": site}
    desk.record("label", words, lambda office: files_out.label_file(office, request).shape)
    return desk.go(f"/finds/{quote(number, safe='')}/labels.pdf")


@router.get("/finds/{number}/labels.pdf")
def labels(number: str, desk: Signed) -> Response:
    """The labels as they stand, to print; nothing is recorded."""
    with desk.looking() as office:
        request = LabelRequest(finds=(number,), site=desk.site(office), record=False)
        made = files_out.label_file(office, request)
    return handed_out(made)
