"""The printed sheets: a round to be filled in at the store, and the sheet for the store's door."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from findhold.dates.instants import day_for_people
from findhold.errors import BadInput
from findhold.paper.round_sheet import DoorRow, DoorSheet, RoundSheet, SheetRow, door_sheet_pdf, round_sheet_pdf
from findhold.record.events import UNIT, stream_of
from findhold.service.choices import read_choices
from findhold.service.files_out import PDF, FileOut
from findhold.service.folder import file_name, write_file
from findhold.service.ledger_case import shelves
from findhold.service.office import Office
from findhold.service.rounds.boxes import Box, walking_order
from findhold.service.rounds.edges import Edges, edges_at
from findhold.service.rounds.planning import rounds, site_boxes
from findhold.service.rounds.shapes import BoxDue, Rounds, RoundsRequest, RoundVisit
from findhold.service.rounds.telling_whom import Call
from findhold.store.ledger import Thing
from findhold.tables.load import table

MOST_LOOKS = 3
MOST_CALLS = 5
_CAUTIONS = ("mould and dust", "soil and water", "never freeze", "biocide", "lifting", "conservator")


def write_round_sheet(office: Office, request: RoundsRequest, file: Path) -> str:
    """Write the sheet of the next round of a store; returns the file's path."""
    return str(write_file(file, round_sheet_file(office, request).data))


def write_door_sheet(office: Office, request: RoundsRequest, file: Path) -> str:
    """Write the sheet for a store's door; returns the file's path."""
    return str(write_file(file, door_sheet_file(office, request).data))


def round_sheet_file(office: Office, request: RoundsRequest) -> FileOut:
    """The sheet of the next round of a store, or of a person's next round there, as a PDF.

    Raises
    ------
    BadInput : no store is named, or there is no round within the days asked for.
    """
    site, store, found = _asked(office, request)
    boxes, _ = site_boxes(office, site, store.number)
    visit = next(iter(found.visits), None)
    if visit is None:
        whose = f" of {found.for_name}" if found.for_name else ""
        raise BadInput(
            f"there is no round{whose} here until {day_for_people(found.until)}",
            where=store.number,
            do="Look further ahead: --days 30",
        )
    shelf = shelves(office, site, read_choices())
    edges = {due.box_id: edges_at(office, boxes[due.box_id].stream, shelf, visit.at) for due in visit.boxes}
    due = {one.box_id for one in visit.boxes}
    rest = [box.short for box in walking_order(list(boxes.values())) if box.box_id not in due]
    day = day_for_people(visit.at.date())
    sheet = RoundSheet(
        store=store.number,
        site=f"{site.number} {site.facts['name']}",
        on=day,
        who=_who(visit),
        set_to=_set_to(store),
        rows=tuple(_row(one, edges[one.box_id], visit.at.date()) for one in visit.boxes),
        not_due=f"Not due this time: {', '.join(rest)}." if rest else "",
        do=tuple((row["found"], row["do"]) for row in table("round_sheet").rows),
        calls=_calls(found.calls),
        cautions=_cautions([boxes[name] for name in due]),
        printed_at=found.now,
        person=office.person,
        seal=office.ledger.head()[1][:16],
    )
    name = file_name(site.number, store.number, visit.at.date().isoformat(), "round", ending=".pdf")
    shape = {"file": name, "boxes": len(visit.boxes), "at": visit.at.isoformat(), "who": visit.who}
    return FileOut(name=name, media_type=PDF, data=round_sheet_pdf(sheet, date=found.now), shape=shape)


def door_sheet_file(office: Office, request: RoundsRequest) -> FileOut:
    """The sheet for a store's door as a PDF: keep-until dates, the next rounds, whom to call.

    Raises
    ------
    BadInput : no store is named, or no box stands in it.
    """
    site, store, found = _asked(office, request)
    boxes, _ = site_boxes(office, site, store.number)
    looks: dict[str, list[date]] = {}
    for visit in found.visits:
        for one in visit.boxes:
            looks.setdefault(one.box_id, []).append(visit.at.date())
    ordered = sorted(boxes.values(), key=lambda box: (not box.alarm, box.keep_until or datetime.max, box.box_no))
    sheet = DoorSheet(
        store=store.number,
        site=f"{site.number} {site.facts['name']}",
        set_to=_set_to(store),
        rows=tuple(_door_row(box, looks.get(box.box_id, []), found.now) for box in ordered),
        visits=tuple(
            (
                day_for_people(visit.at.date()),
                visit.who or "anybody",
                visit.phone,
                " ".join(one.box for one in visit.boxes),
            )
            for visit in found.visits[:6]
        ),
        wrong=_wrong(found),
        calls=_calls(found.calls),
        cautions=_cautions(ordered),
        printed_at=found.now,
        person=office.person,
        seal=office.ledger.head()[1][:16],
    )
    name = file_name(site.number, store.number, "door", ending=".pdf")
    return FileOut(
        name=name,
        media_type=PDF,
        data=door_sheet_pdf(sheet, date=found.now),
        shape={"file": name, "boxes": len(boxes)},
    )


