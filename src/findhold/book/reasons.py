"""Why a job is late or finds no place: which limit, which specialist, how many half-days short."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from findhold.book.columns import NOBODY, Columns, Whole
from findhold.book.halfdays import first_tick, half_day, last_tick, too_soon, why_closed
from findhold.book.inputs import BookingInputs, Job, Specialist

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """One reason.

    kind : past, nobody, full, order or nowhere. blocked : (specialist, day, reason) that stood in the way, day by day.
    short : half-days short [1].
    """

    kind: str
    text: str
    do: str
    blocked: tuple[tuple[str, date, str], ...] = ()
    short: int = 0


def why_late(inputs: BookingInputs, job: Job, columns: Columns, placed: Whole, begun: dict[int, int]) -> Why:
    """Why a job is after its limit.

    Parameters
    ----------
    placed : the chosen columns. begun : the half-day on which each job begins, by its index.
    """
    if job.due is None:
        raise ValueError("a job without a limit is never late")
    limit = last_tick(job.due)
    earliest = max(first_tick(inputs.now), first_tick(job.release))
    if limit < earliest:
        return Why(
            kind="past", text=f"its limit ({_day(job.due.date())}) is past before it could begin", do="Do it first"
        )
    number = next(k for k, other in enumerate(inputs.jobs) if other.key == job.key)
    own = np.flatnonzero((columns.job == number) & (columns.who != NOBODY))
    in_time = own[columns.last[own] <= limit]
    if not len(in_time):
        return _nobody(inputs, job, half_day(limit).day)
    names = {other.what: k for k, other in enumerate(inputs.jobs) if other.find == job.find}
    for rule in inputs.order:
        first = names.get(rule.first)
        if (
            rule.find == job.find
            and rule.then == job.what
            and first in begun
            and begun[first] >= columns.first[in_time].max()
        ):
            when = _day(half_day(begun[first]).day)
            return Why(
                kind="order", text=f"{rule.first} has to come first and is on {when}", do=f"Bring {rule.first} forward"
            )
    return _full(inputs, job, columns, placed, in_time)


def why_nowhere(inputs: BookingInputs, job: Job, columns: Columns) -> Why:
    """Why a job finds no place up to the last day that may be booked."""
    number = next(k for k, other in enumerate(inputs.jobs) if other.key == job.key)
    own = (columns.job == number) & (columns.who != NOBODY)
    if not own.any():
        why = _nobody(inputs, job, inputs.until)
        return Why(kind="nowhere", text=why.text, do=why.do, blocked=why.blocked)
    what = f"every half-day for {job.what} up to {_day(inputs.until)} is taken, or what must come first finds no place"
    return Why(kind="nowhere", text=what, do=_until_do(inputs), short=1)


def blocked_days(inputs: BookingInputs, job: Job, last: date) -> tuple[tuple[str, date, str], ...]:
    """For each specialist with the skill, the days from release to a last day on which nothing can begin, and why."""
    day = max(inputs.now.date(), job.release.date())
    found = []
    while day <= min(last, inputs.until):
        for who in inputs.specialists:
            if job.asks not in who.skills:
                continue
            why = why_closed(who, day, inputs) or too_soon(who, day, inputs)
            if why is not None:
                found.append((who.name, day, why))
        day += _DAY
    return tuple(found)


def _nobody(inputs: BookingInputs, job: Job, last: date) -> Why:
    blocked = blocked_days(inputs, job, last)
    able = [who for who in inputs.specialists if job.asks in who.skills]
    parts = []
    for who in able:
        count = Counter(why for name, _, why in blocked if name == who.name and "does not work" not in why)
        reasons = [why for why, _ in count.most_common(3)]
        if any(name == who.name and "does not work" in why for name, _, why in blocked):
            reasons.append("works on " + _weekdays(who) + " only")
        parts.append(_sentence(who, reasons) if reasons else f"{who.name} has no half-day long enough")
    whom = f"with the skill {job.skill}" if job.skill else f"who does {job.what}"
    text = f"nobody {whom} has time up to {_day(last)}: " + "; ".join(parts)
    return Why(kind="nobody", text=text, do=_until_do(inputs), blocked=blocked)


def _sentence(who: Specialist, reasons: list[str]) -> str:
    named = [why if who.name in why else f"{who.name}: {why}" if k == 0 else why for k, why in enumerate(reasons)]
    return ", ".join(named)


def _weekdays(who: Specialist) -> str:
    return ", ".join(("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[day] for day in sorted(who.weekdays))


def _full(inputs: BookingInputs, job: Job, columns: Columns, placed: Whole, in_time: Whole) -> Why:
    """The half-days before the limit are taken by what weighs more or has nearer limits."""
    uses = np.isin(columns.use_column, in_time)
    slots = np.unique(columns.use_slot[uses])
    chosen = np.isin(columns.use_column, placed) & np.isin(columns.use_slot, slots)
    offered = float(sum(columns.slots[k][1].hours for k in slots))
    free = offered - float(columns.use_hours[chosen].sum())
    longest = max(columns.slots[k][1].hours for k in slots)
    waiting = [
        booked.hours
        for k in placed
        if (booked := inputs.jobs[columns.job[k]]).what == job.what
        and booked.due is not None
        and columns.last[k] > last_tick(booked.due)
    ]
    short = max(1, int(np.ceil((sum(waiting) - free) / longest - 1e-9)))
    text = (
        f"the {len(slots)} half-days for {job.what} before its limit are taken: {free:.1f} h of {offered:g} h left, "
        f"it needs {job.hours:g} h; {short} half-day{'s' if short > 1 else ''} short"
    )
    return Why(kind="full", text=text, do="One more bench day before the limit, or another person for it", short=short)


def _until_do(inputs: BookingInputs) -> str:
    return "Another person for it, a day in the closure, or a later last day than " + _day(inputs.until)


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"
