"""The printed sheets: a round to be filled in at the store, and the sheet for the store's door."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from datetime import date, datetime, timedelta
from itertools import groupby
from pathlib import Path

from findhold.dates.instants import at_hour, day_for_people
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
from findhold.service.rounds.planning import HOUR, box_due, rounds, site_boxes
from findhold.service.rounds.shapes import BoxDue, CannotMake, Rounds, RoundsRequest, RoundVisit
from findhold.service.rounds.telling_whom import Call
from findhold.store.ledger import Thing
from findhold.tables.load import table

MOST_LOOKS = 3
MOST_CALLS = 5
NOBODY_COMES = "nobody"
"""The kind of a visit that nobody makes."""
KEPT_WORDS = {
    "dry": "KEEP DRY: never mist; drops or damp gel: call",
    "waterlogged": "KEPT WET: never mist; water low: call",
}
"""What the state of a box forbids to do; a damp box is misted."""
LOOKS = {
    "damp": ("right", "dry", "drips", "mould"),
    "dry": ("right", "gel damp", "drips", "mould"),
    "waterlogged": ("right", "low", "leak", "mould"),
}
_CAUTIONS = ("mould and dust", "soil and water", "never freeze", "biocide", "lifting", "conservator")


def write_round_sheet(office: Office, request: RoundsRequest, file: Path) -> str:
    """Write the sheet of the next round of a store; returns the file's path."""
    return str(write_file(file, round_sheet_file(office, request).data))


def write_door_sheet(office: Office, request: RoundsRequest, file: Path) -> str:
    """Write the sheet for a store's door; returns the file's path."""
    return str(write_file(file, door_sheet_file(office, request).data))


