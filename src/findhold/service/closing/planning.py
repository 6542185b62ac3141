"""The plan of one closure: which holds cannot be kept through it, why, and the ways out for each with their figures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from findhold.book.plan import plan_bookings
from findhold.dates.availability import EVERYWHERE, LONGEST_CLOSURE_DAYS, Roster, on_duty
from findhold.dates.instants import day_for_people
from findhold.errors import BadInput, FindholdError
from findhold.keep.options import colder_store
from findhold.service.bookings.ledger_inputs import known_bookings
from findhold.service.bookings.planning import effort_for
from findhold.service.closing.choosing import choice_events, duty_events, duty_named
from findhold.service.closing.named import NEXT, ClosureTold, Span, closure_named, closures_of, span_of
from findhold.service.closing.shapes import ClosurePlan, ClosurePlanRequest, HoldPlan, HoldStanding
from findhold.service.closing.standing import outside, standings
from findhold.service.closing.ways import Bench, Colder, Round, no_help, ways_over
from findhold.service.finder import find_thing
from findhold.service.holds import HoldRequest, Progress, keep_finds
from findhold.service.office import Office
from findhold.service.rounds.calendar import UnitCalendar, unit_calendar
from findhold.service.storekeeping.reading import box_of, read_house
from findhold.store.ledger import Thing
from findhold.stores.places import places_for, settled_house

MOST_RUNS = 6
"""So many lines say who comes on the closed days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """One closure as it is asked about: site, days, people, and every hold by the number of its find."""

    site: Thing
    told: ClosureTold
    """As recorded, before anybody new is named for it."""
    span: Span
    calendar: UnitCalendar
    pairs: dict[str, tuple[Thing, Thing]]
    rows: tuple[HoldStanding, ...]


def closure_plan(office: Office, request: ClosurePlanRequest, progress: Progress | None = None) -> ClosurePlan:
    """Plan one closure; choices, what was done and who comes are recorded on the way.

    Raises
    ------
    UnknownName : no such closure, find, person or way out. BadInput : a way that is not possible for a hold.
    """
    asked = _asked(office, request)
    named = (*request.finds, *(number for number, _ in request.choices))
    wanted = {find_thing(office, number, asked.site).number for number in named}
    every = [row for row in asked.rows if not row.ended and (not row.lack.nothing or row.held.number in wanted)]
    rows = [row for row in every if not request.finds or row.held.number in wanted]
    bench = _bench(office, request.site) if rows else Bench(inputs=None, plan=None)
    around = Round(span=asked.span, bench=bench, roster=asked.calendar.roster)
    plans = _with_ways(office, request, (asked, around), rows, progress)
    events, recorded = choice_events(office, request, asked.site, (asked.span, asked.pairs, plans))
    if request.duty:
        first, said = duty_events(asked.told, asked.span.told.who, request.reason)
        events, recorded = [*first, *events], [*said, *recorded]
    if events:
        with office.ledger.writing(office.stamp()) as writing:
            writing.append(events)
        asked = _asked(office, request)
    return _told(asked, plans, tuple(recorded))


def _asked(office: Office, request: ClosurePlanRequest) -> _Asked:
    """Everything as recorded, with who is to come on the closed days as if that were recorded too."""
    site = office.site(request.site)
    now = office.in_site_zone(office.now(), site)
    known = closures_of(office, now.date())
    told = closure_named(known, request.closure)
    if told.over and request.closure.strip().casefold() in ("", NEXT):
        raise _none_ahead(office, site, told)
    calendar = unit_calendar(office, now.date())
    span = span_of(office, site, told, known)
    if request.duty:
        name = duty_named(told, request.duty, calendar.roster.people)
        span = replace(span, told=replace(told, who=name))
        closures = tuple(
            (store, replace(one, who=name) if (store or None, one) == (told.store, told.as_closure()) else one)
            for store, one in calendar.roster.closures
        )
        calendar = replace(calendar, roster=replace(calendar.roster, closures=closures))
    finds = {find.number: find for find in office.ledger.states("find", site.number)}
    holds = office.ledger.states("hold", site.number)
    pairs = {hold.facts["find"]: (finds[hold.facts["find"]], hold) for hold in holds if hold.facts["find"] in finds}
    rows = standings(pairs.values(), span, outside(office, site, span, calendar.roster))
    return _Asked(site=site, told=told, span=span, calendar=calendar, pairs=pairs, rows=rows)


def _none_ahead(office: Office, site: Thing, told: ClosureTold) -> BadInput:
    """No closure lies ahead: what is late now is no matter of a closure."""
    limits = [
        datetime.fromisoformat(forecast["keep_until"])
        for hold in office.ledger.states("hold", site.number)
        if not hold.facts.get("ended") and (forecast := hold.facts.get("forecast"))
    ]
    late = sum(limit < office.now() for limit in limits)
    boxes = f"{late} {'box is' if late == 1 else 'boxes are'} past {'its' if late == 1 else 'their'} date"
    return BadInput(
        f"no closure lies ahead; the last one ended on {day_for_people(told.last_day)}, and {boxes}",
        where="--closure",
        do="See what is late: findhold due; or name a closure by its first day, or import the next ones",
    )


