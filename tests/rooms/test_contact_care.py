"""First aid, parts that want different things, order of analyses, blanks: what a plan says beside its box."""

import itertools
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findhold.errors import UnknownName
from findhold.pack.care.first_aid import headlines
from findhold.pack.care.order import order_clashes
from findhold.pack.inputs import STATES, Override, PlanInputs, StockBox
from findhold.pack.plan import plan_box
from findhold.tables.contact import act_names, analysis_names, caution_texts
from findhold.tables.firstaid import blank_rules, composite_rules, find_part, first_aid_row, part_names
from findhold.tables.load import table
from findhold.tables.materials import find_material, find_material_names
from findhold.tables.ordering import OrderRule, doing, find_doing, order_rules

BOX = StockBox(name="B", inside_mm=(400, 300, 220), wall="PP", wall_mm=2.0, tare_kg=1.1)
JULY = datetime(2026, 7, 28, 12, tzinfo=UTC)
AUGUST = datetime(2026, 8, 4, 12, tzinfo=UTC)


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


def loose(**changes):
    return plan(**{"soil": None, "mass_kg": 1.0, "block_mm": (200.0, 100.0, 40.0), **changes})


def aid(one):
    return {line.topic: line.what for line in one.first_aid}


def parts_said(one):
    return [conflict.analysis for conflict in one.conflicts if conflict.kind == "parts"]


def sequence(order):
    return [step.name for step in order.steps]


# --- first aid -------------------------------------------------------------------------------------------------


def test_every_material_has_first_aid_in_every_state():
    pairs = [(row["material"], row["state"]) for row in table("first_aid").rows]
    assert len(pairs) == len(set(pairs))
    assert set(pairs) == set(itertools.product(find_material_names(), STATES))


def test_first_aid_keeps_a_find_as_the_materials_table_keeps_it():
    """Two tables, one answer: damp stays damp and wet stays wet, but loose damp metal is kept dry."""
    for name in find_material_names():
        wanted = "dry" if find_material(name).keep_damp == "dry when loose" else "damp"
        assert [first_aid_row(name, state).keep for state in STATES] == ["dry", wanted, "wet"], name


def test_first_aid_uses_words_that_mean_something():
    cautions = {text.name for text in caution_texts()}
    for row in (first_aid_row(name, state) for name in find_material_names() for state in STATES):
        assert row.wash in ("never", "no", "ask"), row
        assert row.urgency in ("today", "days", "weeks", "none"), row
        assert row.severity in ("destroys", "contaminates", "hampers"), row
        assert set(row.cautions) <= cautions, row
        assert row.container, row
        assert row.decides, row
        assert row.why, row
        assert (row.urgency == "none") is (row.state == "dry"), row


def test_no_metal_and_no_unfired_clay_is_ever_washed():
    """Source key hampshire-finds-care (seen): metals are never washed."""
    names = [name for name in find_material_names() if find_material(name).group == "metal"] + ["unfired clay"]
    assert {first_aid_row(name, state).wash for name in names for state in STATES} == {"never"}


def test_a_jar_in_its_block_is_told_four_things():
    one = plan()
    assert list(aid(one)) == ["keep", "container", "wash", "decide"]
    assert aid(one)["keep"] == "Keep it damp, 2-5 °C, dark, never frozen."
    assert "soil block" in aid(one)["container"]
    assert aid(one)["wash"] == "Do not wash it."
    assert "held 14 days at most" in aid(one)["decide"]


def test_loose_sherds_are_not_told_to_stay_in_a_block():
    assert "soil block" not in aid(loose())["container"]


def test_loose_damp_iron_is_kept_dry_and_iron_in_its_block_damp():
    """Source keys cardiff-metals-storage and watkinson-lewis-2005 (seen)."""
    assert aid(loose(material="iron"))["keep"].startswith("Keep it dry, at most 12 % RH")
    assert aid(plan(material="iron"))["keep"].startswith("Keep it damp")
    assert "X-ray first" in aid(plan(material="iron"))["container"]


def test_waterlogged_wood_lies_under_water_and_leather_in_least_water():
    """Source keys nas-2009 and london-wreck-preventive (seen)."""
    wet = {"state": "waterlogged", "mass_kg": 1.3}
    assert "under water" in aid(loose(material="wood", **wet))["container"]
    assert "least water" in aid(loose(material="leather", **wet))["container"]


