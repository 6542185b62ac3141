"""What a closure plan is asked for and answers: frozen data, the same for every door."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from findhold.check.over_closure import Wait
from findhold.check.provided import Brings, Lack, Provided
from findhold.errors import Question
from findhold.service.closing.named import ClosureTold
from findhold.service.showing.held import HeldSeen


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosurePlanRequest:
    """Which site and closure ("": the next one), and what is recorded on the way.

    finds : the only ones whose ways out are worked out; none means every hold that needs a decision.
    choices : pairs of a find and the name of its way out, "none" takes a choice back. done : finds for which what was
    chosen was done. duty : who comes on its days. reason : why, for what is recorded. members, seed : of the forecasts.
    """

    site: str | None = None
    closure: str = ""
    finds: tuple[str, ...] = ()
    choices: tuple[tuple[str, str], ...] = ()
    done: tuple[str, ...] = ()
    duty: str = ""
    reason: str = ""
    members: int = 1000
    seed: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOut:
    """One way over a closure for one hold.

    possible : False with why_not. keep_until, gain_days : with it, from the forecast; None and 0 where it moves none.
    enough : it gives the hold all that it lacks. short_days : from its limit until somebody is there [days].
    on, half, with_, send_on, hours : bench time [h], where it takes any.
    """

    name: str
    do: str
    possible: bool
    why_not: str
    keep_until: datetime | None
    gain_days: float
    enough: bool
    short_days: float
    work: str
    risk: str
    ends_hold: bool
    secures: bool
    looked_at: bool
    on: date | None = None
    half: str = ""
    with_: str = ""
    send_on: date | None = None
    hours: float = 0.0
    """Bench time [h]."""
    to_store: str = ""

    def brings(self) -> Brings:
        """What it brings, for the verdict."""
        return Brings(
            ends_hold=self.ends_hold, secures=self.secures, looked_at=self.looked_at, keep_until=self.keep_until
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenTold:
    """What a person chose for one hold and closure, as recorded; done_at None while it is not done."""

    option: str
    do: str
    by: str
    at: datetime
    reason: str
    brings: Brings
    gain_days: float
    on: date | None
    half: str
    with_: str
    to_store: str
    booked: bool
    done_at: datetime | None
    done_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldStanding:
    """One hold across a closure, as recorded: its verdict, what it lacks, what was chosen, and how it stands.

    over_days : from its limit until somebody is there again, when nothing is done [days]. ended : how it ended.
    """

    held: HeldSeen
    store: str
    wait: Wait
    lack: Lack
    chosen: ChosenTold | None
    stands: Provided
    over_days: float
    ended: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldPlan:
    """One hold with its ways out; no_help : the ways that were forecast and move no date."""

    standing: HoldStanding
    ways: tuple[WayOut, ...]
    no_help: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosurePlan:
    """The plan of one closure: holds that lack something or had something chosen, the worst first; the others by find.

    provided : nothing is left to decide. who_comes : by day, in words. recorded : what was written, in words.
    """

    site: str
    site_name: str
    zone: str
    now: datetime
    closure: ClosureTold
    again: datetime
    last_day_before: date | None
    holds: tuple[HoldPlan, ...]
    waits: tuple[HoldStanding, ...]
    provided: bool
    who_comes: tuple[str, ...]
    questions: tuple[Question, ...]
    notes: tuple[str, ...]
    recorded: tuple[str, ...] = ()

    @property
    def open(self) -> tuple[HoldPlan, ...]:
        """Holds that still need a decision."""
        return tuple(one for one in self.holds if not one.standing.stands.enough)
