"""Sheets of a load as one PDF, and its contents list as CSV."""

from __future__ import annotations

import csv
import io
from datetime import datetime
from pathlib import Path

from findhold.crate.dividers import Divider
from findhold.crate.load import CrateLoad, InPlace
from findhold.crate.shelves import ShelfPlan
from findhold.paper.crates.drawing import CrateBox, CratePlan
from findhold.paper.crates.shared import SharedPlan
from findhold.paper.crates.sheet import ContentRow, CrateSheet, CrateSheets, SharedSheet, crate_sheets_pdf
from findhold.service.folder import file_name, write_file
from findhold.service.packing.crating.answer import answer_words, cautions, gap_words
from findhold.service.packing.crating.asking import Crated, SharedBox
from findhold.service.packing.crating.shared_words import base_mm, find_words, mass_words, pad_words, work_words
from findhold.tables.materials import packing_material

HEADINGS = (
    *("crate", "kind", "order", "number", "what", "context", "state", "human_remains", "mass_kg", "layer"),
    *("x_mm", "y_mm", "z_mm", "length_mm", "width_mm", "height_mm", "stands_on", "carries_kg", "may_carry_kg"),
)


def write_crates(done: Crated, out: Path, *, at: datetime, person: str = "") -> tuple[str, ...]:
    """Write the sheets (PDF) and the contents list (CSV) of a load into a folder; returns the files.

    Parameters
    ----------
    done : what was loaded; without any crate only the list of what is left over is written.
    out : the folder; made when missing.
    at : the document's date with its zone.
    person : who printed it.

    Raises
    ------
    BadInput : the folder cannot be written, or a letter cannot be printed.
    """
    name = done.title
    pdf = crate_sheets_pdf(_sheets(done, at, person), date=at)
    files = [
        write_file(out / file_name(name, "sheets", ending=".pdf"), pdf),
        write_file(out / file_name(name, "contents", ending=".csv"), contents_csv(done)),
    ]
    return tuple(str(file) for file in files)


def contents_csv(done: Crated) -> bytes:
    """One row for each thing in a crate, then those left over with crate empty and the reason under what."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(HEADINGS)
    loads = done.loads.loads if done.loads is not None else ()
    for load in loads:
        for order, item in enumerate(load.items, 1):
            writer.writerow(_cells(load, order, item))
    for box in done.shared:
        writer.writerows(_shared_cells(box))
    for number, why, do in _left(done):
        writer.writerow(["", "left over", "", _plain_cell(number), _plain_cell(f"{why}. {do}")])
    return text.getvalue().encode("utf-8-sig")


def _cells(load: CrateLoad, order: int, item: InPlace) -> list[object]:
    words = [_plain_cell(text) for text in (item.number, item.what, item.context)]
    human = "yes" if item.human_remains else "no"
    places = [*item.at_mm, *item.size_mm]
    carried = [f"{item.carries_kg:.3f}", f"{item.bears_kg:.3f}"]
    on = _plain_cell(", ".join(item.rests_on))
    return [
        load.number,
        _plain_cell(load.crate),
        order,
        *words,
        item.state,
        human,
        f"{item.mass_kg:.3f}",
        item.layer,
        *places,
        on,
        *carried,
    ]


def _shared_cells(box: SharedBox) -> list[list[object]]:
    """The rows of a shared box: each find in its compartment, whose sizes are told."""
    by = {find.number: find for find in box.request.finds}
    rows: list[list[object]] = []
    for order, part in enumerate(box.plan.compartments, 1):
        find = by[part.find]
        words = [_plain_cell(text) for text in (find.number, find.what, find.context)]
        human = "yes" if find.human_remains else "no"
        places = [*part.at_mm, base_mm(box), *part.size_mm, find.size_mm[2]]
        kept = [find.state, human, f"{find.mass_kg:.3f}", 1]
        rows.append([_plain_cell(box.name), "shared box", order, *words, *kept, *places, "", "", ""])
    return rows


def _plain_cell(text: str) -> str:
    """Text that no spreadsheet program takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def _left(done: Crated) -> list[tuple[str, str, str]]:
    crates = () if done.loads is None else done.loads.left_over
    return [*done.unplaced, *((f"{one.number} {one.what}".strip(), one.why, one.do) for one in crates)]


def _sheets(done: Crated, at: datetime, person: str) -> CrateSheets:
    loads = done.loads
    return CrateSheets(
        title=done.title,
        place=done.place,
        sheets=() if loads is None else tuple(_sheet(load, len(loads.loads)) for load in loads.loads),
        left_over=tuple(_left(done)),
        shared=tuple(_shared(box) for box in done.shared),
        shelves=() if done.shelves is None else _shelves(done.shelves),
        answer=answer_words(done),
        wishes=() if loads is None else loads.wishes_broken,
        remarks=done.remarks,
        assumptions=() if loads is None else loads.assumptions,
        cautions=cautions(done),
        printed_at=at,
        person=person,
    )


