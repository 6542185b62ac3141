"""Rounds as the duty holder asks for them: the plan, the sheets, the calendar, and what is said when nobody comes."""

import io
import shutil
import subprocess
from datetime import datetime

import pytest
import vobject
from pypdf import PdfReader

MORNING = "2026-08-03T08:30+01:00"


@pytest.fixture
def people(planned, findhold, tmp_path):
    """The demo's people, with weekdays, absence and who stands in."""
    file = tmp_path / "people.csv"
    file.write_text(
        "Name,Initials,Job,Telephone,E-mail,Weekdays,Away from,Away to,Covered by\n"
        "Marian Holt,MH,finds officer,01632 960171,marian.holt@example.org,,,,\n"
        "Idris Penhale,IP,duty holder,07700 900142,idris.penhale@example.org,Mon-Fri,2026-08-06,2026-08-07,MH\n",
        encoding="utf-8",
    )
    done = findhold("import", file)
    assert done.code == 0, done.text
    return planned


def settings(tmp_path, text):
    (tmp_path / "home").mkdir(exist_ok=True)
    (tmp_path / "home" / "settings.toml").write_text(text, encoding="utf-8")


def words(path):
    return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(path.read_bytes())).pages)


def test_the_rounds_are_few_and_name_who_comes_and_who_stands_in(findhold, people):
    done = findhold("round", "--at", MORNING, "--days", "30", "--json")
    found = done.json
    assert done.code == 1  # the shutdown names nobody, and checks fall into it
    assert [(visit["at"][:10], visit["who"]) for visit in found["visits"]][:2] == [
        ("2026-08-03", "Idris Penhale"),
        ("2026-08-07", "Marian Holt"),
    ]
    assert "Idris Penhale is away until Fri 7 Aug 2026" in found["visits"][1]["why_who"]
    assert found["visits"][1]["phone"] == "01632 960171"
    for visit in found["visits"]:
        assert not "2026-08-08" <= visit["at"][:10] <= "2026-08-23"
        assert visit["at"][:10] != "2026-08-31"
        for box in visit["boxes"]:
            assert visit["at"][:10] <= box["latest"] or box["missed"]


def test_nobody_in_a_closure_is_said_with_the_nearest_days_and_a_name_mends_it(findhold, people, tmp_path):
    shown = findhold("round", "--at", MORNING, "--days", "30")
    assert "NOBODY Fridge 1: 2 checks due Fri 14 Aug to Fri 21 Aug, B1." in shown.text
    assert "Nearest: Fri 7 Aug (Marian Holt) or Mon 24 Aug (Idris Penhale)" in shown.text
    settings(tmp_path, '[duty]\n"closed days" = "Idris Penhale"\n')
    mended = findhold("round", "--at", MORNING, "--days", "30", "--json").json
    assert mended["cannot"] == []
    inside = [visit for visit in mended["visits"] if "2026-08-08" <= visit["at"][:10] <= "2026-08-23"]
    assert [(visit["at"][:10], visit["who"]) for visit in inside] == [
        ("2026-08-14", "Idris Penhale"),
        ("2026-08-21", "Idris Penhale"),
    ]


def test_public_holidays_of_the_settings_are_closed_days(findhold, people, tmp_path):
    settings(tmp_path, '[calendar]\ncountry = "United Kingdom"\nregion = "England"\n')
    findhold("keep", "--all")
    found = findhold("round", "--at", "2026-12-18T09:00+00:00", "--days", "20", "--json").json
    assert not [visit for visit in found["visits"] if visit["at"][:10] in ("2026-12-25", "2026-12-28", "2027-01-01")]
    assert found["notes"] == []
    settings(tmp_path, '[calendar]\ncountry = "Untied Kingdom"\n')
    refused = findhold("round")
    assert refused.code == 2
    assert "United Kingdom" in refused.text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[calendar]\nweekdays = "Mon-Blursday"\n', "no weekday"),
        ('[calendar]\ncontry = "GB"\n', "Did you mean country?"),
        ('[people."Idris Penhale"]\naway = ["2026-08-20 to 2026-08-10"]\n', "ends before it begins"),
        ('[people."Idris Penhale"]\naway = ["soon"]\n', "names no days"),
        ("[calendar]\ncountry = 3\n", "is no text"),
    ],
)
def test_settings_that_cannot_be_understood_are_refused(findhold, people, tmp_path, text, says):
    settings(tmp_path, text)
    done = findhold("round")
    assert done.code == 2
    assert says in done.text


