"""A box moved: the rules and the room checked first, then recorded with the time it was done, and forecast again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from findhold.dates.instants import for_people
from findhold.errors import BadInput, FindholdError, LedgerTrouble, UnknownName
from findhold.record.events import NewEvent
from findhold.service.bench.codes import hold_of_code
from findhold.service.closing.ending import refuse_ended
from findhold.service.finder import find_thing
from findhold.service.holds import HoldRequest, keep_finds
from findhold.service.office import Office
from findhold.service.storekeeping.reading import Kept, box_of, read_house, standing_of
from findhold.service.storekeeping.suggesting import place_line, spot_words
from findhold.service.stores import find_store
from findhold.service.wire import plain
from findhold.store.ledger import Thing
from findhold.stores.inputs import Shelf, Spot, Standing, Store
from findhold.stores.places import Place, places_for, settled_house
from findhold.stores.rules import Verdict, judge

SLACK = timedelta(minutes=2)
"""A clock that is ahead by no more may have told the time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveRequest:
    """A box to another place. spot : a name, or "LEFT,FRONT" in millimetres, with "T" behind it when it is turned.

    at : None is now. overrides : rules let pass, with the person who does so and why. done : it stands there already,
    so it is recorded whatever speaks against it, and that is told. how : typed, scanned or chosen.
    """

    find: str
    to: str
    shelf: str = ""
    spot: str = ""
    at: datetime | None = None
    site: str | None = None
    overrides: tuple[str, ...] = ()
    reason: str = ""
    person: str = ""
    done: bool = False
    how: str = "typed"
    clock: dict[str, Any] | None = None
    members: int = 1000
    dry_run: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What came of it: recorded, or why not and the nearest good place.

    late : a later move is recorded, so the box stands where that put it. no_room_for : finds without a recorded shelf
    for which there is no room left in the store by the figures.
    """

    site: str
    zone: str
    find: str
    box_id: str
    was_in: str
    was_on: str
    store: str
    shelf: str
    spot: Spot | None
    at: datetime
    verdict: Verdict
    allowed: bool
    overridden: tuple[dict[str, str], ...]
    nearest: Place | None
    recorded: bool
    known_before: bool
    dry_run: bool
    late: bool
    no_room_for: tuple[str, ...]
    keep_until_before: str | None
    keep_until: str | None
    governing_limit: str | None
    can_keep: bool | None
    not_forecast: FindholdError | None


def move(office: Office, request: MoveRequest) -> Moved:
    """Check a move and record it; a move against a rule is told, not recorded, unless a named person lets it pass.

    The find keeps the air of its old store until the time of the move, and that of the new one from then on.

    Raises
    ------
    BadInput : no box is planned, the time has not come yet, a rule that nobody can let pass, no person or reason.
    UnknownName : no such find, store or shelf.
    """
    look = _look(office, request)
    trouble = _record(office, look) if look.writes else None
    after = (office.ledger.state(look.hold.stream) if look.writes else None) or look.hold
    before, now = look.hold.facts.get("forecast") or {}, after.facts.get("forecast") or {}
    was, new, verdict = look.was, look.new, look.verdict
    return Moved(
        site=look.site.number,
        zone=str(look.site.facts["zone"]),
        find=look.find.number,
        box_id=new.box.key,
        was_in=was.store,
        was_on=was.shelf,
        store=new.store,
        shelf=new.shelf,
        spot=new.spot,
        at=look.at,
        verdict=verdict,
        allowed=look.allowed,
        overridden=look.overridden,
        nearest=None if _passes(verdict, look.overridden) else _nearest(office, new),
        recorded=look.writes,
        known_before=look.known,
        dry_run=request.dry_run,
        late=look.late,
        no_room_for=_no_room_for(look.kept, new) if look.allowed else (),
        keep_until_before=before.get("keep_until"),
        keep_until=now.get("keep_until"),
        governing_limit=now.get("governing_limit"),
        can_keep=now.get("can_keep"),
        not_forecast=trouble,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """A move looked at: the things it is about, where the box was and will be, and what stands against it."""

    request: MoveRequest
    site: Thing
    find: Thing
    hold: Thing
    kept: Kept
    at: datetime
    was: Standing
    new: Standing
    verdict: Verdict
    overridden: tuple[dict[str, str], ...]
    late: bool
    known: bool

    @property
    def allowed(self) -> bool:
        """True when it may be done, or is done already."""
        return self.request.done or self.late or _passes(self.verdict, self.overridden)

    @property
    def writes(self) -> bool:
        """True when there is something to record."""
        return self.allowed and not self.known and not self.request.dry_run

    def body(self) -> dict[str, Any]:
        """The event's words."""
        request, new, passed = self.request, self.new, {one["rule"] for one in self.overridden}
        hard = [one.words for one in self.verdict.against if one.severity != "advice" and one.rule not in passed]
        told = {
            "spot": None if new.spot is None else plain(new.spot),
            "overridden": list(self.overridden),
            "against": hard,
            "reason": request.reason.strip(),
            "clock": request.clock,
        }
        kept = {name: value for name, value in told.items() if value}
        return {"store": new.store, "shelf": new.shelf, "how": request.how, "at": plain(self.at), **kept}


