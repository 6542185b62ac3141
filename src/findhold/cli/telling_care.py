"""First aid, conflicts, order and blanks of a plan as text: few lines, or all of them."""

from __future__ import annotations

from typing import Any

from findhold.cli import screen

SHOWN = 6
"""So many conflicts that want a control are shown unless all are asked for."""
SETTLED_WITH_CONFLICT = ("parts: ", "order: ")
"""Beginnings of what a question is about when its conflict is told with its choices already."""


def tell_first_aid(lines: list[dict[str, Any]], *, full: bool) -> None:
    """First aid: what, and when all is asked for, why and how far the source was seen."""
    for place, line in enumerate(lines):
        head = "first aid" if place == 0 else ""
        why = f" ({line['why']})" if line["why"] and (full or place == 0) else ""
        mark = f" [{line['seen']}: {line['source']}]" if full else ""
        screen.say(f"  {head:<10} {line['what']}{why}{mark}")


def tell_stops(conflicts: list[dict[str, Any]]) -> None:
    """Conflicts that stop the plan."""
    for one in conflicts:
        if _stops(one):
            tell_conflict(one)


def _stops(conflict: dict[str, Any]) -> bool:
    return conflict["verdict"] == "forbidden" and not conflict["overridden_by"]


def tell_conflicts(conflicts: list[dict[str, Any]], *, full: bool) -> None:
    """Conflicts that do not stop the plan: what was let pass or wants a choice first, the rest up to a few."""
    conflicts = [one for one in conflicts if not _stops(one)]
    first = [one for one in conflicts if one["overridden_by"] or one["choices"]]
    others = [one for one in conflicts if one not in first]
    shown = others if full else others[:SHOWN]
    for one in (*first, *shown):
        tell_conflict(one)
    if len(shown) < len(others):
        screen.say(f"  and {len(others) - len(shown)} more that want a control: --full shows them", style="dim")


def tell_conflict(conflict: dict[str, Any]) -> None:
    """One rule met: what stands against what, what to do, and who decides where a person has to choose."""
    named = conflict["kind"] in ("parts", "state")
    pair = conflict["material"] if named else f"{conflict['material']} and {conflict['analysis']}"
    if conflict["overridden_by"]:
        word = "settled" if conflict["choices"] else "allowed"
        about = f"{pair}: {conflict['text']}" if named else pair
        screen.say(f"! {about}: {word} by {conflict['overridden_by']} ({conflict['reason']})")
        return
    if conflict["verdict"] == "forbidden":
        screen.say(f"STOP {pair}: {conflict['text']}", style=screen.ACT)
        screen.say(f"     {conflict['remedy']}")
        screen.say(
            f'     Or: --override "{conflict["material"]}:{conflict["analysis"]}" --allowed-by NAME --reason "WHY"'
        )
    elif named:
        screen.say(f"! {pair}: {conflict['text']}.")
        screen.say(f"  {conflict['remedy']}")
    else:
        screen.say(f"! {pair}: {conflict['verdict']}. {conflict['remedy']}")
    if conflict["choices"]:
        ways = "; or ".join(conflict["choices"])
        screen.say(f"? Who decides: {conflict['who']}, {conflict['by']}: {ways}.", style=screen.ACT)


def tell_order(order: dict[str, Any], *, full: bool) -> None:
    """The order of the opening day: one line, or a line for each thing with its reason."""
    steps = order["steps"]
    if not steps:
        return
    if full:
        screen.say("Order on the opening day:")
        for step in steps:
            screen.say(f"  {step['number']:>2}  {step['words']}{_reason(step)}")
    else:
        screen.say(f"  {'order':<10} {', '.join(step['called'] for step in steps)}")
    for said in order["gave_way"]:
        screen.say(f"  {'':<10} {said}")


def tell_blanks(controls: list[dict[str, Any]], *, full: bool) -> None:
    """Controls and blanks to keep: named in one line, or each with how much and how it is wrapped."""
    if not controls:
        return
    if not full:
        now = [control["name"] for control in controls if control["taken"] == "at packing"]
        later = [control["name"] for control in controls if control["taken"] != "at packing"]
        said = ", ".join(now) + (f"; at the opening {', '.join(later)}" if later else "")
        screen.say(f"  {'blanks of':<10} {said} (--full: how much)")
        return
    screen.say("Controls and blanks to keep:")
    for control in controls:
        when = "" if control["taken"] == "at packing" else f", {control['taken']}"
        for_whom = ", ".join(control["analyses"])
        screen.say(f"  {control['what']}: {control['how_much']}{when}; label {control['labelled']}; for {for_whom}")


def _reason(step: dict[str, Any]) -> str:
    return f" ({step['why']})" if step["why"] else ""
