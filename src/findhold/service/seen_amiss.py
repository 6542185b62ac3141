"""What was seen amiss in a box, and what that does to its keep-until date: the same words wherever the date stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from findhold.dates.instants import day_at, day_for_people

VOID = "mould"
"""What a forecast of growth ends with: its date counts no longer once it is seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenAmiss:
    """What was seen last and not found right since.

    act : what it asks for, a few words. date_words : what holds of the forecast's date, one sentence.
    """

    what: str
    act: str
    date_words: str


def seen_amiss(facts: Mapping[str, Any], zone: str) -> SeenAmiss | None:
    """What was seen amiss in a hold, by its facts; None when nothing was, or it was found right again."""
    what = str(facts.get("alarm") or "")
    if not what:
        return None
    visits = (*facts.get("weighings", ()), *facts.get("looks", ()))
    times = [datetime.fromisoformat(row["at"]) for row in visits if row.get("look") == what]
    day = f" {_day(max(times), zone)}" if times else ""
    until = (facts.get("forecast") or {}).get("keep_until")
    date = f", {_day(datetime.fromisoformat(until), zone)}," if until else ""
    rest = "no longer counts" if what == VOID else "does not allow for it"
    return SeenAmiss(
        what=what, act=f"{what} seen{day}: act today", date_words=f"The date of the forecast{date} {rest}."
    )


def _day(at: datetime, zone: str) -> str:
    """12 Aug."""
    return day_for_people(day_at(at, zone)).split(" ", 1)[1].rsplit(" ", 1)[0]
