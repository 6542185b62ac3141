"""The section and plan measured back from their marks: they must say what the box is, to rounding.

Nothing here reads the drawing's own bookkeeping: walls, block and layers are found by their form, the scale by what
is written, and lettering is measured with another engine (Pillow, from the shipped font file).
"""

from __future__ import annotations

import io
import itertools
import re
from dataclasses import replace
from functools import cache
from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ImageFont
from scipy.optimize import minimize

from findhold.draw.marks import INK, Drawing, Path, Text
from findhold.draw.spacing import spread
from findhold.errors import BadInput
from findhold.paper.section import SectionLayer, SectionSpec, plan_drawing, section_drawing


def layer(name: str, thickness_mm: float, hatch: str, place: str) -> SectionLayer:
    return SectionLayer(name=name, material=name, thickness_mm=thickness_mm, hatch=hatch, place=place)


FOAM_STRIPS = layer("foam strips", 0, "foam", "round")
TISSUE = layer("damp tissue", 4, "tissue", "round")


def packed(
    inside: tuple[float, float, float], block: tuple[float, float, float], bed: float, **more: object
) -> SectionSpec:
    """A block in the middle of a box: the clearances are what the sizes leave."""
    turned = more.get("turn_deg", 0) == 90
    along, across = (block[1], block[0]) if turned else (block[0], block[1])
    facts = {
        "box_name": "lidded box",
        "inside_mm": inside,
        "wall_mm": 2.0,
        "turn_deg": 0,
        "block_mm": block,
        "block_label": "find 37 in its soil block",
        "block_hatch": "soil",
        "layers": (layer("foam plank", bed, "foam", "bed"), TISSUE, FOAM_STRIPS),
        "side_l_mm": (inside[0] - along) / 2,
        "side_w_mm": (inside[1] - across) / 2,
        "bed_mm": bed,
        "lid_gap_mm": inside[2] - bed - block[2],
        "wrapping_mm": 4.0,
        "barrier": "polyethylene film",
        "centre_of_gravity": True,
    }
    return SectionSpec(**(facts | more))


CASES = {
    "jar": packed((340, 280, 230), (220, 200, 150), 34),
    "layered bed": packed(
        (340, 280, 230),
        (220, 200, 150),
        34,
        layers=(
            layer("base board", 4, "board", "bed"),
            layer("foam", 27, "foam", "bed"),
            layer("damp tissue", 3, "tissue", "bed"),
            TISSUE,
            layer("film bag", 0.1, "film", "round"),
            FOAM_STRIPS,
            layer("damp tissue on top", 3, "tissue", "top"),
        ),
    ),
    "flat wide": packed((600, 400, 60), (500, 300, 20), 10),
    "tall": packed((250, 250, 600), (180, 180, 430), 80),
    "very thin bed": packed((340, 280, 230), (220, 200, 150), 2),
    "tiny find in small box": packed((90, 60, 45), (9, 4, 3), 20),
    "block nearly filling the box": packed((210, 270, 190), (260, 200, 170), 5, turn_deg=90),
    "no wrapping": packed((340, 280, 230), (220, 200, 150), 34, wrapping_mm=0, layers=(), barrier=None),
    "thick walls": packed((340, 280, 230), (220, 200, 150), 34, wall_mm=18.0),
}


@cache
def pillow_font(bold: bool) -> ImageFont.FreeTypeFont:
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    data = resources.files("findhold.draw").joinpath("fonts", name).read_bytes()
    return ImageFont.truetype(io.BytesIO(data), 1000)


def ink_box(text: Text) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of a text's ink on the paper, by Pillow; level or turned by -90 degrees."""
    start = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
    left, top, right, bottom = (v * text.size_mm / 1000 for v in pillow_font(text.bold).getbbox(text.text, anchor="ls"))
    shift = start * pillow_font(text.bold).getlength(text.text) * text.size_mm / 1000
    x, y = text.at
    if text.turn_deg == 0:
        return (x + left - shift, y + top, x + right - shift, y + bottom)
    assert text.turn_deg == -90
    return (x + top, y - right + shift, x + bottom, y - left + shift)


