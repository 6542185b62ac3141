"""Bookings on example finds: what is late and why, appointments, circles, nobody with the skill, a closure over all."""

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

import pytest

from findhold.book.appointments import without_bench
from findhold.book.halfdays import first_tick, half_day, last_tick, tick_of
from findhold.book.inputs import Before, BookingInputs, Equipment, HalfDay, Job, Place, Specialist
from findhold.book.plan import plan_bookings
from findhold.book.remedies import Wanted, first_free, what_helps
from findhold.dates.closures import Closure
from findhold.errors import BadInput, UnknownName
from findhold.tables.benchwork import find_skill, opening_skill

ZONE = timezone(timedelta(hours=1))
NOW = datetime(2026, 7, 31, 17, 30, tzinfo=ZONE)
SHUTDOWN = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown")
FIELD = Closure(first_day=date(2026, 7, 20), last_day=date(2026, 8, 31), reason="field season")
RESIDUE = Specialist(name="Tamsin Orrell", skills=("opening", "lipid"), away=(FIELD,))
CONSERVATOR = Specialist(name="Joss Arkwell", skills=("opening", "imaging"))


def on(day, month=8):
    return date(2026, month, day)


def job(find, what, day, hour=19, **more):
    facts = {"hours": 1.0, "release": NOW, "due": datetime(2026, 8, day, hour, tzinfo=ZONE)}
    return Job(find=find, what=what, **{**facts, **more})


def inputs(*jobs, people=(RESIDUE, CONSERVATOR), **more):
    facts = {"now": NOW, "until": date(2026, 9, 11), "closures": (SHUTDOWN,)}
    return BookingInputs(specialists=people, jobs=jobs, **{**facts, **more})


def test_half_days_and_limits():
    assert half_day(tick_of(HalfDay(day=on(4), half=1))) == HalfDay(day=on(4), half=1)
    nine = datetime(2026, 8, 4, 9, tzinfo=ZONE)
    assert half_day(first_tick(nine)) == HalfDay(day=on(4), half=0)
    assert half_day(first_tick(nine + timedelta(minutes=1))) == HalfDay(day=on(4), half=1)
    assert half_day(first_tick(nine + timedelta(hours=5))) == HalfDay(day=on(5), half=0)
    assert half_day(last_tick(nine - timedelta(minutes=1))) == HalfDay(day=on(3), half=1)
    assert half_day(last_tick(nine)) == HalfDay(day=on(4), half=0)
    assert half_day(last_tick(nine + timedelta(hours=4))) == HalfDay(day=on(4), half=1)


def test_the_jar_of_the_shutdown_is_late_and_the_plan_says_who_is_missing():
    """Limit 7 August, residue specialist away until 31 August: 1 September is 25 days later, less half a day."""
    plan = plan_bookings(inputs(job("37", "opening", 7, hours=3.0), job("37", "lipid", 7)))
    late = plan.late[0]
    assert (late.what, late.at, late.late_days) == ("lipid", HalfDay(day=on(1, 9)), 24.5)
    assert late.why_late.kind == "nobody"
    assert "Tamsin Orrell is away until 31 Aug (field season)" in late.why_late.text
    opened = next(b for b in plan.bookings if b.what == "opening")
    assert opened.with_ == "Joss Arkwell"
    assert opened.late_days == 0
    told = what_helps(inputs(job("37", "opening", 7, hours=3.0), job("37", "lipid", 7)), plan)
    best = told[0]
    assert best.after_days == 0
    assert best.in_time == ("37",)
    assert any("Tamsin Orrell comes back for Fri 7 Aug" in remedy.text for remedy in told)
    assert any("another person who does lipid" in remedy.text for remedy in told)


def test_a_bench_elsewhere_is_sent_to_before_the_shutdown_and_used_within_it():
    """Two working days by courier to 10 August: it leaves on 6 August, while the unit is open."""
    away = Specialist(name="Laboratory", skills=("lipid",), courier_days=2, sittings=(HalfDay(day=on(10)),))
    plan = plan_bookings(inputs(job("37", "lipid", 12), people=(away,)))
    assert plan.in_time
    assert plan.bookings[0].at.day == on(10)
    assert plan.bookings[0].send_on == on(6)


def test_a_sample_goes_to_the_laboratory_only_after_the_opening():
    """Opened on Thursday, sent the same day, two working days later is Monday."""
    unit = Specialist(name="Joss Arkwell", skills=("opening",), sittings=(HalfDay(day=on(6)),))
    away = Specialist(name="Laboratory", skills=("lipid",), courier_days=2)
    rule = Before(find="37", first="opening", then="lipid")
    plan = plan_bookings(inputs(job("37", "opening", 7), job("37", "lipid", 7), people=(unit, away), order=(rule,)))
    lipid = next(b for b in plan.bookings if b.what == "lipid")
    assert (lipid.send_on, lipid.at.day) == (on(6), on(10))