def test_unknown_stores_people_and_days_are_refused(findhold, people):
    assert "Fridge 1" in findhold("round", "--store", "Frige 1").text
    assert "Idris Penhale" in findhold("round", "--for", "Idris Penhal").text
    assert findhold("round", "--days", "-1").code == 2
    assert findhold("round", "--sheet", "x.pdf").code == 2


def test_a_name_or_initials_chooses_ones_own_rounds(findhold, people):
    mine = findhold("round", "--at", MORNING, "--for", "mh", "--json").json
    assert {visit["who"] for visit in mine["visits"]} == {"Marian Holt"}


def test_the_list_of_what_is_due_holds_for_one_person_what_their_rounds_hold(findhold, people):
    """Every check is on the list of whoever makes it; what nobody's round makes stands on the whole list alone."""
    asked = ("--at", MORNING, "--days", "20", "--json")
    whole = findhold("due", *asked).json
    theirs = {name: findhold("due", *asked, "--for", name).json for name in ("mh", "IP")}
    everything = {(row["at"], row["what"], row["find"]) for row in whole["rows"]}
    for name, told in theirs.items():
        visits = findhold("round", *asked, "--for", name).json["visits"]
        seen = {(box["find"], box["due"], visit["at"][:10]) for visit in visits for box in visit["boxes"]}
        for row in told["rows"]:
            if row["what"] == "check" and not row["late"]:
                assert any(find == row["find"] and due <= row["at"][:10] for find, due, _ in seen)
        assert {(row["at"], row["what"], row["find"]) for row in told["rows"]} <= everything
        assert {late["find"] for late in told["late"]} <= {find for find, *_ in seen}
    assert all(theirs[name]["rows"] for name in theirs)
    assert any(len(told["rows"]) < len(whole["rows"]) for told in theirs.values())
    assert "there is no person" in findhold("due", "--for", "Nobody Here").text


def test_the_sheet_says_all_that_is_needed_at_the_store(findhold, people, tmp_path):
    findhold(
        "round", "--at", MORNING, "--store", "fridge 1", "--sheet", tmp_path / "r.pdf", "--door", tmp_path / "d.pdf"
    )
    sheet = words(tmp_path / "r.pdf")
    for piece in (
        *("Fridge 1", "Mon 3 Aug 2026", "Idris Penhale", "07700 900142", "B1", "37", "keep until", "right", "mould"),
        *("Whom to call", "01632 960171", "the conservator", "Never freeze", "initials", "first weighing"),
    ):
        assert piece in sheet
    door = words(tmp_path / "d.pdf")
    for piece in ("Fridge 1", "keep until", "Next rounds", "Whom to call", "opening planned Wed 2 Sep"):
        assert piece in door


def test_the_masses_on_the_sheet_are_those_that_weigh_judges_by(findhold, people, tmp_path):
    findhold("weigh", "B1", "13.050 kg", "--at", "2026-08-01T09:00+01:00", "--wiped", "--balance", "1")
    findhold("round", "--at", MORNING, "--store", "Fridge 1", "--sheet", tmp_path / "r.pdf")
    text = words(tmp_path / "r.pdf")
    low, high = text.split(" – ")[0].split()[-1], text.split(" – ")[1].split()[0]
    below, above = text.split("act below ")[1].split(" or above ")
    for number, typed in enumerate((low, high)):
        copy = tmp_path / f"copy{number}.ledger"
        shutil.copy(people, copy)
        asked = ("--at", "2026-08-03T09:00+01:00", "--wiped", "--balance", "1", "--ledger", copy, "--json")
        assert findhold("weigh", "B1", f"{typed} kg", *asked).json["mass_verdict"] == "right"
    for number, typed in enumerate((float(below) - 0.001, float(above.split()[0]) + 0.001)):
        copy = tmp_path / f"other{number}.ledger"
        shutil.copy(people, copy)
        asked = ("--at", "2026-08-03T09:00+01:00", "--wiped", "--balance", "1", "--ledger", copy, "--json")
        assert findhold("weigh", "B1", f"{typed:.3f} kg", *asked).json["mass_verdict"] == "act"