def _look(office: Office, request: MoveRequest) -> _Look:
    hold = hold_of_code(office, request.find, request.site)
    refuse_ended(hold)
    site = office.site(hold.stream.split("/")[1])
    find = find_thing(office, str(hold.facts["find"]), site)
    at = office.in_site_zone(_moment(office, request, str(site.facts["zone"])), site)
    name = find_store(office, request.to).number
    kept = read_house(office, only=name)
    store, shelf, unsaid = _place(kept.house.store(name), request)
    box, spot = box_of(find, hold), spot_typed(request.spot)
    verdict = judge(kept.house, box, store, shelf, spot)
    was = standing_of(find, hold)
    new = Standing(box=box, store=store.name, shelf=shelf.name if shelf else request.shelf.strip(), spot=spot)
    shelved = hold.facts.get("shelved") or {}
    return _Look(
        request=request,
        site=site,
        find=find,
        hold=hold,
        kept=kept,
        at=at,
        was=was,
        new=new,
        verdict=replace(verdict, not_known=(unsaid,)) if unsaid else verdict,
        overridden=_overridden(request, verdict),
        late=_later_move(find, hold, at),
        known=was == new and bool(shelved) and datetime.fromisoformat(shelved["at"]) <= at,
    )


def shelf_named(store: Store, shelf_name: str) -> Shelf | None:
    """A shelf of a store; None where its shelves are not entered.

    Raises
    ------
    BadInput : no shelf is named though there are some. UnknownName : there is no such shelf.
    """
    if not store.shelves:
        return None
    names = [shelf.name for shelf in store.shelves]
    if not shelf_name.strip():
        raise BadInput(
            "which shelf?", where=store.name, limit=", ".join(names), do=f"Name it, for example --shelf {names[0]}"
        )
    text = shelf_name.strip()
    text = text[6:].strip() if text.casefold().startswith("shelf ") and store.shelf(text) is None else text
    shelf = store.shelf(text)
    if shelf is None:
        raise UnknownName("shelf", shelf_name.strip(), names, where=store.name)
    return shelf


def _place(store: Store, request: MoveRequest) -> tuple[Store, Shelf | None, str]:
    """The place asked for; of a box that stands there already the shelf may be unknown, and that is said."""
    try:
        return store, shelf_named(store, request.shelf), ""
    except BadInput as error:
        if not request.done:
            raise
        return store, None, error.sentence()


def spot_typed(text: str) -> Spot | None:
    """A spot as typed: "120,40" in millimetres from the left and from the front edge, "120,40 T" turned; else a name.

    Raises
    ------
    BadInput : figures that are no place.
    """
    words = text.strip()
    if not words:
        return None
    turned = words.upper().endswith("T") and words[:-1].strip()[-1:].isdigit()
    parts = (words[:-1] if turned else words).replace("mm", "").split(",")
    if len(parts) == 1:
        return Spot(name=words)
    try:
        left_mm, front_mm = (float(part) for part in parts)
    except ValueError as error:
        raise BadInput(
            f"{words!r} is no spot",
            where="--spot",
            limit='a name without a comma, or "LEFT,FRONT" in millimetres',
            do='Write it like "120,40": 120 mm from the left, 40 mm from the front edge',
        ) from error
    if not (0 <= left_mm < 100_000 and 0 <= front_mm < 100_000):
        raise BadInput(f"{words!r} lies off the shelf", where="--spot", limit="0 mm and more", do="Measure it again")
    return Spot(left_mm=left_mm, front_mm=front_mm, turned=bool(turned))


def moved_shape(told: Moved) -> dict[str, Any]:
    """A move in its public shape."""
    shape: dict[str, Any] = plain(replace(told, not_forecast=None, nearest=None))
    verdict = shape.pop("verdict")
    shape |= {"against": verdict["against"], "not_known": verdict["not_known"], "settled": verdict["settled"]}
    shape["not_forecast"] = told.not_forecast.as_dict() if told.not_forecast else None
    near = told.nearest
    shape["nearest"] = None
    if near is not None:
        shape["nearest"] = {
            "place": near.name(),
            "store": near.store,
            "shelf": near.shelf,
            "words": place_line(near, told.zone, told.at),
            "where": spot_words(near),
        }
    return shape


