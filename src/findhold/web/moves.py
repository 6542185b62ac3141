"""Moving boxes: where one can go, recording where it was put, and the drill when a store has failed."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import quote
from uuid import uuid4

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.errors import BadInput, FindholdError, UnknownName
from findhold.service.doorway import status_of
from findhold.service.office import Office
from findhold.service.showing.store_forms import drill_typed, move_typed
from findhold.service.storekeeping import drill as drills
from findhold.service.storekeeping import drill_sheet, moving, suggesting
from findhold.web.desk import Desk, Signed, handed_out

router = APIRouter()
Find = Annotated[str, Query(max_length=64)]
Typed = Annotated[str, Query(max_length=40)]


@router.get("/places")
def places_page(desk: Signed, find: Find = "") -> Response:
    """Where the box of a find can go."""
    return _places(desk, find.strip())


@router.post("/places")
def moved(desk: Signed) -> Response:
    """Record where a box was put, from its places or from a drill."""
    find, back = desk.typed.get("find", "").strip(), desk.typed.get("back", "")
    words = {key: value for key, value in desk.typed.items() if not key.startswith("_")}

    def act(office: Office) -> dict[str, Any]:
        told = moving.move(office, move_typed(office, desk.typed, desk.visit.person, _site(desk)))
        if not told.allowed:
            raise _forbidden(told)
        return moving.moved_shape(told)

    try:
        desk.record("move", words, act)
    except FindholdError as error:
        return _places(desk, find, status=status_of(error), trouble=error.as_dict(), asked=desk.typed)
    if back:
        return desk.go(f"/stores/{quote(back, safe='')}/drill")
    return desk.go("/places", find=find)


@router.get("/stores/{name}/drill")
def drill_page(name: str, desk: Signed, since: Typed = "", room: Typed = "") -> Response:
    """A place for every box of a store that failed."""
    try:
        with desk.looking() as office:
            told = drills.drill(office, drill_typed(office, name, since, room, _site(desk)))
    except UnknownName:
        raise
    except BadInput as error:
        status, wrong = (422, error.as_dict()) if since or room else (200, None)
        return desk.page("drill_ask.html", status=status, trouble=wrong, store=name, since=since, room=room)
    shape = drills.drill_shape(told)
    order = [box.box_id for box in drill_sheet.carrying_order(told)]
    rows = {row["box_id"]: row for row in shape["boxes"]}
    going = [rows[box_id] for box_id in order]
    staying = [row for row in shape["boxes"] if row["place"] is None]
    return desk.page("drill.html", told=told, going=going, staying=staying, since=since, room=room, new_key=uuid4)


@router.get("/stores/{name}/drill.pdf")
def drill_pdf(name: str, desk: Signed, since: Typed = "", room: Typed = "") -> Response:
    """The sheet to carry."""
    with desk.looking() as office:
        told = drills.drill(office, drill_typed(office, name, since, room, _site(desk)))
        return handed_out(drill_sheet.drill_sheet_file(office, told))


def _forbidden(told: moving.Moved) -> BadInput:
    """A move that a rule or the room forbids; the way out stands in what to do."""
    hard = [one for one in told.verdict.against if one.severity != "advice"]
    return BadInput(
        "; ".join(one.words for one in hard),
        where=f"find {told.find} to {told.store}" + (f", shelf {told.shelf}" if told.shelf else ""),
        do=f"Nearest good place: {told.nearest.name()}" if told.nearest else hard[0].do,
    )


def _places(desk: Desk, find: str, *, status: int = 200, **words: Any) -> Response:
    told, wrong = None, None
    if find:
        try:
            with desk.looking() as office:
                request = suggesting.SuggestRequest(find=find, site=_site(desk))
                told = suggesting.suggested_shape(suggesting.suggest(office, request))
        except FindholdError as error:
            if "trouble" not in words:
                wrong, status = error.as_dict(), status_of(error)
    shown = {"trouble": wrong, "asked": {}, **words} if wrong else {"asked": {}, **words}
    return desk.page("places.html", status=status, told=told, find=find, new_key=uuid4, **shown)


def _site(desk: Desk) -> str | None:
    return desk.request.query_params.get("site")
