"""Days on which a packed hold is looked at: often at first, then weekly, and on both sides of every closure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import partial

from findhold.dates.calendar_file import CalendarEvent
from findhold.dates.closures import Closure, WorkingCalendar, merge_closures
from findhold.dates.instants import at_hour, day_at, day_for_people, for_people, require_aware
from findhold.errors import BadInput
from findhold.tables.load import table

LOOK = "look: "
"""How the reason of a check begins that something asked for: a failure of the store, or something seen amiss."""
_CHECK_MINUTES = 15  # length of a check in the calendar, only so that it shows as a block
_OPENING_HOURS = 3  # length of an opening in the calendar, likewise


def _proposed(rule: str) -> int:
    return int(table("check_rounds").by("rule")[rule]["value"])


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundRules:
    """How often a hold is looked at [d]; the defaults are proposals without authority, to be edited by the unit."""

    first_check_days: int = field(default_factory=partial(_proposed, "first_check_days"))
    first_week_days: int = field(default_factory=partial(_proposed, "first_week_days"))
    first_week_least_gap_days: int = field(default_factory=partial(_proposed, "first_week_least_gap_days"))
    first_week_most_gap_days: int = field(default_factory=partial(_proposed, "first_week_most_gap_days"))
    later_gap_days: int = field(default_factory=partial(_proposed, "later_gap_days"))
    merge_days: int = field(default_factory=partial(_proposed, "merge_days"))
    """A check due so many days before one that must be made anyway is made with that one."""
    duty_holder: bool = False
    """True when somebody with a key comes during closures."""
    weekdays: frozenset[int] = frozenset({0, 1, 2, 3, 4})
    """Weekdays on which people work, Monday is 0."""

    def __post_init__(self) -> None:
        gaps = (
            self.first_check_days,
            self.first_week_least_gap_days,
            self.first_week_most_gap_days,
            self.later_gap_days,
        )
        if min(gaps) < 1 or self.first_week_least_gap_days > self.first_week_most_gap_days or self.merge_days < 0:
            raise BadInput(
                "the rules of the rounds do not fit together",
                where="check rules",
                limit="gaps of at least 1 day, least gap not above most gap",
                do="Correct the check rules in the settings",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One check of a hold: when, why then, and whether only a duty holder can make it."""

    at: datetime
    reason: str
    needs_duty_holder: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Unattended:
    """A closure during which checks fall due and nobody comes."""

    closure: Closure
    due: tuple[date, ...]
    days_between_checks: int
    """Days from the last check before to the first check after the closure (or to the end of the hold)."""


def check_dates(
    *,
    packed_at: datetime,
    until: datetime,
    zone: str,
    closed: Sequence[Closure],
    rules: RoundRules | None = None,
    hour: int = 9,
) -> tuple[Check, ...]:
    """The checks of one hold between packing and its end, in order.

    Never on a closed day or a rest day, unless the closure or the rules name a duty holder: then checks that fall due
    inside it are kept and marked. The packing day and the last day have no check of their own.

    Parameters
    ----------
    packed_at, until : aware instants: packing, and the opening or the keep-until date.
    zone : zone of the store's clock.
    closed : days when nobody comes.
    rules : how often; None for the proposed rules.
    hour : hour of the clock at which checks are put down, 0 to 23.

    Raises
    ------
    BadInput : the end is not after packing, a time has no zone, the hour is not on the clock.

    Source
    ------
    Proposed default [findhold-judgement]: a day after packing, every 2 to 3 days in the first week, then weekly, and on
    the last open day before and the first open day after every closure.
    """
    if require_aware(until, "until") <= require_aware(packed_at, "packed_at"):
        raise BadInput(
            f"the hold ends at {for_people(until, zone)}, not after packing at {for_people(packed_at, zone)}",
            do="Correct the packing time or the end",
        )
    if not 0 <= hour <= 23:
        raise BadInput(f"{hour} is not an hour of the clock", limit="0 to 23", do="Give an hour such as 9")
    walk = _Walk(
        start=day_at(packed_at, zone),
        end=day_at(until, zone),
        rules=rules or RoundRules(),
        calendar=WorkingCalendar(closures=merge_closures(closed), weekdays=(rules or RoundRules()).weekdays),
        attended=tuple(closure for closure in closed if closure.who.strip()),
    )
    return tuple(
        Check(at=at_hour(day, hour, zone), reason=reason, needs_duty_holder=walk.calendar.closure_on(day) is not None)
        for day, reason in walk.days()
    )


