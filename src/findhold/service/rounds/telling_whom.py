"""Whom to call: people of the register by what they are needed for, with their telephone numbers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from findhold.dates.availability import EVERYWHERE, Roster, on_duty
from findhold.dates.instants import day_for_people
from findhold.dates.people import Person, person_meant, phone_read
from findhold.errors import BadInput

JOBS = {
    "officer": ("finds officer", "finds manager", "fundbearbeit", "mobilier"),
    "conservator": ("conservator", "conservation", "restaurator", "restaurateur", "restauratrice"),
    "osteologist": ("osteolog", "anthropolog", "human bone"),
}
"""Words in a person's role by what they are told of (common practice)."""
NOBODY = {"duty": "the duty holder", "cover": "who stands in", "officer": "the finds officer"} | {
    "conservator": "the conservator",
    "osteologist": "an osteologist",
}
_AFTER = {"duty": ("officer", "conservator"), "cover": ("officer", "conservator"), "officer": ("conservator",)}
"""Who is told instead where all whose job it is are away; nobody stands in for the skill of the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """Somebody to call; phone "" where the register has none, known False where it knows nobody for the job.

    away : "away until Mon 31 Aug" on the day that was asked about, else "".
    """

    name: str
    role: str
    phone: str
    known: bool = True
    away: str = ""

    def role_words(self) -> str:
        """The role, and until when they are away."""
        return ", ".join(part for part in (self.role, self.away) if part)

    def words(self) -> str:
        """Name, role and number in one line."""
        return ", ".join(part for part in (self.name, self.role_words(), self.phone or "no number entered") if part)


def whom(roster: Roster, job: str, store: str, day: date) -> Call:
    """Who is told, for a job (duty, cover, officer, conservator, osteologist) at a store on a day.

    Somebody who is not away, else somebody else who is not away and may be told, and only then who is away.
    """
    found = _for_job(roster, job, store, day)
    if found is not None and found.away_on(day):
        others = [_for_job(roster, other, store, day) for other in _AFTER.get(job, ())]
        found = next((one for one in others if one is not None and not one.away_on(day)), found)
    return _unknown(roster, job, day) if found is None else _call(found, day)


def calls(roster: Roster, day: date, *, bones: bool = False) -> tuple[Call, ...]:
    """Everybody worth calling from a store on a day: duty holders, finds officer, conservator, then the others.

    Who is away comes last. bones : an osteologist comes after the conservator, for there are human remains.
    """
    people = list(roster.people.values())
    named = {name for names in (*roster.duty.values(), roster.closed_duty) for name in names}
    duty = [person for name in sorted(named) if (person := person_meant(name, roster.people)) is not None]
    jobs = ("officer", "conservator", *(("osteologist",) if bones else ()))
    chosen = [*duty, *(person for job in jobs if (person := _in_role(roster, job, day)) is not None), *people]
    listed = list(dict.fromkeys(person.name for person in chosen))
    found = [_call(roster.people[name], day) for name in listed]
    found += [_unknown(roster, job, day) for job in jobs[1:] if _in_role(roster, job, day) is None]
    return tuple(sorted(found, key=lambda call: bool(call.away)))


def not_to_be_called(roster: Roster) -> tuple[str, ...]:
    """Duty holders and conservators without a telephone number, each as a sentence; also that nobody is conservator."""
    named = sorted({name for names in (*roster.duty.values(), roster.closed_duty) for name in names})
    holders = [one for name in named if (one := person_meant(name, roster.people)) is not None]
    words = JOBS["conservator"]
    healers = [one for one in roster.people.values() if any(word in one.role.casefold() for word in words)]
    told = [f"{one.name} has duty and no telephone number." for one in holders if not can_be_called(one.phone)]
    told += [
        f"{one.name} is conservator without a telephone number." for one in healers if not can_be_called(one.phone)
    ]
    if not healers:
        told.append("Nobody in the list of people is a conservator.")
    return tuple(dict.fromkeys(told))


def can_be_called(phone: str) -> bool:
    """Whether a text is a telephone number; one of an older list may be any words."""
    try:
        return bool(phone_read(phone))
    except BadInput:
        return False


def _for_job(roster: Roster, job: str, store: str, day: date) -> Person | None:
    """The person of a job on a day, who may be away; None when nobody has it."""
    if job == "duty":
        return _holder(roster, store, day)
    return _stand_in(roster, store, day) if job == "cover" else _in_role(roster, job, day)


def _unknown(roster: Roster, job: str, day: date) -> Call:
    """A job that nobody of the register has; the finds officer may know the number."""
    officer = _in_role(roster, "officer", day)
    if officer is None or job == "officer":
        return Call(name=NOBODY[job], role="", phone="", known=False)
    return Call(name=NOBODY[job], role=f"through {officer.name}", phone=officer.phone, known=False)


def _call(person: Person, day: date) -> Call:
    span = person.away_on(day)
    away = f"away until {day_for_people(span.last_day).rsplit(' ', 1)[0]}" if span else ""
    return Call(name=person.name, role=person.role, phone=person.phone, away=away)


def _present(people: Iterable[Person], day: date) -> Person | None:
    """The first who is not away, else the first."""
    listed = list(people)
    return next((one for one in listed if not one.away_on(day)), listed[0] if listed else None)


def _holder(roster: Roster, store: str, day: date) -> Person | None:
    today = on_duty(roster, store, day).person
    named = roster.duty.get(store) or roster.duty.get(EVERYWHERE) or ()
    return today or _present((one for name in named if (one := person_meant(name, roster.people)) is not None), day)


def _stand_in(roster: Roster, store: str, day: date) -> Person | None:
    """Who stands in for the duty holder, else another duty holder, else the finds officer."""
    holder = _holder(roster, store, day)
    names = [*(holder.covered_by if holder else ()), *(name for names in roster.duty.values() for name in names)]
    others = [one for name in names if (one := person_meant(name, roster.people)) is not None]
    fit = [one for one in others if holder is None or one.name != holder.name]
    return _present(fit, day) or _in_role(roster, "officer", day)


def _in_role(roster: Roster, job: str, day: date) -> Person | None:
    """Who has a role, those who are not away first."""
    words = JOBS[job]
    return _present((one for one in roster.people.values() if any(word in one.role.casefold() for word in words)), day)
