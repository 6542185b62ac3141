"""What would make a plan less late, each way planned anew; and the first bench time that is free beside a plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from findhold.book.halfdays import half_day, slots_of, tick_of
from findhold.book.inputs import AFTERNOON, BookingInputs, HalfDay, Specialist
from findhold.book.plan import Booking, Plan, plan_bookings
from findhold.book.solve import Effort
from findhold.dates.closures import Closure

MOST = 8
TRIED = Effort(seconds=8.0, levels=1)
NEWCOMER = "another person"
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """One way to be less late, planned: what it is, and the finds it would bring in time.

    before_days, after_days : weighted lateness without it and with it [days].
    """

    text: str
    before_days: float
    after_days: float
    in_time: tuple[str, ...]


def what_helps(inputs: BookingInputs, plan: Plan, most: int = MOST) -> tuple[Remedy, ...]:
    """Ways to be less late, best first; those that save nothing are left out.

    Not for choosing: a person weighs what a day in a closure or another specialist costs.

    Parameters
    ----------
    inputs, plan : what was planned, and how. most : how many ways are tried at most.

    Source: our own list of ways (judgement); the figures are plans of the same kind as `plan`.
    """
    late_now = {(b.find, b.what) for b in plan.late} | {(out.find, out.what) for out in plan.left_out}
    if not late_now or not plan.levels:
        return ()
    before = plan.lateness_days
    found = []
    for text, changed in list(_ways(inputs, plan))[:most]:
        # From the plan as it is, which stays possible: more can only help.
        tried = plan_bookings(replace(changed, promised=plan.places()), TRIED)
        after = tried.lateness_days if tried.levels else 0.0
        if after < before - 1e-6:
            still = {(b.find, b.what) for b in tried.late} | {(out.find, out.what) for out in tried.left_out}
            finds = tuple(sorted({find for find, _ in late_now} - {find for find, _ in still}))
            found.append(Remedy(text=text, before_days=before, after_days=after, in_time=finds))
    return tuple(sorted(found, key=lambda remedy: remedy.after_days))


def _ways(inputs: BookingInputs, plan: Plan) -> Iterator[tuple[str, BookingInputs]]:
    """Each way once, for what is latest first."""
    seen: set[str] = set()
    for booking in plan.late:
        for text, changed in (*_opened(inputs, booking), *_came(inputs, booking), *_more_hands(inputs, booking)):
            if text not in seen:
                seen.add(text)
                yield text, changed


def _opened(inputs: BookingInputs, late: Booking) -> Iterator[tuple[str, BookingInputs]]:
    """Specialists at hand come on the last day before the limit that is now closed, or on which they do not work."""
    able = [who for who in inputs.specialists if _asks(inputs, late) in who.skills]
    for who in able:
        blocked = [item for item in _blocked(inputs, late, who) if not any(span.holds(item) for span in who.away)]
        if blocked:
            day = blocked[-1]
            text = f"{who.name} works on {_said(day)}, which is closed or not a working day for them"
            yield text, _with_sitting(inputs, who, day)


def _came(inputs: BookingInputs, late: Booking) -> Iterator[tuple[str, BookingInputs]]:
    """Someone away comes for one day before the limit, or takes an appointment without notice."""
    last = _limit_day(inputs, late)
    for who in inputs.specialists:
        if _asks(inputs, late) not in who.skills:
            continue
        days = [day for day in _blocked(inputs, late, who) if day <= last and any(span.holds(day) for span in who.away)]
        open_days = [day for day in days if day.weekday() in who.weekdays and not _shut(inputs, day)]
        if open_days:
            yield f"{who.name} comes back for {_said(open_days[-1])}", _with_sitting(inputs, who, open_days[-1])
        if who.lead_days:
            waived = _replaced(inputs, who, replace(who, lead_days=0))
            yield f"{who.name} takes it without the notice of {who.lead_days} working days", waived


def _more_hands(inputs: BookingInputs, late: Booking) -> Iterator[tuple[str, BookingInputs]]:
    """Another person for the same work, on the unit's working days."""
    asks = _asks(inputs, late)
    another = Specialist(name=f"{NEWCOMER} for {asks}", skills=(asks,))
    yield f"another person who does {asks}", replace(inputs, specialists=(*inputs.specialists, another))