def test_a_graver_part_adds_its_own_line():
    said = aid(plan(material="high-fired ceramic", parts=("textile",)))
    assert said["part"].startswith("Its textile:")
    assert "today" in said["part"]
    assert "part" not in aid(plan(material="textile", parts=("high-fired ceramic",)))


def test_first_aid_says_how_far_its_source_was_seen():
    for line in plan(parts=("iron",)).first_aid:
        assert line.source
        assert line.seen
    assert any("[judgement]" in said for said in headlines(plan().first_aid))
    assert len(headlines(plan().first_aid, most=2)) == 2


# --- parts of a composite --------------------------------------------------------------------------------------


def test_every_composite_rule_names_parts_that_exist_and_leaves_a_choice():
    known = {*find_material_names(), *part_names()}
    known |= {f"group:{find_material(name).group}" for name in find_material_names()}
    for rule in composite_rules():
        assert {*rule.part, *rule.other} <= known, rule
        assert set(rule.states) <= {"any", *STATES}, rule
        assert len(rule.choices) >= 2, rule
        assert rule.who, rule
        assert rule.course, rule
        assert rule.within_days > 0, rule


@pytest.mark.parametrize(
    ("material", "parts", "state", "rule"),
    [
        ("iron", ("mineral-preserved organics",), "damp", "iron-with-mineral-organics"),
        ("iron", ("wood",), "damp", "iron-with-organic"),
        ("leather", ("copper alloy",), "damp", "copper-with-organic"),
        ("leather", ("copper alloy",), "waterlogged", "metal-with-wet-organic"),
        ("lead", ("wood",), "dry", "lead-with-wood"),
        ("bone", ("iron",), "damp", "metal-with-bone"),
        ("glass", ("thread",), "damp", "glass-with-thread"),
        ("glass", ("bronze",), "damp", "glass-with-metal"),
        ("low-fired ceramic", ("charred crust",), "damp", "crust-on-pot"),
        ("low-fired ceramic", ("salts",), "damp", "salts-in-ceramic"),
        ("wall plaster", ("paint",), "damp", "paint-on-surface"),
        ("iron", ("copper alloy",), "damp", "two-metals"),
        ("cremation urn", ("burnt bone",), "damp", "urn-with-human-bone"),
        ("wood", ("leather",), "waterlogged", "leather-with-wood"),
        ("jet", ("silver",), "damp", "mount-on-stone"),
        ("antler", ("iron",), "damp", "iron-with-organic"),
        ("antler", ("silver",), "damp", "soft-metal-with-organic"),
        ("human bone", ("copper alloy",), "waterlogged", "metal-with-bone"),
    ],
)
def test_parts_that_want_different_things_are_told_with_who_decides(material, parts, state, rule):
    """Each pair of the composites table that a finds officer meets, whichever of the two is written first."""
    facts = {"state": state, "soil": None, "mass_kg": 1.3, "block_mm": (200.0, 100.0, 40.0)}
    for one in (
        plan(material=material, parts=parts, **facts),
        plan(material="composite", parts=(*parts, material), **facts),
    ):
        assert rule in parts_said(one)
        (conflict,) = [c for c in one.conflicts if c.analysis == rule]
        assert conflict.who
        assert "of first exposure" in conflict.by
        assert not conflict.stops
        assert any(q.about == f"parts: {conflict.pair}" and q.choices for q in one.questions)


def test_a_crust_on_a_salty_pot_is_sampled_before_anything_is_rinsed():
    one = plan(parts=("charred crust", "soluble salts"))
    assert set(parts_said(one)) == {"crust-on-pot", "crust-with-salts", "salts-in-ceramic"}
    (conflict,) = [c for c in one.conflicts if c.analysis == "crust-with-salts"]
    assert conflict.remedy.index("crust") < conflict.remedy.index("rinse")


