"""A hold as it was recorded, in the shapes that drawings and sentences take, so that looking reckons nothing anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from types import SimpleNamespace
from typing import Any, cast

from findhold.dates.closures import Closure
from findhold.draw.marks import Drawing
from findhold.draw.svg import to_svg
from findhold.errors import BadInput
from findhold.paper.packed import SectionSpec
from findhold.paper.section import section_drawing
from findhold.paper.strip import StripMoment, strip_drawing
from findhold.record.events import UNIT
from findhold.service.case import Case, Kept
from findhold.service.holds import Held
from findhold.service.ledger_case import closure_told
from findhold.service.office import Office
from findhold.service.papers import section_of, strip_of, what_to_do
from findhold.service.rounds.public_days import with_holidays

SECTION_MM = 128.0
HEIGHTS_MM = (58.0, 64.0, 70.0, 78.0, 86.0, 96.0)
"""Heights tried for a section [mm], lowest first; its scale is that of the last."""
STRIP_MM = 160.0


def section_svg(number: str, hold: Mapping[str, Any]) -> str | None:
    """The measured section through the box as planned; None for a plan without a box.

    Raises
    ------
    BadInput : the plan was recorded by an older version and lacks what the drawing needs.
    """
    plan = hold["plan"]
    if not plan.get("box_facts") or not plan.get("clearance_mm"):
        return None
    told = seen_plan(plan)
    try:
        spec = section_of(cast(Held, SimpleNamespace(number=number, plan=told)))
    except AttributeError as error:
        raise BadInput(
            "its plan was recorded by an older version, which kept less",
            where=f"find {number}",
            do=f"Plan it again: findhold plan {number}",
        ) from error
    return to_svg(low_section(spec))


def seen_plan(plan: Mapping[str, Any]) -> Any:
    """A recorded plan as the dataclass it came from was, with the box's own facts."""
    return _seen({**plan, "box": plan["box_facts"]})


def low_section(spec: SectionSpec) -> Drawing:
    """The section at the scale that fits, on no more height than that scale needs."""
    whole = section_drawing(spec, width_mm=SECTION_MM, height_mm=HEIGHTS_MM[-1])
    for height_mm in HEIGHTS_MM[:-1]:
        try:
            low = section_drawing(spec, width_mm=SECTION_MM, height_mm=height_mm)
        except BadInput:  # too low for its names
            continue
        if low.title == whole.title:
            return low
    return whole


def strip_svg(case: Case, kept: Kept, now: datetime, *, void: bool = False) -> str | None:
    """The wait as a strip of time with the present moment on it; None while exposure or packing is not known.

    void : the forecast's date no longer counts; it is struck out.
    """
    strip = strip_of(case, kept)
    if strip is None:
        return None
    if void:
        moments = tuple(_struck(moment) if moment.kind == "keep_until" else moment for moment in strip.moments)
        strip = replace(strip, moments=moments)
    if strip.start <= now <= strip.end:
        strip = replace(strip, moments=(*strip.moments, StripMoment(at=now, name="now", kind="now")))
    return to_svg(strip_drawing(strip, width_mm=STRIP_MM))


def _struck(moment: StripMoment) -> StripMoment:
    return replace(moment, kind="void", name="no longer counts: keep until")


def next_words(case: Case, kept: Kept, now: datetime) -> str:
    """The next thing to do by the recorded forecast, as the packing sheet words it."""
    return what_to_do(case, kept, now)


def recorded_case(hold: Mapping[str, Any], zone: str, closures: tuple[Closure, ...]) -> tuple[Case, Kept] | None:
    """Case and forecast as recorded, with what drawings and sentences ask of them; None before any forecast."""
    forecast = hold.get("forecast")
    if not forecast:
        return None
    case = SimpleNamespace(
        zone=zone,
        closures=closures,
        exposed_at=_instant(hold.get("exposed_at")),
        packed_at=_instant(hold.get("packed_at")),
        open_at=_instant(hold.get("open_at")),
    )
    limits = tuple(
        SimpleNamespace(
            name=limit["name"],
            source=limit["source"],
            note=limit["note"],
            **{name: _instant(limit[name]) for name in ("date_low", "date_best", "date_high")},
        )
        for limit in forecast["limits"]
    )
    told = SimpleNamespace(
        keep_until=datetime.fromisoformat(forecast["keep_until"]),
        governing_limit=forecast["governing_limit"],
        can_keep=forecast["can_keep"],
        limits=limits,
    )
    checks = tuple(
        SimpleNamespace(at=datetime.fromisoformat(check["at"]), reason=check["reason"]) for check in forecast["checks"]
    )
    return cast(Case, case), cast(Kept, SimpleNamespace(forecast=told, checks=checks, options=()))


def closures_for(office: Office, store: str | None) -> tuple[Closure, ...]:
    """The unit's closures, and those of one store."""
    told = tuple(closure_told(thing.facts) for thing in office.ledger.states("closure", UNIT))
    told = with_holidays(told, office.now().date())
    return tuple(closure for name, closure in told if name in (None, "", store))


def _instant(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


def _seen(value: Any) -> Any:
    """Plain data as the dataclasses it came from were: names as attributes, lists as tuples."""
    if isinstance(value, dict):
        return SimpleNamespace(**{name: _seen(item) for name, item in value.items()})
    if isinstance(value, list):
        return tuple(_seen(item) for item in value)
    return value
