"""Plot: the plan of a feature; tap two points for their distance, one for what lies near."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.errors import FindholdError
from findhold.service.doorway import status_of
from findhold.service.files_out import plan_file
from findhold.service.plotting import PlotRequest
from findhold.service.showing.plan_seen import PlanRequest, PlanSeen, PointTold, plan_seen
from findhold.web.desk import Desk, Signed, handed_out
from findhold.web.drawn import Over, with_links
from findhold.web.navigation import Nav

NAV = Nav(word="Plot", path="/plot", order=70)
router = APIRouter()
Key = Annotated[str, Query(max_length=80)]
LEAST_MM, WANTED_MM = 6.0, 11.7
"""A point is tapped within a square of this side on the drawing [mm]: 44 pixels, less where another one is near."""


@router.get("/plot")
def plot_page(desk: Signed, feature: Key = "", start: Key = "", end: Key = "") -> Response:
    """The plan with every point a link."""
    trouble = None
    with desk.looking() as office:
        site = desk.site(office)
        try:
            seen = plan_seen(office, PlanRequest(site=site, feature=feature, start=start, end=end))
        except FindholdError as error:
            trouble = error
            seen = plan_seen(office, PlanRequest(site=site, feature=feature)) if start or end else None
    if trouble is not None:
        wrong = trouble.as_dict()
        return desk.page("plot.html", status=status_of(trouble), seen=seen, plan=_plan(desk, seen), trouble=wrong)
    return desk.page("plot.html", seen=seen, plan=_plan(desk, seen))


@router.get("/plot/plan.pdf")
def plan_pdf(desk: Signed, feature: Key = "", start: Key = "", end: Key = "") -> Response:
    """The plan, to print; with the distance when two points are chosen."""
    return _file(desk, feature, (start, end), ".pdf")


@router.get("/plot/plan.svg")
def plan_svg(desk: Signed, feature: Key = "", start: Key = "", end: Key = "") -> Response:
    """The plan as a drawing."""
    return _file(desk, feature, (start, end), ".svg")


def _file(desk: Desk, feature: str, pair: tuple[str, str], ending: str) -> Response:
    with desk.looking() as office:
        request = PlotRequest(
            feature=feature.strip("[]() ") or None, site=desk.site(office), pairs=(pair,) if all(pair) else ()
        )
        return handed_out(plan_file(office, request, ending))


def _plan(desk: Desk, seen: PlanSeen | None) -> str | None:
    """The plan with a link on each point: the first tap chooses it, the second measures to it."""
    if seen is None or seen.svg is None:
        return None
    middles = [_middle(point) for point in seen.points if point.on_sheet is not None]
    return with_links(
        seen.svg, [_over(desk, seen, point, middles) for point in seen.points if point.on_sheet is not None]
    )


def _middle(point: PointTold) -> tuple[float, float]:
    left, top, right, bottom = point.on_sheet.box if point.on_sheet else (0.0, 0.0, 0.0, 0.0)
    return (left + right) / 2, (top + bottom) / 2


def _over(desk: Desk, seen: PlanSeen, point: PointTold, middles: list[tuple[float, float]]) -> Over:
    measuring = seen.start is not None and seen.end is None and point is not seen.start
    words = f"{_spoken(point)} {point.number}{', ' + point.what if point.what else ''}"
    if measuring and seen.start is not None:
        href = desk.link("/plot", feature=seen.feature, start=seen.start.key, end=point.key)
        words = f"distance from {seen.start.number} to {words}"
    else:
        href = desk.link("/plot", feature=seen.feature, start=point.key)
        words = f"what lies near {words}"
    left, top, right, bottom = point.on_sheet.box if point.on_sheet else (0.0, 0.0, 0.0, 0.0)
    x, y = _middle(point)
    # Two squares of this side whose middles are so far apart along one of the axes do not overlap.
    clear = min((max(abs(a - x), abs(b - y)) for a, b in middles if (a, b) != (x, y)), default=WANTED_MM)
    least = min(max(clear, LEAST_MM), WANTED_MM)
    wide, high = max(right - left, least), max(bottom - top, least)
    return Over(
        href=href,
        words=words,
        left_mm=(left + right - wide) / 2,
        top_mm=(top + bottom - high) / 2,
        width_mm=wide,
        height_mm=high,
        current=point in (seen.start, seen.end),
    )


def _spoken(point: PointTold) -> str:
    return {"registered": "find", "bulk": "bulk find"}.get(point.kind, point.kind)
