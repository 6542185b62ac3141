"""One hold as pictures take it: its box from outside, its dates, and how long it may still wait, in words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

from findhold.service.seen_amiss import VOID
from findhold.store.ledger import Thing

Kind = Literal["act", "watch", "right", "none"]
SOON_DAYS = 3.0
"""So few days left are told as a watch (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldSeen:
    """A find in its box as recorded. outside_mm: length, width, height; mass_kg: last weighed, else as planned."""

    site: str
    number: str
    symbol: str
    what: str
    material: str
    state: str
    box_id: str
    box: str
    outside_mm: tuple[float, float, float] | None
    mass_kg: float | None
    weighed: bool
    exposed_at: datetime | None
    packed_at: datetime | None
    open_at: datetime | None
    keep_until: datetime | None
    governing: str
    band: tuple[datetime | None, datetime | None, datetime | None]
    """Keep-until low, best and high of the limit that governs."""
    alarm: str
    place: str
    """The shelf the box was put on; "" where none is recorded."""
    flags: tuple[str, ...]
    """What local rules decide: human remains, treasure."""
    hazards: tuple[str, ...]
    left_days: float | None
    """Below 0 also when mould was seen: then no date counts any longer."""
    left_words: str
    kind: Kind
    word: str


def held_seen(find: Thing, hold: Thing, now: datetime) -> HeldSeen:
    """A find with its hold, as recorded."""
    facts, held = find.facts, hold.facts
    plan, forecast = held.get("plan") or {}, held.get("forecast") or {}
    until = _instant(forecast.get("keep_until"))
    left = None if until is None else (until - now) / timedelta(days=1)
    weighed = held.get("weighings") or ()
    alarm = str(held.get("alarm") or "")
    kind, word = _standing(left, alarm, can_keep=forecast.get("can_keep"))
    shelved = held.get("shelved") or {}
    return HeldSeen(
        site=str(held.get("site") or find.stream.split("/")[1]),
        number=find.number,
        symbol="triangle" if (facts.get("kind") or "registered") == "registered" else "none",
        what=str(facts.get("what") or ""),
        material=str(facts.get("material") or ""),
        state=str(facts.get("state") or ""),
        box_id=str(held["box_id"]),
        box=str(plan.get("box") or ""),
        outside_mm=outside_mm(plan.get("box_facts")),
        mass_kg=weighed[-1]["mass_kg"] if weighed else plan.get("gross_mass_kg"),
        weighed=bool(weighed),
        exposed_at=_instant(held.get("exposed_at")),
        packed_at=_instant(held.get("packed_at")),
        open_at=_instant(held.get("open_at")),
        keep_until=until,
        governing=str(forecast.get("governing_limit") or ""),
        band=_band(forecast),
        alarm=alarm,
        place=str(shelved.get("place") or shelved.get("shelf") or "")
        if shelved.get("store") in (None, "", facts.get("store"))
        else "",
        flags=tuple(plan.get("flags") or ()),
        hazards=tuple(str(hazard) for hazard in facts.get("hazards") or ()),
        left_days=-1.0 if alarm == VOID else left,
        left_words="act today" if alarm else left_words(left),
        kind=kind,
        word=word,
    )


def outside_mm(box: dict[str, Any] | None) -> tuple[float, float, float] | None:
    """A box from outside: its walls on both sides, its floor below and its lid above [mm]; None without its sizes."""
    if not box or not box.get("inside_mm"):
        return None
    both = 2.0 * float(box.get("wall_mm") or 0.0)
    length, width, height = (float(side) + both for side in box["inside_mm"])
    return length, width, height


def left_words(left_days: float | None) -> str:
    """How long a hold may still wait, in whole days: "12 d left", "today", "2 d over"."""
    if left_days is None:
        return "no date"
    if left_days < 0.0:
        return f"{math.ceil(-left_days)} d over"
    return "today" if left_days < 1.0 else f"{math.floor(left_days)} d left"


def _standing(left: float | None, alarm: str, *, can_keep: bool | None) -> tuple[Kind, str]:
    """The sign of a hold and its word."""
    if alarm:
        return "act", f"{alarm} seen"
    if left is None:
        return "watch", "not forecast"
    if left < 0.0:
        return "act", "kept too long"
    if can_keep is False:
        return "act", "opening too late"
    if left <= SOON_DAYS:
        return "watch", "soon"
    return ("right", "in time") if can_keep else ("none", "no opening planned")


def _band(forecast: dict[str, Any]) -> tuple[datetime | None, datetime | None, datetime | None]:
    for limit in forecast.get("limits") or ():
        if limit["name"] == forecast.get("governing_limit"):
            return _instant(limit["date_low"]), _instant(limit["date_best"]), _instant(limit["date_high"])
    return None, None, None


def _instant(text: str | None) -> datetime | None:
    return None if not text else datetime.fromisoformat(text)
