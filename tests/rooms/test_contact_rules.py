"""Contact rules: analyses against what touches, states against packing, overrides, acts."""

import pytest

from findhold.errors import BadInput, UnknownName
from findhold.pack.inputs import Override, PlanInputs, StockBox
from findhold.pack.plan import plan_box
from findhold.tables.contact import (
    act_names,
    analysis_names,
    contact_names,
    contact_rule,
    find_act,
    find_analysis,
    state_rules,
)
from findhold.tables.load import table
from findhold.tables.materials import (
    find_material,
    find_material_names,
    packing_material,
    packing_material_names,
)

BOX = StockBox(name="B", inside_mm=(400, 300, 220), wall="PP", wall_mm=2.0, tare_kg=1.1)


def plan(**changes):
    known = {
        "find": "WCR26 37",
        "material": "low-fired ceramic",
        "state": "damp",
        "block_mm": (200.0, 180.0, 120.0),
        "mass_kg": 7.0,
        "soil": "loam",
        "stock": (BOX,),
    }
    return plan_box(PlanInputs(**{**known, **changes}))


def about(one, rule):
    return [conflict for conflict in one.conflicts if conflict.analysis == rule]


def test_tissue_on_a_radiocarbon_find_stops_the_plan():
    """Radiocarbon laboratory's handling page: avoid paper."""
    one = plan(analyses=("14C",))
    (conflict,) = about(one, "radiocarbon")
    assert (conflict.material, conflict.verdict) == ("tissue", "forbidden")
    assert "foil" in conflict.remedy
    assert one.stopped


def test_tissue_on_a_lipid_find_wants_a_blank():
    one = plan(analyses=("lipid",))
    (conflict,) = about(one, "lipid")
    assert conflict.verdict == "with a control"
    assert "Keep a clean sheet" in conflict.remedy
    assert not one.stopped


def test_foil_between_settles_it():
    one = plan(analyses=("lipid", "radiocarbon"), barrier="aluminium foil")
    assert about(one, "radiocarbon") == about(one, "lipid") == []
    assert not one.stopped
    assert any(layer.place == "barrier" for layer in one.layers)


def test_a_named_person_with_a_reason_lets_it_pass_and_stays_on_the_list():
    override = Override(material="damp tissue", rule="C-14", person="R. Ashdown", reason="crust already sampled")
    one = plan(analyses=("radiocarbon",), overrides=(override,))
    (conflict,) = about(one, "radiocarbon")
    assert (conflict.verdict, conflict.overridden_by) == ("forbidden", "R. Ashdown")
    assert conflict.reason == "crust already sampled"
    assert not one.stopped


@pytest.mark.parametrize(("person", "reason"), [("", "because"), ("R. Ashdown", "  ")])
def test_an_override_wants_a_person_and_a_reason(person, reason):
    override = Override(material="tissue", rule="radiocarbon", person=person, reason=reason)
    with pytest.raises(BadInput, match=r"no person is named|no reason is given"):
        plan(analyses=("radiocarbon",), overrides=(override,))


def test_an_override_of_another_pair_does_not_help_and_is_asked_about():
    override = Override(material="tissue", rule="lipid", person="R. Ashdown", reason="known")
    one = plan(analyses=("radiocarbon",), overrides=(override,))
    assert one.stopped
    assert any(question.about == "overrides" for question in one.questions)


def test_an_override_of_a_rule_that_does_not_exist_is_an_error():
    override = Override(material="tissue", rule="radiocarbn", person="R. Ashdown", reason="known")
    with pytest.raises(UnknownName, match="radiocarbon"):
        plan(analyses=("radiocarbon",), overrides=(override,))


def test_a_damp_find_in_a_sealed_bag_without_a_pad_is_forbidden():
    """Source key hampshire-finds-care (seen)."""
    assert plan(wrapping="sealed bag", sheets=0).stopped
    assert not plan(bag="sealed bag").stopped  # tissue inside is the pad
    assert not plan(wrapping="perforated bag", sheets=0).stopped


def test_a_waterlogged_find_in_a_perforated_bag_is_forbidden():
    """Source key hampshire-finds-care (seen)."""
    wet = {"material": "leather", "state": "waterlogged", "soil": None, "mass_kg": 3.0}
    assert plan(**wet, bag="perforated bag").stopped
    assert plan(**wet, wrapping="perforated bag").stopped
    assert not plan(**wet).stopped


def test_metal_kept_damp_is_warned_of():
    """Proposed (judgement): longer than 7 days is a warning."""
    for metal in ("iron", "copper-alloy", "Lead", "silver"):
        (conflict,) = about(plan(material=metal), "metal-kept-damp")
        assert conflict.verdict == "with a control"
        assert "7 days" in conflict.text
    assert about(plan(material="bone"), "metal-kept-damp") == []


def test_foil_against_metal_is_warned_of():
    """From memory: foil pits against bare metal."""
    assert len(about(plan(material="iron", barrier="foil"), "foil-on-metal")) == 1
    assert about(plan(material="bone", barrier="foil"), "foil-on-metal") == []