def test_a_limit_already_past_is_told_and_the_find_comes_first():
    plan = plan_bookings(inputs(job("44", "opening", 1, hour=8), job("52", "opening", 28)))
    first = plan.bookings[0]
    assert (first.find, first.at.day) == ("44", on(3))
    assert first.why_late.kind == "past"
    assert "Sat 1 Aug" in first.why_late.text


def test_nobody_with_the_skill_is_left_out_and_the_rest_planned():
    plan = plan_bookings(inputs(job("55", "osteology", 9), job("41", "opening", 9)))
    assert [(out.find, out.what, out.why) for out in plan.left_out] == [("55", "osteology", "nobody does osteology")]
    assert [b.find for b in plan.bookings] == ["41"]
    assert not plan.in_time


def test_what_must_come_first_and_has_nobody_is_told():
    rule = Before(find="44", first="luminescence", then="opening", why="soil must not see light", severity="destroys")
    plan = plan_bookings(inputs(job("44", "luminescence", 7), job("44", "opening", 7), order=(rule,)))
    assert any("luminescence should come before opening (soil must not see light)" in note for note in plan.notes)


def test_circular_rules_are_named_and_their_jobs_left_out():
    rules = (Before(find="37", first="opening", then="lipid"), Before(find="37", first="lipid", then="opening"))
    plan = plan_bookings(inputs(job("37", "opening", 7), job("37", "lipid", 7), job("41", "opening", 7), order=rules))
    assert {out.what for out in plan.left_out} == {"opening", "lipid"}
    assert "lipid before opening before lipid" in plan.left_out[0].why
    assert [b.find for b in plan.bookings] == ["41"]


def test_a_closure_over_everything_is_an_answer():
    shut = Closure(first_day=on(1), last_day=on(30, 9), reason="works shutdown")
    plan = plan_bookings(inputs(job("41", "opening", 7), closures=(shut,)))
    assert plan.bookings == ()
    assert "works shutdown" in plan.left_out[0].why
    assert what_helps(inputs(job("41", "opening", 7), closures=(shut,)), plan) == ()


def test_full_half_days_are_counted():
    """Five openings of 3 h for one person with a morning and an afternoon of 3.5 h before the limit: three are late."""
    person = replace(CONSERVATOR, skills=("opening",))
    jobs = tuple(job(str(k), "opening", 3, hours=3.0) for k in range(5))
    plan = plan_bookings(inputs(*jobs, people=(person,)))
    late = [b for b in plan.bookings if b.late_days]
    assert len(late) == 3
    # One hour of the seven is left, nine are wanted: eight hours are two half-days and a bit.
    assert late[0].why_late.kind == "full"
    assert late[0].why_late.short == 3
    assert plan.scarce == () or plan.scarce[0][0] == person.name


def test_equipment_is_shared_by_all_who_need_it():
    people = (Specialist(name="A", skills=("imaging",)), Specialist(name="B", skills=("imaging",)))
    jobs = tuple(job(str(k), "imaging", 3, hours=1.0, needs=("X-ray",)) for k in range(4))
    plan = plan_bookings(inputs(*jobs, people=people, equipment=(Equipment(name="X-ray", hours=(1.0, 1.0)),)))
    days = sorted((b.at.day, b.at.half) for b in plan.bookings)
    assert days == [(on(3), 0), (on(3), 1), (on(4), 0), (on(4), 1)]


def test_fixed_appointments_stand_and_others_go_round_them():
    fixed = Place(find="41", what="opening", with_="Joss Arkwell", at=HalfDay(day=on(3)))
    plan = plan_bookings(
        inputs(job("41", "opening", 28, hours=3.5), job("42", "opening", 3, hours=3.5), fixed=(fixed, fixed))
    )
    assert plan.in_time
    assert next(b for b in plan.bookings if b.find == "41").fixed
    assert next(b for b in plan.bookings if b.find == "42").at == HalfDay(day=on(3), half=1)
    assert sum("entered twice, counted once" in note for note in plan.notes) == 1


def test_fixed_appointments_beyond_the_hours_are_told_and_kept():
    fixed = tuple(Place(find=f, what="opening", with_="Joss Arkwell", at=HalfDay(day=on(3))) for f in ("1", "2"))
    plan = plan_bookings(inputs(job("1", "opening", 3, hours=3.0), job("2", "opening", 3, hours=3.0), fixed=fixed))
    assert any("take 6 h of 3.5 h" in note for note in plan.notes)
    assert {b.at for b in plan.bookings} == {HalfDay(day=on(3))}


