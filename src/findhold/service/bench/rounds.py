"""A round: one visit to a cold store, box after box, in the order of Today: what is worst first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from findhold.dates.instants import for_people
from findhold.record.events import UNIT
from findhold.service.bench.codes import hold_of_box, place_text
from findhold.service.bench.kits import CheckKit, check_kit
from findhold.service.choices import read_choices
from findhold.service.diary import WORST, DueRow, last_visit, rows_of_days, worst_late
from findhold.service.ledger_case import shelves
from findhold.service.office import Office
from findhold.service.stores import find_store
from findhold.store.beside.hold_days import HoldDays, hold_days
from findhold.store.ledger import Thing

MOST = 400
"""So many boxes of one store are listed; a round of more is made shelf by shelf."""
KITS_AT_ONCE = 40
STATES: dict[str, tuple[str, str]] = {
    "act": ("act", "seen amiss"),
    "over": ("act", "kept too long"),
    "unopened": ("act", "not opened"),
    "doubt": ("act", "mass wrong"),
    "late": ("watch", "late"),
    "last day": ("watch", "last day"),
    "open": ("watch", "open today"),
    "today": ("none", "today"),
    "later": ("done", "later"),
    "none": ("none", "no date"),
}
"""How a box stands, worst first, each with the kind of its sign and its words."""
QUIET = ("later", "none")
"""States that ask for nothing today."""
_RANK = {state: place for place, state in enumerate(STATES)}
_LATE = {"act": "act", "keep until": "over", "open": "unopened", "mass": "doubt", "check": "late"}
_TODAY = {"keep until": "last day", "open": "open", "check": "today"}
_SAYS = {
    "over": "Kept too long: its keep-until date passed on {day} ({limit}). Open it or extend it.",
    "unopened": "It was to be opened on {day}{by}, and is not: open it or extend it.",
    "doubt": "Its mass was wrong on {day}: weigh it again.",
    "last day": "It keeps until today, {clock} ({limit}). Open it or extend it.",
    "open": "It opens today, {clock}{by}.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreToRound:
    """A store to choose: its name, what it is set to, boxes in it, and how many ask for something by tonight."""

    name: str
    kind: str
    temp_c: float | None
    boxes: int
    due: int
    next_at: datetime | None
    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundBox:
    """One box of a round.

    store : where the register has it. codes : every text that its labels and people use for it. seq : the last event
    that touched it; a device that has its thresholds for this seq needs no new ones. by : when its next check is due.
    state : how it stands, by the rule of Today: one of STATES. since : the moment of what sets that state. says : what
    of it whoever stands before the box has to know, "" for nothing.
    """

    box_id: str
    box_no: int
    find: str
    what: str
    registered: bool
    store: str
    shelf: str
    codes: tuple[str, ...]
    seq: int
    state: str
    since: datetime | None
    says: str
    by: datetime | None
    why: str
    checked_at: datetime | None
    low_kg: float | None
    high_kg: float | None
    gross_kg: float | None
    tare_kg: float | None
    alarm: str
    kept: str
    """The state it is kept in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """The boxes of one store, worst first, then by the clock."""

    site: str
    zone: str
    store: str
    temp_c: float | None
    now: datetime
    boxes: tuple[RoundBox, ...]
    more: bool


def stores_to_round(office: Office, site_code: str | None) -> tuple[StoreToRound, ...]:
    """The stores of the unit, the one with most to do first."""
    site = office.site(site_code)
    now = office.in_site_zone(office.now(), site)
    found = []
    with office.ledger.reading() as connection:
        every = hold_days(connection, site.number)
    for store in office.ledger.states("store", UNIT):
        boxes = _boxes((one for one in every if one.store == store.number), now)
        due = [box for box in boxes if box.state not in QUIET]
        ahead = [box.by for box in boxes if box.by is not None]
        found.append(
            StoreToRound(
                name=store.number,
                kind=str(store.facts.get("kind") or ""),
                temp_c=store.facts.get("temp_c"),
                boxes=len(boxes),
                due=len(due),
                next_at=min(ahead, default=None),
                code=place_text(store.number),
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.due, one.boxes == 0, one.name)))


def round_list(office: Office, store: str, site_code: str | None = None) -> Round:
    """The boxes that stand in a store, soonest due first.

    Raises
    ------
    UnknownName : there is no such store.
    """
    site, place = office.site(site_code), find_store(office, store)
    now = office.in_site_zone(office.now(), site)
    with office.ledger.reading() as connection:
        every = hold_days(connection, site.number)
    boxes = _boxes((one for one in every if one.store == place.number), now)
    return Round(
        site=site.number,
        zone=str(site.facts["zone"]),
        store=place.number,
        temp_c=place.facts.get("temp_c"),
        now=now,
        boxes=tuple(boxes[:MOST]),
        more=len(boxes) > MOST,
    )


