"""The ways over a closure for one hold: bench days from the plan of bookings, measures as `keep --options` has them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from findhold.book.halfdays import last_tick, tick_of
from findhold.book.inputs import HALVES, OPENING, BookingInputs
from findhold.book.plan import Booking, Plan
from findhold.book.remedies import Free, Wanted, first_free
from findhold.check.provided import enough
from findhold.dates.availability import EVERYWHERE, Roster, on_duty
from findhold.dates.instants import day_at, day_for_people
from findhold.dates.people import person_meant
from findhold.keep.options import COLDER, DAILY, EARLIER, IF_ROOM, NOTHING_HELPS, Option
from findhold.service.closing.named import Span
from findhold.service.closing.shapes import HoldStanding, WayOut
from findhold.store.ledger import Thing
from findhold.tables.benchwork import bench_work
from findhold.tables.contact import analysis_names, find_analysis
from findhold.tables.ordering import find_doing

BEFORE, RESIDUE, AWAY, DUTY = "open before", "residue first", "send away", "duty check"
RESIDUE_WORK = "residue first"
"""Its row in the table of bench hours: opening a corner and closing it again, beside the samples themselves."""
_NOT_CHOSEN = (EARLIER, NOTHING_HELPS, DAILY)
"""What `keep` says besides, and the plan says in its own words."""
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Who opens and samples when; inputs and plan None with the reason where nothing can be planned."""

    inputs: BookingInputs | None
    plan: Plan | None
    why_not: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """What is the same for every hold of a closure: its span, the bench, and who comes."""

    span: Span
    bench: Bench
    roster: Roster


@dataclass(frozen=True, slots=True, kw_only=True)
class Colder:
    """A colder store, and the place in it that has room for a box; place "" with the reason where none has."""

    store: str
    place: str = ""
    why_not: str = ""


def ways_over(
    around: Round, find: Thing, row: HoldStanding, options: Sequence[Option], colder: Colder | None
) -> tuple[WayOut, ...]:
    """The ways over a closure for one hold, those that give it all it lacks first.

    Parameters
    ----------
    options : as forecast for it; empty where none was asked for.
    colder : the place in a colder store, where there is such a store.
    """
    made = [_before(around, row), *_residue(around, find, row)]
    made += [_measure(around, row, option, colder) for option in options if option.gain_days > 0 and _asked(option)]
    made += [_duty(around, row), _away(around, row)]
    return tuple(sorted(made, key=lambda way: (not way.enough, not way.possible, -way.gain_days)))


def no_help(options: Sequence[Option]) -> tuple[str, ...]:
    """Names of the measures that were forecast and move no date."""
    return tuple(option.name for option in options if option.gain_days <= 0 and _asked(option))


def _asked(option: Option) -> bool:
    return option.name not in _NOT_CHOSEN


def _way(around: Round, row: HoldStanding, way: WayOut) -> WayOut:
    """The way with its verdict: whether it is enough, how many days it is short, and the risk in words."""
    again, lack = around.span.again, row.lack
    gives = way.possible and enough(lack, way.brings(), again)
    until = way.keep_until or row.held.keep_until
    short = max(0.0, (again - until) / _DAY) if until is not None and lack.ends and not way.ends_hold else 0.0
    return replace(way, enough=gives, short_days=short, risk=_risk(way, lack.ends, short))


def _risk(way: WayOut, ends: bool, short: float) -> str:
    if not way.possible:
        return ""
    if way.ends_hold:
        return "nothing waits while closed"
    if way.secures:
        return f"its residue is safe; the find is {short:.1f} d past its limit" if short else "its residue is safe"
    if not ends:
        return "seen within a day" if way.looked_at else "nobody looks at it"
    if short:
        return f"{short:.1f} d past its limit before somebody is there" + (", but looked at" if way.looked_at else "")
    return "in time"


def _blank(name: str, do: str, work: str) -> WayOut:
    return WayOut(
        name=name,
        do=do,
        possible=True,
        why_not="",
        keep_until=None,
        gain_days=0.0,
        enough=False,
        short_days=0.0,
        work=work,
        risk="",
        ends_hold=False,
        secures=False,
        looked_at=False,
    )


