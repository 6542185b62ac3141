"""What consumables are there: packing materials of the ledger, and a list of the unit's own that goes before them."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from findhold.errors import BadInput, FindholdError, Mistake, Mistakes, UnknownName
from findhold.record.events import UNIT
from findhold.service.office import Office
from findhold.service.rounds.chosen import sections
from findhold.tables.naming import plain_name
from findhold.tables.shopping import ShoppingItem, shopping_item

COLUMNS = ("item", "count", "unit", "pack", "place")
_NEEDED = ("item", "count")
_LABELS = "labels "
Place = tuple[str, int | None]
"""File and row that something was read from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnShelf:
    """An item that was counted: count and pack [unit of the item]; pack None: as the table says."""

    item: str
    count: float
    pack: float | None = None
    place: str = ""


def shelf_of(office: Office, stock_file: Path | None) -> tuple[dict[str, OnShelf], tuple[str, ...]]:
    """Everything counted, by item: the ledger's packing materials, then [stock] of the settings, then the unit's list.

    Returns
    -------
    What was counted, and the names of the ledger's materials that are no item of the list, so that none is lost.

    Raises
    ------
    BadInput : the list or the settings cannot be read. Mistakes : every row or line that cannot be, at once.
    """
    found: dict[str, OnShelf] = {}
    strange = []
    for thing in office.ledger.states("material", UNIT):
        facts = thing.facts
        if facts.get("count") is None:
            continue
        item = _named(str(facts["name"]), str(facts.get("kind") or ""))
        if item is None:
            strange.append(str(facts["name"]))
            continue
        before = found.get(item.name)
        many = float(facts["count"]) + (before.count if before is not None else 0.0)
        place = str(facts.get("place") or "") or (before.place if before is not None else "")
        found[item.name] = OnShelf(item=item.name, count=many, place=place)
    own = {} if stock_file is None else read_stocktake(stock_file)
    return found | read_stock_settings() | own, tuple(strange)


def read_stock_settings() -> dict[str, OnShelf]:
    """The section [stock] of settings.toml: item = count, or item = { count, unit, pack, place }.

    Raises
    ------
    Mistakes : every line that cannot be, at once.
    """
    rows = []
    for name, value in sections().get("stock", {}).items():
        cells = value if isinstance(value, dict) else {"count": value}
        rows.append({"item": name} | {key: str(cell) for key, cell in cells.items()})
    return _read_rows(rows, [("settings.toml [stock]", None)] * len(rows))


def _named(name: str, kind: str) -> ShoppingItem | None:
    """The item that a material of the ledger is, by its name or else by its kind."""
    for word in (name, kind):
        try:
            if word:
                return shopping_item(word)
        except UnknownName:
            continue
    return None


def read_stocktake(file: Path) -> dict[str, OnShelf]:
    """A list of consumables: CSV with the headings item, count and, if wanted, unit and pack.

    Raises
    ------
    BadInput : no such file, no such headings. Mistakes : unknown items, negative counts, other units, items twice.
    """
    try:
        text = file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise BadInput(f"the list cannot be read ({why})", where=str(file), do="Check the path and the file") from error
    reader = csv.DictReader(io.StringIO(text))
    heads = [(head or "").strip().casefold() for head in reader.fieldnames or ()]
    if not set(_NEEDED) <= set(heads) or not set(heads) <= set(COLUMNS):
        raise BadInput(
            f"its headings are {', '.join(heads) or 'not there'}",
            where=str(file),
            limit=", ".join(COLUMNS),
            do="Write a heading line: item,count,unit,pack",
        )
    rows, places = [], []
    for number, cells in enumerate(reader, 2):
        row = {(key or "").strip().casefold(): (value or "").strip() for key, value in cells.items() if key}
        if any(row.values()):
            rows.append(row)
            places.append((file.name, number))
    return _read_rows(rows, places)


def _read_rows(rows: Sequence[dict[str, str]], places: Sequence[Place]) -> dict[str, OnShelf]:
    """Rows of a list as what is there; raises Mistakes with every row that cannot be."""
    found: dict[str, OnShelf] = {}
    mistakes: list[Mistake] = []
    for row, place in zip(rows, places, strict=True):
        wrong = list(_mistakes(row, place, found))
        mistakes += wrong
        if not wrong:
            item = _item(row["item"])
            name = row["item"] if item is None else item.name
            pack = float(row["pack"]) if row.get("pack") else None
            found[name] = OnShelf(item=name, count=float(row["count"]), pack=pack, place=row.get("place", ""))
    if mistakes:
        raise Mistakes(mistakes=mistakes)
    return found


def _mistakes(row: dict[str, str], place: Place, found: dict[str, OnShelf]) -> Iterator[Mistake]:
    """What is wrong with one row."""
    file, number = place

    def wrong(column: str, said: str, allowed: str) -> Mistake:
        return Mistake(file=file, row=number, column=column, value=row.get(column, ""), wrong=said, allowed=allowed)

    for column in row:
        if column not in COLUMNS:
            yield wrong(column, "is not known", ", ".join(COLUMNS))
    try:
        item = _item(row["item"])
    except FindholdError as error:
        yield wrong(
            "item", error.sentence(), "an item of the shopping list, a packing material, or labels with their stock"
        )
        return
    if (row["item"] if item is None else item.name) in found:
        yield wrong("item", "stands in the list twice", "one row for each item")
    for column, least in (("count", 0.0), ("pack", 1e-9)):
        value = _number(row.get(column, ""))
        if column == "count" and not row.get(column):
            yield wrong(column, "is missing", "0 or more; leave the row out for what nobody counted")
        elif row.get(column) and (value is None or not least <= value <= 1e9):
            yield wrong(column, "cannot be", "a number, 0 or more" if column == "count" else "a number above 0")
    if item is not None and row.get("unit") and plain_name(row["unit"]) not in _units(item):
        yield wrong("unit", "is another unit than the list counts in", item.unit)


def _item(name: str) -> ShoppingItem | None:
    """The item meant; None for labels, whose stock is the writer's own."""
    return None if name.casefold().startswith(_LABELS) else shopping_item(name)


def _units(item: ShoppingItem) -> set[str]:
    """How its unit may be written."""
    unit = plain_name(item.unit)
    return {
        unit,
        f"{unit}s",
        {"l": "litre", "m2": "m²", "g": "gram"}.get(unit, unit),
        "litres" if unit == "l" else unit,
    }


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
