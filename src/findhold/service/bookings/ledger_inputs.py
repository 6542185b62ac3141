"""The ledger as inputs of a plan: who can do what when, what is to be done with each find, what was promised."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from typing import Any

from findhold.book.halfdays import last_tick
from findhold.book.inputs import OPENING, Before, BookingInputs, HalfDay, Job, Place, Specialist
from findhold.dates.closures import Closure
from findhold.dates.instants import zone_named
from findhold.errors import BadInput
from findhold.record.events import UNIT
from findhold.service.bookings.chosen import BookingChosen, read_booking
from findhold.service.bookings.scenario import last_day
from findhold.service.office import Office
from findhold.service.rounds.calendar import unit_calendar
from findhold.store.ledger import Thing
from findhold.tables.benchwork import OpeningSkill, bench_work, find_skill, opening_skill
from findhold.tables.ordering import find_doing, order_rules

FIXED, PROMISED = "fixed", "promised"


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the ledger says of bookings: the inputs of a plan, and what a person should know of how they came about."""

    site: Thing
    inputs: BookingInputs
    notes: tuple[str, ...]


def known_bookings(office: Office, site_code: str | None = None, until: date | None = None) -> Known:
    """Read everything a plan needs.

    Raises
    ------
    BadInput : no specialist has skills entered, or nothing waits to be opened.
    """
    site = office.site(site_code)
    zone = zone_named(site.facts["zone"])
    now = office.now().astimezone(zone)
    chosen = read_booking()
    calendar = unit_calendar(office, now.date())
    people = _specialists(office, calendar.roster.people, chosen)
    every = office.ledger.states("hold", site.number)
    holds = [hold for hold in every if hold.facts.get("forecast") and not hold.facts.get("ended")]
    finds = {find.number: find.facts for find in office.ledger.states("find", site.number)}
    equipment = tuple(chosen.equipment)
    jobs, order = _jobs_and_order(holds, finds, (now, zone), {item.name for item in equipment})
    if not jobs:
        raise BadInput("nothing waits with a forecast", where=f"site {site.number}", do="Run: findhold keep --all")
    bookings = office.ledger.states("booking", site.number)
    promised = (*_places(bookings, PROMISED), *_planned_openings(holds, bookings, zone))
    inputs = BookingInputs(
        now=now,
        until=until or last_day(now, jobs, promised),
        specialists=people,
        equipment=equipment,
        jobs=jobs,
        order=order,
        fixed=_places(bookings, FIXED),
        promised=promised,
        closures=tuple(closure for store, closure in calendar.roster.closures if not store),
        holidays=calendar.roster.holidays,
        costs=chosen.costs,
    )
    told = {hold.facts["find"] for hold in every if hold.facts.get("forecast") or hold.facts.get("ended")}
    missing = [number for number in finds if number not in told]
    notes = (f"No forecast, so not planned: find {', '.join(missing)}.",) if missing else ()
    return Known(site=site, inputs=inputs, notes=(*notes, *calendar.notes))


def job_of(known: Known, number: str, what: str | None) -> Job:
    """The job of a find that a booking is meant for: the one named, else its opening.

    Raises
    ------
    BadInput : the find has no such job.
    """
    own = [job for job in known.inputs.jobs if job.find == number]
    wanted = OPENING if what is None else find_doing(what)
    for job in own:
        if job.what == wanted:
            return job
    names = ", ".join(job.what for job in own) or "nothing"
    raise BadInput(f"{wanted} is not to be done", where=f"find {number}", limit=names, do="Add --what, one of those")


def _specialists(office: Office, roster: Mapping[str, Any], chosen: BookingChosen) -> tuple[Specialist, ...]:
    """People of the register with skills, on the days the unit's calendar gives them."""
    found = []
    for thing in office.ledger.states("person", UNIT):
        facts, person = thing.facts, roster[thing.facts["name"]]
        skills = facts.get("skills") or ()
        if not skills:
            continue
        where = f"person {person.name}"
        own = tuple(_span(item) for item in facts.get("absences", ()))
        found.append(
            Specialist(
                name=person.name,
                skills=tuple(dict.fromkeys(find_skill(skill, where=where) for skill in skills)),
                weekdays=person.weekdays if person.weekdays is not None else chosen.weekdays,
                hours=chosen.hours,
                away=(*person.away, *(span for span in own if span not in person.away)),
                lead_days=int(facts.get("lead_days") or 0),
                courier_days=int(facts.get("courier_days") or 0),
            )
        )
    if not found:
        raise BadInput(
            "nobody in the register has skills, so nothing can be booked",
            do="Import people with a column Skills, for example: opening, lipid",
        )
    return tuple(found)


