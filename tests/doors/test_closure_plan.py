"""keep --closure: what cannot be kept through a closure, ways out with their figures, choices, the page to sign."""

import functools
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from pypdf import PdfReader

from findhold.service import office as office_module
from findhold.service.showing.closures_seen import ClosureRequest, closure_seen
from findhold.store.ledger import all_events

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"
BST = timezone(timedelta(hours=1))
MONDAY = datetime(2026, 8, 3, 9, tzinfo=BST)
FAST = ("--members", "60")


def at(monkeypatch, moment):
    monkeypatch.setattr(office_module, "office", functools.partial(office_module.office, now=lambda: moment))


@pytest.fixture
def monday(planned, findhold, monkeypatch):
    """Finds 37 and 44 forecast, the specialists known, on the Monday before the works shutdown."""
    at(monkeypatch, MONDAY)
    done = findhold("import", DEMO / "specialists.csv")
    assert done.code == 0, done.text
    return planned


def words_of(ledger):
    with office_module.office(str(ledger), read_only=True) as desk, desk.ledger.reading() as connection:
        return [(event.word, event.body, event.person) for event in all_events(connection)]


def holds(run):
    return {hold["standing"]["held"]["number"]: hold for hold in run.json["holds"]}


def ways(hold):
    return {way["name"]: way for way in hold["ways"]}


def test_the_works_shutdown_is_planned_in_one_command(monday, findhold):
    done = findhold("keep", "--closure", "works shutdown", *FAST)
    assert done.code == 1
    assert "closed Sat 8 Aug to Sun 23 Aug" in done.text
    assert "Somebody is there again on Mon 24 Aug 09:00. Last open day before it: Fri 7 Aug." in done.text
    assert "Find 37" in done.text
    assert "NOT PROVIDED FOR" in done.text
    plan = findhold("keep", "--closure", "next", "--json", *FAST)
    assert plan.json["provided"] is False
    before = ways(holds(plan)["37"])["open before"]
    assert before["possible"]
    assert before["enough"]
    assert "2026-08-03" <= before["on"] < "2026-08-08"
    assert before["with_"] in {"Tamsin Orrell", "Joss Arkwell"}


def test_the_figures_of_each_measure_are_those_of_keep_options(monday, findhold):
    plan = holds(findhold("keep", "--closure", "next", "--json"))["37"]
    options = findhold("keep", "37", "--options", "--dry-run", "--json").json["options"]
    helping = {one["name"]: one for one in options if one["gain_days"] > 0}
    measures = {name: way for name, way in ways(plan).items() if way["keep_until"] is not None}
    assert len(helping) >= 2
    assert set(measures) == set(helping)
    for name, one in helping.items():
        assert measures[name]["keep_until"] == one["keep_until"]
        assert measures[name]["gain_days"] == one["gain_days"]
        assert measures[name]["work"] == one["work"]
    named = {one["name"] for one in options} - {"earlier opening", "nothing helps", "daily check"}
    assert set(plan["no_help"]) == named - set(helping)


def test_the_bench_day_is_one_that_the_plan_of_bookings_has_free(monday, findhold):
    way = ways(holds(findhold("keep", "--closure", "next", "--json", *FAST))["37"])["open before"]
    booked = {(row["find"], row["what"]): row for row in findhold("book", "--json").json["bookings"]}
    opening = booked["37", "opening"]
    assert (way["on"], way["half"], way["with_"]) == (opening["day"], opening["half"], opening["with_"])


def test_a_choice_is_an_event_and_fixes_the_appointment_and_another_choice_is_another_event(monday, findhold):
    began = len(words_of(monday))
    done = findhold(
        "keep", "--closure", "next", "--choose", "37=open before", "--reason", "agreed on Monday", "--json", *FAST
    )
    hold = holds(done)["37"]["standing"]
    assert hold["stands"]["state"] == "chosen"
    assert (hold["chosen"]["by"], hold["chosen"]["reason"]) == ("Marian Holt", "agreed on Monday")
    assert hold["chosen"]["at"].startswith("2026-08-03T08:00")
    written = words_of(monday)[began:]
    assert [word for word, *_ in written] == ["hold.way.chosen.1", "booking.fixed.1"]
    fixed = next(row for row in findhold("book", "--json").json["bookings"] if row["find"] == "37" and row["fixed"])
    assert fixed["day"] == hold["chosen"]["on"]
    again = findhold("keep", "--closure", "next", "--choose", "37=residue", "--json", *FAST)
    assert holds(again)["37"]["standing"]["chosen"]["option"] == "residue first"
    later = words_of(monday)
    assert later[: began + 2] == [*words_of(monday)[:began], *written]
    assert [word for word, *_ in later[began + 2 :]] == ["hold.way.chosen.1", "booking.cancelled.1"]
    back = findhold("keep", "--closure", "next", "--choose", "37=none", "--json", *FAST)
    assert holds(back)["37"]["standing"]["stands"]["state"] == "open"


