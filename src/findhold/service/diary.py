"""What is due: checks and openings of every hold, as a list and as a calendar file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from operator import attrgetter
from pathlib import Path
from typing import Any, NamedTuple

from findhold.book.inputs import OPENING
from findhold.check.rounds import LOOK, Check, HoldInCalendar, events
from findhold.dates.calendar_file import CalendarEvent, write_calendar
from findhold.dates.instants import for_people, zone_named
from findhold.errors import BadInput
from findhold.rounding import told_expected
from findhold.service.bookings.calendar_out import Appointment, appointment_events, appointments
from findhold.service.folder import write_file
from findhold.service.office import Office
from findhold.store.beside.hold_days import HoldDays, hold_days
from findhold.store.ledger import Thing, counting_order
from findhold.store.lookup import finds_without_box

TO_BE_BOXED = ("damp", "waterlogged")
WORST = ("act", "keep until", "open", "mass", "check")
"""What is worst first: seen amiss, kept too long, not opened when it should have been, mass wrong, not looked at."""
MASS_WRONG = "weigh again"
"""What a mass that no second weighing has borne out asks for."""
_STANDING = ("act", "mass")
_TWO_DAYS = timedelta(days=2)
_NO_BAND = (False, None, None, None)
"""No duty holder asked for, no masses."""
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
    weighed: bool = False
    """True once its box was weighed: from then on the mass to expect is known to the gram."""

    @property
    def expect(self) -> str:
        """The mass to expect, in words; before any weighing only about the planned one, for that weighing sets it."""
        if self.low_kg is None or self.best_kg is None or self.high_kg is None:
            return ""
        return told_expected(self.low_kg, self.best_kg, self.high_kg, weighed=self.weighed)


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
        every = hold_days(connection, site.number, ended=True)
        loose = finds_without_box(connection, site.number, TO_BE_BOXED, NO_LIMIT)
    booked = appointments(office, site)
    openings = {one.find: one for one in booked if one.what == OPENING and one.status != "cancelled"}
    every = [_as_booked(one, openings.get(str(one.facts["find"]))) for one in every]
    here = [one for one in every if request.store in (None, one.store)]
    days = [one for one in here if not one.facts["ended"]]
    known = [one for one in days if one.facts.get("keep_until")]
    bare = [str(one.facts["find"]) for one in days if not one.facts.get("keep_until")]
    if not any(one.facts.get("keep_until") for one in every):
        raise BadInput("nothing is forecast yet", where=f"site {site.number}", do="Run: findhold keep --all")
    now = office.in_site_zone(office.now(), site)
    until = None if request.days is None else now + timedelta(days=request.days)
    rows: list[DueRow] = []
    late: list[LateBox] = []
    for one in known:
        mine = rows_of_days(one, now, until)
        rows += mine
        worst = _late(mine, one.facts["keep_until"], now)
        late += [worst] if worst is not None else []
    rows += _booked_rows(booked, {str(one.facts["find"]): one for one in known}, (now, until))
    rows.sort(key=lambda row: row.box_id)
    rows.sort(key=attrgetter("at"))
    made = [] if request.calendar is None else _calendar(office, site, here, openings)
    return Due(
        zone=site.facts["zone"],
        now=now,
        rows=tuple(rows),
        late=tuple(sorted(late, key=_worst_first)),
        not_forecast=tuple(sorted(bare, key=counting_order)),
        not_planned=tuple(find.number for find in loose if request.store in (None, find.facts.get("store"))),
        calendar=None if request.calendar is None else _written(request.calendar, made, site, now),
        calendar_events=len(made),
    )


def _as_booked(days: HoldDays, opening: Appointment | None) -> HoldDays:
    """A hold with the opening that was booked in the place of the one that its register's row planned."""
    if opening is None:
        return days
    return replace(days, facts={**days.facts, "open_at": opening.starts_at.isoformat(), "with": opening.with_})


