"""From register to labels through the command line, as a finds officer would do it, and what goes wrong on the way."""

import csv
import io
import shutil
import sqlite3
from datetime import datetime
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader
from vobject import readOne

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"


def find(rows, number):
    return next(row for row in rows if row["number"] == number)


def pdf_text(path):
    return "\n".join(page.extract_text() for page in PdfReader(path).pages)


def test_the_register_comes_in_whole(findhold, withy_carr):
    rows = findhold("list", "finds", "--json").json["rows"]
    assert len(rows) == 9
    jar = find(rows, "37")
    # Source: the demo's register, row of find 37: 23 x 21 x 14 cm, 12200 g, hand-made pottery, lipid and radiocarbon.
    assert (jar["length_mm"], jar["width_mm"], jar["height_mm"]) == (230, 210, 140)
    assert jar["mass_kg"] == pytest.approx(12.2)
    assert jar["analyses"] == ["lipid", "radiocarbon"]
    assert jar["exposed_at"] == "2026-07-28T10:20:00+01:00"


def test_the_same_file_twice_changes_nothing(findhold, withy_carr):
    before = findhold("prove", withy_carr, "--json").json
    again = findhold("import", DEMO / "finds_register.xlsx", "--json").json
    assert (again["new"], again["changed"], again["unchanged"], again["recorded"]) == (0, [], 9, False)
    assert findhold("prove", withy_carr, "--json").json == before


def test_a_dry_run_records_nothing(findhold, withy_carr):
    before = findhold("prove", withy_carr, "--json").json["events"]
    done = findhold("import", DEMO / "samples.csv", "--dry-run", "--json").json
    assert done["new"] == 8
    assert findhold("prove", withy_carr, "--json").json["events"] == before
    assert findhold("list", "samples", "--json").json["count"] == 0


def test_all_mistakes_of_a_register_are_told_and_nothing_is_half_imported(findhold, withy_carr, tmp_path):
    register = tmp_path / "more.csv"
    register.write_text(
        "Find no,Kind,Context,What,Material,State,Mass (g),E,N\n"
        "61,registered,216,nail,iron,dry,12,451382.1,206866.2\n"
        "61,registered,216,nail again,iron,dry,12,451382.2,206866.3\n"
        "62,registered,999,strap,leather,damp,20,451382.3,206866.4\n"
        "63,registered,216,toggle,unobtainium,dry,5,451382.4,206866.5\n"
        "64,registered,216,stud,copper alloy,moist,5,206866.5,451382.4\n"
        "37,registered,217,another jar,ceramic,damp,-5,451382.6,206866.6\n",
        encoding="utf-8",
    )
    done = findhold("import", register, "--json")
    assert done.code == 2
    told = done.json["error"]["mistakes"]
    rows = {item["row"] for item in told} | {item["row"] for item in done.json["error"]["questions"]}
    assert {3, 4, 6, 7} <= rows
    assert any("unobtainium" in item["text"] for item in done.json["error"]["questions"])
    assert findhold("list", "finds", "--json").json["count"] == 9
    text = findhold("import", register)
    assert text.code == 2
    assert "row 4" in text.text
    assert "999" in text.text


def test_a_changed_row_is_a_correction_with_a_reason(findhold, withy_carr, tmp_path):
    again = tmp_path / "weighed.csv"
    again.write_text(
        "SF no.,Reg. / bulk,Cxt,Mat.,Condition,Wt (g)\n42,registered,218,leather,W/L,118\n", encoding="utf-8"
    )
    refused = findhold("import", again)
    assert refused.code == 2
    assert "--correct" in refused.text
    done = findhold("import", again, "--correct", "--reason", "weighed again, drained", "--json")
    assert done.code == 0, done.text
    sheet = findhold("show", "42", "--json").json
    assert sheet["facts"]["mass_kg"] == pytest.approx(0.118)
    assert sheet["story"][-1]["body"]["reason"] == "weighed again, drained"


