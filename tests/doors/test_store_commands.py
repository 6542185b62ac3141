"""A fridge that failed, through the command line: its logger read, its failure typed, its boxes, their stories."""

import shutil
from pathlib import Path

import pytest

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"
LOGGER = DEMO / "fridge2_logger.csv"
FAILED = ("--failure", "Fridge 1", "--from", "2026-07-31T20:00+01:00", "--to", "2026-08-02T03:00+01:00", "--room", 19)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    """Where the ledger of this module stands once it is made."""
    return tmp_path_factory.mktemp("made") / "wcr26.ledger"


@pytest.fixture
def kept(findhold, shelf, tmp_path, monkeypatch, request):
    """Withy Carr with boxes planned and forecast: 44, 45 and 48 in Fridge 2, 42 in Fridge 1; a copy for each test."""
    if not shelf.exists():
        made = request.getfixturevalue("withy_carr")
        for words in (("plan", "42", "44", "45", "48"), ("keep", "42", "44", "45", "48")):
            done = findhold(*words)
            assert done.code in (0, 1), done.text
        shutil.copyfile(made, shelf)
    ledger = tmp_path / "wcr26.ledger"
    shutil.copyfile(shelf, ledger)
    monkeypatch.setenv("FINDHOLD_LEDGER", str(ledger))
    return ledger


def events(findhold, ledger):
    return findhold("prove", ledger, "--json").json["events"]


def logged(findhold, *more, file=LOGGER, store="Fridge 2"):
    return findhold("import", "--logger", file, "--store", store, *more)


def part(tmp_path, name, first, last, change=lambda line: line):
    """Some readings of the demo's file as a file of their own; changed ones keep their times."""
    lines = LOGGER.read_text(encoding="utf-8").splitlines()
    file = tmp_path / name
    file.write_text("\n".join([lines[0], *(change(line) for line in lines[first:last])]) + "\n", encoding="utf-8")
    return file


def test_the_failed_fridge_has_its_boxes_forecast_again_worst_first(findhold, kept):
    before = findhold("show", "44", "--json").json["hold"]["forecast"]
    done = logged(findhold, "--json")
    assert done.code == 1, done.text
    told = done.json
    assert (told["store"], told["recorded"], told["all_kept"]) == ("Fridge 2", True, False)
    assert "no cold from Fri 31 Jul, 22:20 to Sun 2 Aug, 05:40" in " ".join(told["what_happened"])
    assert [box["find"] for box in told["boxes"]] == ["44", "48", "45"]
    assert [box["open_by"] for box in told["boxes"]] == sorted(box["open_by"] for box in told["boxes"])
    iron = told["boxes"][0]
    assert iron["was"] == before["keep_until"]
    assert iron["now"] < iron["was"]
    assert (iron["now_limit"], iron["can_keep"]) == ("too warm", False)
    assert 31 < iron["warm_hours"] < 33
    # The pin is dry: warmth does not end its hold.
    assert told["boxes"][2]["was"] == told["boxes"][2]["now"]
    assert "call the conservator" in told["acts"][0]
    now = findhold("show", "44", "--json").json["hold"]["forecast"]
    assert now["keep_until"] == iron["now"]
    assert now["policy"] == before["policy"]


def test_the_growth_limit_moves_with_what_the_logger_saw_and_a_box_elsewhere_does_not(findhold, kept):
    def growth(find):
        limits = findhold("show", find, "--json").json["hold"]["forecast"]["limits"]
        return {item["name"]: item["date_low"] for item in limits}["growth on find"]

    before = {find: growth(find) for find in ("42", "44", "48")}
    logged(findhold)
    after = {find: growth(find) for find in ("42", "44", "48")}
    assert after["42"] == before["42"]
    assert after["44"] < before["44"]
    assert after["48"] < before["48"]


def test_the_text_says_what_happened_which_boxes_and_what_to_do(findhold, kept):
    done = logged(findhold)
    for words in ("It failed", "warmest 22.6 °C", "WCR26-B", "too warm", "call the conservator", "Recorded, with 3"):
        assert words in done.text


def test_the_same_file_twice_changes_nothing_but_is_told_again(findhold, kept):
    first = logged(findhold, "--json").json
    count = events(findhold, kept)
    again = logged(findhold, "--json")
    assert (again.json["recorded"], again.json["known_before"]) == (False, True)
    assert [box["now"] for box in again.json["boxes"]] == [box["now"] for box in first["boxes"]]
    assert [box["was"] for box in again.json["boxes"]] == [box["now"] for box in first["boxes"]]
    assert again.code == 1
    assert events(findhold, kept) == count
    assert "nothing was changed" in logged(findhold).text


def test_the_file_itself_is_kept_beside_the_ledger_under_its_checksum(findhold, kept):
    sha256 = logged(findhold, "--json").json["log"]["sha256"]
    boxed = kept.with_name("wcr26-files") / f"{sha256}.csv"
    assert boxed.read_bytes() == LOGGER.read_bytes()
    assert [file.name for file in boxed.parent.iterdir()] == [boxed.name]