def looks_asked(
    *,
    failures: Sequence[tuple[str, datetime]],
    alarm: str,
    visits: Sequence[datetime],
    zone: str,
    closed: Sequence[Closure] = (),
    hour: int = 9,
) -> tuple[Check, ...]:
    """The looks that something asks for beside the planned checks, those left out that a visit has made already.

    On the day a failure of its store is known and the day after, whoever is on duty; and the day after something was
    seen amiss, again and again until a look finds the box right. A failure of a day on which nobody comes is looked
    into all the same: such looks need the duty holder.

    Parameters
    ----------
    failures : what failed, in words, and when that became known.
    alarm : what was seen amiss and not found right since; "" for nothing.
    visits : when somebody weighed the box or looked at it.
    zone, closed, hour : as for `check_dates`.

    Source
    ------
    Common practice: after a failure every box is looked into, and what was seen amiss is seen again the next day; no
    published rule found. Days: table check_rounds.csv.
    """
    again = timedelta(days=_proposed("look_again_days"))
    last = max(visits, default=None)
    asked: list[tuple[datetime, str]] = []
    for what, known_at in failures:
        day = day_at(known_at, zone)
        first = max(at_hour(day, hour, zone), known_at.replace(second=0, microsecond=0))
        if last is None or last < first:
            asked.append((first, f"{LOOK}{what}"))
        if last is None or day_at(last, zone) < day + again:
            asked.append((at_hour(day + again, hour, zone), f"{LOOK}{what}, the day after"))
    if alarm and last is not None:
        asked.append((at_hour(day_at(last, zone) + again, hour, zone), f"{LOOK}{alarm} was seen"))
    calendar = WorkingCalendar(closures=merge_closures(closed), weekdays=RoundRules().weekdays)
    reasons: dict[datetime, str] = {}
    for at, reason in sorted(asked):
        reasons[at] = f"{reasons[at]}; {reason.removeprefix(LOOK)}" if at in reasons else reason
    return tuple(
        Check(at=at, reason=why, needs_duty_holder=calendar.closure_on(day_at(at, zone)) is not None)
        for at, why in reasons.items()
    )


def with_looks(checks: Sequence[Check], looks: Sequence[Check], until: datetime | None, zone: str) -> tuple[Check, ...]:
    """Planned checks with the looks asked for before `until`; a check later on the day of a look is made with it."""
    wanted = [look for look in looks if until is None or look.at < until]
    kept = list(checks)
    for look in wanted:
        same = [one for one in kept if day_at(one.at, zone) == day_at(look.at, zone) and one.at >= look.at]
        kept = [one for one in kept if one not in same]
        kept.append(
            Check(
                at=look.at,
                reason="; ".join([look.reason, *(one.reason for one in same)]),
                needs_duty_holder=look.needs_duty_holder,
            )
        )
    return tuple(sorted(kept, key=lambda one: one.at))


def unattended(
    *, packed_at: datetime, until: datetime, zone: str, closed: Sequence[Closure], rules: RoundRules | None = None
) -> tuple[Unattended, ...]:
    """Closures in which a check falls due although nobody comes; empty when a duty holder comes or none falls due."""
    rules = rules or RoundRules()
    if rules.duty_holder:
        return ()
    made = [c.at.date() for c in check_dates(packed_at=packed_at, until=until, zone=zone, closed=closed, rules=rules)]
    kept = [day_at(packed_at, zone), *made, day_at(until, zone)]
    found = []
    for closure in merge_closures(closed):
        if closure.who.strip():
            continue
        before = [day for day in kept if day < closure.first_day]
        after = [day for day in kept if day > closure.last_day or day == kept[-1] >= closure.first_day]
        if not before or not after:
            continue
        last, following = before[-1], after[0]
        inside = (following - last).days - 1
        due = [last + timedelta(days=n) for n in range(rules.later_gap_days, inside + 1, rules.later_gap_days)]
        due = [day for day in due if (following - day).days > rules.merge_days and closure.holds(day)]
        if due:
            found.append(Unattended(closure=closure, due=tuple(due), days_between_checks=(following - last).days))
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldInCalendar:
    """What the calendar needs to know of one hold."""

    key: str
    """Identity of the hold, such as the box's; the n-th check is KEY-check-n, for ever."""
    what: str
    """The hold in words, such as "WCR26 37, box B-014"."""
    location: str
    zone: str
    opening: datetime | None = None
    opening_note: str = ""
    """Who opens, and what to bring."""
    band_lines: Mapping[datetime, str] = field(default_factory=dict)
    """A line of text for a check's time, such as its expected mass band."""
    sequence: int = 0
    """Number of earlier exports, so that a calendar takes the newer one."""
    previously: int = 0
    """Number of checks the last export held; those no longer planned are withdrawn."""


def events(checks: Sequence[Check], hold: HoldInCalendar) -> tuple[CalendarEvent, ...]:
    """Checks and opening of one hold as calendar events whose identities stay the same when dates move."""
    planned = [_check_event(number, check, hold) for number, check in enumerate(checks, 1)]
    last = checks[-1].at if checks else hold.opening
    if last is not None:
        planned += [
            CalendarEvent(
                uid=_check_uid(hold.key, number),
                start=last,
                end=last,
                summary=f"Withdrawn: check {hold.what}",
                sequence=hold.sequence,
                cancelled=True,
            )
            for number in range(len(checks) + 1, hold.previously + 1)
        ]
    if hold.opening is not None:
        planned.append(
            CalendarEvent(
                uid=f"{hold.key}-opening@findhold",
                start=hold.opening,
                end=hold.opening + timedelta(hours=_OPENING_HOURS),
                summary=f"Open {hold.what}",
                location=hold.location,
                sequence=hold.sequence,
                alarm_hours=24,
                description=opening_text(hold.what, hold.opening, hold.zone, hold.opening_note),
            )
        )
    return tuple(planned)


