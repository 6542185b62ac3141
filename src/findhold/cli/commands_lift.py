"""lift: how many hands a block and its box take, on which board, to which shelf."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Annotated, Any

import typer

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, JsonOption, LedgerOption, SiteOption, leave
from findhold.errors import BadInput

_SAID = ("next_steps", "warnings", "cautions")
_PEOPLE = {None: "no team at hand", 1: "one person", 2: "two people", 3: "three people"}


def lift(
    finds: Annotated[
        list[str] | None,
        typer.Argument(metavar="[FIND ... | SCENARIO.toml]", help="Numbers of finds, or one scenario file."),
    ] = None,
    ledger: LedgerOption = None,
    every: Annotated[bool, typer.Option("--all", help="Every find of the site with a planned box.")] = False,
    site: SiteOption = None,
    shelf: Annotated[str | None, typer.Option("--shelf", metavar="MM", help="Height of the shelf.")] = None,
    bench: Annotated[str | None, typer.Option("--bench", metavar="MM", help="Height of the bench.")] = None,
    ground: Annotated[
        str | None, typer.Option("--ground", metavar="MM", help="Height of the block's base over the feet.")
    ] = None,
    door: Annotated[str | None, typer.Option("--door", metavar="MM", help="Narrowest door on the way.")] = None,
    people: Annotated[str | None, typer.Option("--people", metavar="N", help="Most people at hand.")] = None,
    guideline: Annotated[
        str | None, typer.Option("--guideline", metavar="women|men", help="Column of the filter that answers.")
    ] = None,
    minutes: Annotated[
        str | None, typer.Option("--round", metavar="MIN", help="Put all the boxes away in so many minutes.")
    ] = None,
    full: Annotated[bool, typer.Option("--full", help="Show steps, boards and every assumption.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Say how many hands a lift takes at both ends of its way, with which board, and what would make it easier."""
    from findhold.service.packing import lifting

    added = {
        "destination_height_mm": _figure("--shelf", shelf, "mm"),
        "origin_height_mm": _figure("--bench", bench, "mm"),
        "ground_height_mm": _figure("--ground", ground, "mm"),
        "door_mm": _figure("--door", door, "mm"),
        "people": _people(people),
        "guideline": guideline,
    }
    round_min = _figure("--round", minutes, "min")
    given = {key: value for key, value in added.items() if value is not None}
    named = [text for text in finds or () if text.lower().endswith(".toml")]
    if named:
        _scenario(finds or [], given, round_min, as_json=as_json, full=full)
        return
    if every == bool(finds):
        raise BadInput("which finds?", do="Give their numbers, or --all, or one SCENARIO.toml")
    from findhold.service import office

    request = lifting.LiftRequest(finds=tuple(finds or ()), site=site, given=given, round_min=round_min)
    with office.office(ledger, read_only=True) as desk:
        done = lifting.lift_finds(desk, request)
    shapes = [one.shape for one in done.answers]
    if as_json:
        _json(done, shapes)
    else:
        _tell_each(shapes, full=full)
        for number, error in done.refused:
            screen.say(f"Find {number} is left out: {error.sentence()}", style=screen.ACT)
        _tell_round(done.round)
    bad = done.refused or any(not shape["can_lift"] for shape in shapes)
    leave(THE_ANSWER_IS_NO if bad or (done.round is not None and done.round["people"] is None) else OK)


def _figure(option: str, text: str | None, unit: str) -> float | None:
    """A figure as typed, with or without its unit."""
    if text is None:
        return None
    scale = {"mm": {"mm": 1.0, "cm": 10.0, "m": 1000.0}, "min": {"min": 1.0, "h": 60.0}}[unit]
    plain = text.strip().casefold().replace(",", ".")
    number = plain.rstrip("abcdefghijklmnopqrstuvwxyz ")
    try:
        value = float(number) * scale[plain[len(number) :].strip() or unit]
    except (ValueError, KeyError) as error:
        do = f"Write for example {option} {'1200' if unit == 'mm' else '30'}"
        wrong = f"{text!r} is no figure"
        raise BadInput(wrong, where=option, limit=f"a number in {unit}, or with {', '.join(scale)}", do=do) from error
    return value


