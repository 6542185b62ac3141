"""What is settled before planning: appointments that can be kept, circles among rules of order, jobs nobody can do."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import time

from findhold.book.halfdays import half_day, slots_of, tick_of, too_soon, why_closed
from findhold.book.inputs import HALVES, Before, BookingInputs, Job, Place, Specialist
from findhold.errors import BadInput, UnknownName

_ENOUGH = 1e-9
"""Hours that fit exactly fit, whatever adding them up has rounded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A job that is not in the plan, why, and what to do."""

    find: str
    what: str
    why: str
    do: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """Jobs to be planned, appointments to be kept by job, what is left out, and what a person has to be told."""

    jobs: tuple[Job, ...]
    order: tuple[Before, ...]
    fixed: dict[tuple[str, str], Place]
    left_out: tuple[LeftOut, ...]
    notes: tuple[str, ...]


def settle(inputs: BookingInputs) -> Settled:
    """Sort out what can be planned.

    Raises
    ------
    BadInput : one job with two different appointments, or an appointment with somebody unknown.
    """
    notes: list[str] = []
    fixed = _appointments(inputs, notes)
    circles = _circles(inputs)
    skills = {skill for who in inputs.specialists for skill in who.skills}
    jobs, left_out = [], []
    for job in inputs.jobs:
        circle = circles.get(job.find, ())
        if job.what in circle:
            way = " before ".join(circle)
            left_out.append(
                _out(job, f"the order asked for closes a circle: {way}", "Say which of these may come later")
            )
        elif job.asks not in skills and job.key not in fixed:
            whom = f"; wanted: {job.wanted}" if job.wanted else ""
            do = f"Enter a specialist with the skill {job.asks!r}"
            left_out.append(_out(job, f"nobody does {job.asks}{whom}", do))
        else:
            jobs.append(job)
    planned = {job.key for job in jobs}
    order = [rule for rule in inputs.order if {(rule.find, rule.first), (rule.find, rule.then)} <= planned]
    notes += _missing_first(inputs, planned)
    return Settled(jobs=tuple(jobs), order=tuple(order), fixed=fixed, left_out=tuple(left_out), notes=tuple(notes))


def why_not_held(who: Specialist, place: Place, inputs: BookingInputs) -> str | None:
    """Why an appointment cannot be kept: the day is closed, past, or not offered; None when it can."""
    if (why := why_closed(who, place.at.day, inputs)) is not None:
        return why
    if tick_of(place.at) in {slot.tick for slot in slots_of(who, inputs, notice=False)}:
        return None
    if place.at.day > inputs.until:
        return "it is after the last day that may be booked"
    if place.at.day < inputs.now.date() or tick_of(place.at) < 2 * inputs.now.date().toordinal() + 1:
        return "it is past"
    return too_soon(who, place.at.day, inputs) or f"{who.name} offers no bench time then"


def said(place: Place) -> str:
    """An appointment in words: opening of find 37 with Ada Moor, Tue 4 Aug, morning."""
    day = place.at.day
    return f"{place.what} of find {place.find} with {place.with_}, {day:%a} {day.day} {day:%b}, {HALVES[place.at.half]}"


def _appointments(inputs: BookingInputs, notes: list[str]) -> dict[tuple[str, str], Place]:
    """Appointments that can be kept; what stands twice is counted once, what cannot be kept is planned anew."""
    people = {who.name: who for who in inputs.specialists}
    jobs = {job.key: job for job in inputs.jobs}
    kept: dict[tuple[str, str], Place] = {}
    hours: dict[tuple[str, int], float] = defaultdict(float)
    for place in inputs.fixed:
        if place.with_ not in people:
            raise UnknownName("specialist", place.with_, list(people), where=said(place))
        if place.key not in jobs:
            notes.append(f"{said(place)}: nothing of that kind is to be done, so it is left out.")
            continue
        before = kept.get(place.key)
        if before is not None and before != place:
            raise BadInput(
                f"two appointments for one job: {said(before)}, and {HALVES[place.at.half]} of {place.at.day}",
                where=f"find {place.find}",
                do="Keep one of them",
            )
        if before is not None:
            notes.append(f"{said(place)}: entered twice, counted once.")
            continue
        who = people[place.with_]
        if (why := why_not_held(who, place, inputs)) is not None:
            notes.append(f"{said(place)}: cannot be kept ({why}); it is planned anew.")
            continue
        kept[place.key] = place
        hours[place.with_, tick_of(place.at)] += jobs[place.key].hours
    notes += _too_full(people, hours)
    return kept


def _too_full(people: dict[str, Specialist], hours: dict[tuple[str, int], float]) -> list[str]:
    told = []
    for (name, tick), taken in sorted(hours.items(), key=lambda item: item[0][1]):
        at = half_day(tick)
        offered = people[name].hours[at.half]
        if taken > offered + 1e-9:
            when = f"{at.day:%a} {at.day.day} {at.day:%b}, {HALVES[at.half]}"
            told.append(f"{name}, {when}: fixed appointments take {taken:g} h of {offered:g} h; move one of them.")
    return told


def _circles(inputs: BookingInputs) -> dict[str, tuple[str, ...]]:
    """For each find whose rules close a circle, its names, the first again at the end."""
    after: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    there = {job.key for job in inputs.jobs}
    for rule in inputs.order:
        if {(rule.find, rule.first), (rule.find, rule.then)} <= there:
            after[rule.find][rule.first].append(rule.then)
    return {find: circle for find, later in after.items() if (circle := _circle(later))}


def _circle(after: dict[str, list[str]]) -> tuple[str, ...]:
    left = set(after) | {name for names in after.values() for name in names}
    while gone := {name for name in left if not any(later in left for later in after.get(name, ()))}:
        left -= gone
    if not left:
        return ()
    trail = [min(left)]
    while True:
        following = next(later for later in after[trail[-1]] if later in left)
        if following in trail:
            return (*trail[trail.index(following) :], following)
        trail.append(following)


def _missing_first(inputs: BookingInputs, planned: set[tuple[str, str]]) -> list[str]:
    """Rules whose earlier job is asked for and left out while the later one is planned: what is lost by that."""
    asked = {job.key for job in inputs.jobs}
    return [
        f"Find {rule.find}: {rule.first} should come before {rule.then} ({rule.why or 'asked for'}) and is left out: "
        f"settle that before {rule.then}."
        for rule in inputs.order
        if (rule.find, rule.then) in planned
        and (rule.find, rule.first) in asked
        and (rule.find, rule.first) not in planned
    ]


def _out(job: Job, why: str, do: str) -> LeftOut:
    return LeftOut(find=job.find, what=job.what, why=why, do=do)


def without_bench(inputs: BookingInputs) -> dict[str, str]:
    """Finds whose planned opening has nobody to make it on its half-day, with the reason in words.

    Appointments with a person take their hours first, then the planned openings, the nearest limit first.

    Parameters
    ----------
    inputs : a promise without a person is an opening that the register planned.

    Returns
    -------
    Why, by the number of the find; what is planned for a half-day before today is left out.
    """
    jobs = {job.key: job for job in inputs.jobs}
    today = replace(inputs, now=inputs.now.replace(hour=time.min.hour, minute=0, second=0, microsecond=0))
    left: dict[tuple[str, int], float] = defaultdict(float)
    for who in inputs.specialists:
        for slot in slots_of(who, today, notice=False):
            left[who.name, slot.tick] = slot.hours
    for place in (*inputs.fixed, *inputs.promised):
        if place.with_ and place.key in jobs:
            left[place.with_, tick_of(place.at)] -= jobs[place.key].hours
    planned = [place for place in inputs.promised if not place.with_ and place.key in jobs]
    ahead = [place for place in planned if inputs.now.date() <= place.at.day <= inputs.until]
    ahead.sort(key=lambda place: (jobs[place.key].due is None, jobs[place.key].due or inputs.now, place.find))
    told: dict[str, str] = {}
    for place in ahead:
        job = jobs[place.key]
        able = [who for who in inputs.specialists if job.asks in who.skills]
        free = [who for who in able if left[who.name, tick_of(place.at)] >= job.hours - _ENOUGH]
        if free:
            # Who can do least else takes it, so that the others stay free for what only they can do.
            left[min(free, key=lambda who: len(who.skills)).name, tick_of(place.at)] -= job.hours
        else:
            told[place.find] = _why_no_bench(inputs, job, place, (able, left))
    return told


def _why_no_bench(
    inputs: BookingInputs, job: Job, place: Place, known: tuple[list[Specialist], dict[tuple[str, int], float]]
) -> str:
    able, left = known
    if not able:
        return f"nobody does {job.asks}" + (f" (wanted: {job.wanted})" if job.wanted else "")
    words = [
        why_closed(who, place.at.day, inputs)
        or f"{who.name} has {max(0.0, left[who.name, tick_of(place.at)]):g} h left of that {HALVES[place.at.half]}"
        for who in able
    ]
    return f"it needs {job.hours:g} h, and " + "; ".join(dict.fromkeys(words))
