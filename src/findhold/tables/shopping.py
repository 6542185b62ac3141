"""Consumables as they are bought."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.errors import UnknownName
from findhold.tables.load import table
from findhold.tables.materials import packing_material
from findhold.tables.naming import plain_name


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoppingItem:
    """One item: the unit it is counted in, what may stand in for it, and what its pack_holds [unit]."""

    name: str
    unit: str
    role: str
    """pad, barrier or single."""
    pack_holds: float
    pack_called: str


def shopping_items() -> tuple[ShoppingItem, ...]:
    """All items (table shopping_items; pack sizes by common practice, no source)."""
    return tuple(
        ShoppingItem(
            name=row["item"],
            unit=row["unit"],
            role=row["role"],
            pack_holds=float(row["pack_holds"]),
            pack_called=row["pack_called"],
        )
        for row in table("shopping_items").rows
    )


def shopping_item(name: str) -> ShoppingItem:
    """An item by name; a packing material that is not on the list is counted by itself, one in a pack.

    Raises
    ------
    UnknownName : neither an item nor a packing material; near names are offered.
    """
    known = {plain_name(item.name): item for item in shopping_items()}
    found = known.get(plain_name(name))
    if found is not None:
        return found
    try:
        material = packing_material(name)
    except UnknownName as error:
        items = [item.name for item in shopping_items()]
        raise UnknownName("item or packing material", name, items) from error
    if plain_name(material.name) in known:
        return known[plain_name(material.name)]
    role = "pad" if material.pad else {"perforated": "bag", "sealed": "bag"}.get(material.closure, material.closure)
    unit = {"pad": "sheet", "bag": "bag"}.get(role, "m2")
    role = role if role in ("pad", "barrier") else "single"
    return ShoppingItem(name=material.name, unit=unit, role=role, pack_holds=1.0, pack_called=unit)
