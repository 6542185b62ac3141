"""shopping: the list of what boxes take against what is there, as text, JSON or CSV."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, JsonOption, LedgerOption, SiteOption, leave
from findhold.errors import BadInput

if TYPE_CHECKING:
    from findhold.service.packing.shopping import Shopping

_HEADS = (
    "item",
    "kind",
    "unit",
    "needed",
    "in_stock",
    "short",
    "packs",
    "pack_called",
    "pack_holds",
    "finds",
    "substitutes",
    "place",
)


def shopping(
    finds: Annotated[list[str] | None, typer.Argument(metavar="[FIND ...]", help="Numbers of finds.")] = None,
    ledger: LedgerOption = None,
    every: Annotated[bool, typer.Option("--all", help="Every find not yet closed in.")] = False,
    site: SiteOption = None,
    week: Annotated[
        str | None, typer.Option(metavar="WEEK", help="Finds planned to be packed in this ISO week, e.g. 2026-W31.")
    ] = None,
    stock: Annotated[
        Path | None,
        typer.Option(metavar="FILE.csv", help="What is there: item,count,unit,pack,place. Before ledger and settings."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="Also write the list here as CSV.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """List what the boxes take against what is there, what is short, and what may stand in for which find."""
    every = every or (week is not None and not finds)
    if every == bool(finds):
        do = "Give their numbers, --week for all to be packed in it, or --all for all not closed in yet"
        raise BadInput("which finds?", do=do)
    from findhold.service import office
    from findhold.service.packing.shopping import ShoppingRequest, shopping_list
    from findhold.service.wire import plain

    request = ShoppingRequest(finds=tuple(finds or ()), site=site, week=week, stock_file=stock)
    with office.office(ledger) as desk, screen.progress("shopping list") as moved:
        found = shopping_list(desk, request, moved)
    files = () if out is None else (_write(found, out),)
    if as_json:
        screen.show_json({**plain(found), "short": found.short, "files": list(files)})
    else:
        tell(found)
        for file in files:
            screen.say(f"  {file}")
    leave(THE_ANSWER_IS_NO if found.short else OK)


def tell(found: Shopping) -> None:
    """The list as text."""
    week = f", week {found.week}" if found.week else ""
    finds = ", ".join(found.finds) or "none"
    screen.say(f"Shopping list of {found.site}{week}: finds {finds}", style="bold")
    rows = [
        [
            line.item,
            _amount(line.needed, line.unit),
            "not counted" if line.in_stock is None else _amount(line.in_stock, line.unit),
            _amount(line.short, line.unit) if line.short else "-",
            f"{line.packs} x {line.pack_called} of {line.pack_holds:g}" if line.packs and line.kind != "box" else "",
            line.place,
        ]
        for line in found.lines
    ]
    heads = ["item", "needed", "there", "short", "buy", "stands in"]
    if not any(line.place for line in found.lines):
        heads, rows = heads[:-1], [row[:-1] for row in rows]
    if rows:
        screen.table(heads, rows, flex=("item", "buy", "stands in"))
    for line in found.lines:
        if line.note:
            screen.say(f"{line.item}: {line.note}.".replace("..", "."))
        for other in line.substitutes:
            _tell_substitute(line.item, other)
    for number, why in found.left_out:
        screen.say(f"Find {number} is left out: {why}", style=screen.ACT)
    for said in found.assumptions:
        screen.say(f"  assumed: {said}" if found.lines or found.left_out else said, style="dim")
    there = "Everything is there." if found.lines else "Nothing to buy."
    screen.say("Something is short." if found.short else there, style="bold")


def _tell_substitute(item: str, other: Any) -> None:
    there = "not counted" if other.in_stock is None else f"{other.in_stock:g} there"
    good = f"may stand in for find {', '.join(other.allowed_for)}" if other.allowed_for else "may stand in for no find"
    screen.say(f"{item}: {other.item} ({there}) {good}" + (f"; {other.note}" if other.note else ""))
    for refusal in other.forbidden_for:
        screen.say(f"  not for find {refusal.find}: {refusal.why}", style=screen.ACT)


def _amount(value: float, unit: str) -> str:
    whole = f"{value:.0f}" if abs(value - round(value)) < 1e-9 else f"{value:.2f}"
    plural = unit if unit in ("m2", "L", "g") or whole == "1" else f"{unit}s" if unit != "box" else "boxes"
    return f"{whole} {plural}".replace("m2", "m²")


def _write(found: Shopping, out: Path) -> str:
    from findhold.service.folder import file_name, write_file

    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(_HEADS)
    for line in found.lines:
        others = "; ".join(_substitute_words(other) for other in line.substitutes)
        there = "" if line.in_stock is None else f"{line.in_stock:g}"
        cells = [line.item, line.kind, line.unit, f"{line.needed:.6g}", there, f"{line.short:.6g}", line.packs]
        writer.writerow([*cells, line.pack_called, f"{line.pack_holds:g}", " ".join(line.finds), others, line.place])
    name = file_name(found.site, found.week or "all", "shopping", ending=".csv")
    return str(write_file(out / name, text.getvalue().encode("utf-8-sig")))


def _substitute_words(other: Any) -> str:
    wrong = ", ".join(refusal.find for refusal in other.forbidden_for)
    return f"{other.item}: for {', '.join(other.allowed_for) or 'none'}" + (f", not for {wrong}" if wrong else "")
