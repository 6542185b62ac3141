"""open: a hold ends and leaves every list of what waits; taking it back brings it there again."""

import functools
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from findhold.service import office as office_module

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"
BST = timezone(timedelta(hours=1))
MONDAY = datetime(2026, 8, 3, 9, tzinfo=BST)
AT = ("--at", "2026-08-03T09:00+01:00")


@pytest.fixture
def monday(planned, findhold, monkeypatch):
    monkeypatch.setattr(office_module, "office", functools.partial(office_module.office, now=lambda: MONDAY))
    assert findhold("import", DEMO / "specialists.csv").code == 0
    return planned


def lists(findhold, ledger):
    """By list, the finds that stand in it."""
    from conftest_web import make_browser

    browser = make_browser(ledger)
    browser.sign_in()
    rounds = findhold("round", "--days", "60", *AT, "--json").json
    return {
        "due": {row["find"] for row in findhold("due", *AT, "--json").json["rows"]},
        "round": {box["find"] for visit in rounds["visits"] for box in visit["boxes"]},
        "book": {row["find"] for row in findhold("book", "--json").json["bookings"]},
        "closure": {
            row["held"]["number"]
            for row in browser.api("GET", "/closures").json()["rows"]
            if row["stands"]["state"] != "done"
        },
        "stores": {box["number"] for store in browser.api("GET", "/stores").json()["stores"] for box in store["boxes"]},
    }


def test_an_opened_box_leaves_every_list_and_comes_back_when_that_was_wrong(monday, findhold):
    before = lists(findhold, monday)
    assert all("44" in finds for finds in before.values()), before
    done = findhold("open", "44", "--reason", "metal came loose")
    assert done.code == 0, done.text
    assert "opened on Mon 3 Aug 09:00; its hold has ended." in done.text
    after = lists(findhold, monday)
    assert after == {name: finds - {"44"} for name, finds in before.items()}
    shown = findhold("show", "44")
    assert "opened: its hold ended (metal came" in shown.text
    back = findhold("open", "44", "--undo", "--reason", "it was 45")
    assert back.code == 0, back.text
    assert lists(findhold, monday) == before
    assert "its hold goes on after all" in findhold("show", "44").text


def test_what_has_ended_is_not_forecast_weighed_or_ended_again(monday, findhold):
    assert findhold("open", "44", "--how", "handed over", "--at", "2026-08-02T17:00+01:00").code == 0
    for asked in (("keep", "44"), ("weigh", "B2", "2.1 kg"), ("open", "44")):
        done = findhold(*asked)
        assert done.code == 2, asked
        assert "its hold has ended: handed over" in done.text
    assert {one["find"] for one in [findhold("keep", "--all", "--members", "60", "--json").json]} == {"37"}


def test_a_find_that_was_opened_can_be_packed_anew(monday, findhold):
    findhold("open", "44")
    again = findhold("plan", "44", "--json")
    assert again.code == 0, again.text
    assert findhold("keep", "44", "--members", "60").code in (0, 1)


def test_its_events_in_the_calendar_are_withdrawn(monday, findhold, tmp_path):
    from icalendar import Calendar

    file = tmp_path / "holds.ics"
    findhold("due", *AT, "--calendar", file)
    held = {str(event["uid"]) for event in Calendar.from_ical(file.read_bytes()).walk("VEVENT") if "B2" in event["uid"]}
    findhold("open", "44")
    findhold("due", *AT, "--calendar", file)
    events = [event for event in Calendar.from_ical(file.read_bytes()).walk("VEVENT") if "B2" in event["uid"]]
    assert {str(event["uid"]) for event in events} == held
    assert {str(event["status"]) for event in events} == {"CANCELLED"}


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("44", "--how", "eaten"), "there is no way of ending called 'eaten'"),
        (("44", "--at", "2026-08-04T09:00+01:00"), "lies ahead"),
        (("44", "--at", "2026-07-01T09:00+01:00"), "before its packing"),
        (("44", "--undo", "--reason", "x"), "its hold has not ended"),
        (("41",), "no box is planned for it"),
        (("3777",), "there is no find called '3777'"),
    ],
)
def test_an_end_that_cannot_be_is_told(asked, said, monday, findhold):
    done = findhold("open", *asked)
    assert done.code == 2
    assert said in done.text


def test_taking_an_end_back_wants_a_reason(monday, findhold):
    findhold("open", "44")
    done = findhold("open", "44", "--undo")
    assert done.code == 2
    assert "wants a reason" in done.text


def test_what_is_booked_stands_in_the_list_of_what_is_due_in_the_place_of_what_was_planned(monday, findhold, tmp_path):
    findhold("book", "37", "--on", "2026-08-06", "--with", "Tamsin Orrell")
    findhold("book", "37", "--what", "lipid", "--on", "2026-08-07", "--with", "Tamsin Orrell")
    file = tmp_path / "holds.ics"
    rows = findhold("due", *AT, "--json", "--calendar", file).json["rows"]
    opened = [row for row in rows if (row["find"], row["what"]) == ("37", "open")]
    assert [row["at"] for row in opened] == ["2026-08-06T09:00:00+01:00"]
    assert opened[0]["note"].startswith("with Tamsin Orrell")
    booked = [row for row in rows if row["what"] == "booked"]
    assert [(row["find"], row["at"][:10], row["note"]) for row in booked] == [
        ("37", "2026-08-07", "lipid with Tamsin Orrell, fixed")
    ]
    text = file.read_text()
    assert "Lipid of find 37 with Tamsin Orrell" in text
    assert text.count("-opening@findhold") == 2  # one each for 37 and 44, none twice


def test_the_calendar_of_a_person_holds_their_appointments_and_takes_back_what_was_cancelled(
    monday, findhold, tmp_path
):
    file = tmp_path / "to.ics"
    findhold("book", "37", "--on", "2026-08-06", "--with", "Tamsin Orrell")
    assert findhold("due", *AT, "--for", "Tamsin Orrell", "--calendar", file).code in (0, 1)
    assert "Opening of find 37 with Tamsin Orrell" in file.read_text()
    findhold("due", *AT, "--for", "Idris Penhale", "--calendar", tmp_path / "ip.ics")
    assert "find 37 with" not in (tmp_path / "ip.ics").read_text()
    findhold("book", "37", "--on", "2026-08-06", "--with", "Joss Arkwell")
    findhold("due", *AT, "--for", "Tamsin Orrell", "--calendar", file)
    assert "Withdrawn: Opening of find 37" in file.read_text()
    findhold("book", "37", "--on", "2026-08-06", "--with", "Tamsin Orrell")
    findhold("book", "37", "--cancel")
    findhold("due", *AT, "--for", "Tamsin Orrell", "--calendar", file)
    assert "STATUS:CANCELLED" in file.read_text()


def test_nobody_who_was_recorded_as_away_is_asked_on_a_round(monday, findhold):
    first = findhold("round", "--days", "3", *AT, "--json").json
    assert {visit["who"] for visit in first["visits"]} == {"Idris Penhale"}
    done = findhold("book", "--away", "Idris Penhale", "--from", "2026-08-03", "--to", "2026-08-07")
    assert done.code in (0, 1), done.text
    away = findhold("round", "--days", "3", *AT, "--json").json
    assert all(visit["who"] != "Idris Penhale" for visit in away["visits"])
    assert any("Idris Penhale is away until Fri 7 Aug 2026" in lost["why"] for lost in away["cannot"])
