"""A plan of bookings as every door shows it: rows by day, what is late and why, what would help, how good it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from findhold.book.inputs import HALVES, BookingInputs
from findhold.book.plan import Booking, Plan, plan_bookings
from findhold.book.remedies import Remedy, what_helps
from findhold.book.solve import Effort


@dataclass(frozen=True, slots=True, kw_only=True)
class BookedRow:
    """One booking. half : morning or afternoon. late_days : after its limit, not weighted. moved_from : in words."""

    find: str
    what: str
    with_: str
    day: date
    half: str
    starts_at: datetime
    hours: float
    """Bench time [h]."""
    due: datetime | None
    late_days: float
    weight: float
    send_on: date | None
    fixed: bool
    promised: bool
    moved_from: str | None
    why_late: str | None
    do: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OutRow:
    """A job that is not planned, why, and what to do."""

    find: str
    what: str
    why: str
    do: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelRow:
    """One aim: what was reached, what cannot be beaten, whether that is proved, and the gap.

    value, bound : [weighted days, moves or the unit's money], as `aim` says.
    """

    aim: str
    value: float
    bound: float
    proved: bool
    gap_percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ScarceRow:
    """A half-day of which one hour more would save lateness [weighted days/h]."""

    with_: str
    day: date
    half: str
    saves_days_per_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BookAnswer:
    """The plan; in_time is false when something is late or left out."""

    title: str
    now: datetime
    until: date
    in_time: bool
    bookings: tuple[BookedRow, ...]
    left_out: tuple[OutRow, ...]
    notes: tuple[str, ...]
    levels: tuple[LevelRow, ...]
    remedies: tuple[Remedy, ...]
    scarce: tuple[ScarceRow, ...]
    recorded: tuple[str, ...] = ()
    """What was written to the ledger, in words."""
    calendar: str | None = None


def answered(title: str, inputs: BookingInputs, *, effort: Effort | None = None, helps: bool = True) -> BookAnswer:
    """Plan and tell: the one answer that command line, pages and API show."""
    plan = plan_bookings(inputs, effort)
    return told(title, inputs, plan, what_helps(inputs, plan) if helps and len(inputs.jobs) <= MOST_JOBS_HELPED else ())


MOST_JOBS_HELPED = 120
"""More jobs than this are not planned anew for every way that might help: the scarce half-days say where it pinches."""


def told(title: str, inputs: BookingInputs, plan: Plan, remedies: tuple[Remedy, ...]) -> BookAnswer:
    """A plan as rows."""
    promised = {place.key for place in inputs.promised}
    return BookAnswer(
        title=title,
        now=inputs.now,
        until=inputs.until,
        in_time=plan.in_time,
        bookings=tuple(
            _row(booking, (booking.find, booking.what) in promised, inputs.now.date()) for booking in plan.bookings
        ),
        left_out=tuple(OutRow(find=out.find, what=out.what, why=out.why, do=out.do) for out in plan.left_out),
        notes=plan.notes,
        levels=tuple(
            LevelRow(
                aim=level.aim, value=level.value, bound=level.bound, proved=level.proved, gap_percent=100 * level.gap
            )
            for level in plan.levels
        ),
        remedies=remedies,
        scarce=tuple(
            ScarceRow(with_=name, day=at.day, half=HALVES[at.half], saves_days_per_h=saved)
            for name, at, saved in plan.scarce
        ),
    )


def _row(booking: Booking, promised: bool, today: date) -> BookedRow:
    moved, why = booking.moved_from, booking.why_late
    return BookedRow(
        find=booking.find,
        what=booking.what,
        with_=booking.with_,
        day=booking.at.day,
        half=HALVES[booking.at.half],
        starts_at=booking.starts_at,
        hours=booking.hours,
        due=booking.due,
        late_days=booking.late_days,
        weight=booking.weight,
        send_on=booking.send_on,
        fixed=booking.fixed,
        promised=promised,
        moved_from=None
        if moved is None
        else f"{moved.at.day:%a} {moved.at.day.day} {moved.at.day:%b}, {HALVES[moved.at.half]}"
        + (f", with {moved.with_}" if moved.with_ else "")
        + (", which is past" if moved.at.day < today else ""),
        why_late=None if why is None else why.text,
        do=None if why is None else why.do,
    )