def test_an_appointment_on_a_closed_day_is_told_and_planned_anew():
    fixed = Place(find="1", what="opening", with_="Joss Arkwell", at=HalfDay(day=on(10)))
    plan = plan_bookings(inputs(job("1", "opening", 7), fixed=(fixed,)))
    assert any("cannot be kept (works shutdown)" in note for note in plan.notes)
    assert plan.in_time


def test_fixed_appointments_against_the_order_are_kept_and_told():
    rule = Before(find="44", first="imaging", then="opening", why="the picture says where to dig")
    fixed = (
        Place(find="44", what="opening", with_="Joss Arkwell", at=HalfDay(day=on(3))),
        Place(find="44", what="imaging", with_="Joss Arkwell", at=HalfDay(day=on(4))),
    )
    plan = plan_bookings(inputs(job("44", "opening", 7), job("44", "imaging", 7), order=(rule,), fixed=fixed))
    assert any("puts opening before imaging (the picture says where to dig)" in note for note in plan.notes)


def test_two_different_appointments_for_one_job_are_refused():
    first = Place(find="1", what="opening", with_="Joss Arkwell", at=HalfDay(day=on(3)))
    with pytest.raises(BadInput, match="two appointments for one job"):
        plan_bookings(inputs(job("1", "opening", 7), fixed=(first, replace(first, at=HalfDay(day=on(4))))))


def test_an_appointment_with_somebody_unknown_is_refused_with_near_names():
    fixed = Place(find="1", what="opening", with_="Jos Arkwel", at=HalfDay(day=on(3)))
    with pytest.raises(UnknownName, match="Joss Arkwell"):
        plan_bookings(inputs(job("1", "opening", 7), fixed=(fixed,)))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"hours": -1.0}, "duration"),
        ({"hours": 0.0}, "duration is 0 h"),
        ({"hours": float("nan")}, "duration"),
        ({"weight": -1.0}, "weight"),
        ({"needs": ("kiln",)}, "no equipment"),
    ],
)
def test_jobs_that_cannot_be_meant_are_refused(change, said):
    with pytest.raises(BadInput, match=said):
        plan_bookings(inputs(job("1", "opening", 7, **change)))


def test_names_twice_and_a_past_last_day_are_refused():
    with pytest.raises(BadInput, match="stands twice"):
        plan_bookings(inputs(job("1", "opening", 7), job("1", "opening", 8)))
    with pytest.raises(BadInput, match="stands twice"):
        plan_bookings(inputs(job("1", "opening", 7), people=(CONSERVATOR, CONSERVATOR)))
    with pytest.raises(BadInput, match="last day"):
        plan_bookings(inputs(job("1", "opening", 7), until=on(30, 7)))


def test_notice_is_wanted_for_what_is_new_and_not_for_what_was_promised():
    person = replace(CONSERVATOR, lead_days=3)
    new = plan_bookings(inputs(job("1", "opening", 28), people=(person,)))
    # Three working days after Friday 31 July.
    assert new.bookings[0].at.day == on(5)
    promise = Place(find="1", what="opening", with_="Joss Arkwell", at=HalfDay(day=on(3)))
    kept = plan_bookings(inputs(job("1", "opening", 28), people=(person,), promised=(promise,)))
    assert kept.bookings[0].at == promise.at


def test_moves_first_leaves_promises_where_they_are():
    """Two finds promised in each other's best places: lateness first swaps them, moves first does not."""
    person = replace(CONSERVATOR, skills=("opening",), sittings=(HalfDay(day=on(3)), HalfDay(day=on(24))))
    jobs = (job("1", "opening", 3, hours=3.5, weight=5.0), job("2", "opening", 24, hours=3.5))
    promised = tuple(
        Place(find=find, what="opening", with_="Joss Arkwell", at=HalfDay(day=day))
        for find, day in (("1", on(24)), ("2", on(3)))
    )
    late_first = plan_bookings(inputs(*jobs, people=(person,), promised=promised))
    moves_first = plan_bookings(inputs(*jobs, people=(person,), promised=promised, few_moves=True))
    assert late_first.lateness_days == 0
    assert sum(b.moved_from is not None for b in late_first.bookings) == 2
    assert sum(b.moved_from is not None for b in moves_first.bookings) == 0
    # Find 1 is 21 days late less half a day, five times.
    assert moves_first.lateness_days == pytest.approx(5 * 20.5)


