"""The plan of a closure: which holds cannot be kept, the ways out with their figures, and what is chosen."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import Field
from starlette.responses import Response

from findhold.api.desk import Signed
from findhold.api.papers import PDF_ANSWER
from findhold.api.words import Answer, Moment, Number, Short, Words
from findhold.service.closing.ending import EndRequest, end_hold
from findhold.service.closing.planning import closure_plan
from findhold.service.closing.shapes import ClosurePlanRequest
from findhold.service.closing.sheet import closure_sheet_file
from findhold.service.office import Office
from findhold.service.requests import moment_typed
from findhold.service.wire import plain

router = APIRouter(tags=["closures"])
Site = Annotated[str | None, Query(max_length=16, description="The site, when the ledger holds several.")]
Closure = Annotated[str, Query(max_length=120, description="next, its first day, or words of its reason.")]


class WayChosen(Words):
    """A find, and the name of the way that is chosen for it; none takes a choice back."""

    find: Number
    way: Short


class ClosureChosen(Words):
    """What is recorded of a closure: ways chosen, finds for which it was done, and who comes on its days."""

    closure: Short = Field(default="", description="next, its first day, or words of its reason.")
    choices: tuple[WayChosen, ...] = Field(default=(), max_length=100, strict=False)
    done: tuple[Number, ...] = Field(default=(), max_length=100, strict=False)
    duty: Short = Field(default="", description="Who comes on the closed days.")
    reason: str = Field(default="", max_length=2000)
    site: str | None = Field(default=None, max_length=16)


class Ended(Words):
    """How and when a hold ended; undo takes it back, with a reason."""

    how: Short = "opened"
    at: Moment | None = Field(default=None, description="2026-08-04T09:30+01:00; none is now.")
    reason: str = Field(default="", max_length=2000)
    undo: bool = False
    site: str | None = Field(default=None, max_length=16)


@router.get("/closures/plan")
def plan(
    desk: Signed,
    site: Site = None,
    closure: Closure = "",
    find: Annotated[list[Annotated[str, Query(max_length=64)]] | None, Query(max_length=60)] = None,
) -> Answer:
    """Every hold across a closure with its ways out; as `findhold keep --closure NAME --json`."""
    request = ClosurePlanRequest(site=site, closure=closure, finds=tuple(find or ()))
    return desk.look(lambda office: plain(closure_plan(office, request)))


@router.get("/closures/plan.pdf", response_class=Response, responses=PDF_ANSWER)
def plan_pdf(desk: Signed, site: Site = None, closure: Closure = "") -> Response:
    """The page of a closure to sign; as `findhold keep --closure NAME --sheet FILE`."""
    with desk.doorway.reading(desk.visit.person) as office:
        made = closure_sheet_file(office, closure_plan(office, ClosurePlanRequest(site=site, closure=closure)))
    return Response(made.data, media_type=made.media_type)


@router.post("/closures/plan")
def choose(words: ClosureChosen, desk: Signed) -> Answer:
    """Record what is chosen; as `findhold keep --closure NAME --choose FIND=WAY --json`, with their ways only."""
    request = ClosurePlanRequest(
        site=words.site,
        closure=words.closure,
        finds=tuple(one.find for one in words.choices),
        choices=tuple((one.find, one.way) for one in words.choices),
        done=words.done,
        duty=words.duty,
        reason=words.reason,
    )

    def recorded(office: Office) -> Answer:
        told: Answer = plain(closure_plan(office, request))
        return told

    return desk.record("closure", words.model_dump(), recorded)


@router.post("/finds/{number}/open")
def open_find(number: str, words: Ended, desk: Signed) -> Answer:
    """Record that a box was opened, handed over or sent; as `findhold open FIND --json`."""
    at = moment_typed(words.at, "at")
    request = EndRequest(find=number, how=words.how, at=at, reason=words.reason, undo=words.undo, site=words.site)

    def recorded(office: Office) -> Answer:
        told: Answer = plain(end_hold(office, request))
        return told

    return desk.record("open", {"find": number, **words.model_dump()}, recorded)
