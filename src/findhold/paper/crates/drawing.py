"""The plan of one layer of a crate, to scale and seen from above: each thing numbered, named and in its place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from findhold.draw.handling import handling_mark
from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import FILM, Circle, Drawing, Mark, Path, Pen, Point, Text
from findhold.draw.scale import dimension, scale_bar
from findhold.errors import BadInput

SCALES = (1, 2, 5, 10, 20, 50)
WALL_MM = 1.2
"""Thickness of the crate's drawn wall on the paper."""
LEFT_MM, TOP_MM, RIGHT_MM, BOTTOM_MM = 6.0, 12.5, 11.0, 17.0
"""Room round the plan on the paper: the word for the front, the heading, the dimensions, the scale bar."""
_THIN, _BELOW, _HEAVY = Pen(width_mm=0.25), Pen(width_mm=0.15, dash_mm=(1.2, 0.9)), Pen(width_mm=0.9)


@dataclass(frozen=True, slots=True, kw_only=True)
class CrateBox:
    """A thing in a crate as it is drawn: its place in the loading order, number, name, corner and size [mm], layer."""

    order: int
    number: str
    what: str
    at_mm: tuple[int, int, int]
    size_mm: tuple[int, int, int]
    layer: int
    mass_kg: float
    heavy: bool = False
    bears_nothing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CratePlan:
    """A crate to be drawn: label, name, inside [mm], how many layers there are, and what stands in it."""

    label: str
    """What it is called: "Crate 2"."""
    name: str
    inside_mm: tuple[float, float, float]
    layers: int
    boxes: tuple[CrateBox, ...]


def layer_drawing(crate: CratePlan, layer: int, *, width_mm: float = 131.0) -> Drawing:
    """The plan of one layer.

    Things of this layer are drawn whole, those of the layers below dashed, with their number where it can be seen.
    Heavy things have a thick outline and the word.

    Parameters
    ----------
    crate : the crate and all that is in it.
    layer : 1 for the floor.
    width_mm : the drawing may be no wider than this [mm]; the largest usual scale is taken.

    Raises
    ------
    BadInput : the crate has no such layer, or is too long for every usual scale.
    """
    if not 1 <= layer <= crate.layers:
        raise BadInput(f"there is no layer {layer}", where=f"crate {crate.name}", do=f"Ask for 1 to {crate.layers}")
    scale = _scale(crate, width_mm)
    here = [box for box in crate.boxes if box.layer == layer]
    lower = [box for box in crate.boxes if box.layer < layer]
    length, width = crate.inside_mm[0] / scale, crate.inside_mm[1] / scale
    marks: list[Mark] = [*_crate(crate, length, width)]
    for box in sorted(lower, key=lambda one: one.layer):
        above = [_corners(one, scale, width) for one in crate.boxes if box.layer < one.layer <= layer]
        marks += _below(box, _corners(box, scale, width), above)
    marks += [mark for box in here for mark in _standing(box, scale, width)]
    marks += _words(crate, layer, (length, width), scale)
    names = ", ".join(f"{box.number} {box.what}".strip() for box in here)
    return Drawing(
        width_mm=LEFT_MM + length + RIGHT_MM,
        height_mm=TOP_MM + width + BOTTOM_MM,
        marks=tuple(marks),
        title=f"{crate.label}, {crate.name}, layer {layer} of {crate.layers}, seen from above, 1:{scale}",
        description=f"In this layer: {names}",
    )


def _scale(crate: CratePlan, width_mm: float) -> int:
    room = width_mm - LEFT_MM - RIGHT_MM
    for scale in SCALES:
        if crate.inside_mm[0] / scale <= room:
            return scale
    raise BadInput(
        f"a crate {crate.inside_mm[0]:g} mm long cannot be drawn",
        where=f"crate {crate.name}",
        limit=f"up to {room * SCALES[-1]:.0f} mm",
        do="Check its sizes",
    )


def _corners(box: CrateBox, scale: float, width: float) -> tuple[Point, Point]:
    """Top left and bottom right on the paper; the crate's front is below."""
    x, y, _ = box.at_mm
    left, bottom = LEFT_MM + x / scale, TOP_MM + width - y / scale
    return (left, bottom - box.size_mm[1] / scale), (left + box.size_mm[0] / scale, bottom)


def _outline(low: Point, high: Point) -> tuple[Point, ...]:
    return (low, (high[0], low[1]), high, (low[0], high[1]))


def _crate(crate: CratePlan, length: float, width: float) -> list[Mark]:
    """The wall, with the inside left white."""
    low, high = (LEFT_MM, TOP_MM), (LEFT_MM + length, TOP_MM + width)
    out = ((low[0] - WALL_MM, low[1] - WALL_MM), (high[0] + WALL_MM, high[1] + WALL_MM))
    return [
        Path(points=_outline(*out), closed=True, pen=Pen(width_mm=0.35), fill=FILM),
        Path(points=_outline(low, high), closed=True, pen=Pen(width_mm=0.35), fill=FILM),
        *dimension((low[0], high[1]), high, f"{crate.inside_mm[0]:g}", away_mm=-4.5, size_mm=2.2),
        *dimension(high, (high[0], low[1]), f"{crate.inside_mm[1]:g}", away_mm=-4.5, size_mm=2.2),
    ]


def _standing(box: CrateBox, scale: float, width: float) -> list[Mark]:
    low, high = _corners(box, scale, width)
    inset = 0.45 if box.heavy else 0.12
    inner = ((low[0] + inset, low[1] + inset), (high[0] - inset, high[1] - inset))
    marks: list[Mark] = [
        Path(points=_outline(*inner), closed=True, pen=_HEAVY if box.heavy else _THIN, fill=FILM),
    ]
    return marks + _lettered(box, low, high)


