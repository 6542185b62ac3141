"""Sections of blocks with an outline, measured back from their marks: to scale, supported, words apart, nothing lost.

Areas are taken by the shoelace rule from the marks themselves; lettering is measured with Pillow.
"""

from __future__ import annotations

import io
import itertools
import math
from functools import cache
from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ImageFont

from findhold.draw.marks import INK, Drawing, Path, Text
from findhold.errors import BadInput
from findhold.paper.cut import cut_of
from findhold.paper.packed import ContourSheet, LiftPoint, SectionLayer, SectionSpec
from findhold.paper.section import plan_drawing, section_drawing

SIZE = {"width_mm": 120.0, "height_mm": 96.0}


def layer(name: str, thickness_mm: float, hatch: str, place: str, **more: object) -> SectionLayer:
    facts = {"name": name, "material": name, "thickness_mm": thickness_mm, "hatch": hatch, "place": place}
    return SectionLayer(**(facts | more))


def packed(
    inside: tuple[float, float, float], block: tuple[float, float, float], bed_mm: float, **more: object
) -> SectionSpec:
    """A block in the middle of a box, square or askew: the clearances are what the sizes leave."""
    turn = math.radians(more.get("turn_deg", 0))
    cos, sin = abs(math.cos(turn)), abs(math.sin(turn))
    along, across = block[0] * cos + block[1] * sin, block[0] * sin + block[1] * cos
    facts = {
        "box_name": "lidded box",
        "inside_mm": inside,
        "wall_mm": 2.0,
        "turn_deg": 0,
        "block_mm": block,
        "block_label": "find 37 in its soil",
        "block_hatch": "soil",
        "layers": (
            layer("foam plank", bed_mm, "foam", "bed"),
            layer("damp tissue", 4, "tissue", "round"),
            layer("foam strips", 0, "foam", "round"),
        ),
        "side_l_mm": (inside[0] - along) / 2,
        "side_w_mm": (inside[1] - across) / 2,
        "bed_mm": bed_mm,
        "lid_gap_mm": inside[2] - bed_mm - block[2],
        "wrapping_mm": 4.0,
    }
    return SectionSpec(**(facts | more))


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
    return (x + top, y - right + shift, x + bottom, y - left + shift)


def words_clash(drawing: Drawing) -> list[str]:
    """Every word that leaves the drawing or lies on another one."""
    boxes = [(m.text, ink_box(m)) for m in drawing.marks if isinstance(m, Text)]
    out = [t for t, b in boxes if b[0] < 0 or b[1] < 0 or b[2] > drawing.width_mm or b[3] > drawing.height_mm]
    for (one, a), (other, b) in itertools.combinations(boxes, 2):
        if not (a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]):
            out.append(f"{one} / {other}")
    return out


def ratio_of(drawing: Drawing) -> float:
    (said,) = [m.text for m in drawing.marks if isinstance(m, Text) and m.text.startswith("Scale 1:")]
    return float(said.removeprefix("Scale 1:"))


def area(points: tuple[tuple[float, float], ...]) -> float:
    pairs = zip(points, [*points[1:], points[0]], strict=True)
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs)) / 2


def hatched(drawing: Drawing, hatch: str) -> list[Path]:
    return [m for m in drawing.marks if isinstance(m, Path) and m.closed and m.hatch == hatch]


POT = ((60.0, 0.0), (140.0, 0.0), (200.0, 90.0), (160.0, 150.0), (40.0, 150.0), (0.0, 90.0))
"""A pot seen from its side: narrow foot, wide shoulder."""


def test_the_block_is_drawn_as_its_silhouette_and_covers_the_area_of_it() -> None:
    drawing = section_drawing(packed((340, 280, 230), (200, 180, 150), 34, side_outline_mm=POT), **SIZE)
    (block,) = hatched(drawing, "soil")
    assert area(block.points) * ratio_of(drawing) ** 2 == pytest.approx(area(POT), rel=1e-9)


def test_strips_are_drawn_straight_as_they_are_cut_and_lie_on_nothing() -> None:
    """Strips up to the wrapped prism, 4 mm beyond the pot at its widest; what the pot leaves of that is not foam."""
    spec = packed((340, 280, 230), (200, 180, 150), 34, side_outline_mm=POT)
    cut = cut_of(spec, "along")
    assert not any(shape.holes for shape in cut.fill())
    assert sum(area(shape.ring) for shape in cut.fill()) == pytest.approx((340 - 200 - 2 * 4) * 150)
    assert all(len(shape.ring) == 4 for shape in cut.fill())


