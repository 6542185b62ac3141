"""Packing by plain forms and by the API: steps, undoing, photographs, the first weighing, the shelf, what if."""

import io
import json
import re

import pytest
from conftest_web import NOW, make_browser
from PIL import Image

from findhold.service.bench import packing, trying
from findhold.service.bench.clock import DeviceClock, moment
from findhold.service.bench.codes import place_text, read_code, read_place
from findhold.service.office import office


def told(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.text).replace("&#39;", "'").split())


def hold(ledger, find="37"):
    with office(str(ledger), read_only=True) as desk:
        return next(one.facts for one in desk.ledger.states("hold") if one.facts["find"] == find)


def words_of(ledger, start):
    """Words of the events of the hold of find 37 that begin so."""
    with office(str(ledger), read_only=True) as desk:
        return [event.word for event in desk.ledger.story("hold/WCR26/B1") if event.word.startswith(start)]


def steps(browser):
    return browser.api("GET", "/bench/packs/37").json()["steps"]


def picture(size=(64, 48), colour="white"):
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, "JPEG")
    return out.getvalue()


def key(number):
    return f"7d444840-9dc0-41d5-8d3f-{number:012d}"


def test_a_find_is_taken_to_the_bench_by_its_number_or_its_label(browser):
    assert "jar, hand-made" in told(browser.get("/pack"))
    assert browser.post("/pack", {"find": "37"}).url.path == "/pack/37"
    assert browser.post("/pack", {"find": "WCR26-B1-U"}).url.path == "/pack/37"
    assert "there is no find called" in told(browser.post("/pack", {"find": "999"})).lower()


def test_steps_have_pictures_and_are_ticked_with_person_and_time(browser, planned):
    page = browser.get("/pack/37")
    assert page.text.count('class="step-picture"') >= 5
    first = steps(browser)[0]
    answer = browser.post("/pack/37/tick", {"step": first["code"], "_key": key(1)})
    assert answer.url.path == "/pack/37"
    assert "1 of " in told(answer)
    assert "Marian Holt, Mon 3 Aug 09:00" in told(answer)
    assert [tick["tick"] for tick in hold(planned)["ticks"]] == [key(1)]


def test_every_time_on_a_page_is_by_the_clock_of_the_site(browser, planned):
    first = steps(browser)[0]["code"]
    words = {"step": first, "at": "2026-08-03T07:51:00+00:00", "device": "tablet"}
    assert browser.api("POST", "/bench/packs/37/ticks", words, key=key(1)).status_code == 200
    page = browser.get("/pack/37")
    assert "Marian Holt, Mon 3 Aug 08:51" in told(page)
    assert 'name="findhold-zone" content="Europe/London"' in page.text
    for path in ("/", "/pack/37", "/finds/37", "/stores/Fridge 1", "/round/Fridge 1", "/closures"):
        assert not re.search(r"\d\d:\d\d UTC", told(browser.get(path))), path


def test_a_tick_is_recorded_once_for_a_person_and_beside_another_for_two(browser, planned):
    first = steps(browser)[0]["code"]
    other = make_browser(planned)
    other.sign_in("Idris Penhale")
    for number, one in enumerate((browser, browser, other)):
        assert one.api("POST", "/bench/packs/37/ticks", {"step": first}, key=key(number)).status_code == 200
    again = browser.api("POST", "/bench/packs/37/ticks", {"step": first}, key=key(7)).json()
    assert again["known_before"] is True
    assert [tick["by"] for tick in hold(planned)["ticks"]] == ["Marian Holt", "Idris Penhale"]
    assert len(words_of(planned, "hold.step")) == 2


def test_undoing_is_an_event_of_its_own_and_both_stay_to_be_read(browser, planned):
    first = steps(browser)[0]["code"]
    tick = browser.api("POST", "/bench/packs/37/ticks", {"step": first}, key=key(1)).json()["tick"]
    answer = browser.post("/pack/37/undo", {"tick": tick, "_key": key(2)})
    assert "taken back by Marian Holt" in told(answer)
    assert steps(browser)[0]["done"] is False
    assert words_of(planned, "hold.step") == ["hold.step.1", "hold.step.undone.1"]
    twice = browser.api("POST", "/bench/packs/37/undo", {"tick": tick}, key=key(3)).json()
    assert twice["known_before"] is True
    browser.api("POST", "/bench/packs/37/ticks", {"step": first}, key=key(4))
    assert steps(browser)[0]["done"] is True