def test_a_measure_that_is_too_short_is_recorded_and_told_as_not_enough(monday, findhold):
    done = findhold("keep", "--closure", "next", "--choose", "37=inert", "--json", *FAST)
    assert done.code == 1
    stands = holds(done)["37"]["standing"]["stands"]
    assert stands["state"] == "short"
    assert stands["short_days"] > 5


def test_every_hold_provided_for_leaves_with_0_and_done_ends_the_hold(monday, findhold):
    chosen = findhold("keep", "--closure", "next", "--choose", "37=open", "--choose", "44=open", *FAST)
    assert chosen.code == 0, chosen.text
    assert "Every hold is provided for." in chosen.text
    done = findhold("keep", "--closure", "next", "--done", "37", "--json", *FAST)
    hold = holds(done)["37"]["standing"]
    assert hold["stands"]["state"] == "done"
    assert hold["ended"].startswith("opened on Mon 3 Aug 2026")
    assert [word for word, *_ in words_of(monday)[-2:]] == ["hold.way.done.1", "hold.ended.1"]


def test_a_booked_opening_counts_and_not_the_one_that_the_register_planned(monday, findhold):
    findhold("book", "37", "--on", "2026-08-03", "--half", "afternoon", "--with", "Tamsin Orrell")
    plan = findhold("keep", "--closure", "next", "--json", *FAST)
    waits = {row["held"]["number"]: row["wait"] for row in plan.json["waits"]}
    assert waits["37"]["word"] == "opened before"
    assert "Mon 3 Aug" in waits["37"]["why"]
    findhold("book", "37", "--on", "2026-08-25", "--with", "Tamsin Orrell")
    assert "37" in holds(findhold("keep", "--closure", "next", "--json", *FAST))


def test_a_choice_that_ends_a_hold_counts_for_the_closures_after_it(monday, findhold):
    findhold("keep", "--closure", "next", "--choose", "37=open", *FAST)
    later = findhold("keep", "--closure", "bank holiday", "--json", *FAST)
    assert holds(later)["37"]["standing"]["stands"]["state"] == "chosen"


def test_nothing_is_recorded_when_one_of_several_choices_cannot_be(monday, findhold):
    began = words_of(monday)
    for wrong in (("44=renew",), ("3777=open",), ("37=residue",)):
        done = findhold("keep", "--closure", "next", "--duty", "IP", "--choose", "37=open", "--choose", *wrong, *FAST)
        assert done.code == 2, done.text
        assert words_of(monday) == began


def test_past_its_limit_only_an_opening_helps_and_the_first_free_time_is_told(monday, findhold, monkeypatch):
    at(monkeypatch, datetime(2026, 8, 7, 12, tzinfo=BST))
    hold = holds(findhold("keep", "--closure", "2026-08-08", "--json", *FAST))["44"]
    assert hold["standing"]["lack"]["opened_only"]
    assert {way["name"] for way in hold["ways"] if way["possible"]} == {"open before"}
    assert "after its limit" in ways(hold)["open before"]["do"]


def test_nobody_is_named_and_then_somebody_is(monday, findhold):
    hold = holds(findhold("keep", "--closure", "next", "--json", *FAST))["37"]
    duty = ways(hold)["duty check"]
    assert not duty["possible"]
    assert "nobody is named" in duty["why_not"]
    assert "Idris Penhale could be" in duty["why_not"]
    assert hold["standing"]["lack"]["unchecked"]
    named = findhold("keep", "--closure", "next", "--duty", "ip", "--json", *FAST)
    assert named.json["recorded"] == ["Idris Penhale comes on the closed days"]
    hold = holds(named)["37"]
    assert ways(hold)["duty check"]["with_"] == "Idris Penhale"
    assert not ways(hold)["duty check"]["enough"]  # a look moves no limit
    assert hold["standing"]["lack"]["unchecked"] == []


