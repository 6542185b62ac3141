"""What happened to a store, worded from what the ledger keeps of it: the same sentences for import and story."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from findhold.dates.instants import for_people
from findhold.record.events import Event

STORE_WORDS = ("store.logged.1", "store.failed.1", "store.retracted.1")
"""The events that are told here."""
TOLD_SHORT_HOURS = 0.5
"""Short warm spells that make less than this together are not worth a sentence."""


def spell_lines(excursions: Mapping[str, Any], warm_c: float, zone: str) -> list[str]:
    """The spells of a series as plain data, a sentence each, worst first.

    Parameters
    ----------
    excursions : `check.excursions.Excursions` as plain data.
    warm_c : the limit above which it is too warm.
    zone : the clock that times are told in.
    """
    said = [_spell_line(spell, warm_c, zone) for spell in excursions["spells"]]
    if excursions["short_hours"] >= TOLD_SHORT_HOURS:
        said.append(
            f"Short warm spells, {excursions['short_count']} of them, {excursions['short_hours']:.1f} h in all: a door"
            " opened, or a compressor that cycles too high."
        )
    warmest, coldest = excursions["warmest_c"], excursions["coldest_c"]
    if not excursions["spells"]:
        said.append(f"Never too warm nor too cold for long: {coldest:.1f} to {warmest:.1f} °C.")
    for begins, ends in excursions["silent"]:
        said.append(
            f"No readings from {_when(begins, zone)} to {_when(ends, zone)}: what happened then is not known."
            " If the store was off, type it with --failure."
        )
    return said


def event_words(event: Event, zone: str, begin: datetime | None = None) -> str:
    """A store's event as its story tells it; spells that ended before `begin` are left out.

    Parameters
    ----------
    event : store.logged.1, store.failed.1 or store.retracted.1.
    zone : the clock that times are told in.
    begin : when the box was put there.
    """
    body = event.body
    if event.word == "store.failed.1":
        return failure_words(body, zone)
    if event.word == "store.retracted.1":
        what = "the readings" if body.get("sha256") else "the failure"
        return f"{what} of its store taken back: {body['reason']}"
    head = f"{body['store']}, logger read to {_when(body['last'], zone)}."
    spells = body["spells"]
    if spells is None:
        return head
    kept = [item for item in spells["spells"] if begin is None or datetime.fromisoformat(item["ends"]) > begin]
    lines = spell_lines({**spells, "spells": kept}, body["limits"]["warm_c"], zone)
    if spells["spells"] and not kept:
        lines = ["Nothing amiss since the box was packed."]
    return " ".join([head, *lines])


def _spell_line(spell: Mapping[str, Any], warm_c: float, zone: str) -> str:
    span = f"from {_when(spell['begins'], zone)} to {_when(spell['ends'], zone)}"
    if not spell["ended"]:
        span = f"from {_when(spell['begins'], zone)}, still so at the last reading, {_when(spell['ends'], zone)}"
    if spell["kind"] == "failure":
        until = f"to {_when(spell['failed_to'], zone)}" if spell["failed_to"] else "and is not back yet"
        return (
            f"It failed: no cold from {_when(spell['failed_from'], zone)} {until}. Above {warm_c:g} °C {span},"
            f" {spell['hours']:.1f} h, {spell['degree_hours']:.0f} degree-hours; warmest {spell['worst_c']:.1f} °C."
        )
    if spell["kind"] == "too warm":
        return (
            f"Too warm, above {warm_c:g} °C, {span}: {spell['hours']:.1f} h, {spell['degree_hours']:.0f} degree-hours;"
            f" warmest {spell['worst_c']:.1f} °C."
        )
    words = "Frozen" if spell["kind"] == "frozen" else "Too cold"
    return f"{words} {span}: {spell['hours']:.1f} h, coldest {spell['worst_c']:.1f} °C."


def failure_words(failure: Mapping[str, Any], zone: str) -> str:
    """A failure typed by hand, in a sentence."""
    room = f"room at {failure['room_c']:g} °C"
    if failure["to"] is None:
        return f"{failure['store']} is off since {_when(failure['from'], zone)}, {room}."
    hours = (datetime.fromisoformat(failure["to"]) - datetime.fromisoformat(failure["from"])).total_seconds() / 3600
    return (
        f"{failure['store']} was off from {_when(failure['from'], zone)} to {_when(failure['to'], zone)},"
        f" {hours:.1f} h, {room}."
    )


def _when(text: str, zone: str) -> str:
    """An instant without its year: the file is of this year."""
    day, _, clock = for_people(datetime.fromisoformat(text), zone).rpartition(", ")
    return f"{day.rsplit(' ', 1)[0]}, {clock}"
