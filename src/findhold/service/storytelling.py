"""Events in words: one line a person can read, for every word the ledger writes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from findhold.record.events import WORDS, Event
from findhold.register.values import worded

FILLED_IN = "filled in from "
"""How the reason begins when a file fills what the ledger had empty; such an event corrects nothing."""


def told(event: Event) -> str:
    """What happened, in one line; the meaning of the word where there is no closer telling."""
    teller = _TELLERS.get(event.word)
    return teller(event.body) if teller is not None else WORDS.get(event.word, event.word)


def _entered(body: dict[str, Any]) -> str:
    words = [str(body[name]) for name in ("what", "description", "name", "reason") if body.get(name)]
    return "entered in the register" + (f": {words[0]}" if words else "")


def _corrected(body: dict[str, Any]) -> str:
    facts = ", ".join(f"{name.replace('_', ' ')} {worded(value)}" for name, value in body["fields"].items())
    reason = body.get("reason", "no reason given")
    return f"{reason}: {facts}" if reason.startswith(FILLED_IN) else f"corrected: {facts} ({reason})"


def _measured(body: dict[str, Any]) -> str:
    length, width, height = body["size_mm"]
    words = f"measured by {body['how']}: {length:.10g} x {width:.10g} x {height:.10g} mm"
    if body["mass_kg"] is not None:
        words += f", {body['mass_kg']:.10g} kg"
    if body.get("file"):
        words += f", from {body['file']}"
    return words + (f" ({body['note']})" if body["note"] else "")


def _planned(body: dict[str, Any]) -> str:
    plan = body["plan"]
    barrier = f", {plan['barrier']} next to the find" if plan.get("barrier") else ""
    return f"planned: box {plan['box']} as {body['box_id']}, {plan['dose_g']:.0f} g of water{barrier}"


def _overridden(body: dict[str, Any]) -> str:
    return f"{body['person']} let {body['material']} pass ({body['rule']}): {body['reason']}"


def _forecast(body: dict[str, Any]) -> str:
    kept = body.get("can_keep")
    verdict = "" if kept is None else ", opening in time" if kept else ", opening too late"
    return f"forecast: keep until {body['keep_until'][:10]}, {body['governing_limit']} governs{verdict}"


def _labelled(body: dict[str, Any]) -> str:
    return f"labels made and read back: {', '.join(body['parts'])}"


def _weighed(body: dict[str, Any]) -> str:
    seen = f"; {body['look']} seen" if body.get("look") in ("mould", "dripping", "dry") else ""
    note = f" ({body['note']})" if body.get("note") else ""
    why = f" (right although far from the plan: {body['why']})" if body.get("why") else ""
    return f"weighed {body['mass_kg']:.5g} kg{seen}{note}{why}"


def _looked(body: dict[str, Any]) -> str:
    note = f" ({body['note']})" if body.get("note") else ""
    return f"looked at, not weighed: {body['look']}{note}"


def _ticked(body: dict[str, Any]) -> str:
    weighed = f" ({body['mass_kg']:.10g} kg)" if body.get("mass_kg") else ""
    return f"step {body['step']} done: {body['text']}{weighed}"


def _packed(body: dict[str, Any]) -> str:
    return f"lid closed {_at(body['at'])}" + (f" ({body['reason']})" if body.get("reason") else "")


def _unpacked(body: dict[str, Any]) -> str:
    back = f"; {_at(body['before']['at'])} holds again" if body["before"].get("at") else ""
    return f"packing date {_at(body['packed'])} taken back{back}" + (f" ({body['reason']})" if body["reason"] else "")


def _at(text: str) -> str:
    return text[:16].replace("T", " ")


def _undone(body: dict[str, Any]) -> str:
    return f"step {body['step']} not done after all: {body['text']}"


def _shelved(body: dict[str, Any]) -> str:
    name = str(body.get("shelf") or "")
    shelf = f", {name if 'shelf' in name.casefold() else f'shelf {name}'}" if name else ""
    passed = "".join(
        f"; {one['person']} let it pass that {one['words']}: {one['reason']}" for one in body.get("overridden", ())
    )
    against = f"; against the rules: {'; '.join(body['against'])}" if body.get("against") else ""
    why = f": {body['reason']}" if body.get("reason") and not passed else ""
    return (
        f"put into {body['store']}{shelf} at {body['at'][:16].replace('T', ' ')} ({body['how']}){why}{passed}{against}"
    )


def _photographed(body: dict[str, Any]) -> str:
    return f"photographed: {body['about']}" + (f" ({body['note']})" if body.get("note") else "")


def _way_chosen(body: dict[str, Any]) -> str:
    if not body["option"]:
        return f"what was chosen for the closure of {body['closure']} was taken back{_because(body)}"
    return f"for the closure of {body['closure']}: {body['option']}, {body['do']}{_because(body)}"


def _ended(body: dict[str, Any]) -> str:
    return f"{body['how']}: its hold ended{_because(body)}"


def _resumed(body: dict[str, Any]) -> str:
    return f"its hold goes on after all ({body['reason']})"


def _because(body: dict[str, Any]) -> str:
    return f" ({body['reason']})" if body.get("reason") else ""


_TELLERS: dict[str, Callable[[dict[str, Any]], str]] = {
    "thing.entered.1": _entered,
    "thing.corrected.1": _corrected,
    "find.measured.1": _measured,
    "hold.planned.1": _planned,
    "hold.overridden.1": _overridden,
    "hold.forecast.1": _forecast,
    "hold.labelled.1": _labelled,
    "hold.step.1": _ticked,
    "hold.step.undone.1": _undone,
    "box.packed.1": _packed,
    "box.packed.undone.1": _unpacked,
    "box.weighed.1": _weighed,
    "box.looked.1": _looked,
    "box.shelved.1": _shelved,
    "photo.kept.1": _photographed,
    "hold.way.chosen.1": _way_chosen,
    "hold.ended.1": _ended,
    "hold.resumed.1": _resumed,
}
