"""Rounds: the plan of visits for who is on duty: what was missed, who goes when, the boxes in walking order, sheets."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.service.rounds.planning import people_and_stores, rounds
from findhold.service.rounds.shapes import RoundsRequest
from findhold.service.rounds.sheets import door_sheet_file, round_sheet_file
from findhold.web.desk import Signed, handed_out

router = APIRouter()
DAYS = (7, 14, 30, 60)
Days = Annotated[int, Query(ge=0, le=366)]
Name = Annotated[str, Query(max_length=80)]


@router.get("/rounds")
def rounds_page(desk: Signed, store: Name = "", who: Name = "", days: Days = DAYS[1]) -> Response:
    """The next rounds, for everybody or one person, in all stores or one."""
    with desk.looking() as office:
        request = _request(desk.site(office), store, who, days)
        people, stores = people_and_stores(office)
        return desk.page(
            "rounds.html",
            plan=rounds(office, request),
            days=days,
            lengths=DAYS,
            people=[("", "everybody"), *((name, name) for name in people)],
            stores=[("", "all stores"), *((name, name) for name in stores)],
            asked={"who": request.for_name, "store": request.store or ""},
        )


@router.get("/rounds/sheet.pdf")
def sheet_pdf(desk: Signed, store: Name, who: Name = "", days: Days = DAYS[1]) -> Response:
    """The sheet of the next round of a store, to be filled in there."""
    with desk.looking() as office:
        return handed_out(round_sheet_file(office, _request(desk.site(office), store, who, days)))


@router.get("/rounds/door.pdf")
def door_pdf(desk: Signed, store: Name) -> Response:
    """The sheet for a store's door."""
    with desk.looking() as office:
        return handed_out(door_sheet_file(office, _request(desk.site(office), store, "", DAYS[1])))


def _request(site: str, store: str, who: str, days: int) -> RoundsRequest:
    return RoundsRequest(site=site, store=store.strip() or None, for_name=who.strip(), days=days)