def test_a_duty_holder_who_is_away_is_refused(monday, findhold):
    findhold("book", "--away", "Idris Penhale", "--from", "2026-08-10", "--to", "2026-08-14")
    done = findhold("keep", "--closure", "next", "--duty", "Idris Penhale", *FAST)
    assert done.code == 2
    assert "Idris Penhale is away from Mon 10 Aug 2026 to Fri 14 Aug 2026" in done.text
    unknown = findhold("keep", "--closure", "next", "--duty", "Nobody", *FAST)
    assert "there is no person called 'Nobody'" in unknown.text


def test_without_any_specialist_the_reason_is_told_and_the_measures_stand(planned, findhold, monkeypatch):
    at(monkeypatch, MONDAY)
    hold = holds(findhold("keep", "--closure", "next", "--json", *FAST))["37"]
    before = ways(hold)["open before"]
    assert not before["possible"]
    assert "nobody in the register has skills" in before["why_not"]
    assert ways(hold)["inert wrapping"]["possible"]
    refused = findhold("keep", "--closure", "next", "--choose", "37=open before", *FAST)
    assert refused.code == 2
    assert "open before is not possible" in refused.text


def test_a_bench_elsewhere_counts_its_courier(monday, findhold, tmp_path):
    file = tmp_path / "far.csv"
    file.write_text("Name,Job,Skills,Days by courier\nFar Laboratory,laboratory,opening;lipid;radiocarbon,1\n")
    assert findhold("import", file).code == 0
    way = ways(holds(findhold("keep", "--closure", "next", "--json", *FAST))["37"])["send away"]
    assert way["possible"]
    assert way["send_on"] < way["on"] <= "2026-08-07"
    slow = file.read_text().replace("courier\nFar", "courier\nSlow").replace(",1\n", ",4\n")
    file.write_text(slow)
    assert findhold("import", file).code == 0


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("keep", "--closure", "Michaelmas"), "there is no closure called 'Michaelmas'"),
        (("keep", "--closure", "next", "--choose", "37"), "is no choice"),
        (("keep", "37", "--closure", "next"), "planned for every hold"),
        (("keep", "37", "--choose", "37=open"), "of a closure's plan"),
        (("keep", "--closure", "next", "--done", "37"), "nothing is chosen for it"),
        (("keep", "--closure", "next", "--choose", "41=open"), "no box is planned for it"),
        (("keep", "--closure", "next", "--choose", "37=open", "--choose", "37=renew"), "two ways are chosen"),
        (("keep", "--closure", "next", "--choose", "37=open", "--at", "2026-08-03T09:00+01:00"), "--at"),
    ],
)
def test_bad_requests_are_told_and_record_nothing(asked, said, monday, findhold):
    began = words_of(monday)
    done = findhold(*asked)
    assert done.code == 2
    assert said in done.text
    assert words_of(monday) == began


def closures(findhold, tmp_path, text):
    file = tmp_path / "more.csv"
    file.write_text(f"From;To (last day);Why\n{text}\n")
    return findhold("import", file)


def test_a_closure_that_ends_before_it_begins_is_not_read(monday, findhold, tmp_path):
    began = words_of(monday)
    done = closures(findhold, tmp_path, "12.09.2026;10.09.2026;painters")
    assert done.code == 2
    assert "before" in done.text
    assert words_of(monday) == began


def test_overlapping_closures_are_counted_together_and_told(monday, findhold, tmp_path):
    assert closures(findhold, tmp_path, "20.08.2026;28.08.2026;boiler is changed").code == 0
    done = findhold("keep", "--closure", "works", "--json", *FAST)
    assert done.json["again"].startswith("2026-09-01T09:00")  # behind the boiler, a weekend and the bank holiday
    assert any("It overlaps the closure from Thu 20 Aug 2026" in note for note in done.json["notes"])


def test_a_closure_of_more_than_a_year_is_refused_with_the_day_it_may_end(monday, findhold, tmp_path):
    assert closures(findhold, tmp_path, "01.10.2026;01.10.2027;moved out").code == 0
    longer = closures(findhold, tmp_path, "01.10.2026;02.10.2027;moved out again")
    assert longer.code == 2
    assert "Allowed: 2027-10-01 or earlier" in longer.text
    endless = closures(findhold, tmp_path, "01.12.2028;01.12.2040;gone")
    assert endless.code == 2
    assert "a longer closure is entered by the year" in endless.text