def test_a_forbidden_contact_stops_until_a_named_person_overrides(findhold, withy_carr):
    stopped = findhold("plan", "37")
    assert stopped.code == 1
    assert "STOP" in stopped.text
    assert findhold("list", "holds", "--json").json["count"] == 0
    nameless = findhold("plan", "37", "--override", "tissue:radiocarbon")
    assert nameless.code == 2
    assert "named person" in nameless.text
    assert "--person (or --allowed-by) and --reason are missing" in " ".join(nameless.text.split())
    done = findhold(
        "plan", "37", "--override", "tissue:radiocarbon", "--person", "Marian Holt", "--reason", "crust sampled first"
    )
    assert done.code == 0, done.text
    hold = findhold("show", "37", "--json").json["hold"]
    assert hold["overrides"] == [
        {"material": "tissue", "rule": "radiocarbon", "person": "Marian Holt", "reason": "crust sampled first"}
    ]
    # The reason stays with the plan and is printed.
    out = findhold("plan", "37", "--out", "pack")
    assert out.code in (0, 1), out.text
    assert "crust sampled first" in " ".join(pdf_text("pack/WCR26-37-packing-sheets.pdf").split())


def test_who_lets_a_rule_pass_is_not_who_records_the_plan(findhold, withy_carr):
    word = ("--override", "tissue:radiocarbon", "--allowed-by", "R. Ashdown", "--reason", "crust sampled first")
    assert findhold("plan", "37", *word, "--person", "Saffron Ode").code == 0
    shown = findhold("show", "37", "--json").json
    (passed,) = shown["hold"]["overrides"]
    assert passed["person"] == "R. Ashdown"
    assert {line["person"] for line in shown["story"] if line["word"].startswith("hold.")} == {"Saffron Ode"}


@pytest.mark.parametrize(
    ("given", "lacking"),
    [(("--reason", "sampled"), "--person (or --allowed-by) is missing"), (("--person", "M"), "--reason is missing")],
)
def test_an_override_says_what_it_lacks(findhold, withy_carr, given, lacking):
    refused = findhold("plan", "37", "--override", "tissue:radiocarbon", *given)
    assert refused.code == 2
    assert lacking in " ".join(refused.text.split())


def test_an_override_that_answers_nothing_is_refused_and_not_recorded(findhold, withy_carr):
    word = ("--override", "aluminium foil:pollen", "--person", "Marian Holt", "--reason", "agreed")
    refused = findhold("plan", "37", *word)
    assert refused.code == 2
    told = " ".join(refused.text.split())
    assert "answers nothing" in told
    assert '"tissue:radiocarbon"' in told
    assert findhold("list", "holds", "--json").json["count"] == 0


def test_an_override_that_nothing_needs_any_more_is_left_out_of_the_next_plan(findhold, withy_carr):
    word = ("--override", "tissue:radiocarbon", "--person", "Marian Holt", "--reason", "crust sampled first")
    assert findhold("plan", "37", *word).code == 0
    again = findhold("plan", "37", "--barrier", "foil", "--json").json
    assert not [question for question in again["questions"] if question["about"] == "overrides"]
    assert findhold("plan", "37", "--barrier", "none").code == 0  # what was let pass is still on record


def test_a_barrier_can_be_taken_away_and_says_where_it_comes_from(findhold, withy_carr):
    assert findhold("plan", "42", "--barrier", "aluminium foil").code == 0
    told = " ".join(findhold("plan", "42").text.split())
    assert "aluminium foil (from the plan of" in told
    assert "--barrier none takes it away" in told
    assert findhold("plan", "42", "--barrier", "none", "--json").json["barrier"] is None
    assert findhold("plan", "42", "--json").json["barrier"] is None


def test_a_barrier_is_remembered_when_the_find_is_planned_again(findhold, withy_carr):
    assert findhold("plan", "37", "--barrier", "aluminium foil").code == 0
    again = findhold("plan", "37", "--json").json
    assert again["barrier"] == "aluminium foil"
    assert findhold("list", "holds", "--json").json["count"] == 1