def test_what_was_never_ticked_cannot_be_taken_back_nor_a_step_no_plan_had_be_ticked(browser, planned):
    assert browser.api("POST", "/bench/packs/37/undo", {"tick": "x"}, key=key(1)).status_code == 422
    refused = browser.api("POST", "/bench/packs/37/ticks", {"step": "nothing"}, key=key(2))
    assert "no plan of this box had such a step" in refused.json()["error"]["wrong"]
    assert words_of(planned, "hold.step") == []


def test_a_tick_made_under_an_earlier_plan_is_recorded_and_shown_as_such(browser, planned):
    changed = next(row for row in steps(browser) if row["text"].startswith("Fill the sides"))
    smaller = {"length_mm": "120", "width_mm": "100", "height_mm": "60", "mass_kg": "1.2"}
    assert browser.api("POST", "/bench/packs/37/plan", smaller).json()["recorded"] == ["measures", "plan"]
    assert changed["code"] not in [row["code"] for row in steps(browser)]
    assert browser.api("POST", "/bench/packs/37/ticks", {"step": changed["code"]}, key=key(1)).status_code == 200
    assert "Done under an earlier plan" in told(browser.get("/pack/37"))


def test_the_empty_box_is_weighed_in_its_step_and_a_slip_of_the_unit_is_refused(browser, planned):
    (step,) = [row for row in steps(browser) if row["asks_mass"]]
    wrong = browser.api("POST", "/bench/packs/37/ticks", {"step": step["code"], "mass": "560 kg"}, key=key(1))
    assert wrong.status_code == 422
    assert "the stock list says" in wrong.json()["error"]["limit"]
    right = browser.api("POST", "/bench/packs/37/ticks", {"step": step["code"], "mass": "0,571"}, key=key(2)).json()
    assert right["mass_kg"] == 0.571
    boxes = browser.api("GET", "/bench/rounds/Fridge 1").json()["boxes"]
    assert next(box for box in boxes if box["find"] == "37")["tare_kg"] == 0.571


def test_closing_sets_the_time_of_packing_and_the_first_mass(browser, planned):
    form = {"mass": "13,052", "unit": "kg", "closed": "yes", "reason": "packed anew, damper", "_key": key(1)}
    answer = browser.post("/pack/37/weigh", form)
    assert "First weighing: it sets the mass of the box" in told(answer)
    facts = hold(planned)
    assert facts["packed_at"] == "2026-08-03T09:00:00+01:00"
    assert (facts["packed_stated"], facts["packed_by"]) == (True, "Marian Holt")
    assert facts["weighings"][0]["mass_kg"] == 13.052
    assert facts["forecast"]["packed_at"] == facts["packed_at"]


def test_nothing_is_packed_when_the_mass_cannot_be_one(browser, planned):
    before = hold(planned)["packed_at"]
    form = {"mass": "much", "unit": "kg", "closed": "yes", "reason": "packed anew", "_key": key(1)}
    answer = browser.post("/pack/37/weigh", form)
    assert answer.status_code == 422
    assert 'value="much"' in answer.text
    assert hold(planned)["packed_at"] == before
    assert words_of(planned, "box.") == []


def test_a_stated_packing_date_is_never_moved_by_weighing_alone(browser, planned):
    before = hold(planned)["packed_at"]
    page = browser.get("/pack/37").text
    assert not re.search(r'name="closed" value="yes"[^>]*checked', page)
    assert "Packed Tue 28 Jul 2026, 15:40, as stated" in told(browser.get("/pack/37"))
    refused = browser.post("/pack/37/weigh", {"mass": "13,052", "unit": "kg", "closed": "yes", "_key": key(1)})
    assert refused.status_code == 422
    assert "the packing date would move to now" in told(refused)
    assert words_of(planned, "box.") == []
    browser.post("/pack/37/weigh", {"mass": "13,052", "unit": "kg", "_key": key(2)})
    assert words_of(planned, "box.") == ["box.weighed.1"]
    assert hold(planned)["packed_at"] == before


def test_a_mass_that_can_hardly_be_right_is_asked_about_at_the_bench(browser, planned):
    asked = browser.post("/pack/37/weigh", {"mass": "14,22", "unit": "kg", "_key": key(1)})
    assert asked.status_code == 422
    assert "9% heavier" in told(asked)
    assert words_of(planned, "box.") == []
    form = {"mass": "14,22", "unit": "kg", "sure": "14,22 kg", "why": "a thicker bed", "_key": key(1)}
    assert browser.post("/pack/37/weigh", form).status_code == 200
    assert hold(planned)["weighings"][0]["why"] == "a thicker bed"


