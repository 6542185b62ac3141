"""Moving boxes and a store that fails, through the command line: suggestions, refusals, records, the drill's sheet."""

import shutil
from pathlib import Path

import pytest
from pypdf import PdfReader

from findhold.service.storekeeping import drill_sheet

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"
OFF = ("--off", "Fridge 2", "--since", "2026-08-01T21:00+01:00", "--room", 19, "--at", "2026-08-01T22:00+01:00")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Where the ledger of this module stands once it is made."""
    return tmp_path_factory.mktemp("made") / "wcr26.ledger"


@pytest.fixture
def kept(findhold, made, tmp_path, monkeypatch, request):
    """Withy Carr with shelves and boxes forecast: 44, 45, 48 in Fridge 2, 42 in Fridge 1, 55 in the cool room."""
    if not made.exists():
        begun = request.getfixturevalue("withy_carr")
        assert findhold("import", DEMO / "shelves.csv").code == 0
        for words in (("plan", "42", "44", "45", "48"), ("plan", "55", "--barrier", "polyethylene film")):
            done = findhold(*words)
            assert done.code in (0, 1), done.text
        done = findhold("keep", "42", "44", "45", "48", "55")
        assert done.code in (0, 1), done.text
        shutil.copyfile(begun, made)
    ledger = tmp_path / "wcr26.ledger"
    shutil.copyfile(made, ledger)
    monkeypatch.setenv("FINDHOLD_LEDGER", str(ledger))
    return ledger


def events(findhold, ledger):
    return findhold("prove", ledger, "--json").json["events"]


def hold(findhold, find):
    return findhold("show", find, "--json").json["hold"]


def moved(findhold, find, store, shelf, *more, at="2026-08-01T09:00+01:00"):
    return findhold("move", find, "--to", store, "--shelf", shelf, "--at", at, "--members", 40, *more)


def test_places_are_ranked_with_how_long_it_keeps_and_no_place_breaks_a_rule(findhold, kept):
    before = events(findhold, kept)
    done = findhold("move", "48", "--at", "2026-08-01T09:00+01:00", "--json")
    assert done.code == 0, done.text
    places = done.json["open"]
    assert places[0]["store"].startswith("Fridge")
    assert all(rule["severity"] == "advice" for place in places for rule in place["against"])
    untils = [place["keeping"]["until"] for place in places]
    assert untils == sorted(untils, reverse=True) or len({until[:10] for until in untils}) < len(untils)
    shut = {place["place"]: place["against"][0]["rule"] for place in done.json["closed"]}
    assert shut["Cool room, shelf A1"] == "human remains"
    assert events(findhold, kept) == before


def test_a_move_is_recorded_with_its_time_and_the_air_changes_from_then(findhold, kept):
    """Fridge 2 fails at 21:00; the comb moved out at 09:00 the same day never felt it, the knife did."""
    done = moved(findhold, "48", "fridge 1", "2", "--json")
    assert done.code == 0, done.text
    assert (done.json["store"], done.json["recorded"], done.json["against"]) == ("Fridge 1", True, [])
    assert hold(findhold, "48")["shelved"]["at"] == "2026-08-01T09:00:00+01:00"
    told = findhold(
        *("import", "--failure", "Fridge 2", "--from", "2026-08-01T21:00+01:00", "--to", "2026-08-03T21:00+01:00"),
        *("--room", 20, "--json"),
    ).json
    warm = {box["find"]: box["warm_hours"] for box in told["boxes"]}
    assert warm["48"] == 0.0
    assert warm["44"] > 24.0


def test_a_move_told_late_counts_from_its_own_time_and_does_not_undo_a_later_one(findhold, kept):
    findhold("import", "--failure", "Fridge 2", "--from", "2026-08-01T21:00+01:00", "--to", "2026-08-03T21:00+01:00",
             "--room", 20)  # fmt: skip
    spoiled = hold(findhold, "48")["forecast"]["governing_limit"]
    assert spoiled == "too warm"
    assert moved(findhold, "48", "Fridge 1", "2", at="2026-08-03T09:00+01:00").code == 0
    assert hold(findhold, "48")["forecast"]["governing_limit"] == "too warm"
    done = moved(findhold, "48", "Cool room", "A3", "--json", at="2026-08-01T20:00+01:00")
    assert (done.code, done.json["late"]) == (0, True)
    sheet = findhold("show", "48", "--json").json
    assert sheet["facts"]["store"] == "Fridge 1"
    assert (sheet["hold"]["shelved"]["store"], sheet["hold"]["shelved"]["shelf"]) == ("Fridge 1", "2")
    assert sheet["hold"]["forecast"]["governing_limit"] != "too warm"


def test_a_late_move_before_one_whose_store_the_register_had_all_along(findhold, kept):
    assert moved(findhold, "48", "Fridge 2", "2", at="2026-08-01T10:00+01:00").code == 0
    assert moved(findhold, "48", "Fridge 1", "2", at="2026-08-01T08:00+01:00").code == 0
    assert findhold("show", "48", "--json").json["facts"]["store"] == "Fridge 2"
    assert hold(findhold, "48")["shelved"]["store"] == "Fridge 2"


def test_a_rule_stops_a_move_with_reason_and_nearest_place_and_a_named_person_lets_it_pass(findhold, kept):
    assert moved(findhold, "48", "Fridge 1", "2").code == 0
    before = events(findhold, kept)
    done = moved(findhold, "45", "Fridge 1", "2", "--json")
    assert done.code == 1
    assert next(rule["rule"] for rule in done.json["against"]) == "metal"
    assert done.json["nearest"]["store"] == "Fridge 1"
    assert done.json["nearest"]["shelf"] != "2"
    assert events(findhold, kept) == before
    assert moved(findhold, "45", "Fridge 1", "2", "--override", "metal").code == 2
    assert events(findhold, kept) == before
    passed = moved(findhold, "45", "Fridge 1", "2", "--override", "metal", "--reason", "airtight", "--person", "IP")
    assert passed.code == 0, passed.text
    story = " ".join(line["meaning"] for line in findhold("show", "45", "--json").json["story"])
    assert "IP let it pass that metal kept dry never shares a shelf with damp boxes" in story


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("48", "--to", "Fridge 1", "--shelf", "9"), "there is no shelf called '9'"),
        (("48", "--to", "Fridge 1"), "which shelf?"),
        (("48", "--to", "Fridge 3", "--shelf", "1"), "there is no store called 'Fridge 3'"),
        (("99", "--to", "Fridge 1", "--shelf", "1"), "99"),
        (("48", "--to", "Fridge 1", "--shelf", "1", "--at", "2036-08-01T09:00Z"), "has not come yet"),
        (("48", "--to", "Fridge 1", "--shelf", "1", "--at", "yesterday"), "--at"),
        (("48", "--to", "Fridge 1", "--shelf", "1", "--spot", "12,x"), "is no spot"),
        (("48", "--to", "Fridge 1", "--shelf", "1", "--override", "size"), "rule against this move"),
        ((), "which box?"),
        (("48", "--off", "Fridge 2"), "a drill is of a whole store"),
        (("--off", "Fridge 2"), "since when it is off"),
        (("--off", "Fridge 2", "--since", "2026-08-01T21:00+01:00"), "how warm the room"),
        (("--off", "Fridge 3", "--since", "2026-08-01T21:00+01:00", "--room", "19"), "Fridge 3"),
    ],
)
def test_what_cannot_be_right_is_refused_and_nothing_is_recorded(findhold, kept, words, said):
    before = events(findhold, kept)
    done = findhold("move", *words)
    assert done.code == 2, done.text
    assert said in done.text
    assert events(findhold, kept) == before


def test_two_boxes_on_one_spot_and_a_shelf_smaller_than_its_box_are_refused_with_the_figure(findhold, kept):
    assert moved(findhold, "48", "Fridge 1", "2", "--spot", "0,0").code == 0
    done = moved(findhold, "42", "Fridge 1", "2", "--spot", "100,50")
    assert done.code == 1
    assert "on that spot stands the box of find 48" in done.text
    named = moved(findhold, "48", "Fridge 1", "3", "--spot", "left")
    assert named.code == 0, named.text
    assert "on the spot LEFT of shelf 3 stands" in moved(findhold, "42", "Fridge 1", "3", "--spot", "LEFT").text
    # The urn crate is 294 mm high; shelf 2 of Fridge 2 has 250 mm.
    high = moved(findhold, "55", "Fridge 2", "2")
    assert high.code == 1
    assert "the box of 294 mm is 44 mm too high" in high.text
    assert moved(findhold, "55", "Fridge 2", "2", "--override", "size", "--reason", "x", "--person", "y").code == 2


def test_a_box_at_the_cold_plate_is_told_how_much_is_to_be_left_free(findhold, kept):
    """The comb's box is 112 mm deep; 480 - 112 = 368 mm from the front stands against the plate."""
    done = moved(findhold, "48", "Fridge 1", "2", "--spot", "0,368")
    assert done.code == 1
    assert "would stand 0 mm from the cold plate (back): 50 mm are to be left free" in done.text


