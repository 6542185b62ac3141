"""`lift` as a person uses it: from a scenario file, from a ledger, with what goes wrong."""

import json
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
SCENARIO = EXAMPLES / "lift-to-shelf.toml"


def written(tmp_path, old: str = "", new: str = "") -> Path:
    text = SCENARIO.read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "case.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


def test_a_scenario_is_answered_with_hands_board_and_what_helps(findhold):
    done = findhold("lift", SCENARIO)
    assert done.code == 0, done.text
    for words in ("Two people", "birch plywood 12 mm", "the shelf at 900 mm: one person", "not safe loads"):
        assert words in done.text
    assert max(map(len, done.out.splitlines())) <= 80


def test_json_holds_the_public_shape_and_no_number_that_is_none(findhold):
    done = findhold("lift", SCENARIO, "--json")
    shape = json.loads(done.out, parse_constant=pytest.fail)
    assert shape["can_lift"] is True
    assert shape["people"] == 2
    assert {"legs", "masses", "board", "boards", "helps", "decides", "lines", "sources"} <= set(shape)
    assert any("NIOSH" in line and "[code]" in line for line in shape["sources"])


def test_full_shows_the_order_of_the_lift_and_every_assumption(findhold):
    done = findhold("lift", SCENARIO, "--full")
    assert "Order of the block's lift:" in done.text
    assert "assumed: Close means hands within 350 mm" in done.text
    assert max(map(len, done.out.splitlines())) <= 80


def test_a_file_without_a_mass_is_lifted_by_its_soil_but_not_planned(findhold, tmp_path):
    path = written(tmp_path, "mass_kg = 12.2\n")
    done = findhold("lift", path, "--json")
    assert done.code in (0, 1)
    mass = done.json["masses"]
    assert mass["how"] == "by soil"
    assert mass["block_kg"]["low"] < 12.2 < mass["block_kg"]["high"]
    refused = findhold("plan", path)
    assert refused.code == 2
    assert "mass is missing" in refused.text


def test_lift_and_plan_hold_one_centre_of_gravity_measured_or_of_the_profile(findhold, tmp_path):
    """A profile that narrows to half above 70 mm: (210 x 70 x 35 + 105 x 70 x 105)/(210 x 70 + 105 x 70) = 58.3 mm, in
    steps of half a millimetre where it narrows."""
    assert findhold("plan", SCENARIO, "--json").json["cog_mm"] == [128, 105, 66]
    assert findhold("lift", SCENARIO, "--json").json["block_centre"]["at_mm"] == [128, 105, 66]
    profile = "mass_kg = 12.2\nprofile_mm = [[0, 230, 210], [69.75, 230, 210], [70.25, 230, 105], [140, 230, 105]]"
    path = written(tmp_path, "mass_kg = 12.2", profile)
    path.write_text(path.read_text(encoding="utf-8").replace("cog_mm = [128, 105, 66]", ""), encoding="utf-8")
    planned, lifted = findhold("plan", path, "--json").json, findhold("lift", path, "--json").json
    assert planned["cog_mm"] == pytest.approx([115, 105, 58.333], abs=0.01)
    assert lifted["block_centre"]["at_mm"] == planned["cog_mm"]
    assert lifted["block_centre"]["known"] is False
    assert any("of its profile" in line for line in planned["assumptions"])
    assert any("of its profile" in line for line in lifted["assumptions"])


