"""Closures: every hold across the days when nobody comes; what was chosen, what is left, ways out when asked."""

from __future__ import annotations

from datetime import date
from typing import Annotated
from uuid import uuid4

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.errors import FindholdError
from findhold.service.closing.planning import closure_plan
from findhold.service.closing.shapes import ClosurePlanRequest, HoldPlan
from findhold.service.closing.sheet import closure_sheet_file
from findhold.service.closing.words import why_words
from findhold.service.doorway import status_of
from findhold.service.office import Office
from findhold.service.showing.closures_seen import ClosureRequest, closure_file, closure_seen
from findhold.web.desk import Desk, Signed, handed_out
from findhold.web.navigation import Nav

NAV = Nav(word="Closures", path="/closures", order=60)
router = APIRouter()
After = Annotated[str, Query(max_length=40)]


@router.get("/closures")
def closures_page(
    desk: Signed, closure: date | None = None, after: After = "", ask: Annotated[str, Query(max_length=64)] = ""
) -> Response:
    """A closure and every hold across it; `ask` works out the ways over it for one of them."""
    return _page(desk, closure, after=after, ask=ask)


@router.post("/closures/choose")
def choose(desk: Signed, closure: date) -> Response:
    """The way chosen for one hold, its being done, or who comes on the closed days; recorded once."""
    typed = desk.typed
    request = ClosurePlanRequest(
        site=desk.request.query_params.get("site"),
        closure=typed.get("closure", ""),
        finds=(typed["find"],) if typed.get("find") else (),
        choices=((typed.get("find", ""), typed.get("way", "")),) if typed.get("way") else (),
        done=(typed.get("find", ""),) if typed.get("do") == "done" else (),
        duty=typed.get("duty", ""),
        reason=typed.get("reason", "").strip(),
    )
    words = {name: value for name, value in typed.items() if not name.startswith("_")}
    try:
        desk.record("closure", words, lambda office: {"recorded": list(closure_plan(office, request).recorded)})
    except FindholdError as error:
        return _page(desk, closure, ask=typed.get("find", ""), status=status_of(error), trouble=error.as_dict())
    return desk.go("/closures", closure=closure.isoformat())


@router.get("/closures/plan.pdf")
def plan_pdf(desk: Signed, closure: Annotated[str, Query(max_length=120)] = "") -> Response:
    """The page of a closure to sign, every way worked out."""
    with desk.looking() as office:
        plan = closure_plan(office, ClosurePlanRequest(site=desk.site(office), closure=closure))
        return handed_out(closure_sheet_file(office, plan))


@router.get("/closures/strip.pdf")
def strip_pdf(desk: Signed, closure: date | None = None, after: After = "") -> Response:
    """The strip, to print."""
    return _file(desk, closure, after, ".pdf")


@router.get("/closures/strip.svg")
def strip_svg(desk: Signed, closure: date | None = None, after: After = "") -> Response:
    """The strip as a drawing."""
    return _file(desk, closure, after, ".svg")


def _page(
    desk: Desk,
    closure: date | None,
    *,
    after: str = "",
    ask: str = "",
    status: int = 200,
    trouble: dict[str, object] | None = None,
) -> Response:
    with desk.looking() as office:
        site = desk.site(office)
        seen = closure_seen(office, ClosureRequest(site=site, first_day=closure, after=after))
        ways = None if seen is None or not ask else _ways(office, site, seen.closure.key, ask)
    people = [] if seen is None else [(name, name) for name in seen.people]
    words = {"seen": seen, "ways": ways, "asked": ask, "people": people, "why_words": why_words, "new_key": uuid4}
    return desk.page("closures.html", status=status, **words, **({"trouble": trouble} if trouble else {}))


def _ways(office: Office, site: str, closure: str, find: str) -> HoldPlan | None:
    """The ways over a closure for one hold; None for a find that is not held."""
    plan = closure_plan(office, ClosurePlanRequest(site=site, closure=closure, finds=(find,)))
    number = find.strip()
    return next((one for one in plan.holds if one.standing.held.number == number), None)


def _file(desk: Desk, closure: date | None, after: str, ending: str) -> Response:
    with desk.looking() as office:
        request = ClosureRequest(site=desk.site(office), first_day=closure, after=after)
        return handed_out(closure_file(office, request, ending))
