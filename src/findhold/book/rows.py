"""What a plan has to keep to, as rows of a matrix: one way a job, hours of half-days, order, one place at a time."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations
from math import gcd

import numpy as np
from scipy.sparse import csr_array

from findhold.book.columns import NOBODY, Array, Columns, Whole
from findhold.book.halfdays import half_day, stepped, unit_calendar
from findhold.book.inputs import Before, BookingInputs, Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """low <= matrix x <= high, over the columns, then a switch for each rule that may be broken, then for each group.

    capacity_row : row of each slot's hours. broken : the rule of each switch. setups : how many group switches.
    """

    matrix: csr_array
    low: Array
    high: Array
    capacity_row: Whole
    broken: tuple[Before, ...]
    setups: int
    setup_rows: csr_array
    """Rows of the group switches, at most 0 each; they count only on the level that weighs set-up."""


@dataclass(slots=True)
class _Growing:
    """Rows while they are gathered."""

    row: list[Whole] = field(default_factory=list)
    column: list[Whole] = field(default_factory=list)
    value: list[Array] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)

    def add(self, columns: Whole, values: Array, low: float, high: float) -> None:
        self.row.append(np.full(len(columns), len(self.low), dtype=np.int64))
        self.column.append(columns)
        self.value.append(values)
        self.low.append(low)
        self.high.append(high)

    def matrix(self, width: int) -> csr_array:
        empty: Whole = np.empty(0, dtype=np.int64)
        row, column = np.concatenate([empty, *self.row]), np.concatenate([empty, *self.column])
        value = np.concatenate([np.empty(0), *self.value])
        return csr_array((value, (row, column)), shape=(len(self.low), width))


def rows_of(inputs: BookingInputs, columns: Columns, fixed: dict[tuple[str, str], Place]) -> Rows:
    """All rows; a rule of order may be broken, at a price, only where its later job has an appointment to be kept."""
    growing = _Growing()
    count = len(columns.job)
    by_job = [np.flatnonzero(columns.job == number) for number in range(len(inputs.jobs))]
    for own in by_job:
        growing.add(own, np.ones(len(own)), 1, 1)
    is_fixed = np.array([job.key in fixed for job in inputs.jobs], dtype=bool)
    capacity_row = _capacity(growing, inputs, columns, is_fixed)
    number_of = {job.key: number for number, job in enumerate(inputs.jobs)}
    ready = _Ready(inputs, columns)
    broken: list[Before] = []
    for rule in inputs.order:
        first, then = number_of.get((rule.find, rule.first)), number_of.get((rule.find, rule.then))
        if first is None or then is None:
            continue
        switch = None
        if is_fixed[then]:
            switch = count + len(broken)
            broken.append(rule)
        _ordered(growing, columns, ready, (by_job[first], by_job[then]), switch)
    _one_place(growing, inputs, columns, ready, by_job)
    switching = _Growing()
    setups = _setups(switching, inputs, columns, count + len(broken))
    width = count + len(broken) + setups
    return Rows(
        matrix=growing.matrix(width),
        low=np.array(growing.low, dtype=float),
        high=np.array(growing.high, dtype=float),
        capacity_row=capacity_row,
        broken=tuple(broken),
        setups=setups,
        setup_rows=switching.matrix(width),
    )


def _capacity(growing: _Growing, inputs: BookingInputs, columns: Columns, is_fixed: np.ndarray) -> Whole:
    """Hours of each slot and of each piece of equipment; what is fixed takes its hours first, also beyond them."""
    grid = _grid_hours(columns)
    free = ~is_fixed[columns.job[columns.use_column]]
    rows = np.empty(len(columns.slots), dtype=np.int64)
    order = np.argsort(columns.use_slot, kind="stable")
    edges = np.searchsorted(columns.use_slot[order], np.arange(len(columns.slots) + 1))
    for number, (_, slot) in enumerate(columns.slots):
        mine = order[edges[number] : edges[number + 1]]
        taken = columns.use_hours[mine[~free[mine]]].sum()
        mine = mine[free[mine]]
        rows[number] = len(growing.low)
        growing.add(columns.use_column[mine], columns.use_hours[mine], -np.inf, _on_grid(slot.hours - taken, grid))
    ticks = np.array([slot.tick for _, slot in columns.slots], dtype=np.int64)
    in_unit = np.array([not inputs.specialists[who].elsewhere for who, _ in columns.slots], dtype=bool)
    for item in inputs.equipment:
        needs = np.array([item.name in job.needs for job in inputs.jobs], dtype=bool)
        uses = np.flatnonzero(needs[columns.job[columns.use_column]] & in_unit[columns.use_slot])
        for tick in np.unique(ticks[columns.use_slot[uses]]):
            mine = uses[ticks[columns.use_slot[uses]] == tick]
            at = half_day(int(tick))
            hours = 0.0 if any(closed.holds(at.day) for closed in item.away) else item.hours[at.half]
            taken = columns.use_hours[mine[~free[mine]]].sum()
            mine = mine[free[mine]]
            growing.add(columns.use_column[mine], columns.use_hours[mine], -np.inf, _on_grid(hours - taken, grid))
    return rows


def _grid_hours(columns: Columns) -> float:
    """The longest time of which every use of a half-day is a whole multiple; 0 when some are not whole minutes."""
    minutes = np.unique(np.round(columns.use_hours * 60)).astype(int)
    if np.abs(columns.use_hours * 60 - np.round(columns.use_hours * 60)).max(initial=0.0) > 1e-6:
        return 0.0
    return gcd(*minutes.tolist()) / 60


def _on_grid(hours: float, grid_hours: float) -> float:
    """The hours that jobs can fill: no job uses a rest shorter than the grid, so leaving it out tightens the bound."""
    free = max(0.0, hours)
    return np.floor(free / grid_hours + 1e-9) * grid_hours if grid_hours > 0 else free


class _Ready:
    """When a find that was with one specialist can be with another."""

    def __init__(self, inputs: BookingInputs, columns: Columns) -> None:
        calendar = unit_calendar(inputs)
        self._elsewhere = [who.elsewhere for who in inputs.specialists]
        self._slots: dict[int, tuple[Whole, Whole]] = {}
        for who in range(len(inputs.specialists)):
            own = [slot for number, slot in columns.slots if number == who]
            ticks = np.array([slot.tick for slot in own], dtype=np.int64)
            self._slots[who] = ticks, np.array([slot.send_on.toordinal() for slot in own], dtype=np.int64)
        self._who, self._last = columns.who, columns.last
        self._back = columns.last // 2
        for who, specialist in enumerate(inputs.specialists):
            for column in np.flatnonzero(columns.who == who) if specialist.elsewhere else ():
                back = stepped(calendar, half_day(int(columns.last[column])).day, specialist.courier_days)
                self._back[column] = 10**7 if back is None else back.toordinal()

    def tick(self, columns: Whole, who: int) -> Whole:
        """For each column, the first tick at which its find can be with `who`; far off for no place."""
        far = np.int64(10**9)
        if self._elsewhere[who]:
            ticks, send_on = self._slots[who]
            place = np.searchsorted(send_on, self._back[columns])
            other = np.append(ticks, far)[place]
        else:
            came_back = np.array([w != NOBODY and self._elsewhere[w] for w in self._who[columns]], dtype=bool)
            other = np.where(came_back, 2 * self._back[columns], self._last[columns] + 1)
        same = self._who[columns] == who
        ready: Whole = np.where(self._who[columns] == NOBODY, far, np.where(same, self._last[columns], other))
        return ready


def _ordered(growing: _Growing, columns: Columns, ready: _Ready, pair: tuple[Whole, Whole], switch: int | None) -> None:
    """The later job begins with a specialist by a half-day only when the earlier one has ended in time for it."""
    first, then = pair
    freed = np.array([] if switch is None else [switch], dtype=np.int64)
    placed = then[columns.who[then] != NOBODY]
    for tick in np.unique(columns.first[placed]):
        # With anybody by a half-day only when the earlier one has ended by then: implied, and tightens the relaxation.
        begun = placed[columns.first[placed] <= tick]
        done = first[(columns.last[first] <= tick) & (columns.who[first] != NOBODY)]
        values = np.concatenate([np.ones(len(begun)), -np.ones(len(done) + len(freed))])
        growing.add(np.concatenate([begun, done, freed]), values, -np.inf, 0)
    for who in np.unique(columns.who[then]):
        mine = then[columns.who[then] == who]
        if who == NOBODY:
            continue
        ready_at = ready.tick(first, int(who))
        for tick in np.unique(columns.first[mine]):
            begun = mine[columns.first[mine] <= tick]
            done = first[ready_at <= tick]
            values = np.concatenate([np.ones(len(begun)), -np.ones(len(done) + len(freed))])
            growing.add(np.concatenate([begun, done, freed]), values, -np.inf, 0)


def _one_place(growing: _Growing, inputs: BookingInputs, columns: Columns, ready: _Ready, by_job: list[Whole]) -> None:
    """A find is in one place at a time; what is done after its opening is done on samples, which part ways."""
    by_find: dict[str, list[int]] = {}
    for number, job in enumerate(inputs.jobs):
        by_find.setdefault(job.find, []).append(number)
    ordered = {(rule.find, *sorted((rule.first, rule.then))) for rule in inputs.order}
    opened = {(rule.find, rule.then) for rule in inputs.order if rule.first == "opening"}
    for find, numbers in by_find.items():
        for a, b in combinations(numbers, 2):
            names = sorted((inputs.jobs[a].what, inputs.jobs[b].what))
            if (find, *names) in ordered or all((find, name) in opened for name in names):
                continue
            for column in by_job[a][columns.who[by_job[a]] != NOBODY]:
                one = np.array([column], dtype=np.int64)
                others = _clashing(columns, ready, int(column), by_job[b])
                if len(others) and len(by_job[a]) + len(by_job[b]) > 2:
                    growing.add(np.concatenate([one, others]), np.ones(1 + len(others)), -np.inf, 1)


def _clashing(columns: Columns, ready: _Ready, column: int, others: Whole) -> Whole:
    """Columns of another job of the same find that can be neither after this one nor before it."""
    placed = others[columns.who[others] != NOBODY]
    one = np.array([column], dtype=np.int64)
    after = np.array([columns.first[k] >= ready.tick(one, int(columns.who[k]))[0] for k in placed], dtype=bool)
    before = columns.first[column] >= ready.tick(placed, int(columns.who[column]))
    clashing: Whole = placed[~(after | before)]
    return clashing


def _setups(growing: _Growing, inputs: BookingInputs, columns: Columns, begin: int) -> int:
    """A switch for each group in each slot where set-up has a cost: on when a job of the group is there."""
    if not inputs.costs.setup:
        return 0
    numbered: dict[tuple[str, int], int] = {}
    first_use = np.unique(columns.use_column, return_index=True)[1]
    for column, slot in zip(columns.use_column[first_use], columns.use_slot[first_use], strict=True):
        group = inputs.jobs[columns.job[column]].group
        if group:
            switch = begin + numbered.setdefault((group, int(slot)), len(numbered))
            growing.add(np.array([column, switch], dtype=np.int64), np.array([1.0, -1.0]), -np.inf, 0)
    return len(numbered)
