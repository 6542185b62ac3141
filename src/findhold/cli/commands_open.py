"""open: a hold ends, because its box was opened, handed over, or sent."""

from __future__ import annotations

from typing import Annotated

import typer

from findhold.cli import screen
from findhold.cli.ask import JsonOption, LedgerOption, PersonOption, SiteOption


def open_(
    find: Annotated[str, typer.Argument(metavar="FIND", help="The number of the find.")],
    ledger: LedgerOption = None,
    site: SiteOption = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="TIME", help="When, e.g. 2026-08-04T09:30+01:00. Default: now.")
    ] = None,
    how: Annotated[str, typer.Option("--how", metavar="WORD", help="opened, handed over, or sent.")] = "opened",
    reason: Annotated[str, typer.Option(metavar="TEXT", help="Why, or to whom; needed with --undo.")] = "",
    undo: Annotated[bool, typer.Option("--undo", help="It did not end after all: take it back.")] = False,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record that a box was opened, handed over or sent: its hold ends and leaves every list of what waits."""
    from findhold.service import office
    from findhold.service.closing.ending import EndRequest, end_hold
    from findhold.service.requests import moment_typed
    from findhold.service.wire import plain

    request = EndRequest(find=find, how=how, at=moment_typed(at, "--at"), reason=reason, undo=undo, site=site)
    with office.office(ledger, person=person) as desk:
        told = end_hold(desk, request)
    if as_json:
        screen.show_json(plain(told))
        return
    when = f"{told.at:%a} {told.at.day} {told.at:%b} {told.at:%H:%M}"
    if not told.ended:
        screen.say(f"Find {told.find}, {told.box_id}: its hold goes on ({told.reason}).")
        return
    screen.say(f"Find {told.find}, {told.box_id}: {told.how} on {when}; its hold has ended.")
    if told.early_days is not None:
        side = "before" if told.early_days >= 0 else "after"
        screen.say(f"That is {abs(told.early_days):.1f} days {side} its keep-until date.")
