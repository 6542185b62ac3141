"""Closing a box: the lid goes on, it is weighed, and the wait counts from there; when that was can be corrected."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from findhold.dates.instants import for_people, in_zone, zone_named
from findhold.errors import BadInput, FindholdError
from findhold.record.events import NewEvent
from findhold.service.bench.checks import on_page
from findhold.service.bench.clock import DeviceClock, Moment, moment
from findhold.service.bench.packing import bench_hold, packed_known
from findhold.service.holds import HoldRequest, keep_finds
from findhold.service.office import Office
from findhold.service.weighing import MassQuestion, WeighRequest, mass_question, weigh
from findhold.service.wire import plain
from findhold.store.ledger import Thing


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseRequest:
    """The packed box on the balance. closed : its lid was closed just now, so the wait counts from here.

    reason : why the packing date moves; needed when one is stated or recorded already. why : why a first mass that is
    far from the plan is right all the same.
    """

    find: str
    mass: str
    closed: bool = True
    reason: str = ""
    wiped: bool | None = True
    note: str = ""
    why: str = ""
    site: str | None = None
    clock: DeviceClock | None = None
    members: int = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedRequest:
    """A packing date put right: its find, the instant as typed (the site's clock where no offset is given), and why."""

    find: str
    at: str
    reason: str
    site: str | None = None
    clock: DeviceClock | None = None
    members: int = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class UnpackedRequest:
    """The last packing date set at the bench taken back, with the reason."""

    find: str
    reason: str = ""
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
    BadInput : no box is planned, the mass cannot be one, or the packing date is stated or recorded already and no
    reason is given for moving it; nothing is recorded then.
    """
    if not request.mass.strip():
        raise BadInput("no mass was typed", where="mass", do="Read the balance and type what it shows")
    hold = bench_hold(office, request.find, request.site)
    site = office.site(hold.stream.split("/")[1])
    when = moment(office, request.clock)
    at = office.in_site_zone(when.at, site)
    if request.closed:
        _needs_reason(hold, request.reason, str(site.facts["zone"]))
        with office.ledger.writing(office.stamp()) as writing:
            writing.append([_packed(hold, at, request.reason, when)])
    done = weigh(office, _weighing(hold, request, when))
    return {**on_page(done.shape), "packed_at": plain(at) if request.closed else hold.facts.get("packed_at")}


def close_question(office: Office, request: CloseRequest) -> MassQuestion | None:
    """What to ask about the mass before it is recorded; None when there is nothing to ask."""
    hold = bench_hold(office, request.find, request.site)
    return mass_question(office, _weighing(hold, request, moment(office, request.clock)))


def _weighing(hold: Thing, request: CloseRequest, when: Moment) -> WeighRequest:
    return WeighRequest(
        box=hold.facts["box_id"],
        mass=request.mass,
        at=when.at.isoformat(timespec="seconds"),
        wiped=request.wiped,
        opened=False,
        note=request.note,
        why=request.why,
        site=hold.stream.split("/")[1],
        members=request.members,
        clock=when.clock,
    )


def correct_packed(office: Office, request: PackedRequest) -> dict[str, Any]:
    """Record another packing date for a box, and forecast it from there.

    The earlier date stays in the event, so that it can be brought back; a failure of a store the box stood in since
    the earlier date still counts.

    Raises
    ------
    BadInput : no box is planned, no reason, a time that cannot be read, before first exposure or in the future.
    """
    hold = bench_hold(office, request.find, request.site)
    site = office.site(hold.stream.split("/")[1])
    zone = str(site.facts["zone"])
    when = moment(office, request.clock)
    at = _typed(request.at, hold, zone, office.in_site_zone(office.now(), site))
    if not request.reason.strip():
        raise BadInput("no reason is given", where="why", do="Say in a few words why the packing date is wrong")
    with office.ledger.writing(office.stamp()) as writing:
        writing.append([_packed(hold, at, request.reason, when)])
    return _forecast(office, hold, request.members)


def undo_packed(office: Office, request: UnpackedRequest) -> dict[str, Any]:
    """Take the last packing date set at the bench back, as an event of its own; the date before it holds again.

    Raises
    ------
    BadInput : no packing date of this box was set at the bench, or it was taken back already.
    """
    hold = bench_hold(office, request.find, request.site)
    packing = hold.facts.get("packing") or {}
    if not packing or "undone_by" in packing:
        raise BadInput(
            "no packing date was set at the bench that could be taken back",
            where=f"find {hold.facts['find']}",
            do="Correct the packing date instead",
        )
    when = moment(office, request.clock)
    body = {
        "packed": packing["at"],
        "before": packing["before"],
        "reason": request.reason.strip(),
        "at": plain(when.at),
    }
    if when.clock is not None:
        body["clock"] = when.clock
    with office.ledger.writing(office.stamp()) as writing:
        writing.append([NewEvent(word="box.packed.undone.1", stream=hold.stream, body=body)])
    return _forecast(office, hold, request.members)


def _needs_reason(hold: Thing, reason: str, zone: str) -> None:
    """A packing date that somebody stated or recorded moves only with a reason."""
    if not packed_known(hold.facts) or reason.strip():
        return
    known = for_people(datetime.fromisoformat(hold.facts["packed_at"]), zone)
    raise BadInput(
        f"it was packed on {known}, as is recorded, and the packing date would move to now",
        where=f"find {hold.facts['find']}",
        do="Weigh it without “packed anew just now”; or say why it was packed anew",
    )


def _packed(hold: Thing, at: datetime, reason: str, when: Moment) -> NewEvent:
    """The event of a packing date, with what stood before it so that it can be taken back."""
    facts = hold.facts
    before = {"at": facts.get("packed_at"), "stated": facts.get("packed_stated"), "by": facts.get("packed_by")}
    # From the first packing that somebody stated on it stood in its store: what happened there still counts.
    earlier = [facts["packed_at"]] if packed_known(facts) else []
    earlier += [facts["stood_since"]] if facts.get("stood_since") else []
    since = min(map(datetime.fromisoformat, earlier), default=None)
    body: dict[str, Any] = {"at": plain(at), "reason": reason.strip(), "before": before}
    if since is not None and since < at:
        body["stood_since"] = plain(since)
    if when.clock is not None:
        body["clock"] = when.clock
    return NewEvent(word="box.packed.1", stream=hold.stream, body=body)


def _typed(text: str, hold: Thing, zone: str, now: datetime) -> datetime:
    """A packing date as typed, between first exposure and now."""
    try:
        at = datetime.fromisoformat(text.strip())
    except ValueError:
        raise BadInput(f"{text!r} is no day with a time", where="packed", do="Type it like 2026-07-31 16:00") from None
    at = in_zone(at, zone_named(zone)) if at.utcoffset() is None else at.astimezone(zone_named(zone))
    exposed = hold.facts.get("exposed_at")
    first = None if exposed is None else datetime.fromisoformat(exposed)
    if at > now or (first is not None and at < first):
        begin = "" if first is None else f"from first exposure, {for_people(first, zone)}, "
        raise BadInput(
            f"{for_people(at, zone)} cannot be when it was packed",
            where="packed",
            limit=f"{begin}up to now, {for_people(now, zone)}",
            do="Type the day and time again",
        )
    return at


def _forecast(office: Office, hold: Thing, members: int) -> dict[str, Any]:
    """The hold forecast anew, and what moved; the date stands also when no forecast can be made."""
    trouble = None
    site = hold.stream.split("/")[1]
    try:
        keep_finds(office, HoldRequest(finds=(hold.facts["find"],), site=site, members=members))
    except FindholdError as error:
        trouble = error.as_dict()
    after = office.ledger.state(hold.stream)
    facts = hold.facts if after is None else after.facts
    return {
        "find": facts["find"],
        "box_id": facts["box_id"],
        "packed_at": facts["packed_at"],
        "packed_at_before": hold.facts.get("packed_at"),
        "keep_until": (facts.get("forecast") or {}).get("keep_until"),
        "keep_until_before": (hold.facts.get("forecast") or {}).get("keep_until"),
        "not_forecast": trouble,
    }
