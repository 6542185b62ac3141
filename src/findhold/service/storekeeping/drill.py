"""A store fails: its boxes forecast again, worst first, a place for each at once, whom to call, what to do."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from findhold.dates.instants import day_at, day_for_people, zone_named
from findhold.errors import BadInput, FindholdError
from findhold.keep.inputs import Policy
from findhold.record.events import UNIT
from findhold.service import stores
from findhold.service.choices import read_choices
from findhold.service.holds import Progress
from findhold.service.ledger_case import Shelves, shelves
from findhold.service.office import Office
from findhold.service.rounds.calendar import unit_calendar
from findhold.service.rounds.telling_whom import Call, calls, whom
from findhold.service.store_boxes import BoxTold, Ensemble
from findhold.service.store_record import drift_hours, record_of
from findhold.service.storekeeping.reading import Kept, read_house
from findhold.service.storekeeping.suggesting import MEMBERS, keeping_in, place_line, spot_words
from findhold.service.wire import plain
from findhold.store.ledger import Thing
from findhold.stores.assign import Assigned, Given, assign
from findhold.stores.inputs import House, Standing
from findhold.stores.places import Exchange, Keeping, Place, exchange_for, settled_house
from findhold.tables.load import table
from findhold.tables.storing import store_rule

FORECASTS = 120
"""So many forecasts compare the other stores (judgement: some seconds); with more boxes their members get fewer."""
LEAST_MEMBERS = 40
RECENT_DAYS = 30
"""A store that failed in so many days before is told as one that may again (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillRequest:
    """A store that failed. since and room_c : None takes the failure that is recorded as still open.

    record : writes the failure into the ledger; moves are recorded one by one, as they are done.
    """

    store: str
    since: datetime | None = None
    room_c: float | None = None
    record: bool = False
    ensemble: Ensemble = field(default_factory=Ensemble)
    compare_members: int = MEMBERS


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillBox:
    """One box of the failing store: how it is off if it stays, where it goes, or why it goes nowhere.

    stays_until : by when it must be opened if it stays there, and what governs. leave : why it is left shut, though
    there is room elsewhere; "" where it is not. by_rule : a place that only a rule forbids, which a named person may
    let pass. exchange : another box that could make room.
    """

    rank: int
    site: str
    find: str
    what: str
    registered: bool
    box_id: str
    on: str
    mass_kg: float
    weighed: bool
    flags: tuple[str, ...]
    told: BoxTold | None
    not_forecast: str
    stays_until: datetime | None
    stays_limit: str
    leave: str
    place: Place | None
    keeps: Keeping | None
    why_not: tuple[str, ...]
    by_rule: Place | None
    exchange: Exchange | None

    @property
    def box(self) -> str:
        """The box's number as people say it."""
        return self.box_id.split("-")[-2]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """What to do now that a store failed; boxes worst first.

    warm_at : about when it passes the limit of the policy, if nobody opens it; None when it does not, or nobody knows.
    most_proved : more boxes cannot be placed at once. stores : each with its note, which says where it is.
    assumed : finds whose shelf elsewhere is not recorded. failed_lately : other stores that failed not long ago.
    """

    site: str
    site_name: str
    zone: str
    now: datetime
    store: str
    set_c: float | None
    since: datetime
    room_c: float
    warm_c: float
    warm_at: datetime | None
    boxes: tuple[DrillBox, ...]
    most_proved: bool
    call_first: Call
    calls: tuple[Call, ...]
    acts: tuple[tuple[str, str], ...]
    stores: tuple[tuple[str, str], ...]
    assumed: tuple[str, ...]
    failed_lately: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    recorded: bool
    known_before: bool

    @property
    def all_placed(self) -> bool:
        """False when a box has nowhere to go and should not stay either."""
        return all(box.place is not None or box.leave for box in self.boxes)


def drill(office: Office, request: DrillRequest, progress: Progress | None = None) -> Drill:
    """Work out what to do with every box of a store that failed.

    A place outside the store for each, no two in the same room, the worst off first served where not all go.

    Raises
    ------
    BadInput : it is not said since when or how warm the room is; the times cannot be right.
    UnknownName : no such store.
    """
    store = stores.find_store(office, request.store)
    failed = _failure(store, request)
    told = stores.record_failure(office, failed, progress)
    boxes, assigned, assumed = _placed(office, store, told, request.compare_members)
    site = office.site(request.ensemble.site) if request.ensemble.site else office.ledger.states("site")[0]
    now = office.in_site_zone(office.now(), site)
    bones = any("human remains" in flag.casefold() for box in boxes for flag in box.flags)
    first, others_to_call, questions = _calls(office, store.number, now, bones=bones)
    policy = read_choices().policy
    return Drill(
        site=site.number,
        site_name=str(site.facts["name"]),
        zone=str(site.facts["zone"]),
        now=now,
        store=store.number,
        set_c=store.facts.get("temp_c"),
        since=office.in_site_zone(failed.begins, site),
        room_c=failed.room_c,
        warm_c=policy.warm_c,
        warm_at=_warm_at(store, failed, policy, site),
        boxes=boxes,
        most_proved=assigned.most_proved,
        call_first=first,
        calls=others_to_call,
        acts=_acts(boxes),
        stores=tuple((one.number, str(one.facts.get("note") or "")) for one in office.ledger.states("store", UNIT)),
        assumed=tuple(number for number in assumed if number not in {box.find for box in boxes}),
        failed_lately=_recent_failures(office, store.number, failed.begins, str(site.facts["zone"])),
        notes=(*told.notes, *questions),
        recorded=told.recorded,
        known_before=told.known_before,
    )


def _placed(
    office: Office, store: Thing, told: stores.StoreTold, members: int
) -> tuple[tuple[DrillBox, ...], Assigned, tuple[str, ...]]:
    """Every box of the store with its place; how they were given; finds elsewhere whose shelf is not recorded."""
    shelf_of_site = _sites(office, store, told)
    kept = read_house(office)
    house = _failing(kept.house, store.number)
    ordered = _worst_first(house.within(store.number), told.after.boxes)
    house, assumed = settled_house(house)
    others = [one.name for one in house.stores if one.name != store.number and not one.trouble]
    keeping = _keeping(office, kept, ordered, (shelf_of_site, others), members)
    assigned = assign(house, [one.box for one in ordered], keeping, leave_out=store.number)
    leave = _colder_shut(office, told, assigned.given)
    given = tuple(replace(one, place=None) if one.box.key in leave else one for one in assigned.given)
    assigned = replace(assigned, given=given)
    after = _with_all(house, assigned.given)
    boxes = tuple(
        replace(_drill_box((rank, kept, standing), told, one, (after, keeping)), leave=leave.get(standing.box.key, ""))
        for rank, (standing, one) in enumerate(zip(ordered, assigned.given, strict=True), 1)
    )
    return boxes, assigned, assumed


def _colder_shut(office: Office, told: stores.StoreTold, given: Sequence[Given]) -> dict[str, str]:
    """Boxes that would be carried into a store no colder than the room beside theirs, each with the words for it."""
    room_c, policy = float((told.failure or {})["room_c"]), read_choices().policy
    if room_c < policy.cold_note_c:
        return {}  # frost is near: what stays may freeze
    set_c = {one.number: one.facts.get("temp_c") for one in office.ledger.states("store", UNIT)}
    found = {}
    for one in given:
        there_c = set_c.get(one.place.store) if one.place is not None else None
        if one.place is not None and there_c is not None and there_c >= room_c:
            found[one.box.key] = (
                f"Stays colder shut: leave it. The room is at {room_c:g} °C, {one.place.store} at {there_c:g} °C."
            )
    return found


def _recent_failures(office: Office, failing: str, since: datetime, zone: str) -> tuple[tuple[str, str], ...]:
    """Other stores that failed in the days before, typed or by their readings, each with until when."""
    begin, found = since - timedelta(days=RECENT_DAYS), []
    for store in office.ledger.states("store", UNIT):
        spells = [
            item for body in stores.log_bodies(office, store) for item in (body["spells"] or {}).get("spells", ())
        ]
        ends = [item["to"] for item in store.facts.get("failures", ()) if item["to"] is not None]
        ends += [item["failed_to"] or item["ends"] for item in spells if item["kind"] == "failure"]
        last = max((datetime.fromisoformat(text) for text in ends), default=None)
        if store.number != failing and last is not None and begin <= last:
            day = day_for_people(day_at(last, zone)).rsplit(" ", 1)[0]
            found.append((store.number, f"failed itself until {day}: read it twice, an hour apart"))
    return tuple(found)


def _failure(store: Thing, request: DrillRequest) -> stores.FailureRequest:
    """The failure as asked, or as it is recorded and still open."""
    recorded = next((item for item in store.facts.get("failures", ()) if item["to"] is None), None)
    begins, room_c = request.since, request.room_c
    if recorded is not None:
        begins = begins or datetime.fromisoformat(recorded["from"])
        room_c = recorded["room_c"] if room_c is None else room_c
    if begins is None or room_c is None:
        lacking = "since when it is off" if begins is None else "how warm the room beside it is"
        raise BadInput(
            f"it is not said {lacking}",
            where=f"--off {store.number}",
            do="Write for example --since 2026-08-09T21:00+01:00 --room 19; estimate it if there is no thermometer",
        )
    return stores.FailureRequest(
        store=store.number,
        begins=begins,
        ends=None,
        room_c=room_c,
        dry_run=not request.record,
        ensemble=replace(request.ensemble, site=None),  # a store that fails, fails for every site
    )


def _sites(office: Office, store: Thing, told: stores.StoreTold) -> dict[str, Shelves]:
    """What is so at each site, with the failure in the store's record."""
    failure = told.failure or {}
    others = [item for item in store.facts.get("failures", ()) if item["from"] != failure.get("from")]
    facts = {**store.facts, "failures": [*others, failure]}
    record = record_of(facts, stores.log_bodies(office, store))
    choices = read_choices()
    found = {}
    for site in office.ledger.states("site"):
        shelf = shelves(office, site, choices)
        found[site.number] = replace(shelf, records={**shelf.records, store.number: record})
    return found


def _failing(house: House, store: str) -> House:
    """The house with one store known to be off."""
    return replace(
        house,
        stores=tuple(
            replace(one, trouble=one.trouble or "off, and not back yet") if one.name == store else one
            for one in house.stores
        ),
    )


def _worst_first(here: Sequence[Standing], told: Sequence[BoxTold]) -> list[Standing]:
    """Boxes in the order of their new forecasts; those that could not be forecast come first, for nobody knows."""
    rank = {box.box_id: n for n, box in enumerate(told)}
    return sorted(here, key=lambda one: (rank.get(one.box.key, -1), one.box.key))


def _keeping(
    office: Office,
    kept: Kept,
    boxes: Sequence[Standing],
    where: tuple[Mapping[str, Shelves], Sequence[str]],
    members: int,
) -> dict[str, dict[str, Keeping]]:
    """How long each box would keep in each of the other stores."""
    shelf_of_site, others = where
    wanted = max(1, len(boxes) * len(others))
    members = max(LEAST_MEMBERS, min(members, members * FORECASTS // wanted))
    found = {}
    for one in boxes:
        held = (kept.finds[one.box.key], kept.holds[one.box.key])
        site = held[1].stream.split("/")[1]
        found[one.box.key] = keeping_in(office, held, others, members=members, shelf=shelf_of_site[site])
    return found


def _with_all(house: House, given: Sequence[Given]) -> House:
    for one in given:
        if one.place is not None:
            place = one.place
            house = house.with_one(Standing(box=one.box, store=place.store, shelf=place.shelf))
    return house


def _drill_box(
    which: tuple[int, Kept, Standing],
    told: stores.StoreTold,
    given: Given,
    after: tuple[House, Mapping[str, Mapping[str, Keeping]]],
) -> DrillBox:
    rank, kept, standing = which
    box, place = standing.box, given.place
    find, hold = kept.finds[box.key], kept.holds[box.key]
    row = next((one for one in told.after.boxes if one.box_id == box.key), None)
    refused = dict(told.after.refused)
    house, keeping = after
    nowhere = place is None
    soft = next((one for one in given.choice.closed if _by_rule(one)), None) if nowhere else None
    return DrillBox(
        rank=rank,
        site=hold.stream.split("/")[1],
        find=find.number,
        what=str(find.facts.get("what") or ""),
        registered=(find.facts.get("kind") or "registered") == "registered",
        box_id=box.key,
        on=standing.shelf,
        mass_kg=box.mass_kg,
        weighed=bool(hold.facts.get("weighings")),
        flags=tuple((hold.facts.get("plan") or {}).get("flags") or ()),
        told=row,
        not_forecast=_why_not_forecast(row, refused.get(find.number)),
        stays_until=row.open_by if row else None,
        stays_limit=row.open_by_limit if row else "",
        leave="",
        place=place,
        keeps=place.keeping if place else None,
        why_not=_why_not(given, told.store) if nowhere else (),
        by_rule=soft,
        exchange=exchange_for(house, box, keeping.get(box.key, {}), leave_out=told.store) if nowhere else None,
    )


def _why_not_forecast(row: BoxTold | None, error: FindholdError | None) -> str:
    return "" if row is not None else error.sentence() if error is not None else "it was not forecast"


def _by_rule(place: Place) -> bool:
    """True for a place that only a rule forbids which a named person may let pass; never a store that is off."""
    hard = [one for one in place.against if one.severity != "advice"]
    return all(one.severity == "forbidden" and one.rule not in ("off", "frost") for one in hard)


def _why_not(given: Given, failing: str) -> tuple[str, ...]:
    """Why each other place does not do; places that were open alone went to boxes that are worse off."""
    said = [place.why_not() for place in given.choice.closed if place.store != failing]
    said += [f"{place.name()}: its room goes to a box that is worse off" for place in given.choice.open]
    return tuple(dict.fromkeys(said)) or ("there is no other store",)


def _calls(office: Office, store: str, now: datetime, *, bones: bool) -> tuple[Call, tuple[Call, ...], tuple[str, ...]]:
    """Whom to call first, then the others, who is away last, and what is not settled about them."""
    unit, day = unit_calendar(office, now.date()), now.date()
    asked = ("duty", "cover", "officer", "conservator", *(("osteologist",) if bones else ()))
    jobs = [whom(unit.roster, job, store, day) for job in asked]
    rest = [call for call in (*jobs[1:], *calls(unit.roster, day, bones=bones)) if call.name != jobs[0].name]
    by_name = {call.name: call for call in reversed(rest)}
    ordered = sorted(
        (by_name[name] for name in dict.fromkeys(call.name for call in rest)), key=lambda one: bool(one.away)
    )
    return jobs[0], tuple(ordered), tuple(question.text for question in unit.questions)


def _warm_at(store: Thing, failed: stores.FailureRequest, policy: Policy, site: Thing) -> datetime | None:
    """About when the store passes the warm limit on its way to the room, from its set-point."""
    set_c = store.facts.get("temp_c")
    if set_c is None or failed.room_c <= policy.warm_c or set_c >= policy.warm_c:
        return None
    warming_hours, _ = drift_hours(store.facts.get("kind"))
    hours = warming_hours * math.log((failed.room_c - set_c) / (failed.room_c - policy.warm_c))
    return (failed.begins + timedelta(hours=hours)).astimezone(zone_named(str(site.facts["zone"])))


def _acts(boxes: Sequence[DrillBox]) -> tuple[tuple[str, str], ...]:
    """What to do, each with when it is said.

    Source: tables/data/drill_acts.csv, judgement and common practice.
    """
    says = {
        "always": True,
        "carry": any(box.place is not None for box in boxes),
        "leave": any(box.leave for box in boxes),
        "nowhere": any(box.place is None and not box.leave for box in boxes),
        "after": bool(boxes),
    }
    return tuple((row["when"], row["text"]) for row in table("drill_acts").rows if says[row["when"]])


def least_bad(box: DrillBox) -> tuple[str, ...]:
    """The least bad course for a box that goes nowhere, best first; the acts of the drill say how to leave it."""
    if box.leave:
        return (box.leave,)
    said = []
    if box.exchange is not None:
        one = box.exchange
        said.append(
            f"Move find {one.number} from {one.away_from} to {one.to.name()}, then this box to {one.won.name()}."
        )
    if box.by_rule is not None:
        rules = [one for one in box.by_rule.against if one.severity == "forbidden"]
        words = "; ".join(store_rule(one.rule).words for one in rules)
        said.append(
            f"{box.by_rule.name()} has room, against a rule ({words}): a named person may let it pass, with a reason."
        )
    if box.told is not None:
        said.append(f"Leave it shut where it is: {box.told.do}.")
    return tuple(said) or ("Leave it shut where it is, and call the conservator.",)


def drill_shape(told: Drill) -> dict[str, Any]:
    """A drill in its public shape."""
    shape: dict[str, Any] = plain(told)
    for box, row in zip(told.boxes, shape["boxes"], strict=True):
        row["box"] = box.box
        row["do"] = list(least_bad(box)) if box.place is None else []
        if box.place is not None:
            row["place"] |= {
                "place": box.place.name(),
                "words": place_line(box.place, told.zone, told.now),
                "where": spot_words(box.place),
            }
    shape["all_placed"] = told.all_placed
    return shape
