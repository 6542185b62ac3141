"""Who comes on a day: duty holders, part-time weekdays, absences, stand-ins, closed days with and without a name."""

from datetime import UTC, date, datetime, timedelta

import pytest

from findhold.dates.availability import Roster, closure_questions, on_duty, who_is_in
from findhold.dates.closures import Closure
from findhold.dates.instants import at_hour, clock_changes, zone_named
from findhold.dates.people import Person, cover_questions, person_meant, weekdays_read
from findhold.errors import BadInput

SHUTDOWN = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown")
ATTENDED = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown", who="IP")
BANK = Closure(first_day=date(2026, 8, 31), last_day=date(2026, 8, 31), reason="Late Summer Bank Holiday")
LEAVE = Closure(first_day=date(2026, 8, 3), last_day=date(2026, 8, 7), reason="away")
MON, WED, SAT = date(2026, 8, 3), date(2026, 8, 12), date(2026, 8, 1)


def roster(*people, **changes):
    given = people or (Person(name="Idris Penhale", initials="IP"), Person(name="Marian Holt", initials="MH"))
    base = {"people": {one.name: one for one in given}, "duty": {"": ("Idris Penhale",)}}
    return Roster(**{**base, **changes})


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("Mon-Thu", {0, 1, 2, 3}),
        ("Mon, Wed and Fri", {0, 2, 4}),
        ("Mo-Do", {0, 1, 2, 3}),
        ("lundi, jeudi", {0, 3}),
        ("Fri to Mon", {4, 5, 6, 0}),
        ("tuesday / thurs.", {1, 3}),
    ],
)
def test_weekdays_are_read_as_people_write_them(text, days):
    assert weekdays_read(text) == days


@pytest.mark.parametrize("text", ["", "Mon-Blursday", "3"])
def test_what_is_no_weekday_is_refused(text):
    with pytest.raises(BadInput, match="no weekday"):
        weekdays_read(text, "person X, weekdays")


def test_the_duty_holder_comes_on_open_days_and_nobody_at_weekends():
    assert on_duty(roster(), "Fridge 1", MON).person.name == "Idris Penhale"
    assert on_duty(roster(), "Fridge 1", SAT).kind == "rest"


def test_a_store_with_its_own_duty_holder_has_them_and_the_others_do_not():
    two = roster(duty={"": ("Idris Penhale",), "Cool room": ("MH",)})
    assert on_duty(two, "Cool room", MON).person.name == "Marian Holt"
    assert on_duty(two, "Fridge 1", MON).person.name == "Idris Penhale"


def test_where_nobody_is_named_anybody_may_come_on_open_days_only():
    nobody = roster(duty={}, closures=((None, SHUTDOWN),))
    assert on_duty(nobody, "Fridge 1", MON).kind == "anyone"
    assert on_duty(nobody, "Fridge 1", WED).kind == "closed"


def test_nobody_comes_on_a_closed_day_unless_the_closure_names_somebody():
    shut = on_duty(roster(closures=((None, SHUTDOWN),)), "Fridge 1", WED)
    assert not shut.comes
    assert "works shutdown" in shut.why
    kept = on_duty(roster(closures=((None, ATTENDED),)), "Fridge 1", WED)
    assert (kept.kind, kept.person.name) == ("duty", "Idris Penhale")


def test_a_closure_of_one_store_leaves_the_others_open():
    one = roster(closures=(("Cool room", SHUTDOWN),))
    assert on_duty(one, "Cool room", WED).kind == "closed"
    assert on_duty(one, "Fridge 1", WED).comes


def test_a_public_holiday_is_closed_and_may_have_a_name_for_all_closed_days():
    plain = roster(holidays=(BANK,))
    assert on_duty(plain, "Fridge 1", BANK.first_day).kind == "closed"
    assert (
        on_duty(roster(holidays=(BANK,), closed_duty=("MH",)), "Fridge 1", BANK.first_day).person.name == "Marian Holt"
    )


def test_who_is_away_is_stood_in_for_and_the_stand_in_for_the_stand_in():
    idris = Person(name="Idris Penhale", away=(LEAVE,), covered_by=("Marian Holt",))
    assert on_duty(roster(idris, Person(name="Marian Holt")), "Fridge 1", MON).kind == "cover"
    marian = Person(name="Marian Holt", away=(LEAVE,), covered_by=("Saffron Ode",))
    found = on_duty(roster(idris, marian, Person(name="Saffron Ode")), "Fridge 1", MON)
    assert found.person.name == "Saffron Ode"
    assert "Idris Penhale is away until Fri 7 Aug 2026" in found.why


