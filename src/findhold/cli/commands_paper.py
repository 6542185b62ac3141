"""label, read, plot."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, JsonOption, LedgerOption, PersonOption, SiteOption, leave
from findhold.errors import BadInput
from findhold.service import labelling, office, plotting, settings, wire


def label(
    finds: Annotated[list[str] | None, typer.Argument(metavar="[FIND ...]", help="Numbers; none means all.")] = None,
    ledger: LedgerOption = None,
    site: SiteOption = None,
    part: Annotated[
        list[str] | None, typer.Option(metavar="PART", help="inside, lid, end or block; repeat for several.")
    ] = None,
    stock: Annotated[
        str | None, typer.Option(metavar="NAME", help="Label stock by name, or a roll as WIDTHxHEIGHT in mm.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE", help="The PDF to write.")] = None,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make the inside, lid, end and block labels; each code is read back before the file is given out."""
    request = labelling.LabelRequest(finds=tuple(finds or ()), site=site, stock=stock, out=out)
    if part:
        request = labelling.LabelRequest(finds=request.finds, site=site, stock=stock, out=out, parts=tuple(part))
    with office.office(ledger, person=person) as desk, screen.busy("making and reading back labels"):
        made = labelling.make_labels(desk, request)
    if as_json:
        screen.show_json(wire.plain(made))
        return
    screen.say(f"{made.count} labels on {made.pages} page(s) of {made.stock}; all {made.read_back} read back.")
    left_out = {fact for facts in made.left_out for fact in facts}
    if left_out:
        screen.say(f"Left out on this stock: {', '.join(sorted(left_out))}. A larger label takes everything.")
    if made.without_keep_until:
        numbers = ", ".join(made.without_keep_until)
        screen.say(f"No keep-until date on the labels of {numbers}: run findhold keep first.", style=screen.ACT)
    screen.say(f"  {made.file}")


def read(
    picture: Annotated[
        Path, typer.Argument(metavar="IMAGE", help="Photograph or scan of a label: PNG, JPEG, TIFF, PDF.")
    ],
    ledger: LedgerOption = None,
    as_json: JsonOption = False,
) -> None:
    """Read a photographed label and show it beside the record (without a ledger: the label alone)."""
    if ledger is None and not settings.has_ledger():
        seen = labelling.read_label(None, picture)
    else:
        with office.office(ledger, read_only=True) as desk:
            seen = labelling.read_label(desk, picture)
    if as_json:
        screen.show_json(wire.plain(seen))
    else:
        _tell_label(seen)
    leave(THE_ANSWER_IS_NO if seen.differences else OK)


def _tell_label(seen: labelling.LabelSeen) -> None:
    screen.say(f"Label of find {seen.find_id or '?'}, box {seen.box_id or '?'}", style="bold")
    label_facts = wire.plain(seen.restored) or {}
    record = seen.record or {}
    names = ("find_number", "context", "what", "material", "state", "easting_m", "northing_m", "level_m")
    rows = [
        [name.replace("_", " "), label_facts.get(name), record.get("number" if name == "find_number" else name)]
        for name in names
        if label_facts.get(name) is not None or record.get(name) is not None
    ]
    screen.table(["", "on the label", "in the record"], rows, flex=("on the label", "in the record"))
    if seen.hold and seen.hold["keep_until"]:
        screen.say(f"Keep until {seen.hold['keep_until'][:10]} ({seen.hold['governing_limit']}).")
    for difference in seen.differences:
        screen.say(f"DIFFERS  {difference}", style=screen.ACT)


def plot(
    feature: Annotated[
        str | None, typer.Argument(metavar="[FEATURE]", help="A cut or context; none means all.")
    ] = None,
    ledger: LedgerOption = None,
    site: SiteOption = None,
    outlines: Annotated[
        Path | None, typer.Option(metavar="FILE", help="CSV of edges and pegs: name, easting, northing, level.")
    ] = None,
    without: Annotated[
        list[str] | None, typer.Option(metavar="NO", help="Leave a point off, e.g. one far away; repeat for several.")
    ] = None,
    scale: Annotated[int | None, typer.Option(metavar="N", help="20 for 1:20. Default: the largest that fits.")] = None,
    paper: Annotated[str, typer.Option(metavar="A4|A3")] = "A4",
    sheet: Annotated[str, typer.Option(metavar="NO", help="Sheet number.")] = "1",
    distance: Annotated[
        list[str] | None, typer.Option(metavar="A,B", help="Distance between two numbers; repeat for several.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Name of the files; .svg or .pdf makes only that one.")
    ] = None,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Draw the plan of a feature to scale, finds in their symbols, with distances on request."""
    request = plotting.PlotRequest(
        feature=feature.strip("[]() ") if feature else None,
        site=site,
        outlines=outlines,
        scale=scale,
        paper=paper.upper(),
        sheet_no=sheet,
        pairs=tuple(_pair(text) for text in distance or ()),
        without=tuple(without or ()),
        out=out,
    )
    with office.office(ledger, person=person, read_only=True) as desk:
        made = plotting.plot_feature(desk, request)
    if as_json:
        screen.show_json(wire.plain(made))
        return
    screen.say(f"{made.points} points plotted.")
    if made.without_position:
        screen.say(f"No position, listed on the sheet: {', '.join(made.without_position)}")
    if made.distances:
        rows = [[f"{item.a} to {item.b}", item.plan_m, item.slope_m, item.rise_m] for item in made.distances]
        shown = [[name, *(None if value is None else f"{value:.3f}" for value in values)] for name, *values in rows]
        heads = ["distance", "in plan m", "in space m", "rise m"]
        screen.table(heads, shown, right=heads[1:])
    for file in made.files:
        screen.say(f"  {file}")


def _pair(text: str) -> tuple[str, str]:
    first, comma, second = text.partition(",")
    if not comma or not first.strip() or not second.strip():
        raise BadInput(f"{text!r} names no two finds", where="--distance", do="Write two numbers, for example 37,44")
    return first.strip(), second.strip()
