"""Of what is due, what falls to one person: the boxes on their rounds, and what is booked with them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date
from typing import Any

from findhold.service.bookings.calendar_out import appointments
from findhold.service.diary import Due, DueRow
from findhold.service.office import Office
from findhold.service.rounds.calendar import unit_calendar
from findhold.service.rounds.planning import MOST_DAYS, rounds
from findhold.service.rounds.shapes import RoundsRequest
from findhold.service.rounds.telling_whom import not_to_be_called
from findhold.service.wire import plain

CHECK = "check"
Days = tuple[date, date]
"""First and last day on which a visit makes the checks of a box."""


def due_answer(office: Office, found: Due) -> dict[str, Any]:
    """What is due in the public shape, with who should be called and cannot be."""
    silent = not_to_be_called(unit_calendar(office, found.now.date()).roster)
    return {**plain(found), "not_to_be_called": list(silent)}


def due_for(office: Office, found: Due, request: RoundsRequest) -> Due:
    """What is due, for one person: a check that one of their rounds makes, and all else of a box on their rounds.

    A round that anybody makes is everybody's. What is booked with them is theirs wherever the box stands; finds
    without a box or without dates are nobody's and left out.

    Parameters
    ----------
    found : what is due, for everybody. request : site, store and person; its days [days] are not heeded, the rounds
    are planned as far ahead as the list goes.

    Raises
    ------
    UnknownName : no such person.
    """
    last = max((row.at for row in found.rows), default=found.now)
    ahead = min(max((last.date() - found.now.date()).days, 0), MOST_DAYS)
    planned = rounds(office, replace(request, days=ahead))
    mine: dict[str, list[Days]] = defaultdict(list)
    for visit in planned.visits:
        for box in visit.boxes:
            mine[box.box_id].append((box.due, max(box.latest, visit.at.date())))
    booked = {
        (one.find, one.starts_at)
        for one in appointments(office, office.site(request.site))
        if one.with_ == planned.for_name and one.status != "cancelled"
    }
    return replace(
        found,
        rows=tuple(row for row in found.rows if (row.find, row.at) in booked or _falls(row, mine.get(row.box_id, []))),
        late=tuple(late for late in found.late if late.box_id in mine),
        not_forecast=(),
        not_planned=(),
    )


def _falls(row: DueRow, own: list[Days]) -> bool:
    """Whether a row falls to whoever looks at its box between these days."""
    if row.what == "booked":
        return False
    if row.what != CHECK or row.late:
        return bool(own)
    return any(first <= row.at.date() <= last for first, last in own)
