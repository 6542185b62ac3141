"""Where the next box goes: every shelf judged, with how long the find would keep in each store."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from findhold.dates.instants import day_at, day_for_people
from findhold.errors import BadInput, FindholdError
from findhold.keep.limits import TOO_COLD, TOO_WARM
from findhold.service.bench.codes import hold_of_code
from findhold.service.choices import read_choices
from findhold.service.closing.ending import refuse_ended
from findhold.service.finder import find_thing
from findhold.service.holds import HoldRequest, forecast_finds
from findhold.service.ledger_case import Shelves, shelves, stays_of_find
from findhold.service.office import Office
from findhold.service.stay import Stay
from findhold.service.storekeeping.reading import box_of, read_house
from findhold.service.wire import plain
from findhold.store.ledger import Thing
from findhold.stores.inputs import Box, House
from findhold.stores.places import Exchange, Keeping, Place, exchange_for, places_for, settled_house
from findhold.tables.storing import store_rule

MOST_SHOWN = 5
MEMBERS = 200
"""Members of the forecasts that places are compared by; the date that is recorded is reckoned with the full number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SuggestRequest:
    """A box by its find or its code; members of the forecasts for the stores."""

    find: str
    site: str | None = None
    members: int = MEMBERS


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggested:
    """Places for a box, best first; where it may not go and why; what could be moved for it when all are full.

    assumed : finds whose shelf is not recorded; for the reckoning they stand where they go best.
    """

    site: str
    zone: str
    now: datetime
    find: str
    what: str
    box_id: str
    now_in: str
    now_on: str
    open: tuple[Place, ...]
    closed: tuple[Place, ...]
    exchange: Exchange | None
    assumed: tuple[str, ...]
    notes: tuple[str, ...]


def suggest(office: Office, request: SuggestRequest) -> Suggested:
    """Where a box can go, best first, with reasons; nothing is recorded.

    Raises
    ------
    BadInput : no box is planned for the find, or no store is entered. UnknownName : there is no such find.
    """
    hold = hold_of_code(office, request.find, request.site)
    refuse_ended(hold)
    site = office.site(hold.stream.split("/")[1])
    kept = read_house(office)
    if not kept.house.stores:
        raise BadInput("no store is entered", where="stores", do="Import the stores first, then their shelves")
    box_id = str(hold.facts["box_id"])
    find = find_thing(office, str(hold.facts["find"]), site)
    standing = kept.standing(box_id)
    box = standing.box if standing else box_of(find, hold)
    house, assumed = settled_house(kept.house)
    keeping = keeping_in(office, (find, hold), tuple(store.name for store in house.stores), members=request.members)
    now_in = standing.store if standing else ""
    found = places_for(house, box, keeping, now_in=now_in)
    return Suggested(
        site=site.number,
        zone=str(site.facts["zone"]),
        now=office.in_site_zone(office.now(), site),
        find=find.number,
        what=str(find.facts.get("what") or ""),
        box_id=box_id,
        now_in=now_in,
        now_on=standing.shelf if standing else "",
        open=found.open,
        closed=found.closed,
        exchange=None if found.open else exchange_for(house, box, keeping),
        assumed=tuple(number for number in assumed if number != find.number),
        notes=_notes(house, box),
    )


def keeping_in(
    office: Office, held: tuple[Thing, Thing], stores: Iterable[str], *, members: int, shelf: Shelves | None = None
) -> dict[str, Keeping]:
    """How long a box would keep in each store from now on; a store in which it cannot be forecast is left out."""
    find, hold = held
    site = office.site(hold.stream.split("/")[1])
    shelf = shelf or shelves(office, site, read_choices())
    found = {}
    for store in stores:
        told = _keeping(find, hold, moved_shelf(shelf, find, store), HoldRequest(members=members, all_options=None))
        if told is not None:
            found[store] = told
    return found


def moved_shelf(shelf: Shelves, find: Thing, store: str) -> Shelves:
    """What is so when a find is moved into a store now."""
    try:
        stays = stays_of_find(find, shelf)
    except BadInput:
        stays = ()
    if stays and stays[-1].store == store:
        return shelf
    since = shelf.now if stays else None
    return replace(shelf, stays={**shelf.stays, find.number: (*stays, Stay(store=store, since=since, stated=True))})


