"""Film next to finds that no fibres may touch: taken where the analyses allow it, asked for where they do not."""

import pytest

from findhold.pack.inputs import PlanInputs, StockBox
from findhold.pack.plan import plan_box
from findhold.tables.firstaid import first_aid_row

BOX = StockBox(name="B1", inside_mm=(400, 300, 220), wall="PP", wall_mm=2.0, tare_kg=1.0, max_load_kg=20.0, count=None)


def plan(**changes):
    known = {
        "find": "find 52",
        "material": "glass",
        "state": "damp",
        "soil": "loam",
        "water_content": 0.2,
        "block_mm": (120.0, 90.0, 55.0),
        "mass_kg": 1.0,
        "stock": (BOX,),
    }
    return plan_box(PlanInputs(**{**known, **changes}))


def places(one):
    return [layer.place for layer in one.layers]


def wrapped(one):
    return [step.text for step in one.steps if step.text.startswith("Wrap the ")]


@pytest.mark.parametrize("soil", [None, "loam"])
@pytest.mark.parametrize("material", ["glass", "textile"])
def test_film_lies_between_find_and_tissue_in_layers_steps_and_contents(material, soil):
    one = plan(material=material, soil=soil)
    row = first_aid_row(material, "damp")
    assert "film" in row.in_soil
    assert one.barrier == "polyethylene film"
    assert places(one).index("barrier") < places(one).index("round")
    assert "polyethylene film" in wrapped(one)[0]
    assert "tissue" in wrapped(one)[1]
    assert not one.stopped
    assert one.bed_kg > plan(material=material, soil=soil, no_barrier=True).bed_kg


def test_the_plan_says_why_it_took_film_and_not_why_it_took_what_was_asked_for():
    assert "fibres stick to the flaking surface of wet glass" in plan().barrier_why
    assert plan(barrier="polyester film").barrier_why == ""
    assert plan(barrier="polyester film").barrier == "polyester film"


def test_none_by_name_takes_the_film_away_and_the_tissue_stops_the_plan():
    one = plan(no_barrier=True)
    assert one.barrier is None
    assert one.stopped
    assert [c.analysis for c in one.conflicts if c.stops] == ["tissue-on-wet-glass"]


def test_an_analysis_that_film_soils_stops_the_plan_with_a_question_that_names_what_may_lie_there():
    """Contact rule clean polyethylene with lipid (residue-sampling-barcelona): contaminates; foil is allowed."""
    one = plan(analyses=("lipid",))
    assert one.barrier is None
    assert one.stopped
    asked = next(question for question in one.questions if question.about == "barrier")
    assert "lipid" in asked.text
    assert asked.choices[0] == "aluminium foil"
    settled = plan(analyses=("lipid",), barrier="aluminium foil")
    assert not settled.stopped
    assert not any(question.about == "barrier" for question in settled.questions)


def test_a_part_that_fibres_harm_brings_film_too():
    assert plan(material="iron", parts=("textile",)).barrier == "polyethylene film"
    assert plan(material="iron").barrier is None


def test_loose_damp_wood_is_wrapped_in_film_as_its_first_aid_says_and_its_block_need_not_be():
    assert "film" in first_aid_row("wood", "damp").container
    assert plan(material="wood", soil=None).barrier == "polyethylene film"
    assert plan(material="wood").barrier is None


@pytest.mark.parametrize(
    "changes",
    [
        {"state": "dry"},
        {"state": "waterlogged"},
        {"wrapping": "polyester fabric", "water_g_per_g": 0.5},
        {"material": "low-fired ceramic"},
    ],
)
def test_nothing_is_added_where_no_fibres_touch_the_find_or_harm_it(changes):
    one = plan(**changes)
    assert one.barrier is None
    assert not any(question.about == "barrier" for question in one.questions)


@pytest.mark.parametrize("barrier", ["aluminium foil", "polyethylene film", None])
def test_newspaper_in_a_damp_pack_stops_the_plan_with_and_without_a_barrier(barrier):
    # It takes up the dose and falls apart behind a barrier too (common practice, no source).
    found = plan(wrapping="newspaper", barrier=barrier, material="low-fired ceramic")
    assert found.stopped
    assert any("fall apart in a damp pack" in one.text for one in found.conflicts)