def test_the_drill_places_every_box_worst_first_and_nobody_twice(findhold, kept, tmp_path):
    before = events(findhold, kept)
    done = findhold("move", *OFF, "--sheet", tmp_path / "off.pdf", "--members", 100, "--json")
    assert done.code == 0, done.text
    told = done.json
    assert next(box["find"] for box in told["boxes"]) == "44"
    assert {box["find"] for box in told["boxes"]} == {"44", "45", "48"}
    assert all(box["place"]["store"] != "Fridge 2" for box in told["boxes"])
    assert told["call_first"]["phone"] == "07700 900142"
    stays = [box["stays_until"] for box in told["boxes"]]
    assert stays == sorted(stays)
    # 5 °C to 19 °C with 6 h: 8 °C after 6 ln(14/11) = 1.447 h.
    assert told["warm_at"].startswith("2026-08-01T22:26")
    assert events(findhold, kept) == before
    words = "".join(page.extract_text() for page in PdfReader(tmp_path / "off.pdf").pages)
    for said in ("Fridge 2", "07700 900142", "B3", "Fridge 1", "When all stand", "initials"):
        assert said in words


def test_a_recorded_failure_needs_no_time_again_and_the_story_has_failure_and_moves(findhold, kept):
    assert findhold("move", *OFF, "--record", "--members", 40).code == 0
    again = findhold("move", "--off", "fridge 2", "--at", "2026-08-01T22:30+01:00", "--members", 40, "--json")
    assert (again.code, again.json["known_before"]) == (0, True)
    place = next(box["place"] for box in again.json["boxes"] if box["find"] == "44")
    assert moved(findhold, "44", place["store"], place["shelf"], at="2026-08-01T22:45+01:00").code == 0
    story = " ".join(line["meaning"] for line in findhold("show", "44", "--json").json["story"])
    assert "Fridge 2 is off since Sat 1 Aug, 21:00" in story
    assert f"put into {place['store']}, shelf {place['shelf']} at 2026-08-01 22:45" in story
    left = findhold("move", "--off", "Fridge 2", "--at", "2026-08-01T23:00+01:00", "--members", 40, "--json").json
    assert "44" not in {box["find"] for box in left["boxes"]}