def apart(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


def written_ratio(drawing: Drawing) -> float:
    (said,) = [m.text for m in drawing.marks if isinstance(m, Text) and m.text.startswith("Scale 1:")]
    return float(said.removeprefix("Scale 1:"))


def written_sizes(drawing: Drawing, word: str) -> list[float]:
    found = (re.fullmatch(rf"{word} ([\d.]+)", m.text) for m in drawing.marks if isinstance(m, Text))
    return [float(match[1]) for match in found if match]


def inside_of_walls(drawing: Drawing) -> tuple[float, float, float, float]:
    """Left, rim, right, floor on the paper: the wall is the lowest cut shape with eight corners."""
    shapes = [m for m in drawing.marks if isinstance(m, Path) and m.closed and len(m.points) == 8]
    wall = max(shapes, key=lambda m: max(y for _, y in m.points))
    (_, left_rim, left_floor, right_floor, right_rim, *_) = wall.points
    assert left_rim[1] == right_rim[1]
    assert left_floor[1] == right_floor[1]
    return (left_rim[0], left_rim[1], right_floor[0], right_floor[1])


def block_of(drawing: Drawing, hatch: str = "soil") -> tuple[float, float, float, float]:
    (block,) = [m for m in drawing.marks if isinstance(m, Path) and m.closed and m.hatch == hatch]
    xs, ys = zip(*block.points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def contents(drawing: Drawing) -> list[tuple[float, float, float, float]]:
    """Boxes round every hatched or inked material besides walls, lid, bar scale and signs."""
    left, rim, right, floor = inside_of_walls(drawing)
    boxes = []
    for mark in drawing.marks:
        if not isinstance(mark, Path) or not mark.closed or not (mark.hatch or mark.fill == INK):
            continue
        xs, ys = zip(*mark.points, strict=True)
        if min(xs) >= left - 1e-6 and max(xs) <= right + 1e-6 and max(ys) <= floor + 1e-6:
            boxes.append((min(xs), min(ys), max(xs), max(ys)))
    assert boxes, "no material drawn"
    assert rim < floor
    return boxes


@pytest.mark.parametrize("name", CASES)
def test_inside_and_block_measure_what_they_are_at_the_written_scale(name: str) -> None:
    spec = CASES[name]
    drawing = section_drawing(spec, width_mm=120, height_mm=88)
    ratio = written_ratio(drawing)
    left, rim, right, floor = inside_of_walls(drawing)
    assert (right - left) * ratio == pytest.approx(spec.inside_mm[0], abs=1e-6)
    assert (floor - rim) * ratio == pytest.approx(spec.inside_mm[2], abs=1e-6)
    along = spec.block_mm[1] if spec.turn_deg == 90 else spec.block_mm[0]
    x0, y0, x1, y1 = block_of(drawing)
    assert (x1 - x0) * ratio == pytest.approx(along, abs=1e-6)
    assert (y1 - y0) * ratio == pytest.approx(spec.block_mm[2], abs=1e-6)
    assert (x0 - left) * ratio == pytest.approx(spec.side_l_mm, abs=1e-6)
    assert (right - x1) * ratio == pytest.approx(spec.side_l_mm, abs=1e-6)
    assert (floor - y1) * ratio == pytest.approx(spec.bed_mm, abs=1e-6)
    assert (y0 - rim) * ratio == pytest.approx(spec.lid_gap_mm, abs=1e-6)


@pytest.mark.parametrize("name", CASES)
def test_nothing_stands_above_the_rim(name: str) -> None:
    drawing = section_drawing(CASES[name], width_mm=120, height_mm=88)
    _, rim, _, _ = inside_of_walls(drawing)
    assert min(top for _, top, _, _ in contents(drawing)) >= rim


@pytest.mark.parametrize("name", CASES)
def test_bed_layers_block_and_gap_add_up_to_the_inside_height(name: str) -> None:
    spec = CASES[name]
    drawing = section_drawing(spec, width_mm=120, height_mm=88)
    ratio = written_ratio(drawing)
    left, rim, right, floor = inside_of_walls(drawing)
    wide = [box for box in contents(drawing) if box[2] - box[0] == pytest.approx(right - left, abs=1e-6)]
    bed = sum(y1 - y0 for _, y0, _, y1 in wide) * ratio if spec.layers else spec.bed_mm
    _, top, _, _ = block_of(drawing)
    assert bed + spec.block_mm[2] + (top - rim) * ratio == pytest.approx(spec.inside_mm[2], abs=1e-6)
    assert len(wide) == len([part for part in spec.layers if part.place == "bed"])
    assert floor > rim


@pytest.mark.parametrize("name", CASES)
def test_written_heights_are_the_drawn_ones(name: str) -> None:
    spec = CASES[name]
    drawing = section_drawing(spec, width_mm=120, height_mm=88)
    assert written_sizes(drawing, "lid gap") == [pytest.approx(spec.lid_gap_mm, abs=0.05)]
    assert written_sizes(drawing, "bed") == [pytest.approx(spec.bed_mm, abs=0.05)]
    assert spec.block_mm[2] in written_sizes(drawing, "block")


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("draw", [section_drawing, plan_drawing])
def test_the_bar_scale_is_as_long_as_it_says(name: str, draw) -> None:
    drawing = draw(CASES[name], width_mm=120, height_mm=88)
    texts = [m for m in drawing.marks if isinstance(m, Text)]
    (last,) = [m for m in texts if re.fullmatch(r"[\d.]+ (mm|cm|m)", m.text) and m.size_mm == 2.2]
    figure, unit = last.text.split()
    length_mm = float(figure) * {"mm": 1, "cm": 10, "m": 1000}[unit]
    bars = [m for m in drawing.marks if isinstance(m, Path) and m.closed and len(m.points) == 4 and m.hatch is None]
    fields = [m.points for m in bars if m.points[2][1] - m.points[0][1] == pytest.approx(1.6)]
    drawn = max(x for points in fields for x, _ in points) - min(x for points in fields for x, _ in points)
    assert drawn * written_ratio(drawing) == pytest.approx(length_mm, abs=1e-6)


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("draw", [section_drawing, plan_drawing])
def test_no_two_words_overlap_and_none_leaves_the_sheet(name: str, draw) -> None:
    drawing = draw(CASES[name], width_mm=120, height_mm=88)
    boxes = [(m.text, ink_box(m)) for m in drawing.marks if isinstance(m, Text)]
    for text, (left, top, right, bottom) in boxes:
        assert left >= 0, text
        assert top >= 0, text
        assert right <= drawing.width_mm, text
        assert bottom <= drawing.height_mm, text
    for (one, box), (other, second) in itertools.combinations(boxes, 2):
        assert apart(box, second), (one, other)


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("draw", [section_drawing, plan_drawing])
def test_no_two_leaders_cross(name: str, draw) -> None:
    drawing = draw(CASES[name], width_mm=120, height_mm=88)
    lines = [m.points for m in drawing.marks if isinstance(m, Path) and not m.closed and len(m.points) == 3]
    assert len(lines) >= 2

    def side(a, b, c) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    for (a, b, _), (c, d, _) in itertools.combinations(lines, 2):
        crossing = side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0
        assert not crossing, (a, b, c, d)


@pytest.mark.parametrize("name", CASES)
def test_the_plan_measures_length_width_and_clearances(name: str) -> None:
    spec = CASES[name]
    drawing = plan_drawing(spec, width_mm=120, height_mm=88)
    ratio = written_ratio(drawing)
    along, across = spec.block_mm[:2] if spec.turn_deg == 0 else spec.block_mm[1::-1]
    x0, y0, x1, y1 = block_of(drawing)
    assert ((x1 - x0) * ratio, (y1 - y0) * ratio) == (pytest.approx(along), pytest.approx(across))
    rectangles = [m.points for m in drawing.marks if isinstance(m, Path) and m.closed and len(m.points) == 4]
    inside = [
        points
        for points in rectangles
        if abs(points[1][0] - points[0][0]) * ratio == pytest.approx(spec.inside_mm[0])
        and abs(points[2][1] - points[1][1]) * ratio == pytest.approx(spec.inside_mm[1])
    ]
    left, top = min(x for x, _ in inside[0]), min(y for _, y in inside[0])
    assert (x0 - left) * ratio == pytest.approx(spec.side_l_mm)
    assert (y0 - top) * ratio == pytest.approx(spec.side_w_mm)
    assert len(written_sizes(drawing, "side")) >= 2


def test_a_turned_block_is_the_block_with_length_and_width_exchanged() -> None:
    turned = packed((340, 280, 230), (200, 220, 150), 34, turn_deg=90)
    straight = packed((340, 280, 230), (220, 200, 150), 34)
    assert section_drawing(turned, width_mm=120, height_mm=80).marks == (
        section_drawing(straight, width_mm=120, height_mm=80).marks
    )


def test_a_thin_wall_grows_outwards_and_leaves_the_inside_as_it_is() -> None:
    thin = section_drawing(packed((340, 280, 230), (220, 200, 150), 34, wall_mm=0.2), width_mm=120, height_mm=80)
    left, _, right, _ = inside_of_walls(thin)
    assert (right - left) * written_ratio(thin) == pytest.approx(340)


@settings(max_examples=60, deadline=None)
@given(
    inside=st.tuples(st.integers(60, 900), st.integers(60, 700), st.integers(40, 600)),
    share=st.tuples(st.floats(0.05, 0.95), st.floats(0.05, 0.95), st.floats(0.05, 0.9)),
    bed_share=st.floats(0.0, 1.0),
    turn_deg=st.sampled_from([0, 90]),
)
def test_any_box_is_drawn_to_scale_with_words_apart(inside, share, bed_share, turn_deg) -> None:
    along, across, height = (round(size * part, 1) for size, part in zip(inside, share, strict=True))
    bed = round((inside[2] - height) * bed_share, 1)
    block = (across, along, height) if turn_deg == 90 else (along, across, height)
    spec = packed(inside, block, bed, turn_deg=turn_deg, wrapping_mm=0, layers=(FOAM_STRIPS,))
    for draw in (section_drawing, plan_drawing):
        drawing = draw(spec, width_mm=120, height_mm=88)
        boxes = [ink_box(m) for m in drawing.marks if isinstance(m, Text)]
        assert all(apart(one, other) for one, other in itertools.combinations(boxes, 2))
        assert all(b[0] >= 0 and b[1] >= 0 and b[2] <= 120 and b[3] <= 88 for b in boxes)
        x0, _, x1, _ = block_of(drawing)
        assert (x1 - x0) * written_ratio(drawing) == pytest.approx(along, abs=1e-6)


def test_a_larger_sheet_never_draws_smaller() -> None:
    spec = CASES["jar"]
    ratios = [written_ratio(section_drawing(spec, width_mm=w, height_mm=0.75 * w)) for w in (110, 130, 160, 200, 280)]
    assert ratios == sorted(ratios, reverse=True)
    assert ratios[0] > ratios[-1]


@settings(max_examples=40, deadline=None)
@given(
    wanted=st.lists(st.floats(0, 60), min_size=1, max_size=6).map(sorted),
    sizes=st.lists(st.floats(2, 8), min_size=6, max_size=6),
)
def test_spread_labels_move_as_little_as_a_general_optimiser_finds(wanted, sizes) -> None:
    sizes = sizes[: len(wanted)]
    places = spread(wanted, sizes, 0.0, 60.0)
    pairs = list(zip(places, sizes, strict=True))
    assert all(b - a >= (s + t) / 2 - 1e-9 for (a, s), (b, t) in itertools.pairwise(pairs))
    assert places[0] >= sizes[0] / 2 - 1e-9
    assert places[-1] <= 60 - sizes[-1] / 2 + 1e-9
    rules = [
        {"type": "ineq", "fun": lambda x, i=i: x[i + 1] - x[i] - (sizes[i] + sizes[i + 1]) / 2}
        for i in range(len(wanted) - 1)
    ]
    rules.append({"type": "ineq", "fun": lambda x: x[0] - sizes[0] / 2})
    rules.append({"type": "ineq", "fun": lambda x: 60 - sizes[-1] / 2 - x[-1]})
    found = minimize(
        lambda x: sum((a - b) ** 2 for a, b in zip(x, wanted, strict=True)), places, constraints=rules, method="SLSQP"
    )
    cost = sum((a - b) ** 2 for a, b in zip(places, wanted, strict=True))
    assert cost <= found.fun + 1e-3 * (1 + found.fun)


def test_labels_that_are_already_apart_stay_where_they_are() -> None:
    assert spread([10.0, 20.0, 30.0], [4.0, 4.0, 4.0], 0.0, 60.0) == [10.0, 20.0, 30.0]


def test_two_labels_at_one_place_part_evenly() -> None:
    assert spread([10.0, 10.0], [4.0, 4.0], 0.0, 60.0) == [8.0, 12.0]


def test_labels_that_cannot_fit_are_refused() -> None:
    with pytest.raises(BadInput, match="3 labels need 30 mm and there are 20 mm"):
        spread([1.0, 2.0, 3.0], [10.0, 10.0, 10.0], 0.0, 20.0)


def test_a_section_that_differs_only_in_its_name_is_drawn_alike() -> None:
    spec = CASES["jar"]
    other = replace(spec, block_label="find 38 in its soil block")
    assert block_of(section_drawing(spec, width_mm=120, height_mm=80)) == block_of(
        section_drawing(other, width_mm=120, height_mm=80)
    )
