"""Every element a page is built from, on one page."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from findhold.web.desk import Signed

router = APIRouter()


@router.get("/pattern")
def pattern_page(desk: Signed) -> Response:
    """The pattern page: what a new page takes its parts from."""
    trouble = {
        "wrong": "the balance shows more than the box can weigh",
        "where": "box B1, mass",
        "limit": "12.9 to 13.1 kg expected",
        "do": "Wipe the box, weigh it again",
        "mistakes": [],
        "questions": [],
    }
    return desk.page("pattern.html", example=trouble)