def _keeping(find: Thing, hold: Thing, shelf: Shelves, request: HoldRequest) -> Keeping | None:
    store = shelf.stays[find.number][-1].store if find.number in shelf.stays else find.facts.get("store")
    there = replace(find, facts={**find.facts, "store": store})
    try:
        done, _ = forecast_finds([there], shelf, {find.number: hold}, request)
    except FindholdError:
        return None
    if not done.held or done.held[0].kept is None:
        return None
    # A place that was too warm is in the past, wherever the box goes; the limits that are still ahead compare stores.
    limits = [
        (limit.date_low, limit.name)
        for limit in done.held[0].kept.forecast.limits
        if limit.date_low is not None and (limit.name not in (TOO_WARM, TOO_COLD) or limit.date_low > shelf.now)
    ]
    until, name = min(limits, key=lambda pair: pair[0].timestamp(), default=(None, ""))
    open_at = done.held[0].case.open_at
    ahead = open_at is not None and until is not None and open_at > shelf.now
    return Keeping(until=until, limit=name, in_time=open_at <= until if ahead and open_at and until else None)


def _notes(house: House, box: Box) -> tuple[str, ...]:
    said = []
    bare = [store.name for store in house.stores if not store.shelves]
    if bare:
        said.append(f"No shelves are entered for {', '.join(bare)}: room there is not checked shelf by shelf.")
    if box.size_mm is None:
        said.append("The outside size of this box is not known: no room is checked.")
    return tuple(said)


def place_line(place: Place, zone: str, now: datetime) -> str:
    """Why a place is good, in one line."""
    said = [keeps_words(place.keeping, zone, now)] if place.keeping is not None and place.keeping.until else []
    said += [*place.reasons, *(one.words for one in place.against), *place.not_known]
    return "; ".join(said)


def keeps_words(keeping: Keeping, zone: str, now: datetime) -> str:
    """How long a box keeps in a place, in words; "" where nobody knows."""
    if keeping.until is None:
        return ""
    day = day_for_people(day_at(keeping.until, zone)).rsplit(" ", 1)[0]
    if keeping.until <= now:
        return f"its date has passed, {day} ({keeping.limit})"
    late = {True: ", in time for its opening", False: ", before its planned opening", None: ""}[keeping.in_time]
    return f"keeps until {day} ({keeping.limit}){late}"


def spot_words(place: Place) -> str:
    """Where on the shelf, in words; "" where no spot was reckoned."""
    spot = place.spot
    if spot is None or spot.left_mm is None or spot.front_mm is None:
        return ""
    way = "long side to the back" if spot.turned else "long side along the front"
    if place.beside and not place.firm:
        finds = f"find {place.beside[0]}" if len(place.beside) == 1 else f"finds {', '.join(place.beside[:4])}"
        return f"beside {finds}{' and others' if len(place.beside) > 4 else ''}, pushed together; {way}"
    return f"{spot.left_mm:.0f} mm from the left, {spot.front_mm:.0f} mm from the front edge; {way}"


def suggested_shape(told: Suggested) -> dict[str, Any]:
    """A suggestion in its public shape."""
    shape: dict[str, Any] = plain(told)
    for name in ("open", "closed"):
        for place, row in zip(getattr(told, name), shape[name], strict=True):
            row |= {"place": place.name(), "words": place_line(place, told.zone, told.now), "where": spot_words(place)}
    shape["can_go"] = bool(told.open)
    shape["do"] = list(least_bad(told))
    return shape


def least_bad(told: Suggested) -> tuple[str, ...]:
    """What to do when no place is open: move one away, or what each place lacks."""
    if told.open:
        return ()
    if told.exchange is not None:
        one = told.exchange
        return (f"Move the box of find {one.number} to {one.to.name()}, then this one to {one.won.name()}.",)
    soft = [place for place in told.closed if all(one.severity != "never" for one in place.against)]
    if soft:
        rules = ", ".join(dict.fromkeys(one.rule for one in soft[0].against if one.severity == "forbidden"))
        do = store_rule(soft[0].against[0].rule).do
        return (f"There is room in {soft[0].name()}, against a rule ({rules}): {do}; or a named person lets it pass.",)
    return ("No shelf takes it as things stand: empty one, enter another store, or pack it in a smaller box.",)