@pytest.mark.parametrize(("mass_kg", "block", "box"), [(4.0, 1, 1), (6.5, 2, 1), (12.2, 2, 2), (23.0, None, None)])
def test_front_back_and_steps_say_one_number_of_people_for_each_load(findhold, tmp_path, mass_kg, block, box):
    """Out of the ground a block over 5 kg takes two (judgement of lift_defaults); 23 kg is too much for three."""
    words = {None: "No team at hand", 1: "One person", 2: "Two people"}
    path = written(tmp_path, "mass_kg = 12.2", f"mass_kg = {mass_kg}")
    planned, lifted = findhold("plan", path, "--json").json, findhold("lift", path, "--json").json
    assert lifted["hands"] == {"block_people": block, "box_people": box}
    (lowered,) = (step["text"] for step in planned["steps"] if step["lifts"] == "block")
    (carried,) = (step["text"] for step in planned["steps"] if step["lifts"] == "box")
    assert lowered.endswith(f". {words[block]}.")
    assert carried.endswith(f". {words[box]}.")
    told = f"Packed box {planned['gross_mass_kg']:.2f} kg"
    front = [line for line in planned["warnings"] if line.startswith("Lift: ")]
    assert front == ([] if block == box == 1 else [f"Lift: {lifted['lines'][0]}"])
    assert lifted["lines"][0].startswith(told)
    assert f"): {words[box].lower()}. Block on its board " in lifted["lines"][0]
    assert lifted["lines"][0].endswith(f"): {words[block].lower()}.")


def test_a_block_that_tips_early_on_its_foot_is_to_be_steadied(findhold, tmp_path):
    """Foot 100 x 90 in the middle of 230 x 210, centre 128 mm along, 66 mm up: 37 mm to its edge, atan(37/66) = 29°;
    with a foot of 40 mm along, 7 mm: 6°."""
    for long, degrees, said in ((100, 29.3, False), (40, 6.1, True)):
        profile = f"mass_kg = 12.2\nprofile_mm = [[0, {long}, 90], [50, 230, 210], [140, 230, 210]]"
        shape = findhold("lift", written(tmp_path, "mass_kg = 12.2", profile), "--json").json
        assert shape["block_centre"]["tip_deg"] == pytest.approx(degrees, abs=0.1)
        assert any("steady" in line for line in shape["warnings"]) is said
        assert any("The block alone tips at 6°: steady it" in line for line in shape["lines"]) is said


def test_no_team_within_both_measures_is_exit_1(findhold, tmp_path):
    done = findhold("lift", written(tmp_path, "ground_height_mm = 300", "ground_height_mm = 0"))
    assert done.code == 1
    assert "No team at hand" in done.text
    assert "competent person" in done.text


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("people = 3", "people = 2.5", "whole number"),
        ("people = 3", "peple = 3", "did you mean people"),
        ("door_mm = 690", "door_mm = -1", "out of range"),
        ("door_mm = 690", 'handles = "rope"', '"handles"'),
        ("door_mm = 690", 'board = "oak"', "no board material"),
        ("door_mm = 690", "board_thickness_mm = 9", "without its material"),
        ("door_mm = 690", "boxes = 3", "round_min"),
        ("cog_mm = [128, 105, 66]", "cog_mm = [328, 105, 66]", "outside the block"),
        ("door_mm = 690", 'legs = [{name = "a", load = "box"}]', "without from_mm"),
        ("door_mm = 690", 'legs = [{name = "a", load = "sack", from_mm = 0, to_mm = 9}]', "load is none"),
    ],
)
def test_wrong_keys_are_exit_2_and_say_what_is_allowed(findhold, tmp_path, old, new, words):
    done = findhold("lift", written(tmp_path, old, new))
    assert done.code == 2
    assert words in done.text


def test_a_way_of_ones_own_and_a_round_are_answered(findhold, tmp_path):
    own = (
        'legs = [{name = "to the van", load = "box", from_mm = 750, to_mm = 600, carry_m = 8}, '
        '{name = "into the store", load = "box", from_mm = 600, to_mm = 900, door_mm = 800}]\n'
        "boxes = 4\nround_min = 20"
    )
    done = findhold("lift", written(tmp_path, "door_mm = 690", own), "--json")
    assert done.code == 0, done.text
    assert [leg["leg"]["name"] for leg in done.json["legs"]] == ["to the van", "into the store"]
    assert done.json["round"]["boxes"] == 4
    assert len(done.json["round"]["composite"][0]["order"]) == 4


