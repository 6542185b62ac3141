"""Where a luminescence date is planned, no word of the plan puts an X-ray before its sample."""

import re

import pytest

from findhold.pack.care.first_aid import headlines
from findhold.pack.care.rays import in_order
from findhold.pack.inputs import PlanInputs, StockBox
from findhold.pack.kept import hold_limit
from findhold.pack.plan import plan_box
from findhold.tables.firstaid import composite_rules, first_aid_row
from findhold.tables.materials import find_material, find_material_names

BOX = StockBox(name="B1", inside_mm=(400, 300, 220), wall="PP", wall_mm=2.0, tare_kg=1.0, max_load_kg=20.0)
METALS = [name for name in find_material_names() if find_material(name).group == "metal"]


def inputs(**changes):
    known = {
        "find": "find 44",
        "material": "iron",
        "state": "damp",
        "soil": "loam",
        "water_content": 0.2,
        "block_mm": (260.0, 110.0, 70.0),
        "mass_kg": 3.6,
        "parts": ("mineral-preserved organics",),
        "analyses": ("X-ray", "luminescence", "XRF"),
        "stock": (BOX,),
    }
    return PlanInputs(**{**known, **changes})


def said(request):
    """Every sentence of a plan that a person reads."""
    one = plan_box(request)
    conflicts = [sentence for c in one.conflicts for sentence in (c.sentence, c.text, c.remedy)]
    limit = hold_limit(request, find_material(request.material))
    steps = [word for step in one.steps for word in (step.text, step.why)]
    return [*headlines(one.first_aid), *conflicts, *steps, *([] if limit is None else [limit.words])]


def rays_first(sentence):
    """Whether it asks for an X-ray without speaking of the sample before."""
    asks = re.search(r"X-ray (first|it|the block|within|before)|[;:,] X-ray\b(?! is)|about X-ray", sentence)
    return asks is not None and "luminescence" not in sentence


@pytest.mark.parametrize("material", METALS)
@pytest.mark.parametrize("parts", [(), ("mineral-preserved organics",), ("leather",), ("copper alloy",)])
def test_no_sentence_of_a_metal_in_its_block_asks_for_an_x_ray_before_the_sample(material, parts):
    told = said(inputs(material=material, parts=parts))
    assert [sentence for sentence in told if rays_first(sentence)] == []


@pytest.mark.parametrize("material", METALS)
def test_loose_metal_is_told_in_order_too(material):
    told = said(inputs(material=material, soil=None, parts=(), mass_kg=1.2))
    assert [sentence for sentence in told if rays_first(sentence)] == []
    assert any("about the luminescence sample" in sentence for sentence in told)


def test_without_a_luminescence_date_the_x_ray_comes_first_as_before():
    told = said(inputs(analyses=("X-ray", "XRF")))
    assert sum(rays_first(sentence) for sentence in told) >= 3
    assert not any("luminescence" in sentence for sentence in told)


def test_the_order_of_analyses_and_the_words_agree():
    one = plan_box(inputs())
    names = [step.name for step in one.order.steps]
    assert names.index("luminescence") < names.index("imaging")
    kept = next(c for c in one.conflicts if c.analysis == "metal-kept-damp")
    assert kept.text.index("luminescence sample") < kept.text.index("X-ray")


def test_every_row_of_the_tables_that_puts_an_x_ray_first_is_told_in_order():
    rows = [first_aid_row(name, "damp").in_soil for name in METALS] + [rule.course for rule in composite_rules()]
    asking = [row for row in rows if rays_first(row)]
    assert len(asking) > 8
    for row in asking:
        told = in_order(row, dated_by_light=True)
        assert told.index("luminescence sample") < told.index("X-ray"), told
        assert in_order(row, dated_by_light=False) == row
