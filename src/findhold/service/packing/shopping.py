"""The shopping list: what a week's boxes take, against stock; what is short, and what may stand in for which find."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path

from findhold.dates.instants import zone_named
from findhold.errors import BadInput
from findhold.geometry.cutting import Piece, cut
from findhold.pack.choose import least_rating_kg
from findhold.pack.consumed import board_pieces, carrying_sheet, consumed, foam_pieces
from findhold.pack.inputs import StockBox
from findhold.service.case import plan_case
from findhold.service.choices import read_choices
from findhold.service.holds import Held, Holding, HoldRequest, Progress, plan_finds
from findhold.service.labelling import LabelRequest, label_stock
from findhold.service.office import Office
from findhold.service.packing.stocktake import OnShelf, shelf_of
from findhold.service.packing.substitutes import Substitute, box_substitutes, material_substitutes
from findhold.store.ledger import Thing
from findhold.tables.boards import Board, boards, foam_plank
from findhold.tables.shopping import ShoppingItem, shopping_item

WATER_BAGS_NOTE = "water for bags is best taken from the find's own context"
ALL_CLOSED = "The lid of every find is closed already: it takes nothing more. --week lists what was packed in a week."
BOX = "box"
_THIN_WALL_MM = 1.2
"""Wall taken for a box to make when no board is offered for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoppingRequest:
    """Which finds (none named: every one not yet closed in, or packed in the week), and the unit's own stock list."""

    finds: tuple[str, ...] = ()
    site: str | None = None
    week: str | None = None
    """ISO week as 2026-W31; None = whenever they are packed."""
    stock_file: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the list: needed [unit], in_stock [unit], short [unit], and pack_holds [unit] of one pack.

    in_stock None = nobody counted it: then all of it is short, boxes excepted.
    """

    item: str
    kind: str
    """box or consumable."""
    unit: str
    needed: float
    in_stock: float | None
    short: float
    pack_holds: float
    pack_called: str
    packs: int
    finds: tuple[str, ...]
    substitutes: tuple[Substitute, ...] = ()
    note: str = ""
    place: str = ""
    """Where it stands; empty where no list says so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shopping:
    """The list, the finds it is for, and those left out with the reason."""

    site: str
    week: str | None
    finds: tuple[str, ...]
    lines: tuple[Line, ...]
    left_out: tuple[tuple[str, str], ...]
    assumptions: tuple[str, ...] = field(default=())

    @property
    def short(self) -> bool:
        """Whether anything is missing, or a find could not be planned."""
        return any(line.short > 0 for line in self.lines) or bool(self.left_out)


def shopping_list(office: Office, request: ShoppingRequest, progress: Progress | None = None) -> Shopping:
    """Plan the finds without recording, and add up what their boxes take against what is there.

    Raises
    ------
    BadInput : the week cannot be read, or no find is packed in it. Mistakes : the list of consumables cannot be used.
    """
    site = office.site(request.site)
    monday = _monday(request.week)
    shelf, strange = shelf_of(office, request.stock_file)
    planned = plan_finds(
        office, HoldRequest(finds=request.finds, site=request.site, record=False, go_on=True), progress
    )
    chosen, left_out = _chosen(office, planned, request, monday)
    nothing = not chosen and not left_out and not planned.refused
    if nothing and (request.week or request.finds):
        when = f" in {request.week}" if request.week else ""
        do = "Name finds, or another week; finds whose lid is closed already take nothing more"
        raise BadInput(f"no find is to be packed{when}", where=f"site {site.number}", do=do)
    left_out += [(number, error.sentence()) for number, error in planned.refused]
    lines = [*_box_lines(office, site, chosen), *_consumables([boxed(one) for one in chosen], shelf)]
    return Shopping(
        site=site.number,
        week=request.week,
        finds=tuple(one.number for one in chosen),
        lines=tuple(lines),
        left_out=tuple(left_out),
        assumptions=(ALL_CLOSED,) if nothing else (*_assumptions(chosen), *_unplaced(lines, strange)),
    )


def _monday(week: str | None) -> date | None:
    """First day of an ISO week as 2026-W31."""
    if week is None:
        return None
    try:
        return date.fromisoformat(f"{week.strip().upper()}-1")
    except ValueError as error:
        raise BadInput(
            f"{week!r} is no week", where="--week", limit="year and ISO week, for example 2026-W31", do="Write it so"
        ) from error