def test_a_find_of_the_ledger_is_lifted_in_its_planned_box_or_as_a_block(findhold, withy_carr):
    bare = findhold("lift", "44", "--json")
    assert bare.code in (0, 1), bare.text
    assert [leg["leg"]["load"] for leg in bare.json["legs"]] == ["block"]
    assert any("plan its box" in line for line in bare.json["next_steps"])
    assert findhold("plan", "44").code == 0
    planned = findhold("lift", "44", "--json")
    assert [leg["leg"]["load"] for leg in planned.json["legs"]] == ["block", "box"]
    assert planned.json["masses"]["box_kg"]["best"] > planned.json["masses"]["block_kg"]["best"] - 1
    assert any("outside the 19 to 26" in line for line in planned.json["warnings"])


def test_a_lower_shelf_is_asked_for_on_the_command_line_and_nothing_is_recorded(findhold, withy_carr):
    findhold("plan", "44")
    before = withy_carr.read_bytes()
    done = findhold("lift", "44", "--shelf", "900", "--ground", "400", "--json")
    assert done.json["legs"][1]["leg"]["to_mm"] == 900
    assert done.json["legs"][0]["leg"]["from_mm"] == 400
    assert withy_carr.read_bytes() == before


def test_a_round_of_finds_has_a_composite_index(findhold, withy_carr):
    findhold("plan", "44")
    findhold("plan", "48")
    done = findhold("lift", "44", "48", "--round", "10")
    assert "Round: 2 boxes in 10 minutes" in done.text
    assert "composite index" in done.text


def test_settings_move_the_defaults_and_wrong_ones_are_refused(findhold, tmp_path, monkeypatch):
    home = tmp_path / "home"
    home.mkdir()
    (home / "settings.toml").write_text('[lift]\nguideline = "men"\n', encoding="utf-8")
    assert findhold("lift", SCENARIO, "--json").json["who"] == "men"
    (home / "settings.toml").write_text("[lift]\nguidelin = 1\n", encoding="utf-8")
    wrong = findhold("lift", SCENARIO)
    assert wrong.code == 2
    assert "guideline" in wrong.text


def test_a_scenario_stands_alone(findhold):
    assert findhold("lift", SCENARIO, "--people", "2").code == 2
    assert findhold("lift", SCENARIO, "37").code == 2
    assert findhold("lift").code == 2


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (("--shelf", "abc"), "--shelf: 'abc' is no figure"),
        (("--people", "two"), "--people: 'two' is no number of people"),
    ],
)
def test_a_figure_that_is_none_is_told_in_our_own_words(withy_carr, findhold, typed, said):
    refused = findhold("lift", "37", *typed)
    assert refused.code == 2
    assert said in " ".join(refused.text.split())
    assert "unable to parse" not in refused.text


def test_a_height_may_be_typed_with_its_unit(withy_carr, findhold):
    assert findhold("plan", "44", "52").code == 0
    plain = findhold("lift", "44", "--shelf", "1600", "--json").json
    assert findhold("lift", "44", "--shelf", "1.6 m", "--json").json["legs"] == plain["legs"]


def test_what_stops_is_said_once(withy_carr, findhold):
    assert findhold("plan", "52").code == 0
    told = " ".join(findhold("lift", "52", "--door", "50").text.split())
    assert told.count("the door is 50 mm") == 1
    assert "STOP" in told


def test_what_several_lifts_share_is_said_once_with_the_finds_it_is_for(withy_carr, findhold):
    assert findhold("plan", "44", "52").code == 0
    both = " ".join(findhold("lift", "--all").text.split())
    assert both.count("nobody must lift what feels too heavy") == 1
    assert both.count("Measure the narrowest door") == 1
    assert both.count("--full shows") == 1
