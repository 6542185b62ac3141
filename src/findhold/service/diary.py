"""What is due: checks and openings of every hold, as a list and as a calendar file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from findhold.check.rounds import Check, HoldInCalendar, events
from findhold.dates.calendar_file import CalendarEvent, write_calendar
from findhold.dates.instants import for_people, zone_named
from findhold.errors import BadInput
from findhold.service.folder import write_file
from findhold.service.office import Office
from findhold.store.hold_days import HoldDays, hold_days
from findhold.store.ledger import Thing, counting_order
from findhold.store.lookup import finds_without_box

TO_BE_BOXED = ("damp", "waterlogged")
WORST = ("act", "keep until", "open", "check")
"""What is worst first: seen amiss, kept too long, not opened when it should have been, not looked at."""
NO_LIMIT = -1
"""All rows, as the database says it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DueRequest:
    """Which site and store (None: all), how far ahead [days], and the calendar file to write (None: no file)."""

    site: str | None = None
    days: int | None = None
    calendar: Path | None = None
    store: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DueRow:
    """One thing to do: when, what (check, open or keep-until), for which box, and the mass to expect."""

    at: datetime
    what: str
    box_id: str
    find: str
    store: str
    low_kg: float | None
    best_kg: float | None
    high_kg: float | None
    note: str
    late: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LateBox:
    """A box on which something is late, told once: the worst of it, since when, and how many checks were missed."""

    box_id: str
    find: str
    store: str
    worst: str
    since: datetime
    missed: int
    keep_until: datetime
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """Everything due, earliest first; boxes on which something is late, worst first, each once; holds without dates."""

    zone: str
    now: datetime
    rows: tuple[DueRow, ...]
    late: tuple[LateBox, ...]
    not_forecast: tuple[str, ...]
    not_planned: tuple[str, ...]
    """Finds to be kept damp or wet that no box is planned for: they wait without a date."""
    calendar: str | None
    calendar_events: int


def due(office: Office, request: DueRequest) -> Due:
    """Checks, openings and keep-until dates of every hold; writes the calendar file when asked.

    Raises
    ------
    BadInput : there is no forecast to take dates from, or the file cannot be written.
    """
    site = office.site(request.site)
    with office.ledger.reading() as connection:
        every = hold_days(connection, site.number)
        loose = finds_without_box(connection, site.number, TO_BE_BOXED, NO_LIMIT)
    days = [one for one in every if request.store in (None, one.store)]
    known = [one for one in days if one.facts.get("keep_until")]
    if not any(one.facts.get("keep_until") for one in every):
        raise BadInput("nothing is forecast yet", where=f"site {site.number}", do="Run: findhold keep --all")
    now = office.in_site_zone(office.now(), site)
    until = None if request.days is None else now + timedelta(days=request.days)
    rows: list[DueRow] = []
    late: list[LateBox] = []
    for one in known:
        mine = hold_rows(_as_hold(one), one.store, now)
        rows += mine if until is None else [row for row in mine if row.at <= until]
        worst = _late(mine, now)
        late += [worst] if worst is not None else []
    rows.sort(key=lambda row: (row.at, row.box_id))
    made = [event for one in known for event in _events(_as_hold(one), one.store, site)] if request.calendar else []
    file = None
    if request.calendar is not None:
        data = write_calendar(made, name=f"{site.number} holds", zone=site.facts["zone"], stamp=now)
        file = str(write_file(request.calendar, data))
    return Due(
        zone=site.facts["zone"],
        now=now,
        rows=tuple(rows),
        late=tuple(sorted(late, key=_worst_first)),
        not_forecast=tuple(sorted((one.facts["find"] for one in days if one not in known), key=counting_order)),
        not_planned=tuple(find.number for find in loose if request.store in (None, find.facts.get("store"))),
        calendar=file,
        calendar_events=len(made),
    )


def _as_hold(days: HoldDays) -> Thing:
    """The days of a hold as its state holds them."""
    forecast = {name: days.facts.get(name) for name in ("keep_until", "governing_limit", "open_by")}
    forecast |= {name: days.facts.get(name) or [] for name in ("checks", "mass_band")}
    can_keep = days.facts.get("can_keep")
    forecast["can_keep"] = None if can_keep is None else bool(can_keep)
    return Thing(stream=days.stream, facts={**days.facts, "forecast": forecast}, seq=0)


