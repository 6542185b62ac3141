"""What a section refuses, and what it names."""

from __future__ import annotations

from dataclasses import replace

import pytest

from findhold.draw.marks import Drawing, Path, Text
from findhold.errors import BadInput
from findhold.paper.section import SectionLayer, SectionSpec, plan_drawing, section_drawing


def layer(name: str, material: str, thickness_mm: float, hatch: str, place: str) -> SectionLayer:
    return SectionLayer(name=name, material=material, thickness_mm=thickness_mm, hatch=hatch, place=place)


FOAM = layer("foam plank", "polyethylene foam", 34, "foam", "bed")
JAR = SectionSpec(
    box_name="box 7",
    inside_mm=(340, 280, 230),
    wall_mm=2.2,
    turn_deg=0,
    block_mm=(220, 200, 150),
    block_label="find 37",
    block_hatch="soil",
    layers=(
        FOAM,
        layer("aluminium foil", "aluminium", 0.02, "film", "barrier"),
        layer("damp tissue", "tissue", 3, "tissue", "round"),
        layer("foam strips", "foam", 0, "foam", "round"),
        layer("loose tissue", "tissue", 3, "tissue", "top"),
    ),
    side_l_mm=60,
    side_w_mm=40,
    bed_mm=34,
    lid_gap_mm=46,
    wrapping_mm=4,
)


def words(drawing: Drawing) -> str:
    return " ".join(m.text for m in drawing.marks if isinstance(m, Text))


def test_every_material_is_named_and_hatched() -> None:
    drawing = section_drawing(JAR, width_mm=120, height_mm=80)
    said = words(drawing)
    for name in (
        "foam plank",
        "aluminium foil",
        "damp tissue",
        "foam strips",
        "loose tissue",
        "find 37",
        "box 7",
        "lid",
    ):
        assert name in said
    hatches = {m.hatch for m in drawing.marks if isinstance(m, Path) and m.hatch}
    assert hatches == {"foam", "tissue", "soil"}


def test_the_drawing_speaks_for_those_who_cannot_see_it() -> None:
    drawing = section_drawing(JAR, width_mm=120, height_mm=80)
    assert "Bed 34 mm, block 150 mm high, lid gap 46 mm, side clearances 60 and 40 mm" in drawing.description
    assert "scale 1:8" in drawing.title


def test_the_plan_says_which_way_the_block_lies() -> None:
    turned = replace(JAR, block_mm=(200, 220, 150), turn_deg=90)
    assert "long side along the box" in words(plan_drawing(JAR, width_mm=120, height_mm=80))
    assert "turned 90°" in words(plan_drawing(turned, width_mm=120, height_mm=80))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"lid_gap_mm": 40}, "the parts of the inside height come to 224 mm and the box has 230 mm"),
        ({"block_mm": (220, 200, 200)}, "the parts of the inside height come to 280 mm"),
        ({"side_l_mm": 50}, "the parts of the inside length come to 320 mm"),
        ({"side_w_mm": 41}, "the parts of the inside width come to 282 mm"),
        ({"layers": (replace(FOAM, thickness_mm=30),)}, "the bed's layers come to 30 mm and the bed is planned at 34"),
        ({"wrapping_mm": 45}, "stand in a lid gap of 46 mm"),
        ({"wrapping_mm": 41}, "wrapping of 41 mm stands in a side clearance of 40 mm"),
        ({"bed_mm": -4, "lid_gap_mm": 84}, "a bed, gap, clearance, wrapping or layer is negative or no number"),
        ({"block_mm": (220, 0, 150)}, "block is given as 220 x 0 x 150 mm"),
        ({"wall_mm": float("nan")}, "wall is given as nan mm"),
        ({"turn_deg": 200}, "the block is turned by 200°"),
    ],
)
def test_a_box_that_does_not_add_up_is_refused_with_the_figures(changes: dict[str, object], said: str) -> None:
    with pytest.raises(BadInput) as refusal:
        section_drawing(replace(JAR, **changes), width_mm=120, height_mm=80)
    assert said in str(refusal.value)
    assert "section of box 7" in str(refusal.value)
    assert refusal.value.do


def test_a_sheet_too_small_for_the_box_is_refused() -> None:
    with pytest.raises(BadInput, match="larger sheet"):
        section_drawing(JAR, width_mm=60, height_mm=30)


def test_more_names_than_the_column_holds_are_refused() -> None:
    thin = tuple(layer(f"sheet {n}", "tissue", 1, "tissue", "bed") for n in range(34))
    with pytest.raises(BadInput, match="labels need"):
        section_drawing(replace(JAR, layers=thin), width_mm=120, height_mm=80)


def test_a_wrapping_without_a_layer_of_its_own_is_still_named() -> None:
    assert "damp wrapping" in words(section_drawing(replace(JAR, layers=(FOAM,)), width_mm=120, height_mm=80))


def test_water_and_bag_of_a_waterlogged_find_go_over_its_top() -> None:
    wet = (
        FOAM,
        layer("water in the bag", "water", 10, "water", "round"),
        layer("sealed bag", "polyethylene", 0.1, "film", "round"),
        layer("foam strips", "foam", 0, "foam", "round"),
    )
    drawing = section_drawing(replace(JAR, layers=wet, wrapping_mm=0), width_mm=120, height_mm=80)
    (block,) = [m for m in drawing.marks if isinstance(m, Path) and m.hatch == "soil"]
    (water,) = [m for m in drawing.marks if isinstance(m, Path) and m.hatch == "water"]
    over = min(y for _, y in block.points) - min(y for _, y in water.points)
    assert over * 8 == pytest.approx(10)  # 10 mm at 1:8
