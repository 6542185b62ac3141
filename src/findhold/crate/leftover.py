"""Things that no crate takes: why, and what to do about each."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from findhold.crate import rules
from findhold.crate.inputs import CrateRequest, Item
from findhold.geometry.loading.drop import Loading, Task, load_bays


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOver:
    """A thing that is in no crate, the reason, and what to do."""

    number: str
    what: str
    why: str
    do: str


def left_overs(request: CrateRequest, task: Task, loading: Loading) -> tuple[LeftOver, ...]:
    """Everything left over, each with its reason: too large, too heavy, or no crate left."""
    told, without = [], []
    for n in loading.left:
        item = request.items[n]
        reason = _too_large(item, request, task, n) or _too_heavy(item, request, task, n)
        if reason is None:
            without.append(n)
        else:
            told.append(LeftOver(number=item.number, what=item.what, why=reason[0], do=reason[1]))
    if without:
        more = _more_crates(task, without, request)
        told += [
            LeftOver(number=item.number, what=item.what, why="no crate with room for it is left", do=more)
            for item in (request.items[n] for n in without)
        ]
    return tuple(told)


def _too_large(item: Item, request: CrateRequest, task: Task, n: int) -> tuple[str, str] | None:
    """The crate that comes nearest and by how much it is short; None when some crate is large enough."""
    best: tuple[int, str, str] | None = None
    for bay, crate in zip(task.bays, request.crates, strict=True):
        for turn in task.pieces[n].turns:
            short = [max(0, turn[k] - bay.size[k]) for k in range(3)]
            if not any(short):
                return None
            names = ("length", "width", "height")
            words = " and ".join(f"{short[k]} mm in {names[k]}" for k in range(3) if short[k])
            if best is None or sum(short) < best[0]:
                best = (sum(short), crate.name, words)
    if best is None:
        return None
    length, width, height = (math.ceil(side) for side in item.size_mm)
    upright = " upright" if item.upright else ""
    why = f"{length} x {width} x {height} mm{upright} goes into no crate; {best[1]} comes nearest, short by {best[2]}"
    return why, "Carry it by itself in its own box, or get a larger crate"


def _too_heavy(item: Item, request: CrateRequest, task: Task, n: int) -> tuple[str, str] | None:
    """The most that a crate large enough may hold; None when the mass is allowed in one."""
    large = [
        (bay, crate)
        for bay, crate in zip(task.bays, request.crates, strict=True)
        if any(all(turn[k] <= bay.size[k] for k in range(3)) for turn in task.pieces[n].turns)
    ]
    if any(bay.carries_g is None or task.pieces[n].mass_g <= bay.carries_g for bay, _ in large):
        return None
    limit = max((rules.mass_limit(crate, request) for _, crate in large), key=lambda one: one.net_kg)
    team = replace(request, persons=request.persons + 1)
    helps = any(rules.mass_limit(crate, team).net_kg >= item.mass_kg for _, crate in large)
    why = f"{item.mass_kg:.3g} kg is more than a crate may hold: {limit.net_kg:.3g} kg ({limit.why})"
    if helps:
        return why, f"Have it carried by {team.persons} (persons = {team.persons}), or carry it by itself"
    return why, "Carry it by itself with a lifting plan: findhold lift; never above the crate's rating"


def _more_crates(task: Task, without: list[int], request: CrateRequest) -> str:
    """How many more crates would take the rest."""
    pieces = tuple(task.pieces[n] for n in without)
    bays = tuple(replace(bay, count=None) for bay in task.bays)
    rest = load_bays(replace(task, pieces=pieces, bays=bays), tries=1)
    kinds = sorted({one.bay for one in rest.bays})
    counted = [f"{sum(1 for b in rest.bays if b.bay == kind)} more of {request.crates[kind].name}" for kind in kinds]
    return "Get " + " and ".join(counted)
