"""Options beside a scenario file are obeyed or refused, never passed over; a file of the wrong kind is named."""

from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
SCENARIO = EXAMPLES / "worked-box.toml"


@pytest.mark.parametrize(
    ("option", "value", "key"),
    [
        ("--box", "B small block", "stock under [box]"),
        ("--barrier", "aluminium foil", "barrier under [wrapping]"),
        ("--wrapping", "polyester fabric", "material under [wrapping]"),
        ("--packed-at", "2026-07-29T16:30+01:00", "packed_at under [hold]"),
    ],
)
def test_an_option_that_the_file_answers_is_refused_with_its_key(findhold, option, value, key):
    done = findhold("plan", SCENARIO, option, value)
    assert done.code == 2
    assert option in done.text
    assert key in done.text


@pytest.mark.parametrize("options", [("--all",), ("--site", "WCR26"), ("--packed-at", "2026-07-29T16:30+01:00")])
def test_keep_refuses_what_a_scenario_cannot_heed(findhold, options):
    done = findhold("keep", SCENARIO, *options)
    assert done.code == 2
    assert options[0] in done.text


def test_of_a_scenario_one_folder_takes_the_drawings_and_two_are_refused(findhold, tmp_path):
    done = findhold("plan", SCENARIO, "--out", tmp_path / "a", "--drawings", tmp_path / "b")
    assert done.code == 2
    assert "--out and --drawings both make the drawings" in done.text
    assert not any(tmp_path.glob("[ab]/*"))
    alone = findhold("plan", SCENARIO, "--out", tmp_path / "a", "--json")
    assert alone.json["files"]
    assert {Path(file).parent for file in alone.json["files"]} == {tmp_path / "a"}


@pytest.mark.parametrize("command", ["plan", "keep"])
def test_a_crates_file_is_named_as_one_in_a_single_line(findhold, command):
    done = findhold(command, EXAMPLES / "shared-box.toml")
    assert done.code == 2
    assert "this is a crates file" in done.text
    assert "findhold plan --crates" in done.text
    assert len(done.err.splitlines()) == 1


def test_a_scenario_given_as_a_crates_file_is_named_as_one(findhold):
    done = findhold("plan", "--crates", SCENARIO)
    assert done.code == 2
    assert "this is a scenario of one find" in done.text
    assert len(done.err.splitlines()) == 1
