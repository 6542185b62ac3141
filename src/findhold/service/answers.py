"""Plans and forecasts as plain data in their public shape, the same for files and ledger, every door and the record."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from findhold.keep.forecast import Driver
from findhold.keep.limits import TOO_COLD, TOO_WARM
from findhold.pack.plan import Plan
from findhold.service.case import Case, Kept
from findhold.service.lastday import open_by, opening_closed
from findhold.service.packing.cut_words import cut_lines
from findhold.service.wire import plain
from findhold.sources import bibliography

_UNSTATED = ("packing time", "first exposure")
"""Times that the whole hold is counted from."""
_SHORT_WORD = 4
"""Words of a driver no longer than this say nothing of what it is."""


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
        "cut_list": cut_rows(plan),
        "cut_lines": list(cut_lines(plan)),
    }


def cut_rows(plan: Plan) -> list[dict[str, Any]]:
    """The cut list in words: what, where, how many, size, hole; empty without a box."""
    pieces = () if plan.foam is None else plan.foam.pieces
    return [
        {
            "what": piece.name,
            "where": piece.where,
            "material": piece.material,
            "many": piece.many,
            "size": piece.sizes,
            "hole": piece.hole,
            "note": piece.note,
        }
        for piece in pieces
    ]


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
        "open_by": plain(open_by(kept.forecast.keep_until, case.zone, case.closures)),
        "opening_closed": opening_closed(case),
        "after_spell": _after_spell(kept),
        "kept": kept.plan.kept,
        "exposed_at": plain(case.exposed_at),
        "packed_at": plain(case.packed_at),
        "open_at": plain(case.open_at),
        "assumptions": list(assumptions_of(kept)),
        "sources": list(dict.fromkeys(cited(key) for key in (*kept.forecast.sources, *kept.plan.sources))),
        "questions": plain(kept.plan.questions),
    }


def assumptions_of(kept: Kept) -> tuple[str, ...]:
    """Everything taken without being told, what decides most first: times nobody stated, then by shares of drivers."""
    said = (*kept.assumed, *kept.forecast.assumptions, *kept.plan.assumptions)
    return tuple(sorted(said, key=lambda text: -_weight(text, kept.forecast.drivers)))


def _weight(text: str, drivers: Sequence[Driver]) -> float:
    """How much an assumption decides: 2 for a time nobody stated, else the largest share of a driver it speaks of."""
    lower = text.casefold()
    if any(word in lower for word in _UNSTATED):
        return 2.0
    shares = [0.0]
    for driver in drivers:
        words = [word for word in driver.input.casefold().split() if len(word) > _SHORT_WORD]
        spoken = sum(word in lower for word in words)
        if words and 2 * spoken >= len(words):
            shares.append(driver.share * spoken / len(words))
    return max(shares)


def _after_spell(kept: Kept) -> dict[str, Any] | None:
    """The next limit when a spell of the place governs: what ends the wait if the place is as it should be again."""
    told = kept.forecast
    if told.governing_limit not in (TOO_WARM, TOO_COLD):
        return None
    others = [limit for limit in told.limits if limit.name not in (TOO_WARM, TOO_COLD) and limit.date_low is not None]
    first = min(others, key=lambda limit: limit.date_low or told.keep_until)
    return {"limit": first.name, "date": plain(first.date_low)}


def cited(key: str) -> str:
    """A source key as its citation; text that is no key stays as it is."""
    known = bibliography()
    return known[key].citation() if key in known else key