def _moment(office: Office, request: MoveRequest, zone: str) -> datetime:
    now = office.now().replace(microsecond=0)
    at = request.at or now
    if at > now + SLACK and not request.done:
        raise BadInput(
            f"{for_people(at, zone)} has not come yet",
            where="--at",
            limit=f"up to now, {for_people(now, zone)}",
            do="Record a move when it is done, with the time it was done",
        )
    return min(at, now)


def _later_move(find: Thing, hold: Thing, at: datetime) -> bool:
    """True when a move after this one is recorded already."""
    told = [find.facts.get("store_at"), (hold.facts.get("shelved") or {}).get("at")]
    return any(text and datetime.fromisoformat(text) > at for text in told)


def _passes(verdict: Verdict, overridden: Sequence[dict[str, str]]) -> bool:
    passed = {one["rule"] for one in overridden}
    return all(one.severity == "advice" or one.rule in passed for one in verdict.against)


def _overridden(request: MoveRequest, verdict: Verdict) -> tuple[dict[str, str], ...]:
    """Rules let pass, each with its person and reason.

    Raises
    ------
    BadInput : a rule that nobody can let pass, or no named person and reason. UnknownName : it does not stand against.
    """
    found = []
    standing = {one.rule: one for one in verdict.against if one.severity != "advice"}
    for name in request.overrides:
        where = f"--override {name}"
        if name not in standing:
            raise UnknownName("rule against this move", name, sorted(standing), where="--override")
        if standing[name].severity == "never":
            raise BadInput(f"nobody can let this pass: {standing[name].words}", where=where, do=standing[name].do)
        if not request.person.strip() or not request.reason.strip():
            raise BadInput(
                "a rule is overridden only by a named person with a reason",
                where=where,
                do='Add --person "NAME" and --reason "WHY"; both are recorded',
            )
        told = {"rule": name, "words": standing[name].words, "person": request.person.strip()}
        found.append({**told, "reason": request.reason.strip()})
    return tuple(found)


def _record(office: Office, look: _Look) -> FindholdError | None:
    """Write the move, and forecast again when it changes the air the box stands in; returns why it could not be."""
    find, hold, new = look.find, look.hold, look.new
    events = [NewEvent(word="box.shelved.1", stream=hold.stream, body=look.body())]
    other_air = find.facts.get("store") != new.store or look.late
    if other_air:
        why = look.request.reason.strip() or f"box {new.box.key} was put there"
        events.append(_stood(find, new.store, plain(look.at), why))
    if look.late:
        # Told late: the store of the last move stands, and a register that never gave its time is told of it.
        shelved = hold.facts.get("shelved") or {}
        newest = max(filter(None, (shelved.get("at"), find.facts.get("store_at"))), key=datetime.fromisoformat)
        events.append(_stood(find, find.facts.get("store"), newest, "where the last move put it"))
    with office.ledger.writing(office.stamp()) as writing:
        newest_hold = writing.state(hold.stream)
        if newest_hold is None or newest_hold.seq != hold.seq:
            raise LedgerTrouble(
                f"something else was recorded of box {new.box.key} meanwhile; nothing was recorded now",
                do="Run the same command again",
            )
        writing.append(events)
    if not other_air:
        return None
    try:
        request = HoldRequest(
            finds=(find.number,), site=look.site.number, members=look.request.members, all_options=None
        )
        keep_finds(office, request)
    except FindholdError as error:  # it stands where it stands, also when no forecast can be made for it there
        return error
    return None


def _stood(find: Thing, store: str | None, at: str, reason: str) -> NewEvent:
    body = {"fields": {"store": store}, "at": at, "reason": reason}
    return NewEvent(word="thing.corrected.1", stream=find.stream, body=body)


def _nearest(office: Office, new: Standing) -> Place | None:
    """The best place that is open, in the same store when there is one."""
    house, _ = settled_house(read_house(office).house)
    places = places_for(house, new.box, now_in=new.store).open
    return next((one for one in places if one.store == new.store), next(iter(places), None))


def _no_room_for(kept: Kept, new: Standing) -> tuple[str, ...]:
    """Finds of the store without a recorded shelf that find no room any more, by the figures."""
    before = {one.box.key for one in kept.house.within(new.store) if not one.shelf}
    if not before - {new.box.key} or not kept.house.store(new.store).shelves:
        return ()
    house, _ = settled_house(kept.house.with_one(new))
    return tuple(one.box.number for one in house.within(new.store) if one.box.key in before and not one.shelf)
