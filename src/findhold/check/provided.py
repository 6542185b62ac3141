"""Whether a hold is provided for across a closure: what it lacks, and whether what a person chose gives it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from findhold.check.over_closure import Wait
from findhold.dates.instants import day_at, day_for_people

State = Literal["waits", "done", "chosen", "short", "open"]
STATE_WORDS: dict[State, str] = {
    "waits": "can wait",
    "done": "done",
    "chosen": "chosen",
    "short": "chosen, not enough",
    "open": "open",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """What a hold lacks across a closure.

    ends : its limit comes before somebody is there again. opened_only : nothing but an opening helps, because its limit
    is past or something was seen. unchecked : days of its checks that nobody can make. unknown : it has no forecast.
    """

    ends: bool = False
    opened_only: bool = False
    unchecked: tuple[date, ...] = ()
    unknown: bool = False

    @property
    def nothing(self) -> bool:
        """True when the hold needs nothing."""
        return not (self.ends or self.opened_only or self.unchecked or self.unknown)


@dataclass(frozen=True, slots=True, kw_only=True)
class Brings:
    """What a way out brings.

    ends_hold : the find is opened or away before the closure. secures : its residue is safe, the hold goes on.
    looked_at : somebody comes to look. keep_until : the limit with it, None where it moves none.
    """

    ends_hold: bool = False
    secures: bool = False
    looked_at: bool = False
    keep_until: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Provided:
    """How a hold stands: the state, and why in words; short_days : from its limit until somebody is there [days]."""

    state: State
    why: str
    short_days: float = 0.0

    @property
    def enough(self) -> bool:
        """True when nothing is left to decide."""
        return self.state in ("waits", "done", "chosen")


def lack_of(wait: Wait, unchecked: tuple[date, ...] = ()) -> Lack:
    """What a hold lacks, from its verdict and the days of checks that nobody can make."""
    if wait.can_wait is None:
        return Lack(unknown=True)
    if wait.can_wait is False:
        return Lack(ends=True, opened_only=wait.word != "cannot wait", unchecked=unchecked)
    return Lack(unchecked=unchecked)


def enough(lack: Lack, brings: Brings, again: datetime) -> bool:
    """True when a way out gives a hold all that it lacks.

    A residue that was sampled first counts as provided for: what the wait would cost is safe, and a person chose so.
    """
    if lack.unknown:
        return False
    if brings.ends_hold or (brings.secures and not lack.opened_only):
        return True
    if lack.opened_only:
        return False
    lasts = not lack.ends or (brings.keep_until is not None and brings.keep_until >= again)
    return lasts and (not lack.unchecked or brings.looked_at)


def provided(lack: Lack, chosen: Brings | None, again: datetime, *, done: bool, zone: str) -> Provided:
    """How a hold stands across a closure.

    Parameters
    ----------
    lack : what it needs.
    chosen : what was chosen brings; None where nothing was.
    again : when somebody is there again.
    done : what was chosen was done, or the hold has ended.
    zone : the clock that days are told in.
    """
    if chosen is None:
        if lack.nothing:
            return Provided(state="waits", why="")
        return Provided(state="open", why="nobody has chosen yet")
    if enough(lack, chosen, again):
        return Provided(state="done" if done else "chosen", why="")
    if chosen.keep_until is not None and chosen.keep_until < again and lack.ends:
        until = day_for_people(day_at(chosen.keep_until, zone)).rsplit(" ", 1)[0]
        short = (again - chosen.keep_until).total_seconds() / 86400.0
        return Provided(state="short", why=f"with it the limit is {until}, before somebody is there", short_days=short)
    if lack.opened_only:
        return Provided(state="short", why="nothing but opening it helps now")
    if lack.unknown:
        return Provided(state="short", why="it has no forecast yet")
    what = "moves no limit" if lack.ends else "brings nobody to look at it"
    return Provided(state="short", why=f"what was chosen {what}")