def test_stand_ins_who_stand_in_for_each_other_and_are_both_away_end_in_nobody():
    idris = Person(name="Idris Penhale", away=(LEAVE,), covered_by=("Marian Holt",))
    marian = Person(name="Marian Holt", away=(LEAVE,), covered_by=("Idris Penhale",))
    found = on_duty(roster(idris, marian), "Fridge 1", MON)
    assert found.kind == "away"
    assert "nobody stands in" in found.why


def test_a_duty_holder_who_works_part_time_does_not_come_on_other_days():
    half = roster(Person(name="Idris Penhale", weekdays=frozenset({0, 1})))
    assert on_duty(half, "Fridge 1", MON).comes
    assert on_duty(half, "Fridge 1", date(2026, 8, 5)).kind == "away"


def test_part_time_days_count_as_working_days_of_that_person():
    # Mondays and Tuesdays: three working days after Monday 3 August are Tuesday 4, Monday 10 and Tuesday 11.
    half = roster(Person(name="Idris Penhale", weekdays=frozenset({0, 1})))
    assert half.calendar(half.people["Idris Penhale"]).add(MON, 3) == date(2026, 8, 11)
    # Five working days of the unit after Monday 3 August with Saturday 8 to Sunday 23 closed: Tuesday 4 to Friday 7
    # are four, Monday 24 is the fifth.
    assert roster(closures=((None, SHUTDOWN),)).calendar().add(MON, 5) == date(2026, 8, 24)


def test_who_is_in_leaves_out_who_is_away_and_everybody_on_closed_days():
    two = roster(Person(name="Idris Penhale", away=(LEAVE,)), Person(name="Marian Holt"), closures=((None, SHUTDOWN),))
    assert [one.name for one in who_is_in(two, MON)] == ["Marian Holt"]
    assert who_is_in(two, WED) == ()


def test_two_people_with_the_same_initials_are_nobody():
    twins = {name: Person(name=name, initials="IP") for name in ("Idris Penhale", "Ivy Pole")}
    assert person_meant("IP", twins) is None
    assert person_meant("ivy pole", twins).name == "Ivy Pole"


def test_what_must_be_settled_is_asked():
    endless = Closure(first_day=date(2026, 1, 1), last_day=date(2028, 1, 1), reason="moved out", who="Bob")
    first = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works", who="Idris Penhale")
    other = Closure(first_day=date(2026, 8, 20), last_day=date(2026, 8, 30), reason="leave", who="Marian Holt")
    asked = closure_questions(roster(closures=((None, endless), (None, first), ("Fridge 1", other))))
    words = " ".join(question.text for question in asked)
    assert "lasts 731 days" in words
    assert "names 'Bob'" in words
    assert "works (Sat 8 Aug 2026 to Sun 23 Aug 2026) names Idris Penhale" in words
    (strange,) = cover_questions({"A": Person(name="A", covered_by=("Nemo",))})
    assert "'Nemo'" in strange.text
    (own,) = cover_questions({"A": Person(name="A", covered_by=("A",))})
    assert "their own cover" in own.text


def test_closures_that_do_not_overlap_or_agree_ask_nothing():
    same = Closure(first_day=date(2026, 8, 20), last_day=date(2026, 8, 30), reason="leave", who="Idris Penhale")
    first = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works", who="Idris Penhale")
    assert closure_questions(roster(closures=((None, first), (None, same), (None, BANK)))) == ()


def test_nine_o_clock_stays_nine_o_clock_when_the_clocks_change():
    # Europe/London: back on 25 October 2026, forward on 29 March 2026 (the last Sundays).
    for sunday in (date(2026, 10, 25), date(2026, 3, 29)):
        around = [at_hour(sunday + timedelta(days=n), 9, "Europe/London") for n in (-1, 0, 1)]
        assert [one.hour for one in around] == [9, 9, 9]
        assert around[0].utcoffset() != around[2].utcoffset()
        assert around[1] - around[0] != timedelta(hours=24)


def test_an_hour_that_comes_twice_is_the_first_and_one_that_never_comes_is_the_next():
    london = zone_named("Europe/London")
    assert clock_changes(datetime(2026, 10, 25, 1), london) == "twice"
    assert at_hour(date(2026, 10, 25), 1, "Europe/London") == datetime(2026, 10, 25, 0, tzinfo=UTC)
    assert clock_changes(datetime(2026, 3, 29, 1), london) == "never"
    assert at_hour(date(2026, 3, 29), 1, "Europe/London") == datetime(2026, 3, 29, 1, tzinfo=UTC)