def _before(around: Round, row: HoldStanding) -> WayOut:
    """Opening it before: as the plan of bookings has it, else on the first bench time that is free."""
    hours, number = bench_work(OPENING).bench_hours, row.held.number
    way = replace(
        _blank(BEFORE, "open it before the closure", f"{hours:g} h at the bench"), ends_hold=True, hours=hours
    )
    booked = _booking(around.bench, number)
    first = around.span.told.first_day
    if booked is not None and booked.send_on is None and booked.at.day < first:
        free: Free | None = Free(with_=booked.with_, at=booked.at, send_on=booked.at.day)
    else:
        free = _free(around, row, (_asks(around.bench, number),), hours, elsewhere=False)
    if free is None:
        return _way(around, row, replace(way, possible=False, why_not=_why_no_bench(around, row, booked)))
    when = f"{_said(free.at.day)}, {HALVES[free.at.half]}"
    limit = row.held.keep_until
    late = limit is not None and tick_of(free.at) > last_tick(limit)
    do = f"open it on {when}, with {free.with_}" + (" (after its limit: the first time that is free)" if late else "")
    return _way(around, row, replace(way, do=do, on=free.at.day, half=HALVES[free.at.half], with_=free.with_))


def _asks(bench: Bench, number: str) -> str:
    """The skill that the opening of a find asks for."""
    jobs = () if bench.inputs is None else bench.inputs.jobs
    return next((job.asks for job in jobs if job.key == (number, OPENING)), OPENING)


def _first(bench: Bench, number: str) -> tuple[Booking, ...]:
    """What is planned for a find and has to come before its opening, by the same rules as the plan of bookings."""
    if bench.inputs is None or bench.plan is None:
        return ()
    names = {rule.first for rule in bench.inputs.order if rule.find == number and rule.then == OPENING}
    return tuple(one for one in bench.plan.bookings if one.find == number and one.what in names)


def _booking(bench: Bench, number: str) -> Booking | None:
    planned = () if bench.plan is None else bench.plan.bookings
    return next((one for one in planned if one.find == number and one.what == OPENING), None)


def _free(around: Round, row: HoldStanding, skills: tuple[str, ...], hours: float, *, elsewhere: bool) -> Free | None:
    bench = around.bench
    if bench.inputs is None or bench.plan is None:
        return None
    wanted = Wanted(
        skills=skills,
        hours=hours,
        without=row.held.number,
        elsewhere=elsewhere,
        before=around.span.told.first_day,
        first=_first(bench, row.held.number),
    )
    return first_free(bench.inputs, bench.plan.bookings, wanted)


def _why_no_bench(around: Round, row: HoldStanding, booked: Booking | None) -> str:
    """Why it cannot be opened before, and the nearest time at which it can."""
    bench = around.bench
    if around.span.told.first_day <= around.span.now.date():
        return "the closure has begun"
    if bench.plan is None:
        return bench.why_not
    out = next((one for one in bench.plan.left_out if (one.find, one.what) == (row.held.number, OPENING)), None)
    if out is not None:
        return f"{out.why}. {out.do}"
    why = f"; {booked.why_late.text}" if booked is not None and booked.why_late is not None else ""
    nearest = f"; the nearest is {_said(booked.at.day)} with {booked.with_}" if booked is not None else ""
    return f"no bench time for an opening is free before it{nearest}{why}"


def _residue(around: Round, find: Thing, row: HoldStanding) -> Iterator[WayOut]:
    """Sampling only the residue and closing it again: for finds that have such an analysis planned."""
    known = analysis_names()
    named = dict.fromkeys(find_doing(name) for name in find.facts.get("analyses") or ())
    samples = tuple(name for name in named if name in known and find_analysis(name).controls == "soil")
    if not samples:
        return
    hours = sum(bench_work(name).bench_hours for name in (RESIDUE_WORK, *samples))
    words = " and ".join(samples)
    blank = _blank(RESIDUE, f"sample only for {words}, then close it again", f"{hours:g} h at the bench")
    way = replace(blank, secures=True, hours=hours)
    free = _free(around, row, (_asks(around.bench, row.held.number), *samples), hours, elsewhere=False)
    if free is None:
        begun = around.span.told.first_day <= around.span.now.date()
        why = "the closure has begun" if begun else f"nobody who opens and samples for {words} has time before it"
        yield _way(around, row, replace(way, possible=False, why_not=around.bench.why_not or why))
        return
    when = f"{_said(free.at.day)}, {HALVES[free.at.half]}"
    do = f"sample only for {words} on {when}, with {free.with_}, then close it again"
    yield _way(around, row, replace(way, do=do, on=free.at.day, half=HALVES[free.at.half], with_=free.with_))