def test_overlapping_files_give_what_the_whole_file_gives(findhold, kept, tmp_path):
    """Two files that share two days, and the whole file after them: no hour counts twice."""
    one, two = part(tmp_path, "one.csv", 1, 1201), part(tmp_path, "two.csv", 901, 2018)
    # Cut on whole hours (6 readings each), so that thinning sees the same hours.
    assert logged(findhold, "--json", file=one).json["log"]["hours_new"] == 200
    assert logged(findhold, "--json", file=two).json["log"]["hours_new"] == 337 - 200
    pieces = {box["find"]: box["now"] for box in logged(findhold, "--json", file=two).json["boxes"]}
    whole = logged(findhold, "--json")
    assert whole.json["log"]["hours_new"] == 0
    assert {box["find"]: box["now"] for box in whole.json["boxes"]} == pieces


def test_a_file_that_contradicts_the_one_before_is_asked_about(findhold, kept, tmp_path):
    logged(findhold)
    count = events(findhold, kept)

    def warmer(line):
        time, temp, rh = line.split(",")
        return f"{time},{float(temp) + 3:.1f},{rh}"

    other = part(tmp_path, "shelf.csv", 1, 800, warmer)
    asked = logged(findhold, file=other)
    assert asked.code == 2
    assert "differ by 3.0 K" in asked.text
    assert '--answer "overlap=the warmer"' in asked.text
    assert events(findhold, kept) == count
    done = logged(findhold, "--answer", "overlap=the warmer", "--json", file=other)
    assert done.json["recorded"] is True
    assert findhold("prove", kept).code == 0


def test_a_file_of_another_store_is_not_taken_twice(findhold, kept):
    logged(findhold)
    refused = logged(findhold, store="Fridge 1")
    assert refused.code == 2
    assert "recorded for the store Fridge 2" in refused.text


def test_a_failure_typed_by_hand_does_the_same(findhold, kept):
    before = findhold("show", "42", "--json").json["hold"]["forecast"]["keep_until"]
    done = findhold("import", *FAILED, "--json")
    assert done.code == 1, done.text
    (sole,) = done.json["boxes"]
    assert sole["find"] == "42"
    assert sole["now"] < sole["was"] == before
    # 4 degC to a room of 19 with 6 h: above 8 after 6 ln(15/11) = 1.9 h, below again 2 ln(14.9/4) h after the end.
    assert sole["warm_hours"] == pytest.approx(31.0 - 1.86 + 2.62, abs=0.1)
    assert "was off from Fri 31 Jul, 20:00 to Sun 2 Aug, 03:00, 31.0 h, room at 19 °C" in done.json["what_happened"][0]
    count = events(findhold, kept)
    assert findhold("import", *FAILED, "--json").json["known_before"] is True
    assert events(findhold, kept) == count
    assumed = findhold("keep", "42", "--json").json["assumptions"]
    assert any("time constant of 6 h" in line and "judgement" in line for line in assumed)


def test_a_store_that_is_still_off_is_closed_by_its_end(findhold, kept):
    begun = FAILED[:4]
    still = findhold("import", *begun, "--room", 19, "--json").json
    assert "is off since" in still["what_happened"][0]
    assert any("Move the boxes now to" in line for line in still["acts"])
    ended = findhold("import", *FAILED, "--json").json
    assert ended["recorded"] is True
    assert not any("Move the boxes now" in line for line in ended["acts"])
    stores = {row["name"]: row for row in findhold("list", "stores", "--json").json["rows"]}
    assert len(stores["Fridge 1"]["failures"]) == 1
    crossing = findhold("import", "--failure", "Fridge 1", "--from", "2026-08-01T20:00+01:00", "--room", 19)
    assert crossing.code == 2
    assert "recorded already" in crossing.text


def test_readings_and_failures_are_taken_back_with_a_reason_and_the_story_keeps_both(findhold, kept):
    before = findhold("show", "44", "--json").json["hold"]["forecast"]["keep_until"]
    logged(findhold)
    assert findhold("import", "--logger", LOGGER, "--store", "Fridge 2", "--take-back").code == 2
    done = logged(findhold, "--take-back", "--reason", "it was the other fridge", "--json")
    assert done.json["taken_back"] is not None
    assert findhold("show", "44", "--json").json["hold"]["forecast"]["keep_until"] == before
    words = [line["word"] for line in findhold("show", "44", "--json").json["story"]]
    assert words[-4:] == ["store.logged.1", "hold.forecast.1", "store.retracted.1", "hold.forecast.1"]
    assert logged(findhold, "--json").json["recorded"] is True
    findhold("import", *FAILED)
    taken = findhold("import", *FAILED[:4], "--take-back", "--reason", "wrong fridge", "--json")
    assert taken.json["boxes"][0]["was_limit"] == "too warm"
    assert taken.json["boxes"][0]["now_limit"] != "too warm"