@pytest.mark.parametrize("across", [False, True])
@pytest.mark.parametrize("turn_deg", [0, 90])
def test_a_profile_by_tape_gives_each_view_its_own_widths(turn_deg: int, across: bool) -> None:
    rows = ((0.0, 100.0, 60.0), (90.0, 200.0, 180.0), (150.0, 120.0, 90.0))
    spec = packed((340, 340, 230), (200, 180, 150), 34, profile_mm=rows, turn_deg=turn_deg)
    cut = cut_of(spec, "across" if across else "along")
    column = 1 if across == (turn_deg == 90) else 2
    for height, *_ in rows:
        at = [u for u, v in cut.outline if v == pytest.approx(34 + height)]
        wide = next(row[column] for row in rows if row[0] == height)
        assert max(at) - min(at) == pytest.approx(wide)


def test_a_block_turned_by_a_quarter_shows_its_end_along_the_box_not_mirrored() -> None:
    """Turned anticlockwise from above, the block's y = 0 side comes to lie at the right of the lengthwise section."""
    end = ((0.0, 0.0), (100.0, 0.0), (100.0, 10.0), (0.0, 80.0))
    side = ((0.0, 0.0), (200.0, 0.0), (200.0, 80.0), (0.0, 80.0))
    spec = packed((200, 300, 150), (200, 100, 80), 20, turn_deg=90, end_outline_mm=end, side_outline_mm=side)
    high = max(cut_of(spec, "along").outline, key=lambda corner: corner[1])
    assert high == (pytest.approx(50.0 + 100.0), pytest.approx(20.0 + 80.0))
    assert cut_of(spec, "along").laid_at((0.0, 0.0, 0.0)) == (pytest.approx(150.0), pytest.approx(20.0))


@pytest.mark.parametrize("turn_deg", [0, 24, 90, 130])
def test_a_turn_keeps_distances_and_the_reach_the_sides_say(turn_deg: float) -> None:
    spec = packed((400, 380, 200), (300, 120, 90), 30, turn_deg=turn_deg)
    a, b = spec.laid_in_plan([(0.0, 0.0), (300.0, 120.0)])
    assert math.dist(a, b) == pytest.approx(math.hypot(300, 120))
    corners = spec.laid_in_plan([(0.0, 0.0), (300.0, 0.0), (300.0, 120.0), (0.0, 120.0)])
    assert min(x for x, _ in corners) == pytest.approx(spec.side_l_mm)
    assert max(x for x, _ in corners) == pytest.approx(400 - spec.side_l_mm)
    assert min(y for _, y in corners) == pytest.approx(spec.side_w_mm)
    assert max(y for _, y in corners) == pytest.approx(380 - spec.side_w_mm)


@pytest.mark.parametrize(("cog", "said"), [((110.0, 90.0, 60.0), "10 off the middle"), ((100.0, 90.0, 60.0), None)])
def test_the_centre_of_gravity_is_measured_from_the_middle_of_the_box(cog, said) -> None:
    drawing = section_drawing(packed((340, 280, 230), (200, 180, 150), 34, cog_mm=cog), **SIZE)
    texts = [m.text for m in drawing.marks if isinstance(m, Text)]
    assert [text for text in texts if "off the middle" in text] == ([said] if said else [])
    assert "94 mm over the floor" in " ".join(texts)
    assert "94 mm over the floor" in drawing.description


def test_walls_that_taper_are_as_wide_as_measured_at_floor_and_rim() -> None:
    spec = packed((340, 280, 230), (180, 160, 150), 34, base_mm=(290.0, 240.0))
    for across, rim, base in ((False, 340.0, 290.0), (True, 280.0, 240.0)):
        drawing = section_drawing(spec, across=across, **SIZE)
        walls = [m for m in drawing.marks if isinstance(m, Path) and m.closed and m.fill == INK and len(m.points) == 8]
        lowest = max(walls, key=lambda m: max(y for _, y in m.points))
        _, left_rim, left_floor, right_floor, right_rim, *_ = lowest.points
        assert (right_rim[0] - left_rim[0]) * ratio_of(drawing) == pytest.approx(rim)
        assert (right_floor[0] - left_floor[0]) * ratio_of(drawing) == pytest.approx(base)