def _chosen(
    office: Office, planned: Holding, request: ShoppingRequest, monday: date | None
) -> tuple[list[Held], list[tuple[str, str]]]:
    """The finds to shop for: not yet closed in unless named, and packed in the week asked for."""
    closed = _closed(office, planned.site)
    chosen, stopped = [], []
    for one in planned.held:
        if not request.finds and monday is None and one.number in closed:
            continue
        if monday is not None and not _in_week(one, monday):
            continue
        if one.plan.box is None or not one.plan.stopped:
            chosen.append(one)
        else:
            what = "; ".join(f"{c.pair}: {c.text}" for c in one.plan.conflicts if c.stops)
            stopped.append((one.number, f"its plan is stopped by a forbidden contact ({what}): settle that first"))
    return chosen, stopped


def _in_week(one: Held, monday: date) -> bool:
    """Whether a find is to be packed in the week, on its site's clock."""
    packed = one.case.packed_at
    return packed is not None and 0 <= (packed.astimezone(zone_named(one.case.zone)).date() - monday).days < 7


def _closed(office: Office, site: Thing) -> set[str]:
    """Finds whose lid is known to be closed already: they take nothing more."""
    now = office.now()
    holds = office.ledger.states("hold", site.number)
    return {
        hold.facts["find"]
        for hold in holds
        if hold.facts.get("packed_stated")
        and hold.facts["packed_at"]
        and datetime.fromisoformat(hold.facts["packed_at"]) <= now
    }


def _box_lines(office: Office, site: Thing, chosen: Sequence[Held]) -> list[Line]:
    """Boxes by kind against the stock list, less those that other finds are planned into."""
    numbers = {one.number for one in chosen}
    holds = office.ledger.states("hold", site.number)
    taken = Counter(hold.facts["plan"]["box"] for hold in holds if hold.facts["find"] not in numbers)
    listed = {thing.facts["name"]: thing.facts for thing in office.ledger.states("box", None)}
    counts = {name: facts.get("count") for name, facts in listed.items()}
    wanted: dict[str, list[Held]] = defaultdict(list)
    made = []
    for one in chosen:
        kind = one.plan.box.name if one.plan.box else next(iter(one.plan.would_do), None)
        if kind is None:
            made.append(_to_make(one))
        else:
            wanted[kind].append(one)
    spare = {name: None if count is None else count - taken[name] for name, count in counts.items()}
    left = {name: None if count is None else count - len(wanted.get(name, ())) for name, count in spare.items()}
    lines = []
    for kind, finds in sorted(wanted.items()):
        there = spare.get(kind)
        there = None if there is None else max(there, 0)
        short = 0 if there is None else max(len(finds) - there, 0)
        lines.append(
            Line(
                item=kind,
                kind=BOX,
                unit="box",
                needed=len(finds),
                in_stock=there,
                short=short,
                pack_holds=1,
                pack_called="box",
                packs=short,
                finds=tuple(one.number for one in finds),
                substitutes=box_substitutes(kind, finds, left) if short else (),
                note="" if there is not None else "not counted in the stock list: taken to be there",
                place=str(listed.get(kind, {}).get("place") or ""),
            )
        )
    return [*lines, *made]


def _to_make(one: Held) -> Line:
    """A box that nobody has: what to make."""
    ways = tuple(option.text for option in one.plan.make_options[:2])
    return Line(
        item=f"box to make for find {one.number}",
        kind=BOX,
        unit="box",
        needed=1,
        in_stock=0,
        short=1,
        pack_holds=1,
        pack_called="box",
        packs=1,
        finds=(one.number,),
        note=" Or: ".join((one.plan.make or one.plan.no_box or "", *ways)),
    )


def _consumables(chosen: Sequence[Held], shelf: dict[str, OnShelf]) -> list[Line]:
    """Everything that is used up, foam and boards cut from whole ones, labels by the sheet."""
    amounts: dict[str, dict[str, float]] = defaultdict(dict)
    for one in chosen:
        for used in consumed(one.plan, one.case.plan.defaults):
            amounts[used.item][one.number] = amounts[used.item].get(one.number, 0.0) + used.amount
    lines = [_line(shopping_item(item), finds, chosen, shelf) for item, finds in sorted(amounts.items())]
    plank, sheet = foam_plank(), carrying_sheet()
    foam = {one.number: foam_pieces(one.plan, plank) for one in chosen}
    lines += _cut_line(plank, foam, shelf)
    lines += _cut_line(sheet, {one.number: board_pieces(one.plan) for one in chosen}, shelf)
    lines += _label_line(chosen, shelf)
    return lines


