"""The next rounds of a unit: who goes when to which store and boxes, what was missed, and what nobody can make."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from findhold.check.visits.merged import Comes, NotMade, Visit, Window, merge_checks
from findhold.check.visits.missed import MissedBox, escalate, worst_first
from findhold.dates.availability import Roster, on_duty
from findhold.dates.instants import at_hour
from findhold.dates.people import Person, person_meant
from findhold.errors import BadInput, UnknownName
from findhold.record.events import UNIT
from findhold.service.office import Office
from findhold.service.rounds.boxes import Box, box_of, missed_days, walking_order, windows_of
from findhold.service.rounds.calendar import unit_calendar
from findhold.service.rounds.shapes import BoxDue, CannotMake, MissedRound, Rounds, RoundsRequest, RoundVisit
from findhold.service.rounds.telling_whom import calls, whom
from findhold.service.wire import plain
from findhold.store.beside.hold_days import hold_days
from findhold.store.ledger import Thing

HOUR = 9
"""The hour of the clock at which a round is put down."""
MOST_DAYS = 366
_NO_DAY = (date.min, "")


def rounds(office: Office, request: RoundsRequest) -> Rounds:
    """The next rounds: the fewest visits that make every check within its days.

    Raises
    ------
    UnknownName : no such store or person. BadInput : no such number of days; the settings cannot be understood.
    """
    site = office.site(request.site)
    if not 0 <= request.days <= MOST_DAYS:
        raise BadInput(f"{request.days} days ahead", where="--days", limit=f"0 to {MOST_DAYS}", do="Give 14, say")
    now = office.in_site_zone(office.now(), site)
    store, unit = store_spelt(office, request.store), unit_calendar(office, now.date())
    person = person_named(request.for_name, unit.roster) if request.for_name.strip() else None
    boxes, bare = site_boxes(office, site, store)
    until = now.date() + timedelta(days=request.days)
    windows = [window for box in boxes.values() for window in windows_of(box, now, until)]
    merged = merge_checks(windows, comes_of(unit.roster), now.date())
    visits = [_visit(visit, boxes, unit.roster, (now, str(site.facts["zone"]))) for visit in merged.visits]
    wanted = tuple(one for one in visits if person is None or one.who in ("", person.name))
    return Rounds(
        site=site.number,
        site_name=str(site.facts["name"]),
        zone=str(site.facts["zone"]),
        now=now,
        until=until,
        store=store,
        for_name=person.name if person else "",
        visits=wanted,
        missed=missed_rounds(boxes.values(), unit.roster, now),
        cannot=_cannot(merged.not_made, boxes, unit.roster),
        not_forecast=bare,
        checks=sum(len(one.boxes) for one in wanted),
        questions=unit.questions,
        notes=unit.notes,
        calls=calls(unit.roster, now.date(), bones=any("human remains" in box.flags for box in boxes.values())),
    )


def rounds_answer(found: Rounds) -> dict[str, Any]:
    """A plan of rounds in the public shape, the same at every door."""
    return {**plain(found), "all_well": found.all_well}


def people_and_stores(office: Office) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the unit's people and of its stores, to choose from."""
    people = tuple(thing.number for thing in office.ledger.states("person", UNIT))
    return people, tuple(thing.number for thing in office.ledger.states("store", UNIT))


def site_boxes(office: Office, site: Thing, store: str | None) -> tuple[dict[str, Box], tuple[str, ...]]:
    """Forecast boxes of a site by identity, and the finds whose box has no forecast yet; of one store or of all."""
    with office.ledger.reading() as connection:
        days = hold_days(connection, site.number)
    made = [(one, box_of(one, str(site.facts["zone"]))) for one in days]
    bare = sorted(str(one.facts["find"]) for one, box in made if box is None and store in (None, one.store))
    return {box.box_id: box for _, box in made if box is not None and store in (None, box.store)}, tuple(bare)


def comes_of(roster: Roster) -> Comes:
    """Who comes to a store on a day, by name; each asked once."""
    known: dict[tuple[str, date], str | None] = {}

    def comes(store: str, day: date) -> str | None:
        if (store, day) not in known:
            found = on_duty(roster, store, day)
            known[store, day] = (found.person.name if found.person else "") if found.comes else None
        return known[store, day]

    return comes


