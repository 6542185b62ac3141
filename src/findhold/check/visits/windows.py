"""The days on which each check of a box may be made: early enough to join others, never late, never after its limit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from itertools import pairwise

from findhold.check.rounds import LOOK
from findhold.check.visits.merged import Window
from findhold.tables.load import table

MISSED = "missed"
UNSETTLED = "the last reading waits for a second one"
LAST_LOOK = "last look before its keep-until date"
SEEN = "was seen"
BETWEEN = "weekly, left out when the dates were set because nobody came"
_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckDay:
    """One planned check, on the clock of the store."""

    at: datetime
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxDays:
    """A box as its checks need it; instants on the clock of the store.

    checked_at : its last weighing. looked_at : its last visit, also without a weighing.
    unsettled : that weighing waits to be borne out by another.
    """

    box_id: str
    store: str
    checks: tuple[CheckDay, ...]
    checked_at: datetime | None = None
    looked_at: datetime | None = None
    unsettled: bool = False
    keep_until: datetime | None = None
    open_at: datetime | None = None
    alarm: str = ""


@cache
def _days(rule: str) -> timedelta:
    return timedelta(days=int(table("check_rounds").by("rule")[rule]["value"]))


def early_days(reason: str) -> timedelta:
    """How many days before the day it was planned for a check may be made, by why it was planned.

    Source
    ------
    Table check_rounds.csv, judgement.
    """
    if reason.startswith((LOOK, "the day after packing", "first open day after")):
        return timedelta(0)
    if reason.startswith("first week"):
        return _days("early_days_first_week")
    if reason.startswith("last open day before"):
        return _days("early_days_before_closure")
    return _days("early_days_weekly")


def check_windows(box: BoxDays, *, now: datetime, until: date) -> tuple[Window, ...]:
    """The checks of a box that fall due up to a day, each with the first and the last day for it.

    Checks missed are one check, to be made today. A reading that waits for a second one, and something seen amiss,
    ask for a look today as well. No check is put after the keep-until date; the last open look before it is asked for
    where no check lies there anyway.

    Parameters
    ----------
    box : its checks and dates.
    now : the moment, on the clock of the store.
    until : the last day planned for.
    """
    today = now.date()
    done = box.checked_at.date() if box.checked_at is not None else date.min
    ends = [at.date() for at in (box.keep_until, box.open_at) if at is not None]
    missed = [check for check in box.checks if done < check.at.date() < today]
    found = []
    urgent = _urgent(box, missed, done, today)
    if urgent:
        due = missed[0].at.date() if missed else today
        found.append(_window(box, due, (today, today), urgent, missed=bool(missed)))
    for check in box.checks:
        day = check.at.date()
        asked = check.reason.startswith(LOOK)
        made = box.checked_at is not None and (check.at <= box.checked_at if asked else day <= done)
        if day < today or made or day > until or (urgent and day == today):
            continue
        early = [] if asked or not box.checked_at else [done + _ONE_DAY]
        first = max(day - early_days(check.reason), today, *early)
        # A check that may be made before the limit is; one planned for after it stands, in case the box does too.
        last = min([day, *(end for end in ends if end >= first)])
        found.append(_window(box, day, (first, last), check.reason))
    found += _between(box, (today, done, until))
    found += _last_look(box, found, (today, done, until))
    return tuple(found)


def _window(box: BoxDays, due: date, days: tuple[date, date], reason: str, *, missed: bool = False) -> Window:
    first, last = days
    return Window(
        box_id=box.box_id, store=box.store, due=due, earliest=first, latest=last, reason=reason, missed=missed
    )


def _urgent(box: BoxDays, missed: list[CheckDay], done: date, today: date) -> str:
    """Why a box is looked at today, whatever was planned; empty when nothing asks for it."""
    if missed:
        words = "1 check" if len(missed) == 1 else f"{len(missed)} checks"
        return f"{words} {MISSED}"
    looked = box.looked_at or box.checked_at
    if box.alarm and (looked is None or looked.date() < today):
        return f"{box.alarm} {SEEN}"
    return UNSETTLED if box.unsettled and done < today else ""


def _between(box: BoxDays, days: tuple[date, date, date]) -> list[Window]:
    """Weekly checks left out because nobody came when the dates were set: perhaps somebody comes now."""
    today, done, until = days
    gap = _days("later_gap_days")
    stops = [*(check.at.date() for check in box.checks), *([box.open_at.date()] if box.open_at else [])]
    found = []
    for before, after in pairwise(stops):
        day = before + gap
        while day < after - _days("merge_days"):
            if max(today, done + _ONE_DAY if done > date.min else today) <= day <= until:
                first = max(day - _days("early_days_weekly"), today, before + _ONE_DAY)
                found.append(_window(box, day, (first, day), BETWEEN))
            day += gap
    return found


def _last_look(box: BoxDays, found: list[Window], days: tuple[date, date, date]) -> list[Window]:
    """A look within the last days before the keep-until date, unless a check or the opening comes there anyway."""
    today, done, until = days
    if box.keep_until is None:
        return []
    end = box.keep_until.date()
    first = max(end - _days("limit_soon_days"), today)
    opened = box.open_at is not None and box.open_at <= box.keep_until
    if end < today or first > until or opened or done >= first or any(one.latest >= first for one in found):
        return []
    return [_window(box, end, (first, end), LAST_LOOK)]
