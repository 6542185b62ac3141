"""What settings.toml says of bookings: bench hours of a half-day, equipment, cost of waiting and set-up."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from findhold.book.inputs import HOURS, Costs, Equipment
from findhold.dates.closures import MONDAY_TO_FRIDAY
from findhold.errors import BadInput, near_names
from findhold.service.rounds.chosen import read_calendar, sections

KEYS = ("hours", "wait_cost_per_day", "setup_cost", "equipment")


@dataclass(frozen=True, slots=True, kw_only=True)
class BookingChosen:
    """The unit's own figures, defaults in their place where it says nothing. hours : of a morning and an afternoon."""

    hours: tuple[float, float] = HOURS
    weekdays: frozenset[int] = frozenset(MONDAY_TO_FRIDAY)
    equipment: tuple[Equipment, ...] = ()
    costs: Costs = field(default_factory=Costs)


def read_booking() -> BookingChosen:
    """The section [booking] of settings.toml.

    Raises
    ------
    BadInput : an unknown key or a value that cannot be meant.
    """
    given = sections().get("booking", {})
    where = "settings.toml [booking]"
    for key in given:
        if key not in KEYS:
            near = near_names(key, list(KEYS))
            do = f"Did you mean {near[0]}?" if near else "Remove the line"
            raise BadInput(f"unknown setting {key!r}", where=where, limit=", ".join(KEYS), do=do)
    equipment = given.get("equipment", {})
    if not isinstance(equipment, dict):
        raise BadInput("equipment is no section", where=where, do='Write [booking.equipment] and "X-ray" = [3.5, 3.5]')
    return BookingChosen(
        hours=_hours(given.get("hours", HOURS), where),
        weekdays=read_calendar().weekdays,
        equipment=tuple(
            Equipment(name=name, hours=_hours(value, f"{where} {name}")) for name, value in equipment.items()
        ),
        costs=Costs(
            wait_per_day=_amount(given.get("wait_cost_per_day", Costs().wait_per_day), where),
            setup=_amount(given.get("setup_cost", Costs().setup), where),
        ),
    )


def _hours(value: Any, where: str) -> tuple[float, float]:
    good = isinstance(value, list | tuple) and len(value) == 2
    if not good:
        raise BadInput("hours are not two numbers", where=where, limit="[morning, afternoon] in h", do="Mend the line")
    return _amount(value[0], where), _amount(value[1], where)


def _amount(value: Any, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not value >= 0:
        raise BadInput(f"{value!r} is no amount", where=where, limit="a number of 0 or more", do="Mend the line")
    return float(value)
