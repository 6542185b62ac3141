"""What a device needs to answer a weighing by itself: thresholds by day, and what the other rules look at.

The service judges with the learned lid and the error of the reading. Everything in that judgement that depends on the
mass is a threshold, so the thresholds are reckoned here, by the same functions, for the instants and the ways of
weighing that may come, and a device only compares.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from findhold.check.expecting import Expected, edges_kg
from findhold.check.reading import Reading, rule
from findhold.dates.instants import zone_named
from findhold.errors import FindholdError
from findhold.physics.band import HIGH_SHARE, LOW_SHARE
from findhold.service.checks_made import days_weighed, missed_days
from findhold.service.finder import find_thing
from findhold.service.holds import case_of_hold
from findhold.service.learned import Track, Weighed, expected_reading, lost_by, recorded, sd_kg, teach, with_reading
from findhold.service.ledger_case import Shelves
from findhold.service.office import Office
from findhold.store.ledger import Thing

STEPS_G = (0.01, 0.1, 1.0, 10.0)
"""Last digits typed for which thresholds are made [g]."""
WIPED: dict[str, bool | None] = {"yes": True, "no": False, "unsaid": None}
AHEAD = timedelta(days=28)
_SETTLED = ("unit", "typed twice", "before packing")
_HALVINGS = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckKit:
    """One box as a device takes it to the fridge.

    at_s : instants of the thresholds, seconds since 1970. edges_g : by way of weighing ("yes 1": wiped, typed to 1 g)
    one row for each instant: act below, watch below, best, watch above, act above [g]; None when nothing is expected.
    loss_g : one row for each instant: watch below, act below, for the water lost [g]. first : no reading counts yet.
    reference_g : settles a mark before three digits and a wrong unit. planned_share, first_share : how far a mass may
    be off it before it is asked about, and the first one before it is taken. missed_days : local days of checks that a
    visit after them would find missed. unsettled : readings that wait for another to bear them out.
    """

    at_s: tuple[int, ...]
    edges_g: dict[str, tuple[tuple[float, ...], ...]] | None
    loss_g: tuple[tuple[float | None, float | None], ...] | None
    sd_g: dict[str, float]
    first: bool
    reference_g: float | None
    planned_share: float
    first_share: float
    packed_at_s: int | None
    newest_at_s: int | None
    weighed: tuple[tuple[int, float], ...]
    unsettled: tuple[tuple[int, float, float], ...]
    confirm_s: float
    balance_g: float | None
    keep_until_s: int | None
    missed_days: tuple[str, ...]
    trouble: str | None


def check_kit(office: Office, hold: Thing, shelf: Shelves, now: datetime) -> CheckKit:
    """The thresholds of one box from a day ago until four weeks ahead."""
    find = find_thing(office, hold.facts["find"], shelf.site)
    earlier = recorded(hold.facts)
    at = _instants(hold.facts, now)
    known, trouble, planned_kg = None, None, hold.facts["plan"].get("gross_mass_kg")
    try:
        case, plan = case_of_hold(find, shelf, hold)
        known = teach(case, plan, hold.facts, at)
        planned_kg = known.inputs.gross_mass_kg
    except FindholdError as error:
        trouble = error.sentence()
    counted = bool(earlier) and earlier[-1].counted
    reference_kg = earlier[-1].reading.mass_kg if counted else planned_kg
    ways = _ways(earlier)
    sd = {name: 0.0 if known is None else 1000.0 * sd_kg(known.inputs, way) for name, way in ways.items()}
    expected = None if known is None else _expected(known, ways, at)
    edges = _edges(expected, len(at)) if expected is not None else _first_edges(planned_kg, ways, len(at))
    newest = max((one.reading.at for one in earlier), default=None)
    return CheckKit(
        at_s=tuple(int(when.timestamp()) for when in at),
        edges_g=edges,
        loss_g=None if known is None or edges is None else _loss(known, edges, at),
        sd_g={name: round(value, 4) for name, value in sd.items()},
        first=expected is None,
        reference_g=None if reference_kg is None else round(1000.0 * reference_kg, 3),
        planned_share=rule("planned_share"),
        first_share=rule("first_share"),
        packed_at_s=_seconds(hold.facts.get("packed_at")),
        newest_at_s=None if newest is None else int(newest.timestamp()),
        weighed=tuple((int(one.reading.at.timestamp()), 1000.0 * one.reading.mass_kg) for one in earlier),
        unsettled=_unsettled(earlier, known),
        confirm_s=3600.0 * rule("confirm_hours"),
        balance_g=earlier[-1].reading.balance_g if earlier else None,
        keep_until_s=_seconds((hold.facts.get("forecast") or {}).get("keep_until")),
        missed_days=_missed(hold.facts, str(shelf.site.facts["zone"])),
        trouble=trouble,
    )


def _seconds(text: str | None) -> int | None:
    return None if text is None else int(datetime.fromisoformat(text).timestamp())


def _instants(facts: dict[str, Any], now: datetime) -> tuple[datetime, ...]:
    """Every six hours for two days from yesterday, then daily for two weeks, then every other day."""
    now = now.replace(microsecond=0)
    hours = [*range(-24, 48, 6), *range(48, 15 * 24, 24), *range(15 * 24, int(AHEAD.total_seconds() // 3600) + 1, 48)]
    packed = facts.get("packed_at")
    begin = datetime.fromisoformat(packed) if packed else now
    found = [when for hour in hours if (when := now + timedelta(hours=hour)) >= begin]
    return tuple(found) if begin < found[0] - timedelta(hours=6) else (begin.astimezone(now.tzinfo), *found)


def _ways(earlier: Sequence[Weighed]) -> dict[str, Reading]:
    """A reading in each way of weighing: wiped or not, and how finely it was typed."""
    last_g = earlier[-1].reading.balance_g if earlier else rule("assumed_balance_g")
    return {
        f"{word} {step:g}": Reading(
            at=datetime.min,
            mass_kg=1.0,
            typed_step_g=step,
            unit="g",
            balance_g=min(last_g, step),
            wiped=wiped,
        )
        for word, wiped in WIPED.items()
        for step in STEPS_G
    }


def _expected(known: Track, ways: dict[str, Reading], at: tuple[datetime, ...]) -> dict[str, list[Expected]] | None:
    """What each way of weighing should show at each instant; None while nothing was weighed that counts."""
    found: dict[str, list[Expected]] = {}
    for name, way in ways.items():
        rows = [expected_reading(known, replace(way, at=when)) for when in at]
        told = [one for one in rows if one is not None]
        if not told:
            return None
        # Before the first reading that counts nothing is expected; the first expectation stands there for the table.
        found[name] = [told[0]] * (len(rows) - len(told)) + told
    return found


def _edges(expected: dict[str, list[Expected]], count: int) -> dict[str, tuple[tuple[float, ...], ...]]:
    """Thresholds of every way of weighing: beyond act a mass is outside, between watch and act at the edge."""
    act, watch, least_g = rule("act_probability"), rule("watch_probability"), rule("act_least_g")
    flat = [one for rows in expected.values() for one in rows]
    grams = 1000.0 * edges_kg(flat, (act, watch, 0.5, 1.0 - watch, 1.0 - act))
    grams[:, 0] = np.minimum(grams[:, 0], grams[:, 2] - least_g)
    grams[:, 4] = np.maximum(grams[:, 4], grams[:, 2] + least_g)
    rows = [tuple(round(float(value), 4) for value in row) for row in grams]
    return {name: tuple(rows[place * count : (place + 1) * count]) for place, name in enumerate(expected)}


def _first_edges(
    planned_kg: float | None, ways: dict[str, Reading], count: int
) -> dict[str, tuple[tuple[float, ...], ...]] | None:
    """The first reading sets the mass, unless it is off the plan; then it waits for a second or for a reason."""
    if planned_kg is None:
        return None
    far, near = rule("planned_share"), rule("first_share")
    row = tuple(round(1000.0 * planned_kg * (1.0 + share), 4) for share in (-far, -near, 0.0, near, far))
    return dict.fromkeys(ways, (row,) * count)


def _loss(
    known: Track, edges: dict[str, tuple[tuple[float, ...], ...]], at: tuple[datetime, ...]
) -> tuple[tuple[float | None, float | None], ...] | None:
    """Masses below which the water lost asks for something; None when no mass that counts can reach it."""
    limits = (rule("loss_watch_share"), rule("loss_act_share"))
    lightest = min(row[-1][0] for row in edges.values())
    if known.inputs.water_kg <= 0.0 or _lost_share(known, at[-1], lightest) < limits[0]:
        return None
    places = sorted({0, len(at) // 2, len(at) - 1})
    rows = [tuple(_loss_at(known, at[place], edges["yes 1"][place], limit) for limit in limits) for place in places]
    when = [at[place].timestamp() for place in places]
    columns = [[float("-inf") if row[side] is None else row[side] for row in rows] for side in (0, 1)]
    every = [[_between(one.timestamp(), when, column) for column in columns] for one in at]
    return tuple((row[0], row[1]) for row in every)


def _between(at_s: float, when: Sequence[float], column: Sequence[Any]) -> float | None:
    value = float(np.interp(at_s, when, column))
    return round(value, 4) if np.isfinite(value) else None


def _loss_at(known: Track, at: datetime, row: tuple[float, ...], limit: float) -> float | None:
    """The mass [g] below which so much of the water is lost, looked for between the act edges."""
    low, high = row[0] - 1.0, row[4] + 1.0
    if _lost_share(known, at, low) < limit:
        return None
    if _lost_share(known, at, high) >= limit:
        return high
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _lost_share(known, at, middle) >= limit else (low, middle)
    return 0.5 * (low + high)


def _lost_share(known: Track, at: datetime, mass_g: float) -> float:
    """Share of the water lost, with one more reading of this mass."""
    reading = Reading(at=at, mass_kg=mass_g / 1000.0, typed_step_g=1.0, unit="g", balance_g=1.0, wiped=True)
    later = with_reading(known, Weighed(reading=reading, code="", counted=True))
    return lost_by(later, at).best / known.inputs.water_kg


def _unsettled(earlier: Sequence[Weighed], known: Track | None) -> tuple[tuple[int, float, float], ...]:
    if known is None:
        return ()
    return tuple(
        (
            int(one.reading.at.timestamp()),
            1000.0 * one.reading.mass_kg,
            1000.0 * sd_kg(known.inputs, one.reading),
        )
        for one in earlier
        if not one.counted and one.code not in _SETTLED
    )


def _missed(facts: dict[str, Any], zone: str) -> tuple[str, ...]:
    """Local days of planned checks after the last weighing, or after packing when there is none."""
    clock = zone_named(zone)
    last = max(days_weighed(facts, clock), default=date.min)
    return tuple(day.isoformat() for day in missed_days(facts, clock) if day > last)


BAND_SHARES = (LOW_SHARE, HIGH_SHARE)
"""What the watch edges are: the edges of the mass band."""