def _measure(around: Round, row: HoldStanding, option: Option, colder: Colder | None) -> WayOut:
    """A measure with the figures of `keep --options`."""
    do = option.text.split(": keeps ", 1)[0]
    moves = colder if option.name == COLDER else None
    if moves is not None and moves.place:
        do = do.replace(IF_ROOM, f": {moves.place} has room")
    way = replace(
        _blank(option.name, f"{do[:1].lower()}{do[1:]}", option.work),
        keep_until=option.keep_until,
        gain_days=option.gain_days,
        on=None if option.on is None else day_at(option.on, around.span.zone),
        to_store=moves.store if moves is not None else "",
    )
    now = around.span.now
    if (option.on is not None and option.on <= now) or option.keep_until <= now:
        why = "its day has passed" if option.keep_until > now else "with it too the hold would have ended before now"
        way = replace(way, possible=False, why_not=why)
    elif moves is not None and not moves.place:
        way = replace(way, possible=False, why_not=moves.why_not)
    return _way(around, row, way)


def _duty(around: Round, row: HoldStanding) -> WayOut:
    """Somebody named looks at it on the closed days; moves no date."""
    span, roster = around.span, around.roster
    way = replace(_blank(DUTY, "the duty holder looks at it", "5 minutes a day"), looked_at=True)
    day, names, lost = max(span.told.first_day, span.now.date()), [], ""
    while day <= span.told.last_day and not lost:
        found = on_duty(roster, row.store, day)
        if found.comes and found.person is not None:
            names.append(found.person)
        elif found.kind == "closed" or (found.kind == "away" and day.weekday() in roster.weekdays):
            lost = found.why
        day += _DAY
    people = list(dict.fromkeys(names))
    if lost or not people:
        why = f"{lost or 'nobody comes on its days'}; {_could_be(around, row)}"
        return _way(around, row, replace(way, possible=False, why_not=why))
    told = ", ".join(f"{one.name}{f' ({one.phone})' if one.phone else ''}" for one in people)
    return _way(around, row, replace(way, do=f"{told} looks at it on the closed days", with_=people[0].name))


def _could_be(around: Round, row: HoldStanding) -> str:
    """Whom to name: duty holders of the store who are not away on its days, else anybody who is not."""
    roster, told = around.roster, around.span.told
    named = [*(roster.duty.get(row.store) or ()), *(roster.duty.get(EVERYWHERE) or ())]
    holders = [one for name in named if (one := person_meant(name, roster.people)) is not None]
    days = [told.first_day + _DAY * n for n in range(min((told.last_day - told.first_day).days + 1, 366))]
    free = [one.name for one in (*holders, *roster.people.values()) if not any(one.away_on(day) for day in days)]
    return f"{free[0]} could be: name who comes" if free else "everybody is away on some of its days"


def _away(around: Round, row: HoldStanding) -> WayOut:
    """Sending it to a bench elsewhere: it leaves before the closure and is there before its limit."""
    hours = bench_work(OPENING).bench_hours
    way = replace(_blank(AWAY, "send it to a bench elsewhere", "packing for the courier"), ends_hold=True, hours=hours)
    inputs = around.bench.inputs
    asks = _asks(around.bench, row.held.number)
    able = [] if inputs is None else [who for who in inputs.specialists if who.elsewhere and asks in who.skills]
    if not able:
        why = around.bench.why_not or f"nobody elsewhere opens it (people with days by courier and the skill {asks})"
        return _way(around, row, replace(way, possible=False, why_not=why))
    free = _free(around, row, (asks,), hours, elsewhere=True)
    limit = row.held.keep_until
    names = ", ".join(f"{who.name}, {who.courier_days} working days by courier" for who in able)
    if free is None:
        why = f"nothing that leaves before the closure is free ({names})"
        return _way(around, row, replace(way, possible=False, why_not=why))
    if limit is not None and tick_of(free.at) > last_tick(limit):
        why = f"it would be opened on {_said(free.at.day)}, after its limit ({names})"
        return _way(around, row, replace(way, possible=False, why_not=why))
    do = f"send it on {_said(free.send_on)} to {free.with_}, opened there on {_said(free.at.day)}"
    told = replace(way, do=do, on=free.at.day, half=HALVES[free.at.half], with_=free.with_, send_on=free.send_on)
    return _way(around, row, told)


def _said(day: date) -> str:
    return day_for_people(day).rsplit(" ", 1)[0]
