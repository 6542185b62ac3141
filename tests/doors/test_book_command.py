"""book: the plan of a ledger and of a scenario file, appointments, absences, promises, the calendar."""

import functools
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
import vobject

from findhold.service import office as office_module

EXAMPLE = Path(__file__).parents[2] / "examples" / "bookings" / "summer.toml"
DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"
CLOCK = datetime(2026, 7, 31, 17, 30, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture
def friday(planned, findhold, monkeypatch):
    """The ledger with finds 37 and 44 forecast and the specialists known, on the evening before the last open week."""
    monkeypatch.setattr(office_module, "office", functools.partial(office_module.office, now=lambda: CLOCK))
    done = findhold("import", DEMO / "specialists.csv")
    assert done.code == 0, done.text
    return planned


def rows(run):
    return {(row["find"], row["what"]): row for row in run.json["bookings"]}


def test_a_scenario_is_planned_without_a_ledger(findhold):
    done = findhold("book", EXAMPLE, "--json")
    assert done.code == 0, done.text
    assert done.json["in_time"] is True
    found = rows(done)
    # The sample leaves on the day of the opening and is at the laboratory two working days later, before the shutdown.
    assert found["37", "lipid"]["send_on"] == "2026-08-03"
    assert found["37", "lipid"]["day"] == "2026-08-05"
    assert found["41", "wood identification"]["fixed"] is True
    assert found["48", "opening"]["moved_from"].startswith("Tue 25 Aug")
    assert all(level["proved"] for level in done.json["levels"])
    shown = findhold("book", EXAMPLE)
    assert "Elsewhere laboratory" in shown.text
    assert "proved least" in shown.text


def test_every_key_of_the_example_is_in_the_manual():
    import tomllib

    manual = (Path(__file__).parents[2] / "docs" / "models" / "bookings.md").read_text(encoding="utf-8")
    for section, content in tomllib.loads(EXAMPLE.read_text(encoding="utf-8")).items():
        for item in content if isinstance(content, list) else [content] if isinstance(content, dict) else []:
            assert f"`{section}`" in manual
            assert [key for key in item if f"`{key}`" not in manual] == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[unit]", "[units]", "did you mean unit"),
        ('what = "opening"', 'wat = "opening"', "is unknown"),
        ("hours = 2.5", 'hours = "long"', "is not a number"),
        ("hours = 2.5", "hours = -2.5", "duration"),
        ("+01:00", "", "a time with its offset"),
        ('first_day = "2026-08-08"', 'first_day = "2026-09-08"', "ends on"),
        ("lead_days = 3", "lead_days = -3", "notice"),
        ('skills = ["osteology"', 'skills = ["osteologi"', "osteology"),
        ('weekdays = "Mon, Tue, Thu"', 'weekdays = "Mon, Tus"', "no weekday"),
    ],
)
def test_a_scenario_that_cannot_be_meant_is_refused(findhold, tmp_path, old, new, said):
    text = EXAMPLE.read_text(encoding="utf-8")
    assert old in text
    file = tmp_path / "bad.toml"
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    done = findhold("book", file)
    assert done.code == 2, done.text
    assert said in done.text


def test_the_jar_of_the_shutdown_is_late_when_the_residue_specialist_is_away(friday, findhold):
    away = ("--away", "Tamsin Orrell", "--from", "2026-07-20", "--to", "2026-08-31", "--reason", "field season")
    done = findhold("book", *away)
    assert done.code == 1, done.text
    assert "Tamsin Orrell is away from Mon 20 Jul to Mon 31 Aug" in done.text
    assert "LATE find 37, lipid, radiocarbon" in done.text
    assert "away until 31 Aug (field season)" in done.text
    assert "comes back for" in done.text
    # Recorded: the next plan knows it without being told.
    again = findhold("book", "--json")
    assert again.code == 1
    assert rows(again)["37", "lipid"]["day"] == "2026-09-01"
    assert rows(again)["37", "opening"]["with_"] == "Joss Arkwell"


