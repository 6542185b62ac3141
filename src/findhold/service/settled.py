"""What persons settled for a plan: overrides that answer something, and what is kept from an earlier plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from findhold.dates.instants import for_people
from findhold.errors import BadInput
from findhold.pack.inputs import Override
from findhold.pack.plan import Plan

NO_BARRIER = "none"
"""Asked for as a barrier: nothing lies between find and wrapping, whatever the register or an earlier plan says."""


def answering(plan: Plan, given: Sequence[Override]) -> tuple[Override, ...]:
    """Those of the overrides given that answer something in the plan: only these are recorded."""
    return tuple(one for one in given if one not in plan.idle_overrides)


def refuse_idle(plans: Sequence[Plan], given: Sequence[Override]) -> None:
    """Refuse overrides that answer nothing in any of the plans.

    Raises
    ------
    BadInput : one of them answers nothing; what could be overridden is named.
    """
    idle = [one for one in given if all(one in plan.idle_overrides for plan in plans)]
    if not idle or not plans:
        return
    plan = plans[0]
    open_to = [f"{one.material}:{one.analysis}" for one in plan.conflicts if one.stops or one.choices]
    raise BadInput(
        f"the override of {idle[0].material} for {idle[0].rule} answers nothing in this plan, so nothing is recorded",
        where=plan.find,
        limit=", ".join(f'"{pair}"' for pair in open_to) if open_to else "nothing here wants an override",
        do="Name one of these, or leave --override out",
    )


def barrier_asked(name: str | None) -> dict[str, Any]:
    """Fields of the plan's inputs for a barrier by name, for "none", or for nothing said."""
    if name is not None and name.strip().casefold() == NO_BARRIER:
        return {"no_barrier": True}
    return {"barrier": name}


def barrier_from(before: Mapping[str, Any], plan: Plan, zone: str) -> str:
    """Where a barrier that was not asked for just now comes from, and how to take it away; empty without one.

    Parameters
    ----------
    before : facts of the earlier plan; empty where there is none. plan : the new one. zone : clock it is told on.
    """
    if plan.barrier is None:
        return ""
    if plan.barrier_why:
        return f"{plan.barrier_why}; --barrier names another, or none"
    at, kept = before.get("planned_at"), (before.get("asked") or {}).get("barrier")
    since = "the register"
    if kept not in (None, NO_BARRIER):
        since = "the earlier plan" if at is None else f"the plan of {for_people(datetime.fromisoformat(at), zone)}"
    return f"from {since}; --barrier none takes it away"
