"""Boards and planks that boxes and beds are cut from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from findhold.tables.load import table

Build = Literal["folded", "panels", "foam"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """One board as it is sold: what it is for, how a box is built of it, its sheet, and the width of a cut."""

    name: str
    material: str
    """A name of packing_materials."""
    use: str
    """box, foam or carrying board."""
    build: Build
    sheet_mm: tuple[float, float]
    thickness_mm: float
    board_kg_per_m2: float
    kerf_mm: float
    lip_mm: float
    """How far the lid of a folded box reaches down."""
    play_mm: float
    """Air on each side between tray and lid of a folded box."""
    damp: bool
    """Whether it may wall in a find kept damp or wet."""
    rated_kg: float | None
    """The most that a box made of it is offered for; None where no box is made of it."""
    rated_seen: str
    seen: str


@cache
def boards() -> tuple[Board, ...]:
    """All boards (table board_stock; sizes by common practice, no source)."""
    return tuple(
        Board(
            name=row["name"],
            material=row["material"],
            use=row["use"],
            build=row["build"],  # type: ignore[arg-type]  # checked by the table's test
            sheet_mm=(float(row["sheet_l_mm"]), float(row["sheet_w_mm"])),
            thickness_mm=float(row["thickness_mm"]),
            board_kg_per_m2=float(row["board_kg_per_m2"]),
            kerf_mm=float(row["kerf_mm"]),
            lip_mm=float(row["lip_mm"]),
            play_mm=float(row["play_mm"]),
            damp=row["damp"] == "yes",
            rated_kg=float(row["rated_kg"]) if row["rated_kg"] else None,
            rated_seen=row["rated_seen"],
            seen=row["seen"],
        )
        for row in table("board_stock").rows
    )


def foam_plank() -> Board:
    """The foam plank that beds, sheets and strips are cut from: the thinnest on the list."""
    return min((board for board in boards() if board.use == "foam"), key=lambda board: board.thickness_mm)
