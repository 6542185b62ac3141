"""The clock of a device: what it showed, how far it is ahead of this computer's, and the instant that is meant."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from findhold.dates.instants import parse_instant
from findhold.service.office import Office

SLACK = timedelta(minutes=2)
"""A device's clock that is off by no more is taken as it is (judgement: nothing here turns on two minutes)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceClock:
    """What a device says of its time, as texts with their offset from UTC.

    seen_at : when the thing was done. now_at : when it was sent, "" when the device does not say. device : its name.
    """

    seen_at: str
    now_at: str = ""
    device: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """The instant a thing was done, and what is recorded of the clock that told it (None: this computer's own)."""

    at: datetime
    clock: dict[str, Any] | None


def moment(office: Office, told: DeviceClock | None) -> Moment:
    """When a thing was done, by this computer's clock.

    A device that is off is put right by as much as it was off when it sent, and the event tells both.

    Raises
    ------
    BadInput : a time that cannot be read.
    """
    now = office.now().replace(microsecond=0)
    if told is None:
        return Moment(at=now, clock=None)
    seen = parse_instant(told.seen_at, "at").replace(microsecond=0)
    ahead = parse_instant(told.now_at, "the device's clock") - office.now() if told.now_at else timedelta(0)
    off = abs(ahead) > SLACK
    at = seen - timedelta(seconds=round(ahead.total_seconds())) if off else seen
    clock = {
        "device": told.device,
        "seen": seen.isoformat(timespec="seconds"),
        "ahead_s": round(ahead.total_seconds()) if off else 0,
        "put_right": off,
    }
    # Within the slack a device may be ahead of us: nothing is done after now.
    return Moment(at=min(at, now) if now < at <= now + SLACK else at, clock=clock)
