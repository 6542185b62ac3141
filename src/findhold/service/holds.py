"""Holds of the ledger: plan the box of a find, forecast its wait, record both."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from findhold.dates.instants import in_zone, zone_named
from findhold.errors import BadInput, FindholdError
from findhold.pack.inputs import Override, StockBox
from findhold.pack.plan import Plan
from findhold.record.events import NewEvent, stream_of
from findhold.record.identity import identity
from findhold.service.answers import keep_answer, plan_answer
from findhold.service.case import Case, Kept, plan_case
from findhold.service.choices import read_choices
from findhold.service.closing.ending import refuse_ended
from findhold.service.finder import find_thing
from findhold.service.learned import Run, keep_taught, learned_answer
from findhold.service.ledger_case import Asked, Shelves, case_of_find, climate_of_find, place_of, shelves
from findhold.service.looks_asked import looks_of
from findhold.service.office import Office
from findhold.service.packing.cushioning import packing_answer
from findhold.service.settled import NO_BARRIER, answering, barrier_from, refuse_idle
from findhold.service.showing.still_so import rests_on
from findhold.service.wire import plain
from findhold.store.ledger import Thing, Writing

Progress = Callable[[str, int, int], None]
_NOT_RECORDED = ("assumptions", "sources", "options", "questions", "title")
"""Parts of a forecast that are printed but not kept in the ledger: they follow from what is kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldRequest:
    """Which finds, and what is added to what the register says. No numbers means every find of the site."""

    finds: tuple[str, ...] = ()
    site: str | None = None
    asked: Asked = field(default_factory=Asked)
    members: int = 1000
    seed: int = 1
    record: bool = True
    all_options: bool | None = False
    """True works out the ways to keep it longer also when the opening can be kept; None never does."""
    go_on: bool = False
    """True lists a find that cannot be worked out and goes on with the others, also when finds are named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One find after planning or forecasting: its case, plan and forecast, and their public shapes."""

    number: str
    find: Thing
    box_id: str | None
    find_id: str
    case: Case
    plan: Plan
    kept: Kept | None
    shape: dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """All finds of a request: those worked out, and those that could not be, with the reason."""

    site: Thing
    held: tuple[Held, ...]
    refused: tuple[tuple[str, FindholdError], ...]


def plan_finds(office: Office, request: HoldRequest, progress: Progress | None = None) -> Holding:
    """Plan a box for each find and record it; a stopped plan is told, not recorded.

    Boxes already planned for other finds are no longer in stock. When every find is asked for, one that cannot be
    planned is listed with its reason and the others go on; a find asked for by number raises its error.
    """
    site = office.site(request.site)
    request = _on_site_clock(request, site)
    finds = _asked_finds(office, request, site)
    shelf = shelves(office, site, read_choices())
    held: list[Held] = []
    refused: list[tuple[str, FindholdError]] = []
    with office.ledger.writing(office.stamp()) as writing:
        holds = {hold.facts["find"]: hold for hold in writing.states("hold", site.number)}
        used = Counter(hold.facts["plan"]["box"] for hold in holds.values())
        for done, find in enumerate(finds):
            if progress:
                progress(f"find {find.number}", done, len(finds))
            own = holds.get(find.number)
            if own is not None:
                used[own.facts["plan"]["box"]] -= 1
            asked = _packed_at_bench(request.asked, own)
            try:
                one = _plan_one(find, replace(shelf, stock=stock_left(shelf.stock, used)), asked, own, holds)
            except FindholdError as error:
                if request.finds and not request.go_on:
                    raise
                refused.append((find.number, error))
                continue
            if one.plan.stopped or not request.record:
                used.update([own.facts["plan"]["box"]] if own is not None else [])
            else:
                hold = _record_plan(writing, site, one, asked)
                holds[find.number] = hold
                used[hold.facts["plan"]["box"]] += 1
            held.append(one)
        refuse_idle([one.plan for one in held], request.asked.overrides)
    return Holding(site=site, held=tuple(held), refused=tuple(refused))


def keep_finds(office: Office, request: HoldRequest, progress: Progress | None = None) -> Holding:
    """Forecast each planned hold and record it; without numbers, every hold of the site.

    Raises
    ------
    BadInput : a find asked for by number has no planned box yet.
    """
    site = office.site(request.site)
    request = _on_site_clock(request, site)
    holds = {hold.facts["find"]: hold for hold in office.ledger.states("hold", site.number)}
    numbers = request.finds or tuple(number for number, hold in holds.items() if not hold.facts.get("ended"))
    finds = [find_thing(office, number, site) for number in numbers]
    shelf = shelves(office, site, read_choices())
    done, events = forecast_finds(finds, shelf, holds, request, progress)
    if request.record and events:
        with office.ledger.writing(office.stamp()) as writing:
            writing.append(events)
    return done