def _shared(box: SharedBox) -> SharedSheet:
    """A shared box as it is drawn and cut, or why it is none."""
    request, plan = box.request, box.plan
    by = {find.number: find for find in request.finds}
    if not plan.works:
        apart = tuple(f"{' and '.join(reason.numbers)}: {reason.why} ({reason.seen})" for reason in plan.apart)
        return SharedSheet(name=box.name, plan=None, cut=(), finds=(), trouble=(plan.trouble, *apart))
    parts = []
    for part in plan.compartments:
        length, width, _ = by[part.find].size_mm
        stands = (width, length) if part.turned else (length, width)
        parts.append((part.find, by[part.find].what, (*part.at_mm, *part.size_mm), stands))
    return SharedSheet(
        name=box.name,
        plan=SharedPlan(
            name=box.name,
            inside_mm=request.inside_mm[:2],
            compartments=tuple(parts),
            dividers=tuple(_strip(cut) for cut in plan.dividers),
            hatch=packing_material(request.divider).hatch,
        ),
        cut=pad_words(box),
        finds=find_words(box),
        masses=mass_words(box),
        work=work_words(box),
        trouble=plan.remarks,
    )


def _strip(cut: Divider) -> tuple[float, float, float, float]:
    """A divider as a rectangle in plan."""
    x, y = cut.at_mm
    return (x, y, cut.thickness_mm, cut.length_mm) if cut.across else (x, y, cut.length_mm, cut.thickness_mm)


def _shelves(plan: ShelfPlan) -> tuple[tuple[str, str, str], ...]:
    rows = [
        (
            shelf.shelf,
            ", ".join(box.number for box in shelf.boxes) or "empty",
            f"{shelf.load_kg:.1f} of {shelf.rated_kg:g} kg",
        )
        for shelf in plan.shelves
    ]
    return (*rows, *((f"no place: {number}", why, "") for number, why in plan.without))


def _sheet(load: CrateLoad, of: int) -> CrateSheet:
    boxes = tuple(_box(order, item) for order, item in enumerate(load.items, 1))
    return CrateSheet(
        number=load.number,
        of=of,
        plan=CratePlan(
            label=f"Crate {load.number}", name=load.crate, inside_mm=load.inside_mm, layers=load.layers, boxes=boxes
        ),
        rows=tuple(_row(order, item) for order, item in enumerate(load.items, 1)),
        company=load.company,
        contexts=", ".join(load.contexts) or "not stated",
        gross_kg=load.gross_kg,
        net_kg=load.net_kg,
        limit_kg=load.limit_kg,
        limit_why=load.limit_why,
        fill=load.fill,
        centre=_centre(load),
        why=load.why,
        gaps=gap_words(load),
    )


def _box(order: int, item: InPlace) -> CrateBox:
    return CrateBox(
        order=order,
        number=item.number,
        what=item.what,
        at_mm=item.at_mm,
        size_mm=item.size_mm,
        layer=item.layer,
        mass_kg=item.mass_kg,
        heavy=item.heavy,
        bears_nothing=item.bears_kg == 0,
    )


def _row(order: int, item: InPlace) -> ContentRow:
    on = "on the floor" if not item.rests_on else "on " + ", ".join(item.rests_on)
    return ContentRow(
        order=order,
        number=item.number,
        what=item.what,
        context=item.context,
        state=item.state,
        mass_kg=item.mass_kg,
        layer=item.layer,
        stands_on=on,
        heed=_heed(item),
    )


def _heed(item: InPlace) -> str:
    words = []
    if item.heavy:
        words.append("HEAVY")
    if item.human_remains:
        words.append("human remains")
    if item.bears_kg == 0:
        words.append("nothing on top")
    return "; ".join(words)


def _centre(load: CrateLoad) -> str:
    """Where the contents' centre of mass lies, from the crate's middle and over its floor."""
    x, y, z = load.cog_mm
    along, across = x - load.inside_mm[0] / 2, y - load.inside_mm[1] / 2
    said = [f"{z:.0f} mm over the floor"]
    if abs(along) >= 10:
        said.append(f"{abs(along):.0f} mm from the middle {'away from' if along > 0 else 'to'} the label end")
    if abs(across) >= 10:
        said.append(f"{abs(across):.0f} mm to the {'back' if across > 0 else 'front'}")
    return ", ".join(said)