@pytest.mark.parametrize("wrapping", ["plaster bandage", "expanding foam"])
def test_plaster_and_poured_foam_want_a_barrier(wrapping):
    """Proposed (judgement): a barrier comes first."""
    assert plan(wrapping=wrapping, sheets=0).stopped
    assert not plan(wrapping=wrapping, sheets=0, barrier="polyethylene film").stopped


@pytest.mark.parametrize("analysis", ["lipid", "protein", "aDNA"])
def test_washing_spoils_residues(analysis):
    """Source keys lipid-contamination and adna-guidelines-2017; the sample is marked and kept."""
    one = plan(analyses=(analysis,), acts=("washed",), material="stone")
    conflict = next(c for c in one.conflicts if c.material == "washing")
    assert conflict.verdict == "forbidden"
    assert "compromised" in conflict.remedy


@pytest.mark.parametrize("act", ["washed", "dried"])
def test_a_washed_or_dried_sherd_cannot_be_dated_by_luminescence(act):
    """Source key luminescence-lab-ceramics (seen)."""
    one = plan(analyses=("OSL",), acts=(act,), material="stone")
    assert any(c.analysis == "luminescence" and c.verdict == "forbidden" for c in one.conflicts)


def test_imaging_planned_beside_luminescence_is_warned_of():
    """From memory: X-rays add dose. Planned only, the order of the day settles it."""
    one = plan(analyses=("TL", "X-ray"))
    (conflict,) = [c for c in one.conflicts if c.material == "CT or X-ray"]
    assert (conflict.analysis, conflict.verdict, conflict.severity) == ("luminescence", "with a control", "destroys")
    assert not one.stopped


def test_imaging_done_before_luminescence_stops_until_a_person_decides():
    one = plan(analyses=("TL",), acts=("CT",))
    (conflict,) = [c for c in one.conflicts if c.material == "CT or X-ray"]
    assert (conflict.analysis, conflict.verdict, conflict.kind) == ("luminescence", "forbidden", "order")
    assert one.stopped
    assert any(question.about == "order: CT or X-ray and luminescence" for question in one.questions)
    word = Override(material="X-ray", rule="OSL", person="R. Ashdown", reason="sherd was kept out of the beam")
    settled = plan(analyses=("TL",), acts=("CT",), overrides=(word,))
    assert not settled.stopped
    assert not any(question.about.startswith("order") for question in settled.questions)


def test_freezing_is_forbidden_until_a_named_laboratory_asks():
    """Source key nas-2009 (seen)."""
    assert plan(acts=("freezing",)).stopped
    lab = Override(
        material="freezing", rule="never-freeze", person="R. Ashdown", reason="asked for by the core laboratory"
    )
    assert not plan(acts=("freezing",), overrides=(lab,)).stopped


@pytest.mark.parametrize("soil", [None, "loam"])
@pytest.mark.parametrize(("material", "rule"), [("glass", "tissue-on-wet-glass"), ("textile", "tissue-on-textile")])
def test_wet_glass_and_textile_keep_fibres_off_bare_or_in_their_soil(material, rule, soil):
    """First aid for both: film next to it or to its soil, nothing fibrous (table first_aid, rows glass and textile)."""
    known = {"material": material, "soil": soil, "mass_kg": 1.0}
    stopped = plan(**known, no_barrier=True)
    assert len(about(stopped, rule)) == 1
    assert stopped.stopped
    assert about(plan(**known, barrier="polyethylene film"), rule) == []
    assert about(plan(**known), rule) == []


def test_a_pair_without_a_rule_is_said_to_have_none():
    one = plan(analyses=("aDNA",), wrapping="polystyrene", sheets=0)
    assert any("No contact rule is known for aDNA and polystyrene" in text for text in one.assumptions)


def test_an_analysis_that_is_not_in_the_tables_is_handled_at_its_strictest():
    one = plan(analyses=("other",))
    assert not one.stopped
    assert any("no contact rule is known for it and tissue" in text for text in one.assumptions)
    assert any("handle it at its strictest" in text for text in one.assumptions)
    assert "two pairs" in one.steps[0].text
    assert plan(analyses=("other",), acts=("washed",)).stopped


def test_conservation_only_asks_no_laboratory():
    one = plan(analyses=("conservation only",))
    assert not one.stopped
    assert not any("No contact rule" in text for text in one.assumptions)


