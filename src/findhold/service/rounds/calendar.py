"""The unit's days and people as they stand: register, public holidays and settings in one roster."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from findhold.dates.availability import EVERYWHERE, Roster, closure_questions
from findhold.dates.closures import Closure
from findhold.dates.people import Person, cover_questions, names_in, person_meant, weekdays_read
from findhold.errors import BadInput, Question
from findhold.record.events import UNIT
from findhold.service.ledger_case import closure_told
from findhold.service.office import Office
from findhold.service.rounds.chosen import CalendarChosen, PersonChosen, read_calendar
from findhold.service.rounds.public_days import holidays_chosen

DUTY_ROLES = ("duty holder", "duty officer", "bereitschaft", "astreinte")
"""Words in a person's role that make them the duty holder of stores which name nobody (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitCalendar:
    """The roster, what a person must settle about it, and what is said of the public holidays."""

    roster: Roster
    questions: tuple[Question, ...]
    notes: tuple[str, ...]


def unit_calendar(office: Office, today: date) -> UnitCalendar:
    """The unit's calendar round a day.

    Raises
    ------
    BadInput : the settings or the register name no such country, region or weekday.
    """
    chosen = read_calendar()
    people = people_of((thing.facts for thing in office.ledger.states("person", UNIT)), chosen.people)
    closures = tuple(closure_told(thing.facts) for thing in office.ledger.states("closure", UNIT))
    holidays, notes = holidays_chosen(chosen, today)
    roster = Roster(
        closures=closures,
        holidays=holidays,
        weekdays=chosen.weekdays,
        people=people,
        duty=_duty(office, chosen, people),
        closed_duty=chosen.closed_duty,
    )
    asked = [
        *closure_questions(roster),
        *cover_questions(people),
        *_duty_questions(roster),
        *_strangers(chosen, people),
    ]
    return UnitCalendar(roster=roster, questions=tuple(asked), notes=notes)


def people_of(facts: Iterable[Mapping[str, Any]], chosen: Mapping[str, PersonChosen]) -> dict[str, Person]:
    """People of the register by name, with what the settings add."""
    rows = {str(row["name"]): row for row in facts}
    covers: dict[str, list[str]] = {}
    for name, row in rows.items():
        for other in names_in(str(row.get("covers") or "")):
            covers.setdefault(other.casefold(), []).append(name)
    found = {}
    for name, row in rows.items():
        added = next((one for key, one in chosen.items() if key.casefold() == name.casefold()), PersonChosen())
        short = str(row.get("initials") or "")
        stand_in = [*names_in(str(row.get("covered_by") or "")), *covers.get(name.casefold(), ())]
        stand_in += covers.get(short.casefold(), ()) if short else ()
        found[name] = Person(
            name=name,
            initials=short,
            role=str(row.get("role") or ""),
            phone=added.phone or str(row.get("phone") or ""),
            email=added.email or str(row.get("email") or ""),
            weekdays=added.weekdays or _weekdays(row),
            away=(*_away(row), *_recorded_away(row), *added.away),
            covered_by=added.covered_by if added.covered_by is not None else tuple(dict.fromkeys(stand_in)),
        )
    return found


def _weekdays(row: Mapping[str, Any]) -> frozenset[int] | None:
    text = row.get("weekdays")
    return weekdays_read(str(text), f"person {row['name']}, weekdays") if text else None


def _away(row: Mapping[str, Any]) -> tuple[Closure, ...]:
    first, last = row.get("away_from"), row.get("away_to")
    if not first and not last:
        return ()
    begin, end = date.fromisoformat(str(first or last)), date.fromisoformat(str(last or first))
    if end < begin:
        raise BadInput(
            f"the absence ends on {end}, before it begins on {begin}",
            where=f"person {row['name']}",
            do="Correct the first or the last day away",
        )
    return (Closure(first_day=begin, last_day=end, reason="away"),)


def _recorded_away(row: Mapping[str, Any]) -> tuple[Closure, ...]:
    """Absences recorded one by one, as `book --away` does."""
    return tuple(
        Closure(
            first_day=date.fromisoformat(item["first_day"]),
            last_day=date.fromisoformat(item["last_day"]),
            reason=item.get("reason") or "away",
        )
        for item in row.get("absences", ())
    )


def _duty(office: Office, chosen: CalendarChosen, people: Mapping[str, Person]) -> dict[str, tuple[str, ...]]:
    """Who looks after each store: the settings, else the register's store, else people whose role says so."""
    general = tuple(
        person.name for person in people.values() if any(word in person.role.casefold() for word in DUTY_ROLES)
    )
    duty = {EVERYWHERE: chosen.duty.get("all stores", general)}
    for store in office.ledger.states("store", UNIT):
        named = chosen.duty.get(store.number) or names_in(str(store.facts.get("duty_holder") or ""))
        if named:
            duty[store.number] = named
    return duty


def _duty_questions(roster: Roster) -> list[Question]:
    found = []
    for store, names in [*roster.duty.items(), ("closed days", roster.closed_duty)]:
        place = store or "all stores"
        found += [
            Question(
                about=f"duty holder of {place}",
                text=f"{place} is looked after by {name!r}, who is not in the list of people. Who is meant?",
                choices=tuple(roster.people),
            )
            for name in names
            if person_meant(name, roster.people) is None
        ]
    return found


def _strangers(chosen: CalendarChosen, people: Mapping[str, Person]) -> list[Question]:
    """People whom only the settings know."""
    return [
        Question(
            about=f"person {name}",
            text=f"settings.toml speaks of {name!r}, who is not in the list of people. Who is meant?",
            choices=tuple(people),
        )
        for name in chosen.people
        if person_meant(name, people) is None
    ]
