"""Which planned checks of a box were made: one rule for the answer at the fridge, the device, and the find's sheet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, tzinfo
from typing import Any


def days_weighed(facts: Mapping[str, Any], zone: tzinfo) -> dict[date, dict[str, Any]]:
    """The first weighing of each local day."""
    rows = sorted(facts.get("weighings", ()), key=lambda row: datetime.fromisoformat(row["at"]), reverse=True)
    return {datetime.fromisoformat(row["at"]).astimezone(zone).date(): row for row in rows}


def missed_days(facts: Mapping[str, Any], zone: tzinfo) -> tuple[date, ...]:
    """Local days of planned checks after packing on which nobody weighed the box, whether they are over or to come.

    A check is made by a weighing on its day; one on a later day makes up for it, and it stays missed.
    """
    packed = facts.get("packed_at")
    if not packed:
        return ()
    made, begin = days_weighed(facts, zone), datetime.fromisoformat(packed).astimezone(zone).date()
    checks = (facts.get("forecast") or {}).get("checks", ())
    days = sorted({datetime.fromisoformat(check["at"]).astimezone(zone).date() for check in checks})
    return tuple(day for day in days if day > begin and day not in made)


def missed_before(facts: Mapping[str, Any], at: datetime) -> tuple[date, ...]:
    """Days of checks that were missed between the weighing before an instant, or packing, and that instant.

    at : of a weighing, in the zone of the site.
    """
    zone = at.tzinfo
    if zone is None:
        raise ValueError("at has no zone")
    earlier = [datetime.fromisoformat(row["at"]) for row in facts.get("weighings", ())]
    if earlier and min(earlier) > at:
        return ()  # put in its place before all others: what was missed after it, it cannot know
    last = max((when for when in earlier if when <= at), default=None)
    since = date.min if last is None else last.astimezone(zone).date()
    return tuple(day for day in missed_days(facts, zone) if since < day < at.date())