@pytest.mark.parametrize("state", ["damp", "waterlogged"])
def test_every_metal_with_every_organic_has_a_rule(state):
    """The commonest composites: a metal that corrodes in what keeps wood, leather, bone or textile."""
    metals = [name for name in find_material_names() if find_material(name).group == "metal"]
    organics = [name for name in find_material_names() if find_material(name).group == "organic"]
    for metal, organic in itertools.product(metals, organics):
        if organic == "composite":
            continue
        facts = {"soil": None, "mass_kg": 1.3, "block_mm": (200.0, 100.0, 40.0)}
        one = plan(material=organic, parts=(metal,), state=state, **facts)
        assert len(parts_said(one)) == 1, (metal, organic)


def test_two_parts_without_a_rule_are_said_to_have_none():
    one = plan(parts=("amber",))
    assert parts_said(one) == []
    assert any("No rule is known for low-fired ceramic with amber" in said for said in one.assumptions)


def test_a_find_of_one_material_has_no_conflict_of_parts():
    assert parts_said(plan()) == []
    assert parts_said(plan(parts=("pottery",))) == []


def test_rules_of_state_also_hold_for_parts():
    """Foil pits against bare metal (memory): also when the metal is a rivet."""
    one = plan(material="bone", parts=("iron",), barrier="foil")
    rules = {conflict.analysis: conflict.material for conflict in one.conflicts}
    assert "foil-on-metal" in rules
    assert rules["metal-kept-damp"] == "iron"


def test_the_shortest_hold_of_the_parts_stands():
    assert plan(material="high-fired ceramic").hold_limit.days == 28
    assert plan(material="high-fired ceramic", parts=("bone",)).hold_limit.days == 14
    assert plan(material="high-fired ceramic", parts=("iron",)).hold_limit.days == 7


def test_a_named_persons_choice_settles_parts_and_stays_on_the_list():
    word = Override(material="iron", rule="iron-with-organic", person="R. Ashdown", reason="X-ray shows no wood left")
    one = plan(material="iron", parts=("wood",), overrides=(word,))
    (conflict,) = [c for c in one.conflicts if c.kind == "parts"]
    assert (conflict.overridden_by, conflict.reason) == ("R. Ashdown", "X-ray shows no wood left")
    assert not any(question.about.startswith(("parts", "overrides")) for question in one.questions)


def test_a_part_that_does_not_exist_is_an_error_with_near_names():
    with pytest.raises(UnknownName, match="charred crust"):
        plan(parts=("charred crusts",))


def test_parts_have_the_names_people_use():
    assert find_part("Pseudomorphs") == "mineral-preserved organics"
    assert find_part("soot") == "charred crust"
    assert find_part("Bronze") == "copper alloy"


# --- order -----------------------------------------------------------------------------------------------------


def test_luminescence_comes_before_x_ray_and_x_ray_before_opening():
    """From memory: X-rays add dose. Common practice: the picture of the closed block says where to dig. Seen: soil of a
    luminescence sample must not see light, so no lamp or flash before it is taken."""
    order = plan(analyses=("X-ray", "TL")).order
    assert sequence(order) == ["luminescence", "photographs", "condition note", "imaging", "opening"]
    assert order.clashes == order.circle == order.questions == ()


def test_samples_come_before_washing_and_treatment():
    dates = {"washing": AUGUST, "consolidant": AUGUST}
    done = sequence(order_clashes(["radiocarbon", "lipid", "aDNA", "protein"], [], dates))
    assert done.index("washing") > done.index("lipid")
    assert done.index("consolidant") > done.index("radiocarbon")
    assert {"lipid", "aDNA", "protein"} == set(done[2:5])


def test_a_step_is_told_the_day_before_which_it_must_be_done():
    (lipid,) = [step for step in order_clashes(["lipid"], [], {"washed": AUGUST}).steps if step.name == "lipid"]
    assert lipid.before == AUGUST


def test_micromorphology_is_cut_before_a_vessel_is_emptied_and_bulk_soil_comes_last():
    done = sequence(plan(analyses=("macros", "pollen", "kubiena"), parts=("vessel content",)).order)
    wanted = ["opening", "micromorphology", "pollen", "emptying", "plant macros"]
    assert [name for name in done if name in wanted] == wanted


def test_dna_of_a_find_in_its_block_gives_way_to_the_x_ray_and_says_so():
    """From memory: a high dose may harm DNA. In the block nothing can be sampled before it is opened."""
    order = plan(material="bone", analyses=("aDNA", "CT")).order
    assert sequence(order).index("imaging") < sequence(order).index("aDNA")
    assert any("keep it low" in said for said in order.gave_way)
    bare = order_clashes(["aDNA", "CT"], [], {})
    assert sequence(bare)[-2:] == ["aDNA", "imaging"]
    assert bare.gave_way == ()


