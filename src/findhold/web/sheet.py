"""A find's sheet: its packed box, how long it may wait, what to do next, its story; prints as one page."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.errors import FindholdError
from findhold.service import files_out
from findhold.service.closing.ending import HOW, EndRequest, end_hold
from findhold.service.doorway import status_of
from findhold.service.holds import HoldRequest
from findhold.service.labelling import LabelRequest
from findhold.service.sheets import find_sheet
from findhold.service.wire import plain
from findhold.web.desk import Signed, handed_out

router = APIRouter()


@router.get("/finds/{number}")
def sheet_page(number: str, desk: Signed, before: Annotated[int | None, Query(ge=1, le=2**53)] = None) -> Response:
    """One find."""
    with desk.looking() as office:
        sheet = find_sheet(office, number, desk.site(office), before=before)
    return desk.page("sheet.html", sheet=sheet, asked_of="")


@router.post("/finds/{number}/open")
def end_of_hold(number: str, desk: Signed) -> Response:
    """A box was opened, handed over or sent, or was not after all."""
    with desk.looking() as office:
        site = desk.site(office)
    typed = desk.typed
    request = EndRequest(
        find=number,
        how=typed.get("how", "") or HOW[0],
        reason=typed.get("reason", ""),
        undo=typed.get("undo") == "yes",
        site=site,
    )
    words = {"find": number, **{name: value for name, value in typed.items() if not name.startswith("_")}}
    try:
        desk.record("open", words, lambda office: plain(end_hold(office, request)))
    except FindholdError as error:
        with desk.looking() as office:
            sheet = find_sheet(office, number, site)
        told = error.as_dict()
        return desk.page("sheet.html", status=status_of(error), sheet=sheet, asked_of="open", trouble=told)
    return desk.go(f"/finds/{quote(number, safe='')}")


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