def _asked(office: Office, request: RoundsRequest) -> tuple[Thing, Thing, Rounds]:
    """The site, the store and its rounds."""
    if request.store is None:
        raise BadInput("a sheet is of one store", where="--store", do='Name the store: --store "Fridge 1"')
    site, found = office.site(request.site), rounds(office, request)
    store = office.ledger.state(stream_of("store", UNIT, found.store or ""))
    if store is None:
        raise RuntimeError(f"store {found.store} was listed and is not there")
    return site, store, found


def _row(one: BoxDue, edges: Edges, day: date) -> SheetRow:
    near = one.keep_until is not None and (one.keep_until.date() - day).days <= 2
    return SheetRow(
        where=", ".join(part for part in (one.place, one.shelf if one.shelf != one.place else "") if part),
        box=one.box,
        box_id=one.box_id,
        find=one.find,
        registered=one.registered,
        what=one.what,
        why=_why(one),
        right=edges.right,
        act=edges.act,
        last="" if one.last_kg is None or one.last_at is None else f"{one.last_kg:.3f} kg\n{_short_day(one.last_at)}",
        keep_until=_keep(one, day),
        urgent=near or one.missed or bool(one.alarm),
    )


def _keep(one: BoxDue, day: date) -> str:
    """The keep-until date as the sheet says it; one that has passed asks for a call."""
    if one.keep_until is None:
        return ""
    passed = one.keep_until.date() < day
    words = (
        f"PASSED, call: keep until {_short_day(one.keep_until)}"
        if passed
        else f"keep until {_short_day(one.keep_until)}"
    )
    return f"{words}: {one.limit}" if not passed else f"{words} ({one.limit})"


def _why(one: BoxDue) -> str:
    """Why the box is looked at, without the reason of the closure in full."""
    seen = f"{one.alarm} seen last time. " if one.alarm and one.alarm not in one.reason else ""
    return seen + one.reason.split(" (")[0]


def _door_row(box: Box, looks: Sequence[date], now: datetime) -> DoorRow:
    keep = box.keep_until
    passed = keep is not None and keep <= now
    return DoorRow(
        box=box.short,
        find=box.find,
        registered=box.registered,
        what=box.what,
        where=", ".join(part for part in (box.place, box.shelf if box.shelf != box.place else "") if part),
        keep_until="" if keep is None else f"{'PASSED ' if passed else ''}{_short_day(keep)}",
        limit=box.limit,
        opening="" if box.open_at is None else f"opening planned {_short_day(box.open_at)}",
        looks=", ".join(f"{day.day} {day:%b}" for day in looks[:MOST_LOOKS]),
        urgent=passed or bool(box.alarm),
    )


def _wrong(found: Rounds) -> tuple[str, ...]:
    """What is wrong with the rounds of the store, in a line each."""
    missed = [
        f"{one.checks} {'check' if one.checks == 1 else 'checks'} missed since {day_for_people(one.since)}: tell"
        f" {one.tell.words()}."
        for one in found.missed
    ]
    lost = [f"Nobody comes on {day_for_people(one.latest)}: {one.why}." for one in found.cannot]
    return (*missed, *lost)


def _who(visit: RoundVisit) -> str:
    name = visit.who or "anybody who is in"
    return f"{name}{f', {visit.phone}' if visit.phone else ''}{' (stands in)' if visit.kind == 'cover' else ''}"


def _set_to(store: Thing) -> str:
    temp_c = store.facts.get("temp_c")
    parts = (str(store.facts.get("kind") or ""), f"set to {temp_c:g} °C" if temp_c is not None else "")
    return ", ".join(part for part in parts if part)


def _calls(found: Sequence[Call]) -> tuple[tuple[str, str, str], ...]:
    known = [one for one in found if one.known][: MOST_CALLS - 1]
    return tuple((one.name, one.role, one.phone) for one in (*known, *(one for one in found if not one.known)))


def _cautions(boxes: Sequence[Box]) -> tuple[str, ...]:
    """Cautions that belong beside open fridges, and those that a find's flags call for."""
    rows = table("cautions").by("name")
    flags = {flag.casefold() for box in boxes for flag in box.flags}
    raised = [name for name in ("human remains", "lead", "ordnance", "no light") if any(name in flag for flag in flags)]
    return tuple(rows[name]["text"] for name in (*raised, *_CAUTIONS))


def _short_day(at: datetime) -> str:
    return f"{day_for_people(at.date()).rsplit(' ', 1)[0]}"
