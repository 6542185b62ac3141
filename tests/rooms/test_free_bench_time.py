"""The first bench time that is free beside a plan of bookings."""

from datetime import date, datetime, timedelta, timezone

from findhold.book.inputs import BookingInputs, HalfDay, Job, Place, Specialist
from findhold.book.plan import plan_bookings
from findhold.book.remedies import Wanted, first_free
from findhold.dates.closures import Closure

BST = timezone(timedelta(hours=1))
NOW = datetime(2026, 8, 3, 8, 30, tzinfo=BST)
"""A Monday."""
CLOSED = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown")
ADA = Specialist(name="Ada", skills=("opening", "lipid"))


def job(find, hours=3.0):
    return Job(find=find, what="opening", hours=hours, release=NOW, due=NOW + timedelta(days=20))


def free(*, jobs=(), specialists=(ADA,), skills=("opening",), hours=3.0, without="9", elsewhere=False):
    inputs = BookingInputs(
        now=NOW, until=date(2026, 9, 10), specialists=specialists, jobs=tuple(jobs), closures=(CLOSED,)
    )
    bookings = plan_bookings(inputs).bookings if jobs else ()
    wanted = Wanted(skills=skills, hours=hours, without=without, elsewhere=elsewhere, before=CLOSED.first_day)
    return first_free(inputs, bookings, wanted)


def test_without_a_plan_it_is_the_first_half_day():
    found = free()
    assert (found.with_, found.at, found.send_on) == ("Ada", HalfDay(day=date(2026, 8, 3)), date(2026, 8, 3))


def test_what_is_planned_takes_its_half_days():
    # Two openings of 3 h fill the half-days of Monday, 3.5 h each; one of half an hour still fits beside one.
    taken = free(jobs=[job("1"), job("2")])
    assert taken.at == HalfDay(day=date(2026, 8, 4))
    assert free(jobs=[job("1"), job("2")], hours=0.5).at == HalfDay(day=date(2026, 8, 3))


def test_the_finds_own_booking_makes_room():
    assert free(jobs=[job("1"), job("2")], without="1").at.day == date(2026, 8, 3)


def test_nothing_is_free_on_closed_days_and_after():
    week = [job(str(n)) for n in range(10, 20)]  # Monday to Friday, two a day
    assert free(jobs=week) is None


def test_one_person_must_be_able_to_do_all_of_it():
    others = (Specialist(name="Bo", skills=("opening",)), Specialist(name="Cy", skills=("lipid",)))
    assert free(specialists=others, skills=("opening", "lipid")) is None
    assert free(specialists=(*others, ADA), skills=("opening", "lipid")).with_ == "Ada"


def test_work_longer_than_any_half_day_finds_none():
    assert free(hours=4.0) is None


def test_a_bench_elsewhere_counts_by_the_day_it_leaves():
    far = Specialist(name="Far laboratory", skills=("opening",), courier_days=2)
    assert free(specialists=(ADA,), elsewhere=True) is None
    found = free(specialists=(ADA, far), elsewhere=True)
    assert (found.with_, found.send_on, found.at.day) == ("Far laboratory", date(2026, 8, 3), date(2026, 8, 5))


def test_a_fixed_appointment_is_kept_free_of_others():
    place = Place(find="1", what="opening", with_="Ada", at=HalfDay(day=date(2026, 8, 3)))
    inputs = BookingInputs(
        now=NOW, until=date(2026, 9, 10), specialists=(ADA,), jobs=(job("1"),), fixed=(place,), closures=(CLOSED,)
    )
    wanted = Wanted(skills=("opening",), hours=3.0, without="9", elsewhere=False, before=CLOSED.first_day)
    assert first_free(inputs, plan_bookings(inputs).bookings, wanted).at == HalfDay(day=date(2026, 8, 3), half=1)
