"""An answer that asks to act names whom to call, with the telephone, and on pages it can be tapped."""

import pytest
from test_bench_round import check
from test_three_doors import NOW

from findhold.service import office as offices
from findhold.service.bench.answer_words import answer_words
from findhold.service.whom_to_call import whom_to_call


@pytest.fixture
def here(planned, monkeypatch):
    monkeypatch.setitem(offices.office.__wrapped__.__kwdefaults__, "now", lambda: NOW)
    monkeypatch.setenv("FINDHOLD_LEDGER", str(planned))
    return planned


def test_a_person_without_a_number_is_said_to_have_none_and_a_job_without_a_person_is_named():
    people = [{"name": "A. Wren", "role": "Conservator"}, {"name": "B. Rook", "role": "duty holder", "phone": "0100 1"}]
    assert whom_to_call(people, ("conservator", "duty")) == [
        "A. Wren, Conservator, no number entered",
        "B. Rook, duty holder, 0100 1",
    ]
    assert whom_to_call([], ("conservator", "analysts"), ("14C",)) == ["the conservator", "the analyst for 14C"]


def test_a_mass_judged_wrong_names_the_conservator_and_a_slip_of_the_unit_nobody(findhold, here):
    with offices.office(str(here), read_only=True) as desk:
        (conservator,) = answer_words(desk)["tell_act"]
    light = findhold("weigh", "37", "7.5 kg", "--members", "40", "--json").json
    assert (light["verdict"], light["tell"]) == ("act", [conservator])
    slip = findhold("weigh", "37", "13040 kg", "--members", "40", "--json").json
    assert (slip["code"], slip["tell"]) == ("unit", [])


def test_the_telephone_can_be_tapped_on_the_page(browser, here):
    page = check(browser, mass="", look="mould")
    with offices.office(str(here), read_only=True) as desk:
        phones = [one.facts["phone"] for one in desk.ledger.states("person") if one.facts.get("phone")]
    assert any(f'<a href="tel:{phone.replace(" ", "")}">{phone}</a>' in page.text for phone in phones)


def test_a_failure_that_asks_for_the_conservator_says_whom_to_call(findhold, here):
    off = ("--from", "2026-08-01T20:00:00+01:00", "--to", "2026-08-03T08:00:00+01:00", "--room", "24")
    done = findhold("import", "--failure", "Fridge 1", *off, "--json").json
    asked = any("conservator" in line for line in (*done["acts"], *(box["do"] for box in done["boxes"])))
    assert asked
    assert done["tell"]
