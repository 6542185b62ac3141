"""The plan of bookings: every job with its specialist and half-day, what is late and why, and how good the plan is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

import numpy as np

from findhold.book.appointments import LeftOut, Settled, settle
from findhold.book.columns import NOBODY, Columns, Whole, columns_of
from findhold.book.halfdays import half_day, last_tick
from findhold.book.inputs import STARTS, BookingInputs, HalfDay, Job, Place, check_inputs
from findhold.book.queue import order_queue
from findhold.book.reasons import Why, why_late, why_nowhere
from findhold.book.rows import rows_of
from findhold.book.solve import BROKEN_RULE_DAYS, Effort, Level, Solved, Weighing, solve


@dataclass(frozen=True, slots=True, kw_only=True)
class Booking:
    """One job in the plan.

    starts_at : on the clock of the inputs. send_on : the day it leaves the unit, None for a bench in the unit.
    late_days : not weighted. fixed : the appointment was given. moved_from : the promise not kept, None when it is.
    """

    find: str
    what: str
    with_: str
    at: HalfDay
    starts_at: datetime
    hours: float
    """Bench time [h]."""
    due: datetime | None
    late_days: float
    weight: float
    send_on: date | None
    fixed: bool
    moved_from: Place | None
    why_late: Why | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The bookings by day, what is left out, what has to be told, and how good the plan is.

    levels : lateness [weighted days], moves, cost in the order weighed, each with its bound. A plan is in time when
    nothing is late or left out.
    """

    bookings: tuple[Booking, ...]
    left_out: tuple[LeftOut, ...]
    notes: tuple[str, ...]
    levels: tuple[Level, ...]
    scarce: tuple[tuple[str, HalfDay, float], ...]
    """Specialist, half-day, and the weighted days of lateness that one more hour there would save, most first."""

    @property
    def late(self) -> tuple[Booking, ...]:
        """What is late, worst first."""
        late = [booking for booking in self.bookings if booking.late_days > 0]
        return tuple(sorted(late, key=lambda booking: (-booking.weight * booking.late_days, booking.find)))

    @property
    def in_time(self) -> bool:
        """True when nothing is late and nothing is left out."""
        return not self.late and not self.left_out

    @property
    def lateness_days(self) -> float:
        """Weighted days of lateness, what finds no place among them."""
        return next((level.value for level in self.levels if level.aim == "lateness"), 0.0)

    def places(self) -> tuple[Place, ...]:
        """The bookings as promises."""
        return tuple(Place(find=b.find, what=b.what, with_=b.with_, at=b.at) for b in self.bookings)


def plan_bookings(inputs: BookingInputs, effort: Effort | None = None) -> Plan:
    """Plan every job: the least weighted lateness against the limits, then the fewest moves, then the least cost.

    Not for a decision on what may wait: limits come in with the jobs, and a person sets the weights.

    Parameters
    ----------
    inputs : specialists, equipment, jobs, rules of order, appointments, promises, closed days.
    effort : time and nodes that may be spent; the defaults when None.

    Returns
    -------
    Plan. What cannot be planned is left out with its reason; nothing infeasible raises.

    Raises
    ------
    BadInput : negative times, names twice, unknown equipment, one job with two different appointments.

    Valid for: jobs that are not interrupted except by nights and weekends; half-days as the grain of order between
    different specialists.

    Source: our own model (see docs/models/bookings.md); its aims in their order are a judgement.
    """
    check_inputs(inputs)
    settled = settle(inputs)
    inputs = replace(inputs, jobs=settled.jobs, order=settled.order)
    if not inputs.jobs:
        return Plan(bookings=(), left_out=settled.left_out, notes=settled.notes, levels=(), scarce=())
    columns = columns_of(inputs, settled.fixed)
    rows = rows_of(inputs, columns, settled.fixed)
    weighing = Weighing(setup_cost=inputs.costs.setup, few_moves=inputs.few_moves)
    solved = solve(columns, rows, weighing, effort or Effort())
    chosen = np.flatnonzero(solved.chosen[: len(columns.job)] > 0.5)
    broken = [rule for rule, on in zip(rows.broken, solved.chosen[len(columns.job) :], strict=False) if on > 0.5]
    notes = [
        f"Find {rule.find}: the fixed appointment puts {rule.then} before {rule.first}"
        f"{f' ({rule.why})' if rule.why else ''}: move it."
        for rule in broken
    ]
    placed = chosen[columns.who[chosen] != NOBODY]
    return Plan(
        bookings=_bookings(inputs, settled, columns, placed),
        left_out=(*settled.left_out, *_nowhere(inputs, columns, chosen)),
        notes=(*settled.notes, *notes),
        levels=tuple(_without_penalty(level, len(broken)) for level in solved.levels),
        scarce=_scarce(inputs, columns, solved),
    )