def test_what_was_done_too_early_stops_the_plan_and_wants_a_person():
    one = plan(analyses=("TL",), acts=("opened",))
    (conflict,) = [c for c in one.conflicts if c.kind == "order"]
    assert (conflict.material, conflict.analysis, conflict.severity) == ("opening", "luminescence", "destroys")
    assert one.stopped
    assert "opening" not in sequence(one.order)


def test_a_date_after_the_sample_lets_an_act_pass():
    later = plan(analyses=("lipid",), acts=("washing",), dated=(("lipid", JULY), ("washing", AUGUST)))
    (conflict,) = [c for c in later.conflicts if c.material == "washing" and c.analysis == "lipid"]
    assert conflict.verdict == "with a control"
    assert "before washing" in conflict.remedy


def test_contradictory_dates_are_a_conflict_with_both_dates_in_it():
    one = plan(analyses=("luminescence", "imaging"), dated=(("X-ray", JULY), ("OSL", AUGUST)))
    (conflict,) = [c for c in one.conflicts if c.kind == "order"]
    assert "28 Jul 2026" in conflict.text
    assert "4 Aug 2026" in conflict.text
    assert conflict.verdict == "forbidden"
    assert one.stopped


def test_an_override_lets_contradictory_dates_pass():
    word = Override(material="CT", rule="TL", person="R. Ashdown", reason="second sherd was never scanned")
    dates = (("X-ray", JULY), ("OSL", AUGUST))
    one = plan(analyses=("luminescence", "imaging"), dated=dates, overrides=(word,))
    assert not one.stopped
    assert any(c.kind == "order" and c.overridden_by == "R. Ashdown" for c in one.conflicts)


def test_an_x_ray_done_before_silica_gel_is_no_clash_and_gel_before_x_ray_is():
    assert order_clashes(["XRF"], ["X-ray", "desiccated"], {}).clashes == ()
    (clash,) = order_clashes(["X-ray"], ["silica gel"], {}).clashes
    assert (clash.first, clash.done) == ("imaging", "desiccation")


def test_specialists_who_ask_for_a_circle_are_asked_back():
    order = order_clashes(["lipid", "pollen"], [], {}, wanted=[("lipid", "pollen"), ("pollen", "lipid")])
    assert order.circle in (("lipid", "pollen", "lipid"), ("pollen", "lipid", "pollen"))
    (question,) = order.questions
    assert len(question.choices) == 2
    assert set(sequence(order)) >= {"lipid", "pollen"}


def test_a_wish_against_the_rules_is_a_circle_and_the_rules_stand():
    order = order_clashes(["TL", "CT"], [], {}, wanted=[("CT", "TL")])
    assert set(order.circle) == {"imaging", "luminescence"}
    assert sequence(order).index("luminescence") < sequence(order).index("imaging")


def test_a_wish_within_the_rules_is_followed():
    assert sequence(order_clashes(["lipid", "aDNA"], [], {}))[-1] == "lipid"
    assert sequence(order_clashes(["lipid", "aDNA"], [], {}, wanted=[("lipid", "aDNA")]))[-1] == "aDNA"


def test_a_wish_about_something_not_planned_is_said():
    order = order_clashes(["lipid"], [], {}, wanted=[("lipid", "pollen")])
    assert order.gave_way == ("lipid before pollen was asked for, but pollen is not planned here.",)


def test_rules_that_close_a_circle_among_themselves_are_named():
    shape = {"why": "w", "severity": "hampers", "gives_way": False, "source": "s", "seen": "seen"}
    pairs = [("lipid", "pollen"), ("pollen", "XRF"), ("XRF", "lipid")]
    rules = [OrderRule(before=first, after=later, **shape) for first, later in pairs]
    order = order_clashes(["lipid", "pollen", "XRF"], [], {}, rules=rules)
    assert len(order.circle) == 4
    assert order.circle[0] == order.circle[-1]
    assert len(sequence(order)) == 5


def test_a_name_in_the_dates_that_does_not_exist_is_an_error():
    with pytest.raises(UnknownName, match="luminescence"):
        order_clashes(["lipid"], [], {"luminescense": JULY})


