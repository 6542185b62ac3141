"""The view: a find's scan in its box, to be turned about; its section where there is no scan or no way to draw it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from findhold.service.showing.scan_seen import scan_in_box, view_seen
from findhold.web.desk import Signed

router = APIRouter()


@router.get("/finds/{number}/view")
def view_page(number: str, desk: Signed) -> Response:
    """A find in its box."""
    with desk.looking() as office:
        seen = view_seen(office, number, desk.site(office))
    return desk.page("view.html", view=seen)


@router.get("/finds/{number}/scan.bin")
def scan(number: str, desk: Signed) -> Response:
    """The scan in its box's millimetres, for the view."""
    with desk.looking() as office:
        data = scan_in_box(office, number, desk.site(office))
    return Response(data, media_type="application/octet-stream")
