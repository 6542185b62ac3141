"""Drawings of a planned box: both sections, the plan and the pictures of the order of work, for paper and pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Literal

from findhold.draw.marks import Drawing
from findhold.draw.svg import to_svg
from findhold.errors import BadInput, UnknownName
from findhold.pack.bed import Layer
from findhold.pack.contour import TRAY
from findhold.pack.cut import STRIP
from findhold.pack.plan import Plan
from findhold.paper.drawings_sheet import DrawingsSheet, drawings_pdf
from findhold.paper.packed import ContourSheet, LiftPoint, SectionLayer, SectionSpec
from findhold.paper.section import plan_drawing, section_drawing
from findhold.paper.steps import PARTS, WET_PARTS, Part, StepGrid, StepPicture, step_drawing, steps_drawing
from findhold.rounding import mass_places, told_mass, told_parts
from findhold.service.folder import file_name, write_file
from findhold.service.packing.cut_words import cut_lines
from findhold.service.packing.pad_places import beside_block, pieces_of
from findhold.tables.materials import packing_material

Kind = Literal["section", "across", "plan", "steps"]
KINDS: tuple[Kind, ...] = ("section", "across", "plan", "steps")
SHEET_MM = (180.0, 125.0)
"""A drawing of its own, as large as an A4 page takes it across [mm]."""

_OPENINGS: dict[Part, tuple[str, ...]] = {
    "box": ("Weigh the empty box",),
    "bed": (
        "Cut foam and board",
        "Lay a foam plank",
        "Lay 1 foam",
        "Lay 2 foam",
        "Lay 4 foam",
        "Lay foam of",
        "Lay the ",
    ),
    "damp": ("Weigh the sheet", "Weigh ", "Let the sheet", "Cut it for bed", "Fold "),
    "wrap": (
        "Lay two flat",
        "Draw the block",
        "Wrap the block",
        "Wrap the find",
        "Put it into",
        "Put the find",
        "Put the wrapped find",
        "Open ",
    ),
    "lower": ("Lower the block", "Lower the find"),
    "water": ("Pour water",),
    "sides": (
        "Check with a straight edge",
        "Fill the sides",
        "Fill the room",
        "Round the block",
        "Round the find",
        "At each",
        "Leave the room",
    ),
    "top": ("Lay over it", "Check again", "Lay the inside label"),
    "lid": ("Labels:", "Close the lid"),
}
"""How the sentences of each part of the work begin."""


def section_spec(plan: Plan, label: str, *, lifts: tuple[LiftPoint, ...] = ()) -> SectionSpec:
    """A planned box as the drawings take it.

    Parameters
    ----------
    plan : a plan with a box.
    label : what the block is called in the drawing: "find 37 in its soil".
    lifts : where hands or slings go, in the block's own frame.

    Raises
    ------
    BadInput : the plan has no box.
    """
    box, gap = plan.box, plan.clearance_mm
    if box is None or gap is None or plan.foam is None:
        raise BadInput("there is no box to draw", where=plan.find, do=plan.make or "Plan it with a box that fits")
    spec = SectionSpec(
        box_name=box.name,
        inside_mm=box.inside_mm,
        wall_mm=box.wall_mm,
        turn_deg=plan.turn_deg,
        block_mm=plan.block_mm,
        block_label=label,
        block_hatch=plan.block_hatch,
        layers=_layers(plan),
        side_l_mm=gap.side_l,
        side_w_mm=gap.side_w,
        bed_mm=gap.bed,
        lid_gap_mm=gap.lid_gap,
        wrapping_mm=plan.wrapping_mm,
        barrier=plan.barrier,
        centre_of_gravity=True,
        profile_mm=plan.profile_mm,
        plan_outline_mm=plan.plan_outline_mm,
        side_outline_mm=plan.side_outline_mm,
        end_outline_mm=plan.end_outline_mm,
        cog_mm=plan.cog_mm,
        lifts=lifts,
        contour=_contour(plan),
        beside=beside_block(plan),
        inner_mm=plan.foam.margin_mm if plan.foam.packing_mm else None,
        margin_mm=plan.foam.margin_mm,
        fill_over_mm=_strips_over_mm(plan),
        under_mm=plan.foam.under_mm,
        base_mm=box.base_mm,
    )
    along, across, _ = spec.block_as_laid_mm()
    # the room told with a tapered box is that at its narrowest; a drawing measures at the rim
    sides = ((box.inside_mm[0] - along) / 2, (box.inside_mm[1] - across) / 2)
    return spec if box.base_mm is None else replace(spec, side_l_mm=sides[0], side_w_mm=sides[1])


def _contour(plan: Plan) -> tuple[ContourSheet, ...]:
    """The sheets with holes."""
    return tuple(
        ContourSheet(
            low_mm=one.from_mm,
            high_mm=one.to_mm,
            opening_mm=(one.open_l_mm, one.open_w_mm),
            off_mm=(one.off_l_mm, one.off_w_mm),
        )
        for one in plan.bed_steps
    )


def step_pictures(plan: Plan, *, whole: bool = False) -> tuple[StepPicture, ...]:
    """The order of work of a plan: one picture for each part that has steps, with the plan's own sentences.

    A sentence of no part stands with the one before it. What comes before the empty box or after the lid has no
    picture; whole gives it its place all the same, so that a drawing alone tells every step.
    """
    wet = plan.dose_way == "submerged"
    told: dict[Part, list[tuple[int, str]]] = {}
    at: Part | None = "before" if whole else None
    for step in plan.steps:
        part = _part_of(step.text, at)
        closed = at == "lid" and part is None and not whole
        if part is not None:
            at = part
        if at is not None and not closed:
            told.setdefault(at, []).append((step.number, step.text))
    return tuple(
        StepPicture(
            part=part,
            figure=_figure(plan, part),
            steps=tuple(told[part]),
            water=plan.dose_g_per_sheet > 0,
            under_water=wet,
        )
        for part in (WET_PARTS if wet else PARTS)
        if part in told
    )


def box_drawing(plan: Plan, label: str, kind: str, size_mm: tuple[float, float] = SHEET_MM) -> Drawing:
    """One drawing of a planned box.

    Parameters
    ----------
    plan, label : a plan with a box, and what the block is called.
    kind : section (along the box), across, plan or steps; or one part of the work for its picture alone.
    size_mm : width and height of the paper [mm]; the pictures of the steps take the height they need.

    Raises
    ------
    BadInput : the plan has no box, or the paper is too small. UnknownName : there is no such drawing.
    """
    spec, (width, height) = section_spec(plan, label), size_mm
    if kind in ("section", "across"):
        return section_drawing(spec, width_mm=width, height_mm=height, across=kind == "across")
    if kind == "plan":
        return plan_drawing(spec, width_mm=width, height_mm=height)
    pictures = step_pictures(plan)
    if kind == "steps":
        pictures = step_pictures(plan, whole=True)
        return steps_drawing(spec, pictures, StepGrid(width_mm=width, per_row=4 if width >= 150 else 2))
    one = next((picture for picture in pictures if picture.part == kind), None)
    if one is None:
        raise UnknownName("drawing", kind, [*KINDS, *(picture.part for picture in pictures)], where=plan.find)
    return step_drawing(spec, one, width_mm=width, height_mm=height)


def box_svg(plan: Plan, label: str, kind: str, size_mm: tuple[float, float] = SHEET_MM) -> str:
    """One drawing of a planned box as SVG text for a page, with title and description for screen readers."""
    return to_svg(box_drawing(plan, label, kind, size_mm))


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnBox:
    """A planned box to be drawn into files: the beginning of their names, the plan, the block's name; what the find
    is, and its number and site where it has them.
    """

    parts: tuple[str, ...]
    plan: Plan
    label: str
    what: str
    place: str = ""


def block_label(plan: Plan, number: str = "") -> str:
    """What the block of a find, or of a scenario without a number, is called in a drawing."""
    return f"find {number}".strip() + (" in its soil" if plan.soil else "")


def write_drawings(boxes: Sequence[DrawnBox], out: Path, *, date: datetime) -> tuple[str, ...]:
    """Write both sections, plan and steps of each box as SVG, and all of one box as a PDF, into a folder.

    Parameters
    ----------
    boxes : plans with a box that do not stop; a drawing of one that stops would look like an order to pack.
    out : the folder, made when it is missing.
    date : the documents' date with its zone.

    Returns
    -------
    The files; all are made before the first is written.
    """
    named: dict[str, bytes] = {}
    for one in boxes:
        drawn = {kind: box_drawing(one.plan, one.label, kind) for kind in KINDS}
        for kind, drawing in drawn.items():
            named[file_name(*one.parts, kind, ending=".svg")] = to_svg(drawing, paper=True).encode("utf-8")
        named[file_name(*one.parts, "drawings", ending=".pdf")] = _pages(one, date)
    return tuple(str(write_file(out / name, data)) for name, data in named.items())


def drawable(plan: Plan) -> bool:
    """Whether a plan may be drawn to be packed by: it has a box and nothing stops it."""
    return plan.box is not None and not plan.stopped


def _pages(one: DrawnBox, date: datetime) -> bytes:
    """All drawings of one box on pages that say whose they are, with its cut list and masses."""
    plan = one.plan
    if not drawable(plan):
        raise ValueError("a plan that stops is not drawn")
    kept = f"{plan.material}, {plan.state}; keep {'wet' if plan.kept == 'waterlogged' else plan.kept}"
    masses = [(part.name, part.mass_kg) for part in plan.masses]
    told = told_parts([mass_kg for _, mass_kg in masses], mass_places(plan.gross_mass_kg or 0.0))
    rows = [(name, mass) for (name, _), mass in zip(masses, told, strict=True)]
    total = "" if plan.gross_mass_kg is None else told_mass(plan.gross_mass_kg).removesuffix(" kg")
    sheet = DrawingsSheet(
        what=one.what,
        place=" · ".join(part for part in (one.place, plan.box_called) if part),
        matter=kept,
        flags=plan.flags,
        cut=cut_lines(plan),
        masses=(*rows, ("packed, lid on", total)),
        date_words=f"drawn {date.day} {date:%b %Y}",
    )
    return drawings_pdf(sheet, section_spec(plan, one.label), step_pictures(plan, whole=True), date=date)


def _layers(plan: Plan) -> tuple[SectionLayer, ...]:
    """The plan's layers; boards and pads with their places under the block, contour steps as a layer of their own."""
    laid = [
        SectionLayer(
            name=layer.name,
            # named once, at the bed: the others are told by their cut list
            material="" if layer.place in ("side", "top") and layer.hatch == "foam" else layer.material,
            thickness_mm=layer.thickness_mm,
            hatch=layer.hatch,
            place=layer.place,  # type: ignore[arg-type]  # the pack room uses the same words
            pieces_mm=_tray(plan) if layer.place == "under" else pieces_of(plan, layer),
        )
        for layer in plan.layers
    ]
    if plan.bed_steps:
        foam = packing_material("polyethylene foam" if plan.cushion is None else plan.cushion.material)
        name = "foam steps to the contour"
        laid.append(SectionLayer(name=name, material=foam.name, thickness_mm=0, hatch=foam.hatch, place="contour"))
    return tuple(laid)


