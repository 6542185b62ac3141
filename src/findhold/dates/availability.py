"""Who comes on a day: the duty holder of a store, or who stands in; on closed days only people named for them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Literal

from findhold.dates.closures import MONDAY_TO_FRIDAY, Closure, WorkingCalendar
from findhold.dates.instants import day_for_people
from findhold.dates.people import Person, names_in, person_meant
from findhold.errors import Question

LONGEST_CLOSURE_DAYS = 366
"""A closure longer than a year is asked about: it is more often a slip in a date than a closure."""
EVERYWHERE = ""
"""Stands in `Roster.duty` for stores that name nobody."""

Kind = Literal["duty", "cover", "anyone", "closed", "rest", "away"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Roster:
    """The days of a unit and its people.

    closures : each with the store it is of (None: everywhere). holidays : public holidays. duty : by store the names
    of who looks after it, first asked first. closed_duty : who comes on closed days that name nobody themselves.
    """

    closures: tuple[tuple[str | None, Closure], ...] = ()
    holidays: tuple[Closure, ...] = ()
    weekdays: frozenset[int] = MONDAY_TO_FRIDAY
    people: Mapping[str, Person] = field(default_factory=dict)
    duty: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    closed_duty: tuple[str, ...] = ()

    def closed_on(self, store: str, day: date) -> tuple[Closure, ...]:
        """Closures and public holidays that hold a day at a store."""
        own = [closure for name, closure in self.closures if name in (None, "", store) and closure.holds(day)]
        return (*own, *(closure for closure in self.holidays if closure.holds(day)))

    def calendar(self, person: Person | None = None, store: str = EVERYWHERE) -> WorkingCalendar:
        """Working days of the unit at a store, or of one person: their weekdays, less closures and absences."""
        own = tuple(closure for name, closure in self.closures if name in (None, "", store))
        if person is None:
            return WorkingCalendar(closures=(*own, *self.holidays), weekdays=self.weekdays)
        days = self.weekdays if person.weekdays is None else person.weekdays & self.weekdays
        return WorkingCalendar(closures=(*own, *self.holidays, *person.away), weekdays=days)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnDuty:
    """Who comes to a store on a day.

    kind : duty (its duty holder), cover (who stands in), anyone (nobody is named, the unit is open), and where nobody
    comes closed, rest or away. why : in words.
    """

    kind: Kind
    person: Person | None
    why: str

    @property
    def comes(self) -> bool:
        """True when somebody comes."""
        return self.kind in ("duty", "cover", "anyone")


def who_is_in(roster: Roster, day: date) -> tuple[Person, ...]:
    """People who work on a day; nobody on closed days."""
    if roster.closed_on(EVERYWHERE, day) or day.weekday() not in roster.weekdays:
        return ()
    return tuple(person for person in roster.people.values() if person.works_on(day, roster.weekdays))


def on_duty(roster: Roster, store: str, day: date) -> OnDuty:
    """Who comes to a store on a day.

    On a closed day only a person named for it comes: by the closure, or for all closed days. On an open day its
    duty holder comes; where nobody is named for the store, anyone may. Who is away is stood in for by their cover.

    Parameters
    ----------
    roster : closures, people and who looks after what.
    store, day : which and when.
    """
    closed = roster.closed_on(store, day)
    if closed:
        named = next((names_in(closure.who) for closure in closed if closure.who.strip()), roster.closed_duty)
        why = "; ".join(dict.fromkeys(closure.reason for closure in closed))
        if not named:
            return OnDuty(kind="closed", person=None, why=f"closed ({why}), and nobody is named")
        return _first_in(roster, named, day, f"closed ({why})")
    if day.weekday() not in roster.weekdays:
        return OnDuty(kind="rest", person=None, why="the unit does not work on this weekday")
    named = roster.duty.get(store) or roster.duty.get(EVERYWHERE) or ()
    if not named:
        return OnDuty(kind="anyone", person=None, why="nobody is named for this store")
    return _first_in(roster, named, day, "")


def _first_in(roster: Roster, named: Sequence[str], day: date, when: str) -> OnDuty:
    """The first of the named who is in, else the first who stands in for one of them."""
    lead = f"{when}: " if when else ""
    away: list[str] = []
    holders = [person_meant(name, roster.people) for name in named]
    for name, person in zip(named, holders, strict=True):
        if person is None:
            away.append(f"{name} is not in the list of people")
        elif person.works_on(day, roster.weekdays):
            return OnDuty(kind="duty", person=person, why=f"{lead}duty holder")
        else:
            away.append(_absent(person, day))
    for person in filter(None, holders):
        found = _cover(roster, person, day, {person.name})
        if found is not None:
            return OnDuty(kind="cover", person=found, why=f"{lead}{_absent(person, day)}, so {found.name} stands in")
    return OnDuty(kind="away", person=None, why=f"{lead}{'; '.join(away)}, and nobody stands in")


def _cover(roster: Roster, person: Person, day: date, asked: set[str]) -> Person | None:
    """Who stands in for a person, or for who stands in for them; nobody is asked twice."""
    others = [other for name in person.covered_by if (other := person_meant(name, roster.people)) is not None]
    fresh = [other for other in others if other.name not in asked]
    for other in fresh:
        if other.works_on(day, roster.weekdays):
            return other
    asked |= {other.name for other in fresh}
    for other in fresh:
        found = _cover(roster, other, day, asked)
        if found is not None:
            return found
    return None


def _absent(person: Person, day: date) -> str:
    span = person.away_on(day)
    if span is None:
        return f"{person.name} does not work on this weekday"
    return f"{person.name} is away until {day_for_people(span.last_day)}"


def closure_questions(roster: Roster) -> tuple[Question, ...]:
    """What a person must settle about closures: endless ones, overlapping ones with two duty holders, unknown names."""
    found: list[Question] = []
    listed = sorted(roster.closures, key=lambda pair: (pair[1].first_day, pair[1].last_day, pair[1].reason))
    for place, (store, closure) in enumerate(listed):
        span = f"{closure.reason} ({day_for_people(closure.first_day)} to {day_for_people(closure.last_day)})"
        days = (closure.last_day - closure.first_day) // timedelta(days=1) + 1
        if days > LONGEST_CLOSURE_DAYS:
            text = f"The closure {span} lasts {days} days. Is its last day right?"
            found.append(
                Question(about=f"closure {closure.first_day}", text=text, choices=("it is right", "correct it"))
            )
        found += [
            Question(
                about=f"duty holder of {closure.first_day}",
                text=f"The closure {span} names {name!r}, who is not in the list of people. Who is meant?",
                choices=tuple(roster.people),
            )
            for name in names_in(closure.who)
            if person_meant(name, roster.people) is None
        ]
        for other_store, other in listed[place + 1 :]:
            if other.first_day > closure.last_day:
                break
            same_place = store in (None, "", other_store) or other_store in (None, "")
            if same_place and closure.who and other.who and closure.who != other.who:
                text = f"{span} names {closure.who}, and {other.reason} on the same days names {other.who}. Who comes?"
                choices = (closure.who, other.who)
                found.append(Question(about=f"closures {other.first_day}", text=text, choices=choices))
    return tuple(found)
