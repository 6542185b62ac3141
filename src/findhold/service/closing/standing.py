"""How every hold stands across a closure, read from what is recorded: nothing is reckoned anew."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Any

from findhold.book.appointments import without_bench
from findhold.book.inputs import OPENING
from findhold.check.over_closure import HoldDates, wait_over
from findhold.check.provided import Brings, Lack, Provided, lack_of, provided
from findhold.dates.availability import Roster
from findhold.dates.instants import day_at, day_for_people
from findhold.errors import FindholdError
from findhold.service.bookings.calendar_out import appointments
from findhold.service.bookings.ledger_inputs import known_bookings
from findhold.service.closing.named import Span
from findhold.service.closing.shapes import ChosenTold, HoldStanding
from findhold.service.office import Office
from findhold.service.rounds.boxes import windows_of
from findhold.service.rounds.planning import comes_of, site_boxes
from findhold.service.showing.held import held_seen
from findhold.store.ledger import Thing

_RANK = {"open": 0, "short": 1, "chosen": 2, "done": 3, "waits": 4}
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """What stands outside the holds: by box the days of checks that nobody can make, by find its booked opening.

    no_bench : by find, why the opening that its register planned has no bench time.
    """

    unchecked: Mapping[str, tuple[date, ...]]
    openings: Mapping[str, datetime]
    no_bench: Mapping[str, str] = field(default_factory=dict)


def outside(office: Office, site: Thing, span: Span, roster: Roster) -> Outside:
    """Checks in a closure that nobody can make, and the openings that are booked."""
    booked = appointments(office, site)
    openings = {one.find: one.starts_at for one in booked if one.what == OPENING and one.status != "cancelled"}
    return Outside(
        unchecked=unchecked_days(office, site, span, roster), openings=openings, no_bench=_no_bench(office, site)
    )


def _no_bench(office: Office, site: Thing) -> dict[str, str]:
    """Planned openings without bench time; empty where the register knows nobody who opens finds."""
    try:
        return without_bench(known_bookings(office, site.number).inputs)
    except FindholdError:  # nobody is entered with skills, or nothing is forecast: there is nothing to weigh it by
        return {}


def standings(pairs: Iterable[tuple[Thing, Thing]], span: Span, known: Outside) -> tuple[HoldStanding, ...]:
    """Holds across a closure, what needs a decision first, the nearest limit first among them.

    Parameters
    ----------
    pairs : finds with their holds.
    span : the closure.
    known : what stands outside the holds.
    """
    made = [standing(find, hold, span, known) for find, hold in pairs]
    kept = [one for one in made if one is not None and span.told.store in (None, one.store)]
    kept.sort(key=lambda one: (_RANK[one.stands.state], one.held.left_days is None, one.held.left_days or 0.0))
    return tuple(kept)


def standing(find: Thing, hold: Thing, span: Span, known: Outside) -> HoldStanding | None:
    """One hold across a closure; None for one that ended without anything chosen for it."""
    held = held_seen(find, hold, span.now)
    chosen = _chosen(hold.facts, span.told.key)
    ended = hold.facts.get("ended")
    if ended and chosen is None:
        return None
    if chosen is None and find.number in known.openings:
        # What is booked stands in the place of the opening that the register planned.
        held = replace(held, open_at=known.openings[find.number])
    dates = HoldDates(keep_until=held.keep_until, governing=held.governing, open_at=held.open_at, alarm=held.alarm)
    wait = wait_over(dates, span.told.as_closure(), span.again, now=span.now, zone=span.zone)
    lost = known.no_bench.get(find.number) if chosen is None and find.number not in known.openings else None
    if lost is not None and wait.word == "opened before" and held.open_at is not None:
        # A planned opening without bench time provides for nothing: the hold stands as if none were planned.
        day = day_for_people(day_at(held.open_at, span.zone)).rsplit(" ", 1)[0]
        held = replace(held, open_at=None)
        wait = wait_over(replace(dates, open_at=None), span.told.as_closure(), span.again, now=span.now, zone=span.zone)
        wait = replace(wait, why=f"Its opening is planned for {day}, but {lost}. {wait.why}")
    opened = day_at(held.open_at, span.zone) if held.open_at and held.open_at >= span.now else date.max
    days = tuple(day for day in known.unchecked.get(held.box_id, ()) if day <= opened)
    lack = lack_of(wait, () if ended else days)
    store = str(find.facts.get("store") or "")
    done = bool(chosen and (chosen.done_at or (chosen.to_store and chosen.to_store == store)))
    stands = provided(lack, chosen.brings if chosen else None, span.again, done=done, zone=span.zone)
    if ended:
        stands = Provided(state="done", why="")
    over = (span.again - held.keep_until) / _DAY if held.keep_until and not ended else 0.0
    return HoldStanding(
        held=held,
        store=store,
        wait=wait,
        lack=Lack() if ended else lack,
        chosen=chosen,
        stands=stands,
        over_days=max(0.0, over) if lack.ends else 0.0,
        ended=_ended_words(ended, span.zone) if ended else "",
    )


def unchecked_days(office: Office, site: Thing, span: Span, roster: Roster) -> dict[str, tuple[date, ...]]:
    """By box, the days of checks in a closure that nobody can make: on none of a check's days does somebody come."""
    first, again = span.told.first_day, day_at(span.again, span.zone)
    if again <= span.now.date():
        return {}
    boxes, _ = site_boxes(office, site, span.told.store)
    comes = comes_of(roster)
    lost: dict[str, list[date]] = {}
    for box in boxes.values():
        for window in windows_of(box, span.now, again):
            if not first <= window.latest < again:
                continue
            days = (window.earliest + _DAY * n for n in range((window.latest - window.earliest).days + 1))
            if all(comes(box.store, day) is None for day in days):
                lost.setdefault(box.box_id, []).append(window.due)
    return {box_id: tuple(sorted(set(days))) for box_id, days in lost.items()}


def _chosen(facts: Mapping[str, Any], key: str) -> ChosenTold | None:
    """What stands chosen for a closure, else for one before it that ends the hold; None where nothing does."""
    over = facts.get("over") or {}
    earlier = [over[name] for name in sorted(over) if name < key and over[name].get("ends_hold")]
    told = over.get(key) or next(iter(earlier), None)
    if not told or not told.get("option"):
        return None
    return ChosenTold(
        option=told["option"],
        do=told["do"],
        by=told["by"],
        at=datetime.fromisoformat(told["at"]),
        reason=told.get("reason", ""),
        brings=Brings(
            ends_hold=told["ends_hold"],
            secures=told["secures"],
            looked_at=told["looked_at"],
            keep_until=_instant(told.get("keep_until")),
        ),
        gain_days=told["gain_days"],
        on=date.fromisoformat(told["on"]) if told.get("on") else None,
        half=told.get("half", ""),
        with_=told.get("with", ""),
        to_store=told.get("to_store", ""),
        booked=bool(told.get("booked")),
        done_at=_instant(told.get("done_at")),
        done_by=told.get("done_by", ""),
    )


def _instant(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None


def _ended_words(ended: Mapping[str, Any], zone: str) -> str:
    day = day_for_people(day_at(datetime.fromisoformat(ended["at"]), zone))
    return f"{ended['how']} on {day} by {ended['by']}"
