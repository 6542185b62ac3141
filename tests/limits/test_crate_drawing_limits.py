"""Layer plans are to scale, hold every thing, and print."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from findhold.draw.marks import Path, Text
from findhold.errors import BadInput
from findhold.paper.crates.drawing import LEFT_MM, TOP_MM, CrateBox, CratePlan, layer_drawing
from findhold.paper.crates.shared import SharedPlan, shared_drawing
from findhold.paper.crates.sheet import CrateSheets, crate_sheets_pdf


def box(order, at_mm, size_mm, layer=1, **more):
    return CrateBox(
        order=order,
        number=f"216-{order}",
        what="sherds",
        at_mm=at_mm,
        size_mm=size_mm,
        layer=layer,
        mass_kg=2.5,
        **more,
    )


PLAN = CratePlan(
    label="Crate 1",
    name="archive crate",
    inside_mm=(565, 365, 310),
    layers=2,
    boxes=(
        box(1, (0, 0, 0), (260, 180, 120), heavy=True),
        box(2, (260, 0, 0), (180, 140, 80), bears_nothing=True),
        box(3, (0, 0, 120), (200, 150, 90), layer=2),
    ),
)


def outlines(drawing):
    return [mark for mark in drawing.marks if isinstance(mark, Path) and mark.closed]


def texts(drawing):
    return [mark.text for mark in drawing.marks if isinstance(mark, Text)]


def test_a_layer_is_drawn_at_its_stated_scale_with_the_front_below():
    drawing = layer_drawing(PLAN, 1)
    assert "1:5" in drawing.title
    assert drawing.width_mm <= 131
    found = [
        (
            min(x for x, _ in o.points),
            max(x for x, _ in o.points),
            min(y for _, y in o.points),
            max(y for _, y in o.points),
        )
        for o in outlines(drawing)
    ]
    wanted = (LEFT_MM, LEFT_MM + 260 / 5, TOP_MM + (365 - 180) / 5, TOP_MM + 365 / 5)
    assert any(all(abs(a - b) <= 0.5 for a, b in zip(one, wanted, strict=True)) for one in found)


def test_every_thing_of_the_layer_has_its_number_and_its_place_in_the_order():
    said = texts(layer_drawing(PLAN, 1))
    for word in ("216-1", "216-2", "HEAVY", "nothing on top", "1", "2", "front", "label end"):
        assert word in said
    assert any("2.5 kg" in text for text in said)
    assert "216-3" not in said


def test_the_layer_below_is_dashed_and_named_where_it_can_be_seen():
    drawing = layer_drawing(PLAN, 2)
    dashed = [mark for mark in outlines(drawing) if mark.pen is not None and mark.pen.dash_mm]
    assert len(dashed) == 2
    said = texts(drawing)
    assert {"216-1", "216-2", "216-3"} <= set(said)


def test_nothing_is_drawn_off_the_paper():
    for layer in (1, 2):
        drawing = layer_drawing(PLAN, layer)
        for mark in drawing.marks:
            if isinstance(mark, Path):
                assert all(
                    -0.01 <= x <= drawing.width_mm + 0.01 and -0.01 <= y <= drawing.height_mm + 0.01
                    for x, y in mark.points
                )


@pytest.mark.parametrize("side", [40, 300, 900, 2400])
def test_crates_of_any_usual_size_are_drawn_within_the_width(side):
    plan = CratePlan(
        label="Crate 1",
        name="c",
        inside_mm=(side, side / 2, 100),
        layers=1,
        boxes=(box(1, (0, 0, 0), (side // 2, side // 3, 50)),),
    )
    assert layer_drawing(plan, 1).width_mm <= 131


def test_a_layer_that_is_not_there_and_a_crate_without_end_are_refused():
    with pytest.raises(BadInput, match="layer 3"):
        layer_drawing(PLAN, 3)
    endless = CratePlan(label="Crate 1", name="c", inside_mm=(9000, 365, 310), layers=1, boxes=())
    with pytest.raises(BadInput, match="cannot be drawn"):
        layer_drawing(endless, 1)


def test_a_load_without_anything_has_no_sheet():
    empty = CrateSheets(
        title="t",
        place="p",
        sheets=(),
        left_over=(),
        answer="",
        wishes=(),
        remarks=(),
        assumptions=(),
        cautions=(),
        printed_at=datetime(2026, 7, 28, tzinfo=UTC),
    )
    with pytest.raises(BadInput, match="no crate to print"):
        crate_sheets_pdf(empty, date=empty.printed_at)


def test_a_shared_box_is_drawn_with_its_finds_and_hatched_dividers():
    plan = SharedPlan(
        name="box S1",
        inside_mm=(300, 220),
        compartments=(("45", "pin", (0, 0, 75, 220), (20, 110)), ("51", "whetstone", (80, 0, 220, 220), (120, 40))),
        dividers=((75, 0, 5, 220),),
        hatch="foam",
    )
    drawing = shared_drawing(plan)
    assert "1:5" in drawing.title
    assert {"45", "51", "whetstone"} <= set(texts(drawing))
    (hatched,) = [mark for mark in outlines(drawing) if mark.hatch == "foam"]
    xs = sorted({x for x, _ in hatched.points})
    assert xs[1] - xs[0] == pytest.approx(1.0)
    assert all(0 <= x <= drawing.width_mm for mark in outlines(drawing) for x, _ in mark.points)
    with pytest.raises(BadInput, match="cannot be drawn"):
        shared_drawing(replace(plan, inside_mm=(9000, 220)))
