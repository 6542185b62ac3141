"""A hold ends: its box was opened, handed to the specialist, or sent; taken back with a reason when that was wrong."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from findhold.dates.instants import for_people, in_zone, zone_named
from findhold.errors import BadInput, UnknownName
from findhold.record.events import NewEvent
from findhold.service.finder import find_thing, hold_of
from findhold.service.office import Office
from findhold.service.wire import plain
from findhold.store.ledger import Thing

HOW = ("opened", "handed over", "sent")
"""How a hold ends."""
AHEAD = timedelta(minutes=10)
"""Clocks may differ by so much; an end that lies further ahead has not happened."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndRequest:
    """One hold that ended: the find, how, when (None: now), why or to whom. undo : it did not end after all."""

    find: str
    how: str = HOW[0]
    at: datetime | None = None
    reason: str = ""
    undo: bool = False
    site: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EndTold:
    """What was recorded of the end of a hold; early_days : before its keep-until date (negative: after it) [days]."""

    find: str
    box_id: str
    ended: bool
    how: str
    at: datetime
    reason: str
    keep_until: datetime | None
    early_days: float | None


def end_hold(office: Office, request: EndRequest) -> EndTold:
    """Record that a hold ended, or that it did not after all: it leaves, or comes back to, every list of what waits.

    Not for planning an opening: samples, their order and their controls are not recorded here.

    Raises
    ------
    UnknownName : no such find, or no such way of ending. BadInput : it has no box, has ended already, has not ended,
    the time is before its packing or lies ahead, or a reason is missing for taking it back.
    """
    site = office.site(request.site)
    find = find_thing(office, request.find, site)
    hold = hold_of(office, site.number, find.number)
    where = f"find {find.number}"
    if hold is None:
        raise BadInput("no box is planned for it", where=where, do=f"Plan it first: findhold plan {find.number}")
    now = office.in_site_zone(office.now(), site)
    ended = hold.facts.get("ended")
    if request.undo:
        told = _resumed(hold, request, where)
        event = NewEvent(word="hold.resumed.1", stream=hold.stream, body={"reason": request.reason.strip()})
        at, how = now, str(told["how"])
    else:
        if ended:
            when = for_people(datetime.fromisoformat(ended["at"]), site.facts["zone"])
            do = f'If that was wrong: findhold open {find.number} --undo --reason "WHY"'
            raise BadInput(f"its hold has ended: {ended['how']} on {when} by {ended['by']}", where=where, do=do)
        how, at = _how(request.how), _at(hold, request, (site, now), where)
        body = {"how": how, "at": plain(at), "reason": request.reason.strip()}
        event = NewEvent(word="hold.ended.1", stream=hold.stream, body=body)
    with office.ledger.writing(office.stamp()) as writing:
        writing.append([event])
    text = (hold.facts.get("forecast") or {}).get("keep_until")
    until = datetime.fromisoformat(text) if text else None
    return EndTold(
        find=find.number,
        box_id=str(hold.facts["box_id"]),
        ended=not request.undo,
        how=how,
        at=at,
        reason=request.reason.strip(),
        keep_until=until,
        early_days=None if until is None else (until - at).total_seconds() / 86400.0,
    )


def refuse_ended(hold: Thing) -> None:
    """BadInput for a hold that has ended: nothing waits in its box any more."""
    ended = hold.facts.get("ended")
    if ended:
        find = hold.facts["find"]
        raise BadInput(
            f"its hold has ended: {ended['how']} on {ended['at'][:10]} by {ended['by']}",
            where=f"find {find}",
            do=f'Plan a new box for it, or take it back: findhold open {find} --undo --reason "WHY"',
        )


def _how(text: str) -> str:
    wanted = " ".join(text.split()).casefold()
    if wanted not in HOW:
        raise UnknownName("way of ending", text, list(HOW), where="--how")
    return wanted


def _at(hold: Thing, request: EndRequest, when: tuple[Thing, datetime], where: str) -> datetime:
    """When it ended, on the site's clock: not before its packing, and not ahead of now."""
    site, now = when
    if request.at is None:
        return now.replace(microsecond=0)
    at = in_zone(request.at, zone_named(site.facts["zone"]))
    if at > now + AHEAD:
        raise BadInput(
            f"{for_people(at, site.facts['zone'])} lies ahead",
            where=where,
            limit=f"not after {for_people(now, site.facts['zone'])}",
            do="Record it when it has happened; an appointment is made with findhold book",
        )
    packed = hold.facts.get("packed_at")
    if packed and at < datetime.fromisoformat(packed):
        begun = for_people(datetime.fromisoformat(packed), site.facts["zone"])
        raise BadInput(f"that is before its packing ({begun})", where=where, limit=f"after {begun}", do="Mend the time")
    return at


def _resumed(hold: Thing, request: EndRequest, where: str) -> dict[str, str]:
    ended: dict[str, str] | None = hold.facts.get("ended")
    if not ended:
        raise BadInput("its hold has not ended", where=where, do="Leave --undo out to record that it did")
    if not request.reason.strip():
        raise BadInput("taking it back wants a reason", where=where, do='Add --reason "opened the wrong box", say')
    return ended