def test_contour_sheets_stand_clear_of_the_block_and_under_its_shoulder() -> None:
    sheets = (
        ContourSheet(low_mm=0, high_mm=30, opening_mm=(130, 120)),
        ContourSheet(low_mm=30, high_mm=60, opening_mm=(170, 150)),
    )
    spec = packed((340, 280, 230), (200, 180, 150), 34, side_outline_mm=POT, contour=sheets)
    cut = cut_of(spec, "along")
    shapes = cut.contour()
    assert len(shapes) == 4
    left = max(x for x, _ in shapes[0].ring)
    # in the lowest sheet the block is at most 80 + 2 x 30 x 60/90 = 120 mm wide, less than the opening of 130
    assert left == pytest.approx(170 - 65)
    under = [(x, y) for shape in shapes for x, y in shape.ring if 70 < x < 270]
    assert under, "nothing stands under the shoulder"
    assert min(y for shape in cut.fill() for _, y in shape.ring) == pytest.approx(34 + 60)


@settings(max_examples=60, deadline=None)
@given(
    inside=st.tuples(st.integers(120, 900), st.integers(120, 700), st.integers(60, 600)),
    share=st.tuples(st.floats(0.1, 0.9), st.floats(0.1, 0.9), st.floats(0.1, 0.8)),
    waist=st.lists(st.floats(0.2, 1.0), min_size=2, max_size=6),
    bed_share=st.floats(0.1, 0.9),
    turn_deg=st.sampled_from([0, 90]),
    cog=st.tuples(st.floats(0.1, 0.9), st.floats(0.1, 0.9), st.floats(0.1, 0.9)),
)
def test_no_words_overlap_whatever_the_box_and_the_profile(inside, share, waist, bed_share, turn_deg, cog) -> None:
    along, across, height = (round(size * part, 1) for size, part in zip(inside, share, strict=True))
    block = (across, along, height) if turn_deg == 90 else (along, across, height)
    rows = tuple((height * n / (len(waist) - 1), block[0] * one, block[1] * one) for n, one in enumerate(waist))
    bed = round((inside[2] - height) * bed_share, 1)
    spec = packed(
        inside,
        block,
        bed,
        turn_deg=turn_deg,
        profile_mm=rows,
        wrapping_mm=0,
        layers=(
            layer("foam plank", bed, "foam", "bed"),
            layer("foil", 0.02, "metal", "barrier"),
            layer("foam strips", 0, "foam", "round"),
        ),
        cog_mm=tuple(size * part for size, part in zip(block, cog, strict=True)),
        lifts=(LiftPoint(at_mm=(0.0, block[1] / 2, 0.0)), LiftPoint(at_mm=(block[0], block[1] / 2, 0.0), by="sling")),
    )
    drawings = (
        section_drawing(spec, **SIZE),
        section_drawing(spec, across=True, **SIZE),
        plan_drawing(spec, **SIZE),
    )
    for drawing in drawings:
        assert words_clash(drawing) == []
        assert min(m.size_mm for m in drawing.marks if isinstance(m, Text)) >= 1.8


def test_a_scan_of_two_hundred_corners_is_drawn_and_stays_small() -> None:
    from findhold.draw.svg import to_svg

    turns = [2 * math.pi * n / 200 for n in range(200)]
    outline = tuple((100 + 100 * math.cos(t), 75 + 75 * math.sin(t)) for t in turns)
    spec = packed((340, 280, 230), (200, 180, 150), 34, side_outline_mm=outline, end_outline_mm=())
    drawing = section_drawing(spec, **SIZE)
    assert words_clash(drawing) == []
    assert len(to_svg(drawing)) < 100_000


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"side_outline_mm": ((0, 0), (210, 0), (100, 150))}, "the side outline: a point lies outside the block"),
        ({"side_outline_mm": ((0, 0), (100, 0))}, "the side outline has 2 corners"),
        ({"side_outline_mm": ((0, 0), (200, 100), (200, 0), (0, 100))}, "an outline of the block crosses itself"),
        ({"profile_mm": ((50, 100, 100), (20, 90, 90))}, "the profile's heights go up and down"),
        ({"profile_mm": ((50, 100, 100), (200, 90, 90))}, "the profile's lengths: a point lies outside the block"),
        ({"cog_mm": (100, 90, 170)}, "the centre of gravity lies outside the block"),
        ({"cog_mm": (float("nan"), 90, 70)}, "the centre of gravity lies outside the block"),
        ({"base_mm": (350, 200)}, "the box is wider at its floor than at its rim"),
        ({"base_mm": (100, 100)}, "the block meets the wall"),
    ],
)
def test_what_was_measured_wrongly_is_refused(more: dict[str, object], said: str) -> None:
    with pytest.raises(BadInput, match=said) as refusal:
        section_drawing(packed((340, 280, 230), (200, 180, 150), 34, **more), **SIZE)
    assert refusal.value.do
