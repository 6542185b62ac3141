"""From the lists to the room: shared boxes divided first, then crates, then shelves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from findhold.crate.board import Board
from findhold.crate.dividers import DividedBox, DivideRequest, divide_box
from findhold.crate.inputs import Crate, CrateRequest, Item
from findhold.crate.load import CrateLoads, load_crates
from findhold.crate.rules import group_of
from findhold.crate.sharing import Sharer
from findhold.crate.shelves import Shelf, ShelfPlan, ShelfRequest, fill_shelves
from findhold.errors import BadInput, UnknownName
from findhold.service.choices import read_choices
from findhold.service.packing.crating.listing import CrateFile, Row, read_crates
from findhold.tables.crates import CrateDefaults

_BOARD = ("board_ect_n_per_m", "board_thickness_mm", "board_days", "board_rh")


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedBox:
    """A box that several finds share: its name, its request, and the plan or why there is none."""

    name: str
    request: DivideRequest
    plan: DividedBox
    tare_kg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Crated:
    """All that was worked out: shared boxes, crates (None where none were given), shelves (None likewise)."""

    title: str
    place: str
    shared: tuple[SharedBox, ...]
    loads: CrateLoads | None
    shelves: ShelfPlan | None
    remarks: tuple[str, ...] = ()
    unplaced: tuple[tuple[str, str, str], ...] = ()
    """Things that could not be asked for at all: number, why, what to do."""

    @property
    def all_in(self) -> bool:
        """True when nothing is left over anywhere."""
        crates = self.loads is None or self.loads.all_in
        shelves = self.shelves is None or not self.shelves.without
        return crates and shelves and not self.unplaced and all(box.plan.works for box in self.shared)


def crates_of_file(path: Path) -> Crated:
    """Load what a crates file lists, without a ledger.

    Raises
    ------
    BadInput, Mistakes, UnknownName : the file, or a value in it, cannot be used.
    """
    listed = read_crates(path)
    if not listed.items:
        raise BadInput(
            "there is nothing to load",
            where=str(path),
            do="List things as [[items]] or name items_file; for boxes of a ledger add --ledger FILE",
        )
    return crate_up(listed, [item_of(row) for row in listed.items], place=path.name)


def crate_up(listed: CrateFile, items: Sequence[Item], *, place: str) -> Crated:
    """Divide shared boxes, load crates and fill shelves with some things.

    Raises
    ------
    BadInput : no crate, shelf or shared box; or crates are to stand on shelves and one has no outside sizes.
    UnknownName : a shared box names a thing that is not in the list.
    """
    if not (listed.crates or listed.shelves or listed.shared_boxes):
        do = "List [[crates]], [[shelves]], or [[shared_boxes]] for several finds in one box"
        raise BadInput("there are neither crates nor shelves nor a shared box", where=place, do=do)
    defaults = replace(read_choices().crates, **{key: float(value) for key, value in listed.limits.items()})
    shared, items = _shared(listed, list(items), defaults)
    loads = None
    if listed.crates and items:
        loads = load_crates(_request(listed, items, defaults))
    on_shelves = items if not listed.crates else _crates_as_boxes(listed, loads)
    shelves = None
    if listed.shelves and on_shelves:
        shelves = fill_shelves(
            ShelfRequest(
                boxes=tuple(on_shelves),
                shelves=tuple(Shelf(**row) for row in listed.shelves),
                defaults=defaults,
            )
        )
    return Crated(title=listed.title, place=place, shared=shared, loads=loads, shelves=shelves)


def item_of(row: Row) -> Item:
    """A row of the list as a thing to load; raises BadInput when only part of its board is stated."""
    given = [key for key in _BOARD if key in row]
    board = None
    if given:
        lacking = [key for key in _BOARD if key not in row]
        if lacking:
            raise BadInput(
                f"of its board {', '.join(lacking)} is missing",
                where=f"item {row['number']}",
                limit=", ".join(_BOARD),
                do="Give all four, or max_on_top_kg instead",
            )
        board = Board(
            ect_n_per_m=float(row["board_ect_n_per_m"]),
            thickness_mm=float(row["board_thickness_mm"]),
            days=float(row["board_days"]),
            rh=float(row["board_rh"]),
        )
    plain = ("number", "what", "state", "material", "context", "human_remains", "lidded", "max_on_top_kg", "upright")
    return Item(
        size_mm=_size(row["size_mm"]),
        mass_kg=float(row["mass_kg"]),
        board=board,
        **{k: row[k] for k in plain if k in row},
    )


def _size(value: Sequence[float]) -> tuple[float, float, float]:
    return (float(value[0]), float(value[1]), float(value[2]))


def _request(listed: CrateFile, items: Sequence[Item], defaults: CrateDefaults) -> CrateRequest:
    crates = tuple(
        Crate(
            name=row["name"],
            inside_mm=_size(row["inside_mm"]),
            tare_kg=float(row["tare_kg"]),
            max_load_kg=row.get("max_load_kg"),
            count=row.get("count"),
        )
        for row in listed.crates
    )
    chosen: dict[str, Any] = {key: listed.root[key] for key in ("persons", "seed", "aim") if key in listed.root}
    return CrateRequest(items=tuple(items), crates=crates, defaults=defaults, **chosen)


def _shared(listed: CrateFile, items: list[Item], defaults: CrateDefaults) -> tuple[tuple[SharedBox, ...], list[Item]]:
    """Shared boxes worked out; each that works takes its finds out of the list and comes in as one thing."""
    rows = {str(row["number"]): row for row in listed.items}
    done = []
    for row in listed.shared_boxes:
        finds = []
        for number in row["finds"]:
            item = next((one for one in items if one.number == number), None)
            if item is None:
                raise UnknownName("item", number, [one.number for one in items], where=f"shared box {row['name']}")
            finds.append((item, rows.get(number, {})))
        request = DivideRequest(
            finds=tuple(_sharer(item, extra) for item, extra in finds),
            inside_mm=_size(row["inside_mm"]),
            max_load_kg=row.get("max_load_kg"),
            divider_mm=row.get("divider_mm"),
            clear_mm=row.get("clear_mm"),
            defaults=defaults,
            **({"divider": row["divider"]} if "divider" in row else {}),
        )
        plan = divide_box(request)
        done.append(SharedBox(name=row["name"], request=request, plan=plan, tare_kg=float(row["tare_kg"])))
        if plan.works:
            gone = {item.number for item, _ in finds}
            items = [item for item in items if item.number not in gone]
            items.append(_as_one(row, [item for item, _ in finds]))
    return tuple(done), items


def _sharer(item: Item, row: Row) -> Sharer:
    if not item.material:
        raise BadInput(
            "its material is not stated",
            where=f"item {item.number}",
            do="State material: what it is made of decides what may lie beside it",
        )
    return Sharer(
        number=item.number,
        what=item.what,
        size_mm=item.size_mm,
        mass_kg=item.mass_kg,
        state=item.state,
        material=item.material,
        context=item.context,
        human_remains=item.human_remains,
        analyses=tuple(row.get("analyses", ())),
        **({"wrapping": row["wrapping"]} if "wrapping" in row else {}),
    )


def _as_one(row: Row, finds: Sequence[Item]) -> Item:
    """A shared box as one thing to load."""
    contexts = list(dict.fromkeys(find.context for find in finds))
    # A box that holds any metal goes where metals go.
    leading = next((find for find in finds if group_of(find) == "metal"), finds[0])
    return Item(
        number=row["name"],
        what="finds " + ", ".join(find.number for find in finds),
        size_mm=_size(row["outside_mm"]),
        mass_kg=float(row["tare_kg"]) + sum(find.mass_kg for find in finds),
        state=finds[0].state,
        material=leading.material,
        context=contexts[0] if len(contexts) == 1 else "",
        human_remains=any(find.human_remains for find in finds),
        lidded=row.get("lidded", True),
    )


def _crates_as_boxes(listed: CrateFile, loads: CrateLoads | None) -> list[Item]:
    """Loaded crates as boxes for shelves."""
    if loads is None or not listed.shelves:
        return []
    outside = {row["name"]: row.get("outside_mm") for row in listed.crates}
    bare = [name for name in dict.fromkeys(load.crate for load in loads.loads) if outside[name] is None]
    if bare:
        raise BadInput(
            f"the outside of {bare[0]} is not stated",
            where="crates",
            do="Give outside_mm, so that it can stand on a shelf",
        )
    return [
        Item(
            number=f"crate {load.number}",
            what=load.crate,
            size_mm=_size(outside[load.crate] or ()),
            mass_kg=load.gross_kg,
            max_on_top_kg=0.0,
        )
        for load in loads.loads
    ]
