"""A store drawn from the front, to scale: its inside, the boxes in it, and on each box how long it may still wait."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import ACCENT, FILM, Drawing, Mark, Path, Pen, Point, Text
from findhold.draw.scale import dimension, scale_bar
from findhold.geometry.standing import stand_in_rows

SCALES = (5, 10, 20, 25, 50, 100)
_NUMBER_MM, _SMALL_MM = 2.6, 2.1
_WALL = Pen(width_mm=0.5)
_BOX = Pen(width_mm=0.25)
_PAST = Pen(width_mm=0.6, colour=ACCENT)
_OPEN = Pen(width_mm=0.25, dash_mm=(1.0, 0.7))
_SHELF = Pen(width_mm=0.25)
_ASSUMED = Pen(width_mm=0.13, dash_mm=(1.2, 1.0))
_LEFT, _TOP, _RIGHT, _FOOT = 13.0, 4.0, 4.0, 24.0
_PLACE_ROOM = 20.0
GAP_MM = 15.0
"""Kept between two boxes in the picture [mm of the store] (judgement)."""
HAND_MM = 70.0
"""Kept above each row, for hands and cold air [mm of the store] (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxInStore:
    """One box as the picture takes it: its outside from the front, and how long it may wait (None: not known)."""

    key: str
    number: str
    left_days: float | None
    left_words: str
    length_mm: float
    height_mm: float
    place: str = ""
    """The recorded shelf; "" where none is recorded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreArgs:
    """A store from the front: its inside as width and height [mm], its boxes, the scale (20 for 1:20).

    shelves : name and height over the store's own floor [mm]; drawn where they are once every box stands on one.
    """

    name: str
    inside_mm: tuple[float, float]
    boxes: tuple[BoxInStore, ...]
    scale: int
    shelves: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where a box stands on the sheet: left, top, width and height [mm]."""

    key: str
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreDrawn:
    """The picture, where each box stands on it, and the boxes that had no room in it."""

    drawing: Drawing
    spots: tuple[Spot, ...]
    left_over: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Label:
    """The words of a box: inside on two lines, inside on one, or above it."""

    way: str
    width_mm: float
    lines: tuple[str, ...]


def scale_for(inside_mm: tuple[float, float], room_mm: tuple[float, float]) -> int:
    """The largest of the scales at which a store's front fits a piece of paper."""
    for scale in SCALES[:-1]:
        if inside_mm[0] / scale <= room_mm[0] and inside_mm[1] / scale <= room_mm[1]:
            return scale
    return SCALES[-1]


def hatch_for(left_days: float | None) -> str | None:
    """The hatch for the time left: the less there is, the closer its lines; None for no date or more than 14 days."""
    if left_days is None or left_days > 14.0:
        return None
    return (
        "days 0" if left_days < 0.0 else "days 3" if left_days <= 3.0 else "days 7" if left_days <= 7.0 else "days 14"
    )


def store_drawing(args: StoreArgs) -> StoreDrawn:
    """Draw a store from the front.

    Not for finding a box: boxes whose shelf is not recorded stand in an order of the picture's own, under broken lines.

    Parameters
    ----------
    args : the store, its boxes and the scale.

    Returns
    -------
    The picture with each box's place on the sheet. No box stands in another or outside the store.
    """
    labels = {box.key: _label(box, args.scale) for box in args.boxes}
    stands, rows, left_over = _stood(args, labels)
    wide, high = (side / args.scale for side in args.inside_mm)
    right = _PLACE_ROOM if any(place for place, _ in rows) else _RIGHT
    marks: list[Mark] = [
        Path(points=_corners(_LEFT, _TOP, wide, high), closed=True, pen=_WALL, fill=FILM),
        *_row_marks(rows, args),
    ]
    spots = []
    for box in args.boxes:
        if box.key not in stands:
            continue
        left, floor = (place / args.scale for place in stands[box.key])
        width, height = box.length_mm / args.scale, box.height_mm / args.scale
        spot = Spot(
            key=box.key, left_mm=_LEFT + left, top_mm=_TOP + high - floor - height, width_mm=width, height_mm=height
        )
        spots.append(spot)
        marks += _box_marks(box, spot, labels[box.key])
    marks += _measures(args)
    return StoreDrawn(
        drawing=Drawing(
            width_mm=max(_LEFT + wide + right, _LEFT + 48.0),
            height_mm=_TOP + high + _FOOT,
            marks=tuple(marks),
            title=f"{args.name} from the front, 1:{args.scale}",
            description=_spoken(args, left_over),
        ),
        spots=tuple(spots),
        left_over=left_over,
    )


def _label(box: BoxInStore, scale: int) -> _Label:
    """Where a box's words find room."""
    width, height = box.length_mm / scale, box.height_mm / scale
    number = text_width_mm(box.number, _NUMBER_MM, bold=True)
    words = text_width_mm(box.left_words, _SMALL_MM)
    if max(number, words) + 1.2 <= width and height >= 7.4:
        return _Label(way="two", width_mm=max(number, words), lines=(box.number, box.left_words))
    one = f"{box.number} · {box.left_words}"
    length = text_width_mm(one, _SMALL_MM)
    if length + 1.2 <= width and height >= 3.2:
        return _Label(way="one", width_mm=length, lines=(one,))
    return _Label(way="above", width_mm=length, lines=(one,))


Rows = list[tuple[str, float]]
"""Of each row: the recorded place ("" where none is) and its floor above the store's floor [mm of the store]."""


def _stood(args: StoreArgs, labels: dict[str, _Label]) -> tuple[dict[str, tuple[float, float]], Rows, tuple[str, ...]]:
    """Left edge and floor of each box [mm of the store]: recorded shelves from the top, the rest below."""
    entered = {name.casefold() for name, _ in args.shelves}
    if entered and all(box.place.casefold() in entered for box in args.boxes):
        return _on_shelves(args, labels)
    wide, high = args.inside_mm
    stands: dict[str, tuple[float, float]] = {}
    rows: Rows = []
    over: list[str] = []
    ceiling = high
    for place in sorted({box.place for box in args.boxes if box.place}, key=_counting):
        here = [box for box in args.boxes if box.place == place]
        taken = [_taken(box, labels[box.key], args.scale) for box in here]
        floor = ceiling - max(height for _, height in taken) - HAND_MM
        if floor < 0.0:
            over += [box.key for box in here]
            continue
        left = GAP_MM
        for box, (width, _) in zip(here, taken, strict=True):
            if left + width + GAP_MM > wide:
                over.append(box.key)
                continue
            stands[box.key] = (left, floor)
            left += width + GAP_MM
        rows.append((place, floor))
        ceiling = floor
    loose = [box for box in args.boxes if not box.place]
    sizes = [_taken(box, labels[box.key], args.scale) for box in loose]
    found = stand_in_rows(sizes, (wide, ceiling), gap_mm=GAP_MM, clear_mm=HAND_MM)
    for box, where in zip(loose, found, strict=True):
        if where is None:
            over.append(box.key)
        else:
            stands[box.key] = (where.left_mm, where.floor_mm)
    rows += [("", floor) for floor in sorted({where.floor_mm for where in found if where is not None})]
    return stands, rows, tuple(over)


def _on_shelves(
    args: StoreArgs, labels: dict[str, _Label]
) -> tuple[dict[str, tuple[float, float]], Rows, tuple[str, ...]]:
    """Boxes on the shelves as they are entered, from the left; one behind another is not seen from the front."""
    stands: dict[str, tuple[float, float]] = {}
    over: list[str] = []
    for name, floor in args.shelves:
        left = GAP_MM
        for box in args.boxes:
            if box.place.casefold() != name.casefold():
                continue
            width, _ = _taken(box, labels[box.key], args.scale)
            if left + width > args.inside_mm[0] or floor + box.height_mm > args.inside_mm[1]:
                over.append(box.key)
                continue
            stands[box.key] = (left, floor)
            left += width + GAP_MM
    return stands, [(name, floor) for name, floor in args.shelves if floor < args.inside_mm[1]], tuple(over)


def _taken(box: BoxInStore, label: _Label, scale: int) -> tuple[float, float]:
    """Width and height that a box takes with its words [mm of the store]."""
    if label.way != "above":
        return box.length_mm, box.height_mm
    return max(box.length_mm, label.width_mm * scale), box.height_mm + 3.0 * scale


def _counting(place: str) -> list[tuple[int, str]]:
    """Shelf 2 before shelf 10."""
    return [(int(part), "") if part.isdigit() else (0, part) for part in re.split(r"(\d+)", place)]


def _row_marks(rows: Rows, args: StoreArgs) -> list[Mark]:
    """A line under each row: firm with its name where the shelf is recorded, broken where it is not."""
    wide, high = (side / args.scale for side in args.inside_mm)
    marks: list[Mark] = []
    for place, floor in rows:
        y = _TOP + high - floor / args.scale
        if floor > 0.0:
            marks.append(Path(points=((_LEFT, y), (_LEFT + wide, y)), pen=_SHELF if place else _ASSUMED))
        if place:
            marks.append(Text(at=(_LEFT + wide + 1.5, y), text=place, size_mm=_SMALL_MM))
    return marks


def _box_marks(box: BoxInStore, spot: Spot, label: _Label) -> list[Mark]:
    """A box with its lid's edge, its hatch for the time left, and its words."""
    past = box.left_days is not None and box.left_days < 0.0
    pen = _PAST if past else _OPEN if box.left_days is None else _BOX
    corners = _corners(spot.left_mm, spot.top_mm, spot.width_mm, spot.height_mm)
    lid = spot.top_mm + min(0.9, spot.height_mm / 4)
    marks: list[Mark] = [
        Path(points=corners, closed=True, pen=pen, fill=FILM, hatch=hatch_for(box.left_days)),
        Path(points=((spot.left_mm, lid), (spot.left_mm + spot.width_mm, lid)), pen=Pen(width_mm=0.13)),
    ]
    middle, foot = spot.left_mm + spot.width_mm / 2, spot.top_mm + spot.height_mm
    if label.way == "two":
        centre = (lid + foot) / 2
        marks += _patched(label.lines[0], (middle, centre - 0.4), _NUMBER_MM)
        marks += _patched(label.lines[1], (middle, centre + 2.4), _SMALL_MM)
    elif label.way == "one":
        marks += _patched(label.lines[0], (middle, (lid + foot) / 2 + 0.75), _SMALL_MM)
    else:
        marks.append(Text(at=(spot.left_mm, spot.top_mm - 0.9), text=label.lines[0], size_mm=_SMALL_MM, bold=past))
    return marks


def _patched(text: str, at: Point, size_mm: float) -> list[Mark]:
    """Words in the middle of a box on a patch of ground, so that no hatch runs through them."""
    bold = size_mm == _NUMBER_MM
    half, x, y = text_width_mm(text, size_mm, bold=bold) / 2 + 0.4, at[0], at[1]
    patch = _corners(x - half, y - 0.78 * size_mm, 2 * half, 0.98 * size_mm)
    return [
        Path(points=patch, closed=True, pen=None, fill=FILM),
        Text(at=at, text=text, size_mm=size_mm, anchor="middle", bold=bold),
    ]


def _measures(args: StoreArgs) -> list[Mark]:
    """The inside's width and height, and the bar scale."""
    wide, high = (side / args.scale for side in args.inside_mm)
    foot = _TOP + high
    marks: list[Mark] = [
        *dimension((_LEFT, _TOP), (_LEFT, foot), f"{args.inside_mm[1]:.0f} mm", away_mm=-5.5),
        *dimension((_LEFT, foot), (_LEFT + wide, foot), f"{args.inside_mm[0]:.0f} mm inside", away_mm=-6.5),
    ]
    marks += scale_bar((_LEFT, foot + 12.5), denominator=args.scale, longest_mm=min(max(wide, 30.0), 60.0))
    return marks


def _corners(left: float, top: float, width: float, height: float) -> tuple[Point, ...]:
    return ((left, top), (left + width, top), (left + width, top + height), (left, top + height))


def _spoken(args: StoreArgs, left_over: Sequence[str]) -> str:
    """The picture in words."""
    wide, high = args.inside_mm
    said = [f"{args.name}, {wide:.0f} mm wide and {high:.0f} mm high inside"]
    for box in args.boxes:
        where = box.place or "shelf not recorded"
        said.append(
            f"box of find {box.number}: {box.left_words}, {'no room in the picture' if box.key in left_over else where}"
        )
    return "; ".join(said) + "."
