"""People, duty and stock changed at the pages, by the API and by command: one event, its person, its history."""

import re

import pytest
from conftest_web import make_browser

from findhold.errors import BadInput, UnknownName
from findhold.service.changing import CHANGEABLE, ChangeRequest, change_thing, newest_changes, thing_told
from findhold.service.office import office
from findhold.service.settings import settings_file


def changed(ledger, kind, name, fields, person="Marian Holt", **more):
    with office(str(ledger), person=person) as desk:
        return change_thing(desk, ChangeRequest(kind=kind, name=name, fields=fields, **more))


def facts(ledger, kind, name):
    with office(str(ledger), read_only=True) as desk:
        return desk.ledger.state(f"{kind}/unit/{name}").facts


def events(ledger):
    with office(str(ledger), read_only=True) as desk:
        return desk.ledger.head()[0]


def words(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.text).split())


def form_of(browser, path):
    """The fields of a page's form as they stand."""
    text = browser.get(path).text
    return {
        found["name"]: found["value"]
        for found in re.finditer(r'<input[^>]*name="(?P<name>[^"]+)"[^>]*value="(?P<value>[^"]*)"', text)
        if found["name"] != "_token"
    }


def test_a_change_is_one_event_with_its_person_and_both_values(planned):
    before = events(planned)
    told = changed(planned, "box", "F vessel", {"count": "7"}, person="Idris Penhale", reason="counted")
    assert told["changes"] == [{"field": "count", "label": "In stock", "before": 5, "after": 7}]
    assert (told["person"], told["recorded"]) == ("Idris Penhale", True)
    assert facts(planned, "box", "F vessel")["count"] == 7
    assert events(planned) == before + 1
    with office(str(planned), read_only=True) as desk:
        newest = newest_changes(desk)[0]
        assert (newest.person, newest.kind, newest.name) == ("Idris Penhale", "box", "F vessel")
        assert newest.words == "corrected: count 7 (counted)"


def test_what_stands_so_already_is_not_recorded_again(planned):
    before = events(planned)
    assert changed(planned, "box", "F vessel", {"count": "5"})["recorded"] is False
    assert events(planned) == before


def test_an_emptied_field_stands_empty(planned):
    changed(planned, "person", "Idris Penhale", {"phone": ""})
    assert facts(planned, "person", "Idris Penhale")["phone"] is None


def test_duty_holders_are_people_of_the_list_in_its_spelling(planned):
    changed(planned, "store", "Fridge 1", {"duty_holder": "ip, marian holt"})
    assert facts(planned, "store", "Fridge 1")["duty_holder"] == "Idris Penhale, Marian Holt"
    with pytest.raises(UnknownName, match="Idris Penhale"):
        changed(planned, "store", "Fridge 1", {"duty_holder": "Idris Penhal"})


@pytest.mark.parametrize(
    ("kind", "name", "fields"),
    [
        ("box", "F vessel", {"count": "-1"}),
        ("box", "F vessel", {"count": "a few"}),
        ("box", "F vessel", {"inside_l_mm": "400"}),
        ("box", "F vessels", {"count": "1"}),
        ("find", "37", {"what": "pot"}),
        ("person", "Idris Penhale", {"weekdays": "Mon, Blursday"}),
        ("person", "Idris Penhale", {"away_from": "2026-08-10", "away_to": "2026-08-01"}),
        ("person", "Idris Penhale", {}),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_recorded(planned, kind, name, fields):
    before = events(planned)
    with pytest.raises(BadInput) as refused:
        changed(planned, kind, name, fields)
    assert refused.value.do
    assert events(planned) == before


def test_what_somebody_else_changed_since_is_not_overwritten(planned):
    browser = make_browser(planned)
    browser.sign_in()
    form = form_of(browser, "/settings/box/F%20vessel")
    changed(planned, "box", "F vessel", {"count": "3"}, person="Idris Penhale")
    answer = browser.post("/settings/box/F%20vessel", {**form, "count": "9"})
    assert answer.status_code == 422
    assert "In stock was changed by somebody else: it is 3 now" in words(answer)
    assert facts(planned, "box", "F vessel")["count"] == 3


def test_a_form_sent_twice_changes_once_and_its_page_tells_the_change(planned):
    browser = make_browser(planned)
    browser.sign_in()
    form = form_of(browser, "/settings/person/Idris%20Penhale") | {"phone": "01632 960777"}
    before = events(planned)
    for _ in range(2):
        page = browser.post("/settings/person/Idris%20Penhale", form)
    assert events(planned) == before + 1
    assert "Recorded, with your name and the time." in words(page).replace(" ,", ",")
    assert "corrected: phone 01632 960777" in words(page)
    assert "01632 960777" in words(browser.get("/settings"))


def test_what_the_settings_file_says_is_told_beside_the_field(planned):
    settings_file().parent.mkdir(parents=True, exist_ok=True)
    settings_file().write_text('[duty]\n"Fridge 1" = "Idris Penhale"\n', encoding="utf-8")
    with office(str(planned), read_only=True) as desk:
        field = thing_told(desk, "store", "Fridge 1").fields[0]
    assert field.settings_say == '[duty] "Fridge 1" = Idris Penhale'


def test_figures_set_in_the_file_are_told_apart_from_those_built_in(planned):
    settings_file().parent.mkdir(parents=True, exist_ok=True)
    settings_file().write_text("[policy]\npolicy_days = 10\n", encoding="utf-8")
    browser = make_browser(planned)
    browser.sign_in()
    page = words(browser.get("/settings"))
    assert "longest hold from first exposure 10 set by the unit" in page
    assert page.count("set by the unit") == 1


def test_every_field_that_may_be_changed_is_one_of_the_register():
    from findhold.register.kinds import KINDS

    for kind, names in CHANGEABLE.items():
        assert set(names) <= set(KINDS[kind].fields), kind
        assert not set(names) & set(KINDS[kind].key), kind