def _below(box: CrateBox, corners: tuple[Point, Point], over: Sequence[tuple[Point, Point]]) -> list[Mark]:
    """A thing of a lower layer, dashed, its number in a corner that nothing above it covers."""
    low, high = corners
    marks: list[Mark] = [Path(points=_outline(low, high), closed=True, pen=_BELOW, fill=FILM)]
    size = 2.0
    wide, tall = text_width_mm(box.number, size, condensed=True), size * 0.8
    if wide > high[0] - low[0] - 1.4 or tall > high[1] - low[1] - 1.2:
        return marks
    for x, y in (
        (high[0] - 0.7 - wide, high[1] - 0.8),
        (low[0] + 0.7, high[1] - 0.8),
        (high[0] - 0.7 - wide, low[1] + 2.2),
        (low[0] + 0.7, low[1] + 2.2),
    ):
        hidden = any(a[0] < x + wide and x < b[0] and a[1] < y and y - tall < b[1] for a, b in over)
        if not hidden:
            marks.append(Text(at=(x, y), text=box.number, size_mm=size, condensed=True))
            break
    return marks


def _lettered(box: CrateBox, low: Point, high: Point) -> list[Mark]:
    """Loading order in a ring, number, name, mass and what to heed, as far as there is room, the number always."""
    wide, tall = high[0] - low[0] - 2.0, high[1] - low[1] - 1.8
    turned = tall > 1.6 * wide
    if turned:
        wide, tall = tall, wide
    lines = _fitted(box, wide, tall)
    height = sum(size * 1.18 for _, size, _ in lines)
    marks: list[Mark] = []
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    ringed = min(high[0] - low[0], high[1] - low[1]) >= 11.0
    if ringed and not turned and text_width_mm(lines[0][0], lines[0][1], bold=True) > high[0] - low[0] - 12.0:
        # The number would run into the ring: it moves down below it where there is room.
        lower = low[1] + 5.2 + height / 2
        middle = (middle[0], max(middle[1], min(lower, high[1] - height / 2 - 0.8)))
    below = -height / 2
    for text, size, bold in lines:
        below += size * 1.18
        off = below - size * 0.3
        at = (middle[0] + off, middle[1]) if turned else (middle[0], middle[1] + off)
        turn = -90.0 if turned else 0.0
        marks.append(
            Text(at=at, text=text, size_mm=size, anchor="middle", bold=bold, condensed=not bold, turn_deg=turn)
        )
    ring = (low[0] + 3.1, low[1] + 3.1)
    if ringed:
        marks += [
            Circle(centre=ring, radius_mm=1.9, pen=_THIN, fill=FILM),
            Text(at=(ring[0], ring[1] + 0.8), text=str(box.order), size_mm=2.2, anchor="middle"),
        ]
    return marks


def _fitted(box: CrateBox, wide: float, tall: float) -> list[tuple[str, float, bool]]:
    """Lines with their sizes: the number first, then what else goes under it."""
    size = next((s for s in (4.2, 3.6, 3.0, 2.5, 2.0, 1.6) if text_width_mm(box.number, s, bold=True) <= wide), 1.3)
    lines = [(box.number, min(size, max(1.3, tall / 1.2)), True)]
    heed = " · ".join(
        word for word in ("HEAVY" if box.heavy else "", "nothing on top" if box.bears_nothing else "") if word
    )
    for text, most in ((heed, 2.3), (f"{box.mass_kg:.1f} kg", 2.3), (box.what, 2.3)):
        if not text:
            continue
        for smaller in (most, 2.0, 1.7):
            shown = _cut(text, wide, smaller) if text == box.what else text
            used = sum(s * 1.18 for _, s, _ in lines)
            if shown and text_width_mm(shown, smaller, condensed=True) <= wide and used + smaller * 1.18 <= tall:
                lines.insert(1 if text == box.what else len(lines), (shown, smaller, False))
                break
    return lines


def _cut(text: str, wide: float, size: float) -> str:
    """A name shortened at a word to what goes in; empty when not even one word does (the list beside has it whole)."""
    words = text.split()
    while words and text_width_mm(" ".join(words), size, condensed=True) > wide:
        words.pop()
    return " ".join(words).rstrip(",;")


def _words(crate: CratePlan, layer: int, plan: tuple[float, float], scale: int) -> Sequence[Mark]:
    """Heading, the mark for this way up, front, and the scale bar."""
    length, width = plan
    where = "on the floor" if layer == 1 else "dashed: what lies below"
    bottom = TOP_MM + width
    return [
        *handling_mark("this way up", (LEFT_MM - WALL_MM, 0.6), 8.0),
        Text(at=(LEFT_MM + 8.6, 4.4), text=f"{crate.label}, layer {layer} of {crate.layers}", size_mm=3.4, bold=True),
        Text(at=(LEFT_MM + 8.6, 8.4), text=f"seen from above, {where}", size_mm=2.3),
        Text(at=(LEFT_MM - 2.2, TOP_MM + width / 2), text="label end", size_mm=2.2, anchor="middle", turn_deg=-90),
        Text(at=(LEFT_MM + length - 0.5, bottom + 9.0), text="front", size_mm=2.2, anchor="end"),
        *scale_bar((LEFT_MM, bottom + 7.6), denominator=scale, longest_mm=min(50.0, 0.7 * length)),
    ]
