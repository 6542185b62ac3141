"""Shelving: a box goes into a store, by the code on it or by choice, and is forecast for the air it stands in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from findhold.errors import FindholdError
from findhold.record.events import NewEvent
from findhold.service.bench.clock import DeviceClock, moment
from findhold.service.bench.codes import PlaceCode, read_place
from findhold.service.bench.packing import bench_hold
from findhold.service.finder import find_thing
from findhold.service.holds import HoldRequest, keep_finds
from findhold.service.office import Office
from findhold.service.wire import plain


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelveRequest:
    """A box put away: its find, the place as scanned or chosen, a shelf's name where one is written."""

    find: str
    place: str
    shelf: str = ""
    scanned: bool = False
    site: str | None = None
    clock: DeviceClock | None = None
    members: int = 1000


def shelve(office: Office, request: ShelveRequest) -> dict[str, Any]:
    """Record where a box was put; another store than the register has becomes the find's store from now on.

    Returns
    -------
    Store, shelf, the store it was meant for, and the keep-until date before and after.

    Raises
    ------
    BadInput : no box is planned for the find. UnknownName : there is no such store.
    """
    hold = bench_hold(office, request.find, request.site)
    site = office.site(hold.stream.split("/")[1])
    find = find_thing(office, hold.facts["find"], site)
    place = read_place(office, request.place)
    place = PlaceCode(store=place.store, shelf=request.shelf.strip() or place.shelf)
    when = moment(office, request.clock)
    now = hold.facts.get("shelved") or {}
    meant = find.facts.get("store")
    if (now.get("store"), now.get("shelf")) == (place.store, place.shelf) and meant == place.store:
        return {**_told(hold.facts, place, meant), "known_before": True, "not_forecast": None}
    how = "scanned" if request.scanned else "chosen"
    body = {"store": place.store, "shelf": place.shelf, "how": how, "at": plain(when.at)}
    if when.clock is not None:
        body["clock"] = when.clock
    events = [NewEvent(word="box.shelved.1", stream=hold.stream, body=body)]
    if meant != place.store:
        told = {"fields": {"store": place.store}, "reason": f"box {hold.facts['box_id']} was put there"}
        events.append(NewEvent(word="thing.corrected.1", stream=find.stream, body=told))
    with office.ledger.writing(office.stamp()) as writing:
        writing.append(events)
    trouble = None
    if meant != place.store:
        try:
            keep_finds(office, HoldRequest(finds=(find.number,), site=site.number, members=request.members))
        except FindholdError as error:  # it stands where it stands, also when no forecast can be made for it there
            trouble = error.as_dict()
    after = office.ledger.state(hold.stream)
    shape = _told(after.facts if after else hold.facts, place, meant)
    before = (hold.facts.get("forecast") or {}).get("keep_until")
    return {**shape, "keep_until_before": before, "known_before": False, "not_forecast": trouble}


def _told(facts: dict[str, Any], place: PlaceCode, meant: str | None) -> dict[str, Any]:
    forecast = facts.get("forecast") or {}
    return {
        "find": facts["find"],
        "box_id": facts["box_id"],
        "store": place.store,
        "shelf": place.shelf,
        "meant_for": meant,
        "elsewhere": meant not in (None, place.store),
        "keep_until": forecast.get("keep_until"),
        "keep_until_before": forecast.get("keep_until"),
        "governing_limit": forecast.get("governing_limit"),
        "can_keep": forecast.get("can_keep"),
    }
