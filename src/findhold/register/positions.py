"""Positions of a register checked as a whole: swapped, stray, half given, without level, grid or datum."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from findhold.register.rules import Draft, SiteFacts, rows_named
from findhold.register.strays import digits, find_strays, other_digits
from findhold.tables import load

LEVEL_QUESTION = "missing level"
LEVEL_ANSWER = "leave empty"
ORDER_QUESTION = "easting and northing"
ORDER_ANSWERS = ("the easting is the larger number", "the northing is the larger number")
STRAY_ANSWER = "it is right"
APART_QUESTION = "positions far apart"
APART_ANSWER = "they are right"
_AXES = (("easting_m", "easting"), ("northing_m", "northing"))
_ASKED_ONE_BY_ONE = 5
Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Cluster:
    """Middle and spread of a set of points, east and north [m]."""

    middle: Points
    spread: Points
    count: int

    def holds(self, points: Points, spreads: float) -> NDArray[np.bool_]:
        """True for points within so many spreads of the middle on both axes."""
        return np.asarray((np.abs(points - self.middle) <= spreads * self.spread).all(axis=1))


def check_positions(draft: Draft, site: SiteFacts, things: Mapping[str, Mapping[str, Mapping[str, Any]]]) -> None:
    """Check every position of the file and put down what is wrong; nothing is swapped or moved.

    Not for the quality of a survey: a point a metre off is not found here.

    Parameters
    ----------
    draft : the rows; mistakes and questions are added to it.
    site : the site's grid, datum and stated range.
    things : what the ledger has, whose points show where the site lies.
    """
    if "easting_m" not in draft.kind.fields:
        _datum(draft, site)
        return
    recorded = things.get(draft.kind.name, {})
    _half_given(draft, recorded)
    pairs = {i: _pair(fields, recorded.get(draft.keys[i] or "", {})) for i, fields in enumerate(draft.rows)}
    here = [index for index, pair in pairs.items() if pair is not None]
    if here and site.grid is None:
        allowed = "a site whose grid is recorded, for example EPSG:27700 or a named site grid"
        draft.wrong(None, "easting_m", "positions are given but the site has no grid", allowed)
    _datum(draft, site)
    if here:
        _misplaced(draft, site, here, np.array([pairs[index] for index in here], dtype=float), _known_points(things))
    _levels(draft, here, recorded)


def _pair(fields: Mapping[str, Any], old: Mapping[str, Any]) -> tuple[float, float] | None:
    """Easting and northing of a row that gives at least one; the other may stand in the ledger already."""
    if not any(name in fields for name, _ in _AXES):
        return None
    east, north = (fields.get(name, old.get(name)) for name, _ in _AXES)
    return None if east is None or north is None else (east, north)


def _half_given(draft: Draft, recorded: Mapping[str, Mapping[str, Any]]) -> None:
    for index, fields in enumerate(draft.rows):
        old = recorded.get(draft.keys[index] or "", {})
        for name, other in (("easting_m", "northing_m"), ("northing_m", "easting_m")):
            lacking = other not in fields and old.get(other) is None
            if name in fields and lacking and (index, other) not in draft.bad:
                label = draft.kind.fields[name].label.lower()
                draft.wrong(index, other, f"is missing though the {label} is given", "both or neither", value="")


def _datum(draft: Draft, site: SiteFacts) -> None:
    if site.vertical_datum is None and any("level_m" in fields for fields in draft.rows):
        allowed = "a site whose vertical datum is recorded, for example Ordnance Datum Newlyn"
        draft.wrong(None, "level_m", "levels are given but the site has no vertical datum", allowed)


def _levels(draft: Draft, here: list[int], known: Mapping[str, Any]) -> None:
    """A registered find with a plan position and no level is asked about, once for the file."""
    if draft.kind.name != "find":
        return
    lacking = [
        index
        for index in here
        if draft.rows[index].get("kind") == "registered"
        and "level_m" not in draft.rows[index]
        and (index, "level_m") not in draft.bad
        and draft.keys[index] not in known
    ]
    if not lacking:
        return
    many = len(lacking) > 1
    text = (
        f"{len(lacking)} registered find{'s have' if many else ' has'} a position but no level "
        f"({rows_named(draft.numbers[i] for i in lacking)}). Give the level{'s' if many else ''} in the file, "
        "or leave empty what was not measured?"
    )
    if draft.ask(LEVEL_QUESTION, text, (LEVEL_ANSWER,)):
        draft.notes.append(f"{len(lacking)} registered finds have a position but no level")


def _misplaced(draft: Draft, site: SiteFacts, here: list[int], points: Points, known: Points) -> None:
    """Swapped points, points outside the stated range, and points far from all others."""
    swapped_points = points[:, ::-1]
    bounds = _bounds(site)
    if bounds is not None:
        low, high = bounds
        inside = ((points >= low) & (points <= high)).all(axis=1)
        exchanged = ((swapped_points >= low) & (swapped_points <= high)).all(axis=1)
        allowed = f"easting {low[0]:g} to {high[0]:g} and northing {low[1]:g} to {high[1]:g}, the range of the site"
        _tell_swapped(draft, here, points, np.asarray(~inside & exchanged), allowed)
        for position in np.flatnonzero(~inside & ~exchanged):
            draft.wrong(here[position], "easting_m", _far(points[position], "lies outside the site"), allowed)
        return
    cluster = _cluster(known) if len(known) else _own_cluster(draft, here, points)
    if cluster is None:
        return
    outside = ~cluster.holds(points, _rule("swap_outside_spreads"))
    exchanged = cluster.holds(swapped_points, _rule("swap_inside_spreads"))
    of_whom = "of the ledger" if len(known) else "of this file"
    east, north = cluster.middle
    allowed = f"easting near {east:.0f} and northing near {north:.0f}, as the other points {of_whom}"
    swapped = np.asarray(outside & exchanged)
    _tell_swapped(draft, here, points, swapped, allowed)
    unswapped = np.flatnonzero(~swapped)
    if len(unswapped):
        there = [here[position] for position in unswapped]
        _ask_strays(draft, there, points[unswapped], known, np.asarray(outside[unswapped]))


def _tell_swapped(draft: Draft, here: list[int], points: Points, swapped: NDArray[np.bool_], allowed: str) -> None:
    for position in np.flatnonzero(swapped):
        index = here[position]
        wrong = f"looks swapped with the northing {points[position, 1]:.12g}"
        if swapped.all() and len(here) > 2:
            wrong += ", like every point of this file"
        draft.wrong(index, "easting_m", wrong, allowed)


def _ask_strays(draft: Draft, here: list[int], points: Points, known: Points, outside: NDArray[np.bool_]) -> None:
    """Ask about points apart from all others, and about near ones with a digit too many or too few."""
    found = find_strays(points, known, _rule("stray_least_m"))
    if found.parts is not None:
        _ask_which_part(draft, here, points, found.parts)
        return
    wrong_digits = other_digits(points, found.home)
    asked = np.flatnonzero(found.apart | (outside & wrong_digits.any(axis=1)))
    middle = np.median(found.home, axis=0)
    of_whom = "of the ledger" if len(known) else "of this file"
    if len(asked) > _ASKED_ONE_BY_ONE:
        rows = rows_named(draft.numbers[here[position]] for position in asked)
        text = f"{len(asked)} points lie far from the others {of_whom} ({rows}). Are they right? If not, mend the file."
        draft.ask(APART_QUESTION, text, (APART_ANSWER,))
        return
    for position in asked:
        index = here[position]
        key = draft.keys[index] or f"row {draft.numbers[index]}"
        lies = _distance(float(np.hypot(*(points[position] - middle))))
        counted = _digit_words(points[position], wrong_digits[position])
        text = (
            f"{draft.kind.name.capitalize()} {key} lies {lies} from the other points {of_whom}.{counted} "
            "Is its position right? If not, mend it in the file."
        )
        draft.ask(f"{draft.kind.name} {key}: position", text, (STRAY_ANSWER,), row=draft.numbers[index])


def _ask_which_part(draft: Draft, here: list[int], points: Points, parts: NDArray[np.intp]) -> None:
    """The file falls into parts of equal size: one question, because nobody can say which part is the wrong one."""
    names = np.unique(parts)
    rows = [rows_named(draft.numbers[here[position]] for position in np.flatnonzero(parts == part)) for part in names]
    first, last = (np.median(points[parts == part], axis=0) for part in (names[0], names[-1]))
    lies = _distance(float(np.hypot(*(last - first))))
    text = (
        f"The points of this file lie in {len(names)} places up to {lies} apart ({'; '.join(rows)}). Are all of them "
        "right? If not, mend the file."
    )
    draft.ask(APART_QUESTION, text, (APART_ANSWER,))


def _digit_words(point: Points, usual: NDArray[np.intp]) -> str:
    """The digits of a coordinate beside those of the others, where they differ; '' where they do not."""
    told = [
        f" Its {word} {value:.12g} has {own} digits before the decimal mark, the others have {count}."
        for (_, word), value, own, count in zip(_AXES, point, digits(point), usual, strict=True)
        if count
    ]
    return "".join(told)


def _distance(metres: float) -> str:
    return f"{metres / 1000:.1f} km" if metres >= 1000 else f"{metres:.0f} m"


def _own_cluster(draft: Draft, here: list[int], points: Points) -> _Cluster | None:
    """Where most points of the file lie; None when that cannot be told.

    On a national grid east and north are far apart, so exchanged points fold on to the others when each pair is
    sorted: the side on which most of them lie is right, and a draw is a question.
    """
    if len(points) < 2:
        return None
    folded = _cluster(np.sort(points, axis=1))
    gap = folded.middle[1] - folded.middle[0]
    if gap <= _rule("swap_outside_spreads") * folded.spread.sum():
        return _cluster(points)
    fits = folded.holds(np.sort(points, axis=1), _rule("swap_inside_spreads"))
    north_larger = (points[:, 1] > points[:, 0])[fits]
    ups, downs = int(north_larger.sum()), int((~north_larger).sum())
    if ups == downs:
        text = (
            f"Half of the points have the larger number as easting, half as northing "
            f"({rows_named(draft.numbers[i] for i in here)}). Which is right on this site?"
        )
        answer = draft.ask(ORDER_QUESTION, text, ORDER_ANSWERS)
        if answer is None:
            return None
        ups, downs = (1, 0) if answer == ORDER_ANSWERS[1] else (0, 1)
    order = slice(None) if ups > downs else slice(None, None, -1)
    return _Cluster(folded.middle[order], folded.spread[order], max(ups, downs))


def _cluster(points: Points) -> _Cluster:
    """Middle by medians and spread by the median distance from it, which a few wrong points do not move."""
    middle = np.median(points, axis=0)
    # 1.4826 makes the median absolute deviation of a normal distribution its standard deviation.
    spread = 1.4826 * np.median(np.abs(points - middle), axis=0)
    return _Cluster(middle, np.maximum(spread, _rule("swap_floor_m")), len(points))


def _known_points(things: Mapping[str, Mapping[str, Mapping[str, Any]]]) -> Points:
    """Positions of the finds and samples in the ledger, shape (n, 2)."""
    pairs = [
        (fields["easting_m"], fields["northing_m"])
        for kind in ("find", "sample")
        for fields in things.get(kind, {}).values()
        if fields.get("easting_m") is not None and fields.get("northing_m") is not None
    ]
    return np.array(pairs, dtype=float).reshape(-1, 2)


def _bounds(site: SiteFacts) -> tuple[Points, Points] | None:
    values = (site.easting_low, site.northing_low, site.easting_high, site.northing_high)
    if any(value is None for value in values):
        return None
    corners = np.array(values, dtype=float).reshape(2, 2)
    return corners[0], corners[1]


def _far(point: Points, wrong: str) -> str:
    return f"{wrong} (easting {point[0]:.12g}, northing {point[1]:.12g})"


@cache
def _rule(name: str) -> float:
    return float(load.table("intake_rules").by("rule")[name]["value"])
