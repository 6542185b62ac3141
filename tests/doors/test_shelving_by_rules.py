"""A box put away at the bench or from a page: what is against its place is told and kept; what is wrong is refused."""

import uuid

from findhold.service.office import office


def holds(ledger):
    with office(str(ledger), read_only=True) as desk:
        return {hold.facts["find"]: hold.facts for hold in desk.ledger.states("hold")}


def shelved(browser, find, place, shelf):
    answer = browser.api("POST", f"/bench/packs/{find}/shelve", {"place": place, "shelf": shelf})
    assert answer.status_code == 200, answer.text
    return answer.json()


def off(browser):
    """Fridge 2 is off and not back yet."""
    failed = {"begins": "2026-08-03T07:00", "ends": "", "room": "19", "do": "record", "_key": str(uuid.uuid4())}
    assert browser.post("/stores/Fridge%202/failures", failed).status_code == 200


def test_a_box_that_stands_against_a_rule_is_recorded_and_told_with_a_better_place(browser, planned):
    off(browser)
    told = shelved(browser, "37", "Fridge 2", "2")
    assert (told["store"], told["shelf"]) == ("Fridge 2", "2")
    assert told["against"] == ["Fridge 2 is off, and not back yet"]
    assert told["better"].startswith("Fridge 1, shelf")
    assert holds(planned)["37"]["shelved"]["against"] == told["against"]
    page = browser.get("/pack/37").text
    assert "Against the rules: Fridge 2 is off, and not back yet." in page


def test_a_box_in_a_good_place_has_nothing_against_it_and_twice_changes_nothing(browser, planned):
    assert shelved(browser, "44", "Fridge 2", "2")["against"] == []
    again = shelved(browser, "44", "Fridge 2", "2")
    assert again["known_before"]
    assert "against" not in holds(planned)["44"]["shelved"]


def test_a_shelf_that_is_not_entered_is_kept_as_written_for_the_box_stands_there(browser, planned):
    assert shelved(browser, "44", "Fridge 2", "door")["shelf"] == "door"
    assert holds(planned)["44"]["shelved"]["shelf"] == "door"


def test_at_a_page_a_rule_stops_a_move_and_says_where_else(browser, planned):
    off(browser)
    before = holds(planned)
    form = {"find": "37", "store": "Fridge 2", "shelf": "2", "_key": str(uuid.uuid4())}
    page = browser.post("/places", form)
    assert page.status_code == 422
    assert "Nearest good place" in page.text
    assert holds(planned) == before
    rule = {"override": "off", "reason": "an hour only", "_key": str(uuid.uuid4())}
    passed = browser.post("/places", {**form, **rule})
    assert passed.status_code == 200, passed.text
    (one,) = holds(planned)["37"]["shelved"]["overridden"]
    assert (one["rule"], one["person"], one["reason"]) == ("off", "Marian Holt", "an hour only")


def test_a_move_from_the_drill_leads_back_to_it_and_the_box_is_gone_from_it(browser, planned):
    off(browser)
    drill = browser.get("/stores/Fridge%202/drill")
    assert drill.status_code == 200
    assert "B2" in drill.text
    form = {"find": "44", "store": "Fridge 1", "shelf": "2", "back": "Fridge 2", "at": "2026-08-03T08:15"}
    after = browser.post("/places", {**form, "_key": str(uuid.uuid4())})
    assert after.status_code == 200
    assert "No box stands in it any more" in after.text
    assert holds(planned)["44"]["shelved"]["at"] == "2026-08-03T08:15:00+01:00"
    sheet = browser.get("/stores/Fridge%202/drill.pdf")
    assert sheet.status_code == 422
