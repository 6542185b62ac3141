"""Section and plan of the packed box: measured, to a round scale, every material hatched and named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import Drawing, Mark, Point, Text
from findhold.draw.scale import scale_bar
from findhold.draw.spacing import LINE, wrapped
from findhold.errors import BadInput
from findhold.paper import boxmarks, boxsigns
from findhold.paper.boxmarks import Room, Stand, stand_in
from findhold.paper.boxnames import block_words, plan_names, section_names, spoken
from findhold.paper.cut import Cut, cut_of
from findhold.paper.dimensions import (
    Label,
    Span,
    leaders,
    level_dimension,
    upright_chain,
    upright_total,
    written_mm,
)
from findhold.paper.packed import SectionLayer, SectionSpec, check_section

__all__ = ["SectionLayer", "SectionSpec", "plan_drawing", "section_drawing"]

_SIZE_MM = 2.3
_NAME_SIZES_MM = (2.3, 2.1, 1.9)
_TITLE_MM = 3.0
_TIER_MM = 5.4
_BAR_MM = 9.0
"""Height of the bar scale, which stands under the names."""
_RAISED_MM = 1.4
"""More room under the box when the block is so short that its figure stands over its dimension line."""
_CENTRED_MM = 0.5
"""A centre of gravity nearer than this to the middle of the box is in the middle [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """A drawing in the making: its size, its upright chain, its names, and where the box stands."""

    width_mm: float
    height_mm: float
    chain: tuple[Span, ...]
    """Stretches of the upright direction from the top down, in the box's own millimetres."""
    column_mm: float
    stand: Stand
    off_centre: Span | None
    """From the middle of the box to the centre of gravity, in the box's own millimetres; None when not to be drawn."""


def section_drawing(spec: SectionSpec, *, width_mm: float, height_mm: float, across: bool = False) -> Drawing:
    """The measured section through the packed box: A-A along its length, or B-B across it.

    Not for taking the thickness of walls and films off with a ruler: what is too thin to print is drawn thicker,
    outwards, so that the inside keeps its size. The tissue folded under the block is drawn flat. A block with an
    outline shows its silhouette, and pads show as seen, also where the cut itself passes beside them.

    Parameters
    ----------
    spec : the packed box [mm].
    width_mm, height_mm : the drawing on the paper [mm], at least about 110 x 80.
    across : False cuts along the length, seen from the near side; True across it, seen from the right end.

    Returns
    -------
    The drawing, at the largest round scale that fits.

    Raises
    ------
    BadInput : the parts do not add up, or the drawing is too small for the box and its names.
    """
    check_section(spec)
    cut = cut_of(spec, "across" if across else "along")
    height, top = cut.block_mm[1], spec.bed_mm + cut.block_mm[1]
    chain = (
        Span(start_mm=top, end_mm=spec.inside_mm[2], words=(f"lid gap {written_mm(spec.lid_gap_mm)}",)),
        Span(start_mm=spec.bed_mm, end_mm=top, words=(f"block {written_mm(height)}",)),
        Span(start_mm=0, end_mm=spec.bed_mm, words=(f"bed {written_mm(spec.bed_mm)}",)),
    )
    frame = _frame(cut, chain, (width_mm, height_mm))
    stand = frame.stand
    words, named = block_words(cut, stand, _SIZE_MM)
    marks = boxmarks.bed_marks(cut, stand) + boxmarks.contour_marks(cut, stand) + boxmarks.fill_marks(cut, stand)
    marks += boxmarks.neck_marks(cut, stand)
    marks += boxmarks.beside_marks(cut, stand)
    marks += boxmarks.over_marks(cut, stand) + boxmarks.under_lid_marks(cut, stand)
    marks += boxmarks.tray_marks(cut, stand) + boxmarks.block_marks(cut, stand)
    marks += boxmarks.wall_marks(cut, stand) + boxmarks.lid_marks(cut, stand) + words
    marks += _gravity(cut, frame) + _lifts(cut, stand)
    marks += _dimensions(cut, frame, ("inside width" if across else "inside length", "inside height"))
    marks += _names(section_names(cut, stand, block_named=named), frame)
    title = "Section B–B" if across else "Section A–A"
    marks += _writing(title, frame)
    way = " across" if across else ""
    return Drawing(
        width_mm=width_mm,
        height_mm=height_mm,
        marks=tuple(marks),
        title=f"Section{way} through {spec.box_name} with {spec.block_label}, scale 1:{stand.ratio}",
        description=spoken(spec),
    )


def plan_drawing(spec: SectionSpec, *, width_mm: float, height_mm: float) -> Drawing:
    """The packed box from above with its lid off: the block's turn and the clearance on each side.

    Parameters
    ----------
    spec : the packed box [mm].
    width_mm, height_mm : the drawing on the paper [mm], at least about 100 x 70.

    Returns
    -------
    The drawing, at the largest round scale that fits.

    Raises
    ------
    BadInput : the parts do not add up, or the drawing is too small for the box and its names.
    """
    check_section(spec)
    cut = cut_of(spec, "plan")
    across = cut.block_mm[1]
    side, far = written_mm(spec.side_w_mm), spec.side_w_mm + across
    chain = (
        Span(start_mm=far, end_mm=spec.inside_mm[1], words=(f"side {side}",)),
        Span(start_mm=spec.side_w_mm, end_mm=far, words=(f"{_reach_word(cut)} {written_mm(across)}",)),
        Span(start_mm=0, end_mm=spec.side_w_mm, words=(f"side {side}",)),
    )
    frame = _frame(cut, chain, (width_mm, height_mm))
    stand = frame.stand
    words, named = block_words(cut, stand, _SIZE_MM)
    marks = boxmarks.beside_marks(cut, stand) + boxmarks.ring_marks(cut, stand) + boxmarks.block_marks(cut, stand)
    marks += boxmarks.plan_wall_marks(cut, stand) + boxmarks.hidden_marks(cut, stand)
    marks += boxsigns.cutting_line(stand, _SIZE_MM) + boxsigns.crossing_line(stand, _SIZE_MM) + words
    marks += boxsigns.end_names(stand, _SIZE_MM) if spec.leans else []
    marks += _gravity(cut, frame) + _lifts(cut, stand)
    marks += _dimensions(cut, frame, ("inside length", "inside width"))
    marks += _names(plan_names(cut, stand, block_named=named), frame)
    marks += _writing("Plan, lid and upper foam off" if spec.beside else "Plan, lid off", frame)
    return Drawing(
        width_mm=width_mm,
        height_mm=height_mm,
        marks=tuple(marks),
        title=f"Plan of {spec.box_name} with {spec.block_label}, scale 1:{stand.ratio}",
        description=spoken(spec),
    )


def _frame(cut: Cut, chain: tuple[Span, ...], size: Point) -> _Frame:
    """Measure the writing, and stand the box in what it leaves."""
    spec, (width, height) = cut.spec, size
    words = max(text_width_mm(span.words[0], _SIZE_MM) for span in chain)
    column = min(48.0, max(30.0, 0.31 * width))
    left = 1.0 + _SIZE_MM + 2.4 + words + 2.6 + 4.2
    off = _off_centre(cut)
    bottom = height - (2 if off is None else 3) * _TIER_MM - 1.5
    top = _TITLE_MM + (6.0 if cut.view == "plan" else 4.0)
    room = Room(left_mm=left, right_mm=width - column - 6.5, top_mm=top, bottom_mm=bottom)
    stand = stand_in(room, cut.inside_mm, spec.wall_mm, where=f"section of {spec.box_name}")
    return _Frame(width_mm=width, height_mm=height, chain=chain, column_mm=column, stand=stand, off_centre=off)


def _off_centre(cut: Cut) -> Span | None:
    """How far the centre of gravity lies from the middle of the box in this view, when it is known and off it."""
    if cut.spec.cog_mm is None:
        return None
    middle, at = cut.inside_mm[0] / 2, cut.laid_at(cut.spec.cog_mm)[0]
    if abs(at - middle) < _CENTRED_MM:
        return None
    off = written_mm(round(abs(at - middle), 1))
    return Span(start_mm=middle, end_mm=at, words=(f"{off} off the middle", f"{off} off", off))


def _gravity(cut: Cut, frame: _Frame) -> list[Mark]:
    """The centre of gravity where it is measured, or in the middle of the block where it is taken to be."""
    spec, stand = cut.spec, frame.stand
    middle = (cut.corner_mm[0] + cut.block_mm[0] / 2, cut.corner_mm[1] + cut.block_mm[1] / 2)
    if spec.cog_mm is None and (cut.view == "plan" or not spec.centre_of_gravity):
        return []
    at = stand.at(*(middle if spec.cog_mm is None else cut.laid_at(spec.cog_mm)))
    radius = max(0.7, min(1.5, 0.3 * min(cut.block_mm) / stand.ratio))
    marks: list[Mark] = []
    if frame.off_centre is not None:
        low = stand.floor_mm + stand.wall_mm
        marks = [boxsigns.centre_line(at, (at[0], low))]
        if cut.view != "plan":
            x = stand.at(frame.off_centre.start_mm, 0)[0]
            marks.append(boxsigns.centre_line((x, stand.rim_mm), (x, low)))
    return marks + boxsigns.gravity_marks(at, radius)


def _lifts(cut: Cut, stand: Stand) -> list[Mark]:
    """Hands and slings, those behind each other drawn once."""
    marks: list[Mark] = []
    for by, at in dict.fromkeys((lift.by, stand.at(*cut.laid_at(lift.at_mm))) for lift in cut.spec.lifts):
        if cut.view == "plan":
            marks += boxsigns.grip_mark(at)
        else:
            marks += boxsigns.hand_mark(at) if by == "hand" else boxsigns.sling_mark(at)
    return marks


def _dimensions(cut: Cut, frame: _Frame, names: tuple[str, str]) -> list[Mark]:
    """Upright chain and total at the left, level chain and total below, and how far off the weight lies."""
    stand, (level_name, upright_name) = frame.stand, names
    edge = stand.left_mm - stand.wall_mm - 1.4
    chain = [
        Span(start_mm=stand.at(0, s.end_mm)[1], end_mm=stand.at(0, s.start_mm)[1], words=s.words) for s in frame.chain
    ]
    line = edge - 2.8
    bounds = (_TITLE_MM + 3.0, max(stand.floor_mm + stand.wall_mm + 2.4, _TITLE_MM + 3.4 + 3 * LINE * _SIZE_MM))
    outer = line - 2.6 - max(text_width_mm(s.words[0], _SIZE_MM) for s in chain) - 2.0
    high = written_mm(stand.inside_mm[1])
    total = Span(start_mm=stand.rim_mm, end_mm=stand.floor_mm, words=(f"{upright_name} {high}", f"inside {high}", high))
    marks = upright_total(total, x_mm=outer, from_mm=line - 1.6, size_mm=_SIZE_MM)
    marks += upright_chain(chain, x_mm=line, from_mm=edge + 0.6, size_mm=_SIZE_MM, bounds_mm=bounds)
    below = stand.floor_mm + stand.wall_mm + 1.0
    start, along = cut.corner_mm[0], cut.block_mm[0]
    x = [stand.at(v, 0)[0] for v in (0, start, start + along, stand.inside_mm[0])]
    side, block, length = written_mm(start), written_mm(along), written_mm(stand.inside_mm[0])
    sides = (f"side {side}", side)
    level = [
        Span(start_mm=x[0], end_mm=x[1], words=sides),
        Span(start_mm=x[1], end_mm=x[2], words=(f"{_reach_word(cut)} {block}", block)),
        Span(start_mm=x[2], end_mm=x[3], words=sides),
    ]
    if text_width_mm(block, _SIZE_MM) > x[2] - x[1] - 1.5:
        below += _RAISED_MM
    tiers = [level, [Span(start_mm=x[0], end_mm=x[3], words=(f"{level_name} {length}", f"inside {length}", length))]]
    off = frame.off_centre
    if off is not None:
        ends = sorted((stand.at(off.start_mm, 0)[0], stand.at(off.end_mm, 0)[0]))
        room = frame.width_mm - frame.column_mm - 2.5 - ends[1]
        fitting = [words for words in off.words if text_width_mm(words, _SIZE_MM) <= room]
        tiers.append([Span(start_mm=ends[0], end_mm=ends[1], words=tuple((fitting or [off.words[-1]])[:1]))])
    for number, spans in enumerate(tiers):
        y = below + (number + 1) * _TIER_MM - 1.0
        marks += level_dimension(spans, y_mm=y, from_mm=below + number * _TIER_MM, size_mm=_SIZE_MM)
    return marks


def _reach_word(cut: Cut) -> str:
    """What the block's level dimension is: its own size, or how far it reaches when it stands askew."""
    return "block" if cut.spec.turn_deg in (0, 90) else "reach"


def _names(names: Sequence[tuple[Point, str]], frame: _Frame) -> list[Mark]:
    """The column of names at the right edge, in smaller letters when they are many."""
    bounds = (1.0, frame.height_mm - _BAR_MM - 1.0)
    x = frame.width_mm - frame.column_mm
    for size in _NAME_SIZES_MM:
        labels = [Label(at=at, lines=wrapped(name, frame.column_mm - 1.0, size)) for at, name in names]
        try:
            return leaders(labels, x_mm=x, size_mm=size, bounds_mm=bounds)
        except BadInput:
            if size == _NAME_SIZES_MM[-1]:
                raise
    return []


def _writing(title: str, frame: _Frame) -> list[Mark]:
    """The drawing's title and its bar scale."""
    marks: list[Mark] = [Text(at=(1.0, _TITLE_MM), text=title, size_mm=_TITLE_MM, bold=True)]
    used = text_width_mm(title, _TITLE_MM, bold=True)
    marks.append(Text(at=(3.0 + used, _TITLE_MM), text="sizes in mm", size_mm=_SIZE_MM))
    at = (frame.width_mm - frame.column_mm, frame.height_mm - _BAR_MM)
    marks += scale_bar(at, denominator=frame.stand.ratio, longest_mm=frame.column_mm - 8.0)
    return marks
