"""What a round needs to know of each box: its checks with the days they may be made on, and what to expect."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from operator import itemgetter
from typing import Any

from findhold.check.visits.merged import Window
from findhold.check.visits.windows import BoxDays, CheckDay, check_windows
from findhold.dates.instants import zone_named
from findhold.service.diary import last_visit
from findhold.store.beside.hold_days import HoldDays
from findhold.store.ledger import counting_order


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """One box that waits: where it stands, its dates, its last weighing, and the mass to expect by time."""

    box_id: str
    box_no: int
    find: str
    what: str
    registered: bool
    store: str
    shelf: str
    place: str
    keep_until: datetime | None
    limit: str
    open_at: datetime | None
    alarm: str
    last_at: datetime | None
    looked_at: datetime | None
    last_kg: float | None
    last_counted: bool
    gross_kg: float | None
    flags: tuple[str, ...]
    stream: str
    checks: tuple[CheckDay, ...]
    bands: tuple[list[Any], ...]
    """Checks with a mass band, as kept beside the states: see store.hold_days.CHECK."""

    @property
    def short(self) -> str:
        """The box's number as people say it."""
        return f"B{self.box_no}"

    def band_at(self, at: datetime) -> tuple[float, float, float] | None:
        """Low, best and high mass [kg] at an instant, read between the forecast's bands; None when there is none."""
        bands = [(datetime.fromisoformat(row[0]), *row[3:]) for row in self.bands]
        if not bands:
            return None
        after = bisect_right(bands, at, key=itemgetter(0))
        if after in (0, len(bands)):
            _, low, best, high = bands[min(after, len(bands) - 1)]
            return low, best, high
        (begun, *first), (ends, *second) = bands[after - 1], bands[after]
        share = (at - begun) / (ends - begun)
        low, best, high = (one + share * (other - one) for one, other in zip(first, second, strict=True))
        return low, best, high


def box_of(days: HoldDays, zone: str) -> Box | None:
    """A box from its days; None before it is forecast."""
    facts = days.facts
    if not facts.get("keep_until"):
        return None
    clock = zone_named(zone)
    shelved = facts.get("shelved") or {}
    seen_at = last_visit(facts)
    last = max(facts["weighings"], key=lambda row: datetime.fromisoformat(row[0]), default=None)
    return Box(
        box_id=str(facts["box_id"]),
        box_no=int(facts["box_no"]),
        find=str(facts["find"]),
        what=days.what,
        registered=days.registered,
        store=days.store or str(shelved.get("store") or facts.get("place") or ""),
        shelf=str(shelved.get("shelf") or ""),
        place=place_words(shelved.get("place")),
        keep_until=datetime.fromisoformat(facts["keep_until"]).astimezone(clock),
        limit=str(facts.get("governing_limit") or ""),
        open_at=datetime.fromisoformat(facts["open_at"]).astimezone(clock) if facts.get("open_at") else None,
        alarm=str(facts.get("alarm") or ""),
        last_at=datetime.fromisoformat(last[0]).astimezone(clock) if last else None,
        looked_at=None if seen_at is None else seen_at.astimezone(clock),
        last_kg=None if last is None else last[1],
        last_counted=last is None or last[2] is None or bool(last[2]),
        gross_kg=facts.get("gross_mass_kg"),
        flags=days.flags,
        stream=days.stream,
        # The forecast puts its checks on the clock of the site.
        checks=tuple(CheckDay(at=datetime.fromisoformat(at), reason=reason) for at, reason, *_ in facts["checks"]),
        bands=tuple(row for row in facts["checks"] if row[3] is not None),
    )


def place_words(place: Any) -> str:
    """Where in a store a box stands, in words; the record may hold words or named parts."""
    if isinstance(place, dict):
        return ", ".join(f"{value}" for value in place.values() if value not in (None, ""))
    return "" if place is None else str(place)


def windows_of(box: Box, now: datetime, until: date) -> tuple[Window, ...]:
    """The checks of a box up to a day, each with the days on which it may be made; those missed are one, for today."""
    days = BoxDays(
        box_id=box.box_id,
        store=box.store,
        checks=box.checks,
        checked_at=box.last_at,
        looked_at=box.looked_at,
        unsettled=not box.last_counted,
        keep_until=box.keep_until,
        open_at=box.open_at,
        alarm=box.alarm,
    )
    return check_windows(days, now=now, until=until)


def missed_days(box: Box, now: datetime) -> tuple[date, ...]:
    """Days of checks that should have been made by now and were not."""
    return tuple(
        check.at.date()
        for check in box.checks
        if check.at.date() < now.date() and (box.last_at is None or box.last_at.date() < check.at.date())
    )


def walking_order(boxes: Sequence[Box]) -> list[Box]:
    """Boxes in the order in which one walks past them: by place where it is known, then by shelf, then by number."""

    def key(box: Box) -> tuple[Any, ...]:
        return (
            box.store,
            not box.place,
            counting_order(box.place),
            not box.shelf,
            counting_order(box.shelf),
            box.box_no,
        )

    return sorted(boxes, key=key)
