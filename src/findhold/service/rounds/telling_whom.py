"""Whom to call: people of the register by what they are needed for, with their telephone numbers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from findhold.dates.availability import EVERYWHERE, Roster, on_duty
from findhold.dates.people import Person, person_meant, phone_read
from findhold.errors import BadInput

JOBS = {
    "officer": ("finds officer", "finds manager", "fundbearbeit", "mobilier"),
    "conservator": ("conservator", "conservation", "restaurator", "restaurateur", "restauratrice"),
}
"""Words in a person's role by what they are told of (common practice)."""
NOBODY = {"duty": "the duty holder", "cover": "who stands in", "officer": "the finds officer"} | {
    "conservator": "the conservator"
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """Somebody to call; phone "" where the register has none, known False where it knows nobody for the job."""

    name: str
    role: str
    phone: str
    known: bool = True

    def words(self) -> str:
        """Name, role and number in one line."""
        number = self.phone or "no number entered"
        return f"{self.name}{f', {self.role}' if self.role else ''}, {number}"


def whom(roster: Roster, job: str, store: str, day: date) -> Call:
    """Who is told, for a job (duty, cover, officer, conservator) at a store on a day."""
    found = _holder(roster, store, day) if job == "duty" else None
    if job == "cover":
        found = _stand_in(roster, store, day)
    if job in JOBS:
        found = _in_role(roster, job)
    return _unknown(roster, job) if found is None else _call(found)


def calls(roster: Roster) -> tuple[Call, ...]:
    """Everybody worth calling from a store: duty holders, finds officer, conservator, then the others."""
    people = list(roster.people.values())
    named = {name for names in (*roster.duty.values(), roster.closed_duty) for name in names}
    duty = [person for name in sorted(named) if (person := person_meant(name, roster.people)) is not None]
    chosen = [*duty, *(person for job in JOBS if (person := _in_role(roster, job)) is not None), *people]
    listed = list(dict.fromkeys(person.name for person in chosen))
    found = [_call(roster.people[name]) for name in listed]
    if _in_role(roster, "conservator") is None:
        found.append(_unknown(roster, "conservator"))
    return tuple(found)


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


def _unknown(roster: Roster, job: str) -> Call:
    """A job that nobody of the register has; the finds officer may know the number."""
    officer = _in_role(roster, "officer")
    if officer is None or job == "officer":
        return Call(name=NOBODY[job], role="", phone="", known=False)
    return Call(name=NOBODY[job], role=f"through {officer.name}", phone=officer.phone, known=False)


def _call(person: Person) -> Call:
    return Call(name=person.name, role=person.role, phone=person.phone)


def _holder(roster: Roster, store: str, day: date) -> Person | None:
    today = on_duty(roster, store, day).person
    named = roster.duty.get(store) or roster.duty.get(EVERYWHERE) or ()
    return today or next((one for name in named if (one := person_meant(name, roster.people)) is not None), None)


def _stand_in(roster: Roster, store: str, day: date) -> Person | None:
    """Who stands in for the duty holder, else another duty holder, else the finds officer."""
    holder = _holder(roster, store, day)
    names = [*(holder.covered_by if holder else ()), *(name for names in roster.duty.values() for name in names)]
    others = [one for name in names if (one := person_meant(name, roster.people)) is not None]
    fit = [one for one in others if holder is None or one.name != holder.name]
    return fit[0] if fit else _in_role(roster, "officer")


def _in_role(roster: Roster, job: str) -> Person | None:
    words = JOBS[job]
    return next((one for one in roster.people.values() if any(word in one.role.casefold() for word in words)), None)