def _bench(office: Office, site: str | None) -> Bench:
    """The plan of bookings as it is now; where nothing can be planned, why."""
    try:
        known = known_bookings(office, site)
    except FindholdError as error:
        return Bench(inputs=None, plan=None, why_not=error.sentence().rstrip("."))
    return Bench(inputs=known.inputs, plan=plan_bookings(known.inputs, effort_for(known.inputs)))


def _with_ways(
    office: Office,
    request: ClosurePlanRequest,
    parts: tuple[_Asked, Round],
    rows: Sequence[HoldStanding],
    progress: Progress | None,
) -> dict[str, HoldPlan]:
    """Holds with their ways out; measures are forecast by the same function as `keep --options`."""
    asked, around = parts
    forecast = tuple(row.held.number for row in rows if not row.lack.unknown and not row.lack.opened_only)
    wanted = HoldRequest(
        finds=forecast,
        site=asked.site.number,
        members=request.members,
        seed=request.seed,
        record=False,
        all_options=True,
        go_on=True,
    )
    held = {one.number: one for one in keep_finds(office, wanted, progress).held} if forecast else {}
    room_in = _rooms(office)
    made = {}
    for row in rows:
        one = held.get(row.held.number)
        options = one.kept.options if one is not None and one.kept is not None else ()
        climate = one.case.climate if one is not None else None
        store = colder_store(climate.temp_c, one.case.stores) if one is not None and climate is not None else None
        find = asked.pairs[row.held.number][0]
        ways = (
            ()
            if row.lack.unknown
            else ways_over(
                around, find, row, options, room_in(store[0], *asked.pairs[row.held.number]) if store else None
            )
        )
        made[row.held.number] = HoldPlan(standing=row, ways=ways, no_help=no_help(options))
    return made


def _rooms(office: Office) -> Callable[[str, Thing, Thing], Colder]:
    """Whether a store has a place for the box of a find, asked of the shelves as they stand."""
    kept = read_house(office)
    house, _ = settled_house(kept.house)

    def room_in(store: str, find: Thing, hold: Thing) -> Colder:
        standing = kept.standing(str(hold.facts["box_id"]))
        box = standing.box if standing else box_of(find, hold)
        found = places_for(house, box, now_in=standing.store if standing else "")
        place = next((one for one in found.open if one.store == store), None)
        if place is not None:
            return Colder(store=store, place=place.name())
        why = next((one.why_not() for one in found.closed if one.store == store), f"{store} has no place for it")
        return Colder(store=store, why_not=why)

    return room_in


def _told(asked: _Asked, plans: dict[str, HoldPlan], recorded: tuple[str, ...]) -> ClosurePlan:
    span = asked.span
    holds, waits = [], []
    for row in asked.rows:
        if row.lack.nothing and row.chosen is None and row.held.number not in plans:
            waits.append(row)
            continue
        before = plans.get(row.held.number, HoldPlan(standing=row, ways=(), no_help=()))
        holds.append(replace(before, standing=row))
    return ClosurePlan(
        site=asked.site.number,
        site_name=str(asked.site.facts["name"]),
        zone=span.zone,
        now=span.now,
        closure=span.told,
        again=span.again,
        last_day_before=span.last_day_before,
        holds=tuple(holds),
        waits=tuple(waits),
        provided=all(row.stands.enough for row in asked.rows),
        who_comes=who_comes(asked.calendar.roster, span),
        questions=asked.calendar.questions,
        notes=(*span.notes, *asked.calendar.notes),
        recorded=recorded,
    )


def who_comes(roster: Roster, span: Span) -> tuple[str, ...]:
    """Who comes on the closed days, days of one answer in one line; weekends on which the named rest are not told."""
    told, store = span.told, span.told.store or EVERYWHERE
    runs: list[tuple[date, date, str]] = []
    for n in range(min((told.last_day - told.first_day).days, LONGEST_CLOSURE_DAYS) + 1):
        day = told.first_day + timedelta(days=n)
        found = on_duty(roster, store, day)
        person = found.person
        if person is None and day.weekday() not in roster.weekdays and found.kind == "away":
            continue
        words = found.why if person is None else f"{person.name}{f', {person.phone}' if person.phone else ''}"
        if runs and runs[-1][2] == words:
            runs[-1] = (runs[-1][0], day, words)
        else:
            runs.append((day, day, words))
    return tuple(f"{_days(first, last)}: {words}" for first, last, words in runs[:MOST_RUNS])


def _days(first: date, last: date) -> str:
    short = day_for_people(first).rsplit(" ", 1)[0]
    return short if first == last else f"{short} to {day_for_people(last).rsplit(' ', 1)[0]}"
