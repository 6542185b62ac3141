"""Rounds that were not made: who is told next, after how long, and which boxes are worst."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from findhold.dates.closures import WorkingCalendar
from findhold.tables.load import table


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One step of the rule: who is told (duty, cover, officer or conservator), on which day, and what to do."""

    step: int
    tell: str
    on: date
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MissedBox:
    """A box whose check was not made: what was seen on it before, its keep-until date, and the checks missed."""

    box_id: str
    alarm: str
    keep_until: datetime | None
    missed: tuple[date, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Missed:
    """A round that was not made: the step reached, the one after it (None at the last), and why it is so urgent."""

    now: Told
    then: Told | None
    hurried: str = ""
    """Why the last step is reached at once; empty when it is not."""


def steps(due: date, calendar: WorkingCalendar) -> tuple[Told, ...]:
    """The steps of a round that was due on a day, each with the day on which it is reached.

    Source
    ------
    Table missed_rounds.csv, judgement.
    """
    return tuple(
        Told(
            step=int(row["step"]),
            tell=row["tell"],
            on=calendar.add(due, int(row["after_days"])),
            words=row["words"],
        )
        for row in table("missed_rounds").rows
    )


def escalate(boxes: Sequence[MissedBox], calendar: WorkingCalendar, now: datetime) -> Missed:
    """Who is told now of checks that were not made, and who next.

    Parameters
    ----------
    boxes : at least one, each with at least one check missed.
    calendar : working days of the store.
    now : the moment, on the clock of the store.

    Raises
    ------
    ValueError : nothing was missed.
    """
    if not any(box.missed for box in boxes):
        raise ValueError("nothing was missed")
    rule = steps(min(day for box in boxes for day in box.missed), calendar)
    hurried = _hurried(boxes, now)
    reached = rule[-1] if hurried else [step for step in rule if step.on <= now.date()][-1]
    later = [step for step in rule if step.step > reached.step]
    return Missed(now=reached, then=later[0] if later else None, hurried=hurried)


def _hurried(boxes: Sequence[MissedBox], now: datetime) -> str:
    """What makes a missed round a matter for the last step at once."""
    soon = now + timedelta(days=int(table("check_rounds").by("rule")["limit_soon_days"]["value"]))
    for box in sorted(boxes, key=worst_first):
        if box.alarm:
            return f"{box.alarm} was seen in {box.box_id}"
        if box.keep_until is not None and box.keep_until <= now:
            return f"the keep-until date of {box.box_id} has passed"
        if box.keep_until is not None and box.keep_until <= soon:
            return f"the keep-until date of {box.box_id} is near"
    return ""


def worst_first(box: MissedBox) -> tuple[bool, float, date, str]:
    """Sort key: what was seen amiss, then the nearest limit, then the longest without a look."""
    limit = box.keep_until.timestamp() if box.keep_until is not None else float("inf")
    return not box.alarm, limit, min(box.missed, default=date.max), box.box_id