def _line(item: ShoppingItem, finds: dict[str, float], chosen: Sequence[Held], shelf: dict[str, OnShelf]) -> Line:
    there = shelf.get(item.name)
    needed = sum(finds.values())
    held = None if there is None else there.count
    short = max(needed - (held or 0.0), 0.0)
    pack = item.pack_holds if there is None or there.pack is None else there.pack
    concerned = [one for one in chosen if one.number in finds]
    return Line(
        item=item.name,
        kind="consumable",
        unit=item.unit,
        needed=needed,
        in_stock=held,
        short=short,
        pack_holds=pack,
        pack_called=item.pack_called,
        packs=-int(-(short - 1e-9) // pack) if short > 1e-9 else 0,
        finds=tuple(finds),
        substitutes=material_substitutes(item, finds, concerned, shelf) if short > 1e-9 else (),
        place="" if there is None else there.place,
        note=WATER_BAGS_NOTE if item.name == "deionised water" and _bags(concerned) else "",
    )


def _bags(finds: Sequence[Held]) -> bool:
    return any(one.plan.dose_way in ("bag", "submerged") for one in finds)


def _cut_line(board: Board, pieces: dict[str, tuple[Piece, ...]], shelf: dict[str, OnShelf]) -> list[Line]:
    """Whole planks or sheets that all pieces can be cut from."""
    wanted = [piece for own in pieces.values() for piece in own]
    if not wanted:
        return []
    laid = cut(wanted, board.sheet_mm, board.kerf_mm)
    finds = {number: 0.0 for number, own in pieces.items() if own}
    line = _line(shopping_item(board.name), finds | {next(iter(finds)): float(laid.sheets)}, (), shelf)
    left = laid.offcuts[0] if laid.offcuts else None
    offcut = "" if left is None else f"; largest offcut {left.length_mm:.0f} x {left.width_mm:.0f} mm"
    size = f"{board.sheet_mm[0]:g} x {board.sheet_mm[1]:g} mm"
    return [replace(line, note=f"{len(wanted)} pieces cut from {size}{offcut}; offcuts in the store are not counted")]


def _label_line(chosen: Sequence[Held], shelf: dict[str, OnShelf]) -> list[Line]:
    """Labels of every planned box, by the sheet or by the piece of a roll."""
    stock = label_stock(read_choices().label_stock)
    each = stock.columns * stock.rows
    labels = len(LabelRequest().parts) * len(chosen)
    if not labels:
        return []
    unit = "label" if each == 1 else "sheet"
    item = ShoppingItem(name=f"labels {stock.name}", unit=unit, role="single", pack_holds=1, pack_called=unit)
    line = _line(item, {one.number: len(LabelRequest().parts) / each for one in chosen}, (), shelf)
    whole = float(-(-labels // each))
    held = line.in_stock or 0.0
    short = max(whole - held, 0.0)
    return [replace(line, needed=whole, short=short, packs=int(-(-short // line.pack_holds)), note=f"{labels} labels")]


def boxed(one: Held) -> Held:
    """A find with the plan to count its consumables from: in its box, or in the one it waits for or that is made."""
    plan = one.plan
    if plan.box is not None:
        return one
    stock = one.case.plan.stock
    box = next((replace(box, count=None) for box in stock if box.name in plan.would_do[:1]), None)
    if box is None and plan.make_inside_mm is not None:
        made = next((board for option in plan.make_options for board in boards() if board.name == option.board), None)
        wall, thick_mm = ("PP", _THIN_WALL_MM) if made is None else (made.material, made.thickness_mm)
        mass_kg = plan.make_options[0].mass_kg if plan.make_options else 0.0
        box = StockBox(
            name="box to make",
            inside_mm=plan.make_inside_mm,
            wall=wall,
            wall_mm=thick_mm,
            tare_kg=mass_kg,
            max_load_kg=None if plan.load_kg is None else least_rating_kg(plan.load_kg),
        )
    if box is None:
        return one
    alone = replace(one.case.plan, stock=(box,), wanted_box=None, fridge_inside_mm=None, place_max_load_kg=None)
    case = replace(one.case, plan=alone, box=None)
    return replace(one, case=case, plan=plan_case(case))


def _unplaced(lines: Sequence[Line], strange: Sequence[str]) -> tuple[str, ...]:
    """What no list says: where things stand, and materials of the ledger that are no item of this list."""
    boxes = [line.item for line in lines if line.kind == BOX and line.in_stock != 0 and not line.place]
    said = []
    if boxes:
        said.append(f"Where {', '.join(boxes)} stand is not in the box list: add a column place to it.")
    if strange:
        said.append(f"Not an item of this list, so not counted: {', '.join(strange)}; give its kind in the register.")
    return tuple(said)


def _assumptions(chosen: Sequence[Held]) -> tuple[str, ...]:
    said = [
        "Nothing is added for waste, trial sheets or torn gloves.",
        "Pack sizes not in your own list are common practice without a source.",
        "What nobody counted is taken as not there, boxes excepted.",
    ]
    if any(one.plan.cushion is not None for one in chosen):
        said.append("Cushion foam is counted as plank: check that it is the foam the cushion was worked out for.")
    return tuple(said)
