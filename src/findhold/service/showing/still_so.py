"""Whether a plan and its labels still say what is so: what they were made for, beside what stands there now."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from findhold.dates.instants import day_at, day_for_people
from findhold.register.kinds import KINDS
from findhold.register.values import worded
from findhold.store.beside.rests import MEASURED_AT, RESTS_ON

_MEASURES = ("length_mm", "width_mm", "height_mm", "mass_kg", MEASURED_AT)


def rests_on(facts: Mapping[str, Any]) -> dict[str, Any]:
    """The facts of a find that its plan is worked out from, as they stand."""
    told = {name: facts[name] for name in RESTS_ON if facts.get(name)}
    measured = facts.get("measured")
    return told | ({MEASURED_AT: measured["at"]} if measured else {})


def plan_outdated(facts: Mapping[str, Any], hold: Mapping[str, Any] | None) -> str:
    """Why the plan of a find is for other facts than those that stand now, one sentence; "" while it stands.

    Parameters
    ----------
    facts : of the find. hold : facts of its hold; None before its box was planned.
    """
    if hold is None or hold.get("ended") or "rests_on" not in hold:
        return ""
    now, then = rests_on(facts), hold["rests_on"]
    changed = [name for name in (*RESTS_ON, MEASURED_AT) if now.get(name) != then.get(name)]
    if not changed:
        return ""
    told = [_changed(name, now, then) for name in changed if name != MEASURED_AT]
    other = "measures" if set(changed) <= set(_MEASURES) else "facts"
    return f"Planned for other {other}: {'; '.join(told) or 'it was measured anew since'}. Plan it again."


def labels_made_for(facts: Mapping[str, Any], hold: Mapping[str, Any], zone: str) -> dict[str, str]:
    """What the labels of a hold say that may change after they are printed: store and keep-until day."""
    until = (hold.get("forecast") or {}).get("keep_until")
    day = "" if until is None else day_at(datetime.fromisoformat(until), zone).isoformat()
    return {"store": str(facts.get("store") or ""), "keep_until": day}


def labels_outdated(facts: Mapping[str, Any], hold: Mapping[str, Any] | None, zone: str) -> str:
    """What changed since the labels of a hold were printed, one sentence; "" while they stand or none were made."""
    labels = {} if hold is None or hold.get("ended") else hold.get("labels") or {}
    if hold is None or "made_for" not in labels:
        return ""
    now, then = labels_made_for(facts, hold, zone), labels["made_for"]
    told = []
    if now["store"] != then["store"]:
        told.append(f"it stands in {now['store'] or 'no store'}, they say {then['store'] or 'none'}")
    if now["keep_until"] != then["keep_until"]:
        told.append(f"keep until {_day(now['keep_until'])}, they say {_day(then['keep_until'])}")
    return f"Store or date changed since its labels were printed: print again ({'; '.join(told)})." if told else ""


def _changed(name: str, now: Mapping[str, Any], then: Mapping[str, Any]) -> str:
    field = KINDS["find"].fields[name]
    label = field.label[:1].lower() + field.label[1:]
    return f"{label} {worded(now.get(name), field.unit)}, planned for {worded(then.get(name), field.unit)}"


def _day(text: str) -> str:
    return day_for_people(datetime.fromisoformat(text).date()) if text else "not known"
