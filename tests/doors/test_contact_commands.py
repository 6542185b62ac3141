"""First aid, parts, order and blanks as a person meets them: scenario files, the register, the demo's finds."""

import pytest

SHERD = """
title = "Sherd"

[find]
material = "low-fired ceramic"
state = "damp"
block_mm = [140, 120, 70]
mass_kg = 1.9
soil = "sandy loam"
analyses = ["luminescence", "imaging"]
parts = ["charred crust"]

[box]
inside_mm = [300, 220, 160]
wall = "PP"
wall_mm = 1.5
"""


@pytest.fixture
def sherd(tmp_path):
    """A scenario with one line of [find] changed, and lines added at the end."""

    def write(old="", new="", more=""):
        path = tmp_path / "sherd.toml"
        path.write_text(SHERD.replace(old, new) + more, encoding="utf-8")
        return path

    return write


def test_a_plan_tells_first_aid_order_and_who_decides(findhold, sherd):
    told = findhold("plan", sherd())
    assert told.code == 0
    assert "first aid Keep it damp, 2-5 °C, dark, never frozen." in told.text
    assert "order luminescence, photographs, condition note, CT or X-ray, opening" in told.text
    assert "low-fired ceramic with charred crust" in told.text
    assert "Who decides: residue specialist, within 14 days of first exposure" in told.text


def test_full_tells_why_and_how_far_the_source_was_seen(findhold, sherd):
    short, full = findhold("plan", sherd()), findhold("plan", sherd(), "--full")
    assert "X-rays add a dose" not in short.text.partition("first aid")[2].partition("low-fired")[0]
    assert "before photographs: lamp and flash fall on soil that must not see light" in full.text
    assert "[judgement: findhold-judgement]" in full.text


def test_json_has_first_aid_order_and_controls(findhold, sherd):
    shape = findhold("plan", sherd(old='"imaging"', new='"lipid"'), "--json").json
    assert [line["topic"] for line in shape["first_aid"]] == ["keep", "container", "wash", "decide"]
    assert [step["name"] for step in shape["order"]["steps"]][-2:] == ["soil controls", "lipid"]
    assert {control["kind"] for control in shape["controls"]} == {"soil control", "blank"}
    assert {conflict["kind"] for conflict in shape["conflicts"]} >= {"contact", "parts"}


def test_contradictory_dates_stop_the_plan_until_a_named_person_lets_them(findhold, sherd):
    dates = '\n[dates]\n"X-ray" = 2026-08-03T10:00:00+01:00\n"TL" = 2026-08-06T10:00:00+01:00\n'
    scenario = sherd(more=dates)
    stopped = findhold("plan", scenario)
    assert stopped.code == 1
    assert "STOP CT or X-ray and luminescence" in stopped.text
    word = ("--override", "CT:OSL", "--person", "R. Ashdown", "--reason", "a second sherd was never scanned")
    settled = findhold("plan", scenario, *word)
    assert settled.code == 0
    assert "settled by R. Ashdown" in settled.text


def test_an_override_of_a_scenario_wants_a_reason(findhold, sherd):
    refused = findhold("plan", sherd(), "--override", "tissue:lipid", "--person", "R. Ashdown")
    assert refused.code == 2
    assert "named person with a reason" in refused.text


def test_what_was_done_already_is_weighed(findhold, sherd):
    told = findhold("plan", sherd(old='parts = ["charred crust"]', new='done = ["washed"]'))
    assert told.code == 1
    assert "STOP washing and luminescence" in told.text


def test_a_circle_that_specialists_ask_for_is_a_question(findhold, sherd):
    told = findhold("plan", sherd(old='parts = ["charred crust"]', new='order = ["X-ray before TL"]'))
    assert "closes a circle" in told.text
    assert "order luminescence, photographs, condition note, CT or X-ray" in told.text


@pytest.mark.parametrize(
    ("new", "words"),
    [
        ('parts = ["charred crusts"]', "charred crust"),
        ('parts = "charred crust"', "is not a list of texts"),
        ('done = ["washd"]', "washed"),
        ('order = ["X-ray, TL"]', "one before another"),
        ('order = ["X-ray before TLL"]', "no analysis, act or step called 'TLL'"),
        ('parts = [""]', "is not a list of texts"),
    ],
)
def test_bad_parts_acts_and_orders_exit_with_two_and_say_what_to_mend(findhold, sherd, new, words):
    told = findhold("plan", sherd(old='parts = ["charred crust"]', new=new))
    assert told.code == 2
    assert words in told.text


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ('\n[dates]\n"X-rray" = 2026-08-03T10:00:00+01:00\n', "no analysis, act or step called 'X-rray'"),
        ('\n[dates]\n"X-ray" = 2026-08-03T10:00:00\n', "has no zone"),
        ('\n[dates]\n"X-ray" = "soon"\n', "is not a date and time"),
    ],
)
def test_bad_dates_exit_with_two_and_say_what_to_mend(findhold, sherd, more, words):
    told = findhold("plan", sherd(more=more))
    assert told.code == 2
    assert words in told.text


@pytest.mark.parametrize(
    ("find", "keep", "container", "parts", "order"),
    [
        (
            "37",
            "Keep it damp",
            "own soil block",
            ["crust-on-pot"],
            ["opening", "soil controls", "lipid", "radiocarbon"],
        ),
        ("41", "Keep it wet", "under water", [], []),
        ("42", "Keep it wet", "least water", [], []),
        ("44", "Keep it damp", "X-ray first", ["iron-with-mineral-organics"], ["imaging", "opening", "XRF"]),
        ("45", "Keep it dry", "silica gel", [], ["XRF"]),
        ("48", "Keep it damp", "foam bed", [], []),
        ("52", "Keep it damp", "nothing fibrous", ["glass-with-thread"], ["opening", "XRF"]),
        ("55", "Keep it damp", "contents in", ["urn-with-human-bone"], ["opening", "emptying", "radiocarbon"]),
    ],
)
def test_each_find_of_the_demo_is_told_what_a_conservator_would_say(
    findhold, withy_carr, find, keep, container, parts, order
):
    """Tables first_aid, composites and order_rules, find by find; a date wants foil between find and tissue."""
    barrier = ("--barrier", "aluminium foil") if "radiocarbon" in order else ()
    shape = findhold("plan", find, *barrier, "--dry-run", "--json").json
    aid = {line["topic"]: line["what"] for line in shape["first_aid"]}
    assert aid["keep"].startswith(keep)
    assert container in aid["container"]
    assert "wash" in aid["wash"]
    assert [one["analysis"] for one in shape["conflicts"] if one["kind"] == "parts"] == parts
    done = [step["name"] for step in shape["order"]["steps"] if step["name"] not in ("photographs", "condition note")]
    assert done == order
    assert shape["can_pack"]