def _strips_over_mm(plan: Plan) -> float:
    """How much higher than the block its strips stand; below 0 where they end under its top [mm]."""
    strips = [cut for cut in (() if plan.foam is None else plan.foam.pieces) if cut.name == STRIP]
    if plan.foam is None or not strips:
        return 0.0
    low = plan.bed_steps[-1].to_mm if plan.bed_steps else -plan.foam.under_mm
    return low + strips[0].width_mm - plan.block_mm[2]


def _tray(plan: Plan) -> tuple[tuple[float, float, float, float], ...]:
    """The tray under a find under water, in the block's frame: in the middle of the lowest hole, or under the find."""
    length, width, _ = plan.block_mm
    off_l, off_w = (plan.bed_steps[0].off_l_mm, plan.bed_steps[0].off_w_mm) if plan.bed_steps else (0.0, 0.0)
    x, y = length / 2.0 + off_l, width / 2.0 + off_w
    return tuple(
        (x - cut.length_mm / 2.0, y - cut.width_mm / 2.0, x + cut.length_mm / 2.0, y + cut.width_mm / 2.0)
        for cut in (() if plan.foam is None else plan.foam.pieces)
        if cut.name == TRAY
    )


def _part_of(sentence: str, at: Part | None) -> Part | None:
    """The part of the work that a sentence belongs to; None for one that no part knows."""
    if at in (None, "before"):
        return "box" if sentence.startswith(_OPENINGS["box"]) else None
    if sentence.startswith("Lay ") and "under the lid" in sentence:
        return "lid"
    found = [
        (len(opening), part)
        for part, openings in _OPENINGS.items()
        for opening in openings
        if sentence.startswith(opening)
    ]
    if found:
        return max(found)[1]
    over = sentence.startswith("Lay ") and at in ("sides", "water", "top") and "silica gel" not in sentence
    return "top" if over else None


