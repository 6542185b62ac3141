"""Closures of the register: told by name or first day, with the moment somebody is there again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from findhold.check.over_closure import last_open_day, open_again
from findhold.dates.closures import Closure
from findhold.dates.instants import day_for_people
from findhold.errors import BadInput, UnknownName
from findhold.record.events import UNIT
from findhold.service.ledger_case import closure_told
from findhold.service.office import Office
from findhold.service.rounds.public_days import with_holidays
from findhold.store.ledger import Thing

NEXT = "next"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureTold:
    """One closure as it can be chosen; store None when it is of the whole unit; who : the names entered to come."""

    first_day: date
    last_day: date
    reason: str
    store: str | None
    over: bool
    who: str = ""
    stream: str = ""

    @property
    def key(self) -> str:
        """What a choice for it is kept under."""
        return self.first_day.isoformat() + (f" {self.store}" if self.store else "")

    def as_closure(self) -> Closure:
        """The closed days."""
        return Closure(first_day=self.first_day, last_day=self.last_day, reason=self.reason, who=self.who)


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A closure with the days round it.

    again : when somebody is there again. last_day_before : the last open day before it. closures : all closures.
    """

    told: ClosureTold
    closures: tuple[ClosureTold, ...]
    again: datetime
    last_day_before: date | None
    zone: str
    now: datetime
    notes: tuple[str, ...]


def closures_of(office: Office, today: date) -> tuple[ClosureTold, ...]:
    """Closures of the register: those to come first, in their order, then those that are over."""
    made = []
    for thing in office.ledger.states("closure", UNIT):
        store, one = closure_told(thing.facts)
        made.append(
            ClosureTold(
                first_day=one.first_day,
                last_day=one.last_day,
                reason=one.reason,
                store=store or None,
                over=one.last_day < today,
                who=one.who,
                stream=thing.stream,
            )
        )
    return tuple(sorted(made, key=lambda one: (one.over, one.first_day, one.store or "")))


def closure_on(known: tuple[ClosureTold, ...], first_day: date | None) -> ClosureTold:
    """The closure that begins on a day; None is the next one.

    Raises
    ------
    UnknownName : no closure begins then.
    """
    if first_day is None:
        return known[0]
    for one in known:
        if one.first_day == first_day:
            return one
    raise UnknownName("closure beginning on", first_day.isoformat(), [one.first_day.isoformat() for one in known])


def closure_named(known: tuple[ClosureTold, ...], words: str) -> ClosureTold:
    """The closure that is meant: `next`, its first day, or words of its reason or store.

    Raises
    ------
    BadInput : there is none at all, or the words fit several. UnknownName : they fit none.
    """
    wanted = " ".join(words.split()).casefold()
    if not known:
        raise BadInput(
            "no closure is entered", where="--closure", do="Import the days when nobody comes: findhold import FILE"
        )
    if wanted in ("", NEXT):
        return known[0]
    fits = [one for one in known if wanted in (one.first_day.isoformat(), one.reason.casefold(), one.key.casefold())]
    fits = fits or [one for one in known if wanted in f"{one.reason} {one.store or ''}".casefold()]
    ahead = [one for one in fits if not one.over]
    fits = ahead or fits
    if len(fits) == 1:
        return fits[0]
    listed = [f"{one.first_day.isoformat()} ({one.reason})" for one in (fits or known)]
    if not fits:
        raise UnknownName("closure", words, listed, where="--closure")
    raise BadInput(
        f"{words!r} fits {len(fits)} closures",
        where="--closure",
        limit="; ".join(listed),
        do=f"Name it by its first day: --closure {fits[0].key}" if " " not in fits[0].key else "Name its store too",
    )


def span_of(office: Office, site: Thing, told: ClosureTold, known: tuple[ClosureTold, ...]) -> Span:
    """A closure with when somebody is there again, other closures, public holidays and weekends counted.

    Raises
    ------
    BadInput : there is no open day within ten years after it.
    """
    now = office.in_site_zone(office.now(), site)
    zone = str(site.facts["zone"])
    own = [one for one in known if one is not told and one.store in (None, told.store)]
    pairs = with_holidays(tuple((one.store, one.as_closure()) for one in (told, *own)), told.first_day)
    others = tuple(closure for _, closure in pairs[1:])
    closure = told.as_closure()
    return Span(
        told=told,
        closures=known,
        again=open_again(closure, others, zone),
        last_day_before=last_open_day(closure, others),
        zone=zone,
        now=now,
        notes=_notes(told, own),
    )


def _notes(told: ClosureTold, own: list[ClosureTold]) -> tuple[str, ...]:
    """Closures that overlap or adjoin: their days are counted as closed too."""
    day = timedelta(days=1)
    return tuple(
        f"It overlaps the closure from {day_for_people(one.first_day)} to {day_for_people(one.last_day)}"
        f" ({one.reason}): the days of both are counted as closed."
        for one in own
        if one.first_day <= told.last_day + day and told.first_day <= one.last_day + day
    )
