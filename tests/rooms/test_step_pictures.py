"""The order of work in pictures: every sentence of the plan's laying is there; each shows what is laid so far."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path as File
from xml.etree import ElementTree

import pytest

from findhold.draw.hatch import HATCHES
from findhold.draw.marks import Drawing, Path, Text
from findhold.errors import BadInput, UnknownName
from findhold.pack.plan import Plan
from findhold.paper.steps import PARTS, WET_PARTS, StepGrid, StepPicture, step_drawing, steps_drawing
from findhold.service.packing.drawing import KINDS, box_drawing, box_svg, section_spec, step_pictures
from findhold.service.packing.pad_places import pad_places
from findhold.service.whatif import plan_scenario
from findhold.tables.load import table

EXAMPLES = sorted(
    path.name
    for path in (File(__file__).parents[2] / "examples").glob("*.toml")
    if "[find]" in path.read_text(encoding="utf-8")
)


def planned(name: str) -> Plan:
    return plan_scenario(File(__file__).parents[2] / "examples" / name).plan


def words(drawing: Drawing) -> str:
    return " ".join(m.text for m in drawing.marks if isinstance(m, Text))


def squeezed(text: str) -> str:
    return "".join(text.split())


def hatches(drawing: Drawing) -> set[str]:
    return {m.hatch for m in drawing.marks if isinstance(m, Path) and m.hatch}


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_sentence_from_empty_box_to_closed_lid_stands_at_a_picture(name: str) -> None:
    plan = planned(name)
    if plan.box is None:
        assert step_pictures(plan) == ()
        return
    begin = next(step.number for step in plan.steps if step.text.startswith("Weigh the empty box"))
    end = next(step.number for step in plan.steps if step.text.startswith("Close the lid"))
    pictures = step_pictures(plan)
    shown = sorted(number for picture in pictures for number, _ in picture.steps)
    assert shown == list(range(begin, end + 1))
    drawn = squeezed(words(box_drawing(plan, "find 37", "steps")))
    for step in plan.steps[begin - 1 : end]:
        # bold numbers stand between the lines of a picture, so a sentence is looked for by its ends
        for half in (step.text[:24], step.text[-18:]):
            assert squeezed(half) in drawn, step.text


@pytest.mark.parametrize("name", EXAMPLES)
def test_pictures_follow_the_parts_and_their_sentences_the_plan(name: str) -> None:
    pictures = step_pictures(planned(name))
    order = WET_PARTS if name == "wood-waterlogged.toml" else PARTS
    assert [picture.part for picture in pictures] == sorted((p.part for p in pictures), key=order.index)
    for picture in pictures:
        numbers = [number for number, _ in picture.steps]
        assert numbers == sorted(numbers)


def test_the_quantities_are_the_plans() -> None:
    plan = planned("jar-in-block.toml")
    figures = {picture.part: picture.figure for picture in step_pictures(plan)}
    sheets, each = plan.sheets, plan.dose_g_per_sheet
    assert figures["damp"] == f"{sheets} sheets, {each:.1f} ml each, {sheets * each:.0f} ml in all"
    assert figures["bed"] == f"foam plank {plan.layers[0].thickness_mm:g} mm"
    assert figures["lid"] == f"expect {plan.gross_mass_kg:.2f} kg"
    assert f"{plan.clearance_mm.side_l:g} mm at the ends" in figures["sides"]


def test_a_picture_shows_what_is_laid_so_far_and_only_the_new_thing_is_hatched() -> None:
    spec = section_spec(planned("jar-in-block.toml"), "find 37")
    seen = {
        part: step_drawing(spec, StepPicture(part=part), width_mm=90, height_mm=90)
        for part in ("box", "bed", "lower", "sides")
    }
    assert hatches(seen["box"]) == set()
    assert hatches(seen["bed"]) == {"foam"}
    assert "soil" in hatches(seen["lower"])
    assert "foam" not in hatches(seen["lower"])
    assert hatches(seen["sides"]) == {"foam"}
    drawn = [len(seen[part].marks) for part in ("box", "bed", "sides")]
    assert drawn == sorted(drawn)


def test_letters_are_never_smaller_than_can_be_read() -> None:
    plan = planned("cushioned-jar.toml")
    for kind in KINDS:
        drawing = box_drawing(plan, "find 37", kind)
        assert min(m.size_mm for m in drawing.marks if isinstance(m, Text)) >= 1.8
    with pytest.raises(BadInput, match=r"at least 1\.8 mm"):
        steps_drawing(section_spec(plan, "find 37"), step_pictures(plan), StepGrid(width_mm=186, letters_mm=1.5))


def test_nothing_leaves_the_paper_on_a_phone_or_on_a_sheet() -> None:
    plan = planned("cushioned-jar.toml")
    for width in (90.0, 120.0, 186.0):
        drawing = box_drawing(plan, "find 37", "steps", (width, 100.0))
        points = [point for m in drawing.marks if isinstance(m, Path) for point in m.points]
        assert min(x for x, _ in points) >= 0
        assert max(x for x, _ in points) <= width
        assert max(y for _, y in points) <= drawing.height_mm
        assert max(m.at[1] for m in drawing.marks if isinstance(m, Text)) <= drawing.height_mm


@pytest.mark.parametrize("kind", [*KINDS, "lower", "lid"])
def test_a_drawing_for_a_page_is_clean_svg_that_speaks(kind: str) -> None:
    root = ElementTree.fromstring(box_svg(planned("jar-in-block.toml"), "find 37 in its soil", kind, (150.0, 110.0)))
    space = "{http://www.w3.org/2000/svg}"
    assert root.get("role") == "img"
    assert "37" in root.find(f"{space}title").text
    assert len(root.find(f"{space}desc").text) > 15
    kinds = {element.tag.removeprefix(space) for element in root.iter()}
    assert kinds <= {"svg", "title", "desc", "rect", "path", "circle", "text"}


def test_a_plan_without_a_box_and_a_drawing_that_is_none_are_told_apart() -> None:
    with pytest.raises(BadInput, match="there is no box to draw"):
        box_svg(planned("no-box-fits.toml"), "find 9", "section")
    with pytest.raises(UnknownName, match="section"):
        box_svg(planned("jar-in-block.toml"), "find 9", "sectoin")


def test_no_step_and_too_little_paper_are_refused() -> None:
    spec = section_spec(planned("jar-in-block.toml"), "find 37")
    with pytest.raises(BadInput, match="there is no step to draw"):
        steps_drawing(spec, (), StepGrid(width_mm=186))
    with pytest.raises(BadInput, match="no round scale fits"):
        steps_drawing(spec, (StepPicture(part="box"),), StepGrid(width_mm=8))


@pytest.mark.parametrize(("count", "area"), [(4, 6000.0), (2, 9000.0), (1, 2500.0), (2, 22000.0), (4, 30000.0)])
def test_pads_have_their_area_lie_under_the_block_and_balance(count: int, area: float) -> None:
    pads = pad_places((200.0, 150.0), count, area)
    assert len(pads) == count
    assert sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in pads) == pytest.approx(area)
    assert all(-1e-9 <= x0 < x1 <= 200 + 1e-9 and -1e-9 <= y0 < y1 <= 150 + 1e-9 for x0, y0, x1, y1 in pads)
    assert sum(x0 + x1 for x0, _, x1, _ in pads) / (2 * count) == pytest.approx(100)
    assert sum(y0 + y1 for _, y0, _, y1 in pads) / (2 * count) == pytest.approx(75)


def test_pads_larger_than_the_block_are_refused() -> None:
    with pytest.raises(BadInput, match="pads of 40000 mm2"):
        pad_places((200.0, 150.0), 4, 40000.0)


def test_every_packing_material_has_a_hatch_that_can_be_drawn() -> None:
    rows = table("packing_materials").rows
    assert rows
    assert {row["name"]: row["hatch"] for row in rows if row["hatch"] not in HATCHES} == {}


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_layer_of_a_plan_is_named_in_a_section(name: str) -> None:
    plan = planned(name)
    if plan.box is None:
        return
    said = " ".join(words(box_drawing(plan, "find 37", view, (180.0, 140.0))) for view in ("section", "across"))
    for layer in plan.layers:
        if layer.place != "barrier" and "gel" not in layer.material:
            assert squeezed(layer.name) in squeezed(said), layer


def test_a_board_is_as_long_as_the_block_and_not_as_the_box() -> None:
    spec = section_spec(planned("cushioned-jar.toml"), "find 37")
    (board,) = [layer for layer in spec.layers if layer.name == "spreader board"]
    assert board.pieces_mm == ((0.0, 0.0, spec.block_mm[0], spec.block_mm[1]),)
    bare = replace(spec, layers=tuple(replace(layer, pieces_mm=()) for layer in spec.layers))
    assert step_drawing(bare, StepPicture(part="bed"), width_mm=90, height_mm=90) != step_drawing(
        spec, StepPicture(part="bed"), width_mm=90, height_mm=90
    )
