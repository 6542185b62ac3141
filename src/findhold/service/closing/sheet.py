"""The page of a closure to hand to whoever decides: made from the plan, signed on paper."""

from __future__ import annotations

from pathlib import Path

from findhold.paper.closure_sheet import ClosureRow, ClosureSheet, closure_sheet_pdf
from findhold.service.closing.shapes import ClosurePlan, HoldPlan, WayOut
from findhold.service.closing.words import (
    common_reasons,
    day_words,
    instant_words,
    span_words,
    summary_words,
    way_words,
    why_words,
)
from findhold.service.files_out import PDF, FileOut
from findhold.service.folder import file_name, write_file
from findhold.service.office import Office

MOST_WAYS = 4
"""So many ways are printed for one hold: those that give it all it lacks first; the command has all."""
SMALL = (
    "Keep-until dates are the early edge of what may be, reckoned from sizes, masses, water and the store's record; a "
    "margin is no promise. Each way is forecast by the same model as the date it moves. What was seen amiss, treasure, "
    "human remains and hazards are decided by those whom local rules name; ask the conservator before a box is opened "
    "or re-wrapped."
)


def write_closure_sheet(office: Office, found: ClosurePlan, file: Path) -> str:
    """Write the page; returns the file's path."""
    return str(write_file(file, closure_sheet_file(office, found).data))


def closure_sheet_file(office: Office, found: ClosurePlan) -> FileOut:
    """The page of a closure plan as a PDF."""
    told = found.closure
    common = common_reasons(found)
    sheet = ClosureSheet(
        site=f"{found.site} {found.site_name}",
        closed=f"closed {span_words(told.first_day, told.last_day)} {told.last_day.year}",
        reason=told.reason + (f" ({told.store})" if told.store else ""),
        again=f"{instant_words(found.again, found.zone)}, {found.again:%H:%M}",
        summary=summary_words(found),
        who=_who(found),
        rows=tuple(_row(hold, common, found.zone) for hold in found.holds),
        waits=tuple(_waits(found)),
        none=tuple(f"{name}: {why}." for name, why in common),
        questions=tuple(question.text for question in found.questions),
        small=SMALL,
        printed_at=found.now,
        person=office.person,
        seal=office.ledger.head()[1][:16],
    )
    name = file_name(found.site, "closure", told.first_day.isoformat(), "plan", ending=".pdf")
    shape = {"file": name, "holds": len(found.holds), "open": len(found.open), "provided": found.provided}
    return FileOut(name=name, media_type=PDF, data=closure_sheet_pdf(sheet, date=found.now), shape=shape)


def _who(found: ClosurePlan) -> tuple[str, ...]:
    before = found.last_day_before
    last = () if before is None or before < found.now.date() else (f"Last open day before it: {day_words(before)}.",)
    return (*(f"{line}." for line in found.who_comes), *last)


def _row(hold: HoldPlan, common: tuple[tuple[str, str], ...], zone: str) -> ClosureRow:
    row, chosen = hold.standing, hold.standing.chosen
    left = not row.stands.enough
    possible = [way for way in hold.ways if way.possible] if left else []
    no = [way for way in hold.ways if not way.possible and (way.name, way.why_not) not in common] if left else []
    by = ""
    if chosen is not None:
        by = f"chosen by {chosen.by}, {instant_words(chosen.at, zone)}" + (
            f": {chosen.reason}" if chosen.reason else ""
        )
    state = row.ended or (f"{chosen.option}: {chosen.do}" if chosen else "")
    if left and chosen is not None:
        state = f"not enough, {row.stands.why}. {state}"
    done = row.stands.state == "done" and not row.ended
    return ClosureRow(
        find=row.held.number,
        registered=row.held.symbol == "triangle",
        what=row.held.what or "no name",
        box=f"{row.held.box_id}, {row.store or 'no store'}",
        why=why_words(row) if not row.ended else "",
        chosen=f"DONE. {state}" if done else state,
        by=by,
        ways=tuple((way.name, way.do, way_words(way, zone)) for way in possible[:MOST_WAYS]),
        not_possible=tuple(f"not {way.name}: {way.why_not}." for way in no),
        cost=_cost(hold, possible),
        open=left,
    )


def _cost(hold: HoldPlan, possible: list[WayOut]) -> tuple[str, ...]:
    row = hold.standing
    if row.ended:
        return ("its hold has ended",)
    if not row.stands.enough:
        nothing = (
            f"nothing done: {row.over_days:.1f} days past its limit" if row.over_days else "nothing done: not seen"
        )
        more = len(possible) - MOST_WAYS
        return (nothing, f"{more} more that help less") if more > 0 else (nothing,)
    chosen = row.chosen
    way = next((one for one in hold.ways if chosen is not None and one.name == chosen.option), None)
    gain = f"+{chosen.gain_days:.1f} d" if chosen is not None and chosen.gain_days else ""
    return tuple(words for words in (way.work if way else "", gain, way.risk if way else "") if words)


def _waits(found: ClosurePlan) -> list[str]:
    return [
        f"find {row.held.number} ({row.held.what or 'no name'}): {row.wait.word}. {row.wait.why}" for row in found.waits
    ]
