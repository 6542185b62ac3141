"""Every way to place every job: specialist, half-day, and what that way costs in lateness, moves and money."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from findhold.book.halfdays import Slot, first_tick, last_tick, slots_of, tick_of
from findhold.book.inputs import BookingInputs, Job, Place

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
NOBODY = -1
AFTER_THE_END_DAYS = 28
"""A job that finds no place counts as done so many days after the last day to book (judgement)."""
LONGEST_REST = 6
"""Half-days that may lie between two parts of one long job: a night, a day off, a weekend; never a longer closure."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """The ways, one entry each; the last one of every job is to find no place at all (who is NOBODY).

    job, who : indexes into the inputs. slot : index into `slots` of its first half-day. first, last : ticks.
    late_days : weighted. moved : 1 where a promise is not kept. cost : money and waiting [the unit's money].
    use_* : which column takes how many hours of which slot.
    """

    job: Whole
    who: Whole
    first: Whole
    last: Whole
    late_days: Array
    moved: Array
    cost: Array
    use_column: Whole
    use_slot: Whole
    use_hours: Array
    slots: tuple[tuple[int, Slot], ...]
    """(specialist, half-day) of each slot, specialist by specialist, in order of time."""


def columns_of(inputs: BookingInputs, fixed: dict[tuple[str, str], Place]) -> Columns:
    """List every way to place every job; a job in `fixed` has its appointment as the only way."""
    slots = _all_slots(inputs, fixed)
    numbered: dict[int, list[int]] = {}
    for place, (who, _) in enumerate(slots):
        numbered.setdefault(who, []).append(place)
    rows: list[tuple[float, ...]] = []
    uses: list[tuple[int, int, float]] = []
    for number in range(len(inputs.jobs)):
        _add_ways(inputs, (number, fixed), (slots, numbered), (rows, uses))
    table = np.array(rows, dtype=float).reshape(-1, 7)
    used = np.array(uses, dtype=float).reshape(-1, 3)
    whole = [table[:, k].astype(np.int64) for k in range(4)]
    return Columns(
        job=whole[0],
        who=whole[1],
        first=whole[2],
        last=whole[3],
        late_days=table[:, 4],
        moved=table[:, 5],
        cost=table[:, 6],
        use_column=used[:, 0].astype(np.int64),
        use_slot=used[:, 1].astype(np.int64),
        use_hours=used[:, 2],
        slots=tuple(slots),
    )


def _add_ways(
    inputs: BookingInputs,
    which: tuple[int, dict[tuple[str, str], Place]],
    offered: tuple[list[tuple[int, Slot]], dict[int, list[int]]],
    found: tuple[list[tuple[float, ...]], list[tuple[int, int, float]]],
) -> None:
    """Every way to place one job, its rows and the hours they use; without an appointment also no place at all."""
    (number, fixed), (slots, numbered), (rows, uses) = which, offered, found
    job = inputs.jobs[number]
    held = fixed.get(job.key)
    promise = next((place for place in inputs.promised if place.key == job.key), None)
    for who, specialist in enumerate(inputs.specialists):
        able = job.asks in specialist.skills if held is None else held.with_ == specialist.name
        own = numbered.get(who, []) if able else []
        for start in _starts(job, [slots[k] for k in own], held, promise):
            taken = _taken(job, own[start:], slots)
            if taken:
                uses += [(len(rows), slot, hours) for slot, hours in taken]
                ticks = slots[taken[0][0]][1].tick, slots[taken[-1][0]][1].tick
                rows.append(_row(inputs, (number, who, *ticks), promise))
    if held is None:
        end = 2 * (inputs.until.toordinal() + AFTER_THE_END_DAYS) + 1
        rows.append(_row(inputs, (number, NOBODY, end, end), promise))


def _all_slots(inputs: BookingInputs, fixed: dict[tuple[str, str], Place]) -> list[tuple[int, Slot]]:
    """Slots open to new appointments, and those too soon for one that an appointment or a promise stands in already."""
    kept = {(place.with_, tick_of(place.at)) for place in (*fixed.values(), *inputs.promised)}
    found = []
    for who, specialist in enumerate(inputs.specialists):
        open_to_new = {slot.tick for slot in slots_of(specialist, inputs)}
        found += [
            (who, slot)
            for slot in slots_of(specialist, inputs, notice=False)
            if slot.tick in open_to_new or (specialist.name, slot.tick) in kept
        ]
    return found


def _starts(job: Job, slots: list[tuple[int, Slot]], held: Place | None, promise: Place | None) -> list[int]:
    """Places in one specialist's slots at which the job may begin."""
    if held is not None:
        return [k for k, (_, slot) in enumerate(slots) if slot.tick == tick_of(held.at)]
    earliest = first_tick(job.release)
    day = job.release.date()
    return [
        k
        for k, (_, slot) in enumerate(slots)
        if (slot.tick >= earliest and slot.send_on >= day) or (promise is not None and slot.tick == tick_of(promise.at))
    ]


def _taken(job: Job, own: list[int], slots: list[tuple[int, Slot]]) -> list[tuple[int, float]]:
    """The slots a job takes from its first one on, with the hours of each; empty when it would run into a closure."""
    left = job.hours
    taken: list[tuple[int, float]] = []
    for place in own:
        slot = slots[place][1]
        if taken and slot.tick - slots[taken[-1][0]][1].tick > LONGEST_REST + 1:
            return []
        hours = min(left, slot.hours)
        taken.append((place, hours))
        left -= hours
        if left <= 1e-9:
            return taken
    return []


def _row(inputs: BookingInputs, way: tuple[int, int, int, int], promise: Place | None) -> tuple[float, ...]:
    number, who, first, last = way
    job = inputs.jobs[number]
    late_days = 0.0 if job.due is None else max(0, last - last_tick(job.due)) / 2
    kept = promise is None or (
        tick_of(promise.at) == first and who != NOBODY and promise.with_ in ("", inputs.specialists[who].name)
    )
    waited_days = max(0, last - first_tick(job.release)) / 2
    money = inputs.costs.wait_per_day * job.weight * waited_days
    if who != NOBODY:
        money += inputs.specialists[who].cost
    return (number, who, first, last, job.weight * late_days, float(not kept), money)
