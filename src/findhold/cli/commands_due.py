"""due: what is late, told once and worst first, and what comes; as text, calendar or e-mail."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, JsonOption, LedgerOption, PersonOption, SiteOption, leave
from findhold.service import diary, office, wire
from findhold.service.rounds import calendars, digest, mail, planning, shapes
from findhold.service.rounds.moment import seen_from
from findhold.service.whose_due import due_answer, due_for

MOST_LATE = 15
"""So many late boxes are named on the screen; --json has all."""
MOST_ROWS = 60
"""So many things to come are listed on the screen; --days brings fewer, --json has all."""


def due(
    ledger: LedgerOption = None,
    site: SiteOption = None,
    days: Annotated[int | None, typer.Option(metavar="N", help="Only what falls due within N days.")] = None,
    store: Annotated[str | None, typer.Option("--store", metavar="NAME", help="One store only.")] = None,
    name: Annotated[
        str, typer.Option("--for", metavar="NAME", help="One person only: their rounds, in list, calendar and e-mail.")
    ] = "",
    calendar: Annotated[
        Path | None,
        typer.Option("--calendar", "--ics", metavar="FILE", help="Write a calendar file; a later one updates it."),
    ] = None,
    post: Annotated[bool, typer.Option("--mail", help="Send what is due by the unit's own mail server.")] = False,
    at: Annotated[
        str | None, typer.Option("--at", metavar="TIME", help="As seen then: 2026-08-03T08:30+01:00. Default: now.")
    ] = None,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """List what is late, worst first, and what comes; exit 1 when something is late."""
    rounds = shapes.RoundsRequest(site=site, store=store, for_name=name, days=14 if days is None else days)
    whole = calendar if not name.strip() and store is None else None
    files = []
    sent = None
    server = mail.read_mail() if post else None
    with office.office(ledger, person=person, read_only=not post, **seen_from(at)) as desk:
        known = planning.store_spelt(desk, store)
        found = diary.due(desk, diary.DueRequest(site=site, days=days, calendar=whole, store=known))
        if name.strip():
            found = due_for(desk, found, rounds)
        if calendar is not None and whole is None:
            ahead = shapes.RoundsRequest(site=site, store=store, for_name=name, days=calendars.AHEAD_DAYS)
            files.append(calendars.write_rounds_calendar(desk, ahead, calendar))
        if server is not None:
            sent = mail.send_digest(desk, rounds, server)
        told = due_answer(desk, found)
    if as_json:
        more = {"calendars": wire.plain(files)} | ({} if sent is None else {"mail": wire.plain(sent)})
        screen.show_json({**told, **(more if files or sent else {})})
    else:
        tell(found)
        for line in told["not_to_be_called"]:
            screen.say(line, style=screen.ACT)
        for file in files:
            gone = f", {file.withdrawn} withdrawn" if file.withdrawn else ""
            screen.say(f"  {file.file}, {file.events} events{gone}")
        if sent is not None:
            _tell_sent(sent)
    leave(THE_ANSWER_IS_NO if found.late or (sent is not None and sent.refused) else OK)


def tell(found: diary.Due) -> None:
    """What is late, one line a box, then what comes."""
    if found.late:
        one = len(found.late) == 1
        screen.say(f"LATE: {len(found.late)} {'box' if one else 'boxes'}, worst first", style=screen.ACT)
        rows = [
            [box.box_id.split("-")[-2], box.find, box.store, digest.late_words(box), _day(box.since)]
            for box in found.late[:MOST_LATE]
        ]
        screen.table(["box", "find", "store", "what", "since"], rows, flex=("what",))
        if len(found.late) > MOST_LATE:
            screen.say(f"and {len(found.late) - MOST_LATE} more boxes; --json lists all")
    coming = [row for row in found.rows if not row.late and row.at >= found.now]
    years = {row.at.year for row in coming}
    rows = [
        [
            _day(row.at) + (f" {row.at.year}" if len(years) > 1 else "") + f" {row.at:%H:%M}",
            row.what,
            row.find,
            row.box_id.split("-")[-2],
            row.store,
            row.expect,
            row.note,
        ]
        for row in coming[:MOST_ROWS]
    ]
    screen.table(["when", "what", "find", "box", "store", "kg", "note"], rows, flex=("note",))
    if len(coming) > MOST_ROWS:
        screen.say(f"and {len(coming) - MOST_ROWS} more; --days N brings fewer, --json lists all")
    if found.not_planned:
        numbers = ", ".join(found.not_planned)
        screen.say(f"No box planned yet: {numbers}. Run: findhold plan {found.not_planned[0]}", style=screen.ACT)
    if found.not_forecast:
        screen.say(f"Not forecast yet: {', '.join(found.not_forecast)}. Run: findhold keep --all")
    if found.calendar:
        screen.say(f"  {found.calendar}, {found.calendar_events} events")


def _tell_sent(sent: mail.Sent) -> None:
    if sent.not_sent:
        screen.say(f"No e-mail sent: {sent.not_sent}.")
        return
    screen.say(f"Sent to {', '.join(sent.taken)}: {sent.subject}")
    for address, words in sent.refused:
        screen.say(f"Refused: {address} ({words})", style=screen.ACT)


def _day(at: datetime) -> str:
    return f"{at:%a} {at.day} {at:%b}"
