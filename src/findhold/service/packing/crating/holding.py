"""The planned boxes and bulk bags of a site as things to load; what the ledger does not know enough of is told."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from findhold.crate.inputs import Item
from findhold.errors import BadInput
from findhold.pack.inputs import StockBox
from findhold.service.finder import find_thing
from findhold.service.office import Office
from findhold.service.packing.crating.asking import Crated, crate_up, item_of
from findhold.service.packing.crating.listing import read_crates
from findhold.service.scenario_case import stock_box
from findhold.store.ledger import Thing

_SIDES = ("length_mm", "width_mm", "height_mm")


def crates_of_site(office: Office, file: Path, finds: Sequence[str], site_code: str | None) -> Crated:
    """Load the planned boxes of a site, and its bulk bags that have no box, into the crates of a file.

    Nothing is recorded. The file may list further things (samples, tools), which go in with them.

    Parameters
    ----------
    office : the ledger and the clock.
    file : crates as CSV, or as TOML with shelves, limits and further items.
    finds : numbers of finds; empty for all of the site.
    site_code : the site, when there are several.

    Raises
    ------
    BadInput, Mistakes, UnknownName : the file, or a find that was named, cannot be used.
    """
    site = office.site(site_code)
    listed = read_crates(file)
    every = office.ledger.states("hold", site.number)
    ended = {hold.facts["find"] for hold in every if hold.facts.get("ended")}
    holds = {hold.facts["find"]: hold for hold in every}
    stock = {thing.facts["name"]: stock_box(thing.facts) for thing in office.ledger.states("box", None)}
    chosen = [find_thing(office, number, site) for number in finds] or office.ledger.states("find", site.number)
    items, unplaced = [], []
    for find in chosen:
        if find.number in ended and not finds:
            continue
        item, why = _item(find, holds.get(find.number), stock)
        if item is not None:
            items.append(item)
        else:
            unplaced.append((f"find {find.number}", *why))
    items += [item_of(row) for row in listed.items]
    if not items:
        raise BadInput("no box is planned yet", where=f"site {site.number}", do="Run: findhold plan --all")
    done = crate_up(listed, items, place=f"{site.number} {site.facts.get('name', '')}".strip())
    samples = len(office.ledger.states("sample", site.number))
    remarks: tuple[str, ...] = ()
    if samples and not finds:
        told = f"{samples} samples of the site are not loaded: the register has no outside sizes for them."
        remarks = (f"{told} List those to be crated as [[items]] in the crates file.",)
    titled = listed.title if listed.items else f"{site.number} crates"
    return replace(done, title=titled, unplaced=tuple(unplaced), remarks=remarks)


def _item(find: Thing, hold: Thing | None, stock: Mapping[str, StockBox]) -> tuple[Item | None, tuple[str, str]]:
    """A find's planned box, or its bag; None with the reason and what to do."""
    facts = find.facts
    if hold is not None:
        return _box(find, hold, stock)
    if facts.get("kind") != "bulk":
        return None, ("no box is planned for it", f"Run: findhold plan {find.number}")
    lacking = [name for name in (*_SIDES, "mass_kg") if not facts.get(name)]
    if lacking:
        return None, (
            f"the register has no {', '.join(lacking)} for this bag",
            "Measure and weigh the bag and import the register again",
        )
    length, width, height = (float(facts[side]) for side in _SIDES)
    item = Item(
        number=f"find {find.number}", size_mm=(length, width, height), mass_kg=float(facts["mass_kg"]), **_shared(facts)
    )
    return item, ("", "")


def _box(find: Thing, hold: Thing, stock: Mapping[str, StockBox]) -> tuple[Item | None, tuple[str, str]]:
    """A planned box by its outside and its planned gross mass, or its mass when last weighed."""
    plan = hold.facts["plan"]
    size = _outside(plan, stock)
    weighed = [row["mass_kg"] for row in hold.facts.get("weighings", ()) if row["verdict"]["counted"]]
    mass = weighed[-1] if weighed else plan.get("gross_mass_kg")
    if size is None or not mass:
        lacking = "outside sizes" if size is None else "gross mass"
        return None, (
            f"its plan has no {lacking}",
            f"Run: findhold plan {find.number}, with the mass of the find stated",
        )
    material = plan.get("material") or ""
    facts = {**find.facts, "material": material, "state": plan.get("kept") or find.facts.get("state")}
    human = bool(facts.get("human_remains")) or "human remains" in (plan.get("flags") or ())
    shared = {**_shared(facts), "human_remains": human}
    what = f"find {find.number}, {facts['what']}" if facts.get("what") else f"find {find.number}"
    return (
        Item(number=hold.facts["box_id"], size_mm=size, mass_kg=float(mass), lidded=True, **{**shared, "what": what}),
        ("", ""),
    )


def _outside(plan: Mapping[str, Any], stock: Mapping[str, StockBox]) -> tuple[float, float, float] | None:
    """Outside of the planned box as the plan kept it, else as the stock list has it [mm]."""
    kept = plan.get("box_facts")
    if kept:
        if kept.get("outside_over_all_mm"):
            return _three(kept["outside_over_all_mm"])
        return _three([side + 2 * kept["wall_mm"] for side in kept["inside_mm"]])
    box = stock.get(plan.get("box") or "")
    return None if box is None else _three(box.outside_mm)


def _three(sizes: Sequence[float]) -> tuple[float, float, float] | None:
    sides = [float(side) for side in sizes]
    return (sides[0], sides[1], sides[2]) if len(sides) == 3 and all(math.isfinite(s) for s in sides) else None


def _shared(facts: Mapping[str, Any]) -> dict[str, Any]:
    """What a box and a bag are told of alike."""
    state = facts.get("state")
    return {
        "what": facts.get("what") or "",
        "state": state if state in ("dry", "damp", "waterlogged") else "damp",
        "material": facts.get("material") or "",
        "context": facts.get("context") or "",
        "human_remains": bool(facts.get("human_remains")),
    }
