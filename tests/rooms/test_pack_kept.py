"""The state a find is kept in, for how long at most, and whether its store suits it; all papers say the same."""

from dataclasses import replace

import pytest

from findhold.pack.inputs import PlanInputs, StockBox, pack_defaults
from findhold.pack.plan import plan_box
from findhold.tables.materials import find_material, find_material_names

BOX = StockBox(name="B1", inside_mm=(200, 150, 100), wall="PP", wall_mm=1.5, tare_kg=0.3)
METALS = ("iron", "copper alloy", "lead", "silver", "gold")


def plan(**changes):
    known = {
        "find": "WCR26 51",
        "material": "bronze",
        "state": "damp",
        "block_mm": (90.0, 20.0, 15.0),
        "mass_kg": 0.04,
        "stock": (BOX,),
    }
    return plan_box(PlanInputs(**{**known, **changes}))


def said(one):
    """Every sentence that tells someone to do something."""
    return [*(step.text for step in one.steps), *(caution.text for caution in one.cautions)]


@pytest.mark.parametrize("state", ["dry", "damp", "waterlogged"])
def test_a_find_is_kept_as_it_was_found(state):
    """First rule of all guidance read (nas-2009, hampshire-finds-care)."""
    for material in set(find_material_names()) - set(METALS):
        one = plan(material=material, state=state, mass_kg=0.01)
        assert (one.kept, one.state) == (state, state)
        assert "kept" in one.kept_why


@pytest.mark.parametrize("material", METALS)
def test_loose_damp_metal_is_kept_dry_and_metal_in_its_block_damp(material):
    """Matrix of first aid: dry and desiccate, unless inside a block."""
    loose = plan(material=material)
    assert (loose.kept, loose.state, loose.dose_way, loose.dose_g) == ("dry", "damp", "none", 0.0)
    assert "conservator's word" in loose.kept_why
    block = plan(material=material, soil="loam", block_mm=(90.0, 60.0, 50.0), mass_kg=0.45)
    assert block.kept == "damp"
    assert "7 days" in block.kept_why
    assert block.dose_g > 0


def test_metal_for_which_water_is_stated_is_kept_damp():
    one = plan(water_g_per_g=0.5)
    assert one.kept == "damp"
    assert any(conflict.analysis == "metal-kept-damp" for conflict in one.conflicts)


def test_all_papers_of_a_damp_bronze_pin_say_dry():
    one = plan()
    texts = said(one)
    assert not [text for text in texts if "damp tissue" in text and not text.startswith(("Ask", "Keep dry"))]
    assert not [text for text in texts if "cold store" in text or "distilled" in text]
    assert not any(conflict.analysis == "metal-kept-damp" for conflict in one.conflicts)
    names = {caution.name for caution in one.cautions}
    assert {"keep dry", "silica gel", "soil and water"} <= names
    assert names.isdisjoint({"never freeze", "mould and dust"})
    assert not [layer for layer in one.layers if "tissue" in layer.name or layer.hatch in ("tissue", "water")]


def test_metal_kept_dry_lies_in_a_perforated_bag_in_an_airtight_box_with_gel_and_card():
    """Matrix of first aid, pack in; 20 g/L of knight-1996: a box of 200 x 150 x 100 mm is 3 L."""
    for state in ("damp", "dry"):
        one = plan(state=state)
        assert one.silica_gel_g == pytest.approx(60.0)
        assert one.wrapping == "perforated polyethylene bag"
        assert any(layer.material == "perforated polyethylene bag" for layer in one.layers)
        assert any(layer.name == "silica gel and humidity card" for layer in one.layers)
        assert any("60 g of dry silica gel" in step.text and "humidity card" in step.text for step in one.steps)
        assert any("close airtight" in text for text in one.assumptions)
    assert plan(material="bone", state="dry", mass_kg=0.02).silica_gel_g == 0.0


def test_damp_metal_is_dried_before_it_is_boxed_and_only_on_a_word():
    steps = [step.text for step in plan().steps]
    ask = next(i for i, text in enumerate(steps) if text.startswith("Ask the conservator today"))
    dry = next(i for i, text in enumerate(steps) if text.startswith("On that word let it dry in air"))
    lay = next(i for i, text in enumerate(steps) if text.startswith("Lay a foam plank"))
    assert ask < dry < lay
    assert not any("dry in air" in step.text for step in plan(state="dry").steps)


def test_a_leaky_lid_spends_the_silica_gel():
    """0.3 air changes a day is the upper bound of the class well sealed (aic-case-seal-2020)."""
    leaky = StockBox(
        name="B1", inside_mm=(200, 150, 100), wall="PP", wall_mm=1.5, tare_kg=0.3, lid_air_changes_per_day=2.77
    )
    assert any("silica gel is soon spent" in text for text in plan(stock=(leaky,)).warnings)
    assert not any("silica gel is soon spent" in text for text in plan().warnings)
    bone = plan(material="bone", state="dry", mass_kg=0.02, stock=(leaky,))
    assert not any("silica gel" in text for text in bone.warnings)


