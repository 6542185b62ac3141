"""Today: what is due, worst first."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from findhold.service.today import TodayRequest, today
from findhold.web.desk import Signed
from findhold.web.navigation import Nav

NAV = Nav(word="Today", path="/", order=10)
router = APIRouter()


@router.get("/")
def today_page(desk: Signed) -> Response:
    """What is due now, what is late, and what waits without a date."""
    with desk.looking() as office:
        told = today(office, TodayRequest(site=desk.site(office)))
    return desk.page("today.html", today=told)