def test_the_sheet_prints_and_embeds_its_fonts(findhold, people, tmp_path):
    findhold("round", "--at", MORNING, "--store", "Fridge 1", "--sheet", tmp_path / "r.pdf")
    if shutil.which("pdffonts") is None:
        pytest.skip("pdffonts is not on this machine")
    shown = subprocess.run(["pdffonts", tmp_path / "r.pdf"], capture_output=True, text=True, check=True).stdout
    rows = shown.splitlines()[2:]
    assert rows
    assert all(" yes " in row for row in rows)


def test_missed_rounds_are_told_with_who_is_to_be_told(findhold, people):
    late = findhold("round", "--at", "2026-08-05T09:00+01:00", "--store", "Fridge 1")
    assert late.code == 1
    assert "MISSED Fridge 1" in late.text
    assert "Tell " in late.text


def test_a_calendar_imported_twice_makes_no_doubles_and_withdraws_what_fell_away(findhold, people, tmp_path):
    file = tmp_path / "idris.ics"
    asked = ("due", "--calendar", file, "--for", "IP", "--at", MORNING)
    findhold(*asked)
    first = vobject.readOne(file.read_text(encoding="utf-8"))
    findhold(*asked)
    again = vobject.readOne(file.read_text(encoding="utf-8"))
    told = [[(e.uid.value, e.sequence.value, e.dtstart.value) for e in c.vevent_list] for c in (first, again)]
    assert told[0] == told[1]
    assert len({uid for uid, _, _ in told[0]}) == len(told[0])
    assert all(isinstance(start, datetime) and start.hour == 9 for _, _, start in told[0])
    # The find is opened earlier: the rounds planned after that are no longer, and the calendar says so.
    findhold("import", _moved(tmp_path), "--correct", "--reason", "bench free earlier")
    findhold("keep", "37")
    findhold(*asked)
    later = {event.uid.value: event for event in vobject.readOne(file.read_text(encoding="utf-8")).vevent_list}
    gone = [event for event in later.values() if event.status.value == "CANCELLED"]
    assert gone
    assert {event.uid.value for event in gone} <= {uid for uid, _, _ in told[0]}
    assert all(int(later[uid].sequence.value) > int(sequence) for uid, sequence, _ in told[0])


def _moved(tmp_path):
    file = tmp_path / "moved.csv"
    file.write_text("Find no,Planned opening\n37,2026-08-07 10:00\n", encoding="utf-8")
    return file


def test_the_calendar_of_a_store_holds_rounds_and_keep_until_dates(findhold, people, tmp_path):
    file = tmp_path / "fridge.ics"
    findhold("due", "--calendar", file, "--store", "Fridge 1", "--at", MORNING)
    events = vobject.readOne(file.read_text(encoding="utf-8")).vevent_list
    names = [event.summary.value for event in events]
    assert any(name.startswith("Round: Fridge 1") for name in names)
    assert any(name.startswith("Keep until: WCR26 37") for name in names)
    assert not any(" 44," in name for name in names)


def test_a_file_that_is_no_calendar_is_not_written_over(findhold, people, tmp_path):
    file = tmp_path / "notes.txt"
    file.write_text("shopping list", encoding="utf-8")
    done = findhold("due", "--calendar", file, "--for", "IP", "--at", MORNING)
    assert done.code == 2
    assert file.read_text(encoding="utf-8") == "shopping list"


def test_due_after_weeks_off_tells_each_box_once_and_leaves_with_one(findhold, people):
    done = findhold("due", "--at", "2026-09-20T09:00+01:00", "--json")
    assert done.code == 1
    boxes = [late["box_id"] for late in done.json["late"]]
    assert sorted(boxes) == sorted(set(boxes))
    assert len(boxes) == 2
    assert done.json["late"][0]["missed"] > 1
    early = findhold("due", "--at", "2026-07-27T16:00+01:00")
    assert early.code == 0