def forecast_finds(
    finds: Sequence[Thing],
    shelf: Shelves,
    holds: dict[str, Thing],
    request: HoldRequest,
    progress: Progress | None = None,
) -> tuple[Holding, list[NewEvent]]:
    """Forecast finds on given shelves and say which events record it; nothing is written.

    `holds` are the holds of the site by find number.

    Raises
    ------
    BadInput : a find that `request` names cannot be forecast; others are listed with their reason.
    """
    held: list[Held] = []
    refused: list[tuple[str, FindholdError]] = []
    events: list[NewEvent] = []
    for done, find in enumerate(finds):
        if progress:
            progress(f"find {find.number}", done, len(finds))
        try:
            one = _keep_one(find, shelf, holds.get(find.number), request)
        except FindholdError as error:
            if request.finds and not request.go_on:
                raise
            refused.append((find.number, error))
            continue
        held.append(one)
        events.append(_forecast_event(holds[find.number], one))
    return Holding(site=shelf.site, held=tuple(held), refused=tuple(refused)), events


def _on_site_clock(request: HoldRequest, site: Thing) -> HoldRequest:
    """The request with a packing time typed without an offset read on the site's clock."""
    packed = request.asked.packed_at
    if packed is None or packed.utcoffset() is not None:
        return request
    return replace(request, asked=replace(request.asked, packed_at=in_zone(packed, zone_named(site.facts["zone"]))))


def _asked_finds(office: Office, request: HoldRequest, site: Thing) -> list[Thing]:
    if request.finds:
        return [find_thing(office, number, site) for number in request.finds]
    finds = office.ledger.states("find", site.number)
    if not finds:
        raise BadInput("there is no find yet", where=f"site {site.number}", do="Import the finds register first")
    ended = {hold.facts["find"] for hold in office.ledger.states("hold", site.number) if hold.facts.get("ended")}
    return [find for find in finds if find.number not in ended]


def stock_left(stock: Sequence[StockBox], used: Counter[str]) -> tuple[StockBox, ...]:
    """The stock less the boxes planned for other finds, which are counted so that a plan can say where they went."""
    return tuple(
        box
        if box.count is None
        else replace(box, count=max(0, box.count - used.get(box.name, 0)), planned=used.get(box.name, 0))
        for box in stock
    )


def _packed_at_bench(asked: Asked, own: Thing | None) -> Asked:
    """The request with the packing time that the bench told of this hold; a register's date does not replace it."""
    facts = {} if own is None or own.facts.get("ended") else own.facts
    if asked.packed_at is not None or not (facts.get("packed_by") and facts.get("packed_at")):
        return asked
    since = facts.get("stood_since")
    return replace(
        asked,
        packed_at=datetime.fromisoformat(facts["packed_at"]),
        stood_since=datetime.fromisoformat(since) if since else None,
    )


def _plan_one(find: Thing, shelf: Shelves, given: Asked, own: Thing | None, holds: dict[str, Thing]) -> Held:
    before = own.facts.get("asked", {}) if own is not None else {}
    asked = replace(
        given,
        overrides=(*kept_overrides(own), *given.overrides),
        barrier=given.barrier or before.get("barrier"),
        wrapping=given.wrapping or before.get("wrapping"),
        sheets=before.get("sheets") if given.sheets is None else given.sheets,
        place_carried_kg=_carried_kg(find, shelf, holds, own),
        lid_water_g=_lid_water_g(own),
    )
    case = case_of_find(find, shelf, asked)
    plan = plan_case(case)
    spent = [one for one in kept_overrides(own) if one in plan.idle_overrides]
    if spent:  # what was let pass earlier and no longer stands is left out, and stays in the story
        asked = replace(asked, overrides=tuple(one for one in asked.overrides if one not in spent))
        case = case_of_find(find, shelf, asked)
        plan = plan_case(case)
    site = shelf.site.number
    number = own.facts["box_no"] if own is not None else 1 + max((h.facts["box_no"] for h in holds.values()), default=0)
    return Held(
        number=find.number,
        find=find,
        box_id=None if plan.stopped else identity(site, "B", number),
        find_id=identity(site, "F", find.number),
        case=case,
        plan=plan,
        kept=None,
        shape={
            **plan_answer(plan),
            **packing_answer(case, plan),
            "find": find.number,
            "barrier_from": "" if given.barrier else barrier_from({} if own is None else own.facts, plan, case.zone),
            "box_id": None if plan.stopped else identity(site, "B", number),
        },
    )


def _carried_kg(find: Thing, shelf: Shelves, holds: dict[str, Thing], own: Thing | None) -> float:
    """Packed mass of the other boxes planned for the store of this find, by the store each was planned into."""
    place = place_of(find, shelf)
    others = [
        hold.facts["plan"]
        for hold in holds.values()
        if (own is None or hold.stream != own.stream) and not hold.facts.get("ended")
    ]
    return sum(float(plan.get("gross_mass_kg") or 0.0) for plan in others if place and plan.get("place") == place)