def test_a_packing_date_put_right_has_person_and_reason_and_can_be_taken_back(browser, planned):
    before = hold(planned)
    form = {"at": "2026-07-28T14:00", "reason_packed": "the register was wrong", "_key": key(1)}
    answer = browser.post("/pack/37/packed", form)
    assert "Packed Tue 28 Jul 2026, 14:00, Marian Holt (the register was wrong)" in told(answer)
    moved = hold(planned)
    assert (moved["packed_at"], moved["packed_by"]) == ("2026-07-28T14:00:00+01:00", "Marian Holt")
    assert moved["forecast"]["packed_at"] == moved["packed_at"]
    back = browser.post("/pack/37/packed/undo", {"_key": key(2)})
    assert "was taken back by Marian Holt" in told(back)
    after = hold(planned)
    assert after["packed_at"] == before["packed_at"] == after["forecast"]["packed_at"]
    assert "packed_by" not in after
    assert words_of(planned, "box.") == ["box.packed.1", "box.packed.undone.1"]
    again = browser.api("POST", "/bench/packs/37/packed/undo", {}, key=key(3))
    assert again.status_code == 422


@pytest.mark.parametrize("at", ["2026-07-28T09:00", "2026-08-03T10:00", "yesterday"])
def test_a_packing_date_before_exposure_or_after_now_is_refused(browser, planned, at):
    form = {"at": at, "reason_packed": "so it was", "_key": key(1)}
    assert browser.post("/pack/37/packed", form).status_code == 422
    assert words_of(planned, "box.") == []


def test_a_failure_before_the_new_packing_date_counts_when_the_box_stood_in_that_store(browser, planned):
    failure = {"begins": "2026-08-01T08:00:00+01:00", "ends": "2026-08-02T14:00:00+01:00", "room_c": 24}
    answer = browser.api("POST", "/stores/Fridge 2/failures", failure, key=key(1))
    assert answer.status_code == 200, answer.text
    warm = hold(planned, "44")["forecast"]
    assert warm["governing_limit"] == "too warm"
    form = {"mass": "4,09", "unit": "kg", "closed": "yes", "reason": "a better lid", "_key": key(2)}
    assert browser.post("/pack/44/weigh", form).status_code == 200
    facts = hold(planned, "44")
    assert facts["packed_at"] == "2026-08-03T09:00:00+01:00"
    assert facts["stood_since"] == "2026-07-27T15:50:00+01:00"
    assert facts["forecast"]["governing_limit"] == "too warm"
    assert facts["forecast"]["keep_until"] == warm["keep_until"]


def test_a_box_goes_where_it_was_meant_to_without_a_new_forecast(browser, planned):
    answer = browser.post("/pack/37/shelve", {"store": "Fridge 1", "shelf": "2", "_key": key(1)})
    assert "In Fridge 1, shelf 2" in told(answer)
    assert hold(planned)["shelved"]["how"] == "chosen"
    assert words_of(planned, "hold.forecast") == ["hold.forecast.1"]
    assert "37" not in [row["find"] for row in browser.api("GET", "/bench/packs").json()["finds"]]


def test_a_box_put_into_another_store_is_forecast_for_its_air_and_found_there_in_a_round(browser, planned):
    said = browser.api("POST", "/bench/packs/37/shelve", {"place": "STORE Fridge 2\nSHELF 3", "scanned": True}).json()
    assert (said["store"], said["shelf"], said["meant_for"], said["elsewhere"]) == ("Fridge 2", "3", "Fridge 1", True)
    assert words_of(planned, "hold.forecast") == ["hold.forecast.1", "hold.forecast.1"]
    there = browser.api("GET", "/bench/rounds/Fridge 2").json()["boxes"]
    assert [box["shelf"] for box in there if box["find"] == "37"] == ["3"]
    assert "37" not in [box["find"] for box in browser.api("GET", "/bench/rounds/Fridge 1").json()["boxes"]]


