"""measure: a find by tape or from a scan, recorded; or a scan by itself, only told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

import typer

from findhold.cli import asking, screen
from findhold.cli.ask import THE_ANSWER_IS_NO, JsonOption, LedgerOption, PersonOption, SiteOption, leave
from findhold.errors import BadInput, Mistakes
from findhold.service.packing import measuring


def measure(
    find: Annotated[
        str | None, typer.Argument(metavar="[FIND]", help="Number of the find. Without it nothing is recorded.")
    ] = None,
    ledger: LedgerOption = None,
    size: Annotated[
        str | None, typer.Option("--size", metavar="LxWxH", help="By tape, in mm: 230x210x140; or with cm behind it.")
    ] = None,
    profile: Annotated[
        str | None,
        typer.Option(metavar="ROWS", help="Length x width by height: '0:180x160 60:230x210 140:150x140'."),
    ] = None,
    section: Annotated[
        str | None, typer.Option(metavar="ellipse|rectangle", help="Form of the profile's sections.")
    ] = None,
    mass: Annotated[str | None, typer.Option("--mass", metavar="MASS", help="As lifted: 12.2, '12200 g'.")] = None,
    soil: Annotated[
        str | None, typer.Option("--soil", metavar="NAME", help="Soil of the block, when the register does not say.")
    ] = None,
    scan: Annotated[
        Path | None, typer.Option("--scan", metavar="FILE", help="A scan instead: PLY, OBJ, STL or GLB.")
    ] = None,
    units: Annotated[str | None, typer.Option(metavar="mm|cm|m|in", help="Unit of the scan.")] = None,
    up: Annotated[str | None, typer.Option("--up", metavar="z|y|x|-z|-y|-x", help="Axis that points up.")] = None,
    answer: Annotated[
        list[str] | None, typer.Option(metavar="ABOUT=CHOICE", help="Answer to a question asked before.")
    ] = None,
    note: Annotated[str, typer.Option(metavar="TEXT", help="Anything else, recorded with it.")] = "",
    site: SiteOption = None,
    full: Annotated[bool, typer.Option("--full", help="Show the profile too.")] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Measure, record nothing.")] = False,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Measure a find: sizes, volume, centre of gravity, profile; asks where a unit cannot be right."""
    request = measuring.MeasureRequest(
        find=find,
        site=site,
        size=size,
        profile=profile,
        section=section,
        mass=mass,
        soil=soil,
        scan=scan,
        units=units,
        up=up,
        note=note,
        answers=_answers(answer or []),
        record=not dry_run,
    )
    told = _settled(request, ledger, person, asks=not as_json and asking.on_terminal())
    if as_json:
        screen.show_json(told.shape)
    else:
        tell_measured(told.shape, full=full)


def _answers(pairs: list[str]) -> dict[str, str]:
    """Answers as typed, by what they are about."""
    split = [pair.partition("=") for pair in pairs]
    for about, equals, choice in split:
        if not (about.strip() and equals and choice.strip()):
            do = 'Write "what it is about=the choice"'
            raise BadInput(f"{about + equals + choice!r} is not an answer", where="--answer", do=do)
    return {about.strip(): choice.strip() for about, _, choice in split}


def _settled(
    request: measuring.MeasureRequest, ledger: str | None, person: str | None, *, asks: bool
) -> measuring.MeasureTold:
    """Measure; a person at the terminal settles the questions one after the other."""
    while True:
        try:
            return _measure(request, ledger, person)
        except Mistakes as error:
            if not asks or not error.answerable:
                raise
            answers, all_given = asking.ask_all(error.questions, asking.ask_one)
        request = replace(request, answers={**request.answers, **answers})
        if not all_given:
            screen.say("Nothing was recorded.")
            asking.say_answers(answers)
            leave(THE_ANSWER_IS_NO)


def _measure(request: measuring.MeasureRequest, ledger: str | None, person: str | None) -> measuring.MeasureTold:
    if request.find is None:
        with screen.busy("measuring"):
            return measuring.measure_alone(request)
    from findhold.service import office

    with office.office(ledger, person=person) as desk, screen.busy("measuring"):
        return measuring.measure(desk, request)


def tell_measured(shape: dict[str, Any], *, full: bool = False) -> None:
    """A measurement for a person: sizes first, then what was taken, what is asked, and what to do next."""
    scan = shape["scan"]
    name = f"Find {shape['find']}" if shape["find"] else (scan["file"] if scan else "By tape")
    length, width, height = shape["size_mm"]
    screen.say(f"{name}: {length:.1f} x {width:.1f} x {height:.1f} mm, measured by {shape['how']}", style="bold")
    cog = shape["cog_mm"]
    screen.facts(
        [
            ("volume", _volume(shape)),
            ("mass", _mass(shape)),
            ("centre of gravity", None if cog is None else "{:.0f}, {:.0f}, {:.0f} mm from the corner".format(*cog)),
            (
                "before",
                None if not shape["before_mm"] else "{:.10g} x {:.10g} x {:.10g} mm".format(*shape["before_mm"]),
            ),
        ]
    )
    if full and shape["profile_mm"]:
        rows = [[f"{value:.1f}" for value in row] for row in shape["profile_mm"]]
        screen.table(["height mm", "length mm", "width mm"], rows, right=("height mm", "length mm", "width mm"))
    for remark in shape["remarks"]:
        screen.say(f"  {remark}", style="dim")
    for question in shape["questions"]:
        screen.say(f"? {question['text']}", style=screen.ACT)
    _tell_recorded(shape)


def _tell_recorded(shape: dict[str, Any]) -> None:
    """What became of the measurement, and what to do next."""
    if shape["known_before"]:
        screen.say("This was recorded already: nothing was changed.")
    elif shape["recorded"]:
        kept = " The scan is kept beside the ledger." if shape["sha256"] else ""
        screen.say(f"Recorded.{kept}")
    else:
        screen.say("Nothing was recorded.")
    if shape["plan_again"] and shape["recorded"]:
        text = f"Box {shape['plan_again']} was planned for the sizes before. Plan again: findhold plan {shape['find']}"
        screen.say(text, style=screen.ACT)


def _volume(shape: dict[str, Any]) -> str | None:
    low, best, high = (shape[f"volume{edge}_l"] for edge in ("_low", "", "_high"))
    if best is None:
        return None if high is None else f"not known, at most {high:.3g} L"
    same = low is None or high is None or high - low < 0.005 * high
    return f"{best:.3g} L" if same else f"{best:.3g} L ({low:.3g} to {high:.3g})"


def _mass(shape: dict[str, Any]) -> str | None:
    if shape["mass_kg"] is not None:
        return f"{shape['mass_kg']:.10g} kg"
    band = shape["mass_band"]
    if band is None:
        return None
    return f"about {band['best_kg']:.1f} kg ({band['low_kg']:.1f} to {band['high_kg']:.1f}), not weighed"
