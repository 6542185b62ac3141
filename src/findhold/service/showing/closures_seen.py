"""A closure and every hold across it: which cannot wait, what was chosen, as recorded; options only when asked for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from findhold.dates.instants import at_hour, day_at, day_for_people, zone_named
from findhold.draw.marks import Drawing
from findhold.draw.pdf import drawing_pdf
from findhold.draw.svg import to_svg
from findhold.errors import BadInput
from findhold.keep.options import EARLIER, Option
from findhold.paper.holds_strip import HoldRow, HoldsStripArgs, holds_strip
from findhold.record.events import stream_of
from findhold.service.closing.named import ClosureTold, Span, closure_on, closures_of, span_of
from findhold.service.closing.planning import who_comes
from findhold.service.closing.shapes import HoldStanding
from findhold.service.closing.standing import Outside, outside, standings
from findhold.service.files_out import PDF, SVG, FileOut
from findhold.service.folder import file_name
from findhold.service.holds import HoldRequest, keep_finds
from findhold.service.office import Office
from findhold.service.rounds.calendar import unit_calendar
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
    rows: tuple[HoldStanding, ...]
    who_comes: tuple[str, ...]
    people: tuple[str, ...]
    notes: tuple[str, ...]
    strip_svg: str | None
    after: str | None
    """Where the next part of the list begins; None when this is its end."""

    @property
    def cannot(self) -> tuple[HoldStanding, ...]:
        """Holds that cannot wait and are not over with."""
        return tuple(row for row in self.rows if row.wait.can_wait is False and not row.ended)

    @property
    def open(self) -> tuple[HoldStanding, ...]:
        """Holds that still need a decision."""
        return tuple(row for row in self.rows if not row.stands.enough)


def closure_seen(office: Office, request: ClosureRequest) -> ClosureSeen | None:
    """A closure and every hold across it, as recorded; None when the register has no closure at all.

    Raises
    ------
    UnknownName : no closure begins on that day.
    """
    site = office.site(request.site)
    now = office.in_site_zone(office.now(), site)
    known = closures_of(office, now.date())
    if not known:
        return None
    span = span_of(office, site, closure_on(known, request.first_day), known)
    roster = unit_calendar(office, now.date()).roster
    rows, after = _rows(office, site, request.after, (span, outside(office, site, span, roster)))
    drawing = _drawing(rows, span, f"{site.number}: holds across the closure")
    return ClosureSeen(
        site=site.number,
        site_name=str(site.facts["name"]),
        zone=span.zone,
        now=now,
        closure=span.told,
        closures=known,
        again=span.again,
        last_day_before=span.last_day_before,
        rows=rows,
        who_comes=who_comes(roster, span),
        people=tuple(roster.people),
        notes=span.notes,
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
    drawing = _drawing(seen.rows, span_of(office, site, seen.closure, seen.closures), title)
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
    now, open_at = office.now(), done.held[0].case.open_at
    gone = open_at is not None and open_at <= now
    return {
        "find": done.held[0].number,
        "keep_until": plain(told.keep_until),
        "governing_limit": told.governing_limit,
        "can_keep": None if gone else told.can_keep,
        "opening_gone": plain(open_at) if gone else None,
        "options": [_way_told(one, now, opening_gone=gone) for one in kept.options],
        "dominant": told.dominant,
    }


def _way_told(one: Option, now: datetime, *, opening_gone: bool) -> dict[str, Any]:
    """One way as it stands now: what had to be done earlier, or ends before now, is not offered as in time."""
    told = plain(one)
    if opening_gone:
        told["can_keep"] = None
    if one.keep_until > now and (one.on is None or one.on > now):
        return {**told, "helps": one.gain_days > 0 or bool(told["can_keep"])}
    if one.name == EARLIER:
        text = f"Open it today: the date that {one.governing_limit} sets has passed."
        return {**told, "text": text, "can_keep": None, "helps": True}
    late = "that day has passed" if one.keep_until > now else "that would have ended the hold before today, too"
    return {**told, "text": f"{one.text.rstrip('.')}; {late}.", "can_keep": None, "helps": False}


def closures_answer(seen: ClosureSeen | None) -> dict[str, Any]:
    """A closure and its holds in the public shape, without the picture."""
    if seen is None:
        return {"closure": None, "closures": [], "rows": []}
    told: dict[str, Any] = plain(seen)
    del told["strip_svg"]
    return told


def _rows(
    office: Office, site: Thing, after: str, against: tuple[Span, Outside]
) -> tuple[tuple[HoldStanding, ...], str | None]:
    """Holds as they stand, what needs a decision first, and where the next part begins."""
    with office.ledger.reading() as connection:
        found = holds_by_keep_until(connection, site.number, ROWS + 1, after)
        bare = [] if after else holds_without_date(connection, site.number, ROWS)
        pairs = [
            (read_state(connection, stream_of("find", site.number, hold.facts["find"])), hold)
            for hold in (*found[:ROWS], *(hold for hold in bare if not hold.facts.get("forecast")))
        ]
    rows = standings([(find, hold) for find, hold in pairs if find is not None], *against)
    following = found[ROWS - 1].facts["forecast"]["keep_until"] if len(found) > ROWS else None
    return rows, following


def _drawing(rows: tuple[HoldStanding, ...], span: Span, title: str) -> Drawing | None:
    """The strip; None without a hold. Of a closure that is over it shows its own days, not those until now."""
    if not rows:
        return None
    drawn = rows[: ROWS + ROWS // 2]
    begin = at_hour(span.told.first_day, 0, span.zone)
    lead = begin if span.told.over else min(span.now, begin)
    begins = [row.held.exposed_at for row in drawn if row.held.exposed_at is not None]
    start = min([*(at for at in begins if lead - BEFORE <= at <= lead), lead]) - timedelta(days=1)
    ends = [at for row in drawn for at in (row.held.open_at, row.held.keep_until) if at]
    end = max(min(max([span.again, *ends]), span.again + BEHIND), span.again) + timedelta(days=2)
    start = min(start, end - timedelta(days=7))
    return holds_strip(
        HoldsStripArgs(
            title=title,
            start=start,
            end=end,
            now=span.now,
            zone=zone_named(span.zone),
            closures=tuple(
                (one.first_day, one.last_day, one.reason)
                for one in span.closures
                if one.store in (None, span.told.store)
            ),
            rows=tuple(_row(row, span.zone) for row in drawn),
        )
    )


def _row(row: HoldStanding, zone: str) -> HoldRow:
    held = row.held
    until = "no date" if held.keep_until is None else f"until {_day(held.keep_until, zone)}, {held.governing}"
    return HoldRow(
        number=held.number,
        what=held.what,
        kind=row.wait.kind if not row.stands.enough or row.stands.state == "waits" else "right",
        word=row.wait.word if row.chosen is None else f"{row.stands.state}: {row.chosen.option}",
        until_words=until,
        exposed_at=held.exposed_at,
        packed_at=held.packed_at,
        open_at=held.open_at,
        keep_until=held.keep_until,
        band=held.band,
    )


def _day(at: datetime, zone: str) -> str:
    return day_for_people(day_at(at, zone)).rsplit(" ", 1)[0]
