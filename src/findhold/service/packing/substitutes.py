"""What may stand in for something that is short: tried find by find against the contact rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from findhold.errors import FindholdError
from findhold.pack.plan import Plan
from findhold.service.case import Case, plan_case
from findhold.service.holds import Held
from findhold.service.packing.stocktake import OnShelf
from findhold.tables.shopping import ShoppingItem, shopping_items

_FIELDS = {"pad": "wrapping", "barrier": "barrier"}
"""What of a plan's request an item of each role fills."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A find that the substitute would be wrong for, and why."""

    find: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Substitute:
    """Something that may stand in: in_stock [unit of the item] (None: not counted), for which finds, for which not."""

    item: str
    in_stock: float | None
    allowed_for: tuple[str, ...]
    forbidden_for: tuple[Refusal, ...]
    note: str = ""


def material_substitutes(
    item: ShoppingItem, finds: dict[str, float], concerned: Sequence[Held], shelf: dict[str, OnShelf]
) -> tuple[Substitute, ...]:
    """Other items of the same role that are in stock, each tried in the plan of every find concerned.

    Parameters
    ----------
    item : what is short. finds : amount by find. concerned : those finds, planned. shelf : what was counted.

    Returns
    -------
    Substitutes, those good for most finds first; one forbidden for every find is still told, so that nobody takes it.
    """
    if item.role not in _FIELDS:
        return ()
    told = []
    for other in shopping_items():
        there = shelf.get(other.name)
        if other.role != item.role or other.name == item.name or there is None or there.count <= 0:
            continue
        tried = [_tried(one, _FIELDS[item.role], other.name) for one in concerned if one.number in finds]
        wrong = tuple(answer for answer in tried if isinstance(answer, Refusal))
        dry = [plan for plan in tried if isinstance(plan, Plan) and plan.dose_way == "none" and plan.kept == "damp"]
        note = "how much water it is to hold is not computed: say it with water_g_per_g" if dry else ""
        bad = {refusal.find for refusal in wrong}
        good = tuple(number for number in finds if number not in bad)
        told.append(Substitute(item=other.name, in_stock=there.count, allowed_for=good, forbidden_for=wrong, note=note))
    return tuple(sorted(told, key=lambda one: (-len(one.allowed_for), one.item)))


def box_substitutes(kind: str, finds: Sequence[Held], left: dict[str, float | None]) -> tuple[Substitute, ...]:
    """Other boxes in stock that would do: for which finds they fit, and why not for the others.

    Parameters
    ----------
    kind : the box that is short. finds : those planned into it. left : boxes left of each kind after this list; None =
    not counted.
    """
    told = []
    for name, count in left.items():
        if name == kind or (count is not None and count <= 0):
            continue
        good = tuple(one.number for one in finds if name in one.plan.also_fit or name in one.plan.would_do)
        whys = {one.number: {item.box: item.why for item in one.plan.rejected} for one in finds}
        wrong = tuple(
            Refusal(find=one.number, why=whys[one.number].get(name, "does not fit"))
            for one in finds
            if one.number not in good
        )
        if good:
            told.append(Substitute(item=name, in_stock=count, allowed_for=good, forbidden_for=wrong))
    return tuple(sorted(told, key=lambda one: (-len(one.allowed_for), one.item)))


def _tried(one: Held, field: str, other: str) -> Refusal | Plan:
    """The plan of a find with another material, or why that is wrong for it."""
    changed = replace(one.case.plan, **{field: other})  # type: ignore[arg-type]  # three fields that hold a name
    tried: Case = replace(one.case, plan=changed)
    try:
        plan = plan_case(tried)
    except FindholdError as error:
        return Refusal(find=one.number, why=error.sentence())
    return _stopped_by(one, plan) or plan


def _stopped_by(one: Held, plan: Plan) -> Refusal | None:
    before = {(c.material, c.analysis) for c in one.plan.conflicts if c.stops}
    new = [c for c in plan.conflicts if c.stops and (c.material, c.analysis) not in before]
    if new:
        return Refusal(find=one.number, why="; ".join(f"{c.pair}: {c.text}" for c in new))
    if plan.box is None and one.plan.box is not None:
        return Refusal(find=one.number, why=plan.no_box or "no box fits then")
    return None
