"""Section and plan of the packed box: measured, to a round scale, every material hatched and named."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import FILM, Drawing, Mark, Path, Point, Text
from findhold.draw.scale import scale_bar
from findhold.draw.spacing import LINE, RISE, wrapped
from findhold.paper import boxmarks
from findhold.paper.boxmarks import Room, Stand, stand_in
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
_TITLE_MM = 3.0
_TIER_MM = 5.4
_BAR_MM = 9.0
"""Height of the bar scale, which stands under the names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """A drawing in the making: its size, its upright chain, its names, and where the box stands."""

    width_mm: float
    height_mm: float
    chain: tuple[Span, ...]
    """Stretches of the upright direction from the top down, in the box's own millimetres."""
    column_mm: float
    stand: Stand


def section_drawing(spec: SectionSpec, *, width_mm: float, height_mm: float) -> Drawing:
    """The measured section through the packed box, along its length.

    Not for taking the thickness of walls and films off with a ruler: what is too thin to print is drawn thicker,
    outwards, so that the inside keeps its size. The tissue folded under the block is drawn flat.

    Parameters
    ----------
    spec : the packed box [mm].
    width_mm, height_mm : the drawing on the paper [mm], at least about 110 x 80.

    Returns
    -------
    The drawing, at the largest round scale that fits.

    Raises
    ------
    BadInput : the parts do not add up, or the drawing is too small for the box and its names.
    """
    check_section(spec)
    along, _, height = spec.block_as_laid_mm()
    top = spec.bed_mm + height
    chain = (
        Span(start_mm=top, end_mm=spec.inside_mm[2], words=(f"lid gap {written_mm(spec.lid_gap_mm)}",)),
        Span(start_mm=spec.bed_mm, end_mm=top, words=(f"block {written_mm(height)}",)),
        Span(start_mm=0, end_mm=spec.bed_mm, words=(f"bed {written_mm(spec.bed_mm)}",)),
    )
    frame = _frame(spec, chain, spec.inside_mm[2], (width_mm, height_mm))
    stand = frame.stand
    block = stand.area(spec.side_l_mm, spec.bed_mm, spec.side_l_mm + along, top)
    words, named = _block_words(spec, block, marked=spec.centre_of_gravity)
    marks = boxmarks.bed_marks(spec, stand) + boxmarks.fill_marks(spec, stand) + boxmarks.over_marks(spec, stand)
    marks += boxmarks.block_marks(spec, block)
    marks += boxmarks.wall_marks(spec, stand) + boxmarks.lid_marks(spec, stand) + words
    if spec.centre_of_gravity:
        radius = min(1.5, 0.3 * min(along, height) / stand.ratio)
        marks += boxmarks.gravity_marks(stand.at(spec.side_l_mm + along / 2, spec.bed_mm + height / 2), radius)
    marks += _dimensions(spec, frame, along, "inside height")
    marks += _names(_section_names(spec, stand, block_named=named), frame)
    marks += _writing("Section A–A", frame)
    return Drawing(
        width_mm=width_mm,
        height_mm=height_mm,
        marks=tuple(marks),
        title=f"Section through {spec.box_name} with {spec.block_label}, scale 1:{stand.ratio}",
        description=_spoken(spec),
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
    along, across, _ = spec.block_as_laid_mm()
    side, far = written_mm(spec.side_w_mm), spec.side_w_mm + across
    chain = (
        Span(start_mm=far, end_mm=spec.inside_mm[1], words=(f"side {side}",)),
        Span(start_mm=spec.side_w_mm, end_mm=far, words=(f"block {written_mm(across)}",)),
        Span(start_mm=0, end_mm=spec.side_w_mm, words=(f"side {side}",)),
    )
    frame = _frame(spec, chain, spec.inside_mm[1], (width_mm, height_mm))
    stand = frame.stand
    block = stand.area(spec.side_l_mm, spec.side_w_mm, spec.side_l_mm + along, far)
    words, named = _block_words(spec, block, marked=True)
    marks = boxmarks.ring_marks(spec, stand) + boxmarks.block_marks(spec, block)
    marks += boxmarks.plan_wall_marks(spec, stand) + boxmarks.cutting_line(stand, _SIZE_MM) + words
    marks += _dimensions(spec, frame, along, "inside width")
    marks += _names(_plan_names(spec, stand, block_named=named), frame)
    marks += _writing("Plan, lid off", frame)
    return Drawing(
        width_mm=width_mm,
        height_mm=height_mm,
        marks=tuple(marks),
        title=f"Plan of {spec.box_name} with {spec.block_label}, scale 1:{stand.ratio}",
        description=_spoken(spec),
    )


def _frame(spec: SectionSpec, chain: tuple[Span, ...], upright_mm: float, size: Point) -> _Frame:
    """Measure the writing, and stand the box in what it leaves."""
    width, height = size
    words = max(text_width_mm(span.words[0], _SIZE_MM) for span in chain)
    column = min(48.0, max(30.0, 0.31 * width))
    left = 1.0 + _SIZE_MM + 2.4 + words + 2.6 + 4.2
    room = Room(
        left_mm=left, right_mm=width - column - 6.5, top_mm=_TITLE_MM + 4.0, bottom_mm=height - 2 * _TIER_MM - 1.5
    )
    inside = (spec.inside_mm[0], upright_mm)
    stand = stand_in(room, inside, spec.wall_mm, where=f"section of {spec.box_name}")
    return _Frame(width_mm=width, height_mm=height, chain=chain, column_mm=column, stand=stand)


def _dimensions(spec: SectionSpec, frame: _Frame, along: float, upright_name: str) -> list[Mark]:
    """Upright chain and total at the left, level chain and total below."""
    stand = frame.stand
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
    x = [stand.at(v, 0)[0] for v in (0, spec.side_l_mm, spec.side_l_mm + along, stand.inside_mm[0])]
    side, block, length = written_mm(spec.side_l_mm), written_mm(along), written_mm(stand.inside_mm[0])
    sides = (f"side {side}", side)
    level = [
        Span(start_mm=x[0], end_mm=x[1], words=sides),
        Span(start_mm=x[1], end_mm=x[2], words=(f"block {block}", block)),
        Span(start_mm=x[2], end_mm=x[3], words=sides),
    ]
    marks += level_dimension(level, y_mm=below + _TIER_MM - 1.0, from_mm=below, size_mm=_SIZE_MM)
    whole = [Span(start_mm=x[0], end_mm=x[3], words=(f"inside length {length}", f"inside {length}", length))]
    first = below + _TIER_MM
    return marks + level_dimension(whole, y_mm=below + 2 * _TIER_MM - 1.0, from_mm=first, size_mm=_SIZE_MM)


def _block_words(spec: SectionSpec, corners: tuple[Point, ...], *, marked: bool) -> tuple[list[Mark], bool]:
    """The block's name written in it where there is room, clear of a mark in its middle."""
    wide, high = corners[1][0] - corners[0][0], corners[0][1] - corners[3][1]
    lines = wrapped(spec.block_label, 0.8 * wide, _SIZE_MM)
    tall = (len(lines) * LINE + 0.6) * _SIZE_MM
    if not lines or tall > (high / 2 - 2.4 if marked else high - 2.0):
        return [], False
    middle = (corners[0][0] + corners[1][0]) / 2
    top = corners[3][1] + (high / 4 if marked else high / 2) - tall / 2
    half = max(text_width_mm(line, _SIZE_MM) for line in lines) / 2 + 0.9
    panel = ((middle - half, top), (middle + half, top), (middle + half, top + tall), (middle - half, top + tall))
    first = top + (0.3 + 0.5 * (LINE - 1) + RISE) * _SIZE_MM
    return [
        Path(points=panel, closed=True, pen=None, fill=FILM),
        *(
            Text(at=(middle, first + n * LINE * _SIZE_MM), text=line, size_mm=_SIZE_MM, anchor="middle")
            for n, line in enumerate(lines)
        ),
    ], True


def _section_names(spec: SectionSpec, stand: Stand, *, block_named: bool) -> list[tuple[Point, str]]:
    """What is named at the right of the section, each with a point in it."""
    along, _, height = spec.block_as_laid_mm()
    right, low, top = spec.side_l_mm + along, spec.bed_mm, spec.bed_mm + height
    wall = stand.wall_mm / 2
    names = [((stand.right_mm - 3.0, stand.rim_mm - wall), "lid, closed on the rim")]
    rim = (stand.right_mm + wall, stand.floor_mm - 0.72 * (stand.floor_mm - stand.rim_mm))
    names.append((rim, f"{spec.box_name}, wall {written_mm(spec.wall_mm)} mm"))
    z = top + spec.wrapped_mm
    for layer in spec.laid("top"):
        names.append((stand.at(right - 0.16 * along, z + layer.thickness_mm / 2), _called(layer)))
        z += layer.thickness_mm
    for number, (layer, begin, end) in enumerate(spec.wraps()):
        at = stand.at(right + (begin + end) / 2, low + (0.86 - 0.1 * number) * height)
        names.append((at, _wrap_called(spec, layer)))
    if spec.barrier_name():
        names.append((stand.at(right, low + 0.62 * height), f"{spec.barrier_name()} (barrier)"))
    fill, clear = spec.fill(), spec.side_l_mm - spec.wrapped_mm
    if fill is not None and clear > 0:
        names.append((stand.at(right + spec.wrapped_mm + clear / 2, low + 0.36 * height), _called(fill)))
    if not block_named:
        names.append((stand.at(right - 0.2 * along, low + 0.2 * height), spec.block_label))
    if spec.centre_of_gravity:
        names.append((stand.at(right - along / 2, low + height / 2), "centre of gravity, taken in the middle"))
    z = 0.0
    for number, layer in enumerate(spec.laid("bed")):
        x = stand.inside_mm[0] * (0.93 - 0.04 * number)
        names.append((stand.at(x, z + layer.thickness_mm / 2), _called(layer)))
        z += layer.thickness_mm
    return names


def _plan_names(spec: SectionSpec, stand: Stand, *, block_named: bool) -> list[tuple[Point, str]]:
    """What is named at the right of the plan."""
    along, across, _ = spec.block_as_laid_mm()
    right, near = spec.side_l_mm + along, spec.side_w_mm
    names = [((stand.right_mm + stand.wall_mm / 2, stand.at(0, near + 0.9 * across)[1]), spec.box_name)]
    for number, (layer, begin, end) in enumerate(spec.wraps()):
        at = stand.at(right + (begin + end) / 2, near + (0.74 - 0.12 * number) * across)
        names.append((at, _wrap_called(spec, layer)))
    fill, clear = spec.fill(), spec.side_l_mm - spec.wrapped_mm
    if fill is not None and clear > 0:
        names.append((stand.at(right + spec.wrapped_mm + clear / 2, near + 0.3 * across), _called(fill)))
    if not block_named:
        names.append((stand.at(right - 0.2 * along, near + 0.12 * across), spec.block_label))
    turn = "turned 90° in the box" if spec.turn_deg == 90 else "long side along the box"
    names.append((stand.at(right - 0.12 * along, near + 0.04 * across), f"block: {turn}"))
    return names


def _wrap_called(spec: SectionSpec, layer: SectionLayer) -> str:
    """A layer round the block; the wrapping's thickness is for the eye only and is not written."""
    return layer.name if layer == spec.wrapping() else _called(layer)


def _called(layer: SectionLayer) -> str:
    """A layer's name, its material when the name does not say it, and its thickness."""
    name = layer.name
    if layer.material and layer.material.casefold() not in name.casefold():
        name = f"{name} ({layer.material})"
    return f"{name}, {written_mm(layer.thickness_mm)} mm" if layer.thickness_mm else name


def _names(names: list[tuple[Point, str]], frame: _Frame) -> list[Mark]:
    """The column of names at the right edge."""
    labels = [Label(at=at, lines=wrapped(name, frame.column_mm - 1.0, _SIZE_MM)) for at, name in names]
    bounds = (1.0, frame.height_mm - _BAR_MM - 1.0)
    return leaders(labels, x_mm=frame.width_mm - frame.column_mm, size_mm=_SIZE_MM, bounds_mm=bounds)


def _writing(title: str, frame: _Frame) -> list[Mark]:
    """The drawing's title and its bar scale."""
    marks: list[Mark] = [Text(at=(1.0, _TITLE_MM), text=title, size_mm=_TITLE_MM, bold=True)]
    used = text_width_mm(title, _TITLE_MM, bold=True)
    marks.append(Text(at=(3.0 + used, _TITLE_MM), text="sizes in mm", size_mm=_SIZE_MM))
    at = (frame.width_mm - frame.column_mm, frame.height_mm - _BAR_MM)
    marks += scale_bar(at, denominator=frame.stand.ratio, longest_mm=frame.column_mm - 8.0)
    return marks


def _spoken(spec: SectionSpec) -> str:
    """The drawing in words, for those who cannot see it."""
    layers = "; ".join(_called(layer) for layer in spec.layers)
    return (
        f"Bed {written_mm(spec.bed_mm)} mm, block {written_mm(spec.block_mm[2])} mm high, lid gap"
        f" {written_mm(spec.lid_gap_mm)} mm, side clearances {written_mm(spec.side_l_mm)} and"
        f" {written_mm(spec.side_w_mm)} mm. Layers: {layers}."
    )
