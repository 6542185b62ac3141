"""People, duty and stock changed at the pages, by the API and by command: one event, its person, its history."""

import re

import pytest
from conftest_web import make_browser

from findhold.errors import BadInput, UnknownName
from findhold.service.changing import CHANGEABLE, ChangeRequest, change_thing, newest_changes, thing_told
from findhold.service.office import office
from findhold.service.rounds.chosen import read_calendar
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
    values = {"before": 5, "after": 7, "says": "7, before 5"}
    assert told["changes"] == [{"field": "count", "label": "In stock", **values}]
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


@pytest.mark.parametrize("text", ["ask Marian", "12", "01632 960142; mobile", "office 01632 960142", "1" * 21, "+"])
def test_what_is_no_telephone_number_is_refused_with_what_one_is(planned, text):
    with pytest.raises(BadInput, match="is no telephone number") as told:
        changed(planned, "person", "Idris Penhale", {"phone": text})
    assert "3 to 20 digits" in told.value.sentence()
    assert facts(planned, "person", "Idris Penhale")["phone"] == "07700 900142"


@pytest.mark.parametrize("text", ["999", "+44 (0)1632 960142", "01632-960142 ext. 12", "01632 960142 ext 7"])
def test_telephone_numbers_stand_as_typed(planned, text):
    changed(planned, "person", "Idris Penhale", {"phone": text})
    assert facts(planned, "person", "Idris Penhale")["phone"] == text


def test_an_import_refuses_a_telephone_number_that_is_none(planned, findhold, tmp_path):
    file = tmp_path / "people.csv"
    file.write_text("Name,Initials,Job,Telephone\nAda Crane,AC,digger,in the hut\n", encoding="utf-8")
    answer = findhold("import", file, "--ledger", planned)
    assert answer.code != 0
    assert "is no telephone number" in answer.text


def test_the_settings_file_is_held_to_the_same_numbers(planned):
    settings_file().parent.mkdir(parents=True, exist_ok=True)
    settings_file().write_text('[people."Idris Penhale"]\nphone = "the hut"\n', encoding="utf-8")
    with pytest.raises(BadInput, match="is no telephone number"):
        read_calendar()


def test_a_duty_holder_without_a_number_is_told_on_settings_and_by_prove_and_due(planned, findhold):
    changed(planned, "person", "Idris Penhale", {"phone": ""})
    changed(planned, "store", "Fridge 1", {"duty_holder": "Idris Penhale"})
    browser = make_browser(planned)
    browser.sign_in()
    line = "Idris Penhale has duty and no telephone number."
    assert line in words(browser.get("/settings"))
    assert line in findhold("prove", planned).text
    assert line in findhold("due", "--ledger", planned).text
    assert line in findhold("due", "--ledger", planned, "--json").json["not_to_be_called"]
    changed(planned, "person", "Idris Penhale", {"phone": "07700 900142"})
    assert line not in findhold("prove", planned).text


def test_a_stock_that_is_rather_a_slip_wants_a_reason(planned):
    with pytest.raises(BadInput, match="far more than"):
        changed(planned, "box", "F vessel", {"count": "99999"})
    with office(str(planned), person="Marian Holt") as desk:
        fields = {"count": "99999"}
        request = ChangeRequest(kind="box", name="F vessel", fields=fields, reason="a whole lorry came")
        assert change_thing(desk, request)["recorded"]
