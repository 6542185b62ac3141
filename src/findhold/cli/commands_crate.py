"""plan --crates: bags and boxes into crates, from a file alone or from the ledger."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, leave
from findhold.errors import BadInput


@dataclass(frozen=True, slots=True, kw_only=True)
class CrateWords:
    """What stands on the command line beside the crates file."""

    file: Path
    finds: tuple[str, ...] = ()
    every: bool = False
    ledger: str | None = None
    site: str | None = None
    person: str | None = None
    out: Path | None = None
    as_json: bool = False


def crates(words: CrateWords) -> None:
    """Load crates and leave with 1 when something is left over."""
    from findhold.service import office, settings
    from findhold.service.packing.crating import answer, asking, holding, papers

    asked_ledger = bool(words.finds or words.every or words.ledger or words.file.suffix.lower() == ".csv")
    if words.finds and words.every:
        raise BadInput("finds and --all were both given", do="Give the numbers of finds, or --all")
    with screen.busy("loading crates"):
        if asked_ledger:
            with office.office(words.ledger, person=words.person, read_only=True) as desk:
                done = holding.crates_of_site(desk, words.file, words.finds, words.site)
        else:
            done = asking.crates_of_file(words.file)
    shape = answer.crate_answer(done)
    if words.out is not None:
        person = settings.person_name(words.person)
        shape["files"] = list(papers.write_crates(done, words.out, at=office.wall_clock(), person=person))
    if words.as_json:
        screen.show_json(shape)
    else:
        tell_crates(shape)
    leave(OK if shape["all_in"] else THE_ANSWER_IS_NO)


def tell_crates(shape: dict[str, Any]) -> None:
    """An answer about crates, from its public shape."""
    screen.say(f"{shape['title']}: {shape['answer']}", style="bold" if shape["all_in"] else screen.ACT)
    for box in shape["shared_boxes"]:
        _tell_shared(box)
    for load in shape["crates"]:
        _tell_crate(load)
    if shape["shelves"] is not None:
        _tell_shelves(shape["shelves"])
    for left in shape["left_over"]:
        screen.say(f"LEFT OVER {left['number']}: {left['why']}. {left['do']}.", style=screen.ACT)
    for text in (*shape["wishes_broken"], *shape["remarks"]):
        screen.say(f"! {text}")
    for text in shape["assumptions"]:
        screen.say(f"  assumed: {text}")
    for file in shape.get("files", ()):
        screen.say(f"  {file}")


def _tell_crate(load: dict[str, Any]) -> None:
    screen.say()
    screen.say(
        f"Crate {load['number']}, {load['crate']}: {load['gross_kg']:.1f} kg of {load['limit_kg']:.3g}", style="bold"
    )
    screen.say(f"  {load['why']}; {load['fill']:.0%} of its room")
    rows = [
        [
            str(order),
            item["number"],
            item["what"],
            f"{item['mass_kg']:.2f}",
            str(item["layer"]),
            " / ".join(str(side) for side in item["at_mm"]),
            ", ".join(item["rests_on"]) or "floor",
        ]
        for order, item in enumerate(load["items"], 1)
    ]
    screen.table(
        ["order", "number", "what", "kg", "layer", "at, mm", "on"],
        rows,
        right=("order", "kg", "layer"),
        flex=("what", "on"),
    )
    for text in load["gaps"]:
        screen.say(f"  {text}")


def _tell_shared(box: dict[str, Any]) -> None:
    if box["works"]:
        screen.say(f"{box['name']}, shared: {len(box['compartments'])} compartments", style="bold")
        for part in box["compartments"]:
            place, size = part["at_mm"], part["size_mm"]
            turned = ", turned" if part["turned"] else ""
            screen.say(f"  {part['find']}: {size[0]:g} x {size[1]:g} mm at {place[0]:g} / {place[1]:g}{turned}")
        for cut in box["dividers"]:
            way = "across" if cut["across"] else "along"
            screen.say(
                f"  divider {way}: {cut['length_mm']:g} x {cut['height_mm']:g} mm, {cut['thickness_mm']:g} thick"
            )
    else:
        screen.say(f"{box['name']}, to be shared: {box['trouble']}", style=screen.ACT)
        for apart in box["apart"]:
            screen.say(f"  {' and '.join(apart['numbers'])}: {apart['why']} ({apart['seen']})")
        if len(box["may_share"]) > 1:
            screen.say("  may share: " + "; ".join(", ".join(group) for group in box["may_share"]))
    for text in box["remarks"]:
        screen.say(f"  ? {text}")


def _tell_shelves(shelves: dict[str, Any]) -> None:
    screen.say()
    for shelf in shelves["shelves"]:
        there = ", ".join(box["number"] for box in shelf["boxes"]) or "empty"
        screen.say(f"Shelf {shelf['shelf']}: {there}; {shelf['load_kg']:.1f} kg of {shelf['rated_kg']:g}")
    for number, why in shelves["without"]:
        screen.say(f"NO PLACE {number}: {why}", style=screen.ACT)
    for text in shelves["remarks"]:
        screen.say(f"! {text}")
