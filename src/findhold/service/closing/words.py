"""A closure plan in words, the same for the screen and the page to sign: why, what is left, what is not possible."""

from __future__ import annotations

from datetime import date, datetime

from findhold.dates.instants import day_at, day_for_people
from findhold.service.closing.shapes import ClosurePlan, HoldStanding, WayOut


def day_words(day: date) -> str:
    """A day without its year: Fri 7 Aug."""
    return day_for_people(day).rsplit(" ", 1)[0]


def instant_words(at: datetime, zone: str) -> str:
    """The day of an instant on the clock of a zone, without its year."""
    return day_words(day_at(at, zone))


def span_words(first: date, last: date, now: date | None = None) -> str:
    """The closed days, with their years where one of them is not the year of `now`."""
    years = {first.year, last.year, first.year if now is None else now.year}
    told = day_for_people if len(years) > 1 else day_words
    return told(first) if first == last else f"{told(first)} to {told(last)}"


def why_words(row: HoldStanding) -> str:
    """Why a hold needs a decision: its limit, by how much it is too early, checks that nobody can make."""
    lost = ", ".join(day_words(day) for day in row.lack.unchecked)
    checks = f" Nobody can make its {'check' if len(row.lack.unchecked) == 1 else 'checks'} of {lost}." if lost else ""
    over = f" That is {row.over_days:.1f} days before somebody is there." if row.over_days else ""
    return f"{row.wait.why}{over}{checks}"


def way_words(way: WayOut, zone: str) -> str:
    """What a way brings and takes, in one line."""
    until = f"keeps until {instant_words(way.keep_until, zone)} (+{way.gain_days:.1f} d); " if way.keep_until else ""
    return f"{until}{way.risk}; takes {way.work}"


def common_reasons(found: ClosurePlan) -> tuple[tuple[str, str], ...]:
    """Ways that are not possible for any hold, for the same reason; told once."""
    listed = [{(way.name, way.why_not) for way in hold.ways if not way.possible} for hold in found.open if hold.ways]
    return tuple(sorted(set.intersection(*listed))) if len(listed) > 1 else ()


def summary_words(found: ClosurePlan) -> str:
    """How many holds there are, and how many of them are provided for."""
    every = len(found.holds) + len(found.waits)
    if not every:
        return "No box is held."
    left = len(found.open)
    done = sum(hold.standing.stands.state == "done" for hold in found.holds)
    chosen = sum(hold.standing.stands.state == "chosen" for hold in found.holds)
    parts = [(left, "to be decided"), (chosen, "chosen"), (done, "done"), (len(found.waits), "need nothing")]
    told = ", ".join(f"{count} {words}" for count, words in parts if count)
    return f"{every} {'hold' if every == 1 else 'holds'}: {told}."
