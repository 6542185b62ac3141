"""A find with a luminescence date planned: no light at packing, on its labels, or at a check."""

from dataclasses import replace

import pytest

from findhold.pack.consumed import consumed
from findhold.pack.inputs import PlanInputs, StockBox, pack_defaults
from findhold.pack.plan import plan_box

BOX = StockBox(name="B4", inside_mm=(600, 500, 400), wall="PP", wall_mm=3.0, tare_kg=2.0)
SHERD = PlanInputs(
    material="low-fired ceramic",
    state="damp",
    block_mm=(140.0, 120.0, 70.0),
    mass_kg=1.9,
    soil="sandy loam",
    analyses=("OSL",),
    stock=(BOX,),
)
DARK, LIT = plan_box(SHERD), plan_box(replace(SHERD, analyses=("lipid",)))


def test_the_room_is_darkened_before_anything_else():
    assert "Darken the room" in DARK.steps[0].text
    assert "safe light" in DARK.steps[0].text


@pytest.mark.parametrize("soil", ["sandy loam", None])
def test_no_step_asks_for_a_photograph_of_its_faces(soil):
    """Soil of the sample must not see light (luminescence-lab-ceramics, seen): no lamp, no flash."""
    steps = [step.text for step in plan_box(replace(SHERD, soil=soil)).steps]
    assert not any("hotograph every face" in text for text in steps)
    assert any("No photograph now" in text for text in steps)
    assert any("hotograph every face" in step.text for step in LIT.steps)


def test_it_is_wrapped_opaque_after_its_tissue_and_before_it_is_lowered():
    texts = [step.text for step in DARK.steps]
    wrapped, covered, lowered = (
        next(at for at, text in enumerate(texts) if words in text)
        for words in ("Wrap the block in 2 layers of tissue", "NO LIGHT", "Lower the block")
    )
    assert wrapped < covered < lowered


def test_its_flag_and_its_cautions_are_on_the_plan():
    """The flag goes on to labels, sheets and rounds as every flag does."""
    assert "no light" in DARK.flags
    names = {caution.name for caution in DARK.cautions}
    assert {"no light", "safe light"} <= names
    assert "no light" not in LIT.flags
    assert not {"no light", "safe light"} & {caution.name for caution in LIT.cautions}


def test_the_foil_is_counted_and_weighed():
    """Two layers over 2 (140 x 120 + 140 x 70 + 120 x 70) mm2 with the table's overlap; foil of 81 g/m2."""
    area_m2 = 0.07 * pack_defaults().wrap_overlap
    (foil,) = [one for one in consumed(DARK, pack_defaults()) if one.item == "aluminium foil"]
    assert foil.amount == pytest.approx(2 * area_m2)
    lit = plan_box(replace(SHERD, analyses=()))
    assert DARK.bed_kg - lit.bed_kg == pytest.approx(2 * area_m2 * 0.081)