def test_the_page_to_sign_is_one_page_and_says_what_was_chosen_and_what_is_left(monday, findhold, tmp_path):
    sheet = tmp_path / "closure.pdf"
    findhold("keep", "--closure", "next", "--choose", "37=open", "--sheet", sheet, *FAST)
    reader = PdfReader(sheet)
    assert len(reader.pages) == 1
    page = reader.pages[0]
    assert (round(float(page.mediabox.width)), round(float(page.mediabox.height))) == (595, 842)
    text = " ".join(page.extract_text().split())
    for said in ("closed Sat 8 Aug to Sun 23 Aug 2026", "Mon 24 Aug, 09:00", "open before", "chosen by Marian Holt"):
        assert said in text
    for said in ("decided by", "signed", "1 to be decided", "nothing done:"):
        assert said in text
    assert "--" not in text  # a director types no commands


def test_the_strip_of_a_closure_that_is_over_shows_its_own_days(monday):
    october = datetime(2026, 10, 5, 9, tzinfo=BST)
    with office_module.office(str(monday), read_only=True, now=lambda: october) as desk:
        seen = closure_seen(desk, ClosureRequest(first_day=datetime(2026, 8, 8, tzinfo=BST).date()))
    assert seen.closure.over
    assert "24 Aug" in seen.strip_svg
    assert "Oct" not in seen.strip_svg
    assert "closed Sat 8 Aug to Sun 23 Aug" in seen.strip_svg


def test_the_page_records_a_choice_once_and_tells_what_is_wrong(monday):
    from conftest_web import make_browser

    browser = make_browser(monday)
    browser.sign_in()
    page = browser.get("/closures?closure=2026-08-08&ask=37")
    assert 'value="open before"' in page.text
    form = {"closure": "2026-08-08", "find": "37", "way": "open before", "_key": "8c2f7e3a-6a4e-4a63-9a5d-0c8a5f6a1b2c"}
    began = len(words_of(monday))
    for _ in range(2):
        assert browser.post("/closures/choose?closure=2026-08-08", form).status_code == 200
    assert len([word for word, *_ in words_of(monday)[began:] if word == "hold.way.chosen.1"]) == 1
    wrong = browser.post("/closures/choose?closure=2026-08-08", {"closure": "2026-08-08", "duty": "Nobody"})
    assert wrong.status_code == 404
    assert "Nobody" in wrong.text
    assert browser.ask("POST", "/closures/choose?closure=2026-08-08", data={"way": "none"}).status_code == 403
    assert browser.get("/closures/plan.pdf?closure=2026-08-08").content.startswith(b"%PDF")


def test_with_no_closure_ahead_the_next_one_is_none_and_what_is_late_is_told(monday, findhold, monkeypatch):
    at(monkeypatch, datetime(2026, 9, 7, 9, tzinfo=BST))
    done = findhold("keep", "--closure", "next", *FAST)
    assert done.code == 2
    assert "no closure lies ahead; the last one ended on" in done.text
    assert "2 boxes are past their date" in done.text
    assert "findhold due" in done.text


def test_nothing_is_done_before_its_day(monday, findhold, monkeypatch):
    at(monkeypatch, datetime(2026, 8, 2, 12, tzinfo=BST))
    chosen = findhold("keep", "--closure", "next", "--choose", "44=open before", "--json", *FAST)
    on = holds(chosen)["44"]["standing"]["chosen"]["on"]
    assert on > "2026-08-02", "an opening ahead is what this test is about"
    done = findhold("keep", "--closure", "next", "--done", "44", *FAST)
    assert done.code == 2
    assert "lies ahead" in done.text
    at(monkeypatch, datetime.fromisoformat(f"{on}T17:00:00+01:00"))
    assert "opened, its hold has ended" in findhold("keep", "--closure", "next", "--done", "44", *FAST).text


def test_a_closure_of_decades_is_a_slip_of_its_year(monday, findhold, tmp_path):
    file = tmp_path / "closures.csv"
    file.write_text("From,To,Why\n2026-10-01,2099-10-02,slip\n")
    done = findhold("import", file)
    assert done.code == 2
    assert "a longer closure is entered by the year" in done.text
    file.write_text("From,To,Why\n2026-12-24,2027-01-03,winter\n")
    assert findhold("import", file).code == 0
    assert "closed Thu 24 Dec 2026 to Sun 3 Jan 2027" in findhold("keep", "--closure", "winter", *FAST).text


def test_the_colder_place_is_asked_of_the_shelves(monday, findhold):
    plan = holds(findhold("keep", "--closure", "next", "--json", *FAST))
    told = [ways(hold)["colder place"] for hold in plan.values() if "colder place" in ways(hold)]
    assert all("if there is room" not in way["do"] for way in told if way["possible"])