def test_a_photograph_is_kept_once_without_its_position_and_shown_only_with_its_own_find(browser, planned):
    made = Image.new("RGB", (64, 48), "white")
    details = made.getexif()
    details.get_ifd(0x8825)[1] = "N"
    out = io.BytesIO()
    made.save(out, "JPEG", exif=details)
    for number in (1, 2):
        browser.post(
            "/pack/37/photo", {"about": "TOP", "_key": key(number)}, files={"picture": ("../x.jpg", out.getvalue())}
        )
    (photo,) = hold(planned)["photos"]
    assert (photo["about"], photo["position"]) == ("TOP", "not kept")
    shown = browser.get(f"/pack/37/photos/{photo['sha256']}")
    assert shown.headers["content-type"] == "image/jpeg"
    assert not Image.open(io.BytesIO(shown.content)).getexif().get_ifd(0x8825)
    assert browser.get(f"/pack/44/photos/{photo['sha256']}").status_code == 404
    assert browser.get("/pack/37/photos/..%2F..%2Fwcr26.ledger").status_code == 404


def test_the_position_stays_in_a_photograph_when_somebody_asks_for_it(browser, planned):
    made = Image.new("RGB", (64, 48), "white")
    details = made.getexif()
    details.get_ifd(0x8825)[1] = "N"
    out = io.BytesIO()
    made.save(out, "JPEG", exif=details)
    words = {"box": "B1", "about": "in the trench", "keep_details": True}
    files = {"picture": ("x.jpg", out.getvalue(), "image/jpeg")}
    said = browser.api("POST", "/bench/photos", data={"words": json.dumps(words)}, files=files, key=key(1)).json()
    assert said["position"] == "kept"


def test_a_ledger_proves_whole_after_packing_and_misses_a_photograph_that_was_taken_away(browser, planned, findhold):
    browser.post("/pack/37/photo", {"about": "TOP", "_key": key(1)}, files={"picture": ("x.jpg", picture())})
    assert findhold("prove").code == 0
    (photo,) = hold(planned)["photos"]
    (planned.parent / photo["kept_as"]).unlink()
    assert findhold("prove").code == 1


def test_what_if_tells_what_would_change_and_records_nothing(browser, planned):
    before = hold(planned)["plan"]["box"]
    page = browser.get("/pack/37?try=yes&length_mm=300&wrapping=cotton wool")
    assert "It would be" in told(page)
    assert "instead of" in told(page)
    part = browser.get("/pack/37?try=yes&length_mm=300", headers={"x-findhold-part": "try"})
    assert "<html" not in part.text
    assert "as tried, not recorded" in part.text
    assert hold(planned)["plan"]["box"] == before
    assert words_of(planned, "hold.planned") == ["hold.planned.1"]


def test_what_cannot_be_is_told_all_at_once(browser):
    refused = browser.api("POST", "/bench/packs/37/try", {"length_mm": "-3", "mass_kg": "heavy", "sheets": "2.5e9"})
    assert [row["column"] for row in refused.json()["error"]["mistakes"]] == ["length", "mass", "sheets"]


def test_a_figure_that_cannot_be_is_told_in_whole_sentences_and_for_a_form(browser):
    page = told(browser.get("/pack/37?try=yes&length_mm=-3"))
    assert "“-3” is no figure that it can have. Allowed: above 0, up to 5000 mm." in page
    assert "command again" not in page


def test_what_is_wrong_is_told_beside_the_form_it_is_about(browser):
    refused = browser.post("/pack/37/photo", {"about": "TOP", "_key": key(1)}, files={"picture": ("x.jpg", b"none")})
    assert refused.status_code == 422
    assert refused.text.count('class="trouble"') == 1
    assert (
        refused.text.index('id="photos-head"')
        < refused.text.index('class="trouble"')
        < refused.text.index('id="labels"')
    )


def test_boxes_packed_already_are_not_listed_to_pack_and_an_unknown_number_lists_no_long_list(browser):
    page = told(browser.get("/pack"))
    assert "Packed already; say here where they stand" in page
    assert "To pack" not in page.replace("No box planned yet", "")
    refused = told(browser.post("/pack", {"find": "999"}))
    assert "Read the number again" in refused
    assert "WCR26-B1-U, WCR26-B2-S" not in refused


def test_saving_records_the_measures_and_plans_and_forecasts_anew(browser, planned):
    form = {"length_mm": "240", "width_mm": "210", "height_mm": "140", "mass_kg": "12,5", "_key": key(1)}
    answer = browser.post("/pack/37/plan", form)
    assert "Recorded: measures, plan" in told(answer)
    facts = hold(planned)
    assert facts["plan"]["block_mm"] == [240.0, 210.0, 140.0]
    assert facts["forecast"] is not None
    assert facts["plan"]["barrier"] == "aluminium foil", "what was settled before stays settled"


