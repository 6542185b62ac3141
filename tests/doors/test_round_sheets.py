"""The sheets of rounds: what each state forbids, who is not there, and days on which nobody comes."""

import io
from datetime import date

import pytest
from pypdf import PdfReader

from findhold.dates.availability import Roster
from findhold.dates.closures import Closure
from findhold.dates.people import Person
from findhold.service.rounds.telling_whom import calls, whom

AWAY = "2026-08-10"
PEOPLE = "Name,Initials,Job,Telephone,Weekdays,Away from,Away to\n"
HOLT = "Marian Holt,MH,finds officer,01632 960171,,,\n"


def words(path):
    pages = PdfReader(io.BytesIO(path.read_bytes())).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


def people(findhold, tmp_path, rows):
    file = tmp_path / "people.csv"
    file.write_text(PEOPLE + rows, encoding="utf-8")
    done = findhold("import", file)
    assert done.code == 0, done.text


@pytest.fixture
def sheets(findhold, tmp_path):
    """Both sheets of a store as text, with the exit code."""

    def printed(store, at, *more):
        files = tmp_path / "r.pdf", tmp_path / "d.pdf"
        done = findhold("round", "--at", at, "--store", store, "--sheet", files[0], "--door", files[1], *more)
        return done, *(words(file) if file.is_file() else "" for file in files)

    return printed


@pytest.fixture
def packed(findhold, planned):
    """The demo's finds, a pin that is kept dry and a bowl that is kept wet among them."""
    done = findhold("plan", "45", "41")
    assert done.code in (0, 1), done.text
    findhold("keep", "--all")
    return planned


def test_a_box_kept_dry_is_never_to_be_misted(sheets, packed):
    _, sheet, door = sheets("Fridge 2", "2026-08-03T08:30+01:00")
    assert "KEEP DRY: never mist; drops or damp gel: call" in sheet
    assert "gel damp" in sheet
    assert "Box kept damp: mist the wrapping" in sheet  # the knife in its soil beside it
    assert "KEEP DRY: never mist" in door


def test_a_box_kept_wet_is_topped_up_and_not_misted(sheets, packed):
    _, sheet, _ = sheets("Fridge 1", "2026-08-03T08:30+01:00")
    assert "KEPT WET: never mist; water low: call" in sheet
    assert "Box kept wet: the water must cover the find. Do not mist." in sheet
    assert "KEEP DRY" not in sheet


def test_warm_stores_and_missing_boxes_stand_on_both_sheets_with_the_limits_of_the_unit(sheets, packed, tmp_path):
    _, sheet, door = sheets("Fridge 2", "2026-08-03T08:30+01:00")
    for text in (sheet, door):
        assert "over 8 °C or under 2 °C" in text
        assert "Box not here, label gone, or in another place" in text
    (tmp_path / "home").mkdir(exist_ok=True)
    (tmp_path / "home" / "settings.toml").write_text("[policy]\nwarm_c = 6.0\n", encoding="utf-8")
    assert "over 6 °C or under 2 °C" in sheets("Fridge 2", "2026-08-03T08:30+01:00")[2]


def test_with_nobody_there_both_sheets_are_printed_and_say_so(findhold, sheets, planned, tmp_path):
    idris = "Idris Penhale,IP,duty holder,07700 900142,,2026-08-03,2026-12-31\n"
    people(findhold, tmp_path, f"{HOLT}{idris}")
    done, sheet, door = sheets("Fridge 2", "2026-08-05T08:30+01:00")
    assert done.code == 1
    assert "made by" in sheet
    assert "nobody is named: Idris Penhale is away until Thu 31 Dec 2026" in sheet
    for text in (sheet, door):
        assert "missed since" in text
        assert "Nobody comes from Wed 5 Aug 2026 on" in text
    assert " 44 " in sheet


def test_the_door_names_every_day_on_which_nobody_comes(sheets, planned):
    _, _, door = sheets("Fridge 1", "2026-08-03T08:30+01:00", "--days", "30")
    assert "Nobody comes from Sat 8 Aug to Sun 23 Aug 2026 (checks due 14, 21 Aug)" in door


def test_who_makes_the_round_is_not_told_to_call_themselves(sheets, planned):
    _, sheet, door = sheets("Fridge 1", "2026-08-03T08:30+01:00")
    assert sheet.count("07700 900142") == 1
    assert "Whom to call, in this order 07700 900142" in door


def test_hours_late_openings_and_act_masses_are_told_where_there_are_any(findhold, sheets, planned):
    _, sheet, door = sheets("Fridge 1", "2026-08-03T08:30+01:00")
    assert "Mon 3 Aug 2026, 09:00" in sheet
    assert "Beyond the act masses" not in sheet  # its first weighing sets the mass
    for text in (sheet, door):
        assert "opening planned Wed 2 Sep, " in text
    findhold("weigh", "B1", "13.050 kg", "--at", "2026-08-01T09:00+01:00", "--wiped", "--balance", "1")
    assert "Beyond the act masses" in sheets("Fridge 1", "2026-08-03T08:30+01:00")[1]
    assert ": not made" in sheets("Fridge 1", "2026-09-10T08:30+01:00", "--days", "60")[2]


def test_shelves_are_told_by_their_height_over_the_floor(sheets, packed):
    _, sheet, door = sheets("Fridge 2", "2026-08-03T08:30+01:00")
    assert "finds hut" in sheet
    assert "finds hut" in door


def roster(**away):
    spans = {
        name: (Closure(first_day=date(2026, 8, 1), last_day=date.fromisoformat(last), reason="leave"),)
        for name, last in away.items()
    }
    listed = [
        Person(name="Idris", role="duty holder", phone="1", away=spans.get("Idris", ())),
        Person(name="Marian", role="finds officer", phone="2", away=spans.get("Marian", ())),
        Person(name="Wenna", role="osteologist", phone="3", away=spans.get("Wenna", ())),
        Person(name="Joss", role="conservator", phone="4", away=spans.get("Joss", ())),
    ]
    return Roster(people={one.name: one for one in listed}, duty={"": ("Idris",)})


def test_who_is_away_is_named_last_with_the_day_until_which():
    found = calls(roster(Idris="2026-08-31"), date(2026, 8, 10))
    assert [call.name for call in found] == ["Marian", "Joss", "Wenna", "Idris"]
    assert found[-1].words() == "Idris, duty holder, away until Mon 31 Aug, 1"


@pytest.mark.parametrize(
    ("away", "job", "told"),
    [
        ({}, "duty", "Idris"),
        ({"Idris": "2026-08-31"}, "duty", "Marian"),
        ({"Idris": "2026-08-31", "Marian": "2026-08-31"}, "duty", "Joss"),
        ({"Marian": "2026-08-31"}, "officer", "Joss"),
        ({"Joss": "2026-08-31"}, "conservator", "Joss"),  # nobody else has the skill: named, and said to be away
        ({"Idris": "2026-08-09"}, "duty", "Idris"),
    ],
)
def test_somebody_who_is_there_is_told_first(away, job, told):
    found = whom(roster(**away), job, "Fridge 1", date(2026, 8, 10))
    assert found.name == told
    assert bool(found.away) == (told in away and away[told] >= "2026-08-10")


def test_an_osteologist_is_called_where_there_are_human_remains():
    named = [call.name for call in calls(roster(), date(2026, 8, 10), bones=True)]
    assert named == ["Idris", "Marian", "Joss", "Wenna"]
