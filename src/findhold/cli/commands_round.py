"""round: who goes when to which store, what was missed, and the sheets to take along."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, JsonOption, LedgerOption, SiteOption, leave
from findhold.errors import BadInput
from findhold.service import office
from findhold.service.rounds import planning, shapes, sheets
from findhold.service.rounds.moment import seen_from

MOST_BOXES = 12
"""So many boxes of a visit are named on the screen; the sheet and --json have all."""


def round_(
    ledger: LedgerOption = None,
    site: SiteOption = None,
    store: Annotated[str | None, typer.Option("--store", metavar="NAME", help="One store only.")] = None,
    name: Annotated[str, typer.Option("--for", metavar="NAME", help="Rounds of one person, by name or initials.")] = "",
    days: Annotated[int, typer.Option("--days", metavar="N", help="How many days ahead.")] = 14,
    sheet: Annotated[
        Path | None, typer.Option("--sheet", metavar="FILE", help="Print the next round of the store: a PDF.")
    ] = None,
    door: Annotated[
        Path | None, typer.Option("--door", metavar="FILE", help="Print the sheet for the store's door: a PDF.")
    ] = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="TIME", help="As seen then: 2026-08-03T08:30+01:00. Default: now.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Show the next rounds: the fewest visits that make every check in time; exit 1 when one was or will be missed."""
    if (sheet or door) and store is None:
        raise BadInput("a sheet is of one store", where="--sheet, --door", do='Add --store "Fridge 1"')
    request = shapes.RoundsRequest(site=site, store=store, for_name=name, days=days)
    files = []
    with office.office(ledger, read_only=True, **seen_from(at)) as desk:
        found = planning.rounds(desk, request)
        if sheet is not None:
            files.append(sheets.write_round_sheet(desk, request, sheet))
        if door is not None:
            files.append(sheets.write_door_sheet(desk, request, door))
    if as_json:
        screen.show_json({**planning.rounds_answer(found), "files": files})
    else:
        tell(found)
        for file in files:
            screen.say(f"  {file}")
    leave(OK if found.all_well else THE_ANSWER_IS_NO)


def tell(found: shapes.Rounds) -> None:
    """The rounds as text: what is wrong first, then when, who, where and which boxes."""
    for missed in found.missed:
        _tell_missed(missed)
    for lost in found.cannot:
        _tell_cannot(lost)
    whose = f" of {found.for_name}" if found.for_name else ""
    ways = "1 round" if len(found.visits) == 1 else f"{len(found.visits)} rounds"
    screen.say(f"{found.site}: {ways}{whose} until {_day(found.until)} for {found.checks} checks.", style="bold")
    rows = [
        [_when(visit.at), visit.who or "anybody", ", ".join(visit.stores), _boxes(visit.boxes)]
        for visit in found.visits
    ]
    screen.table(["when", "who", "store", "boxes"], rows, flex=("who", "store", "boxes"))
    for visit in found.visits:
        if visit.kind == "cover":
            screen.say(f"! {_day(visit.at.date())}: {visit.why_who}.")
    if found.not_forecast:
        screen.say(f"Not forecast yet: {', '.join(found.not_forecast)}. Run: findhold keep --all")
    for question in found.questions:
        screen.say(f"? {question.text}", style=screen.ACT)
    for note in found.notes:
        screen.say(f"  {note}", style="dim")


def _tell_missed(missed: shapes.MissedRound) -> None:
    checks = "1 check" if missed.checks == 1 else f"{missed.checks} checks"
    why = f", {missed.hurried}" if missed.hurried else ""
    words = f"MISSED {missed.store}: {checks} since {_day(missed.since)}, worst {_short(missed.boxes)}{why}."
    screen.say(words, style=screen.ACT)
    screen.say(f"  Tell {missed.tell.words()}. {missed.do}")
    if missed.then is not None and missed.then_on is not None:
        screen.say(f"  Not made by {_day(missed.then_on)}: tell {missed.then.words()}.")


def _tell_cannot(lost: shapes.CannotMake) -> None:
    days = _day(lost.latest) if lost.earliest == lost.latest else f"{_day(lost.earliest)} to {_day(lost.latest)}"
    checks = "1 check" if lost.checks == 1 else f"{lost.checks} checks"
    words = f"NOBODY {lost.store}: {checks} due {days}, {_short(lost.boxes)}. {_capital(lost.why)}."
    screen.say(words, style=screen.ACT)
    near = [
        f"{_day(day)}{f' ({who})' if who else ''}"
        for day, who in ((lost.before, lost.before_who), (lost.after, lost.after_who))
        if day is not None
    ]
    screen.say(f"  Nearest: {' or '.join(near) or 'nobody for two months'}; or name somebody for these days.")


def _boxes(boxes: tuple[shapes.BoxDue, ...]) -> str:
    named = [f"{box.box}{'!' if box.missed or box.alarm else ''}" for box in boxes[:MOST_BOXES]]
    return " ".join(named) + (f" and {len(boxes) - MOST_BOXES} more" if len(boxes) > MOST_BOXES else "")


def _short(boxes: tuple[str, ...]) -> str:
    named = ", ".join(name.split("-")[-2] for name in boxes[:MOST_BOXES])
    return named + (f" and {len(boxes) - MOST_BOXES} more" if len(boxes) > MOST_BOXES else "")


def _when(at: datetime) -> str:
    return f"{_day(at.date())} {at:%H:%M}"


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