def _with_sitting(inputs: BookingInputs, who: Specialist, day: date) -> BookingInputs:
    """The same person with one day more: the day stands as a person of its own."""
    hours = who.hours if max(who.hours) > 0 else (3.5, 3.5)
    extra = Specialist(
        name=f"{who.name} on {_said(day)}",
        skills=who.skills,
        hours=hours,
        weekdays=frozenset({day.weekday()}),
        sittings=(HalfDay(day=day), HalfDay(day=day, half=AFTERNOON)),
        cost=who.cost,
    )
    closures = tuple(part for closed in inputs.closures for part in _without(closed, day))
    # Everybody else stays away on the opened day, so that only this person's day is tried.
    shut = Closure(first_day=day, last_day=day, reason="closed")
    others = tuple(replace(other, away=(*other.away, shut)) for other in inputs.specialists)
    if any(closed.holds(day) for closed in inputs.closures):
        return replace(inputs, closures=closures, specialists=(*others, extra))
    return replace(inputs, specialists=(*inputs.specialists, extra))


def _without(closed: Closure, day: date) -> Iterator[Closure]:
    if not closed.holds(day):
        yield closed
        return
    if closed.first_day < day:
        yield replace(closed, last_day=day - _DAY)
    if closed.last_day > day:
        yield replace(closed, first_day=day + _DAY)


def _blocked(inputs: BookingInputs, late: Booking, who: Specialist) -> list[date]:
    """Days up to the limit on which somebody offers nothing."""
    if late.why_late is None:
        return []
    last = _limit_day(inputs, late)
    return [day for name, day, _ in late.why_late.blocked if name == who.name and day <= last]


def _asks(inputs: BookingInputs, late: Booking) -> str:
    """The skill that a late job asks for."""
    return next(job.asks for job in inputs.jobs if job.key == (late.find, late.what))


def _limit_day(inputs: BookingInputs, late: Booking) -> date:
    return late.due.date() if late.due is not None else inputs.until


def _shut(inputs: BookingInputs, day: date) -> bool:
    return any(closed.holds(day) for closed in (*inputs.closures, *inputs.holidays))


def _replaced(inputs: BookingInputs, old: Specialist, new: Specialist) -> BookingInputs:
    return replace(inputs, specialists=tuple(new if who == old else who for who in inputs.specialists))


def _said(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Free:
    """A half-day with a specialist; send_on : the day the find leaves, the day itself for a bench in the unit."""

    with_: str
    at: HalfDay
    send_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What bench time is looked for.

    skills : all of them with one person. hours : in one half-day [h]. without : the find whose own bookings make room.
    elsewhere : at a bench that is not in the unit. before : the find leaves its store before this day.
    first : bookings of the find itself that stay and have to come before: imaging before the opening.
    """

    skills: tuple[str, ...]
    hours: float
    without: str
    elsewhere: bool
    before: date
    first: tuple[Booking, ...] = ()


def first_free(inputs: BookingInputs, bookings: Iterable[Booking], wanted: Wanted) -> Free | None:
    """The earliest half-day with room for what is wanted, beside what is planned; None when there is none.

    Parameters
    ----------
    inputs : who offers what when.
    bookings : what is planned; those of the find itself are not counted.
    wanted : what is looked for.

    Valid for: work that fits into one half-day.
    """
    able = [
        who for who in inputs.specialists if who.elsewhere == wanted.elsewhere and set(wanted.skills) <= set(who.skills)
    ]
    taken = _taken(inputs, [*(one for one in bookings if one.find != wanted.without), *wanted.first])
    found = [
        Free(with_=who.name, at=half_day(slot.tick), send_on=slot.send_on)
        for who in able
        for slot in slots_of(who, inputs)
        if slot.send_on < wanted.before and slot.hours - taken[who.name, slot.tick] >= wanted.hours - 1e-9
        # With another person it waits for the next half-day, as in the plan.
        if all(slot.tick >= tick_of(one.at) + (one.with_ != who.name) for one in wanted.first)
    ]
    return min(found, key=lambda one: (one.send_on, tick_of(one.at), one.with_), default=None)


def _taken(inputs: BookingInputs, bookings: Iterable[Booking]) -> dict[tuple[str, int], float]:
    """Hours taken of each half-day; what is longer than its half-day runs into the next one offered."""
    offered = {who.name: list(slots_of(who, inputs, notice=False)) for who in inputs.specialists}
    taken: dict[tuple[str, int], float] = defaultdict(float)
    for booking in bookings:
        left = booking.hours
        for slot in offered.get(booking.with_, []):
            if slot.tick < tick_of(booking.at) or left <= 0:
                continue
            here = min(left, max(0.0, slot.hours - taken[booking.with_, slot.tick]))
            taken[booking.with_, slot.tick] += here
            left -= here
    return taken