def opening_text(what: str, opening: datetime, zone: str, note: str = "") -> str:
    """The text of an opening's calendar event: when, who and what to have ready."""
    steps = (
        f"Planned opening of {what}: {for_people(opening, zone)}.",
        note.strip(),
        "Before opening: weigh the closed box, look at it and photograph it.",
        "Keep it in the fridge until the bench, gloves, sample bags and labels are ready.",
        "Mould seen: leave it closed, mask and gloves, tell the conservator and every analyst.",
    )
    return "\n".join(step for step in steps if step)


def _check_event(number: int, check: Check, hold: HoldInCalendar) -> CalendarEvent:
    steps = (
        f"Why now: {check.reason}.",
        "Duty holder only: the building is closed." if check.needs_duty_holder else "",
        "Weigh the closed box, cold and wiped dry.",
        hold.band_lines.get(check.at, ""),
        "Look: dry, right, dripping or mould.",
    )
    return CalendarEvent(
        uid=_check_uid(hold.key, number),
        start=check.at,
        end=check.at + timedelta(minutes=_CHECK_MINUTES),
        summary=f"Check {hold.what}",
        description="\n".join(step for step in steps if step),
        location=hold.location,
        sequence=hold.sequence,
        alarm_hours=1,
    )


def _check_uid(key: str, number: int) -> str:
    return f"{key}-check-{number}@findhold"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Walk:
    """Steps from check to check: the next due day, moved on to a day when somebody comes, merged with fixed days."""

    start: date
    end: date
    rules: RoundRules
    calendar: WorkingCalendar
    attended: tuple[Closure, ...] = ()

    def days(self) -> list[tuple[date, str]]:
        fixed = self._fixed()
        found: list[tuple[date, str]] = []
        last = self.start
        while True:
            least, most, reason = self._due(last, first=not found)
            ahead = [day for day in sorted(fixed) if day > last]
            slack = self.rules.merge_days if found else 0
            if ahead and (ahead[0] - last).days <= most + slack:
                day, reason = ahead[0], fixed[ahead[0]]
            elif (self.end - last).days <= most + slack:
                return found
            else:
                day = self._open_day(last, least, most)
                if ahead and day >= ahead[0] - timedelta(days=self.rules.merge_days):
                    day, reason = ahead[0], fixed[ahead[0]]
                elif self.calendar.closure_on(day) is not None:
                    reason = f"{reason}, during the closure"
            if day >= self.end:
                return found
            found.append((day, reason))
            last = day

    def _due(self, last: date, *, first: bool) -> tuple[int, int, str]:
        """Least and most days to the next check, and why."""
        rules = self.rules
        if first:
            return rules.first_check_days, rules.first_check_days, "the day after packing"
        if (last - self.start).days < rules.first_week_days:
            least, most = rules.first_week_least_gap_days, rules.first_week_most_gap_days
            return least, most, f"first week, every {least} to {most} days"
        return rules.later_gap_days, rules.later_gap_days, f"every {rules.later_gap_days} days"

    def _open_day(self, last: date, least: int, most: int) -> date:
        """The latest day somebody comes that is not later than due; else the first one after."""
        days = [last + timedelta(days=n) for n in range(most, 0, -1)]
        wanted = [day for day in days if (day - last).days >= least]
        for day in [*wanted, *days]:
            if self._comes(day):
                return day
        day = last + timedelta(days=most + 1)
        while not self._comes(day) and day < self.end:
            day += timedelta(days=1)
        return day

    def _comes(self, day: date) -> bool:
        """True when somebody comes: on open days, and with a duty holder on working weekdays of a closure."""
        named = self.rules.duty_holder or any(closure.holds(day) for closure in self.attended)
        if named and self.calendar.closure_on(day) is not None:
            return day.weekday() in self.rules.weekdays
        return self.calendar.is_open(day)

    def _fixed(self) -> dict[date, str]:
        """Last open day before and first open day after each closure that touches the hold, with the reason."""
        fixed: dict[date, str] = {}
        for closure in self.calendar.closures:
            if closure.last_day < self.start or closure.first_day > self.end:
                continue
            span = f"{closure.reason} ({day_for_people(closure.first_day)} to {day_for_people(closure.last_day)})"
            if closure.first_day == closure.last_day:
                span = f"{closure.reason} ({day_for_people(closure.first_day)})"
            before = self.calendar.on_or_before(closure.first_day - timedelta(days=1))
            after = self.calendar.on_or_after(closure.last_day + timedelta(days=1))
            for day, word in ((before, "last open day before"), (after, "first open day after")):
                if self.start < day < self.end:
                    fixed[day] = f"{fixed[day]}, and {word} {span}" if day in fixed else f"{word} {span}"
        return fixed
