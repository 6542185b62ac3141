"""move: where a box can go, moving it, and what to do when a store fails."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from findhold.cli import commands_drill, screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, JsonOption, LedgerOption, PersonOption, SiteOption, leave
from findhold.errors import BadInput
from findhold.service import office
from findhold.service.requests import moment_typed
from findhold.service.rounds.moment import seen_from
from findhold.service.store_boxes import Ensemble
from findhold.service.storekeeping import drill as drills
from findhold.service.storekeeping import moving, suggesting


def move(
    box: Annotated[
        str | None, typer.Argument(metavar="[FIND]", help="The find, or the code or number of its box (B1).")
    ] = None,
    ledger: LedgerOption = None,
    site: SiteOption = None,
    to: Annotated[
        str | None, typer.Option("--to", metavar="STORE", help="The store it goes to; without it, says where it can.")
    ] = None,
    shelf: Annotated[str, typer.Option("--shelf", metavar="NAME", help="The shelf in it.")] = "",
    spot: Annotated[
        str, typer.Option("--spot", metavar="SPOT", help='Where on the shelf: a name, or "LEFT,FRONT" in mm, T turned.')
    ] = "",
    at: Annotated[
        str | None,
        typer.Option("--at", metavar="TIME", help="When it was, or is seen from: 2026-08-03T08:30+01:00."),
    ] = None,
    override: Annotated[
        list[str] | None, typer.Option("--override", metavar="RULE", help="Let a rule pass; needs --person, --reason.")
    ] = None,
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why, for the record.")] = "",
    off: Annotated[
        str | None, typer.Option("--off", metavar="STORE", help="A store that failed: what to do with all its boxes.")
    ] = None,
    since: Annotated[
        str | None, typer.Option("--since", metavar="TIME", help="Since when it is off; not needed once recorded.")
    ] = None,
    room: Annotated[float | None, typer.Option("--room", metavar="C", help="Temperature of the room, °C.")] = None,
    record: Annotated[bool, typer.Option("--record", help="With --off: record the failure.")] = False,
    sheet: Annotated[
        Path | None, typer.Option("--sheet", metavar="FILE", help="With --off: the sheet to carry, a PDF.")
    ] = None,
    members: Annotated[int, typer.Option("--members", metavar="N", help="Members of the forecast.", min=10)] = 1000,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Check everything, record nothing.")] = False,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say where a box can go, or record that it was moved; exit 1 when a rule or the room forbids it.

    The find is forecast again for the air of its new store from the time of the move. With --off, a place for every
    box of a store that failed, worst first; exit 1 when one has nowhere to go.
    """
    if off is not None:
        if box is not None or to is not None:
            raise BadInput("a drill is of a whole store", where="--off", do="Leave the find and --to out")
        ensemble = Ensemble(site=site, members=members)
        asked = drills.DrillRequest(
            store=off, since=moment_typed(since, "--since"), room_c=room, record=record, ensemble=ensemble
        )
        commands_drill.run_drill(asked, commands_drill.Run(ledger=ledger, person=person, at=at, sheet=sheet), as_json)
        return
    if box is None:
        raise BadInput("which box?", do='Name the find: findhold move 48 --to "Fridge 1" --shelf 2; or a store: --off')
    if to is None:
        _suggest(ledger, at, suggesting.SuggestRequest(find=box, site=site), as_json=as_json)
        return
    request = moving.MoveRequest(
        find=box,
        to=to,
        shelf=shelf,
        spot=spot,
        at=moment_typed(at, "--at"),
        site=site,
        overrides=tuple(override or ()),
        reason=reason,
        person=person or "",
        members=members,
        dry_run=dry_run,
    )
    with office.office(ledger, person=person, read_only=dry_run) as desk:
        told = moving.move(desk, request)
    if as_json:
        screen.show_json(moving.moved_shape(told))
    else:
        tell_move(told)
    leave(OK if told.allowed else THE_ANSWER_IS_NO)


