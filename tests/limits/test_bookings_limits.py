"""Plans of bookings against every plan there is (tiny cases), and rules that no plan may break."""

import itertools
from datetime import date, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from findhold.book.columns import AFTER_THE_END_DAYS
from findhold.book.inputs import Before, BookingInputs, Costs, Equipment, HalfDay, Job, Place, Specialist
from findhold.book.plan import plan_bookings
from findhold.book.solve import Effort
from findhold.dates.closures import Closure

ZONE = timezone(timedelta(hours=1))
MONDAY = date(2026, 8, 3)
NOW = datetime(2026, 8, 3, 8, 0, tzinfo=ZONE)


def half(number):
    """The half-day so many after Monday morning."""
    return HalfDay(day=MONDAY + timedelta(days=number // 2), half=number % 2)


def due_in(number):
    """A limit that the half-day `number` still keeps and the next one does not."""
    at = half(number)
    return datetime(at.day.year, at.day.month, at.day.day, 12 if at.half == 0 else 20, tzinfo=ZONE)


@st.composite
def tiny(draw):
    """Three or four jobs of two finds, two people, four half-days, a rule, a promise, equipment now and then."""
    names = ["opening", "lipid", "imaging"]
    people = []
    for number in range(2):
        skills = tuple(sorted(draw(st.sets(st.sampled_from(names), min_size=1))))
        away = ()
        if draw(st.booleans()):
            day = MONDAY + timedelta(days=draw(st.integers(0, 1)))
            away = (Closure(first_day=day, last_day=day, reason="leave"),)
        people.append(
            Specialist(name=f"P{number}", skills=skills, hours=(draw(st.sampled_from((2.0, 3.0))), 2.0), away=away)
        )
    keys = draw(
        st.lists(st.tuples(st.sampled_from(["1", "2"]), st.sampled_from(names)), min_size=2, max_size=4, unique=True)
    )
    jobs = tuple(
        Job(
            find=find,
            what=what,
            hours=draw(st.sampled_from((1.0, 1.5, 2.0))),
            release=NOW + timedelta(hours=draw(st.sampled_from((0, 0, 3, 24)))),
            due=draw(st.one_of(st.none(), st.integers(-2, 3).map(due_in))),
            weight=draw(st.sampled_from((1.0, 2.0))),
            needs=("bench",) if draw(st.booleans()) else (),
        )
        for find, what in keys
    )
    order = tuple(
        Before(find=find, first="imaging", then="opening")
        for find in ("1", "2")
        if {(find, "imaging"), (find, "opening")} <= set(keys) and draw(st.booleans())
    )
    promised = tuple(
        Place(find=find, what=what, with_=draw(st.sampled_from(("", "P0", "P1"))), at=half(draw(st.integers(0, 3))))
        for find, what in keys
        if draw(st.booleans())
    )
    return BookingInputs(
        now=NOW,
        until=MONDAY + timedelta(days=1),
        specialists=tuple(people),
        equipment=(Equipment(name="bench", hours=(3.0, 2.0)),),
        jobs=jobs,
        order=order,
        promised=promised,
        costs=Costs(wait_per_day=1.0),
    )


def tick(moment):
    """The first half-day of the little week that begins at or after a moment."""
    after = moment - datetime(2026, 8, 3, 9, tzinfo=ZONE)
    days, rest = divmod(after.total_seconds(), 86400)
    return int(days) * 2 + (0 if rest <= 0 else 1 if rest <= 4 * 3600 else 2)


def limit(moment):
    days = (moment.date() - MONDAY).days
    return 2 * days + (1 if moment.hour >= 13 else 0 if moment.hour >= 9 else -1)


def every_plan(inputs):
    """All ways to give each job a person and a half-day, or none; each plan is (job -> (person, half) or None)."""
    ways = []
    for job in inputs.jobs:
        own = [None]
        for who, person in enumerate(inputs.specialists):
            for number in range(4):
                day = half(number).day
                if job.what in person.skills and not any(a.holds(day) for a in person.away):
                    promise = next((p for p in inputs.promised if p.key == job.key), None)
                    kept = promise is not None and promise.at == half(number)
                    if (number >= tick(job.release) or kept) and job.hours <= person.hours[number % 2]:
                        own.append((who, number))
        ways.append(own)
    return itertools.product(*ways)


def is_allowed(inputs, plan):
    used, bench = {}, {}
    for job, place in zip(inputs.jobs, plan, strict=True):
        if place is None:
            continue
        used[place] = used.get(place, 0) + job.hours
        if job.needs:
            bench[place[1]] = bench.get(place[1], 0) + job.hours
    if any(h > inputs.specialists[w].hours[n % 2] + 1e-9 for (w, n), h in used.items()):
        return False
    if any(h > inputs.equipment[0].hours[n % 2] + 1e-9 for n, h in bench.items()):
        return False
    at = {job.key: place for job, place in zip(inputs.jobs, plan, strict=True)}
    for rule in inputs.order:
        first, then = at[rule.find, rule.first], at[rule.find, rule.then]
        if then is not None and (first is None or not (first[1] < then[1] or first == then)):
            return False
    ordered = {(rule.find, rule.first, rule.then) for rule in inputs.order}
    opened = {(rule.find, rule.then) for rule in inputs.order if rule.first == "opening"}
    for (a, x), (b, y) in itertools.combinations(at.items(), 2):
        parts = (a[0], a[1]) in opened and (b[0], b[1]) in opened
        bound = (a[0], a[1], b[1]) in ordered or (a[0], b[1], a[1]) in ordered
        if a[0] == b[0] and x and y and x[1] == y[1] and x[0] != y[0] and not (parts or bound):
            return False
    return True


def figures(inputs, plan):
    """Lateness, moves and cost of a plan, reckoned here and not with the room's own code."""
    late = moves = cost = 0.0
    promised = {place.key: place for place in inputs.promised}
    end = 2 * ((inputs.until - MONDAY).days + AFTER_THE_END_DAYS) + 1
    for job, place in zip(inputs.jobs, plan, strict=True):
        number = end if place is None else place[1]
        if job.due is not None:
            late += job.weight * max(0, number - limit(job.due)) / 2
        promise = promised.get(job.key)
        if promise is not None:
            kept = place is not None and half(number) == promise.at
            kept = kept and promise.with_ in ("", inputs.specialists[place[0]].name)
            moves += not kept
        cost += job.weight * max(0, number - tick(job.release)) / 2
    return round(late, 6), round(moves, 6), round(cost, 6)


@settings(max_examples=80)
@given(tiny())
def test_the_plan_is_the_best_of_all_plans_level_by_level(inputs):
    skilled = {skill for who in inputs.specialists for skill in who.skills}
    jobs = tuple(job for job in inputs.jobs if job.what in skilled)
    keys = {job.key for job in jobs}
    order = tuple(r for r in inputs.order if {(r.find, r.first), (r.find, r.then)} <= keys)
    plan = plan_bookings(inputs)
    if not jobs:
        assert plan.bookings == ()
        return
    from dataclasses import replace

    little = replace(inputs, jobs=jobs, order=order)
    best = min(figures(little, one) for one in every_plan(little) if is_allowed(little, one))
    assert tuple(round(level.value, 5) for level in plan.levels) == pytest.approx(best, abs=1e-4)
    assert all(level.proved for level in plan.levels)
    where = {(b.find, b.what): b for b in plan.bookings}
    names = [who.name for who in inputs.specialists]
    number = {half(n): n for n in range(4)}
    made = tuple(
        (names.index(where[job.key].with_), number[where[job.key].at]) if job.key in where else None for job in jobs
    )
    assert is_allowed(little, made)
    assert figures(little, made) == pytest.approx(best, abs=1e-4)


def many(count, seed, **costs):
    """Finds for ten days of two people, with a closure in the middle."""
    import random

    draw = random.Random(seed)
    closed = Closure(first_day=date(2026, 8, 8), last_day=date(2026, 8, 23), reason="works shutdown")
    people = (
        Specialist(name="A", skills=("opening", "lipid")),
        Specialist(name="B", skills=("opening", "imaging"), weekdays=frozenset({0, 2, 4}), lead_days=1),
        Specialist(name="C", skills=("lipid",), courier_days=2, cost=50.0),
    )
    jobs = []
    for number in range(count):
        for what in draw.sample(["opening", "lipid", "imaging"], draw.randint(1, 3)):
            due = NOW + timedelta(days=draw.randint(1, 30))
            jobs.append(
                Job(
                    find=str(number),
                    what=what,
                    hours=draw.choice((0.5, 1.0, 4.5)),
                    release=NOW,
                    due=due,
                    weight=draw.choice((1.0, 3.0)),
                    group=f"c{number % 3}",
                )
            )
    keys = {job.key for job in jobs}
    pairs = (("imaging", "opening"), ("opening", "lipid"))
    order = tuple(
        Before(find=str(n), first=a, then=b)
        for n in range(count)
        for a, b in pairs
        if {(str(n), a), (str(n), b)} <= keys
    )
    return BookingInputs(
        now=NOW,
        until=date(2026, 9, 4),
        specialists=people,
        jobs=tuple(jobs),
        order=order,
        closures=(closed,),
        costs=Costs(**costs),
    )


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("setup", [0.0, 5.0])
def test_no_plan_breaks_hours_closures_order_or_courier(seed, setup):
    inputs = many(9, seed, setup=setup)
    plan = plan_bookings(inputs, Effort(seconds=2.0))
    people = {who.name: who for who in inputs.specialists}
    booked = {(b.find, b.what): b for b in plan.bookings}
    assert len(plan.bookings) + len(plan.left_out) == len(inputs.jobs)
    by_day = {}
    for b in plan.bookings:
        who = people[b.with_]
        assert b.what in who.skills
        assert b.at.day.weekday() in who.weekdays
        if who.elsewhere:
            assert b.send_on is not None
            assert b.send_on <= b.at.day
            assert not any(closed.holds(b.send_on) for closed in inputs.closures)
        else:
            assert not any(closed.holds(b.at.day) for closed in inputs.closures)
        by_day.setdefault((b.with_, b.at.day), []).append(b.hours)
    for (name, _), hours in by_day.items():
        # A long job may run on into the next day, never beyond the hours of two.
        assert sum(h for h in hours if h <= 3.5) <= sum(people[name].hours) + 1e-9
    for rule in inputs.order:
        first, then = booked.get((rule.find, rule.first)), booked.get((rule.find, rule.then))
        assert then is None or (first is not None and first.starts_at < then.starts_at)
    again = plan_bookings(inputs, Effort(seconds=2.0))
    if all(level.proved for level in (*plan.levels, *again.levels)):
        assert [level.value for level in again.levels] == pytest.approx([level.value for level in plan.levels])


def test_a_long_job_fills_one_half_day_and_runs_on_into_the_next():
    """5 h in half-days of 3.5 h beside a job of 1 h: rounding the half-day down to whole hours would lose the 3.5 h."""
    who = Specialist(name="A", skills=("opening", "lipid"))
    jobs = (
        Job(find="1", what="opening", hours=5.0, release=NOW, due=due_in(1)),
        Job(find="2", what="lipid", hours=1.0, release=NOW, due=due_in(1)),
    )
    plan = plan_bookings(BookingInputs(now=NOW, until=MONDAY, specialists=(who,), jobs=jobs))
    assert plan.in_time
    long = next(b for b in plan.bookings if b.find == "1")
    short = next(b for b in plan.bookings if b.find == "2")
    assert long.at == half(0)
    assert short.starts_at == datetime(2026, 8, 3, 14, 30, tzinfo=ZONE)


def test_lateness_grows_with_nothing_but_the_limit():
    """One job, one half-day: each day the limit is earlier adds one day of lateness, times the weight."""
    who = Specialist(name="A", skills=("opening",), sittings=(half(6),))
    found = []
    for number in (6, 4, 2, 0):
        job = Job(find="1", what="opening", hours=1.0, release=NOW, due=due_in(number), weight=2.0)
        plan = plan_bookings(BookingInputs(now=NOW, until=date(2026, 8, 7), specialists=(who,), jobs=(job,)))
        found.append(plan.levels[0].value)
    assert found == [0.0, 2.0, 4.0, 6.0]


def test_a_promise_is_kept_where_it_costs_no_lateness_and_moved_where_it_does():
    who = Specialist(name="A", skills=("opening",))
    promise = Place(find="1", what="opening", with_="A", at=half(3))
    for limit_at, moves in ((3, 0.0), (2, 1.0)):
        job = Job(find="1", what="opening", hours=1.0, release=NOW, due=due_in(limit_at))
        inputs = BookingInputs(now=NOW, until=date(2026, 8, 7), specialists=(who,), jobs=(job,), promised=(promise,))
        plan = plan_bookings(inputs)
        assert plan.levels[0].value == 0.0
        assert plan.levels[1].value == moves
        assert (plan.bookings[0].moved_from is not None) == bool(moves)


def test_groups_share_a_half_day_where_setting_up_costs():
    """Two contexts, two half-days with room for two jobs each: with a set-up cost each context has its own."""
    who = Specialist(name="A", skills=("opening",), hours=(2.0, 2.0))
    jobs = tuple(
        Job(find=str(k), what="opening", hours=1.0, release=NOW, group="(215)" if k % 2 else "(216)") for k in range(4)
    )
    inputs = BookingInputs(now=NOW, until=MONDAY, specialists=(who,), jobs=jobs, costs=Costs(setup=10.0))
    plan = plan_bookings(inputs)
    mixed = {b.at: {int(o.find) % 2 for o in plan.bookings if o.at == b.at} for b in plan.bookings}
    assert [len(kinds) for kinds in mixed.values()] == [1, 1]
    # Two set-ups at 10, and two finds that wait half a day at 1 a day.
    assert plan.levels[2].value == pytest.approx(21.0)
