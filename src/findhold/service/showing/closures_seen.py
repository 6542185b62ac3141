"""A closure and every hold across it: which cannot wait until it is over, and why; options only when asked for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from findhold.check.over_closure import HoldDates, Wait, last_open_day, open_again, wait_over
from findhold.dates.closures import Closure
from findhold.dates.instants import day_at, day_for_people, zone_named
from findhold.draw.marks import Drawing
from findhold.draw.pdf import drawing_pdf
from findhold.draw.svg import to_svg
from findhold.errors import BadInput, UnknownName
from findhold.paper.holds_strip import HoldRow, HoldsStripArgs, holds_strip
from findhold.record.events import UNIT, stream_of
from findhold.service.files_out import PDF, SVG, FileOut
from findhold.service.folder import file_name
from findhold.service.holds import HoldRequest, keep_finds
from findhold.service.ledger_case import closure_told
from findhold.service.office import Office
from findhold.service.showing.held import HeldSeen, held_seen
from findhold.service.wire import plain
from findhold.store.ledger import Thing, read_state
from findhold.store.lookup import holds_without_date
from findhold.store.whereabouts import holds_by_keep_until

ROWS = 40
"""So many holds are shown at once, the worst first; no closure is planned by more."""
BEFORE, BEHIND = timedelta(days=10), timedelta(days=16)
"""How far the strip reaches before now and behind the closure."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureRequest:
    """Which site, which closure (by its first day; None: the next one), and where the list begins (None: the worst)."""

    site: str | None = None
    first_day: date | None = None
    after: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureTold:
    """One closure as it can be chosen; store None when it is of the whole unit."""

    first_day: date
    last_day: date
    reason: str
    store: str | None
    over: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldOver:
    """One hold with its verdict."""

    held: HeldSeen
    store: str
    wait: Wait


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureSeen:
    """A closure with every hold across it, worst first; strip_svg None when there is no hold."""

    site: str
    site_name: str
    zone: str
    now: datetime
    closure: ClosureTold
    closures: tuple[ClosureTold, ...]
    again: datetime
    """When somebody is there again."""
    last_day_before: date | None
    rows: tuple[HoldOver, ...]
    strip_svg: str | None
    after: str | None
    """Where the next part of the list begins; None when this is its end."""

    @property
    def cannot(self) -> tuple[HoldOver, ...]:
        """Holds that cannot wait."""
        return tuple(row for row in self.rows if row.wait.can_wait is False)


def closure_seen(office: Office, request: ClosureRequest) -> ClosureSeen | None:
    """A closure and every hold across it, as recorded; None when the register has no closure at all.

    Raises
    ------
    UnknownName : no closure begins on that day.
    """
    site = office.site(request.site)
    now = office.in_site_zone(office.now(), site)
    known = _closures(office, now.date())
    if not known:
        return None
    chosen = _chosen(known, request.first_day)
    zone = str(site.facts["zone"])
    closure = _as_closure(chosen)
    others = tuple(_as_closure(one) for one in known if one is not chosen and one.store in (None, chosen.store))
    again = open_again(closure, others, zone)
    rows, after = _rows(office, site, request.after, (closure, again, now, zone))
    rows = tuple(row for row in rows if chosen.store in (None, row.store))
    drawing = _drawing(rows, chosen, known, (now, again, zone, f"{site.number}: holds across the closure"))
    return ClosureSeen(
        site=site.number,
        site_name=str(site.facts["name"]),
        zone=zone,
        now=now,
        closure=chosen,
        closures=known,
        again=again,
        last_day_before=last_open_day(closure, others),
        rows=rows,
        strip_svg=None if drawing is None else to_svg(drawing),
        after=after,
    )


def closure_file(office: Office, request: ClosureRequest, ending: str) -> FileOut:
    """The strip as a file to print: ".svg" or ".pdf".

    Raises
    ------
    BadInput : there is no closure, or no hold across it.
    """
    seen = closure_seen(office, request)
    site = office.site(request.site)
    if seen is None or not seen.rows:
        raise BadInput(
            "there is nothing to draw: no closure is entered, or no box is held",
            where=f"site {site.number}",
            do="Import the closures, and plan and forecast the boxes first",
        )
    title = f"{site.number}: holds across the closure of {day_for_people(seen.closure.first_day)}"
    drawing = _drawing(seen.rows, seen.closure, seen.closures, (seen.now, seen.again, seen.zone, title))
    if drawing is None:
        raise ValueError("rows make a drawing")
    name = file_name(site.number, "closure", seen.closure.first_day.isoformat(), ending=ending)
    if ending == ".pdf":
        data = drawing_pdf([drawing], title=title, date=seen.now)
        return FileOut(name=name, media_type=PDF, data=data, shape={"file": name})
    return FileOut(name=name, media_type=SVG, data=to_svg(drawing, paper=True).encode(), shape={"file": name})


