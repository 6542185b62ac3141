"""Today: what is due, worst first, without reading more of the ledger than is shown."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from findhold.record.events import utc_text
from findhold.service.diary import TO_BE_BOXED, WORST, DueRow, rows_of_days, worst_late
from findhold.service.office import Office
from findhold.store.beside.hold_days import HoldDays, finds_planned_for_others, hold_days
from findhold.store.lookup import finds_without_box, holds_due, holds_without_date

MOST = 40
"""So many boxes are shown; there is no day on which anybody does more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TodayRequest:
    """Which site, and how many days ahead still belong to the list [days]."""

    site: str
    days: int = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class TodayRow:
    """One thing to do on one box: what the diary says, what the find is, and how many more checks of it were missed."""

    row: DueRow
    what: str
    registered: bool
    missed: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """The moment, and what is due: to act on now, today, and in the days ahead."""

    site: str
    site_name: str
    zone: str
    now: datetime
    act: tuple[TodayRow, ...]
    today: tuple[TodayRow, ...]
    ahead: tuple[TodayRow, ...]
    not_planned: tuple[str, ...]
    not_forecast: tuple[str, ...]
    plan_again: tuple[str, ...]
    """Finds whose measures or facts changed since their box was planned."""
    more: bool
    """True when more boxes are due than are shown."""


def today(office: Office, request: TodayRequest) -> Today:
    """What is due at a site: what is late or was seen amiss first, then by the clock."""
    site = office.site(request.site)
    now = office.in_site_zone(office.now(), site)
    until = now + timedelta(days=request.days)
    with office.ledger.reading() as connection:
        streams = holds_due(connection, site.number, utc_text(until), MOST + 1)
        holds = hold_days(connection, site.number, streams[:MOST])
        bare = holds_without_date(connection, site.number, MOST)
        loose = finds_without_box(connection, site.number, TO_BE_BOXED, MOST)
        others = finds_planned_for_others(connection, site.number, MOST)
    end = (now + timedelta(days=1)).replace(hour=0, minute=0, second=0, microsecond=0)
    act: list[TodayRow] = []
    ahead: list[TodayRow] = []
    for hold in holds:
        late, coming = _parted(hold, now, until)
        act += late
        ahead += coming
    ahead.sort(key=lambda one: (one.row.at, one.row.box_id))
    return Today(
        site=site.number,
        site_name=str(site.facts["name"]),
        zone=str(site.facts["zone"]),
        now=now,
        act=tuple(sorted(act, key=lambda one: (WORST.index(one.row.what), one.row.at, one.row.box_id))),
        today=tuple(one for one in ahead if one.row.at < end),
        ahead=tuple(one for one in ahead if one.row.at >= end),
        not_planned=tuple(find.number for find in loose),
        not_forecast=tuple(hold.facts["find"] for hold in bare),
        plan_again=tuple(others),
        more=len(streams) > MOST,
    )


def _parted(hold: HoldDays, now: datetime, until: datetime) -> tuple[list[TodayRow], list[TodayRow]]:
    """What has to be done at once on one box, as one line, and what comes."""
    told: dict[str, Any] = {"what": hold.what, "registered": hold.registered}
    rows = sorted(rows_of_days(hold, now), key=lambda row: row.at)
    worst, missed = worst_late(rows, now)
    act = []
    if worst is not None:
        act.append(TodayRow(row=worst, missed=len(missed) - (worst.what == "check"), **told))
    # A visit to make up for a missed check does today's as well.
    coming = [row for row in rows if now <= row.at <= until and row.what in ("check", "keep until", "open")]
    if missed:
        coming = [row for row in coming if row.what != "check" or row.at.date() > now.date()]
    return act, [TodayRow(row=row, **told) for row in coming]
