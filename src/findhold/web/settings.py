"""Settings: policy, stock, people, sources, as the service reads them."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from findhold.service.unit import sources, unit
from findhold.web.desk import Signed
from findhold.web.navigation import Nav

NAV = Nav(word="Settings", path="/settings", order=90)
router = APIRouter()


@router.get("/settings")
def settings_page(desk: Signed) -> Response:
    """What the unit has chosen and what it has."""
    with desk.looking() as office:
        told = unit(office)
    return desk.page("settings.html", unit=told)


@router.get("/settings/sources")
def sources_page(desk: Signed) -> Response:
    """Where the figures come from."""
    return desk.page("sources.html", sources=sources())
