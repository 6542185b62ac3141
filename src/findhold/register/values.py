"""Recorded values and values of a file: whether they say the same, and how a person writes them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from math import isclose
from typing import Any

NOTHING: tuple[Any, ...] = (None, "", (), [], {})
"""What an empty cell or an unknown fact is."""


def same_value(old: Any, new: Any, *, day_only: bool = False) -> bool:
    """True when a recorded value and one of a file say the same.

    Parameters
    ----------
    old : the recorded value; dates and instants may be ISO texts.
    new : the value of the file.
    day_only : the file gave a day without a time, so any time on that day agrees.
    """
    if old is None:
        return new in (None, ())
    if isinstance(new, datetime):
        then = datetime.fromisoformat(old) if isinstance(old, str) else old
        if not isinstance(then, datetime):
            return False
        return then == new or (day_only and then.astimezone(new.tzinfo).date() == new.date())
    if isinstance(new, date):
        return (old if isinstance(old, str) else old.isoformat()) == new.isoformat()
    if isinstance(new, bool) or isinstance(old, bool):
        return old is new
    if isinstance(new, float) and isinstance(old, int | float):
        return isclose(old, new, rel_tol=1e-9)
    if isinstance(new, tuple):
        return tuple(old) == new
    return bool(old == new)


def worded(value: Any, unit: str = "") -> str:
    """A value as a person writes it: 'yes', '12.2 kg', 'lipid, radiocarbon', '2026-07-28 10:20'; 'nothing' for none."""
    if value in NOTHING:
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.12g} {unit}".rstrip()
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, Mapping):
        return "; ".join(f"{name}: {worded(item)}" for name, item in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(worded(item) for item in value)
    return str(value)


def as_it_stands(cell: Any) -> str:
    """A cell as text, for a column that means no field: nothing is read into it and nothing is left out."""
    if isinstance(cell, datetime) and cell.time() == time(0):
        return cell.date().isoformat()
    if isinstance(cell, datetime):
        return cell.isoformat(sep=" ")
    return cell if isinstance(cell, str) else worded(cell)


def before(last: date, first: date) -> bool:
    """True when the one lies before the other; a time at the edge of its day stands for the day and says no time."""
    if not isinstance(last, datetime) or not isinstance(first, datetime):
        return _day(last) < _day(first)
    edges = (time(0, 0), time(23, 59))
    if last.time() in edges or first.time() in edges:
        return last.astimezone(first.tzinfo).date() < first.date()
    return last < first


def _day(value: date) -> date:
    return value.date() if isinstance(value, datetime) else value