def _suggest(ledger: str | None, at: str | None, request: suggesting.SuggestRequest, *, as_json: bool) -> None:
    with office.office(ledger, read_only=True, **seen_from(at)) as desk, screen.busy("looking at every shelf"):
        told = suggesting.suggest(desk, request)
    if as_json:
        screen.show_json(suggesting.suggested_shape(told))
    else:
        tell_places(told)
    leave(OK if told.open else THE_ANSWER_IS_NO)


def tell_places(told: suggesting.Suggested) -> None:
    """Where a box can go, best first, and where it may not."""
    where = f"stands in {told.now_in}" if told.now_in else "stands in no store yet"
    shelf = f", shelf {told.now_on}" if told.now_on else ", shelf not recorded" if told.now_in else ""
    screen.say(f"Find {told.find}, {told.what} ({told.box_id}): {where}{shelf}.", style="bold")
    for rank, place in enumerate(told.open[: suggesting.MOST_SHOWN], 1):
        screen.say(f"{rank}. {place.name()}", style="bold")
        screen.say(f"   {suggesting.place_line(place, told.zone, told.now)}")
        spot = suggesting.spot_words(place)
        if spot:
            screen.say(f"   Put it {spot}.", style="dim")
    if len(told.open) > suggesting.MOST_SHOWN:
        screen.say(f"   and {len(told.open) - suggesting.MOST_SHOWN} more, with --json")
    for line in suggesting.least_bad(told):
        screen.say(line, style=screen.ACT)
    if told.closed:
        screen.say("Not there:")
        for why in dict.fromkeys(place.why_not() for place in told.closed):
            screen.say(f"   {why}")
    if told.assumed:
        screen.say(f"   Shelf not recorded, taken where it goes best: finds {', '.join(told.assumed)}.", style="dim")
    for note in told.notes:
        screen.say(f"   {note}", style="dim")


def tell_move(told: moving.Moved) -> None:
    """What came of a move: recorded or forbidden, with what speaks against it and the nearest good place."""
    place = f"{told.store}, shelf {told.shelf}" if told.shelf else told.store
    if not told.allowed:
        screen.say(f"NOT to {place}: find {told.find} stays where it is, nothing was recorded.", style=screen.ACT)
    elif told.known_before:
        screen.say(f"Find {told.find} stands in {place} already: nothing was changed.")
    else:
        what = "can go to" if told.dry_run else "moved to"
        screen.say(f"Find {told.find} {what} {place}, {told.at:%d %b %Y, %H:%M}.", style="bold")
    for one in told.verdict.against:
        passed = next((row for row in told.overridden if row["rule"] == one.rule), None)
        by = f" (let pass by {passed['person']}: {passed['reason']})" if passed else ""
        screen.say(f"- {one.words}{by}", style=None if one.severity == "advice" or passed else screen.ACT)
        if one.severity == "forbidden" and not passed:
            screen.say(f'  {one.do[:1].upper()}{one.do[1:]}; or --override "{one.rule}" with --person and --reason.')
    for line in told.verdict.not_known:
        screen.say(f"  {line}", style="dim")
    if told.no_room_for:
        screen.say(
            f"- no room is left in {told.store} for finds {', '.join(told.no_room_for)}, whose shelf is not recorded"
        )
    if told.nearest is not None:
        screen.say(
            f"Nearest good place: {told.nearest.name()}: {suggesting.place_line(told.nearest, told.zone, told.at)}."
        )
    if told.late:
        screen.say("A later move is recorded: the box stands where that put it.")
    if told.not_forecast is not None:
        screen.say(f"It could not be forecast there: {told.not_forecast.sentence()}", style=screen.ACT)
    elif told.recorded and told.keep_until != told.keep_until_before:
        before = (told.keep_until_before or "no date")[:10]
        screen.say(f"Keep until {(told.keep_until or 'no date')[:10]} ({told.governing_limit}), before {before}.")