def round_kits(office: Office, site_code: str | None, boxes: tuple[str, ...]) -> dict[str, tuple[int, CheckKit]]:
    """Thresholds of some boxes of a site by box identity, each with the seq it is of; unknown boxes are left out."""
    site = office.site(site_code)
    now = office.in_site_zone(office.now(), site)
    shelf = shelves(office, site, read_choices())
    found = (hold_of_box(office, box) for box in boxes[:KITS_AT_ONCE])
    holds = [hold for hold in found if hold is not None and hold.stream.split("/")[1] == site.number]
    return {hold.facts["box_id"]: (hold.seq, check_kit(office, hold, shelf, now)) for hold in holds}


def _boxes(days: Iterable[HoldDays], now: datetime) -> list[RoundBox]:
    boxes = [_round_box(one, now) for one in days]
    far = datetime.max.replace(tzinfo=now.tzinfo)
    return sorted(boxes, key=lambda box: (_RANK[box.state], box.since or far, box.box_no))


def _round_box(days: HoldDays, now: datetime) -> RoundBox:
    """One box as a round shows it."""
    facts = days.facts
    check = _next_check(days, now)
    state, since = _state(days, now)
    return RoundBox(
        box_id=facts["box_id"],
        box_no=facts["box_no"],
        find=facts["find"],
        what=days.what,
        registered=days.registered,
        store=days.store,
        shelf=str((facts["shelved"] or {}).get("shelf") or ""),
        codes=_codes(facts),
        seq=days.seq,
        state=state,
        since=since,
        says=_says(days, state, since),
        by=None if check is None else check.at.astimezone(now.tzinfo),
        why="" if check is None else check.note,
        checked_at=last_visit(facts),
        low_kg=None if check is None else check.low_kg,
        high_kg=None if check is None else check.high_kg,
        gross_kg=facts["gross_mass_kg"],
        tare_kg=facts["tare_kg"],
        alarm=str(facts["alarm"] or ""),
        kept=str(facts["kept"] or ""),
    )


def _state(days: HoldDays, now: datetime) -> tuple[str, datetime | None]:
    """How a box stands and since when, by the rule of Today; for what is to come, when it comes."""
    if not days.facts["keep_until"]:
        return "none", None
    rows = rows_of_days(days, now)
    worst, _ = worst_late(rows, now)
    if worst is not None:
        return _LATE[worst.what], worst.at.astimezone(now.tzinfo)
    ahead = [row for row in rows if row.at >= now]
    today = [row for row in ahead if row.at.astimezone(now.tzinfo).date() == now.date()]
    first = min(today, key=lambda row: WORST.index(row.what), default=None)
    if first is not None:
        return _TODAY[first.what], first.at.astimezone(now.tzinfo)
    check = min((row.at for row in ahead if row.what == "check"), default=None)
    return ("none", None) if check is None else ("later", check.astimezone(now.tzinfo))


def _says(days: HoldDays, state: str, since: datetime | None) -> str:
    """What of its state whoever stands before a box has to know; "" for nothing beside its check."""
    facts = days.facts
    if since is None or state not in _SAYS:
        return ""
    by = f", with {facts['with']}" if facts.get("with") else ""
    return _SAYS[state].format(day=_day(since), clock=f"{since:%H:%M}", by=by, limit=facts["governing_limit"])


def _day(at: datetime) -> str:
    return f"{at:%a} {at.day} {at:%b}"


def _next_check(days: HoldDays, now: datetime) -> DueRow | None:
    """The check to make next: the newest one missed, else the first to come."""
    if not days.facts["keep_until"]:
        return None
    rows = sorted((row for row in rows_of_days(days, now) if row.what == "check"), key=lambda row: row.at)
    late = [row for row in rows if row.late]
    weighed = max((datetime.fromisoformat(row[0]) for row in days.facts["weighings"]), default=None)
    ahead = [row for row in rows if row.at >= now and (weighed is None or row.at > weighed)]
    return late[-1] if late else ahead[0] if ahead else None


def _codes(facts: Mapping[str, Any]) -> tuple[str, ...]:
    number, find = facts["box_no"], facts["find"]
    return (facts["box_id"], facts["find_id"], f"B{number}", f"F{find}", str(find), str(number))


def box_of(office: Office, hold: Thing) -> RoundBox:
    """One box as a round shows it, by its hold."""
    site = office.site(hold.stream.split("/")[1])
    with office.ledger.reading() as connection:
        (days,) = hold_days(connection, site.number, [hold.stream], ended=True)
    return _round_box(days, office.in_site_zone(office.now(), site))


def due_words(box: RoundBox, zone: str) -> str:
    """When what its state tells was or is due, in words."""
    if box.since is None:
        return "no check planned"
    day, _, clock = for_people(box.since, zone).rpartition(", ")
    day = day.rsplit(" ", 1)[0]
    if box.state in _TODAY.values():
        return f"today, {clock}"
    return f"due {day}" if box.state == "later" else f"since {day}"