def test_one_command_makes_everything_to_pack(findhold, withy_carr, tmp_path):
    done = findhold("plan", "42", "44", "52", "--out", "pack", "--json")
    assert done.code in (0, 1), done.text
    assert [row["find"] for row in done.json["finds"]] == ["42", "44", "52"]
    files = {Path(file).name for file in done.json["files"]}
    assert any("label" in name for name in files)
    sheets = pdf_text(tmp_path / "pack" / "WCR26-3-finds-packing-sheets.pdf")
    for words in ("knife in soil block", "keep until", "packed by", "Never freeze"):
        assert words in sheets
    assert len(PdfReader(tmp_path / "pack" / "WCR26-3-finds-packing-sheets.pdf").pages) == 6  # front and back
    table = list(csv.DictReader(io.StringIO((tmp_path / "pack" / "WCR26-table.csv").read_text("utf-8-sig"))))
    assert {row["find"] for row in table} == {"42", "44", "52"}
    calendar = readOne((tmp_path / "pack" / "WCR26-checks-and-openings.ics").read_bytes().decode("utf-8"))
    uids = [event.uid.value for event in calendar.vevent_list]
    assert len(uids) == len(set(uids))
    openings = [event for event in calendar.vevent_list if event.summary.value.startswith("Open")]
    assert {event.dtstart.value.isoformat() for event in openings} >= {"2026-08-04T09:30:00+01:00"}


def test_exporting_again_updates_instead_of_doubling(findhold, withy_carr, tmp_path):
    findhold("plan", "44", "--out", "pack")
    first = readOne((tmp_path / "pack" / "WCR26-checks-and-openings.ics").read_bytes().decode("utf-8"))
    findhold("keep", "44")
    assert findhold("due", "--ics", "again.ics", "--at", "2026-07-27T16:00+01:00").code == 0
    second = readOne((tmp_path / "again.ics").read_bytes().decode("utf-8"))
    before = {event.uid.value: int(event.sequence.value) for event in first.vevent_list}
    after = {event.uid.value: int(event.sequence.value) for event in second.vevent_list}
    assert set(before) <= set(after)
    assert all(after[uid] > before[uid] for uid in before)


def test_two_finds_never_take_the_last_box(findhold, withy_carr, tmp_path):
    stock = tmp_path / "one.csv"
    stock.write_text(
        "Box type,Inside L (mm),Inside W (mm),Inside H (mm),Plastic,Wall (mm),Empty (g),In stock\n"
        "only one,420,340,300,PP,2,900,1\n",
        encoding="utf-8",
    )
    assert findhold("import", stock).code == 0
    first = findhold("plan", "44", "--box", "only one", "--json")
    assert first.json["box"] == "only one"
    second = findhold("plan", "52", "--box", "only one", "--json")
    assert second.json["box"] is None
    assert second.code == 1


def test_labels_are_read_back_and_a_scan_finds_its_record(findhold, withy_carr, tmp_path):
    findhold("plan", "44")
    findhold("keep", "44")
    made = findhold("label", "44", "--stock", "100x70", "--part", "lid", "--json").json
    assert made["read_back"] == made["count"] == 1
    assert "label" in Path(made["file"]).name
    text = pdf_text(tmp_path / made["file"])
    for words in ("44", "[216]", "WCR26", "KEEP DAMP", "DO NOT FREEZE"):
        assert words in text
    seen = findhold("read", made["file"], "--json")
    assert seen.code == 0, seen.text
    assert seen.json["restored"]["find_number"] == "44"
    assert seen.json["differences"] == []
    assert seen.json["record"]["what"].startswith("knife")


