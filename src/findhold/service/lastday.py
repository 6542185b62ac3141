"""The last day on which somebody is there to open a box before its keep-until date."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from findhold.dates.closures import Closure, WorkingCalendar
from findhold.dates.instants import zone_named
from findhold.errors import BadInput

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