@pytest.mark.parametrize(
    ("materials", "human", "skill"),
    [
        (("low-fired ceramic",), False, "opening"),
        (("low-fired ceramic", "charred crust"), False, "opening"),
        (("iron", "mineral-preserved organics"), False, "opening unstable finds"),
        (("glass", "thread"), False, "opening unstable finds"),
        (("low-fired ceramic", "iron"), False, "opening unstable finds"),
        (("cremation urn", "human bone"), False, "opening human remains"),
        (("wood",), True, "opening human remains"),
    ],
)
def test_who_may_open_follows_who_decides_on_the_find(materials, human, skill):
    assert opening_skill(materials, "damp", human=human).skill == skill


def test_a_skill_is_read_by_its_other_names_and_analyses_stay_what_they_are():
    assert find_skill("Opening metal") == "opening unstable finds"
    assert find_skill("opening") == "opening"
    with pytest.raises(UnknownName):
        find_skill("opening of shops")


def test_an_opening_that_nobody_may_make_is_left_out_with_whom_is_wanted_never_given_to_another():
    urn = job("55", "opening", 7, skill="opening human remains", wanted="an osteologist with the conservator")
    alone = plan_bookings(inputs(urn))
    assert alone.bookings == ()
    assert "wanted: an osteologist with the conservator" in alone.left_out[0].why
    osteologist = Specialist(name="Wenna Pascoe", skills=("opening human remains",))
    plan = plan_bookings(inputs(urn, people=(CONSERVATOR, osteologist)))
    assert [one.with_ for one in plan.bookings] == ["Wenna Pascoe"]


def test_the_first_free_time_for_an_opening_comes_after_its_imaging_as_in_the_plan():
    order = (Before(find="44", first="imaging", then="opening"),)
    found = inputs(job("44", "imaging", 7, hours=0.5), job("44", "opening", 7, hours=3.0), order=order)
    imaging = next(one for one in plan_bookings(found).bookings if one.what == "imaging")
    facts = {"skills": ("opening",), "hours": 3.0, "without": "44", "elsewhere": False, "before": on(8)}
    late = replace(imaging, at=HalfDay(day=on(5), half=1))
    same = first_free(found, (late,), Wanted(**facts, first=(late,)))
    assert (same.at, same.with_) == (HalfDay(day=on(5), half=1), "Joss Arkwell")
    other = replace(late, with_="Somebody else")
    assert first_free(found, (other,), Wanted(**facts, first=(other,))).at == HalfDay(day=on(6))
    # An imaging of an hour leaves 2.5 h of the half-day: the opening waits for the next one.
    longer = replace(late, hours=1.0)
    assert first_free(found, (longer,), Wanted(**facts, first=(longer,))).at == HalfDay(day=on(6))


def test_planned_openings_are_weighed_against_the_bench_hours_that_are_left():
    """A morning of 3.5 h holds one opening of 3 h; a fixed appointment takes its hours before what is only planned."""
    morning = HalfDay(day=on(4))
    jobs = [job(find, "opening", day, hours=3.0) for find, day in (("41", 7), ("45", 6), ("52", 5))]
    planned = [Place(find=find, what="opening", with_="", at=morning) for find in ("41", "45")]
    only = {"people": (CONSERVATOR,)}
    told = without_bench(inputs(*jobs, **only, promised=tuple(planned)))
    assert set(told) == {"41"}, "the nearest limit comes first"
    assert "Joss Arkwell has 0.5 h left of that morning" in told["41"]
    fixed = (Place(find="52", what="opening", with_="Joss Arkwell", at=morning),)
    assert set(without_bench(inputs(*jobs, **only, promised=tuple(planned), fixed=fixed))) == {"41", "45"}
    apart = (planned[0], replace(planned[1], at=HalfDay(day=on(4), half=1)))
    assert without_bench(inputs(*jobs, **only, promised=apart)) == {}


def test_a_planned_opening_that_nobody_may_make_says_who_is_wanted():
    urn = job("55", "opening", 7, skill="opening human remains", wanted="an osteologist with the conservator")
    place = Place(find="55", what="opening", with_="", at=HalfDay(day=on(4)))
    assert "wanted: an osteologist" in without_bench(inputs(urn, promised=(place,)))["55"]


def test_a_rule_turned_round_by_an_appointment_is_told_in_words_and_no_days_of_lateness():
    rule = Before(find="44", first="imaging", then="opening")
    fixed = (Place(find="44", what="opening", with_="Joss Arkwell", at=HalfDay(day=on(3))),)
    late = Place(find="44", what="imaging", with_="Joss Arkwell", at=HalfDay(day=on(4)))
    jobs = (job("44", "imaging", 7), job("44", "opening", 7))
    plan = plan_bookings(inputs(*jobs, order=(rule,), fixed=(*fixed, late)))
    assert any("puts opening before imaging" in note for note in plan.notes)
    assert plan.lateness_days == 0.0
