"""What the pages with pictures show, as data and as drawings: stores, closures, plans, papers to sign, scans."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.api.desk import Signed
from findhold.api.words import Answer
from findhold.errors import BadInput
from findhold.service.showing import closures_seen, hand_over, plan_seen, scan_seen, store_readings, stores_seen
from findhold.service.wire import plain

router = APIRouter(tags=["pictures"])
Site = Annotated[str | None, Query(max_length=16, description="The site, when the ledger holds several.")]
Key = Annotated[str, Query(max_length=80)]
First = Annotated[date | None, Query(description="Its first day; none means the next one.")]
After = Annotated[str, Query(max_length=40, description="`after` of the part before.")]


def _drawn(media_type: str) -> dict[int | str, dict[str, Any]]:
    return {200: {"content": {media_type: {}}, "description": "A file."}}


@router.get("/stores")
def stores(desk: Signed) -> Answer:
    """Every store with its boxes, worst first, and how full it is."""
    return desk.look(
        lambda office: {"stores": [stores_seen.store_shape(one) for one in stores_seen.stores_seen(office)]}
    )


@router.get("/stores/{store}")
def store(store: str, desk: Signed) -> Answer:
    """One store with its boxes, worst first, and how full it is."""
    return desk.look(lambda office: stores_seen.store_shape(stores_seen.store_seen(office, store)))


@router.get("/stores/{store}/front.svg", response_class=Response, responses=_drawn("image/svg+xml"))
def front(store: str, desk: Signed) -> Response:
    """A store from the front, to scale."""
    with desk.doorway.reading(desk.visit.person) as office:
        seen = stores_seen.store_seen(office, store)
    if seen.picture is None:
        raise BadInput(
            "its inside size is not in the register", where=f"store {seen.name}", do="Add it to the list of stores"
        )
    return Response(seen.picture.svg, media_type="image/svg+xml")


@router.get("/stores/{store}/readings.svg", response_class=Response, responses=_drawn("image/svg+xml"))
def readings(store: str, desk: Signed, days: Annotated[int, Query(ge=1, le=400)] = 14) -> Response:
    """A store's newest readings as a chart, failures shaded."""
    with desk.doorway.reading(desk.visit.person) as office:
        seen = store_readings.store_readings(office, store, days)
    if seen.svg is None:
        raise BadInput("nothing was read for it", where=f"store {store}", do="Read its logger, or type a failure")
    return Response(seen.svg, media_type="image/svg+xml")


@router.get("/closures")
def closures(desk: Signed, site: Site = None, closure: First = None, after: After = "") -> Answer:
    """Every hold across a closure, worst first: whether it can wait, and why. Nothing is reckoned anew."""
    request = closures_seen.ClosureRequest(site=site, first_day=closure, after=after)
    return desk.look(lambda office: closures_seen.closures_answer(closures_seen.closure_seen(office, request)))


@router.get("/closures/strip.svg", response_class=Response, responses=_drawn("image/svg+xml"))
def strip(desk: Signed, site: Site = None, closure: First = None, after: After = "") -> Response:
    """Every hold across a closure as one strip of time."""
    request = closures_seen.ClosureRequest(site=site, first_day=closure, after=after)
    with desk.doorway.reading(desk.visit.person) as office:
        made = closures_seen.closure_file(office, request, ".svg")
    return Response(made.data, media_type=made.media_type)


@router.get("/finds/{number}/ways-out")
def ways_out(number: str, desk: Signed, site: Site = None) -> Answer:
    """What would let a hold wait longer, each way forecast anew; nothing is recorded."""
    return desk.look(lambda office: closures_seen.ways_out(office, number, site))


@router.get("/plan")
def plan(desk: Signed, site: Site = None, feature: Key = "", start: Key = "", end: Key = "") -> Answer:
    """The points of a feature's plan, the distance of two of them, and what lies near one."""
    request = plan_seen.PlanRequest(site=site, feature=feature, start=start, end=end)
    return desk.look(lambda office: plan_seen.plan_answer(plan_seen.plan_seen(office, request)))


@router.get("/hand-over")
def hand_over_sheet(
    desk: Signed,
    find: Annotated[list[Annotated[str, Query(max_length=64)]] | None, Query(max_length=60)] = None,
    site: Site = None,
) -> Answer:
    """What the hand-over sheet of some finds says; nothing is recorded."""
    told: Answer = desk.look(lambda office: plain(hand_over.hand_over_sheet(office, tuple(find or ()), site)))
    return told


@router.get("/finds/{number}/scan.bin", response_class=Response, responses=_drawn("application/octet-stream"))
def scan(number: str, desk: Signed, site: Site = None) -> Response:
    """A find's scan in its box, coarse enough to be turned about: FHV1, counts, corners [mm], triangles."""
    with desk.doorway.reading(desk.visit.person) as office:
        data = scan_seen.scan_in_box(office, number, site)
    return Response(data, media_type="application/octet-stream")
