"""What was worked out as plain data for every door, and in short lines for a person."""

from __future__ import annotations

from typing import Any

from findhold.crate.gaps import gaps
from findhold.crate.load import CrateLoad, CrateLoads
from findhold.pack.fill import crumpled_sheets
from findhold.service.choices import read_choices
from findhold.service.packing.crating.asking import Crated
from findhold.service.wire import plain

_HEAVY, _HUMAN, _DAMP = (
    "Lift a full crate only within what the person can do today: the figures are limits for planning, not safe loads.",
    "Human remains: local law and the unit's agreement come first; carry them apart and say so to who receives them.",
    "A damp find keeps its keep-until date in the crate: put that crate where it is cold, and check it as before.",
)


def cautions(done: Crated) -> tuple[str, ...]:
    """The cautions that belong to what was loaded: crates to lift, human remains, finds that are not dry."""
    loaded = [item for load in (done.loads.loads if done.loads is not None else ()) for item in load.items]
    shared = [find for box in done.shared for find in box.request.finds]
    human = any(item.human_remains for item in loaded) or any(find.human_remains for find in shared)
    damp = any(item.state != "dry" for item in loaded) or any(find.state != "dry" for find in shared)
    said = [_HEAVY] if done.loads is not None else []
    said += [_HUMAN] if human else []
    said += [_DAMP] if damp else []
    return tuple(said)


def crate_answer(done: Crated) -> dict[str, Any]:
    """The public shape of an answer about crates."""
    loads = done.loads
    left = [*done.unplaced, *(() if loads is None else ((one.number, one.why, one.do) for one in loads.left_over))]
    return {
        "title": done.title,
        "place": done.place,
        "all_in": done.all_in,
        "answer": answer_words(done),
        "crates": [] if loads is None else [{**plain(load), "gaps": list(gap_words(load))} for load in loads.loads],
        "left_over": [{"number": number, "why": why, "do": do} for number, why, do in left],
        "fewest_possible": None if loads is None else loads.fewest,
        "gap_crates": None if loads is None else loads.gap,
        "proved": None if loads is None else loads.proved,
        "method": None if loads is None else loads.method,
        "aim": None if loads is None else loads.aim,
        "aim_gap": None if loads is None else loads.aim_gap,
        "wishes_broken": [] if loads is None else list(loads.wishes_broken),
        "shared_boxes": [{"name": box.name, **plain(box.plan), "works": box.plan.works} for box in done.shared],
        "shelves": None if done.shelves is None else plain(done.shelves),
        "remarks": list(done.remarks),
        "assumptions": [] if loads is None else list(loads.assumptions),
        "cautions": list(cautions(done)),
    }


def answer_words(done: Crated) -> str:
    """The answer in one or two sentences."""
    said = []
    loads = done.loads
    if loads is not None:
        said.append(_crates_words(loads))
    left = len(done.unplaced) + (0 if loads is None else len(loads.left_over))
    if left:
        said.append(f"{_things(left)} left over.")
    fitted = [box.name for box in done.shared if box.plan.works]
    if fitted and loads is None:
        said.append(f"Divided as asked: {', '.join(fitted)}.")
    refused = [box.name for box in done.shared if not box.plan.works]
    if refused:
        said.append(f"Cannot be shared as asked: {', '.join(refused)}.")
    if done.shelves is not None:
        there = sum(len(shelf.boxes) for shelf in done.shelves.shelves)
        without = len(done.shelves.without)
        said.append(f"{there} on shelves" + (f", {without} without a place." if without else "."))
    return " ".join(said) or "Nothing could be loaded."


def _crates_words(loads: CrateLoads) -> str:
    count = len(loads.loads)
    things = sum(len(load.items) for load in loads.loads)
    if not count:
        return "No crate is loaded."
    words = f"{_things(things)} in {count} {'crate' if count == 1 else 'crates'}"
    if loads.left_over:
        return f"{words}."
    if loads.proved:
        return f"{words}; fewer are impossible."
    open_counts = f"{loads.fewest}" if loads.fewest == count - 1 else f"{loads.fewest} to {count - 1}"
    return f"{words}; fewer than {loads.fewest} are impossible, {open_counts} not ruled out."


def _things(count: int) -> str:
    return "1 thing" if count == 1 else f"{count} things"


def gap_words(load: CrateLoad) -> tuple[str, ...]:
    """What to fill the empty room of each layer with, in one sentence a layer; nothing where it is full.

    Source: volumes of the load; crumpled tissue by pack_defaults (judgement).
    """
    by = read_choices().packing
    damp = any(item.state != "dry" for item in load.items)
    with_what = "foam offcuts or film cushions, nothing that drinks" if damp else "foam offcuts, or crumpled tissue"
    said = []
    for gap in gaps(load.items, load.inside_mm):
        sheets = crumpled_sheets(gap.room_l, by.crumpled_tissue_kg_per_m3, by.sheet_gsm, by.sheet_m2)
        many = "" if damp else f" (about {sheets} sheets)"
        said.append(
            f"Layer {gap.layer}: fill the {gap.room_l:.0f} L beside the things up to {gap.up_to_mm:.0f} mm with "
            f"{with_what}{many}: nothing may slide or tip."
        )
    over_mm = load.inside_mm[2] - max((item.at_mm[2] + item.size_mm[2] for item in load.items), default=0)
    return (*said, *([f"{over_mm:.0f} mm stay free under the rim."] if said and over_mm >= 1 else []))
