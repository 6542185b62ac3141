"""book: plan what waits, fix one appointment, record an absence or the plan itself; all of it ends in the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from findhold.book.appointments import said, why_not_held
from findhold.book.halfdays import half_day, slots_of, tick_of, too_soon
from findhold.book.inputs import HALVES, BookingInputs, HalfDay, Job, Place, Specialist
from findhold.book.plan import Plan, plan_bookings
from findhold.book.remedies import what_helps
from findhold.book.solve import Effort
from findhold.dates.closures import Closure
from findhold.dates.people import person_meant
from findhold.errors import BadInput, UnknownName
from findhold.record.events import UNIT, NewEvent, stream_of
from findhold.service.bookings.answer import MOST_JOBS_HELPED, BookAnswer, told
from findhold.service.bookings.calendar_out import write_bookings
from findhold.service.bookings.ledger_inputs import PROMISED, Known, job_of, known_bookings
from findhold.service.finder import find_thing
from findhold.service.office import Office
from findhold.service.rounds.calendar import unit_calendar
from findhold.service.wire import plain
from findhold.store.ledger import Thing

REPLAN, FEWER = Effort(seconds=3.0), Effort(seconds=1.0)
"""What is spent on a plan after one change, and on the one beside it that moves less."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Absence:
    """Somebody away, first and last day included, and why."""

    name: str
    first_day: date
    last_day: date
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing:
    """How much a find's lateness counts, set by a person: significance times sensitivity [1], and why."""

    significance: float = 1.0
    sensitivity: float = 1.0
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixing:
    """One appointment: the find, the day, and with whom (None: the one person who can); what and half as named."""

    find: str
    day: date
    with_: str | None = None
    what: str | None = None
    half: str | None = None
    reason: str = ""
    """Why somebody without the skill, or without the notice that they want, takes it all the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BookRequest:
    """What to do before planning, and whether the plan is recorded as promised. All of it may be left out."""

    site: str | None = None
    until: date | None = None
    fix: Fixing | None = None
    cancel: tuple[str, str | None] | None = None
    """A find, and which of its jobs (None: its opening), whose appointment no longer stands."""
    away: Absence | None = None
    weigh: tuple[str, Weighing] | None = None
    promise: bool = False
    few_moves: bool = False
    """True weighs moves against what was promised before lateness."""
    dry_run: bool = False
    calendar: Path | None = None


def book_finds(office: Office, request: BookRequest) -> BookAnswer:
    """Do what is asked, plan everything that waits, and say what is late, why, and what would help.

    Raises
    ------
    BadInput : an appointment that cannot be kept, somebody unknown, an absence that ends before it begins.
    """
    known = known_bookings(office, request.site, request.until)
    events: list[NewEvent] = []
    recorded: list[str] = []
    inputs = known.inputs
    for step in (_weighed, _away, _cancelled, _fixed):
        inputs = step(office, replace(known, inputs=inputs), request, (events, recorded))
    inputs = replace(inputs, few_moves=request.few_moves)
    plan = plan_bookings(inputs, effort_for(inputs))
    notes = (*known.notes, *_with_fewer_moves(inputs, plan))
    if request.promise:
        _promised(office, known, inputs, plan, (events, recorded))
    if events and not request.dry_run:
        with office.ledger.writing(office.stamp()) as writing:
            writing.append(events)
    remedies = what_helps(inputs, plan) if len(inputs.jobs) <= MOST_JOBS_HELPED else ()
    answer = told(f"Bookings of {known.site.number}", inputs, plan, remedies)
    calendar = None
    if request.calendar is not None:
        calendar = write_bookings(office, known.site, answer, request.calendar)
    marked = tuple(f"{words} (not recorded)" for words in recorded) if request.dry_run else tuple(recorded)
    return replace(answer, notes=(*notes, *answer.notes), recorded=marked, calendar=calendar)


def effort_for(inputs: BookingInputs) -> Effort:
    """Less time where most jobs have their promise already: then little has to be looked for."""
    named = sum(bool(place.with_) for place in inputs.promised)
    return REPLAN if 2 * named > len(inputs.jobs) else Effort()


Done = tuple[list[NewEvent], list[str]]


def booking_stream(site: str, find: str, what: str) -> str:
    """The stream of one job's appointment."""
    return stream_of("booking", site, f"{find} {what}")


