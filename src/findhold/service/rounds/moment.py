"""The moment from which a plan is seen: now, or one that was asked for."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TypedDict

from findhold.dates.instants import parse_instant
from findhold.service.office import wall_clock


class Clock(TypedDict):
    """The clock as the office takes it."""

    now: Callable[[], datetime]


def seen_from(at: str | None) -> Clock:
    """The clock of an office that looks from an instant (None: now).

    Raises
    ------
    BadInput : the text is no instant with its offset.
    """
    if at is None:
        return Clock(now=wall_clock)
    moment = parse_instant(at, "--at")
    return Clock(now=lambda: moment)