@given(st.sets(st.sampled_from(analysis_names())), st.booleans())
def test_the_order_meets_every_firm_rule_and_leaves_nothing_out(analyses, in_soil):
    steps = ("photographs", "condition note", *(("opening", "soil controls", "emptying") if in_soil else ()))
    order = order_clashes(sorted(analyses), [], {}, steps=steps)
    done = sequence(order)
    assert sorted(done) == sorted({*steps, *analyses})
    assert order.circle == ()
    for rule in order_rules():
        if rule.before in done and rule.after in done and not rule.gives_way:
            assert done.index(rule.before) < done.index(rule.after), rule


@given(st.permutations(sorted(set(analysis_names()) - {"other"})))
def test_the_order_does_not_depend_on_how_the_analyses_are_listed(analyses):
    assert sequence(order_clashes(analyses, [], {})) == sequence(order_clashes(sorted(analyses), [], {}))


def test_the_firm_rules_close_no_circle_with_everything_planned():
    every = (*analysis_names(), *act_names())
    dates = dict.fromkeys(every, AUGUST)
    assert order_clashes(analysis_names(), [], dates, steps=("photographs", "opening", "emptying")).circle == ()


def test_every_rule_of_order_names_things_that_exist_and_says_why():
    seen = set()
    for rule in order_rules():
        assert find_doing(rule.before) == rule.before
        assert find_doing(rule.after) == rule.after
        assert rule.severity in ("destroys", "contaminates", "hampers"), rule
        assert rule.why, rule
        assert (rule.before, rule.after) not in seen, rule
        seen.add((rule.before, rule.after))


def test_every_analysis_has_its_place_in_the_sequence():
    assert {doing(name).kind for name in analysis_names()} == {"analysis"}


# --- blanks ----------------------------------------------------------------------------------------------------


def test_blanks_of_everything_that_comes_near_are_kept_once():
    one = plan(analyses=("lipid", "radiocarbon"), barrier="foil", board_mm=6.0)
    names = [control.name for control in one.controls]
    assert len(names) == len(set(names))
    wanted = {"aluminium foil", "tissue", "glove", "water", "label", "board", "foam of the bed", "condensation"}
    assert wanted <= set(names)
    assert {"soil inside", "soil outside", "soil away"} <= set(names)
    assert {control.name for control in one.blanks} == set(names) - {"soil inside", "soil outside", "soil away"}


def test_a_blank_says_how_much_how_wrapped_and_how_labelled():
    for control in plan(analyses=("lipid",)).controls:
        assert control.how_much, control
        assert control.labelled.startswith(("BLANK", "CONTROL")), control
        assert control.analyses == ("lipid",), control
        assert control.why, control
        assert control.source, control


def test_water_is_kept_only_when_water_is_added():
    """What the dose brings stays in the block; without a dose there is nothing to tell it from."""
    assert "water" in {control.name for control in plan(analyses=("lipid",)).controls}
    dry = loose(state="dry", analyses=("lipid",))
    assert not {"water", "condensation"} & {control.name for control in dry.controls}


def test_radiocarbon_alone_asks_for_no_soil_and_no_water():
    names = {control.name for control in plan(analyses=("radiocarbon",), barrier="foil").controls}
    assert not {"soil inside", "soil outside", "water"} & names
    assert {"aluminium foil", "glove"} <= names


def test_what_only_comes_at_the_opening_is_not_a_packing_step():
    one = plan(analyses=("lipid",))
    later = {control.name for control in one.controls if control.taken == "at the opening"}
    assert later == {"soil inside", "condensation"}
    assert not any("soil from inside" in step.text or "condensation" in step.text for step in one.steps)


def test_no_blanks_are_kept_when_nothing_is_to_be_measured():
    assert plan().controls == ()
    assert plan(analyses=("petrology", "plant macros")).controls == ()


def test_every_packing_contact_has_its_blank():
    contacts = {row["contact"] for row in table("packing_materials").rows}
    assert contacts == {rule.contact for rule in blank_rules() if rule.role == "packing"}


def test_blanks_name_analyses_that_exist():
    for rule in blank_rules():
        assert set(rule.analyses) <= {"any", *analysis_names()}, rule