def _late(rows: Sequence[DueRow], now: datetime) -> LateBox | None:
    """What is late on one box, as one line; None when nothing is. A check is late when its day is over."""
    missed = [row for row in rows if row.what == "check" and row.late and row.at.date() < now.date()]
    passed = [row for row in rows if row.what == "act" or (row.what in ("keep until", "open") and row.at < now)]
    worst = min([*passed, *missed[:1]], key=lambda row: WORST.index(row.what), default=None)
    if worst is None:
        return None
    return LateBox(
        box_id=worst.box_id,
        find=worst.find,
        store=worst.store,
        worst=worst.what,
        since=worst.at,
        missed=len(missed),
        keep_until=next(row.at for row in rows if row.what == "keep until"),
        note=worst.note,
    )


def _worst_first(late: LateBox) -> tuple[int, datetime, datetime, str]:
    """What was seen amiss, then kept too long, then not opened, then not looked at; then the nearest limit."""
    return WORST.index(late.worst), late.keep_until, late.since, late.box_id


def hold_rows(hold: Thing, store: str, now: datetime) -> list[DueRow]:
    """Everything to do on one forecast hold that stands in a store: checks, keep-until, opening, what was seen."""
    forecast, facts = hold.facts["forecast"], hold.facts
    bands = {band["at"]: band for band in forecast["mass_band"]}
    weighed = [datetime.fromisoformat(item["at"]) for item in facts.get("weighings", ())]

    def row(at: str, what: str, note: str = "", band: dict[str, Any] | None = None) -> DueRow:
        when = datetime.fromisoformat(at)
        band = band or {}
        done = any(moment >= when for moment in weighed)
        return DueRow(
            at=when,
            what=what,
            box_id=facts["box_id"],
            find=facts["find"],
            store=store,
            low_kg=band.get("low_kg"),
            best_kg=band.get("best_kg"),
            high_kg=band.get("high_kg"),
            note=note,
            late=when < now and not done,
        )

    rows = [row(check["at"], "check", check["reason"], bands.get(check["at"])) for check in forecast["checks"]]
    rows.append(row(forecast["keep_until"], "keep until", forecast["governing_limit"]))
    if facts.get("alarm"):
        rows.append(row(facts["weighings"][-1]["at"], "act", f"{facts['alarm']} seen: tell the conservator"))
    if facts.get("open_at"):
        note = "" if forecast["can_keep"] else "after its keep-until date"
        rows.append(row(facts["open_at"], "open", note))
    return rows


def _events(hold: Thing, store: str, site: Thing) -> tuple[CalendarEvent, ...]:
    facts, forecast = hold.facts, hold.facts["forecast"]
    zone = site.facts["zone"]
    checks = tuple(
        Check(
            at=datetime.fromisoformat(check["at"]),
            reason=check["reason"],
            needs_duty_holder=check["needs_duty_holder"],
        )
        for check in forecast["checks"]
    )
    bands = {
        datetime.fromisoformat(band["at"]): f"Expected: {band['low_kg']:.3f} to {band['high_kg']:.3f} kg"
        f" (best {band['best_kg']:.3f} kg)."
        for band in forecast["mass_band"]
    }
    keep_until = for_people(datetime.fromisoformat(forecast["keep_until"]), zone)
    told = HoldInCalendar(
        key=facts["box_id"],
        what=f"{site.number} {facts['find']}, box {facts['box_id']}",
        location=store,
        zone=zone,
        opening=datetime.fromisoformat(facts["open_at"]) if facts.get("open_at") else None,
        opening_note=f"Keep until {keep_until} ({forecast['governing_limit']}).",
        band_lines=bands,
        sequence=facts.get("forecast_no", 1) - 1,
        previously=facts.get("most_checks", 0),
    )
    return (*events(checks, told), _last_day(hold, site, told))


def _last_day(hold: Thing, site: Thing, told: HoldInCalendar) -> CalendarEvent:
    """The keep-until date as an event of the whole day, so that it stands in the calendar also without an opening."""
    facts, forecast = hold.facts, hold.facts["forecast"]
    day = datetime.fromisoformat(forecast["keep_until"]).astimezone(zone_named(site.facts["zone"])).date()
    late = "" if forecast["can_keep"] in (True, None) else " The planned opening is later: see the options."
    by = f" Last open day before it: {forecast['open_by']}." if forecast.get("open_by") else ""
    return CalendarEvent(
        uid=f"{facts['box_id']}-keep-until@findhold",
        start=day,
        end=day,
        summary=f"Keep until: {told.what}",
        description=f"{forecast['governing_limit']} ends the wait.{by}{late}",
        location=told.location,
        sequence=told.sequence,
        alarm_hours=24,
    )