def test_an_appointment_is_fixed_once_moved_and_cancelled(friday, findhold):
    fixed = findhold("book", "44", "--on", "2026-08-04", "--with", "Joss Arkwell", "--half", "afternoon", "--json")
    assert rows(fixed)["44", "opening"]["fixed"] is True
    assert (rows(fixed)["44", "opening"]["day"], rows(fixed)["44", "opening"]["half"]) == ("2026-08-04", "afternoon")
    count = findhold("prove", friday, "--json").json["events"]
    same = findhold("book", "44", "--on", "2026-08-04", "--with", "Joss Arkwell", "--half", "afternoon", "--json")
    assert "stands already" in same.json["recorded"][0]
    assert findhold("prove", friday, "--json").json["events"] == count
    moved = findhold("book", "44", "--on", "2026-08-05", "--with", "Joss Arkwell", "--json")
    assert rows(moved)["44", "opening"]["day"] == "2026-08-05"
    gone = findhold("book", "44", "--cancel", "--json")
    assert rows(gone)["44", "opening"]["fixed"] is False
    assert findhold("book", "44", "--cancel").code == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("44", "--on", "2026-08-10", "--with", "Joss Arkwell"), "works shutdown"),
        (("44", "--on", "2026-08-08", "--with", "Joss Arkwell"), "works shutdown"),
        (("44", "--on", "2026-07-30", "--with", "Joss Arkwell"), "past"),
        (("44", "--on", "soon"), "no day"),
        (("37", "--on", "2026-08-04"), "with whom"),
        (("44", "--on", "2026-08-04", "--with", "Jos Arkwel"), "Joss Arkwell"),
        (("44", "--on", "2026-08-04", "--what", "pollen"), "not to be done"),
        (("44", "--on", "2026-08-04", "--with", "Joss Arkwell", "--half", "evening"), "no half-day"),
        (("99", "--on", "2026-08-04"), "no find"),
        (("44",), "what is to be done"),
        (("--on", "2026-08-04"), "of which find"),
        (("--away", "Tamsin Orrell"), "from which day"),
        (("--away", "Tamsin Orrell", "--from", "2026-08-04", "--to", "2026-08-03"), "before it begins"),
        (("--from", "2026-08-04"), "who is away"),
        (("44", "--significance", "-1"), "below 0"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_nothing_recorded(friday, findhold, words, said):
    count = findhold("prove", friday, "--json").json["events"]
    done = findhold("book", *words)
    assert done.code == 2, done.text
    assert said in done.text
    assert findhold("prove", friday, "--json").json["events"] == count


def test_a_promised_plan_stays_where_it_is_and_moves_little_after_an_illness(friday, findhold):
    first = findhold("book", "--promise", "--json")
    assert "appointments promised" in first.json["recorded"][-1]
    again = findhold("book", "--json")
    assert [row["moved_from"] for row in again.json["bookings"]] == [None] * len(again.json["bookings"])
    assert rows(again).keys() == rows(first).keys()
    assert all(rows(again)[key]["day"] == row["day"] for key, row in rows(first).items())
    day = min(row["day"] for row in again.json["bookings"])
    ill = findhold("book", "--away", "Joss Arkwell", "--from", day, "--to", day, "--reason", "ill", "--json")
    stayed = [key for key, row in rows(ill).items() if row["moved_from"] is None]
    assert all(rows(ill)[key]["day"] == rows(first)[key]["day"] for key in stayed)
    assert not any(row["day"] == day and row["with_"] == "Joss Arkwell" for row in rows(ill).values())
    promised = findhold("book", "--promise", "--dry-run", "--json")
    assert all(words.endswith("(not recorded)") for words in promised.json["recorded"])


def test_a_weight_is_set_by_a_person_and_told(friday, findhold):
    done = findhold("book", "37", "--significance", "3", "--sensitivity", "2", "--reason", "charred crust", "--json")
    assert rows(done)["37", "opening"]["weight"] == 6
    assert "counts 6 times, set by Marian Holt" in done.json["recorded"][0]
    assert rows(findhold("book", "--json"))["37", "lipid"]["weight"] == 6


def test_the_calendar_moves_what_was_moved_and_takes_back_what_was_cancelled(friday, findhold, tmp_path):
    file = tmp_path / "bookings.ics"
    assert findhold("book", "44", "--on", "2026-08-04", "--with", "Joss Arkwell", "--ics", file).code in (0, 1)
    first = {e.uid.value: e for e in vobject.readOne(file.read_text(encoding="utf-8")).vevent_list}
    opening = next(uid for uid in first if "44-opening" in uid)
    assert first[opening].dtstart.value.isoformat() == "2026-08-04T09:00:00+01:00"
    assert findhold("book", "44", "--on", "2026-08-05", "--with", "Joss Arkwell", "--ics", file).code in (0, 1)
    second = {e.uid.value: e for e in vobject.readOne(file.read_text(encoding="utf-8")).vevent_list}
    assert second[opening].dtstart.value.date().isoformat() == "2026-08-05"
    assert int(second[opening].sequence.value) > int(first[opening].sequence.value)


def test_nobody_with_skills_is_told(planned, findhold):
    done = findhold("book")
    assert done.code == 2
    assert "skills" in done.text


def test_an_appointment_without_the_skill_is_questioned_and_stands_with_a_reason(friday, findhold):
    words = ("book", "37", "--on", "2026-08-05", "--with", "Wenna Pascoe")
    done = findhold(*words)
    assert done.code == 2
    assert "is not entered with the skill 'opening'" in done.text
    assert "done by Joss Arkwell, Tamsin Orrell" in done.text
    assert "Fixed: opening of find 37 with Wenna Pascoe" in findhold(*words, "--reason", "trained by Joss").text


def test_a_plan_seen_from_another_time_records_nothing(friday, findhold):
    before = findhold("prove", friday, "--json").json["events"]
    done = findhold("book", "--at", "2026-08-05T08:00+01:00", "--promise")
    assert "(not recorded)" in done.text
    assert "Mon 3 Aug 09:00" not in done.text
    assert findhold("prove", friday, "--json").json["events"] == before
