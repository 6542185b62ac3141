"""Checks of many boxes merged into as few visits as can be: never late, never on a day when nobody comes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from findhold.errors import BadInput

Comes = Callable[[str, date], str | None]
"""Who comes to a store on a day: a name, "" for anybody, None for nobody."""
_SEARCH_DAYS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """One check of one box: the first and last day on which it may be made. `due` is the day it was planned for."""

    box_id: str
    store: str
    due: date
    earliest: date
    latest: date
    reason: str = ""
    missed: bool = False
    """True for a check that should have been made already."""

    def __post_init__(self) -> None:
        if self.latest < self.earliest:
            raise BadInput(
                f"a check may be made from {self.earliest} to {self.latest}, which is no day",
                where=self.box_id,
                do="Correct the first or the last day of the check",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One person on one day, and the checks made then; who "" is anybody."""

    day: date
    who: str
    checks: tuple[Window, ...]

    @property
    def stores(self) -> tuple[str, ...]:
        """The stores visited, in alphabetical order."""
        return tuple(sorted({check.store for check in self.checks}))


@dataclass(frozen=True, slots=True, kw_only=True)
class NotMade:
    """A check on whose days nobody comes; before and after are the nearest days on which somebody does."""

    check: Window
    before: tuple[date, str] | None
    after: tuple[date, str] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """The visits in order, and the checks that nobody can make in time."""

    visits: tuple[Visit, ...]
    not_made: tuple[NotMade, ...]


def merge_checks(checks: Sequence[Window], comes: Comes, today: date) -> Merged:
    """The fewest visits that make every check within its days; a visit is one person on one day in any stores.

    Parameters
    ----------
    checks : each with its first and last day; days before today are gone.
    comes : who comes to a store on a day.
    today : the first day on which anything can be done.

    Returns
    -------
    Visits in order. Among plans of as few visits, the one whose visits are latest, which is nearest to the days that
    the checks were planned for. Checks that nobody can make are told apart, with the nearest days for them.

    Source
    ------
    Where every check may be made at a run of neighbouring visits (one store always): stabbing the runs at their last
    visits, which is exact, because the runs stabbed for have no visit in common. Else a set cover in whole numbers,
    solved to the optimum. Both are compared with enumeration in the tests.
    """
    points: dict[tuple[str, date, date], tuple[tuple[date, str], ...]] = {}
    for check in checks:
        key = _key(check, today)
        if key not in points:
            points[key] = _points(key, comes)
    wanted = {key: found for key, found in points.items() if found}
    chosen = _chosen(list(wanted.values()))
    parties: dict[tuple[date, str], list[Window]] = {point: [] for point in chosen}
    lost = []
    for check in checks:
        key = _key(check, today)
        if key not in wanted:
            lost.append(_not_made(check, comes, today))
            continue
        # The last of the visits that serve it: nearest to the day it was planned for.
        parties[max(point for point in wanted[key] if point in parties)].append(check)
    visits = [
        Visit(day=day, who=who, checks=tuple(sorted(made, key=lambda one: (one.store, one.box_id, one.due))))
        for (day, who), made in sorted(parties.items())
        if made
    ]
    return Merged(visits=tuple(visits), not_made=tuple(lost))


def _key(check: Window, today: date) -> tuple[str, date, date]:
    return check.store, max(check.earliest, today), max(check.latest, today)


def _points(key: tuple[str, date, date], comes: Comes) -> tuple[tuple[date, str], ...]:
    """Days and people that can make a check, in order."""
    store, first, last = key
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    return tuple((day, who) for day in days if (who := comes(store, day)) is not None)


def _chosen(wanted: list[tuple[tuple[date, str], ...]]) -> set[tuple[date, str]]:
    """The fewest points that meet every list."""
    points = sorted({point for found in wanted for point in found})
    place = {point: number for number, point in enumerate(points)}
    if all(place[found[-1]] - place[found[0]] == len(found) - 1 for found in wanted):
        return _stabbed(wanted)
    return _covered(list(dict.fromkeys(wanted)), points)


def _stabbed(wanted: list[tuple[tuple[date, str], ...]]) -> set[tuple[date, str]]:
    """Interval stabbing: in order of their last days, each list not yet met is met on its last day."""
    chosen: list[tuple[date, str]] = []
    for found in sorted(wanted, key=lambda one: (one[-1], one[0])):
        if not chosen or found[0] > chosen[-1]:
            chosen.append(found[-1])
    return set(chosen)


def _covered(wanted: list[tuple[tuple[date, str], ...]], points: list[tuple[date, str]]) -> set[tuple[date, str]]:
    """Set cover in whole numbers: fewest points, and of those the latest."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    place = {point: number for number, point in enumerate(points)}
    rows = [row for row, found in enumerate(wanted) for _ in found]
    columns = [place[point] for found in wanted for point in found]
    table = csr_array((np.ones(len(rows)), (rows, columns)), shape=(len(wanted), len(points)))
    last = points[-1][0]
    # All the small costs together stay below one visit, so that they only choose among plans of as few visits.
    small = 1.0 / (1.0 + sum((last - day).days for day, _ in points))
    cost = np.array([1.0 + small * (last - day).days for day, _ in points])
    solved = milp(cost, integrality=np.ones(len(points)), bounds=Bounds(0, 1), constraints=LinearConstraint(table, 1.0))
    if solved.x is None:
        raise RuntimeError(f"the visits could not be planned: {solved.message}")
    return {point for point, taken in zip(points, solved.x, strict=True) if taken > 0.5}


def _not_made(check: Window, comes: Comes, today: date) -> NotMade:
    """A check that nobody can make, with the nearest days on which somebody comes."""
    _, first, last = _key(check, today)
    early = [first - timedelta(days=n) for n in range(1, min(_SEARCH_DAYS, (first - today).days) + 1)]
    late = [last + timedelta(days=n) for n in range(1, _SEARCH_DAYS + 1)]
    return NotMade(check=check, before=_nearest(check.store, early, comes), after=_nearest(check.store, late, comes))


def _nearest(store: str, days: Sequence[date], comes: Comes) -> tuple[date, str] | None:
    for day in days:
        who = comes(store, day)
        if who is not None:
            return day, who
    return None
