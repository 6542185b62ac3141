"""Hybrid logical clock: order that follows the wall clock and survives one that was set back."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Reading:
    """A clock reading: wall milliseconds seen so far, and a counter within them."""

    wall_ms: int
    count: int


def tick(last: Reading, now_ms: int) -> Reading:
    """The reading of the next local event.

    Parameters
    ----------
    last : the newest reading this ledger knows.
    now_ms : the device's wall clock [ms since 1970-01-01 UTC].

    Source
    ------
    Kulkarni, Demirbas et al. 2014, "Logical physical clocks", local rule; from memory.
    """
    if now_ms > last.wall_ms:
        return Reading(now_ms, 0)
    return Reading(last.wall_ms, last.count + 1)
