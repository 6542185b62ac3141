"""The part of `move` that is about a store that failed: every box, worst first, where it goes, whom to call."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, leave
from findhold.service import office
from findhold.service.rounds.moment import seen_from
from findhold.service.storekeeping import drill as drills
from findhold.service.storekeeping import drill_sheet
from findhold.service.storekeeping.suggesting import place_line, spot_words


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What was typed about the run itself."""

    ledger: str | None
    person: str | None
    at: str | None
    sheet: Path | None


def run_drill(request: drills.DrillRequest, run: Run, as_json: bool) -> None:
    """Work out the drill, tell it, print its sheet; leaves with 1 when a box has nowhere to go."""
    clock = seen_from(run.at)
    with (
        office.office(run.ledger, person=run.person, read_only=not request.record, **clock) as desk,
        screen.progress("forecasting") as moved,
    ):
        told = drills.drill(desk, request, moved)
        file = drill_sheet.write_drill_sheet(desk, told, run.sheet) if run.sheet else None
    if as_json:
        screen.show_json({**drills.drill_shape(told), "file": file})
    else:
        tell_drill(told)
        if file:
            screen.say(f"  {file}")
    leave(OK if told.all_placed else THE_ANSWER_IS_NO)


def tell_drill(told: drills.Drill) -> None:
    """Whom to call, then every box: worst first, where it goes."""
    warm = f"; passes {told.warm_c:g} °C about {_when(told.warm_at)} if it stays shut" if told.warm_at else ""
    head = f"{told.store} off since {_when(told.since)}, room at {told.room_c:g} °C{warm}."
    screen.say(head, style=screen.ACT)
    screen.say(f"Call first: {told.call_first.words()}.", style="bold")
    if not told.boxes:
        screen.say("No box stands in it.")
    for box in told.boxes:
        _tell_box(box, told)
    for _, text in told.acts:
        screen.say(f"- {text}")
    if not told.all_placed:
        placed = sum(box.place is not None for box in told.boxes)
        proof = "proved: no more can" if told.most_proved else "not proved: more might, in another arrangement"
        screen.say(f"{placed} of {len(told.boxes)} boxes have a place ({proof}).")
    others = "; ".join(call.words() for call in told.calls)
    screen.say(f"Then call: {others}." if others else "Nobody else is entered.")
    if told.assumed:
        screen.say(f"  Shelf not recorded, taken where it goes best: finds {', '.join(told.assumed)}.", style="dim")
    for store, words in told.failed_lately:
        screen.say(f"! {store} {words}.")
    for note in told.notes:
        screen.say(f"  note: {note}", style="dim")
    if told.known_before:
        screen.say("The failure is recorded already.")
    elif told.recorded:
        screen.say(
            "The failure is recorded, with new forecasts. Record each move when it is done: findhold move FIND --to"
        )
    else:
        screen.say("Nothing was recorded: add --record for the failure; each move with findhold move FIND --to STORE.")


def _tell_box(box: drills.DrillBox, told: drills.Drill) -> None:
    on = f" from shelf {box.on}" if box.on else ""
    screen.say(f"{box.rank}. {box.box} find {box.find}, {box.what}, {box.mass_kg:.2f} kg{on}", style="bold")
    if box.told is not None and box.stays_until is not None:
        screen.say(f"   if it stays: {box.told.do} ({box.stays_limit})")
    if box.not_forecast:
        screen.say(f"   not forecast: {box.not_forecast}", style=screen.ACT)
    if box.place is not None:
        screen.say(f"   -> {box.place.name()}: {place_line(box.place, told.zone, told.now)}")
        spot = spot_words(box.place)
        if spot:
            screen.say(f"      {spot}", style="dim")
        return
    if box.leave:
        screen.say(f"   {box.leave}", style=screen.ACT)
        return
    screen.say("   NOWHERE to go:", style=screen.ACT)
    for line in box.why_not:
        screen.say(f"      {line}")
    for line in drills.least_bad(box):
        screen.say(f"   least bad: {line}", style=screen.ACT)


def _when(at: datetime) -> str:
    return f"{at:%a} {at.day} {at:%b} {at:%H:%M}"
