"""Closures: every hold across the days when nobody comes; which cannot wait, and what would help when asked."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.service.showing.closures_seen import ClosureRequest, closure_file, closure_seen, ways_out
from findhold.web.desk import Desk, Signed, handed_out
from findhold.web.navigation import Nav

NAV = Nav(word="Closures", path="/closures", order=60)
router = APIRouter()


@router.get("/closures")
def closures_page(
    desk: Signed,
    closure: date | None = None,
    after: Annotated[str, Query(max_length=40)] = "",
    ask: Annotated[str, Query(max_length=64)] = "",
) -> Response:
    """A closure and every hold across it; `ask` reckons what would help one of them."""
    with desk.looking() as office:
        site = desk.site(office)
        seen = closure_seen(office, ClosureRequest(site=site, first_day=closure, after=after))
        ways = ways_out(office, ask, site) if ask else None
    return desk.page("closures.html", seen=seen, ways=ways, asked=ask)


@router.get("/closures/strip.pdf")
def strip_pdf(desk: Signed, closure: date | None = None, after: Annotated[str, Query(max_length=40)] = "") -> Response:
    """The strip, to print."""
    return _file(desk, closure, after, ".pdf")


@router.get("/closures/strip.svg")
def strip_svg(desk: Signed, closure: date | None = None, after: Annotated[str, Query(max_length=40)] = "") -> Response:
    """The strip as a drawing."""
    return _file(desk, closure, after, ".svg")


def _file(desk: Desk, closure: date | None, after: str, ending: str) -> Response:
    with desk.looking() as office:
        request = ClosureRequest(site=desk.site(office), first_day=closure, after=after)
        return handed_out(closure_file(office, request, ending))