def test_a_label_that_disagrees_with_the_record_says_where(findhold, withy_carr, tmp_path):
    findhold("plan", "44")
    findhold("keep", "44")
    made = findhold("label", "44", "--stock", "100x70", "--part", "inside", "--json").json
    changed = tmp_path / "moved.csv"
    changed.write_text(
        "SF no.,Reg. / bulk,Cxt,Mat.,Condition,Level (m OD)\n44,registered,216,Fe,damp,51.99\n", encoding="utf-8"
    )
    assert findhold("import", changed, "--correct", "--reason", "level read again").code == 0
    seen = findhold("read", made["file"])
    assert seen.code == 1
    assert "level: label 51.74, record 51.99" in seen.text


def test_a_picture_without_a_label_is_an_error_with_a_next_step(findhold, withy_carr, tmp_path):
    Image.new("L", (400, 300), 200).save(tmp_path / "blank.png")
    done = findhold("read", "blank.png")
    assert done.code == 2
    assert "no code can be read" in done.text


def test_two_labels_in_one_picture_are_refused(findhold, withy_carr, tmp_path):
    findhold("plan", "44", "52")
    findhold("keep", "--all")
    made = findhold("label", "44", "52", "--part", "lid", "--json").json
    done = findhold("read", made["file"])
    assert done.code == 2
    assert "different labels" in done.text


def test_a_label_of_another_site_is_refused(findhold, withy_carr, tmp_path):
    findhold("plan", "44")
    findhold("keep", "44")
    made = findhold("label", "44", "--part", "lid", "--json").json
    other = tmp_path / "other.ledger"
    findhold("new", other, "--site", "ABC25", "--name", "Another Place")
    done = findhold("read", made["file"], "--ledger", other)
    assert done.code == 2
    assert "site WCR26" in done.text


def test_the_plan_of_a_feature_has_every_find_and_the_distance(findhold, withy_carr, tmp_path):
    findhold("import", DEMO / "samples.csv")
    done = findhold(
        "plot", "214", "--outlines", DEMO / "outlines.csv", "--distance", "37,44", "--out", "plan", "--json"
    )
    assert done.code == 0, done.text
    # Source: plane geometry; 37 at (451382.914, 206866.207), 44 at (451382.052, 206866.754), levels 51.62 and 51.74.
    plan_m = ((382.914 - 382.052) ** 2 + (866.754 - 866.207) ** 2) ** 0.5
    assert done.json["distances"][0]["plan_m"] == pytest.approx(plan_m, abs=5e-4)
    assert done.json["distances"][0]["slope_m"] == pytest.approx((plan_m**2 + 0.12**2) ** 0.5, abs=5e-4)
    text = pdf_text(tmp_path / "plan.pdf")
    for words in ("37", "41", "44", "grid north", "EPSG:27700", "sheet 1"):
        assert words in text
    assert (tmp_path / "plan.svg").read_text("utf-8").startswith("<")


def test_keep_before_plan_says_what_to_run(findhold, withy_carr):
    done = findhold("keep", "44")
    assert done.code == 2
    assert "findhold plan 44" in done.text


def test_unknown_numbers_and_words_offer_near_ones(findhold, withy_carr):
    assert "no find called '77'" in findhold("show", "77").text
    assert "Did you mean finds" in findhold("list", "fnds").text
    assert "--all" in findhold("plan").text


def test_a_ledger_that_is_missing_damaged_or_foreign(findhold, tmp_path):
    assert findhold("list", "finds", "--ledger", "nowhere.ledger").code == 2
    (tmp_path / "text.ledger").write_text("no ledger at all " * 200)
    done = findhold("list", "finds", "--ledger", "text.ledger")
    assert done.code == 2
    assert "not a ledger" in done.text
    proof = findhold("prove", "text.ledger", "--json")
    assert proof.code == 1
    assert proof.json["whole"] is False
    assert findhold("prove", "nowhere.ledger").code == 2


