"""The plan of a feature for a page: where each point stands on it, the distance asked for, and what lies near."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from findhold.draw.svg import to_svg
from findhold.errors import BadInput
from findhold.register.plot import OnSheet, draw_plan_with_places
from findhold.register.plot_near import Near, distance_error_m, nearest
from findhold.register.plot_points import Distance, PlotPoint, distances
from findhold.service.office import Office
from findhold.service.plotting import PlotRequest, plan_sheet, plot_points
from findhold.service.wire import plain
from findhold.store.whereabouts import cuts_of_site

MOST_FEATURES = 40
MOST_NEAR = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRequest:
    """Which feature ("" for the first cut), and the points chosen: one asks what lies near, two the distance."""

    site: str | None = None
    feature: str = ""
    start: str = ""
    end: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointTold:
    """One point of the plan; key is what it is asked for by (a kind before the number where two share it)."""

    key: str
    number: str
    kind: str
    what: str
    easting_m: float | None
    northing_m: float | None
    level_m: float | None
    on_sheet: OnSheet | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSeen:
    """A plan with its points; distance and near as asked for, each with its error [m]."""

    site: str
    site_name: str
    grid: str
    vertical_datum: str
    feature: str
    features: tuple[tuple[str, str], ...]
    svg: str | None
    points: tuple[PointTold, ...]
    start: PointTold | None
    end: PointTold | None
    distance: Distance | None
    near: tuple[Near, ...]
    near_keys: tuple[str, ...]
    error_m: float


def plan_seen(office: Office, request: PlanRequest) -> PlanSeen | None:
    """The plan of a feature; None when the site has no feature and no find with a position.

    Raises
    ------
    UnknownName : no such feature or point. BadInput : a chosen point without position, or the same one twice.
    Mistakes : a position that only a person can settle.
    """
    site = office.site(request.site)
    with office.ledger.reading() as connection:
        cuts = cuts_of_site(connection, site.number, MOST_FEATURES)
    wanted = request.feature.strip("[]() ")
    feature = wanted or (cuts[0].number if cuts else "")
    if not feature:
        return None
    points = plot_points(office, site, feature)
    keys = _keys(points)
    start, end = request.start.strip(), request.end.strip()
    if start and start == end:
        raise BadInput("the same point was chosen twice", where=start, do="Choose another one as the end")
    pairs = ((start, end),) if start and end else ()
    sheet = replace(plan_sheet(office, site, PlotRequest(feature=feature, site=site.number)), distances=pairs)
    measured = distances(points, pairs) if pairs else ()
    near = nearest(points, start, MOST_NEAR) if start else ()
    drawing, places = draw_plan_with_places(points, (), sheet) if any(p.plan for p in points) else (None, ())
    told = _told(points, keys, places)
    by_key = {point.key: point for point in told} | {point.number: point for point in reversed(told)}
    return PlanSeen(
        site=site.number,
        site_name=str(site.facts["name"]),
        grid=str(site.facts["grid"]),
        vertical_datum=str(site.facts["vertical_datum"]),
        feature=feature,
        features=tuple((cut.number, str(cut.facts.get("description") or "cut")) for cut in cuts),
        svg=None if drawing is None else to_svg(drawing),
        points=told,
        start=by_key.get(start),
        end=by_key.get(end),
        distance=measured[0] if measured else None,
        near=near,
        near_keys=tuple(keys[id(one.point)] for one in near),
        error_m=distance_error_m(),
    )


def plan_answer(seen: PlanSeen | None) -> dict[str, Any]:
    """A plan in the public shape, without the picture."""
    if seen is None:
        return {"feature": None, "points": []}
    told: dict[str, Any] = plain(seen)
    for name in ("svg", "near_keys"):
        del told[name]
    return told


def _keys(points: list[PlotPoint]) -> dict[int, str]:
    """What each point is asked for by."""
    numbers = [point.number for point in points]
    return {
        id(point): point.number if numbers.count(point.number) == 1 else f"{point.kind} {point.number}"
        for point in points
    }


def _told(points: list[PlotPoint], keys: dict[int, str], places: tuple[OnSheet, ...]) -> tuple[PointTold, ...]:
    where = {(place.kind, place.number): place for place in places}
    return tuple(
        PointTold(
            key=keys[id(point)],
            number=point.number,
            kind=point.kind,
            what=point.label,
            easting_m=point.easting_m,
            northing_m=point.northing_m,
            level_m=point.level_m,
            on_sheet=where.get((point.kind, point.number)),
        )
        for point in points
    )