def _booked_rows(
    booked: Sequence[Appointment], holds: Mapping[str, HoldDays], when: tuple[datetime, datetime | None]
) -> list[DueRow]:
    """Appointments other than openings, which stand among the dates of their hold already."""
    now, until = when
    return [
        DueRow(
            at=one.starts_at,
            what="booked",
            box_id=holds[one.find].facts["box_id"],
            find=one.find,
            store=holds[one.find].store,
            low_kg=None,
            best_kg=None,
            high_kg=None,
            note=f"{one.what} with {one.with_}, {one.status}",
            late=False,
        )
        for one in booked
        if one.status != "cancelled" and one.what != OPENING and one.find in holds
        if one.starts_at >= now and (until is None or one.starts_at <= until)
    ]


def _calendar(
    office: Office, site: Thing, holds: Sequence[HoldDays], openings: Mapping[str, Appointment]
) -> list[CalendarEvent]:
    """The events of every hold, those of a hold that has ended withdrawn, and the appointments besides openings."""
    made = [event for event in appointment_events(office, site) if f"-{OPENING}@" not in event.uid]
    for one in holds:
        if not one.facts.get("keep_until"):
            continue
        opening = openings.get(str(one.facts["find"]))
        ended = bool(one.facts["ended"])
        more = (0 if opening is None else opening.no + 1) + ended
        made += [
            replace(event, sequence=event.sequence + more, cancelled=event.cancelled or ended)
            for event in _events(one, site)
        ]
    return made


def _written(file: Path, made: Sequence[CalendarEvent], site: Thing, now: datetime) -> str:
    """The calendar file, written; its path."""
    data = write_calendar(made, name=f"{site.number} holds", zone=site.facts["zone"], stamp=now)
    return str(write_file(file, data))


def _late(rows: Sequence[DueRow], keep_until: str, now: datetime) -> LateBox | None:
    """What is late on one box, as one line; None when nothing is."""
    worst, missed = worst_late(rows, now, first=True)
    if worst is None:
        return None
    return LateBox(
        box_id=worst.box_id,
        find=worst.find,
        store=worst.store,
        worst=worst.what,
        since=worst.at,
        missed=len(missed),
        keep_until=datetime.fromisoformat(keep_until),
        note=worst.note,
    )


def worst_late(rows: Sequence[DueRow], now: datetime, *, first: bool = False) -> tuple[DueRow | None, list[DueRow]]:
    """The worst that is late on one box, None when nothing is, and its checks that were missed.

    One rule for Today, Round and `due`: a check, an opening or a keep-until date is late from its own minute on; what
    was seen amiss and a mass in doubt are late until they are settled. Of checks missed the newest counts, or (first)
    the first.
    """
    missed = sorted((row for row in rows if row.what == "check" and row.late), key=attrgetter("at"))
    passed = [row for row in rows if row.what in _STANDING or (row.what in ("keep until", "open") and row.at < now)]
    check = missed[:1] if first else missed[-1:]
    return min([*passed, *check], key=lambda row: WORST.index(row.what), default=None), missed


def _worst_first(late: LateBox) -> tuple[int, datetime, datetime, str]:
    """What was seen amiss, then kept too long, then not opened, then not looked at; then the nearest limit."""
    return WORST.index(late.worst), late.keep_until, late.since, late.box_id


def rows_of_days(days: HoldDays, now: datetime, until: datetime | None = None) -> list[DueRow]:
    """What is to do on a forecast hold up to a moment (None: ever); checks that were made are left out."""
    last = max((datetime.fromisoformat(item[0]) for item in days.facts["weighings"]), default=None)
    return _rows(_Told(days.facts, days.facts["checks"], last, days.store), now, until)


def last_visit(facts: Mapping[str, Any]) -> datetime | None:
    """When somebody last stood before a box, by its days: weighed it, or looked at it alone."""
    visits = (*facts["weighings"], *(facts.get("looks") or ()))
    return max((datetime.fromisoformat(item[0]) for item in visits), default=None)


class _Told(NamedTuple):
    """One hold as its rows are made from it: flat facts, checks as lists, its last weighing, its store."""

    facts: Mapping[str, Any]
    checks: Sequence[Sequence[Any]]
    weighed: datetime | None
    store: str


