"""Half-days as whole numbers, two a day; which of them a specialist offers, and why not the others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache

from findhold.book.inputs import AFTERNOON, MORNING, STARTS, BookingInputs, HalfDay, Specialist
from findhold.dates.closures import WorkingCalendar
from findhold.errors import BadInput


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A half-day that a specialist offers: its number, the bench hours [h], and the day a find has to be sent on."""

    tick: int
    hours: float
    send_on: date
    """The day itself for a bench in the unit."""


def tick_of(at: HalfDay) -> int:
    """The number of a half-day: one more for each half-day."""
    return 2 * at.day.toordinal() + at.half


def half_day(tick: int) -> HalfDay:
    """The half-day of a number: the inverse of tick_of."""
    return HalfDay(day=date.fromordinal(tick // 2), half=tick % 2)


def first_tick(at: datetime) -> int:
    """The first half-day that begins at or after an instant, on the instant's own clock."""
    day = 2 * at.date().toordinal()
    clock = at.time()
    if clock <= STARTS[MORNING]:
        return day
    return day + 1 if clock <= STARTS[AFTERNOON] else day + 2


def last_tick(due: datetime) -> int:
    """The last half-day in time for a limit: the one it falls in, or the one before when it comes before nine."""
    day = 2 * due.date().toordinal()
    clock = due.time()
    if clock < STARTS[MORNING]:
        return day - 1
    return day if clock < STARTS[AFTERNOON] else day + 1


def slots_of(who: Specialist, inputs: BookingInputs, *, notice: bool = True) -> tuple[Slot, ...]:
    """The half-days a specialist offers from now to the last day; without `notice`, also those too soon to be new."""
    calendar = unit_calendar(inputs)
    start = first_tick(inputs.now)
    earliest = _after_notice(who, inputs) if notice else inputs.now.date()
    offered = None if who.sittings is None else {tick_of(at) for at in who.sittings}
    found = []
    for day in days(inputs):
        if day < earliest or why_closed(who, day, inputs):
            continue
        send_on = _send_on(calendar, day, who.courier_days)
        if send_on is None or send_on < inputs.now.date():
            continue
        for half, hours in enumerate(who.hours):
            tick = 2 * day.toordinal() + half
            if hours > 0 and tick >= start and (offered is None or tick in offered):
                found.append(Slot(tick=tick, hours=hours, send_on=send_on))
    return tuple(found)


def why_closed(who: Specialist, day: date, inputs: BookingInputs) -> str | None:
    """Why a specialist offers nothing on a day, in few words; None when the day is open."""
    for closed in who.away:
        if closed.holds(day):
            until = f"until {closed.last_day.day} {closed.last_day:%b}"
            return f"{who.name} is away {until}" + (f" ({closed.reason})" if closed.reason not in ("", "away") else "")
    for closed in inputs.holidays if who.elsewhere else (*inputs.closures, *inputs.holidays):
        if closed.holds(day):
            return closed.reason
    if who.sittings is not None:
        return None if any(at.day == day for at in who.sittings) else "no bench slot"
    if day.weekday() not in who.weekdays:
        return f"{who.name} does not work on {day:%A}s"
    return None


def too_soon(who: Specialist, day: date, inputs: BookingInputs) -> str | None:
    """Why an open day comes too soon for a new appointment: notice or courier; None when it does not."""
    if day < _after_notice(who, inputs):
        return f"{who.name} wants {who.lead_days} working days of notice"
    send_on = _send_on(unit_calendar(inputs), day, who.courier_days)
    if send_on is None or send_on < inputs.now.date():
        return f"the courier to {who.name} takes {who.courier_days} working days"
    return None


def days(inputs: BookingInputs) -> Iterator[date]:
    """Every day from now to the last day to book."""
    day = inputs.now.date()
    while day <= inputs.until:
        yield day
        day += timedelta(days=1)


def unit_calendar(inputs: BookingInputs) -> WorkingCalendar:
    """The unit's working days: what is sent off leaves on one of them, and notice is counted in them."""
    return WorkingCalendar(closures=(*inputs.closures, *inputs.holidays))


def _after_notice(who: Specialist, inputs: BookingInputs) -> date:
    if not who.lead_days:
        return inputs.now.date()
    day = stepped(unit_calendar(inputs), inputs.now.date(), who.lead_days)
    return date.max if day is None else day


def _send_on(calendar: WorkingCalendar, day: date, courier_days: int) -> date | None:
    """The open day so many working days before; None when there is none in ten years."""
    return stepped(calendar, day, -courier_days) if courier_days else day


@lru_cache(maxsize=4096)
def stepped(calendar: WorkingCalendar, day: date, working_days: int) -> date | None:
    """The day so many working days later or earlier; None when there is none in ten years."""
    try:
        return calendar.add(day, working_days)
    except BadInput:
        return None