def _people(text: str | None) -> int | None:
    """How many people, as typed."""
    if text is None:
        return None
    if not text.strip().isdecimal():
        raise BadInput(f"{text!r} is no number of people", where="--people", do="Write for example --people 2")
    return int(text)


def _tell_each(shapes: list[dict[str, Any]], *, full: bool) -> None:
    """Every lift; what several of them would repeat is said once, at the end."""
    lines = Counter(line for shape in shapes for key in _SAID for line in dict.fromkeys(shape[key]))
    shared = {line for line, many in lines.items() if many > 1}
    for place, shape in enumerate(shapes):
        screen.say() if place else None
        tell({**shape, **{key: [line for line in shape[key] if line not in shared] for key in _SAID}}, full=full)
    if shared:
        screen.say("Said once for several of them:", style="bold")
    for line in lines:
        if line in shared:
            these = [shape["title"].removeprefix("find ") for shape in shapes if any(line in shape[k] for k in _SAID)]
            whom = "" if len(these) == len(shapes) else f" (finds {', '.join(these)})"
            screen.say(f"! {line}{whom}")
    if shapes and not full:
        screen.say("  --full shows the steps, the boards and every assumption", style="dim")


def _scenario(finds: list[str], given: dict[str, Any], minutes: float | None, *, as_json: bool, full: bool) -> None:
    from findhold.service.packing import lifting

    if len(finds) > 1:
        raise BadInput("a scenario file stands alone", where=finds[0], do="Give one scenario file, or finds")
    if given or minutes is not None:
        raise BadInput(
            "with a scenario file everything stands in the file",
            where=finds[0],
            do="Write heights, doors and people under [lift], and leave the options out",
        )
    shape = lifting.lift_scenario(Path(finds[0])).shape
    if as_json:
        screen.show_json(shape)
    else:
        _tell_each([shape], full=full)
        _tell_round(shape["round"])
    short = shape["round"] is not None and shape["round"]["people"] is None
    leave(OK if shape["can_lift"] and not short else THE_ANSWER_IS_NO)


def _json(done: Any, shapes: list[dict[str, Any]]) -> None:
    if len(shapes) == 1 and not done.refused:
        screen.show_json({**shapes[0], "round": done.round})
        return
    refused = [{"find": number, "error": error.as_dict()} for number, error in done.refused]
    screen.show_json({"site": done.site, "finds": shapes, "refused": refused, "round": done.round})


def tell(shape: dict[str, Any], *, full: bool) -> None:
    """The plan of a lift, from its public shape."""
    screen.say(shape["title"], style="bold")
    _tell_people(shape)
    rows = [_leg_row(leg) for leg in shape["legs"]]
    screen.table(["leg", "mm", "kg", "people", "equation", "filter"], rows, flex=("leg",))
    _tell_load(shape)
    for obstacle in shape["obstacles"]:
        screen.say(f"{'STOP' if obstacle['stops'] else '!'} {obstacle['text']}", style=screen.ACT)
    if shape["helps"]:
        screen.say("What helps:", style="bold")
        for one in shape["helps"]:
            screen.say(f"- {one['leg']}: {one['text']}: {_PEOPLE.get(one['people'], one['people'])}")
    screen.say(f"Decides most: {shape['decides']['text']}")
    told = {obstacle["text"] for obstacle in shape["obstacles"]}
    for line in shape["next_steps"]:
        if line not in told:
            screen.say(f"-> {line}")
    for line in shape["warnings"]:
        screen.say(f"! {line}")
    for line in shape["cautions"]:
        screen.say(f"! {line}")
    if full:
        _tell_rest(shape)


def _tell_people(shape: dict[str, Any]) -> None:
    head = _PEOPLE.get(shape["people"], f"{shape['people']} people")
    edges = {shape["people_low"], shape["people_best"], shape["people"]}
    spread = ""
    if len(edges) > 1:
        low, best = (_PEOPLE.get(shape[key], shape[key]) for key in ("people_low", "people_best"))
        spread = f" (light end: {low}; best: {best})"
    text = f"{head[0].upper()}{head[1:]}{spread}"
    screen.say(f"{text}, by the filter's column for {shape['who']}.", style="bold" if shape["can_lift"] else screen.ACT)