def _rows(told: _Told, now: datetime, until: datetime | None) -> list[DueRow]:
    """What is to do on one hold up to a moment (None: ever)."""
    facts, weighed = told.facts, told.weighed
    # Texts begin with the day on the site's clock: what lies days behind the end is left out before it is read.
    end = "~" if until is None else (until + _TWO_DAYS).date().isoformat()
    asked = [(check[0], "check", *check[1:]) for check in told.checks if check[0] < end]
    asked.append((facts["keep_until"], "keep until", facts["governing_limit"], *_NO_BAND))
    seen_at = last_visit(facts)
    if facts.get("alarm") and seen_at is not None:
        asked.append((seen_at.isoformat(), "act", f"{facts['alarm']} seen: tell the conservator", *_NO_BAND))
    if facts.get("mass_wrong"):
        asked.append((facts["mass_wrong"], "mass", MASS_WRONG, *_NO_BAND))
    if facts.get("open_at"):
        opens, ends = (datetime.fromisoformat(facts[name]) for name in ("open_at", "keep_until"))
        late = ends < opens if facts.get("with") else not facts["can_keep"]
        words = (f"with {facts['with']}" if facts.get("with") else "", "after its keep-until date" if late else "")
        asked.append((facts["open_at"], "open", ", ".join(word for word in words if word), *_NO_BAND))
    rows = []
    for text, what, note, _, low_kg, best_kg, high_kg in asked:
        at = datetime.fromisoformat(text)
        done = weighed is not None and (weighed >= at or _made_early(at, weighed, note))
        if (until is not None and at > until) or (what == "check" and done):
            continue
        rows.append(
            DueRow(
                at=at,
                what=what,
                box_id=facts["box_id"],
                find=facts["find"],
                store=told.store,
                low_kg=low_kg,
                best_kg=best_kg,
                high_kg=high_kg,
                note=note,
                late=what in _STANDING or (at < now and not done),
                weighed=weighed is not None,
            )
        )
    return rows


def _made_early(at: datetime, weighed: datetime, reason: str) -> bool:
    """A planned check is made by a weighing earlier on its day; a look that something asked for is not."""
    return not reason.startswith(LOOK) and weighed.astimezone(at.tzinfo).date() == at.date()


def _events(days: HoldDays, site: Thing) -> tuple[CalendarEvent, ...]:
    facts = days.facts
    zone = site.facts["zone"]
    checks = tuple(
        Check(at=datetime.fromisoformat(at), reason=reason, needs_duty_holder=bool(duty))
        for at, reason, duty, *_ in facts["checks"]
    )
    bands = {
        datetime.fromisoformat(at): f"Expected: {told_expected(low, best, high, weighed=bool(facts['weighings']))}."
        for at, _, _, low, best, high in facts["checks"]
        if low is not None
    }
    keep_until = for_people(datetime.fromisoformat(facts["keep_until"]), zone)
    told = HoldInCalendar(
        key=facts["box_id"],
        what=f"{site.number} {facts['find']}, box {facts['box_id']}",
        location=days.store,
        zone=zone,
        opening=datetime.fromisoformat(facts["open_at"]) if facts.get("open_at") else None,
        opening_note=f"Keep until {keep_until} ({facts['governing_limit']}).",
        band_lines=bands,
        sequence=(facts.get("forecast_no") or 1) - 1,
        previously=facts.get("most_checks") or 0,
    )
    return (*events(checks, told), _last_day(facts, site, told))


def _last_day(facts: Mapping[str, Any], site: Thing, told: HoldInCalendar) -> CalendarEvent:
    """The keep-until date as an event of the whole day, so that it stands in the calendar also without an opening."""
    day = datetime.fromisoformat(facts["keep_until"]).astimezone(zone_named(site.facts["zone"])).date()
    late = "" if facts["can_keep"] in (True, None) else " The planned opening is later: see the options."
    by = f" Last open day before it: {facts['open_by']}." if facts.get("open_by") else ""
    return CalendarEvent(
        uid=f"{facts['box_id']}-keep-until@findhold",
        start=day,
        end=day,
        summary=f"Keep until: {told.what}",
        description=f"{facts['governing_limit']} ends the wait.{by}{late}",
        location=told.location,
        sequence=told.sequence,
        alarm_hours=24,
    )
