"""weigh: one box on the balance, at the fridge door."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

import typer

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, JsonOption, LedgerOption, PersonOption, SiteOption, leave
from findhold.rounding import told_band
from findhold.service import office, weighing


def weigh(
    box: Annotated[
        str, typer.Argument(metavar="BOX", help="Identity on the label, B1 for box 1, or the find's number.")
    ],
    mass: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="MASS", help="As the balance shows it: '13.04 kg', '13040 g', '13,04' (kg). Left out: --look alone."
        ),
    ] = None,
    ledger: LedgerOption = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="TIME", help="When, if not now: 2026-08-07T09:10+01:00.")
    ] = None,
    balance: Annotated[
        float | None, typer.Option("--balance", metavar="G", help="Last digit of the balance in grams: 1 or 0.1.")
    ] = None,
    wiped: Annotated[
        bool | None, typer.Option("--wiped/--not-wiped", help="Whether the box was cold and wiped dry.")
    ] = None,
    opened: Annotated[
        bool, typer.Option("--opened", help="The lid was opened or refitted since the last weighing.")
    ] = False,
    water: Annotated[float, typer.Option("--water", metavar="G", help="Water put in since then, in grams.")] = 0.0,
    look: Annotated[
        str,
        typer.Option(
            "--look",
            metavar="dry|right|dripping|mould",
            help="What is seen. Left out: nobody looked, and what was seen amiss before stands.",
        ),
    ] = "",
    note: Annotated[str, typer.Option(metavar="TEXT", help="Anything else, recorded with it.")] = "",
    why: Annotated[str, typer.Option(metavar="TEXT", help="Why a mass that is far off is right all the same.")] = "",
    site: SiteOption = None,
    members: Annotated[int, typer.Option(metavar="N", help="Members of the forecast's ensemble.")] = 1000,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a weighing, or a look alone: is the box right, what to do, when next, and until when it keeps now."""
    request = weighing.WeighRequest(
        box=box,
        mass=" ".join(mass or ()),
        at=at,
        balance_g=balance,
        wiped=wiped,
        opened=opened,
        water_g=water,
        look=look,
        note=note,
        why=why,
        site=site,
        members=members,
    )
    with office.office(ledger, person=person) as desk, screen.busy("forecasting"):
        done = weighing.weigh(desk, request)
    if as_json:
        screen.show_json(done.shape)
    else:
        tell_weighing(done.shape)
    leave(THE_ANSWER_IS_NO if done.word == "act" else OK)


def tell_weighing(shape: dict[str, Any]) -> None:
    """A weighing for the person at the fridge door: the verdict first, then what to do, then when next."""
    act = screen.ACT if shape["verdict"] == "act" else "bold"
    what = f", {shape['what']}" if shape["what"] else ""
    mass = "not weighed" if shape["mass_kg"] is None else f"{shape['mass_kg']:.10g} kg"
    screen.say(f"{shape['box_id']} (find {shape['find']}{what}): {mass}", style="bold")
    screen.say(shape["verdict"].upper(), style=act)
    for line in shape["says"]:
        screen.say(line)
    if shape["causes"]:
        screen.say("It may mean, in this order:")
    for place, cause in enumerate(shape["causes"], 1):
        screen.say(f"  {place}. {cause['means']}")
    for place, step in enumerate(shape["do"], 1):
        if place == 1:
            screen.say("Do now:", style=act)
        screen.say(f"  {place}. {step}")
    if shape["tell"]:
        screen.say("Tell:", style=act)
        for name in shape["tell"]:
            screen.say(f"  - {name}")
    _tell_ahead(shape)
    for line in shape["notes"]:
        screen.say(f"  noted: {line}", style="dim")
    settled = shape["counted"] or shape["mass_kg"] is None
    screen.say("Recorded." if settled else "Recorded as typed; it does not count until it is settled.")


def _tell_ahead(shape: dict[str, Any]) -> None:
    """What was learned, the next check and the date."""
    if shape["learned"]:
        learned = shape["learned"]
        lost, day = learned["water_lost_g"], _day(learned["water_lost_at"])
        screen.say(f"Water lost by {day}: {lost['best']:.2g} g ({lost['low']:.2g} to {lost['high']:.2g}).")
        screen.say(learned["balance_says"])
    check = shape["next_check"]
    if check is not None:
        band = ""
        if check["best_kg"] is not None:
            low, best, high = told_band(check["low_kg"], check["best_kg"], check["high_kg"])
            band = f": {best} kg ({low} to {high})"
        screen.say(f"Next check {_when(check['at'])}{band}")
    if shape["keep_until"] is not None:
        moved = f" (was {_day(shape['keep_until_before'])})" if shape["keep_until_moved"] else ""
        late = " The planned opening is too late." if shape["can_keep"] is False else ""
        screen.say(f"Keep until {_day(shape['keep_until'])}{moved}: {shape['governing_limit']} governs.{late}")
    if shape["not_forecast"] is not None:
        screen.say(f"No forecast could be made: {shape['not_forecast']['sentence']}", style=screen.ACT)


def _day(text: str) -> str:
    return f"{datetime.fromisoformat(text):%a %-d %b %Y}"


def _when(text: str) -> str:
    return f"{datetime.fromisoformat(text):%a %-d %b, %H:%M}"