def test_nowhere_to_go_is_an_answer_with_the_reason_and_the_least_bad_course(findhold, kept, tmp_path):
    for store in ("Fridge 1", "Cool room"):
        done = findhold("import", "--failure", store, "--from", "2026-08-01T21:00+01:00", "--room", 19)
        assert done.code in (0, 1), done.text
    done = findhold("move", *OFF, "--sheet", tmp_path / "off.pdf", "--members", 40, "--json")
    assert done.code == 1
    assert not done.json["all_placed"]
    for box in done.json["boxes"]:
        assert box["place"] is None
        assert any("off, and not back yet" in why for why in box["why_not"])
        assert box["do"]
    assert "Nowhere to go" in PdfReader(tmp_path / "off.pdf").pages[0].extract_text()


def off(room_c, *more, store="Fridge 2"):
    at = ("--since", "2026-08-01T21:00+01:00", "--at", "2026-08-01T22:00+01:00")
    return ("move", "--off", store, *at, "--room", room_c, "--members", 40, "--json", *more)


def test_boxes_stay_where_the_room_is_colder_than_the_other_stores(findhold, kept, tmp_path):
    done = findhold(*off(3, "--sheet", tmp_path / "off.pdf"))
    assert done.code == 0, done.text
    # Fridge 1 is set to 4 °C and the cool room to 7 °C: a box in a room at 3 °C gains nothing by a way.
    assert all(box["place"] is None for box in done.json["boxes"])
    assert all(
        box["leave"].startswith("Stays colder shut: leave it. The room is at 3 °C, ") for box in done.json["boxes"]
    )
    page = PdfReader(tmp_path / "off.pdf").pages[0].extract_text()
    assert "These stay" in page
    assert " kg, planned" in page
    assert "Nowhere to go" not in page


@pytest.mark.parametrize("room_c", [1, 6])  # under the note of frost; warmer than Fridge 1
def test_boxes_are_carried_from_frost_and_from_warmth(findhold, kept, room_c):
    found = findhold(*off(room_c)).json
    assert any(box["place"] is not None for box in found["boxes"])
    assert all(box["place"]["store"] != "Cool room" for box in found["boxes"] if box["place"] and room_c == 6)


def test_the_sheet_numbers_its_rows_in_the_order_to_carry_and_names_two_people(findhold, kept, tmp_path, monkeypatch):
    home = tmp_path / "home"
    home.mkdir(exist_ok=True)
    (home / "settings.toml").write_text("[stores]\nheavy_kg = 3.0\n", encoding="utf-8")
    made = []
    monkeypatch.setattr(drill_sheet, "drill_sheet_pdf", lambda sheet, **_: made.append(sheet) or b"%PDF-")
    told = findhold(*off(19, "--sheet", tmp_path / "off.pdf")).json
    assert [row.rank for row in made[0].rows] == [str(n + 1) for n in range(len(told["boxes"]))]
    heavy = {box["find"] for box in told["boxes"] if box["mass_kg"] >= 3.0}
    assert heavy == {row.find for row in made[0].rows if "2 people" in row.mass}
    assert heavy == {"44"}


def test_a_store_that_failed_not_long_ago_is_told_where_boxes_go_to_it(findhold, kept):
    span = ("--from", "2026-07-31T20:00+01:00", "--to", "2026-08-01T02:00+01:00")
    done = findhold("import", "--failure", "Fridge 1", *span, "--room", 19)
    assert done.code in (0, 1), done.text
    told = findhold(*off(19)).json["failed_lately"]
    assert told == [["Fridge 1", "failed itself until Sat 1 Aug: read it twice, an hour apart"]]


def test_an_osteologist_is_called_for_human_remains(findhold, kept):
    names = [call["name"] for call in findhold(*off(19, store="Cool room")).json["calls"]]
    assert "an osteologist" in names or "Wenna Pascoe" in names
    assert "an osteologist" not in [call["name"] for call in findhold(*off(19)).json["calls"]]
