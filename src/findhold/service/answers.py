"""Plans and forecasts as plain data in their public shape, the same for files and ledger, every door and the record."""

from __future__ import annotations

from typing import Any

from findhold.pack.plan import Plan
from findhold.service.case import Case, Kept
from findhold.service.wire import plain
from findhold.sources import bibliography


def plan_answer(plan: Plan) -> dict[str, Any]:
    """A plan in the public shape of `plan --json`."""
    shape = plain(plan)
    box = shape.pop("box")
    return {
        **shape,
        "box": box["name"] if box else None,
        "box_facts": box,
        "turn": plan.turn_deg,
        "turn_words": plan.turn,
        "can_pack": not plan.stopped,
    }


def keep_answer(case: Case, kept: Kept) -> dict[str, Any]:
    """A forecast in the public shape of `keep --json`."""
    shape = plain(kept.forecast)
    hours = shape["hours_to_below_8c"]
    box = case.box or kept.plan.box
    for limit in shape["limits"]:
        limit["source"] = cited(limit["source"])
    return {
        **shape,
        "title": case.title,
        "hours_to_below_8c": hours["best"],
        "hours_to_below_8c_band": hours,
        "box": box.name if box else None,
        "dose_g": kept.plan.dose_g,
        "dose_g_per_sheet": kept.plan.dose_g_per_sheet,
        "sheets": kept.plan.sheets,
        "checks": plain(kept.checks),
        "options": plain(kept.options),
        "exposed_at": plain(case.exposed_at),
        "packed_at": plain(case.packed_at),
        "open_at": plain(case.open_at),
        "assumptions": [*kept.assumed, *kept.forecast.assumptions, *kept.plan.assumptions],
        "sources": list(dict.fromkeys(cited(key) for key in (*kept.forecast.sources, *kept.plan.sources))),
        "questions": plain(kept.plan.questions),
    }


def cited(key: str) -> str:
    """A source key as its citation; text that is no key stays as it is."""
    known = bibliography()
    return known[key].citation() if key in known else key