def ways_out(office: Office, find: str, site: str | None = None) -> dict[str, Any]:
    """What would let one hold wait longer or end in time, each way forecast anew; nothing is recorded.

    Raises
    ------
    UnknownName : no such find. BadInput : no box is planned for it.
    """
    done = keep_finds(office, HoldRequest(finds=(find,), site=site, record=False, all_options=True))
    if done.refused:
        raise done.refused[0][1]
    kept = done.held[0].kept
    if kept is None:
        raise BadInput("no box is planned for it", where=f"find {find}", do=f"Plan it: findhold plan {find}")
    told = kept.forecast
    return {
        "find": done.held[0].number,
        "keep_until": plain(told.keep_until),
        "governing_limit": told.governing_limit,
        "can_keep": told.can_keep,
        "options": [{**plain(one), "helps": one.gain_days > 0 or bool(one.can_keep)} for one in kept.options],
        "dominant": told.dominant,
    }


def closures_answer(seen: ClosureSeen | None) -> dict[str, Any]:
    """A closure and its holds in the public shape, without the picture."""
    if seen is None:
        return {"closure": None, "closures": [], "rows": []}
    told: dict[str, Any] = plain(seen)
    del told["strip_svg"]
    return told


def _closures(office: Office, today: date) -> tuple[ClosureTold, ...]:
    """Closures of the register, those to come first in their order, then those that are over."""
    told = [(store or None, closure) for store, closure in map(closure_told, _facts(office))]
    made = [
        ClosureTold(
            first_day=one.first_day,
            last_day=one.last_day,
            reason=one.reason,
            store=store,
            over=one.last_day < today,
        )
        for store, one in told
    ]
    return tuple(sorted(made, key=lambda one: (one.over, one.first_day)))


def _facts(office: Office) -> list[dict[str, Any]]:
    return [thing.facts for thing in office.ledger.states("closure", UNIT)]


def _chosen(known: tuple[ClosureTold, ...], first_day: date | None) -> ClosureTold:
    if first_day is None:
        return known[0]
    for one in known:
        if one.first_day == first_day:
            return one
    raise UnknownName("closure beginning on", first_day.isoformat(), [one.first_day.isoformat() for one in known])


def _as_closure(told: ClosureTold) -> Closure:
    return Closure(first_day=told.first_day, last_day=told.last_day, reason=told.reason)


def _rows(
    office: Office, site: Thing, after: str, against: tuple[Closure, datetime, datetime, str]
) -> tuple[tuple[HoldOver, ...], str | None]:
    """Holds with their verdicts, worst first, and where the next part begins."""
    closure, again, now, zone = against
    with office.ledger.reading() as connection:
        found = holds_by_keep_until(connection, site.number, ROWS + 1, after)
        bare = [] if after else holds_without_date(connection, site.number, ROWS)
        pairs = [
            (read_state(connection, stream_of("find", site.number, hold.facts["find"])), hold)
            for hold in (*found[:ROWS], *(hold for hold in bare if not hold.facts.get("forecast")))
        ]
    rows = []
    for find, hold in pairs:
        if find is None:
            continue
        held = held_seen(find, hold, now)
        dates = HoldDates(keep_until=held.keep_until, governing=held.governing, open_at=held.open_at, alarm=held.alarm)
        wait = wait_over(dates, closure, again, now=now, zone=zone)
        rows.append(HoldOver(held=held, store=str(find.facts.get("store") or ""), wait=wait))
    rows.sort(key=lambda row: (_RANK[row.wait.kind], row.held.left_days is None, row.held.left_days or 0.0))
    following = found[ROWS - 1].facts["forecast"]["keep_until"] if len(found) > ROWS else None
    return tuple(rows), following


_RANK = {"act": 0, "watch": 1, "none": 2, "right": 3}


def _drawing(
    rows: tuple[HoldOver, ...],
    chosen: ClosureTold,
    known: tuple[ClosureTold, ...],
    when: tuple[datetime, datetime, str, str],
) -> Drawing | None:
    """The strip; None without a hold."""
    now, again, zone, title = when
    if not rows:
        return None
    drawn = rows[: ROWS + ROWS // 2]
    begins = [row.held.exposed_at for row in drawn if row.held.exposed_at is not None]
    start = min([*(at for at in begins if at >= now - BEFORE), now]) - timedelta(days=1)
    end = min(
        max([again, *(at for row in drawn for at in (row.held.open_at, row.held.keep_until) if at)]), again + BEHIND
    )
    end = max(end, again) + timedelta(days=2)
    start = min(start, end - timedelta(days=7))
    return holds_strip(
        HoldsStripArgs(
            title=title,
            start=start,
            end=end,
            now=now,
            zone=zone_named(zone),
            closures=tuple(
                (one.first_day, one.last_day, one.reason) for one in known if one.store in (None, chosen.store)
            ),
            rows=tuple(_row(row, zone) for row in drawn),
        )
    )


def _row(row: HoldOver, zone: str) -> HoldRow:
    held = row.held
    until = "no date" if held.keep_until is None else f"until {_day(held.keep_until, zone)}, {held.governing}"
    return HoldRow(
        number=held.number,
        what=held.what,
        kind=row.wait.kind,
        word=row.wait.word,
        until_words=until,
        exposed_at=held.exposed_at,
        packed_at=held.packed_at,
        open_at=held.open_at,
        keep_until=held.keep_until,
        band=held.band,
    )


def _day(at: datetime, zone: str) -> str:
    return day_for_people(day_at(at, zone)).rsplit(" ", 1)[0]