def test_prove_says_the_first_bad_event(findhold, withy_carr):
    import sqlite3

    copy = withy_carr.with_name("copy.ledger")
    shutil.copy(withy_carr, copy)
    connection = sqlite3.connect(copy)
    triggers = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in triggers:
        connection.execute(f"DROP TRIGGER {name}")
    connection.execute("UPDATE event SET body = replace(body, '12.2', '13.2') WHERE stream = 'find/WCR26/37'")
    for _, text in triggers:
        connection.execute(text)
    connection.commit()
    number = connection.execute("SELECT seq FROM event WHERE stream = 'find/WCR26/37'").fetchone()[0]
    connection.close()
    done = findhold("prove", copy, "--json")
    assert done.code == 1
    assert done.json["fault"]["event_no"] == number
    assert findhold("prove", withy_carr).code == 0


def test_a_read_only_folder_is_said_plainly_and_nothing_is_lost(findhold, withy_carr, monkeypatch):
    from findhold.store import engine

    # A read-only connection stands in for a read-only folder: the tests may run as a user whom permissions do not stop.
    true_engine = engine.sqlite_engine
    from findhold.store import ledger as ledger_module

    monkeypatch.setattr(ledger_module, "sqlite_engine", lambda path, **_: true_engine(path, read_only=True))
    done = findhold("plan", "44")
    assert done.code == 2
    assert "cannot be written" in done.text
    monkeypatch.undo()
    assert findhold("prove", withy_carr).code == 0


def test_a_time_without_offset_is_read_on_the_clock_of_the_site(findhold, withy_carr):
    for typed in ("2026-07-27T15:50", "2026-07-27T15:50+01:00", "2026-07-27T14:50Z"):
        good = findhold("plan", "44", "--packed-at", typed, "--json")
        assert good.code == 0, good.text
        hold = findhold("show", "44", "--json").json["hold"]
        assert datetime.fromisoformat(hold["packed_at"]) == datetime.fromisoformat("2026-07-27T15:50+01:00")
    # The clocks go back on 25 October 2026 in Britain, so half past one happens twice.
    twice = findhold("plan", "44", "--packed-at", "2026-10-25T01:30")
    assert twice.code == 2
    assert "happens twice" in twice.text


def test_the_story_tells_what_happened_in_words(findhold, withy_carr):
    findhold("plan", "44")
    findhold("keep", "44")
    story = findhold("show", "44").text
    for words in ("entered in the register", "planned: box", "forecast: keep until"):
        assert words in story
    assert "44" in findhold("list", "holds").text


def test_finds_without_a_box_are_told_with_what_is_due(findhold, withy_carr):
    findhold("plan", "44")
    findhold("keep", "44")
    due = findhold("due", "--json").json
    assert "37" in due["not_planned"]
    assert "44" not in due["not_planned"]


def test_packing_before_exposure_is_refused(findhold, withy_carr):
    findhold("plan", "44", "--packed-at", "2026-07-20T15:50+01:00")
    done = findhold("keep", "44")
    assert done.code == 2
    assert "before it was exposed" in done.text


def test_a_stock_box_described_in_part_is_completed_only_with_words(findhold, withy_carr, tmp_path):
    stock = tmp_path / "partly.csv"
    stock.write_text(
        "Box type,Inside L (mm),Inside W (mm),Inside H (mm),In stock\nbare box,420,340,300,2\n", encoding="utf-8"
    )
    assert findhold("import", stock).code == 0
    findhold("plan", "44", "--box", "bare box")
    assumed = " ".join(findhold("keep", "44", "--json").json["assumptions"])
    for words in ("bare box: no wall is stated", "no wall thickness is stated", "no empty mass is stated"):
        assert words in assumed


def test_lists_that_do_not_follow_from_sound_events_are_made_again(findhold, withy_carr):
    assert findhold("prove", "--fold-again").code == 0
    with sqlite3.connect(withy_carr) as file:
        file.execute("UPDATE state SET body = json_set(body, '$.what', 'a gold cup') WHERE stream = 'find/WCR26/37'")
    told = findhold("prove")
    assert told.code == 1
    assert "--fold-again" in told.text
    mended = findhold("prove", "--fold-again", "--json")
    assert (mended.code, mended.json["whole"]) == (0, True)
    assert "gold cup" not in findhold("show", "37").text