def _weighed(office: Office, known: Known, request: BookRequest, done: Done) -> BookingInputs:
    if request.weigh is None:
        return known.inputs
    number, weights = request.weigh
    find = find_thing(office, number, known.site)
    if min(weights.significance, weights.sensitivity) < 0:
        raise BadInput("a weight is below 0", where=f"find {find.number}", limit="0 or more", do="Give another")
    done[0].append(NewEvent(word="find.weighted.1", stream=find.stream, body=plain(weights)))
    weight = weights.significance * weights.sensitivity
    done[1].append(f"find {find.number} counts {weight:g} times, set by {office.person}")
    jobs = tuple(replace(job, weight=weight) if job.find == find.number else job for job in known.inputs.jobs)
    return replace(known.inputs, jobs=jobs)


def _away(office: Office, known: Known, request: BookRequest, done: Done) -> BookingInputs:
    if request.away is None:
        return known.inputs
    away = request.away
    span = Closure(first_day=away.first_day, last_day=away.last_day, reason=away.reason)
    people = unit_calendar(office, known.inputs.now.date()).roster.people
    person = person_meant(away.name, people)
    if person is None:
        raise UnknownName("person", away.name, list(people))
    if span not in person.away:
        done[0].append(
            NewEvent(word="person.away.1", stream=stream_of("person", UNIT, person.name), body=_span_body(span))
        )
        done[1].append(f"{person.name} is away from {_said(span.first_day)} to {_said(span.last_day)}")
    specialists = tuple(
        replace(who, away=(*who.away, span)) if who.name == person.name else who for who in known.inputs.specialists
    )
    return replace(known.inputs, specialists=specialists)


def _span_body(span: Closure) -> dict[str, Any]:
    return {"first_day": plain(span.first_day), "last_day": plain(span.last_day), "reason": span.reason}


def _cancelled(office: Office, known: Known, request: BookRequest, done: Done) -> BookingInputs:
    if request.cancel is None:
        return known.inputs
    number, what = request.cancel
    job = job_of(known, find_thing(office, number, known.site).number, what)
    held = [place for place in (*known.inputs.fixed, *known.inputs.promised) if place.key == job.key and place.with_]
    if not held:
        raise BadInput(f"{job.what} has no appointment", where=f"find {job.find}", do="See: findhold book")
    stream = booking_stream(known.site.number, *job.key)
    done[0].append(NewEvent(word="booking.cancelled.1", stream=stream, body={"find": job.find, "what": job.what}))
    done[1].append(f"cancelled: {said(held[0])}")
    fixed = tuple(place for place in known.inputs.fixed if place.key != job.key)
    promised = tuple(place for place in known.inputs.promised if place.key != job.key)
    return replace(known.inputs, fixed=fixed, promised=promised)


def _fixed(office: Office, known: Known, request: BookRequest, done: Done) -> BookingInputs:
    if request.fix is None:
        return known.inputs
    inputs, fix = known.inputs, request.fix
    job = job_of(known, find_thing(office, fix.find, known.site).number, fix.what)
    who = _who(inputs, job, fix.with_)
    place = _place(inputs, job, who, fix)
    if place in inputs.fixed:
        done[1].append(f"{said(place)}: stands already")
        return inputs
    stream = booking_stream(known.site.number, *job.key)
    if not fix.reason.strip():
        _questioned(inputs, job, who, place)
    body = _place_body(place) | ({"reason": fix.reason.strip()} if fix.reason.strip() else {})
    done[0].append(NewEvent(word="booking.fixed.1", stream=stream, body=body))
    done[1].append(f"fixed: {said(place)}")
    others = tuple(other for other in inputs.fixed if other.key != place.key)
    promised = tuple(other for other in inputs.promised if other.key != place.key)
    return replace(inputs, fixed=(*others, place), promised=promised)


def _questioned(inputs: BookingInputs, job: Job, who: Specialist, place: Place) -> None:
    """BadInput for an appointment with somebody without the skill or the notice, as long as nobody says why."""
    where, do = f"find {job.find}, {job.what}", 'Take another, or say why it is right: --reason "WHY"'
    if job.asks not in who.skills:
        able = ", ".join(one.name for one in inputs.specialists if job.asks in one.skills) or "nobody"
        wrong = f"{who.name} is not entered with the skill {job.asks!r}"
        raise BadInput(wrong, where=where, limit=f"done by {able}", do=do)
    soon = too_soon(who, place.at.day, inputs)
    if soon is not None and not any(known.key == place.key and known.at == place.at for known in inputs.promised):
        raise BadInput(f"{_said(place.at.day)} is too soon: {soon}", where=where, do=do)