def missed_rounds(boxes: Iterable[Box], roster: Roster, now: datetime) -> tuple[MissedRound, ...]:
    """Checks that were not made, one line a store, the store with the worst box first."""
    by_store: dict[str, list[MissedBox]] = {}
    for box in boxes:
        days = missed_days(box, now)
        if days:
            told = MissedBox(box_id=box.box_id, alarm=box.alarm, keep_until=box.keep_until, missed=days)
            by_store.setdefault(box.store, []).append(told)
    worst = {store: min(told, key=worst_first) for store, told in by_store.items()}
    return tuple(
        _missed(store, by_store[store], roster, now) for store in sorted(by_store, key=lambda s: worst_first(worst[s]))
    )


def _missed(store: str, boxes: Sequence[MissedBox], roster: Roster, now: datetime) -> MissedRound:
    told = escalate(boxes, roster.calendar(store=store), now)
    today = now.date()
    return MissedRound(
        store=store,
        since=min(day for box in boxes for day in box.missed),
        checks=sum(len(box.missed) for box in boxes),
        boxes=tuple(box.box_id for box in sorted(boxes, key=worst_first)),
        tell=whom(roster, told.now.tell, store, today),
        do=told.now.words,
        hurried=told.hurried,
        then=whom(roster, told.then.tell, store, today) if told.then else None,
        then_on=told.then.on if told.then else None,
    )


def _visit(visit: Visit, boxes: Mapping[str, Box], roster: Roster, when: tuple[datetime, str]) -> RoundVisit:
    now, zone = when
    duty = on_duty(roster, visit.stores[0], visit.day)
    due: dict[str, Window] = {}
    for check in sorted(visit.checks, key=lambda one: (not one.missed, one.due)):
        due.setdefault(check.box_id, check)
    at = at_hour(visit.day, HOUR, zone)
    at = max(at, now) if visit.day == now.date() else at
    return RoundVisit(
        at=at,
        who=visit.who,
        phone=duty.person.phone if duty.person else "",
        kind=duty.kind,
        why_who=duty.why,
        stores=visit.stores,
        boxes=tuple(box_due(box, due[box.box_id], at) for box in walking_order([boxes[name] for name in due])),
    )


def box_due(box: Box, check: Window | None, at: datetime) -> BoxDue:
    """A box as it stands on a round at an instant; check None for a box that no rule asks for then."""
    band = box.band_at(at)
    return BoxDue(
        box_id=box.box_id,
        box=box.short,
        find=box.find,
        what=box.what,
        registered=box.registered,
        store=box.store,
        shelf=box.shelf,
        place=box.place,
        reason="" if check is None else check.reason,
        due=at.date() if check is None else check.due,
        latest=at.date() if check is None else check.latest,
        low_kg=None if band is None else band[0],
        best_kg=None if band is None else band[1],
        high_kg=None if band is None else band[2],
        last_kg=box.last_kg,
        last_at=box.last_at,
        keep_until=box.keep_until,
        limit=box.limit,
        alarm=box.alarm,
        missed=check is not None and check.missed,
    )


def _cannot(lost: Sequence[NotMade], boxes: Mapping[str, Box], roster: Roster) -> tuple[CannotMake, ...]:
    """Checks that nobody can make: those of one store and the same empty days in one line, the earliest first."""
    parties: dict[tuple[tuple[date, str], tuple[date, str], str], list[NotMade]] = {}
    for one in lost:
        key = (one.before or _NO_DAY, one.after or _NO_DAY, one.check.store)
        parties.setdefault(key, []).append(one)
    found = []
    for (before, after, store), party in sorted(parties.items()):
        latest = max(one.check.latest for one in party)
        found.append(
            CannotMake(
                store=store,
                earliest=min(one.check.latest for one in party),
                latest=latest,
                boxes=tuple(sorted({one.check.box_id for one in party}, key=lambda name: boxes[name].box_no)),
                checks=len(party),
                days=tuple(sorted({one.check.latest for one in party})),
                why=on_duty(roster, store, latest).why,
                before=None if before == _NO_DAY else before[0],
                before_who=before[1],
                after=None if after == _NO_DAY else after[0],
                after_who=after[1],
            )
        )
    return tuple(sorted(found, key=lambda one: (one.earliest, one.store)))


def store_spelt(office: Office, name: str | None) -> str | None:
    """A store's name as the register spells it, whatever its case; None for all stores."""
    if name is None:
        return None
    known = [thing.number for thing in office.ledger.states("store", UNIT)]
    found = next((one for one in known if one.casefold() == name.strip().casefold()), None)
    if found is None:
        raise UnknownName("store", name, known, where="--store")
    return found


def person_named(name: str, roster: Roster) -> Person:
    """One person by name or initials; raises UnknownName with near names."""
    found = person_meant(name, roster.people)
    if found is None:
        raise UnknownName("person", name, list(roster.people), where="--for")
    return found
