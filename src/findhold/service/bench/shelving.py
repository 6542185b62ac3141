"""Shelving: a box stands in a store, by the code on it or by choice; recorded, and told what speaks against it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from findhold.service.bench.clock import DeviceClock, moment
from findhold.service.bench.codes import PlaceCode, read_place
from findhold.service.bench.packing import bench_hold
from findhold.service.finder import find_thing
from findhold.service.office import Office
from findhold.service.storekeeping.moving import Moved, MoveRequest, move, moved_shape


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
    """Record where a box was put; another store than the register has becomes the find's store from then on.

    It stands there, so it is recorded whatever the rules say; what speaks against it is told and kept with it.

    Returns
    -------
    Store, shelf, the store it was meant for, what speaks against it, and the keep-until date before and after.

    Raises
    ------
    BadInput : no box is planned for the find. UnknownName : there is no such store.
    """
    hold = bench_hold(office, request.find, request.site)
    site = office.site(hold.stream.split("/")[1])
    meant = find_thing(office, hold.facts["find"], site).facts.get("store")
    place = read_place(office, request.place)
    place = PlaceCode(store=place.store, shelf=request.shelf.strip() or place.shelf)
    when = moment(office, request.clock)
    asked = MoveRequest(
        find=str(hold.facts["box_id"]),
        to=place.store,
        shelf=place.shelf,
        at=None if request.clock is None else when.at,
        site=site.number,
        done=True,
        how="scanned" if request.scanned else "chosen",
        clock=when.clock,
        members=request.members,
    )
    return _told(move(office, asked), meant)


def _told(told: Moved, meant: str | None) -> dict[str, Any]:
    shape = moved_shape(told)
    return {
        **{name: shape[name] for name in ("find", "box_id", "store", "shelf", "keep_until", "keep_until_before")},
        **{name: shape[name] for name in ("governing_limit", "can_keep", "known_before", "not_forecast")},
        "meant_for": meant,
        "elsewhere": meant not in (None, told.store),
        "against": [one.words for one in told.verdict.against if one.severity != "advice"],
        "better": told.nearest.name() if told.nearest is not None else None,
    }