@pytest.mark.parametrize(
    ("contact", "analysis", "verdict"),
    [
        ("bare hands", "aDNA", "forbidden"),
        ("bare hands", "pollen", "allowed"),
        ("powdered gloves", "starch", "forbidden"),
        ("unpowdered gloves", "starch", "with a control"),
        ("plasticised film", "lipid", "forbidden"),
        ("clean polyethylene", "radiocarbon", "allowed"),
        ("mouldy tissue", "plant macros", "forbidden"),
        ("biocide", "lipid", "forbidden"),
        ("washing", "radiocarbon", "allowed"),
        ("washing", "plant macros", "forbidden"),
        ("drying", "luminescence", "forbidden"),
        ("freezing", "plant macros", "forbidden"),
        ("consolidant", "isotopes", "forbidden"),
        ("foil", "lipid", "allowed"),
        ("drying", "dendrochronology", "forbidden"),
        ("paper or tissue", "fibre identification", "forbidden"),
        ("washing", "use-wear", "forbidden"),
        ("freezing", "insects", "forbidden"),
        ("drying", "insects", "forbidden"),
        ("consolidant", "conservation only", "with a control"),
    ],
)
def test_cells_of_the_conflict_matrix(contact, analysis, verdict):
    """Cells of table contact_rules whose sources are given there row by row, typed here once more from them."""
    assert contact_rule(contact, analysis).verdict == verdict


def test_every_forbidden_rule_says_what_to_do():
    for row in table("contact_rules").rows:
        assert row["remedy"] if row["verdict"] == "forbidden" else not row["remedy"], row
    for rule in state_rules():
        assert rule.remedy, rule


def test_every_rule_names_contacts_and_analyses_that_exist():
    contacts = {packing_material(name).contact for name in packing_material_names()}
    contacts |= {find_act(name).contact for name in act_names()} | {"unpowdered gloves", "water"}
    assert set(contact_names()) == contacts


def test_the_matrix_leaves_no_pair_unconsidered():
    """Every packing material and act against every analysis: a verdict, or in so many words that no rule is known."""
    pairs = [(row["contact"], row["analysis"]) for row in table("contact_rules").rows]
    assert len(pairs) == len(set(pairs))
    assert set(pairs) == {(contact, analysis) for contact in contact_names() for analysis in analysis_names()}
    assert {row["verdict"] for row in table("contact_rules").rows} == {
        "forbidden",
        "with a control",
        "allowed",
        "no rule known",
    }


def test_every_pair_says_how_much_is_lost_and_it_agrees_with_the_verdict():
    lost = {"destroys", "contaminates", "hampers"}
    fits = {"allowed": {"harmless"}, "no rule known": {"unknown"}, "forbidden": lost, "with a control": lost}
    for row in table("contact_rules").rows:
        assert row["severity"] in fits[row["verdict"]], row


def test_a_pair_without_a_rule_sends_the_reader_to_the_laboratory():
    for row in table("contact_rules").rows:
        if row["verdict"] == "no rule known":
            assert row["control"] == "Ask the laboratory.", row


def test_every_forbidden_pair_says_why():
    assert [row for row in table("contact_rules").rows if row["verdict"] == "forbidden" and not row["text"]] == []


def test_every_state_rule_names_materials_and_things_that_exist():
    groups = {f"group:{find_material(name).group}" for name in find_material_names()} | {"any"}
    words = {packing_material(name).contact for name in packing_material_names()} | set(packing_material_names())
    words |= {row["name"] for row in table("acts").rows}
    words |= {"pvc", "metal", "fibrous", "sealed bag", "perforated bag", "sealed bag without pad", "water"}
    for rule in state_rules():
        assert set(rule.materials) <= groups | set(find_material_names()), rule
        assert set(rule.things) <= words, rule


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("14c", "radiocarbon"),
        ("C 14", "radiocarbon"),
        ("TL/OSL", "luminescence"),
        ("plant_macros", "plant macros"),
        ("ADNA", "aDNA"),
        ("dendro", "dendrochronology"),
        ("tree-ring dating", "dendrochronology"),
        ("species identification", "wood identification"),
        ("use wear", "use-wear"),
        ("fibre ID", "fibre identification"),
        ("beetles", "insects"),
        ("land snails", "snails"),
        ("conservation", "conservation only"),
        ("not decided", "other"),
    ],
)
def test_analyses_have_the_names_people_use(typed, meant):
    assert find_analysis(typed).name == meant


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("Copper_Alloy", "copper alloy"), ("low fired  ceramic", "low-fired ceramic"), ("Bronze", "copper alloy")],
)
def test_find_materials_do_not_mind_case_hyphens_and_spaces(typed, meant):
    assert find_material(typed).name == meant


def test_a_loose_name_is_taken_for_the_more_sensitive_and_said_so():
    one = plan(material="pottery")
    assert one.material == "low-fired ceramic"
    assert any("'pottery' is taken for low-fired ceramic" in text for text in one.assumptions)


def test_every_material_has_one_of_four_growth_classes():
    classes = {"very sensitive", "sensitive", "medium resistant", "resistant"}
    assert {find_material(name).growth_class for name in find_material_names()} <= classes
    assert {packing_material(name).growth_class for name in packing_material_names()} <= classes
    assert find_material("wood").growth_class == find_material("textile").growth_class == "very sensitive"
    assert packing_material("tissue").growth_class == "sensitive"