def _who(inputs: BookingInputs, job: Job, name: str | None) -> Specialist:
    """The person meant, or the only one who can."""
    if name is not None:
        return _person(inputs, name)
    able = [who for who in inputs.specialists if job.asks in who.skills]
    if len(able) == 1:
        return able[0]
    names = ", ".join(who.name for who in able) or "nobody"
    raise BadInput(f"with whom? {job.asks} is done by {names}", where=f"find {job.find}", do="Add --with NAME")


def _place(inputs: BookingInputs, job: Job, who: Specialist, fix: Fixing) -> Place:
    """The half-day asked for, else the first half of that day that is offered.

    Raises
    ------
    BadInput : nothing is offered then; the nearest half-days that are stand in the error.
    """
    halves = (0, 1) if fix.half is None else (_half(fix.half),)
    why = None
    for half in halves:
        place = Place(find=job.find, what=job.what, with_=who.name, at=HalfDay(day=fix.day, half=half))
        why = why_not_held(who, place, inputs)
        if why is None:
            return place
    wanted = tick_of(HalfDay(day=fix.day, half=halves[0]))
    near = sorted((slot.tick for slot in slots_of(who, inputs)), key=lambda tick: (abs(tick - wanted), tick))[:3]
    offered = ", ".join(f"{_said(half_day(tick).day)} {HALVES[tick % 2]}" for tick in sorted(near))
    raise BadInput(
        f"{who.name} cannot on {_said(fix.day)}: {why}",
        where=f"find {job.find}, {job.what}",
        limit=offered or f"nothing before {_said(inputs.until)}",
        do="Take another day or another person",
    )


def _half(text: str) -> int:
    for number, name in enumerate(HALVES):
        if text and name.startswith(text.strip().casefold()):
            return number
    raise BadInput(f"{text!r} is no half-day", limit=" or ".join(HALVES), do="Write one of them")


def _person(inputs: BookingInputs, name: str) -> Specialist:
    wanted = " ".join(name.split()).casefold()
    for who in inputs.specialists:
        if who.name.casefold() == wanted:
            return who
    raise UnknownName("specialist", name, [who.name for who in inputs.specialists])


def _promised(office: Office, known: Known, inputs: BookingInputs, plan: Plan, done: Done) -> None:
    """The plan as promises: an event for each job whose place is new; what is fixed stays fixed."""
    fixed = {place.key for place in inputs.fixed}
    before = {place.key: place for place in inputs.promised}
    standing = {thing.stream: thing for thing in _standing(office, known)}
    held = {(booking.find, booking.what) for booking in plan.bookings if booking.fixed}
    for place in plan.places():
        if place.key in fixed & held:
            continue
        stream = booking_stream(known.site.number, *place.key)
        if before.get(place.key) == place and stream in standing:
            continue
        done[0].append(NewEvent(word="booking.promised.1", stream=stream, body=_place_body(place)))
    count = sum(event.word == "booking.promised.1" for event in done[0])
    done[1].append(f"{count} appointment{'' if count == 1 else 's'} promised")


def _with_fewer_moves(inputs: BookingInputs, plan: Plan) -> tuple[str, ...]:
    """What the plan would be that moves as few promises as can be, where that is fewer."""
    moved = sum(booking.moved_from is not None for booking in plan.bookings)
    if inputs.few_moves or not moved or not any(place.with_ for place in inputs.promised):
        return ()
    other = plan_bookings(replace(inputs, few_moves=True), FEWER)
    fewer = sum(booking.moved_from is not None for booking in other.bookings)
    if fewer >= moved:
        return ()
    days = f"{other.lateness_days:g} weighted days late, not {plan.lateness_days:g}"
    return (f"{moved} promises are moved; with {fewer} moved it would be {days} (--few-moves).",)


def _standing(office: Office, known: Known) -> Sequence[Thing]:
    things = office.ledger.states("booking", known.site.number)
    return [thing for thing in things if thing.facts.get("status") == PROMISED]


def _place_body(place: Place) -> dict[str, Any]:
    return {
        "find": place.find,
        "what": place.what,
        "with": place.with_,
        "day": plain(place.at.day),
        "half": place.at.half,
    }


def _said(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"
