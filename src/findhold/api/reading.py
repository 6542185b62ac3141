"""Lists, one find, and what is due."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query

from findhold.api.desk import Signed
from findhold.api.words import Answer
from findhold.service import diary, finder
from findhold.service.office import Office
from findhold.service.whose_due import due_answer
from findhold.service.wire import plain

router = APIRouter(tags=["reading"])
Site = Annotated[str | None, Query(max_length=16, description="The site, when the ledger holds several.")]


@router.get("/due")
def due(
    desk: Signed,
    site: Site = None,
    days: Annotated[int | None, Query(ge=0, le=3650, description="Only what falls due within so many days.")] = None,
) -> Answer:
    """Checks, openings and keep-until dates, earliest first; as `findhold due --json`."""
    request = diary.DueRequest(site=site, days=days)
    return desk.look(lambda office: due_answer(office, diary.due(office, request)))


@router.get("/lists/{what}")
def things(what: str, desk: Signed, site: Site = None) -> Answer:
    """Things of one kind; as `findhold list WHAT --json`."""

    def listed(office: Office) -> Answer:
        if site is not None:
            office.site(site)
        listing = finder.list_things(office, what, site)
        return {"kind": listing.kind, "count": len(listing.rows), "rows": plain(listing.rows)}

    return desk.look(listed)


@router.get("/finds/{number}")
def find(number: str, desk: Signed, site: Site = None) -> Answer:
    """One find: facts, hold and story; as `findhold show FIND --json`."""
    return desk.look(lambda office: _plain(finder.show_find(office, number, site)))


def _plain(result: Any) -> Answer:
    found: Answer = plain(result)
    return found
