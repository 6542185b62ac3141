"""What a person chooses for a closure, as events: a way for a hold, that it was done, and who comes on its days."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from findhold.book.inputs import OPENING
from findhold.dates.instants import day_for_people
from findhold.dates.people import Person, person_meant
from findhold.errors import BadInput, UnknownName
from findhold.record.events import NewEvent, stream_of
from findhold.service.closing.named import ClosureTold, Span
from findhold.service.closing.shapes import ClosurePlanRequest, HoldPlan, WayOut
from findhold.service.closing.ways import AWAY, BEFORE
from findhold.service.finder import find_thing
from findhold.service.office import Office
from findhold.service.wire import plain
from findhold.store.ledger import Thing

NONE = "none"
"""Takes a choice back."""
Around = tuple[Span, Mapping[str, tuple[Thing, Thing]], Mapping[str, HoldPlan]]


Told = tuple[list[NewEvent], list[str]]
"""Events to be written, and what they record in words."""


def choice_events(office: Office, request: ClosurePlanRequest, site: Thing, around: Around) -> Told:
    """What was chosen and done, as events; nothing is written here.

    Raises
    ------
    UnknownName : no such find or way. BadInput : the way is not possible, nothing is chosen that could be done, or
    two ways for one find.
    """
    span, pairs, plans = around
    events: list[NewEvent] = []
    words: list[str] = []
    seen: set[str] = set()
    for typed, option in request.choices:
        number = find_thing(office, typed, site).number
        if number in seen:
            raise BadInput("two ways are chosen for it", where=f"find {number}", do="Choose one")
        seen.add(number)
        hold = _hold(pairs, number)
        before = (hold.facts.get("over") or {}).get(span.told.key) or {}
        way = None if option.strip().casefold() == NONE else _way_named(number, option, plans)
        new = _choice(hold, span.told, way, before, request.reason)
        events += new + _bookings(office, site, number, way, before)
        words.append(f"find {number}: {'choice taken back' if way is None else f'{way.name}, {way.do}'}")
    for typed in request.done:
        number = find_thing(office, typed, site).number
        hold = _hold(pairs, number)
        if not ((hold.facts.get("over") or {}).get(span.told.key) or {}).get("option"):
            do = f'Choose first: --choose "{number}=WAY"'
            raise BadInput("nothing is chosen for it that could be done", where=f"find {number}", do=do)
        chosen = hold.facts["over"][span.told.key]
        _refuse_ahead(number, chosen, span)
        body = {"closure": span.told.key, "reason": request.reason}
        events.append(NewEvent(word="hold.way.done.1", stream=hold.stream, body=body))
        words.append(f"find {number}: done{_what_follows(number, chosen)}")
        if chosen["ends_hold"] and not hold.facts.get("ended"):
            how = "sent" if chosen["option"] == AWAY else "opened"
            end = {"how": how, "at": plain(span.now.replace(microsecond=0)), "reason": request.reason}
            events.append(NewEvent(word="hold.ended.1", stream=hold.stream, body=end))
            words.append(f"find {number}: {how}, its hold has ended")
    return events, words


def _refuse_ahead(number: str, chosen: Mapping[str, Any], span: Span) -> None:
    """BadInput for something said to be done before its day."""
    day = date.fromisoformat(chosen["on"]) if chosen.get("on") else None
    if day is not None and day > span.now.date():
        raise BadInput(
            f"{chosen['option']} is for {day_for_people(day)}, which lies ahead",
            where=f"find {number}",
            limit=f"not after {day_for_people(span.now.date())}",
            do="Say that it is done when it is; if it was done earlier, choose it again first with its new day",
        )


def _what_follows(number: str, chosen: Mapping[str, Any]) -> str:
    """What a measure leaves to be recorded, for nothing of it is known to the forecast yet."""
    if chosen["ends_hold"] or not chosen.get("keep_until"):
        return ""
    if chosen.get("to_store"):
        return f"; record the move to {chosen['to_store']} too (findhold move), and it is forecast there"
    return (
        f"; its recorded date stays until the box is weighed and forecast again: findhold weigh, findhold keep {number}"
    )


def duty_named(told: ClosureTold, typed: str, people: Mapping[str, Person]) -> str:
    """The name of who comes on the days of a closure.

    Raises
    ------
    UnknownName : nobody of that name is in the register. BadInput : they are away on one of its days.
    """
    person = person_meant(typed, people)
    if person is None:
        raise UnknownName("person", typed, list(people), where="--duty")
    days = (told.first_day + timedelta(days=n) for n in range((told.last_day - told.first_day).days + 1))
    away = next((span for day in days if (span := person.away_on(day)) is not None), None)
    if away is not None:
        first, last = day_for_people(away.first_day), day_for_people(away.last_day)
        raise BadInput(
            f"{person.name} is away from {first} to {last}",
            where="--duty",
            limit=f"every day from {day_for_people(told.first_day)} to {day_for_people(told.last_day)}",
            do="Name somebody else, or enter who stands in for them",
        )
    return person.name


def duty_events(told: ClosureTold, name: str, reason: str) -> Told:
    """Who comes on the days of a closure, as an event where it is news."""
    if told.who == name:
        return [], [f"{name} was named already"]
    body = {"fields": {"duty_holder": name}, "reason": reason or "named to look at the boxes on its days"}
    event = NewEvent(word="thing.corrected.1", stream=told.stream, body=body)
    return [event], [f"{name} comes on the closed days"]


def _hold(pairs: Mapping[str, tuple[Thing, Thing]], number: str) -> Thing:
    if number not in pairs:
        raise BadInput("no box is planned for it", where=f"find {number}", do=f"Plan it: findhold plan {number}")
    return pairs[number][1]


def _way_named(number: str, option: str, plans: Mapping[str, HoldPlan]) -> WayOut:
    """A way by its name or the beginning of it."""
    ways = plans[number].ways if number in plans else ()
    wanted = " ".join(option.split()).casefold()
    fits = [way for way in ways if way.name == wanted] or [
        way for way in ways if wanted and way.name.startswith(wanted)
    ]
    if len(fits) != 1:
        listed = [way.name for way in ways if way.possible]
        raise UnknownName("way out", option, [*listed, NONE], where=f"find {number}")
    if not fits[0].possible:
        raise BadInput(
            f"{fits[0].name} is not possible: {fits[0].why_not}",
            where=f"find {number}",
            limit=", ".join(way.name for way in ways if way.possible) or "no other way is known",
            do="Choose another way",
        )
    return fits[0]


def _choice(
    hold: Thing, told: ClosureTold, way: WayOut | None, before: Mapping[str, Any], reason: str
) -> list[NewEvent]:
    if way is None:
        if not before.get("option"):
            find = hold.facts["find"]
            raise BadInput("nothing is chosen for it", where=f"find {find}", do=f'Choose: --choose "{find}=WAY"')
        back = {"closure": told.key, "option": "", "reason": reason}
        return [NewEvent(word="hold.way.chosen.1", stream=hold.stream, body=back)]
    body: dict[str, Any] = {
        "closure": told.key,
        "option": way.name,
        "do": way.do,
        "reason": reason,
        "keep_until": plain(way.keep_until),
        "gain_days": way.gain_days,
        "ends_hold": way.ends_hold,
        "secures": way.secures,
        "looked_at": way.looked_at,
        "on": plain(way.on),
        "half": way.half,
        "with": way.with_,
        "to_store": way.to_store,
        "booked": way.name in (BEFORE, AWAY),
    }
    return [NewEvent(word="hold.way.chosen.1", stream=hold.stream, body=body)]


def _bookings(
    office: Office, site: Thing, number: str, way: WayOut | None, before: Mapping[str, Any]
) -> list[NewEvent]:
    """The appointment that a choice needs, fixed; the one that the choice before had made is cancelled."""
    stream = stream_of("booking", site.number, f"{number} {OPENING}")
    thing = office.ledger.state(stream)
    stands = thing.facts if thing is not None and thing.facts.get("status") == "fixed" else None
    job = {"find": number, "what": OPENING}
    if way is not None and way.name in (BEFORE, AWAY) and way.on is not None:
        place = {**job, "with": way.with_, "day": plain(way.on), "half": 0 if way.half == "morning" else 1}
        same = stands is not None and all(stands.get(name) == value for name, value in place.items())
        return [] if same else [NewEvent(word="booking.fixed.1", stream=stream, body=place)]
    made = before.get("booked") and stands is not None and stands.get("day") == before.get("on")
    return [NewEvent(word="booking.cancelled.1", stream=stream, body=job)] if made else []
