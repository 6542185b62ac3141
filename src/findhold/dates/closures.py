"""Closed days and working-day arithmetic: which days somebody comes, counted on the calendar of the place."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from findhold.dates.instants import day_for_people
from findhold.errors import BadInput

_ONE_DAY = timedelta(days=1)
_SEARCH_DAYS = 3660  # ten years: a search that finds no open day in so long has been given no open weekday
MONDAY_TO_FRIDAY = frozenset({0, 1, 2, 3, 4})


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure:
    """Days when nobody comes, first and last included, and why; `who` comes all the same, when somebody is named."""

    first_day: date
    last_day: date
    reason: str
    who: str = ""

    def __post_init__(self) -> None:
        if self.last_day < self.first_day:
            raise BadInput(
                f"the closure {self.reason!r} ends on {day_for_people(self.last_day)}, before it begins",
                limit=f"last day on or after {day_for_people(self.first_day)}",
                do="Correct the first or the last closed day",
            )

    def holds(self, day: date) -> bool:
        """True when the day is one of the closed days."""
        return self.first_day <= day <= self.last_day


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkingCalendar:
    """The days somebody comes: working weekdays (Monday is 0) that are in no closure."""

    closures: tuple[Closure, ...] = ()
    weekdays: Collection[int] = MONDAY_TO_FRIDAY

    def closure_on(self, day: date) -> Closure | None:
        """The first closure listed that holds the day, or None."""
        return next((closure for closure in self.closures if closure.holds(day)), None)

    def is_open(self, day: date) -> bool:
        """True when the day is a working weekday outside every closure."""
        return day.weekday() in self.weekdays and self.closure_on(day) is None

    def on_or_before(self, day: date) -> date:
        """The last open day that is not later than this one; BadInput when there is none in ten years."""
        return self._walk(day, -1)

    def on_or_after(self, day: date) -> date:
        """The first open day that is not earlier than this one; BadInput when there is none in ten years."""
        return self._walk(day, 1)

    def add(self, day: date, working_days: int) -> date:
        """The day so many working days later (or earlier, when negative); the starting day is not counted.

        Parameters
        ----------
        day : any day, open or closed.
        working_days : number of open days to step; 0 gives the day itself.
        """
        step = 1 if working_days > 0 else -1
        for _ in range(abs(working_days)):
            day = self._walk(day + step * _ONE_DAY, step)
        return day

    def count(self, first: date, last: date) -> int:
        """Working days after `first` up to and including `last`; the inverse of `add` for open days."""
        if last < first:
            return -self.count(last - _ONE_DAY, first - _ONE_DAY)
        return sum(self.is_open(first + timedelta(days=n)) for n in range(1, (last - first).days + 1))

    def _walk(self, day: date, step: int) -> date:
        for n in range(_SEARCH_DAYS):
            candidate = day + timedelta(days=step * n)
            if self.is_open(candidate):
                return candidate
        raise BadInput(
            f"there is no open day within ten years of {day_for_people(day)}",
            do="Check the closures and the working weekdays in the settings",
        )


def closed_days(closures: Iterable[Closure]) -> frozenset[date]:
    """Every day of every closure, once."""
    return frozenset(
        closure.first_day + timedelta(days=n)
        for closure in closures
        for n in range((closure.last_day - closure.first_day).days + 1)
    )


def merge_closures(closures: Sequence[Closure]) -> tuple[Closure, ...]:
    """Closures in order of date, with overlapping and adjoining ones joined and their reasons kept."""
    joined: list[Closure] = []
    for closure in sorted(closures, key=lambda c: (c.first_day, c.last_day, c.reason)):
        before = joined[-1] if joined else None
        if before is None or closure.first_day > before.last_day + _ONE_DAY:
            joined.append(closure)
            continue
        reasons = [before.reason] if closure.reason in before.reason.split("; ") else [before.reason, closure.reason]
        # Who comes on part of the days only is nobody's duty holder for all of them.
        joined[-1] = Closure(
            first_day=before.first_day,
            last_day=max(before.last_day, closure.last_day),
            reason="; ".join(reasons),
            who=before.who if before.who == closure.who else "",
        )
    return tuple(joined)
