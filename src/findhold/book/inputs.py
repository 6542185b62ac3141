"""What a plan of bookings is made from: specialists, equipment, jobs, rules of order, appointments, closed days."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, time

from findhold.dates.closures import MONDAY_TO_FRIDAY, Closure
from findhold.errors import BadInput

OPENING = "opening"
"""The job that every hold has; the others are its analyses."""
HALVES = ("morning", "afternoon")
MORNING, AFTERNOON = 0, 1
STARTS = (time(9), time(13))
"""When the half-days begin (common practice: benches open at nine); a limit before nine leaves only the day before."""
HOURS = (3.5, 3.5)
"""Bench hours of a morning and of an afternoon where nothing is said (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfDay:
    """One half-day: the day, and 0 for the morning or 1 for the afternoon."""

    day: date
    half: int = MORNING


@dataclass(frozen=True, slots=True, kw_only=True)
class Specialist:
    """A person who can do some jobs, and when.

    skills : names of analyses, "opening", or the opening of one kind of find.
    weekdays : Monday is 0. hours : bench hours of a morning and an afternoon.
    """

    name: str
    skills: tuple[str, ...]
    weekdays: frozenset[int] = frozenset(MONDAY_TO_FRIDAY)
    hours: tuple[float, float] = HOURS
    away: tuple[Closure, ...] = ()
    lead_days: int = 0
    """Working days of notice that the specialist wants before a new appointment."""
    courier_days: int = 0
    """Working days on the way to a bench elsewhere; 0 for a bench in the unit, which the unit's closures close."""
    cost: float = 0.0
    """What one job with this specialist costs [the unit's money]."""
    sittings: tuple[HalfDay, ...] | None = None
    """The only half-days offered (bench slots); None for every half-day of the open days."""

    @property
    def elsewhere(self) -> bool:
        """True for a bench that is not in the unit's building."""
        return self.courier_days > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Equipment:
    """Something several jobs need in turn: bench places, an X-ray set, a microscope.

    hours : hours of use of a morning and an afternoon, all its places together.
    """

    name: str
    hours: tuple[float, float] = HOURS
    away: tuple[Closure, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One thing to be done with one find: an analysis, or its opening.

    release : not before this. due : the low edge of the keep-until date; None where nothing ends the wait.
    hours : length of the job [h]. weight : significance times sensitivity, set by a person [1].
    """

    find: str
    what: str
    hours: float
    release: datetime
    due: datetime | None = None
    weight: float = 1.0
    needs: tuple[str, ...] = ()
    """Equipment of the unit, used for as long as the job lasts when it is done at a bench of the unit."""
    group: str = ""
    """Finds of one group (a context) in one half-day share what has to be set up."""
    skill: str = ""
    """The skill that it asks for where that is not its own name: who may open this kind of find."""
    wanted: str = ""
    """Who that usually is, in words."""

    @property
    def asks(self) -> str:
        """The skill that somebody needs for it."""
        return self.skill or self.what

    @property
    def key(self) -> tuple[str, str]:
        """The find and what is done with it: no two jobs are alike in both."""
        return (self.find, self.what)


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """For one find, one thing before another, and what is lost otherwise."""

    find: str
    first: str
    then: str
    why: str = ""
    severity: str = "hampers"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A job with a specialist on a half-day: an appointment fixed, or a promise given."""

    find: str
    what: str
    with_: str
    at: HalfDay

    @property
    def key(self) -> tuple[str, str]:
        """The job that it is for."""
        return (self.find, self.what)


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What is weighed last, after lateness and moves; our own figures (judgement), to be changed by the unit.

    wait_per_day : of one find waiting one day more [the unit's money]. setup : of one group on one half-day [the same].
    """

    wait_per_day: float = 1.0
    setup: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BookingInputs:
    """Everything a plan is made from; `now` is aware, and the days are those of its clock."""

    now: datetime
    until: date
    """The last day that may be booked."""
    specialists: tuple[Specialist, ...]
    jobs: tuple[Job, ...]
    equipment: tuple[Equipment, ...] = ()
    order: tuple[Before, ...] = ()
    fixed: tuple[Place, ...] = ()
    promised: tuple[Place, ...] = ()
    closures: tuple[Closure, ...] = ()
    """Closed days of the unit, public holidays among them."""
    holidays: tuple[Closure, ...] = ()
    """Public holidays, which close benches elsewhere too."""
    costs: Costs = Costs()
    few_moves: bool = False
    """True weighs moves against what was promised before lateness."""


def check_inputs(inputs: BookingInputs) -> None:
    """Refuse what cannot be meant: negative times, names twice, equipment that nobody has.

    Raises
    ------
    BadInput : with the job or name that it stands in.
    """
    if inputs.until < inputs.now.date():
        raise BadInput("the last day to book is past", where=f"{inputs.until}", do="Give a later last day")
    _once("specialist", [who.name for who in inputs.specialists])
    _once("equipment", [item.name for item in inputs.equipment])
    _once("job", [" of find ".join(reversed(job.key)) for job in inputs.jobs])
    for who in inputs.specialists:
        where = f"specialist {who.name}"
        _amounts(where, {"hours of a half-day": min(who.hours), "cost": who.cost})
        _amounts(where, {"notice [days]": who.lead_days, "courier [days]": who.courier_days})
    known = {item.name for item in inputs.equipment}
    for item in inputs.equipment:
        _amounts(f"equipment {item.name}", {"hours of a half-day": min(item.hours)})
    for job in inputs.jobs:
        where = f"find {job.find}, {job.what}"
        _amounts(where, {"weight": job.weight, "duration [h]": job.hours})
        if job.hours == 0:
            raise BadInput("the duration is 0 h", where=where, limit="more than 0 h", do="Give the bench time it takes")
        for name in job.needs:
            if name not in known:
                listed = ", ".join(sorted(known)) or "none is entered"
                raise BadInput(
                    f"it needs {name!r}, which is no equipment of the unit", where=where, do=f"Equipment: {listed}"
                )


def _once(kind: str, names: list[str]) -> None:
    twice = sorted({name for name in names if names.count(name) > 1}) if len(set(names)) < len(names) else []
    if twice:
        raise BadInput(f"{kind} {twice[0]} stands twice", do="Keep one of them")


def _amounts(where: str, amounts: dict[str, float]) -> None:
    for name, value in amounts.items():
        if not (math.isfinite(value) and value >= 0):
            raise BadInput(f"{name} is {value:g}", where=where, limit="a number of 0 or more", do="Correct it")