def _figure(plan: Plan, part: Part) -> str:
    """The quantities of a part, in a few words."""
    gap = plan.clearance_mm
    if part == "box" and plan.box is not None:
        return f"{plan.box.name}, {plan.box.tare_kg:.3f} kg with its lid"
    if part == "bed":
        laid = [one for one in plan.layers if one.place == "bed" and one.hatch not in ("tissue", "water")]
        return ", ".join(f"{one.name} {one.thickness_mm:g} mm" for one in laid)
    if part == "damp":
        return _water(plan)
    if part == "water":
        return f"about {plan.dose_g:.0f} g"
    if part == "wrap":
        return ", ".join(dict.fromkeys(one.name for one in plan.layers if _wraps(one)))
    if part == "lower":
        length, width, height = plan.block_mm
        return f"block {length:.0f} × {width:.0f} × {height:.0f} mm, level"
    if part == "sides" and gap is not None:
        return f"{gap.side_l:g} mm at the ends, {gap.side_w:g} mm at the sides"
    if part == "top" and plan.foam is not None and plan.foam.packing_mm and plan.foam.over_foam_mm >= 1.0:
        return f"{plan.foam.over_foam_mm:g} mm left under the rim"
    if part == "lid" and plan.gross_mass_kg is not None:
        return f"expect {plan.gross_mass_kg:.2f} kg"
    return ""


def _water(plan: Plan) -> str:
    """Sheets and millilitres: a gram of water is a millilitre."""
    count = f"{plan.sheets} sheet{'' if plan.sheets == 1 else 's'}"
    each = plan.dose_g_per_sheet
    if each <= 0:
        return f"{count}, dry"
    return f"{count}, {each:.1f} ml each" + (f", {plan.sheets * each:.0f} ml in all" if plan.sheets > 1 else "")


def _wraps(layer: Layer) -> bool:
    if layer.hatch == "water":
        return False
    return layer.place in ("barrier", "under") or (layer.place == "round" and layer.thickness_mm > 0)