def test_the_story_of_a_find_tells_what_happened_to_its_store_while_it_stood_there(findhold, kept):
    logged(findhold)
    story = findhold("show", "44", "--json").json["story"]
    (line,) = [item for item in story if item["word"] == "store.logged.1"]
    assert "no cold from Fri 31 Jul, 22:20 to Sun 2 Aug, 05:40" in line["meaning"]
    assert "series" not in line["body"]
    assert story[-1]["word"] == "hold.forecast.1"
    assert "It failed" in findhold("show", "44").text
    # A box in another fridge has nothing of it.
    assert "store.logged.1" not in [item["word"] for item in findhold("show", "42", "--json").json["story"]]


def test_a_failure_after_the_opening_is_not_in_the_story(findhold, kept):
    late = ("--failure", "Fridge 2", "--from", "2026-08-20T20:00+01:00", "--to", "2026-08-21T20:00+01:00", "--room", 19)
    assert findhold("import", *late).code in (0, 1)
    opened = findhold("show", "44", "--json").json  # opened on 4 August
    assert "store.failed.1" not in [line["word"] for line in opened["story"]]
    waiting = findhold("show", "48", "--json").json  # opened on 25 August
    assert "store.failed.1" in [line["word"] for line in waiting["story"]]


def test_a_box_moved_after_the_failure_keeps_its_warm_hours(findhold, kept, tmp_path):
    logged(findhold)
    moved = tmp_path / "moved.csv"
    moved.write_text("SF no.,Reg. / bulk,Cxt,Mat.,Condition,Store\n48,registered,217,antler,damp,Fridge 1\n", "utf-8")
    done = findhold("import", moved, "--correct", "--reason", "moved out of the failed fridge")
    assert done.code == 0, done.text
    kept_still = findhold("keep", "48", "--members", "100", "--json").json
    assert kept_still["governing_limit"] == "too warm"
    assert any("from Fridge 2 to Fridge 1 is taken as a move" in line for line in kept_still["assumptions"])


def test_a_dry_run_and_a_refused_file_record_nothing(findhold, kept, tmp_path):
    count = events(findhold, kept)
    assert logged(findhold, "--dry-run", "--json").json["recorded"] is False
    broken = part(tmp_path, "broken.csv", 1, 300, lambda line: line.replace(",4.7,", ",85.0,"))
    asked = logged(findhold, file=broken)
    assert asked.code == 2
    assert '--answer "faults=leave out"' in asked.text
    for words in (
        ("--logger", LOGGER, "--store", "Fridge 3"),
        ("--logger", LOGGER),
        ("--logger", tmp_path / "none.csv", "--store", "Fridge 2"),
        ("--failure", "Fridge 1", "--room", 19),
        ("--failure", "Fridge 1", "--from", "2026-07-31T20:00", "--room", 19),
        (*FAILED[:4], "--to", "2026-07-30T03:00+01:00", "--room", 19),
        (*FAILED[:6], "--room", 190),
        (*FAILED, "--logger", LOGGER, "--store", "Fridge 1"),
        (),
    ):
        refused = findhold("import", *words)
        assert refused.code == 2, words
        assert refused.err.strip()
    assert events(findhold, kept) == count
    assert not kept.with_name("wcr26-files").exists()
    done = logged(findhold, "--answer", "faults=leave out", "--json", file=broken)
    assert done.json["recorded"] is True


def test_a_file_whose_clock_is_not_said_needs_a_zone(findhold, kept, tmp_path):
    lines = part(tmp_path, "local.csv", 1, 600).read_text(encoding="utf-8").replace("Time (UTC)", "Time")
    (tmp_path / "local.csv").write_text(lines, encoding="utf-8")
    refused = logged(findhold, file=tmp_path / "local.csv")
    assert refused.code == 2
    assert "time zone" in refused.text
    done = logged(findhold, "--zone", "Europe/London", "--json", file=tmp_path / "local.csv")
    assert done.json["log"]["first"] == "2026-07-24T07:00:00+00:00"


def test_a_logger_of_humidity_alone_is_recorded_and_changes_no_temperature(findhold, kept, tmp_path):
    def dry(line):
        return f"{line.split(',')[0]},{line.split(',')[2]}"

    lines = part(tmp_path, "rh.csv", 2, 600, dry).read_text(encoding="utf-8").splitlines()
    (tmp_path / "rh.csv").write_text("\n".join(["Time (UTC),Humidity (%RH)", *lines[1:]]), encoding="utf-8")
    done = logged(findhold, "--json", file=tmp_path / "rh.csv").json
    assert done["recorded"] is True
    assert done["log"]["excursions"] is None
    assert all(box["now_limit"] != "too warm" for box in done["boxes"])


def test_a_store_with_no_box_in_it_is_told_too(findhold, kept):
    done = logged(findhold, store="Cool room")
    assert done.code == 0, done.text
    assert "No planned box stands in it" in done.text
