"""The plan of rounds, and its sheets to print."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.api.desk import Desk, Signed
from findhold.api.papers import PDF_ANSWER
from findhold.api.words import Answer
from findhold.service.rounds.planning import rounds, rounds_answer
from findhold.service.rounds.shapes import RoundsRequest
from findhold.service.rounds.sheets import door_sheet_file, round_sheet_file

router = APIRouter(tags=["rounds"])
Site = Annotated[str | None, Query(max_length=16, description="The site, when the ledger holds several.")]
Store = Annotated[str | None, Query(max_length=80, description="One store only.")]
Who = Annotated[str, Query(alias="for", max_length=80, description="Rounds of one person, by name or initials.")]
Days = Annotated[int, Query(ge=0, le=366, description="How many days ahead.")]


@router.get("/rounds")
def plan(desk: Signed, site: Site = None, store: Store = None, who: Who = "", days: Days = 14) -> Answer:
    """Who goes when to which store, what was missed, what nobody can make; as `findhold round --json`."""
    request = RoundsRequest(site=site, store=store, for_name=who, days=days)
    return desk.look(lambda office: rounds_answer(rounds(office, request)))


@router.get("/rounds/sheet.pdf", response_class=Response, responses=PDF_ANSWER)
def sheet(
    desk: Signed,
    store: Annotated[str, Query(max_length=80)],
    site: Site = None,
    who: Who = "",
    days: Days = 14,
) -> Response:
    """The sheet of the next round of a store; as `findhold round --store NAME --sheet FILE`."""
    return _pdf(desk, round_sheet_file, RoundsRequest(site=site, store=store, for_name=who, days=days))


@router.get("/rounds/door.pdf", response_class=Response, responses=PDF_ANSWER)
def door(desk: Signed, store: Annotated[str, Query(max_length=80)], site: Site = None) -> Response:
    """The sheet for a store's door; as `findhold round --store NAME --door FILE`."""
    return _pdf(desk, door_sheet_file, RoundsRequest(site=site, store=store))


def _pdf(desk: Desk, make: Any, request: RoundsRequest) -> Response:
    with desk.doorway.reading(desk.visit.person) as office:
        made = make(office, request)
    return Response(made.data, media_type=made.media_type)