def _span(item: Mapping[str, Any]) -> Closure:
    first, last = date.fromisoformat(item["first_day"]), date.fromisoformat(item["last_day"])
    return Closure(first_day=first, last_day=last, reason=item.get("reason") or "away")


def _jobs_and_order(
    holds: Sequence[Thing],
    finds: Mapping[str, Mapping[str, Any]],
    clock: tuple[datetime, tzinfo],
    equipment: set[str],
) -> tuple[tuple[Job, ...], tuple[Before, ...]]:
    """The opening of each hold and its planned analyses, with the rules of order between them."""
    now, zone = clock
    jobs: list[Job] = []
    order: list[Before] = []
    for hold in holds:
        number, facts = hold.facts["find"], finds.get(hold.facts["find"], {})
        analyses = [find_doing(name, where=f"find {number}") for name in facts.get("analyses") or ()]
        names = list(dict.fromkeys([OPENING, *analyses]))
        due = datetime.fromisoformat(hold.facts["forecast"]["keep_until"]).astimezone(zone)
        packed = hold.facts.get("packed_at")
        release = max(now, datetime.fromisoformat(packed).astimezone(zone)) if packed else now
        weighed = facts.get("weighted") or {}
        opener = _opener(facts)
        for name in names:
            work = bench_work(name)
            jobs.append(
                Job(
                    find=number,
                    what=name,
                    hours=work.bench_hours,
                    release=release,
                    due=due,
                    weight=float(weighed.get("significance", 1)) * float(weighed.get("sensitivity", 1)),
                    needs=tuple(item for item in work.needs if item in equipment),
                    group=str(facts.get("context") or ""),
                    skill=opener.skill if name == OPENING else "",
                    wanted=opener.wanted if name == OPENING else "",
                )
            )
        order += [
            Before(find=number, first=rule.before, then=rule.after, why=rule.why, severity=rule.severity)
            for rule in order_rules()
            if rule.before in names and rule.after in names and not rule.gives_way
        ]
    return tuple(jobs), tuple(order)


def _opener(facts: Mapping[str, Any]) -> OpeningSkill:
    """Who may open a find, by what it is."""
    materials = (str(facts.get("material") or ""), *(facts.get("part_materials") or ()))
    return opening_skill(materials, str(facts.get("state") or "damp"), human=bool(facts.get("human_remains")))


def _places(bookings: Sequence[Thing], status: str) -> tuple[Place, ...]:
    return tuple(place_told(thing.facts) for thing in bookings if thing.facts.get("status") == status)


def place_told(facts: Mapping[str, Any]) -> Place:
    """A booking of the ledger as a place."""
    at = HalfDay(day=date.fromisoformat(facts["day"]), half=int(facts["half"]))
    return Place(find=facts["find"], what=facts["what"], with_=facts["with"], at=at)


def _planned_openings(holds: Sequence[Thing], bookings: Sequence[Thing], zone: tzinfo) -> tuple[Place, ...]:
    """Openings that the register planned and nobody booked: a promise without a person."""
    booked = {
        thing.facts["find"] for thing in bookings if thing.facts.get("what") == OPENING and thing.facts.get("status")
    }
    found = []
    for hold in holds:
        planned = hold.facts.get("open_at")
        if planned and hold.facts["find"] not in booked:
            moment = datetime.fromisoformat(planned).astimezone(zone)
            tick = last_tick(_from_nine(moment))
            at = HalfDay(day=date.fromordinal(tick // 2), half=tick % 2)
            found.append(Place(find=hold.facts["find"], what=OPENING, with_="", at=at))
    return tuple(found)


def _from_nine(moment: datetime) -> datetime:
    """An opening planned before nine counts as of that morning."""
    return moment.replace(hour=9, minute=0) if moment.hour < 9 else moment