def test_damp_metal_in_a_sealed_bag_stays_forbidden_until_it_is_dry():
    """Source key conservation-advice-notes (seen)."""
    assert plan(bag="sealed bag").stopped
    assert not plan(bag="sealed bag", state="dry").stopped


def test_stated_sheets_round_dry_metal_are_laid_dry():
    one = plan(material="silver", sheets=2)
    assert (one.sheets, one.dose_g) == (2, 0.0)
    assert not any("damp tissue" in layer.name for layer in one.layers)


@pytest.mark.parametrize(
    ("material", "said"),
    [
        (
            "copper alloy",
            "Fridge 2 is at 75 % RH; dry copper alloy wants at most 35 % RH: airtight box with silica gel",
        ),
        ("iron", "dry iron wants at most 12 % RH"),
        ("bone", "dry bone wants 45-55 % RH: airtight box with a humidity card, or another store"),
        ("glass", "dry glass wants 42 % RH"),
    ],
)
def test_a_dry_find_in_a_damp_store_is_warned_of(material, said):
    """Upper ends of table find_materials: unesco-uch-manual, cardiff-iron-12, heritage-materials-glass."""
    one = plan(material=material, state="dry", mass_kg=0.02, place="Fridge 2", place_rh=0.75)
    assert any(said in text for text in one.warnings)


def test_a_store_that_suits_is_not_warned_of():
    calm = [
        {"material": "bone", "state": "dry", "place_rh": 0.55},
        {"material": "amber", "state": "dry", "place_rh": 0.9},  # no range for dry amber is known
        {"material": "bone", "state": "damp", "place_temp_c": 2.0},
        {"material": "bone", "state": "damp", "place_temp_c": 5.0, "place_rh": 0.75},
        {"material": "bone", "state": "dry", "place_temp_c": 18.0},
    ]
    for changes in calm:
        one = plan(mass_kg=0.02, place="Store A", **changes)
        assert not [text for text in one.warnings if "Store A" in text], changes


@pytest.mark.parametrize(
    ("temp_c", "said"),
    [
        (18.0, "Shelf 3 is at 18 °C; damp leather wants 2-5 °C: another store, or open it sooner."),
        (-18.0, "Shelf 3 is at -18 °C; damp leather wants 2-5 °C: another store, or see that it cannot freeze."),
    ],
)
def test_a_damp_find_in_a_warm_or_freezing_store_is_warned_of(temp_c, said):
    """2-5 °C: low single figures of refrigeration (memory, table find_materials)."""
    assert said in plan(material="leather", place="Shelf 3", place_temp_c=temp_c).warnings


def test_a_store_without_a_name_is_called_the_store():
    one = plan(material="leather", state="waterlogged", place_temp_c=18.0)
    assert any(text.startswith("The store is at 18 °C; waterlogged leather wants") for text in one.warnings)


@pytest.mark.parametrize(
    ("changes", "flags"),
    [
        ({"material": "human bone", "mass_kg": 0.02}, ("human remains",)),
        ({"material": "cremation urn", "mass_kg": 0.02, "flags": ("Human_Remains",)}, ("human remains",)),
        ({"material": "lead", "flags": ("treasure",)}, ("treasure", "lead")),
        ({"material": "bone", "mass_kg": 0.02}, ()),
    ],
)
def test_flags_of_the_material_reach_the_plan(changes, flags):
    one = plan(**changes)
    assert one.flags == flags
    assert set(flags) <= {caution.name for caution in one.cautions}


@pytest.mark.parametrize(
    ("changes", "days"),
    [
        ({"material": "iron"}, 7),
        ({"material": "iron", "soil": "loam", "block_mm": (90.0, 60.0, 50.0), "mass_kg": 0.45}, 7),
        ({"material": "silver"}, 7),
        ({"material": "iron", "state": "dry"}, None),
        ({"material": "silver", "state": "waterlogged"}, None),
        ({"material": "low-fired ceramic"}, 14),
        ({"material": "low-fired ceramic", "state": "dry"}, None),
        ({"material": "leather", "state": "waterlogged"}, 28),
        ({"material": "composite"}, 7),
        ({"material": "stone"}, None),
    ],
)
def test_first_aid_has_a_limit_in_days_from_exposure(changes, days):
    """Hold column of the first-aid matrix (table find_materials); 7 days for damp metal (judgement)."""
    limit = plan(**{"mass_kg": 0.02, **changes}).hold_limit
    assert (limit is None) == (days is None)
    if limit is not None:
        assert limit.days == days
        assert limit.name == f"first aid for {changes['material']}"
        assert limit.source
        assert limit.seen in ("judgement", "common practice")
        assert changes["material"] in limit.words


def test_the_limit_of_damp_metal_is_the_units_own_figure():
    own = replace(pack_defaults(), metal_damp_days=3)
    assert plan(defaults=own).hold_limit.days == 3
    assert find_material("bronze").hold_days == 7
