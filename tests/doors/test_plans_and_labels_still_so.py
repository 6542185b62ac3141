"""A plan or labels made for other facts than those that stand now say so wherever they are shown."""

import html
import json
import re
import uuid

import pytest

from findhold.service.office import office


def told(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.text).replace("&#39;", "'").split())


def hold(ledger):
    with office(str(ledger), read_only=True) as desk:
        return next(one.facts for one in desk.ledger.states("hold") if one.facts["find"] == "37")


def tick(browser, step, **words):
    return browser.api("POST", "/bench/packs/37/ticks", {"step": step, **words}, key=str(uuid.uuid4()))


AGAIN = "Planned for other measures: length 420 mm, planned for 230 mm. Plan it again."


@pytest.fixture
def too_long(browser):
    """Find 37 recorded at the bench as longer than any box."""
    answer = browser.post("/pack/37/plan", {"length_mm": "420", "_key": str(uuid.uuid4())})
    assert "No box was planned" in told(answer)
    return browser


def test_measures_that_fit_no_box_close_the_steps_of_the_old_plan_everywhere(too_long, findhold, planned):
    page = too_long.get("/pack/37")
    assert AGAIN in told(page)
    buttons = re.findall(r'<button class="tick-button"[^>]*>', page.text)
    assert buttons
    assert all(" disabled" in button for button in buttons)
    assert AGAIN in told(too_long.get("/finds/37"))
    assert "Planned for other measures: plan again 37" in told(too_long.get("/"))
    assert "plan again" in told(too_long.get("/pack"))
    assert AGAIN in findhold("show", "37", "--ledger", planned).text


def test_a_step_done_after_that_is_refused_and_one_done_before_is_kept(too_long, planned):
    steps = too_long.api("GET", "/bench/packs/37").json()
    assert steps["outdated"] == AGAIN
    refused = tick(too_long, steps["steps"][0]["code"])
    assert refused.status_code == 422
    assert "length 420 mm" in str(refused.json())
    assert tick(too_long, steps["steps"][0]["code"], at="2026-08-01T09:00:00+01:00").status_code == 200


def test_the_old_measures_or_a_new_plan_take_it_back(too_long, planned):
    too_long.post("/pack/37/plan", {"length_mm": "230", "_key": str(uuid.uuid4())})
    page = too_long.get("/pack/37")
    assert "Planned for other" not in told(page)
    assert "Planned for other" not in told(too_long.get("/"))
    assert hold(planned)["rests_on"]["length_mm"] == 230


def test_an_import_that_changes_a_fact_is_told_and_one_that_does_not_is_not(browser, planned):
    assert "Planned for other" not in told(browser.get("/pack/37"))
    browser.post("/pack/37/plan", {"with_analyses": "yes", "analysis-lipid": "yes", "_key": str(uuid.uuid4())})
    assert "Planned for other" not in told(browser.get("/finds/37"))


def test_labels_printed_before_a_move_say_print_again(browser, planned):
    browser.post("/finds/37/labels", {"_key": str(uuid.uuid4())})
    assert "print again" not in told(browser.get("/pack/37"))
    with office(str(planned), person="Marian Holt") as desk:
        other = next(one.number for one in desk.ledger.states("store") if one.number != "Fridge 1")
    browser.post("/pack/37/shelve", {"store": other, "_key": str(uuid.uuid4())})
    for path in ("/pack/37", "/finds/37"):
        page = told(browser.get(path))
        assert "Store or date changed since its labels were printed: print again" in page
        assert f"it stands in {other}, they say Fridge 1" in page
    browser.post("/finds/37/labels", {"_key": str(uuid.uuid4())})
    assert "print again" not in told(browser.get("/pack/37"))


def test_a_packing_date_set_at_the_bench_stays_when_its_box_is_planned_anew(browser, planned, findhold):
    words = {"at": "2026-07-30T18:00", "reason_packed": "the notebook says so", "_key": str(uuid.uuid4())}
    browser.post("/pack/37/packed", words)
    assert findhold("plan", "37", "--ledger", planned).code in (0, 1)
    assert hold(planned)["packed_at"] == "2026-07-30T18:00:00+01:00"
    assert hold(planned)["packed_stated"] is True


def test_a_drill_without_words_asks_since_when_and_how_warm_the_room_is(browser, planned):
    page = browser.get("/stores/Fridge 1/drill")
    assert page.status_code == 200
    assert 'name="since"' in page.text
    assert 'name="room"' in page.text
    assert "--since" not in page.text
    wrong = browser.get("/stores/Fridge 1/drill", params={"since": "soon", "room": "19"})
    assert wrong.status_code == 422
    assert 'name="since"' in wrong.text
    made = browser.get("/stores/Fridge 1/drill", params={"since": "2026-08-03T07:00", "room": "19"})
    assert "Do now, in this order" in told(made)


def test_a_box_found_in_another_store_is_put_there_in_two_taps_and_leads_back_to_the_round(browser, planned):
    page = browser.get("/round/Fridge 2", params={"box": hold(planned)["box_id"]})
    assert "/pack/37?store=Fridge+2" in page.text.replace("%20", "+")
    page = browser.get("/pack/37", params={"store": "Fridge 2"})
    assert re.search(r'<option value="Fridge 2" selected>', page.text)
    words = {"store": "Fridge 2", "back": "Fridge 2", "_key": str(uuid.uuid4())}
    assert browser.post("/pack/37/shelve", words).url.path == "/round/Fridge 2"


def test_the_page_itself_says_what_is_ticked_before_its_script_has_asked(browser, planned):
    first = browser.api("GET", "/bench/packs/37").json()["steps"][0]["code"]
    tick(browser, first)
    held = re.search(rf'data-step="{first}"[^>]*data-ticks="([^"]*)"', browser.get("/pack/37").text)
    (one,) = json.loads(html.unescape(held[1]))
    assert one["by"] == "Marian Holt"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"sheets": "0"}, "No sheet and no water lies with it, and it is to be kept damp"),
        ({"length_mm": "23"}, "kg/m³"),
    ],
)
def test_a_try_that_endangers_the_find_says_so(browser, planned, typed, said):
    page = browser.get("/pack/37", params={"try": "yes", **typed}, headers={"x-findhold-part": "try"})
    assert said in told(page)
