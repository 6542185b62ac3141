"""What is seen stands until somebody looks: a weighing without a look, a look without a weighing, at every door."""

import pytest
from test_bench_round import check, holds, told
from test_three_doors import NOW, asked

from findhold.service import office as offices

AT = ("--at", "2026-08-03T08:50:00+01:00")


@pytest.fixture
def here(planned, monkeypatch):
    """The ledger of the pages for the command as well, at the moment of the tests."""
    monkeypatch.setitem(offices.office.__wrapped__.__kwdefaults__, "now", lambda: NOW)
    monkeypatch.setenv("FINDHOLD_LEDGER", str(planned))
    return planned


def test_a_weighing_without_a_look_clears_nothing_that_was_seen(findhold, here):
    for look in ("dry", "mould", "dripping"):
        findhold("weigh", "37", "13.04 kg", "--look", look, "--members", "40", *AT)
        done = findhold("weigh", "37", "13.04 kg", "--members", "40", "--at", "2026-08-03T08:55:00+01:00", "--json")
        assert done.json["look"] == ""
        assert holds(here)["37"]["alarm"] == look
    findhold("weigh", "37", "13.04 kg", "--look", "right", "--members", "40")
    assert holds(here)["37"]["alarm"] == ""


def test_the_api_clears_nothing_either_when_nobody_looked(browser, planned):
    words = {"box": "B1", "mass": "13.04 kg", "members": 40}
    asked("POST", "/weighings", {**words, "look": "mould", "at": "2026-08-03T08:50:00+01:00"})(browser)
    answer = asked("POST", "/weighings", words)(browser)
    assert answer.status_code == 200, answer.text
    assert holds(planned)["37"]["alarm"] == "mould"


def test_a_look_alone_is_recorded_and_answered_by_command_api_and_page(findhold, here, browser):
    typed = findhold("weigh", "37", "--look", "mould", "--members", "40", *AT)
    assert typed.code == 1
    assert "not weighed" in typed.text
    assert "Mould seen, and recorded." in typed.text
    assert holds(here)["37"].get("weighings", []) == []
    answer = asked("POST", "/weighings", {"box": "B1", "look": "dripping", "members": 40})(browser).json()
    assert (answer["verdict"], answer["code"], answer["mass_kg"]) == ("act", "not weighed", None)
    page = check(browser, mass="", look="right")
    assert "Not weighed: its mass is not checked." in told(page)
    assert [row["look"] for row in holds(here)["37"]["looks"]] == ["mould", "dripping", "right"]
    assert holds(here)["37"]["alarm"] == ""


def test_neither_mass_nor_look_is_refused_and_nothing_is_recorded(findhold, here):
    refused = findhold("weigh", "37", "--json")
    assert refused.code not in (0, 1)
    assert "neither a mass nor what was seen" in refused.json["error"]["wrong"]
    opened = findhold("weigh", "37", "--look", "right", "--opened", "--json")
    assert "opened or given water" in opened.json["error"]["wrong"]
    assert not holds(here)["37"].get("looks")


def test_a_mass_judged_wrong_is_in_doubt_until_a_second_weighing_bears_it_out(findhold, here):
    weigh = ("--members", "40", "--wiped", "--at")
    findhold("weigh", "37", "13.04 kg", *weigh, "2026-08-03T08:00:00+01:00")
    findhold("weigh", "37", "12.90 kg", *weigh, "2026-08-03T08:20:00+01:00")
    assert holds(here)["37"]["mass_wrong"] == "2026-08-03T08:20:00+01:00"
    findhold("weigh", "37", "12.90 kg", *weigh, "2026-08-03T08:40:00+01:00")
    assert "mass_wrong" not in holds(here)["37"]
