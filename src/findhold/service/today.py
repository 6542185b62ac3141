"""Today: what is due, worst first, without reading more of the ledger than is shown."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from findhold.errors import BadInput
from findhold.service.diary import DueRequest, DueRow, due
from findhold.service.office import Office


@dataclass(frozen=True, slots=True, kw_only=True)
class TodayRequest:
    """Which site, and how many days ahead still belong to the list [days]."""

    site: str
    days: int = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """The moment, and what is due: to act on now, today, and in the days ahead."""

    site: str
    site_name: str
    now: datetime
    act: tuple[DueRow, ...]
    today: tuple[DueRow, ...]
    ahead: tuple[DueRow, ...]
    not_planned: tuple[str, ...]
    not_forecast: tuple[str, ...]


def today(office: Office, request: TodayRequest) -> Today:
    """What is due at a site."""
    site = office.site(request.site)
    now = office.in_site_zone(office.now(), site)
    try:
        found = due(office, DueRequest(site=site.number, days=request.days))
    except BadInput:
        found = None
    rows = found.rows if found else ()
    end = (now + timedelta(days=1)).replace(hour=0, minute=0, second=0, microsecond=0)
    act = tuple(row for row in rows if row.late or row.what == "act")
    return Today(
        site=site.number,
        site_name=str(site.facts["name"]),
        now=now,
        act=act,
        today=tuple(row for row in rows if row not in act and row.at < end),
        ahead=tuple(row for row in rows if row not in act and row.at >= end),
        not_planned=found.not_planned if found else (),
        not_forecast=found.not_forecast if found else (),
    )