def _without_penalty(level: Level, broken: int) -> Level:
    """Lateness as days of waiting alone: what a rule turned round costs in the search is told in words."""
    if level.aim != "lateness" or not broken:
        return level
    cost = broken * BROKEN_RULE_DAYS
    return replace(level, value=level.value - cost, bound=max(0.0, level.bound - cost))


def _bookings(inputs: BookingInputs, settled: Settled, columns: Columns, placed: Whole) -> tuple[Booking, ...]:
    """The chosen columns as bookings in order of time."""
    begins = _clock_times(inputs, columns, placed)
    promised = {place.key: place for place in inputs.promised}
    send_on = {(who, slot.tick): slot.send_on for who, slot in columns.slots}
    done_by = {int(columns.job[k]): int(columns.first[k]) for k in placed}
    made = []
    for column in placed:
        job, who = inputs.jobs[columns.job[column]], int(columns.who[column])
        specialist, tick = inputs.specialists[who], int(columns.first[column])
        late = 0.0 if job.due is None else max(0, int(columns.last[column]) - last_tick(job.due)) / 2
        promise = promised.get(job.key)
        made.append(
            Booking(
                find=job.find,
                what=job.what,
                with_=specialist.name,
                at=half_day(tick),
                starts_at=begins[int(column)],
                hours=job.hours,
                due=job.due,
                late_days=late,
                weight=job.weight,
                send_on=send_on[who, tick] if specialist.elsewhere else None,
                fixed=job.key in settled.fixed,
                moved_from=promise if columns.moved[column] else None,
                why_late=why_late(inputs, job, columns, placed, done_by) if late else None,
            )
        )
    return tuple(sorted(made, key=lambda booking: (booking.starts_at, booking.with_, booking.find)))


def _clock_times(inputs: BookingInputs, columns: Columns, placed: Whole) -> dict[int, datetime]:
    """When each job begins: the jobs of one half-day in the order of least lateness that keeps the rules."""
    begins: dict[int, datetime] = {}
    rules = {(rule.find, rule.first, rule.then) for rule in inputs.order}
    for who, tick in sorted({(int(columns.who[k]), int(columns.first[k])) for k in placed}):
        own = [int(k) for k in placed if columns.who[k] == who and columns.first[k] == tick]
        jobs = [inputs.jobs[columns.job[k]] for k in own]
        at = half_day(tick)
        start = datetime.combine(at.day, STARTS[at.half], tzinfo=inputs.now.tzinfo)
        pairs = [
            (a, b)
            for a, first in enumerate(jobs)
            for b, then in enumerate(jobs)
            if first.find == then.find and (first.find, first.what, then.what) in rules
        ]
        queue = order_queue(
            [job.hours for job in jobs],
            [_due_h(job, start) for job in jobs],
            [job.weight for job in jobs],
            before=pairs,
        )
        # What runs on from the half-day before is done first.
        clock = start + timedelta(hours=_running_h(columns, placed, who, tick))
        for place in queue.order:
            begins[own[place]] = clock
            clock += timedelta(hours=jobs[place].hours)
    return begins


def _running_h(columns: Columns, placed: Whole, who: int, tick: int) -> float:
    """Hours of a half-day that go to jobs begun earlier."""
    chosen = np.isin(columns.use_column, placed[(columns.who[placed] == who) & (columns.first[placed] < tick)])
    return float(
        sum(
            hours
            for slot, hours in zip(columns.use_slot[chosen], columns.use_hours[chosen], strict=True)
            if columns.slots[slot][1].tick == tick
        )
    )


def _due_h(job: Job, start: datetime) -> float:
    return 1e6 if job.due is None else (job.due - start).total_seconds() / 3600


def _nowhere(inputs: BookingInputs, columns: Columns, chosen: Whole) -> list[LeftOut]:
    jobs = [inputs.jobs[columns.job[k]] for k in chosen if columns.who[k] == NOBODY]
    told = [(job, why_nowhere(inputs, job, columns)) for job in jobs]
    return [LeftOut(find=job.find, what=job.what, why=why.text, do=why.do) for job, why in told]


def _scarce(inputs: BookingInputs, columns: Columns, solved: Solved) -> tuple[tuple[str, HalfDay, float], ...]:
    """The half-days of which an hour more would save most."""
    best = np.argsort(-solved.saved_by_hour, kind="stable")[:5]
    return tuple(
        (
            inputs.specialists[columns.slots[k][0]].name,
            half_day(columns.slots[k][1].tick),
            float(solved.saved_by_hour[k]),
        )
        for k in best
        if solved.saved_by_hour[k] > 1e-6
    )
