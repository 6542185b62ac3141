"""Closing a box: the lid goes on, the box is weighed, and the wait counts from there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from findhold.record.events import NewEvent
from findhold.service.bench.checks import on_page
from findhold.service.bench.clock import DeviceClock, moment
from findhold.service.bench.packing import bench_hold
from findhold.service.office import Office
from findhold.service.weighing import WeighRequest, weigh
from findhold.service.wire import plain


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseRequest:
    """The packed box on the balance. closed : its lid was closed just now, so the wait counts from here."""

    find: str
    mass: str
    closed: bool = True
    wiped: bool | None = True
    note: str = ""
    site: str | None = None
    clock: DeviceClock | None = None
    members: int = 1000


def close_and_weigh(office: Office, request: CloseRequest) -> dict[str, Any]:
    """Record the closing of the lid and the first weighing; the forecast is made anew from there.

    Returns
    -------
    The public shape of `weigh --json`.

    Raises
    ------
    BadInput : no box is planned, or the mass cannot be one; nothing is recorded then.
    """
    hold = bench_hold(office, request.find, request.site)
    site = office.site(hold.stream.split("/")[1])
    when = moment(office, request.clock)
    at = office.in_site_zone(when.at, site)
    if request.closed:
        body = {"at": plain(at), **({} if when.clock is None else {"clock": when.clock})}
        with office.ledger.writing(office.stamp()) as writing:
            writing.append([NewEvent(word="box.packed.1", stream=hold.stream, body=body)])
    done = weigh(
        office,
        WeighRequest(
            box=hold.facts["box_id"],
            mass=request.mass,
            at=plain(at),
            wiped=request.wiped,
            opened=False,
            note=request.note,
            site=site.number,
            members=request.members,
            clock=when.clock,
        ),
    )
    return {**on_page(done.shape), "packed_at": plain(at) if request.closed else hold.facts.get("packed_at")}
