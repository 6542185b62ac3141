"""What a plan of rounds is asked for and answers: frozen data, the same for every door."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from findhold.errors import Question
from findhold.rounding import told_expected
from findhold.service.rounds.telling_whom import Call


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundsRequest:
    """Which site and store (None: all), for whom ("": everybody), and how many days ahead [days]."""

    site: str | None = None
    store: str | None = None
    for_name: str = ""
    days: int = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxDue:
    """One box of a visit: why it is looked at, by when, and the mass to expect then; None where it is not known."""

    box_id: str
    box: str
    find: str
    what: str
    registered: bool
    store: str
    shelf: str
    place: str
    reason: str
    due: date
    latest: date
    low_kg: float | None
    best_kg: float | None
    high_kg: float | None
    last_kg: float | None
    last_at: datetime | None
    keep_until: datetime | None
    limit: str
    alarm: str
    missed: bool

    @property
    def expect(self) -> str:
        """The mass to expect, in words; before any weighing only about the planned one, for that weighing sets it."""
        if self.low_kg is None or self.best_kg is None or self.high_kg is None:
            return ""
        return told_expected(self.low_kg, self.best_kg, self.high_kg, weighed=self.last_kg is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundVisit:
    """One visit: a person on a day, in one or more stores, boxes in walking order; who "" is anybody who is in.

    kind : duty, cover or anyone.
    """

    at: datetime
    who: str
    phone: str
    kind: str
    why_who: str
    stores: tuple[str, ...]
    boxes: tuple[BoxDue, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MissedRound:
    """Checks of one store that were not made: since when, which boxes worst first, whom to tell now and next."""

    store: str
    since: date
    checks: int
    boxes: tuple[str, ...]
    tell: Call
    do: str
    hurried: str
    then: Call | None
    then_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CannotMake:
    """Checks that nobody can make within their days: why, and the nearest days on which somebody comes.

    earliest, latest : the first and the last day by which one of them should be made.
    """

    store: str
    earliest: date
    latest: date
    boxes: tuple[str, ...]
    checks: int
    days: tuple[date, ...]
    """Each of the days by which one of them should be made."""
    why: str
    before: date | None
    before_who: str
    after: date | None
    after_who: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounds:
    """The next rounds of a site.

    visits : in order. missed, cannot : what is wrong; both empty when all is well. not_forecast : finds whose box has
    no dates yet. checks : how many the visits make. questions : what a person must settle. calls : whom to call.
    """

    site: str
    site_name: str
    zone: str
    now: datetime
    until: date
    store: str | None
    for_name: str
    visits: tuple[RoundVisit, ...]
    missed: tuple[MissedRound, ...]
    cannot: tuple[CannotMake, ...]
    not_forecast: tuple[str, ...]
    checks: int
    questions: tuple[Question, ...]
    notes: tuple[str, ...]
    calls: tuple[Call, ...]

    @property
    def all_well(self) -> bool:
        """False when a round was missed or cannot be made by anybody."""
        return not self.missed and not self.cannot