def _lid_water_g(own: Thing | None) -> float | None:
    """Water that would drip from the lid: what absorbent is planned for, and what the last forecast says besides."""
    # What is kept wet lies in closed bags: a drip on the outside of a bag harms nothing.
    if own is None or own.facts["plan"].get("kept") == "waterlogged":
        return None
    planned = float(own.facts["asked"].get("lid_water_g") or 0.0)
    more = own.facts.get("forecast", {}).get("drip_g", {}).get("high", 0.0)
    return planned + float(more) or None


def kept_overrides(hold: Thing | None) -> tuple[Override, ...]:
    """Rules that named persons let pass for a hold."""
    return tuple(Override(**facts) for facts in hold.facts.get("overrides", ())) if hold is not None else ()


def _record_plan(writing: Writing, site: Thing, one: Held, asked: Asked) -> Thing:
    number = int(str(one.box_id).split("-B")[1].split("-")[0])
    stream = stream_of("hold", site.number, f"B{number}")
    body = {
        "find": one.number,
        "site": site.number,
        "box_no": number,
        "box_id": one.box_id,
        "find_id": one.find_id,
        "plan": {key: value for key, value in one.shape.items() if key not in {"sources", "rejected"}},
        "asked": {"barrier": one.case.plan.barrier or _taken_away(one), "wrapping": one.case.plan.wrapping}
        | ({"lid_water_g": one.case.plan.lid_water_g} if one.case.plan.lid_water_g else {})
        | ({} if one.case.plan.sheets is None else {"sheets": one.case.plan.sheets}),
        "exposed_at": plain(one.case.exposed_at),
        "packed_at": plain(one.case.packed_at),
        "packed_stated": asked.packed_at is not None or one.find.facts.get("packed_at") is not None,
        "open_at": plain(one.case.open_at),
        "assumed": list(one.case.assumed),
        "rests_on": plain(rests_on(one.find.facts)),
    }
    events = [NewEvent(word="hold.planned.1", stream=stream, body=body)]
    answers = answering(one.plan, asked.overrides)
    events += [NewEvent(word="hold.overridden.1", stream=stream, body=plain(item)) for item in answers]
    writing.append(events)
    recorded = writing.state(stream)
    if recorded is None:
        raise RuntimeError(f"{stream} was appended and is not there")
    return recorded


def _taken_away(one: Held) -> str | None:
    """That no barrier was asked for by name, so that the next plan does not bring one back."""
    return NO_BARRIER if one.case.plan.no_barrier else None


def _keep_one(find: Thing, shelf: Shelves, hold: Thing | None, request: HoldRequest) -> Held:
    if hold is None:
        raise BadInput(
            "no box is planned for it yet", where=f"find {find.number}", do=f"Run: findhold plan {find.number}"
        )
    refuse_ended(hold)
    before = hold.facts
    case, plan = case_of_hold(find, shelf, hold, request.asked.packed_at)
    run = Run(members=request.members, seed=request.seed, all_options=request.all_options)
    kept, known = keep_taught(case, plan, before, run, looks_of(find, shelf, before))
    shape = {**keep_answer(case, kept), "find": find.number, "box_id": before["box_id"]}
    if known is not None:
        shape["learned"] = learned_answer(known)
    return Held(
        number=find.number,
        find=find,
        box_id=before["box_id"],
        find_id=before["find_id"],
        case=case,
        plan=plan,
        kept=kept,
        shape=shape,
    )


def case_of_hold(find: Thing, shelf: Shelves, hold: Thing, packed_at: datetime | None = None) -> tuple[Case, Plan]:
    """The case of a planned hold, in the box that was planned for it, and its plan.

    Raises
    ------
    BadInput : the register or the store lacks what is needed.
    """
    before = hold.facts
    stated = before["packed_at"]
    packed = packed_at or (None if stated is None else datetime.fromisoformat(stated))
    since = datetime.fromisoformat(before["stood_since"]) if before.get("stood_since") else None
    asked = Asked(
        packed_at=packed,
        stood_since=since,
        barrier=before["asked"].get("barrier"),
        wrapping=before["asked"].get("wrapping"),
        box=before["plan"]["box"],
        overrides=kept_overrides(hold),
        lid_water_g=before["asked"].get("lid_water_g"),
        sheets=before["asked"].get("sheets"),
    )
    free = replace(shelf, stock=tuple(replace(box, count=None) for box in shelf.stock))
    _, air = climate_of_find(find, shelf, packed, since)
    case = replace(case_of_find(find, free, asked), assumed=(*before.get("assumed", ()), *air))
    return case, plan_case(case)


def _forecast_event(hold: Thing, one: Held) -> NewEvent:
    body = {key: value for key, value in one.shape.items() if key not in _NOT_RECORDED}
    return NewEvent(word="hold.forecast.1", stream=hold.stream, body={**body, "policy": plain(one.case.policy)})