def round_sheet_file(office: Office, request: RoundsRequest) -> FileOut:
    """The sheet of the next round of a store, or of a person's next round there, as a PDF.

    Where checks fall due and nobody comes for them, it is the sheet of whoever can be found.

    Raises
    ------
    BadInput : no store is named, or there is no round within the days asked for.
    """
    site, store, found = _asked(office, request)
    boxes, _ = site_boxes(office, site, store.number)
    visit = next(iter(found.visits), None) or _nobodys(found, boxes)
    if visit is None:
        whose = f" of {found.for_name}" if found.for_name else ""
        raise BadInput(
            f"there is no round{whose} here until {day_for_people(found.until)}",
            where=store.number,
            do="Look further ahead: --days 30",
        )
    shelf = shelves(office, site, read_choices())
    edges = {due.box_id: edges_at(office, boxes[due.box_id].stream, shelf, visit.at) for due in visit.boxes}
    kept = {box.box_id: kept_in(office, box) for box in boxes.values()}
    spots = shelf_words(office, store.number)
    due = {one.box_id for one in visit.boxes}
    rest = [box.short for box in walking_order(list(boxes.values())) if box.box_id not in due]
    day = day_for_people(visit.at.date())
    sheet = RoundSheet(
        store=store.number,
        site=f"{site.number} {site.facts['name']}",
        on=f"{day}, {visit.at:%H:%M}" if visit.kind != NOBODY_COMES else _due_days(found.cannot),
        who=_who(visit),
        set_to=_set_to(store),
        wrong=_wrong(found),
        rows=tuple(
            _row(one, edges[one.box_id], (boxes[one.box_id], visit.at), (kept[one.box_id], _where(one, spots)))
            for one in visit.boxes
        ),
        not_due=f"Not due this time: {', '.join(rest)}." if rest else "",
        do=_do({kept[name] for name in due}, masses=any(edge.act.startswith("act ") for edge in edges.values())),
        calls=_calls(found.calls, reader=visit.who),
        cautions=_cautions([boxes[name] for name in due], {kept[name] for name in due}),
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
    looks = _days_of_looks(found)
    kept = {box.box_id: kept_in(office, box) for box in boxes.values()}
    spots = shelf_words(office, store.number)
    ordered = sorted(boxes.values(), key=lambda box: (not box.alarm, box.keep_until or datetime.max, box.box_no))
    rows = tuple(
        _door_row(box, looks.get(box.box_id, []), found.now, (kept[box.box_id], _where(box, spots))) for box in ordered
    )
    sheet = DoorSheet(
        store=store.number,
        site=f"{site.number} {site.facts['name']}",
        set_to=_set_to(store),
        rows=rows,
        visits=tuple(_next_round(visit) for visit in found.visits[:6]),
        wrong=_wrong(found),
        do=_do(set(kept.values()), door=True),
        calls=_calls(found.calls),
        cautions=_cautions(ordered, set(kept.values())),
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


def _days_of_looks(found: Rounds) -> dict[str, list[date]]:
    """By box, the days on which a round looks at it."""
    looks: dict[str, list[date]] = {}
    for visit in found.visits:
        for one in visit.boxes:
            looks.setdefault(one.box_id, []).append(visit.at.date())
    return looks


def _next_round(visit: RoundVisit) -> tuple[str, str, str, str]:
    boxes = " ".join(one.box for one in visit.boxes)
    return day_for_people(visit.at.date()), visit.who or "anybody", visit.phone, boxes


def _asked(office: Office, request: RoundsRequest) -> tuple[Thing, Thing, Rounds]:
    """The site, the store and its rounds."""
    if request.store is None:
        raise BadInput("a sheet is of one store", where="--store", do='Name the store: --store "Fridge 1"')
    site, found = office.site(request.site), rounds(office, request)
    store = office.ledger.state(stream_of("store", UNIT, found.store or ""))
    if store is None:
        raise RuntimeError(f"store {found.store} was listed and is not there")
    return site, store, found


def kept_in(office: Office, box: Box) -> str:
    """The state a box is kept in: damp, waterlogged or dry."""
    hold = office.ledger.state(box.stream)
    if hold is None:
        raise RuntimeError(f"{box.stream} was listed and is not there")
    return str((hold.facts.get("plan") or {}).get("kept") or "damp")


def shelf_words(office: Office, store: str) -> dict[str, str]:
    """Each shelf of a store in words, by its height, for names are not written on every shelf."""
    found = {}
    for shelf in office.ledger.states("shelf", UNIT):
        if shelf.facts.get("store") == store:
            name, high_mm = str(shelf.facts["name"]), shelf.facts.get("above_floor_mm")
            found[name] = f"shelf {name}" + (f", {high_mm / 10:.0f} cm over the floor" if high_mm is not None else "")
    return found


def _where(box: Box | BoxDue, spots: Mapping[str, str]) -> str:
    """Where a box stands, so that who does not know the store finds it."""
    shelf = spots.get(box.shelf, f"shelf {box.shelf}") if box.shelf else ""
    return ", ".join(part for part in (shelf, box.place if box.place != box.shelf else "") if part)


def _nobodys(found: Rounds, boxes: Mapping[str, Box]) -> RoundVisit | None:
    """The checks that nobody comes for as one visit of nobody; None when there are none, or one person's were asked."""
    lost = {name for one in found.cannot for name in one.boxes}
    if not lost or found.for_name:
        return None
    day = max(min(one.earliest for one in found.cannot), found.now.date())
    at = max(at_hour(day, HOUR, found.zone), found.now)
    why = next(one.why for one in found.cannot)
    return RoundVisit(
        at=at,
        who="",
        phone="",
        kind=NOBODY_COMES,
        why_who=why,
        stores=(found.store or "",),
        boxes=tuple(box_due(box, None, at) for box in walking_order([boxes[name] for name in lost])),
    )


def _do(kept: Set[str], *, door: bool = False, masses: bool = False) -> tuple[tuple[str, str], ...]:
    """What to do, for boxes kept in these states, with the unit's limits; masses: there are masses to act beyond."""
    policy = read_choices().policy
    limits = {"warm": f"{policy.warm_c:g}", "cold": f"{policy.cold_note_c:g}"}
    return tuple(
        (row["found"], row["do"].format(**limits))
        for row in table("round_sheet").rows
        if (row["kept"] == "any" or row["kept"] in kept)
        and (row["door"] == "yes" or not door)
        and (row["found"] != "act" or masses)
    )


def _row(one: BoxDue, edges: Edges, seen: tuple[Box, datetime], stands: tuple[str, str]) -> SheetRow:
    (box, at), (kept, where) = seen, stands
    near = one.keep_until is not None and (one.keep_until.date() - at.date()).days <= 2
    why = ". ".join(part for part in (_why(one).rstrip(". "), _opening(box, at)) if part)
    return SheetRow(
        where=where,
        box=one.box,
        box_id=one.box_id,
        find=one.find,
        registered=one.registered,
        what=one.what,
        why=why,
        right=edges.right,
        act=edges.act,
        last="" if one.last_kg is None or one.last_at is None else f"{one.last_kg:.3f} kg\n{_short_day(one.last_at)}",
        keep_until=_keep(one, at),
        kept_words=KEPT_WORDS.get(kept, ""),
        looks=LOOKS.get(kept, LOOKS["damp"]),
        urgent=near or one.missed or bool(one.alarm),
    )


def _keep(one: BoxDue, at: datetime) -> str:
    """The keep-until date as the sheet says it; one that has passed asks for a call."""
    if one.keep_until is None:
        return ""
    until = f"keep until {_hour(one.keep_until)} ({one.limit})"
    return f"PASSED, call: {until}" if one.keep_until <= at else until


def _opening(box: Box, at: datetime) -> str:
    """When its opening is planned, and whether that is too late or was not made."""
    if box.open_at is None:
        return ""
    said = f"opening planned {_hour(box.open_at)}"
    if box.open_at <= at:
        return f"{said}: not made"
    return f"{said}: TOO LATE" if box.keep_until is not None and box.open_at > box.keep_until else said


def _why(one: BoxDue) -> str:
    """Why the box is looked at, without the reason of the closure in full."""
    seen = f"{one.alarm} seen last time. " if one.alarm and one.alarm not in one.reason else ""
    return seen + one.reason.split(" (")[0]


def _door_row(box: Box, looks: Sequence[date], now: datetime, stands: tuple[str, str]) -> DoorRow:
    kept, where = stands
    keep = box.keep_until
    passed = keep is not None and keep <= now
    return DoorRow(
        box=box.short,
        find=box.find,
        registered=box.registered,
        what=box.what,
        where=where,
        keep_until="" if keep is None else f"{'PASSED ' if passed else ''}{_hour(keep)}",
        limit=box.limit,
        opening=_opening(box, now),
        looks=", ".join(f"{day.day} {day:%b}" for day in looks[:MOST_LOOKS]),
        kept_words=KEPT_WORDS.get(kept, ""),
        urgent=passed or bool(box.alarm),
    )


def _wrong(found: Rounds) -> tuple[str, ...]:
    """What is wrong with the rounds of the store, in a line each."""
    missed = [
        f"{one.checks} {'check' if one.checks == 1 else 'checks'} missed since {day_for_people(one.since)}: tell"
        f" {one.tell.words()}."
        for one in found.missed
    ]
    return (*missed, *(_nobody(one, found.now.date()) for one in found.cannot))


def _nobody(one: CannotMake, today: date) -> str:
    """All the days on which nobody comes, and the checks that fall due on them."""
    first = today if one.before is None else one.before + timedelta(days=1)
    span = f"on {day_for_people(first)}"
    if one.after is None:
        span = f"from {day_for_people(first)} on, as far as is planned"
    elif one.after - timedelta(days=1) > first:
        span = f"from {_no_year(first)} to {day_for_people(one.after - timedelta(days=1))}"
    return f"Nobody comes {span} ({_due_days([one])}): {one.why}."


def _due_days(lost: Sequence[CannotMake]) -> str:
    days = sorted({day for one in lost for day in one.days})
    months = [(month, ", ".join(str(day.day) for day in party)) for month, party in groupby(days, key=_month)]
    return f"checks due {', '.join(f'{numbers} {month}' for month, numbers in months)}"


def _month(day: date) -> str:
    return f"{day:%b}"


def _who(visit: RoundVisit) -> str:
    if visit.kind == NOBODY_COMES:
        return f"nobody is named: {visit.why_who.split(', and nobody')[0]}; masses as on {_short_day(visit.at)}"
    name = visit.who or "anybody who is in"
    return f"{name}{f', {visit.phone}' if visit.phone else ''}{' (stands in)' if visit.kind == 'cover' else ''}"


def _set_to(store: Thing) -> str:
    temp_c = store.facts.get("temp_c")
    parts = (
        str(store.facts.get("kind") or ""),
        f"set to {temp_c:g} °C" if temp_c is not None else "",
        str(store.facts.get("note") or ""),
    )
    return ", ".join(part for part in parts if part)


def _calls(found: Sequence[Call], reader: str = "") -> tuple[tuple[str, str, str], ...]:
    """Whom to call, without the reader; of those who are away only the first is named."""
    here = [one for one in found if one.known and not one.away and one.name != reader][: MOST_CALLS - 1]
    away = [one for one in found if one.away and one.name != reader][:1]
    listed = (*here, *(one for one in found if not one.known), *away)
    return tuple((one.name, one.role_words(), one.phone) for one in listed)


def _cautions(boxes: Sequence[Box], kept: Set[str]) -> tuple[str, ...]:
    """Cautions that belong beside open fridges, and those that a find's flags or its state call for."""
    rows = table("cautions").by("name")
    flags = {flag.casefold() for box in boxes for flag in box.flags}
    raised = [name for name in ("human remains", "lead", "ordnance", "no light") if any(name in flag for flag in flags)]
    raised += ["keep dry"] if "dry" in kept else []
    return tuple(rows[name]["text"] for name in (*raised, *_CAUTIONS))


def _no_year(day: date) -> str:
    return day_for_people(day).rsplit(" ", 1)[0]


def _hour(at: datetime) -> str:
    return f"{_short_day(at)}, {at:%H:%M}"


def _short_day(at: datetime) -> str:
    return f"{day_for_people(at.date()).rsplit(' ', 1)[0]}"