def test_the_number_of_sheets_is_kept_with_the_plan(browser, planned):
    browser.api("POST", "/bench/packs/37/plan", {"sheets": "5"})
    assert hold(planned)["plan"]["sheets"] == 5
    with office(str(planned), person="Marian Holt", now=lambda: NOW) as desk:
        assert trying.try_plan(desk, trying.TryRequest(find="37")).shape["sheets"] == 5


def test_analyses_set_at_the_bench_are_a_correction_of_the_register(browser, planned):
    form = {"with_analyses": "yes", "analysis-lipid": "yes", "_key": key(1)}
    browser.post("/pack/37/plan", form)
    with office(str(planned), read_only=True) as desk:
        find = desk.ledger.state("find/WCR26/37")
        assert find.facts["analyses"] == ["lipid"]
        assert desk.ledger.story("find/WCR26/37")[-1].body["reason"] == "set at the bench"


def test_a_scan_is_measured_and_a_question_about_it_is_asked_on_the_page(browser, planned):
    corners = [(x, y, z) for x in (0, 23) for y in (0, 21) for z in (0, 14)]
    faces = ["1 2 4 3", "5 7 8 6", "1 5 6 2", "3 4 8 7", "1 3 7 5", "2 6 8 4"]
    text = "".join(f"v {x} {y} {z}\n" for x, y, z in corners) + "".join(f"f {face}\n" for face in faces)
    send = {"scan": ("block.obj", text.encode())}
    asked = browser.post("/pack/37/scan", {"_key": key(1)}, files=send)
    assert asked.status_code == 422
    assert "Which unit is it in" in told(asked)
    assert 'name="units"' in asked.text
    done = browser.post("/pack/37/scan", {"_key": key(2), "units": "cm"}, files=send)
    assert done.status_code == 200, told(done)
    with office(str(planned), read_only=True) as desk:
        assert desk.ledger.state("find/WCR26/37").facts["length_mm"] == pytest.approx(230.0)


def test_the_code_of_a_store_is_read_back_as_that_store(planned):
    with office(str(planned), read_only=True) as desk:
        place = read_place(desk, place_text("Fridge 2", "top"))
        assert (place.store, place.shelf) == ("Fridge 2", "top")
        assert read_code(desk, place_text("Cool room")).store == "Cool room"
        assert read_code(desk, "37").box_id == "WCR26-B1-U"


def test_another_person_cannot_send_what_somebody_else_did(browser, planned):
    words = {"step": steps(browser)[0]["code"], "at": "2026-08-03T08:00:00+01:00", "person": "Idris Penhale"}
    refused = browser.api("POST", "/bench/packs/37/ticks", words, key=key(1))
    assert refused.status_code == 403
    assert refused.json()["error"]["where"] == "person"
    assert words_of(planned, "hold.step") == []


@pytest.mark.parametrize(
    ("now_at", "at", "ahead_s", "right"),
    [
        ("2026-08-03T09:00:00+01:00", "2026-08-03T08:00:00+01:00", 0, False),
        ("2026-08-03T09:01:00+01:00", "2026-08-03T08:00:00+01:00", 0, False),
        ("2026-08-03T11:00:00+01:00", "2026-08-03T08:00:00+01:00", 7200, True),
        ("2026-08-03T08:30:00Z", "2026-08-03T08:30:00+01:00", 1800, True),
    ],
)
def test_a_device_whose_clock_is_off_is_put_right_by_as_much(planned, now_at, at, ahead_s, right):
    with office(str(planned), person="Marian Holt", now=lambda: NOW) as desk:
        found = moment(desk, DeviceClock(seen_at="2026-08-03T10:00:00+01:00", now_at=now_at, device="tablet"))
        early = moment(desk, DeviceClock(seen_at=at, now_at=now_at, device="tablet"))
    assert early.clock["ahead_s"] == ahead_s
    assert early.clock["put_right"] is right
    if right:
        assert (found.at - early.at).total_seconds() > 0
        assert early.at.isoformat() != at


def test_a_step_keeps_its_name_when_its_number_changes():
    assert packing.step_code("Lay a plank") == packing.step_code("Lay a plank")
    assert packing.step_code("Lay a plank") != packing.step_code("Lay a board")
