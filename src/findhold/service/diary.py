"""What is due: checks and openings of every hold, as a list and as a calendar file."""

from __future__ import annotations

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
from findhold.store.ledger import Thing


@dataclass(frozen=True, slots=True, kw_only=True)
class DueRequest:
    """Which site, how far ahead [days], and the calendar file to write (None: no file)."""

    site: str | None = None
    days: int | None = None
    calendar: Path | None = None


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
class Due:
    """Everything due, earliest first; holds that have no forecast yet; and the calendar file when one was asked for."""

    zone: str
    rows: tuple[DueRow, ...]
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
    holds = office.ledger.states("hold", site.number)
    known = [hold for hold in holds if hold.facts.get("forecast")]
    if not known:
        raise BadInput("nothing is forecast yet", where=f"site {site.number}", do="Run: findhold keep --all")
    finds = {find.number: find.facts for find in office.ledger.states("find", site.number)}
    boxed = {hold.facts["find"] for hold in holds}
    now = office.now()
    rows = sorted(
        (row for hold in known for row in hold_rows(hold, _store(hold, finds), now)),
        key=lambda row: (row.at, row.box_id),
    )
    if request.days is not None:
        rows = [row for row in rows if row.at <= now + timedelta(days=request.days)]
    made = [event for hold in known for event in _events(hold, finds, site)]
    file = None
    if request.calendar is not None:
        name = f"{site.number} holds"
        data = write_calendar(made, name=name, zone=site.facts["zone"], stamp=now)
        file = str(write_file(request.calendar, data))
    return Due(
        zone=site.facts["zone"],
        rows=tuple(rows),
        not_forecast=tuple(hold.facts["find"] for hold in holds if hold not in known),
        not_planned=tuple(
            number
            for number, facts in finds.items()
            if number not in boxed and facts.get("state") in ("damp", "waterlogged")
        ),
        calendar=file,
        calendar_events=len(made) if file else 0,
    )


def _store(hold: Thing, finds: dict[str, dict[str, Any]]) -> str:
    return finds.get(hold.facts["find"], {}).get("store") or ""


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


def _events(hold: Thing, finds: dict[str, dict[str, Any]], site: Thing) -> tuple[CalendarEvent, ...]:
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
        location=finds.get(facts["find"], {}).get("store") or "",
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
