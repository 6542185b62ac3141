"""What a plan prints is words: no rule's own name, first aid that the steps do not contradict, signing last."""

import pytest

from findhold.pack.inputs import PlanInputs, StockBox
from findhold.pack.plan import plan_box
from findhold.tables.contact import state_rules
from findhold.tables.firstaid import first_aid_row
from findhold.tables.materials import find_material_names

BOX = StockBox(name="B4", inside_mm=(600, 500, 400), wall="PP", wall_mm=3.0, tare_kg=2.0)


def plan(**changes):
    known = {"state": "damp", "block_mm": (260.0, 220.0, 180.0), "mass_kg": 16.0, "soil": "silt loam", "stock": (BOX,)}
    return plan_box(PlanInputs(**{"material": "iron", **known, **changes}))


def test_a_loose_find_is_never_called_a_block_and_one_in_its_soil_is():
    loose = [f"{step.text} {step.why}" for step in plan(material="bone", soil=None, mass_kg=0.2).steps]
    assert [text for text in loose if "block" in text] == []
    assert any(text.startswith("Lower the find level") for text in loose)
    assert any(text.startswith("Lower the block level") for text in (step.text for step in plan().steps))


@pytest.mark.parametrize("material", ["iron", "bronze", "lead"])
@pytest.mark.parametrize("state", ["damp", "waterlogged"])
def test_the_conservator_is_told_once_in_a_step(material, state):
    told = [step.text for step in plan(material=material, state=state, mass_kg=8.0).steps]
    spoken = [text for text in told if "conservator" in text.casefold()]
    assert spoken
    assert all(text.casefold().count("conservator") == 1 for text in spoken)


@pytest.mark.parametrize("state", ["damp", "waterlogged"])
@pytest.mark.parametrize("material", ["iron", "glass", "textile", "lead"])
def test_no_rule_is_printed_by_its_own_name(material, state):
    one = plan(material=material, state=state, wrapping="tissue")
    said = [*(conflict.sentence for conflict in one.conflicts), *(step.text for step in one.steps), *one.warnings]
    codes = [rule.rule for rule in state_rules()]
    assert said
    assert not [(code, text) for code in codes for text in said if code in text and "-" in code]


def test_the_conservator_is_told_before_anything_is_laid_and_signing_comes_last():
    steps = [step.text for step in plan().steps]
    (told,) = [at for at, text in enumerate(steps) if text.startswith("Tell the conservator")]
    assert told < next(at for at, text in enumerate(steps) if text.startswith("Lower the block"))
    assert steps[-1].startswith("Sign")


@pytest.mark.parametrize("material", find_material_names())
def test_first_aid_of_wet_finds_does_not_contradict_the_bag_of_the_steps(material):
    """The steps put every wet find into unperforated bags with water: nothing may say drained, or a tank alone."""
    row = first_aid_row(material, "waterlogged")
    for text in (row.container, row.in_soil):
        assert "drained" not in text
        assert "tank" not in text or "unperforated bags" in text


def test_a_damp_pot_in_its_block_is_not_bandaged():
    lines = [line.what for line in plan(material="low-fired ceramic", mass_kg=14.0).first_aid]
    assert not any("bandage" in line for line in lines)
    assert any("soil block, whole" in line for line in lines)


def test_gloves_are_a_thing_to_do_with_each_analysis_named():
    (gloves,) = [step.text for step in plan(material="bone", analyses=("aDNA", "lipid")).steps if "gloves" in step.text]
    assert gloves.startswith("Put on clean, unpowdered gloves.")
    assert "aDNA: two pairs of gloves" in gloves
