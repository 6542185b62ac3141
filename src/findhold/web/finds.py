"""Finds: look for one, or leaf through all."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from findhold.service.registers import FindsRequest, find_finds
from findhold.web.desk import Signed
from findhold.web.navigation import Nav

NAV = Nav(word="Finds", path="/finds", order=20)
router = APIRouter()


@router.get("/finds")
def finds_page(
    desk: Signed, q: str = "", store: str = "", state: str = "", held: str = "", after: str = ""
) -> Response:
    """One page of the register; a number that is a find's leads straight to it."""
    with desk.looking() as office:
        request = FindsRequest(site=desk.site(office), words=q, store=store, state=state, held=held, after=after)
        found = find_finds(office, request)
    if found.exact is not None and not (store or state or held or after):
        return desk.go(f"/finds/{found.exact}")
    return desk.page("finds.html", found=found, asked=request)
