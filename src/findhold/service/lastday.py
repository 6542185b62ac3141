"""The last day on which somebody is there to open a box before its keep-until date."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from findhold.dates.closures import Closure, WorkingCalendar
from findhold.dates.instants import zone_named
from findhold.errors import BadInput
from findhold.service.case import Case

OPENING_HOUR = 9
"""A keep-until before this hour of the clock leaves only the day before (common practice: benches open at nine)."""


def open_by(keep_until: datetime, zone: str, closures: Sequence[Closure]) -> date | None:
    """The last open day not after the keep-until date on the zone's clock; None when there is none in ten years."""
    local = keep_until.astimezone(zone_named(zone))
    day = local.date() if local.hour >= OPENING_HOUR else local.date() - timedelta(days=1)
    try:
        return WorkingCalendar(closures=tuple(closures)).on_or_before(day)
    except BadInput:
        return None


def opening_closed(case: Case) -> str | None:
    """The reason of the closure that the planned opening falls in, None when somebody is there or none is planned."""
    if case.open_at is None:
        return None
    day = case.open_at.astimezone(zone_named(case.zone)).date()
    closure = WorkingCalendar(closures=tuple(case.closures)).closure_on(day)
    return closure.reason if closure is not None else None