def _leg_row(leg: dict[str, Any]) -> list[str]:
    team = next((one for one in leg["teams"] if one["people"] == leg["people_high"]), leg["teams"][-1])
    index = "none" if team["index"] is None else f"{team['index']:.2f}"
    return [
        leg["leg"]["name"],
        f"{leg['leg']['from_mm']:g}-{leg['leg']['to_mm']:g}",
        f"{leg['mass_kg']['best']:.1f}",
        "none" if leg["people_high"] is None else str(leg["people_high"]),
        f"{index} of {team['limit_kg']:.1f}",
        f"{team['filter_use']:.2f} of {team['filter_kg']:.1f}",
    ]


def _tell_load(shape: dict[str, Any]) -> None:
    last = shape["legs"][-1]
    alone, other = last["alone"]["filter"], last["alone"]["other"]
    board = shape["board"]
    mass = shape["masses"]
    packed = mass["box_kg"] or mass["block_kg"]
    screen.facts(
        [
            (
                "packed box" if mass["box_kg"] else "block and board",
                f"{packed['best']:.2f} kg ({packed['low']:.2f} to {packed['high']:.2f})",
            ),
            ("one person", f"equation {last['alone']['niosh']['limit_kg']:.1f} kg; filter {_filter_words(alone)}"),
            ("other column", _filter_words(other)),
            ("grip", f"{last['coupling']} ({last['coupling_why']}), hands {last['alone']['reach_mm']:.0f} mm out"),
            ("board", None if board is None else _board_words(board)),
            ("centre", shape["centre_words"]),
        ]
    )


def _filter_words(one: dict[str, Any]) -> str:
    return f"{one['limit_kg']:.3g} kg ({one['who']}, {one['column']}, {one['zone']})"


def _board_words(board: dict[str, Any]) -> str:
    length, width = board["size_mm"]
    thick = "none thick enough" if board["thickness_mm"] is None else f"{board['thickness_mm']:g} mm"
    return (
        f"{board['material']} {thick}, {length:.0f} x {width:.0f} mm, {board['mass_kg']:.2f} kg, sag "
        f"{board['bending']['sag_m'] * 1000:.2f} mm (1/{board['bending']['sag_length_over']:.0f} of the block)"
    )


def _tell_rest(shape: dict[str, Any]) -> None:
    if shape["boards"]:
        screen.say("Boards that would do, lightest first:", style="bold")
        rows = [
            [
                one["material"],
                "-" if one["thickness_mm"] is None else f"{one['thickness_mm']:g} mm",
                f"{one['mass_kg']:.2f} kg",
                f"1/{one['bending']['sag_length_over']:.0f}",
                f"{one['bending']['stress_pa'] / 1e6:.2f} MPa",
                one["note"],
            ]
            for one in shape["boards"]
        ]
        screen.table(["board", "thick", "mass", "sag", "stress", "note"], rows, flex=("note",))
    if shape["steps"]:
        screen.say("Order of the block's lift:", style="bold")
        for number, line in enumerate(shape["steps"], 1):
            screen.say(f"{number:2d}. {line}")
    for line in shape["assumptions"]:
        screen.say(f"  assumed: {line}", style="dim")
    for line in shape["sources"]:
        screen.say(f"  source: {line}", style="dim")


def _tell_round(shared: dict[str, Any] | None) -> None:
    if shared is None:
        return
    screen.say(f"Round: {shared['boxes']} boxes in {shared['minutes']:g} minutes", style="bold")
    rows = [
        [
            _PEOPLE.get(one["people"], one["people"]),
            "none" if one["index"] is None else f"{one['index']:.2f}",
            f"{one['order'][0]}",
        ]
        for one in shared["composite"]
    ]
    screen.table(["by", "composite index", "hardest"], rows)
    fewest = shared["people"]
    if fewest is None:
        text = "No team at hand keeps the round within 1: take more time, fewer boxes or a trolley."
        screen.say(text, style=screen.ACT)
    else:
        screen.say(f"{str(_PEOPLE.get(fewest, fewest)).capitalize()} within 1.", style="bold")
