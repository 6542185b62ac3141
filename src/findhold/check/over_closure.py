"""Which holds can wait until a closure is over: read from their recorded dates, with the reason."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

from findhold.dates.closures import Closure, WorkingCalendar
from findhold.dates.instants import at_hour, day_at, day_for_people
from findhold.errors import BadInput

OPENING_HOUR = 9
"""The hour of the first open day at which somebody is there again (common practice: benches open at nine)."""

Kind = Literal["act", "watch", "right", "none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldDates:
    """The recorded dates of a hold; keep_until None before it is forecast, open_at None while no opening is planned."""

    keep_until: datetime | None
    governing: str
    open_at: datetime | None
    alarm: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """Whether a hold can wait until a closure is over: kind for the sign, the words beside it, and why."""

    can_wait: bool | None
    """None: nothing says so, for it is not forecast."""
    kind: Kind
    word: str
    why: str


def open_again(closure: Closure, others: tuple[Closure, ...], zone: str) -> datetime:
    """When somebody is there again after a closure, other closures and weekends counted."""
    calendar = WorkingCalendar(closures=(closure, *others))
    return at_hour(calendar.on_or_after(closure.last_day + timedelta(days=1)), OPENING_HOUR, zone)


def last_open_day(closure: Closure, others: tuple[Closure, ...]) -> date | None:
    """The last day on which somebody comes before a closure; None when there is none in ten years."""
    try:
        return WorkingCalendar(closures=(closure, *others)).on_or_before(closure.first_day - timedelta(days=1))
    except BadInput:
        return None


def wait_over(dates: HoldDates, closure: Closure, again: datetime, *, now: datetime, zone: str) -> Wait:
    """Whether a hold can wait until a closure is over.

    Not for what would help: options are forecast anew, and only when somebody asks.

    Parameters
    ----------
    dates : the hold's recorded dates.
    closure : the days when nobody comes.
    again : when somebody is there again.
    now : the moment of asking.
    zone : the clock that days are told in.

    Returns
    -------
    The verdict; a hold whose opening is planned for before the closure, and in time, need not wait.
    """
    if dates.keep_until is None:
        return Wait(can_wait=None, kind="watch", word="not forecast", why="Nothing says yet how long it may wait.")
    until = _day(dates.keep_until, zone)
    if dates.alarm:
        why = f"{dates.alarm} was seen; the conservator decides, not the date ({until})."
        return Wait(can_wait=False, kind="act", word=f"{dates.alarm} seen", why=why[:1].upper() + why[1:])
    if dates.keep_until < now:
        why = f"{dates.governing} ended it on {until}."
        return Wait(can_wait=False, kind="act", word="kept too long", why=why[:1].upper() + why[1:])
    opens = dates.open_at
    if opens is not None and opens < now:
        opens = None  # an opening that has passed helps nobody now
    before = opens is not None and day_at(opens, zone) < closure.first_day
    if before and opens is not None and opens <= dates.keep_until:
        return Wait(
            can_wait=True, kind="right", word="opened before", why=f"Its opening is planned for {_day(opens, zone)}."
        )
    if dates.keep_until < again:
        why = f"{dates.governing} ends it on {until}; somebody is there again on {_day(again, zone)}."
        return Wait(can_wait=False, kind="act", word="cannot wait", why=why[:1].upper() + why[1:])
    if opens is None:
        return Wait(can_wait=True, kind="watch", word="can wait", why=f"Until {until}; no opening is planned.")
    if opens < again:
        why = f"Until {until}, but its opening is planned for {_day(opens, zone)}, when nobody is there."
        return Wait(can_wait=True, kind="watch", word="can wait, opening falls in it", why=why)
    if opens > dates.keep_until:
        why = f"Until {until}, but its opening is planned for {_day(opens, zone)}."
        return Wait(can_wait=True, kind="watch", word="can wait, opening too late", why=why)
    return Wait(
        can_wait=True, kind="right", word="can wait", why=f"Until {until}; opening planned for {_day(opens, zone)}."
    )


def _day(at: datetime, zone: str) -> str:
    return day_for_people(day_at(at, zone)).rsplit(" ", 1)[0]
